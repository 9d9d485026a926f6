package wires

import (
	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
	"fmt"
	"math"
)

var _ = rules.Register(&rules.Rule{
	Name: "thin-before-thick", Severity: diag.Note, Harm: rules.Annoys, Since: "0.2",
	Title: "a thinner wire carries all that a thicker one behind it carries",
	Doc: `In the vehicle the thin piece sets what the circuit may carry and where it warms; the copper behind it is money without
use, and the next builder goes by the thick wire and takes a larger fuse. The rule follows the current of each state over splices and
mated connectors: it fires where one wire there is thinner than another by a quarter of its area or more, carries the same
current, and is as long or longer.

A thick wire that is the longer of the two is thick for its drop, and is silent; so are a wire that came with its device (supplied = true)
and one that carries less than an ampere, which is thick for its strength.

Give both the size of the thicker one, or of the thinner one if that is enough for fuse and drop.`,
	Sources: []string{"common practice"},
	Bad:     thinExample("18 AWG"),
	Good:    thinExample("12 AWG"),
	Run: func(p *rules.Pass) {
		joints := jointsOf(p)
		said := map[*model.Wire]bool{}
		for cond, r := range settled(p) {
			by := make([]*circuit.WireReport, len(p.Netlist.Wires))
			for i := range r.Wires {
				by[r.Wires[i].Wire.Index] = &r.Wires[i]
			}
			for _, wires := range joints {
				thin, thick := bottleneck(wires, by)
				if thin != nil && !said[thin.Wire] {
					said[thin.Wire] = true
					reportThin(p, cond, thin, thick)
				}
			}
		}
	},
})

func thinExample(size string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "15 A" }
E1 = { kind = "lamp", load = "60 W" }
[splice.SP1]
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "12 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "SP1:1", size = "` + size + `", length = "1 m" }
W3 = { from = "SP1:2", to = "E1:1", size = "12 AWG", length = "0.5 m" }
W4 = { from = "E1:2", to = "BAT1:-", size = "12 AWG", length = "1 m" }
`
}

// jointsOf lists the wires that meet at each splice and each mated pair of cavities.
func jointsOf(p *rules.Pass) [][]*model.Wire {
	var joints [][]*model.Wire
	for _, s := range p.Netlist.Splices {
		var wires []*model.Wire
		for _, id := range s.Owner.Pins {
			wires = append(wires, p.Graph.WiresAt(id)...)
		}
		joints = append(joints, wires)
	}
	for i := range p.Graph.Edges {
		if e := &p.Graph.Edges[i]; e.Kind == graph.Mate {
			joints = append(joints, append(p.Graph.WiresAt(e.A), p.Graph.WiresAt(e.B)...))
		}
	}
	return joints
}

// bottleneck finds two wires of a joint that carry the same current though one is thinner and no shorter.
func bottleneck(wires []*model.Wire, by []*circuit.WireReport) (thin, thick *circuit.WireReport) {
	var most, second *circuit.WireReport
	for _, w := range wires {
		switch r := by[w.Index]; {
		case r == nil:
		case most == nil || r.Amps > most.Amps:
			most, second = r, most
		case second == nil || r.Amps > second.Amps:
			second = r
		}
	}
	if second == nil || most.Amps < 1 || second.Amps < 0.95*most.Amps {
		return nil, nil
	}
	thin, thick = most, second
	if thin.Wire.Size.AreaMM2() > thick.Wire.Size.AreaMM2() {
		thin, thick = thick, thin
	}
	if thin.Wire.Supplied.On || thin.Wire.Size.AreaMM2() > 0.75*thick.Wire.Size.AreaMM2() {
		return nil, nil
	}
	return thin, thick
}

func reportThin(p *rules.Pass, cond *graph.Condition, thin, thick *circuit.WireReport) {
	a, knownA := p.Routes.Length(thin.Wire)
	b, knownB := p.Routes.Length(thick.Wire)
	if !knownA || !knownB || float64(a) < float64(b)*(1-1e-9) {
		return
	}
	d := p.Report(place(thin.Wire).Span, []string{thin.Wire.Name.Text, thick.Wire.Name.Text}, "%s (%s, %s) and %s (%s, %s) carry the same %s %s: the thinner one sets what both may carry",
		thin.Wire.Name.Text, thin.Wire.Size, unit.Metre(a), thick.Wire.Name.Text, thick.Wire.Size, unit.Metre(b), amperes(math.Abs(thin.Amps)), inState(cond))
	d.Help = fmt.Sprintf("give both one size: %s, or %s if fuse and drop allow it", thick.Wire.Size, thin.Wire.Size)
	d.Related = []diag.Related{{Span: place(thick.Wire).Span, Message: "the thicker one"}}
}
