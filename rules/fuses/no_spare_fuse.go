package fuses

import (
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "no-spare-fuse", Severity: diag.Note, Harm: rules.Annoys, Since: "0.2",
	Title: "a fuse box has no free position",
	Doc: `In the vehicle the next thing that is fitted then hangs on a fuse that is there already, and shares its faults and its rating. One
position that is kept free costs nothing while the box is being chosen. The note comes for a panel with four fuses or more
none of which is spare = true.

Take a box with a position more and write it down: a fuse with spare = true. Or accept the note with the reason.

Silent are small holders with up to three fuses, and panels with a fuse that is spare or that nothing is wired behind.`,
	Sources: []string{"common practice: one position in ten is kept free"},
	Bad:     fullBox(""), Good: fullBox(", spare = true"),
	Run: func(p *rules.Pass) {
		count, free := map[*model.Panel]int{}, map[*model.Panel]bool{}
		for _, part := range p.Netlist.Parts {
			if part.Panel == nil || len(part.Inside.Protects) == 0 {
				continue
			}
			count[part.Panel]++
			pair := part.Inside.Protects[0]
			if part.Spare.On || !p.Graph.Reached(pair.A) || !p.Graph.Reached(pair.B) {
				free[part.Panel] = true
			}
		}
		for _, panel := range p.Netlist.Panels {
			for _, row := range panel.Rows {
				free[panel] = free[panel] || slices.Contains(row, nil)
			}
			if count[panel] >= fewFuses && !free[panel] {
				d := p.Report(panel.Name.Span, []string{panel.Name.Text}, "panel %s has %d fuses and no free position", panel.Name.Text, count[panel])
				d.Help = "take a box with a position more and keep it: a fuse with spare = true in this panel"
			}
		}
	},
})

// fewFuses is from how many fuses on a panel is a box that one plans, and no single holder.
const fewFuses = 4

func fullBox(last string) string {
	return `[panel.P]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah", spare = true }
F1 = { kind = "fuse", rating = "10 A", family = "blade", in = "P" }
F2 = { kind = "fuse", rating = "10 A", family = "blade", in = "P" }
F3 = { kind = "fuse", rating = "10 A", family = "blade", in = "P" }
F4 = { kind = "fuse", rating = "10 A", family = "blade", in = "P"` + last + ` }
[link]
BAR = { joins = ["BAT1:+", "F1:1", "F2:1", "F3:1", "F4:1"] }
B2 = { joins = ["F1:2", "E1:1"] }
B3 = { joins = ["F2:2", "E2:1"] }
B4 = { joins = ["F3:2", "E3:1"] }
B5 = { joins = ["F4:2", "E4:1"] }
[part.E1]
kind = "lamp"
load = "5 W"
spare = true
[part.E2]
kind = "lamp"
load = "5 W"
spare = true
[part.E3]
kind = "lamp"
load = "5 W"
spare = true
[part.E4]
kind = "lamp"
load = "5 W"
spare = true
`
}
