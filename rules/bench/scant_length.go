package bench

import (
	"fmt"

	"ferrule/netlist/cut"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "scant-length", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a written length covers the way but leaves too little for the ends",
	Doc: `A written length is what the bench cuts, and nothing is added. On the bench the wire is as long as its way, and in the vehicle it
lacks what the terminals take, what a sealed connector needs to be crimped once more, and the hand's breadth by which a controller
hinges out. The rule fires for a written length that is shorter than the way over the paths and the allowances together, by more than
10 mm; lay and twist are left out of that, so it is the least that is needed.

A length that does not even cover the way is the matter of length-outlier. Silent are supplied wires, wires within one place, wires between
places that no paths join, and lengths that are not written: those are cut with their allowances.

Leave the length out, so that it follows from the paths, or write what is to be cut. [allowance] sets the allowances.`,
	Sources:  []string{"common practice: 0.05 m at each end, 0.10 m more at a sealed connector, 0.15 m at a controller that hinges out"},
	Settings: []rules.Setting{{Key: "short", Dim: unit.Length, Default: 0.01, Doc: "what may be missing; common practice, as people round"}},
	Bad:      scantExample("1.4 m"),
	Good:     scantExample("1.5 m"),
	Run: func(p *rules.Pass) {
		if len(p.Netlist.Paths) == 0 {
			return
		}
		plan := cut.New(p.Netlist, p.Routes)
		for _, w := range p.Netlist.Wires {
			if piece := plan.Piece(w); piece != nil && w.Length.IsSet() && piece.Sum.Reached {
				scantLength(p, w, &piece.Sum)
			}
		}
	},
})

func scantExample(length string) string {
	return `[place]
a = {}
b = {}
[path]
way = { between = ["a", "b"], length = "1.4 m" }
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true, at = "a" }
E1 = { kind = "lamp", load = "5 W", spare = true, at = "b" }
[wire]
W1 = { from = "F1:2", to = "E1:1", length = "` + length + `" }
`
}

func scantLength(p *rules.Pass, w *model.Wire, sum *cut.Sum) {
	length, way, needed := w.Length.Value, float64(sum.Way), float64(sum.Way+sum.Added())
	if !route.Reaches(length, way) || length >= needed-p.Setting("short")*(1+1e-9) { // the first is the matter of length-outlier
		return
	}
	d := p.Report(w.Length.Span, []string{w.Name.Text}, "wire %s is cut %s long; its way is %s and its ends take %s more", w.Name.Text,
		unit.Metre(length), sum.Way, sum.Added())
	d.Help = fmt.Sprintf("leave the length out, and it is cut to %s; or write what is to be cut", sum.Derived)
	for _, path := range sum.Paths {
		d.Related = append(d.Related, diag.Related{Span: path.Name.Span, Message: fmt.Sprintf("by way of %s, %s", path.Name.Text, unit.Metre(path.Length.Value))})
	}
}
