package switching

import (
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "reversed-coil-diode", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "the diode across a relay's coil lies forward",
	Doc: `A relay with a diode inside has a plus terminal, 86 as a rule. With supply on the other one the diode lies forward across
supply and ground: when the coil is switched on it is a short, and the fuse, the diode or the output of the controller goes.
The rule fires where the terminal that plus names can come to ground and the other one to supply, and not the other way round.

Change the two wires of the coil over, or take a relay with a resistor, which does not mind. Silent are relays with a resistor
or nothing across the coil, and those whose coil can lie either way, which net-short judges state by state. A relay with a
diode that does not name its plus is listed by no-data.`,
	Sources: []string{"common practice: the cathode of the diode is at 86, so that 86 is plus"},
	Bad: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch" }
K1 = { kind = "relay", suppression = "diode", plus = "86" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:1" }
W2 = { from = "S1:2", to = "K1:85" }
W3 = { from = "K1:86", to = "G1:1" }
W4 = { from = "BAT1:-", to = "G1:2" }
`,
	Good: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch" }
K1 = { kind = "relay", suppression = "diode", plus = "86" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:1" }
W2 = { from = "S1:2", to = "K1:86" }
W3 = { from = "K1:85", to = "G1:1" }
W4 = { from = "BAT1:-", to = "G1:2" }
`,
	Run: func(p *rules.Pass) {
		web := reach.New(p.Facts)
		if !web.Whole() {
			return
		}
		e := lookAround(p)
		var most *reach.Flow
		for _, c := range e.coils() {
			if v := c.edge.Part.Value("suppression"); c.edge.Kind != graph.Coil || v == nil || v.Word.Text != "diode" {
				continue
			}
			plus, named := plusOf(c.edge)
			if !named {
				p.Lacks("plus of the diode across the coil", `add plus = "86" to the relay, the terminal at the diode's cathode`, reach.ValueSpan(p.Netlist, c.edge.Part, "suppression"), c.edge.Part.Name.Text)
				continue
			}
			if most == nil {
				most = web.Flow(reach.Ask{Free: reach.Any, Outputs: reach.AnyOutput})
			}
			e.diode(c.edge, plus, most)
		}
	},
})

// plusOf returns the end of a coil that must be plus.
func plusOf(c *graph.Edge) (model.PinID, bool) {
	v := c.Part.Value("plus")
	if v == nil || !v.Word.IsSet() {
		return model.NoPin, false
	}
	pin, ok := c.Part.Owner.Pin(v.Word.Text)
	return pin, ok && (pin == c.A || pin == c.B)
}

func (e *ends) diode(c *graph.Edge, plus model.PinID, most *reach.Flow) {
	other := c.Other(plus)
	live, ground := plus, other
	if e.Netlist.Harness.PositiveGround {
		live, ground = other, plus
	}
	if !most.Live(ground) || !most.Ground(live) || most.Live(live) && most.Ground(ground) {
		return
	}
	shorts, over := "", most.LiveOver(ground)
	for _, edge := range over {
		if edge.Kind == graph.Protect {
			shorts = " across " + titled(edge.Part)
			break
		}
	}
	if outputs := e.outputs[e.Fed(live)]; len(outputs) > 0 {
		shorts += " and " + e.name(outputs[0]) + ", a short as soon as that is on"
	}
	d := e.Report(reach.Named(e.Facts, other), []string{c.Part.Name.Text, e.name(other), e.name(plus)},
		"the diode in %s lies forward%s: supply comes to %s, and %s, which must be plus, goes to ground", titled(c.Part), shorts, e.name(ground), e.name(live))
	if e.Netlist.Harness.PositiveGround {
		d.Message = fmt.Sprintf("the diode in %s lies forward%s: %s, which must be plus, is on the side of minus", titled(c.Part), shorts, e.name(plus))
	}
	d.Help = fmt.Sprintf("change the wires at %s and %s over, or take a relay with a resistor across the coil", e.name(plus), e.name(other))
}
