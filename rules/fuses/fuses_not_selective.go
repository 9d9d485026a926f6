package fuses

import (
	"fmt"

	"ferrule/netlist/circuit/study"
	"ferrule/netlist/diag"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "fuses-not-selective", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Late:  true,
	Title: "a short in one branch can open the fuse ahead of it too",
	Doc: `In the vehicle a chafed lead to one fan then takes the main fuse with it, and everything is dead at once, far from the spare
fuses. Two fuses in series part a fault cleanly if the one ahead has at least twice the rating within a family; between
families the energy that the smaller one lets through at the most must stay below three quarters of what the larger one
needs at the least. The currents are those of a dead short just behind the smaller fuse, battery full and wires cold.

Take a larger fuse ahead if its wire bears it, a smaller one behind if its loads allow it, or feed the branch from farther up.

Silent are fuses of one rating in series, which people do on purpose, such as a fuse in the lead of a kit; families of
which there is no table; and fuses that no state or single switch feeds. One fuse ahead with several branches is one finding.`,
	Sources: []string{
		"common practice: two to one within a family; else let-through below 0.75 of the pre-arcing energy ahead",
		"ISO 8820-3, ISO 8820-5, DIN 72581-3: operating times (testdata/reference/fuse-time-current.csv, in part from memory)",
	},
	Bad: inSeries("30 A"), Good: inSeries("40 A"),
	Run: func(p *rules.Pass) {
		ahead := map[*model.Part][]*study.Short{}
		seen := map[[2]*model.Part]bool{}
		shorts := p.Shorts()
		for i := range shorts {
			s := &shorts[i]
			if s.Device == nil || s.Upstream == nil || s.Selective || s.SelectiveAmps <= 0 || seen[[2]*model.Part{s.Upstream, s.Device}] {
				continue
			}
			_, upKnown := curveOf(s.Upstream)
			_, downKnown := curveOf(s.Device)
			up, _ := ratingOf(s.Upstream)
			down, _ := ratingOf(s.Device)
			if upKnown && downKnown && up > 0 && down > 0 && up != down {
				seen[[2]*model.Part{s.Upstream, s.Device}] = true
				ahead[s.Upstream] = append(ahead[s.Upstream], s)
			}
		}
		for _, part := range p.Netlist.Parts {
			if list := inFileOrder(p, ahead[part]); len(list) > 0 {
				notSelective(p, part, list)
			}
		}
	},
})

func inSeries(main string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
MF1 = { kind = "fuse", rating = "` + main + `", family = "blade" }
F1 = { kind = "fuse", rating = "20 A", family = "blade" }
F2 = { kind = "fuse", rating = "10 A", family = "blade" }
E1 = { kind = "lamp", load = "100 W" }
E2 = { kind = "lamp", load = "42 W" }
[link]
BAR = { joins = ["BAT1:+", "MF1:1"] }
BUS = { joins = ["MF1:2", "F1:1", "F2:1"] }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "12 AWG", length = "1 m" }
W2 = { from = "F2:2", to = "E2:1", size = "14 AWG", length = "1 m" }
W3 = { from = "E1:2", to = "BAT1:-", size = "12 AWG", length = "1 m" }
W4 = { from = "E2:2", to = "BAT1:-", size = "14 AWG", length = "1 m" }
`
}

// inFileOrder sorts shorts by where their fuses stand in the file; they come sorted by how bad they are.
func inFileOrder(p *rules.Pass, list []*study.Short) []*study.Short {
	if len(list) < 2 {
		return list
	}
	by := map[*model.Part]*study.Short{}
	for _, s := range list {
		by[s.Device] = s
	}
	var out []*study.Short
	for _, part := range p.Netlist.Parts {
		if s := by[part]; s != nil {
			out = append(out, s)
		}
	}
	return out
}

// notSelective reports a fuse with those behind it that it does not wait for. With one of them, that one is pointed at: it
// is the odd one out. With several, it is the fuse ahead.
func notSelective(p *rules.Pass, up *model.Part, list []*study.Short) {
	var names, refs []string
	largest := unit.Ampere(0)
	for _, s := range list {
		names = append(names, called(s.Device))
		refs = append(refs, s.Device.Name.Text)
		rating, _ := ratingOf(s.Device)
		largest = max(largest, rating)
	}
	var d *diag.Diagnostic
	if len(list) == 1 {
		d = p.Report(spanOf(list[0].Device), append(refs, up.Name.Text), "a short behind %s, %s close to it, can open %s ahead of it too", names[0], unit.Ampere(list[0].SelectiveAmps), called(up))
		d.Related = []diag.Related{{Span: spanOf(up), Message: "the fuse ahead"}}
	} else {
		d = p.Report(spanOf(up), append([]string{up.Name.Text}, refs...), "a short behind one of %s, up to %s close to it, can open %s ahead of them too", rules.Few(names), unit.Ampere(most(list)), called(up))
		for _, s := range list[:min(len(list), mostShares)] {
			d.Related = append(d.Related, diag.Related{Span: spanOf(s.Device), Message: called(s.Device) + " is behind it"})
		}
	}
	curve, _ := curveOf(up)
	d.Help = "take a larger fuse ahead if its wire bears it, or a smaller one behind if its loads allow it"
	if same(curve.Family, list) {
		d.Help = fmt.Sprintf("of one family the fuse ahead should have at least %s, twice %s, if its wire bears it; or take a smaller one behind", 2*largest, largest)
	}
}

func most(list []*study.Short) float64 {
	amps := 0.0
	for _, s := range list {
		amps = max(amps, s.SelectiveAmps)
	}
	return amps
}

// same reports whether all fuses behind are of the family of the one ahead.
func same(family fusecurve.Family, list []*study.Short) bool {
	for _, s := range list {
		if curve, _ := curveOf(s.Device); curve.Family != family {
			return false
		}
	}
	return true
}
