package wires

import (
	"fmt"

	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "fragile-wire", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "a wire is too thin to last, whatever it carries",
	Doc: `In the vehicle a thin wire breaks where it leaves the loom or the terminal, and breaks inside its insulation, where nobody
sees it. The rule fires below 22 AWG (0.35 mm2) anywhere, and below 20 AWG (0.5 mm2) where a wire runs alone along a path without
a cover. On a boat (practice = "boat") it fires below 16 AWG by itself and 18 AWG in a sheath; screened and twisted pairs, which carry signals,
are left out there.

A core of a cable and a sheathed wire have their jacket; a wire that comes with a device (supplied = true) and one inside a box
are the maker's matter. What runs along no known path is taken as lying in a loom.

Take the size that is named, or lay the wire with others in a cover.`,
	Sources: []string{"common practice: 20 AWG where a wire is exposed, 22 AWG in a loom", "33 CFR 183.425 (d), (e): conductors of boats"},
	Bad: `[part]
F1 = { kind = "fuse", rating = "1 A", spare = true }
E1 = { kind = "lamp", load = "1 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "24 AWG", length = "1 m" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "1 A", spare = true }
E1 = { kind = "lamp", load = "1 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "22 AWG", length = "1 m" }
`,
	Run: func(p *rules.Pass) {
		l := layOf(p)
		for i, w := range p.Netlist.Wires {
			if !w.Size.IsSet() || w.Supplied.On || inOneBox(p, w) {
				continue
			}
			if thinnest, how, section, ok := sizing.ThinnestOnBoat(&p.Netlist.Harness, w); ok {
				if size := likeOne(thinnest, w.Size); w.Size.AreaMM2() < size.AreaMM2()*(1-1e-9) {
					reportFragile(p, w, size, "%s is %s and lies %s on a boat: %s is the least there (%s)", w.Name.Text, w.Size, how, size, section)
				}
				continue
			}
			if w.Sheathed.On || w.Cable != nil {
				continue
			}
			least, where := least{22, 0.35}, "in a loom"
			if path := l.exposed(i); path != nil {
				least.awg, least.mm2, where = 20, 0.5, "alone and uncovered in "+path.Name.Text
			}
			if size := least.like(w.Size); w.Size.AreaMM2() < size.AreaMM2()*0.95 { // 0.5 mm2 stands for 20 AWG
				reportFragile(p, w, size, "%s is %s and lies %s: %s is the least that lasts there", w.Name.Text, w.Size, where, size)
			}
		}
	},
})

func reportFragile(p *rules.Pass, w *model.Wire, size unit.Size, format string, args ...any) {
	d := p.Report(w.SizeSpan, []string{w.Name.Text}, format, args...)
	suited := p.Suited(w, size)
	d.Help = fmt.Sprintf("write size = %q", suited)
	d.Fixes = p.Resize(w, suited)
}

// likeOne is that of two sizes, by AWG and by area, that is named as another is.
func likeOne(pair [2]unit.Size, size unit.Size) unit.Size {
	if _, byAWG := size.ByAWG(); byAWG {
		return pair[0]
	}
	return pair[1]
}

// least is a size by either of its names.
type least struct {
	awg int
	mm2 float64
}

// like is the size named as another is.
func (l least) like(size unit.Size) unit.Size {
	if _, byAWG := size.ByAWG(); byAWG {
		return unit.AWG(l.awg)
	}
	return unit.MM2(l.mm2)
}

// exposed returns the first path along which a wire runs alone and without cover, or nil.
func (l *lay) exposed(wire int) *model.Path {
	for _, path := range l.ways[wire] {
		if !path.Cover.IsSet() && l.count[path] < 2 {
			return path
		}
	}
	return nil
}

// inOneBox reports whether a wire joins two terminals of one panel, or of one device.
func inOneBox(p *rules.Pass, w *model.Wire) bool {
	if !w.Wired() {
		return false
	}
	a, b := p.Netlist.Pin(w.From.ID).Owner, p.Netlist.Pin(w.To.ID).Owner
	return panelOf(a) != nil && panelOf(a) == panelOf(b) || a.Device() != nil && a.Device() == b.Device()
}

func panelOf(o *model.Owner) *model.Panel {
	if o.Part != nil {
		return o.Part.Panel
	}
	return o.Panel
}
