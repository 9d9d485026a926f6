package routing

import (
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "overfull-splice", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a splice has more copper or more legs than its barrel holds",
	Doc: `In the vehicle a wire that the barrel does not hold slides out, warm first and then open. The rule sums the conductors at each
splice: more than its barrel takes is an error. More than five legs, and a thickest wire more than five times the area of the
thinnest, are warnings: the thin one is not gripped beside the thick.

Where no barrel is stated its part is said under no-data. A thin wire beside thick ones can be folded back or given a ferrule;
accept it then with that reason.

Take the barrel for the sum, part the splice in two, or use a stud or bus bar.`,
	Sources: []string{"common practice: barrel for the sum of areas, five legs, five to one"},
	Bad:     spliceExample("1 mm2"),
	Good:    spliceExample("4 mm2"),
	Run: func(p *rules.Pass) {
		for _, s := range p.Netlist.Splices {
			var wires []*model.Wire
			for _, id := range s.Owner.Pins {
				wires = append(wires, p.Graph.WiresAt(id)...)
			}
			if len(wires) >= 2 {
				judgeBarrel(p, s, wires)
				judgeLegs(p, s, wires)
			}
		}
	},
})

func spliceExample(barrel string) string {
	return `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[splice]
SP1 = { barrel = "` + barrel + `" }
[wire]
W1 = { from = "F1:2", to = "SP1:1", size = "16 AWG", length = "1 m" }
W2 = { from = "SP1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
`
}

// The limits of common practice.
const (
	mostLegs  = 5
	mostRatio = 5.0
)

// namesDiffer is how far the areas of two names for one size may lie apart, as 0.5 mm2 and 20 AWG do.
const namesDiffer = 1.04

func judgeBarrel(p *rules.Pass, s *model.Splice, wires []*model.Wire) {
	if !s.Barrel.IsSet() {
		p.Lacks("barrel of the splice", `add barrel = "6 mm2", the largest sum of conductors that it takes`, s.Name.Span, s.Name.Text)
		return
	}
	sum := 0.0
	for _, w := range wires {
		if !w.Size.IsSet() {
			return // without all sizes there is no sum; the wires are said under no-data
		}
		sum += w.Size.AreaMM2()
	}
	if sum > s.Barrel.AreaMM2()*namesDiffer {
		d := p.ReportAs(diag.Error, s.BarrelSpan, append([]string{s.Name.Text}, names(wires)...), "the %d wires at %s have %s mm2 together, and its barrel takes %s",
			len(wires), s.Name.Text, oneDecimal(sum), s.Barrel)
		d.Help = fmt.Sprintf("take a barrel for %s mm2, or part it in two", oneDecimal(sum))
	}
}

func judgeLegs(p *rules.Pass, s *model.Splice, wires []*model.Wire) {
	if len(wires) > mostLegs {
		d := p.Report(s.Name.Span, append([]string{s.Name.Text}, names(wires)...), "%s has %d legs, %d at most", s.Name.Text, len(wires), mostLegs)
		d.Help = "part it in two splices, or use a stud or bus bar"
	}
	thin, thick := wires[0], wires[0]
	for _, w := range wires {
		if !w.Size.IsSet() {
			return
		}
		if w.Size.AreaMM2() < thin.Size.AreaMM2() {
			thin = w
		}
		if w.Size.AreaMM2() > thick.Size.AreaMM2() {
			thick = w
		}
	}
	if ratio := thick.Size.AreaMM2() / thin.Size.AreaMM2(); ratio > mostRatio*namesDiffer {
		d := p.Report(s.Name.Span, []string{s.Name.Text, thin.Name.Text, thick.Name.Text}, "at %s %s (%s) lies beside %s (%s), %s times as thick: %d at most",
			s.Name.Text, thin.Name.Text, thin.Size, thick.Name.Text, thick.Size, oneDecimal(ratio), int(mostRatio))
		d.Help = "take the thin wire off by a fuse or a stud, or make it thicker"
		d.Related = []diag.Related{{Span: thin.SizeSpan, Message: "the thin one"}, {Span: thick.SizeSpan, Message: "the thick one"}}
	}
}
