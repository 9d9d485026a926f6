package routing

import (
	"fmt"
	"math"

	netbundle "ferrule/netlist/bundle"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "hole-too-small", Severity: diag.Error, Harm: rules.Annoys, Since: "0.2",
	Title: "the bundle does not go through its hole",
	Doc: `In the vehicle this is found with the loom made and the grommet in hand. The rule takes each place with a hole, sums the wires
on the fullest path there, and holds the bundle against the clear opening. An error where the bundle is thicker than the hole; a
warning where it fills more than 85 % of its diameter, since then it chafes and cannot be drawn through.

The bundle is 1.2 times the root of the sum of the squared outside diameters, with diameters of thin-wall wire, and no less than the
round hole into which its seven thickest wires pack: for two to six wires the packing is the larger, by up to 18 %. An estimate to a
millimetre or so. Wires without a size are said under no-data, and the others are judged. What neither knows: a connector that has to go
through is larger than its wires, and a slit grommet takes no less than its hole.

Give the hole its real size, make it larger, or part the bundle over two.`,
	Sources: []string{
		"common practice: D = 1.2 sqrt(sum d2), hole at least D / 0.85; 38 wires of an engine loom come to 13 or 14 mm",
		"published packings of circles in a circle (testdata/reference/circle-packing.csv): two equal wires take 2 d, the formula says 1.7 d",
		"outside diameters: common practice and ISO 6722-1 from memory (testdata/reference/metric-conductors.csv)",
	},
	Bad:  holeExample("2 mm"),
	Good: holeExample("8 mm"),
	Run: func(p *rules.Pass) {
		l := layOf(p)
		for _, place := range p.Netlist.Places {
			if place.Hole.IsSet() && place.Hole.Value > 0 {
				judgeHole(p, l, place)
			}
		}
	},
})

func holeExample(hole string) string {
	return `[place]
A = {}
B = { hole = "` + hole + `" }
[path]
A-B = { between = ["A", "B"], length = "1 m" }
[part]
F1 = { kind = "fuse", rating = "5 A", at = "A", spare = true }
E1 = { kind = "lamp", load = "5 W", at = "B", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG" }
W2 = { from = "F1:2", to = "E1:1", size = "18 AWG" }
`
}

// A bundle is the wires of one path.
type bundle struct {
	path  *model.Path
	wires []*model.Wire
	mm    float64
}

func judgeHole(p *rules.Pass, l *lay, place *model.Place) {
	var fullest bundle
	for _, path := range p.Netlist.Paths {
		if path.From != place && path.To != place || len(l.on[path]) == 0 {
			continue
		}
		if b := (bundle{path, l.on[path], netbundle.Thick(l.on[path])}); b.mm > fullest.mm {
			fullest = b
		}
	}
	if fullest.path == nil {
		return
	}
	for _, w := range fullest.wires {
		if !w.Size.IsSet() {
			p.Lacks("size", `add size = "16 AWG" to each`, w.Name.Span, w.Name.Text)
		}
	}
	hole := place.Hole.Value * 1000
	severity, so := diag.Error, "it does not go through"
	switch netbundle.Through(fullest.mm, hole) {
	case netbundle.Passes:
		return
	case netbundle.Tight:
		severity, so = diag.Warning, "it goes through with force and chafes"
	}
	refs := append([]string{place.Name.Text, fullest.path.Name.Text}, names(fullest.wires)...)
	count := fmt.Sprintf("%d %s", len(fullest.wires), rules.Plural(len(fullest.wires), "wire", "wires"))
	d := p.ReportAs(severity, place.Hole.Span, refs, "the %s of path %s make a bundle of %s mm, and the hole at %s has %s: %s",
		count, fullest.path.Name.Text, oneDecimal(fullest.mm), place.Name.Text, unit.Format(math.Round(hole*10)/10)+" mm", so)
	d.Help = fmt.Sprintf("a hole of %d mm suits, or part the bundle over two", int(math.Ceil(fullest.mm/netbundle.HoleFill)))
}

func oneDecimal(v float64) string { return fmt.Sprintf("%.1f", v) }
