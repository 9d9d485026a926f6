package switching

import (
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "pulsed-relay", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a relay with contacts hangs on a pulsed output",
	Doc: `A relay with contacts follows a pulsed output as a buzzer does, or holds half way and burns: 100 000 operations are gone
within hours. The rule fires where the coil of a relay, over wires and fuses, lies on an output of a module with pulsed = true.

Move the coil to an output that only goes on and off, have the controller drive that output without pulses, or take a solid-state
relay, written as a device with an input, which the rule does not look at. Silent are valves, heaters and lamps on pulsed outputs.`,
	Sources: []string{"common practice"},
	Bad: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
K1 = { kind = "relay", suppression = "resistor" }
A1 = { kind = "module", pins = ["1"], pin.1 = { role = "sink", pulsed = true } }
[wire]
W1 = { from = "F1:2", to = "K1:86" }
W2 = { from = "K1:85", to = "A1:1" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
K1 = { kind = "relay", suppression = "resistor" }
A1 = { kind = "module", pins = ["1"], pin.1 = { role = "sink" } }
[wire]
W1 = { from = "F1:2", to = "K1:86" }
W2 = { from = "K1:85", to = "A1:1" }
`,
	Run: func(p *rules.Pass) {
		e := lookAround(p)
		for _, c := range e.coils() {
			if c.edge.Kind != graph.Coil || e.Permanent(c.edge.A) && e.Permanent(c.edge.B) {
				continue
			}
			for _, id := range e.outputsAt(c.edge.A, c.edge.B) {
				if !p.Netlist.Pin(id).Pulsed.On {
					continue
				}
				d := p.Report(reach.Named(p.Facts, id), []string{c.edge.Part.Name.Text, e.name(id)}, "%s hangs on %s, which is pulsed: its contacts follow the pulses or stand half way", titled(c.edge.Part), e.name(id))
				d.Help = "take an output that only goes on and off, or a solid-state relay"
			}
		}
	},
})
