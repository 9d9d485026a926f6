package signals

import (
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "open-screen", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "the screen of a cable is tied nowhere, or at the sensor's end",
	Doc: `In the vehicle a screen that is tied to nothing is an aerial along its own cable: it makes things worse than no screen. One that
is tied at the sensor brings the noise of the engine block to the cores. The rule fires where a cable of kind screened pair or
screened cable has no screen = "..."; where what the screen is tied to leads to no module and no ground; and where it is tied at
the sensor and a controller is at the other end.

Tie the drain wire at the controller's screen terminal, or its sensor ground, and insulate it at the other end. A screen tied at
both ends or to power ground is the matter of ground-loop. Coaxial cable whose sheet asks for another tie is accepted with that.`,
	Sources: []string{
		"common practice: a screen is tied at the controller's end only",
		"SAE J1939-11: the screen is grounded at one point only (testdata/reference/can-bus.csv)",
	},
	Bad: `[part]
B1 = { kind = "inductive sensor", resistance = "900 ohm" }
A1 = { kind = "module", pins = ["9", "10"] }
[wire]
W1 = { from = "B1:1", to = "A1:9" }
W2 = { from = "B1:2", to = "A1:10" }
[cable]
C1 = { kind = "screened pair", wires = ["W1", "W2"] }
`,
	Good: `[part]
B1 = { kind = "inductive sensor", resistance = "900 ohm" }
A1 = { kind = "module", pins = ["9", "10", "11"], pin.11.role = "screen" }
[wire]
W1 = { from = "B1:1", to = "A1:9" }
W2 = { from = "B1:2", to = "A1:10" }
[cable]
C1 = { kind = "screened pair", wires = ["W1", "W2"], screen = "A1:11" }
`,
	Run: func(p *rules.Pass) {
		for _, c := range p.Netlist.Cables {
			if strings.HasPrefix(c.Kind.Text, "screened") && len(c.Wires) > 0 {
				screenOf(p, c)
			}
		}
	},
})

func screenOf(p *rules.Pass, c *model.Cable) {
	name := c.Name.Text
	if len(c.Screen) == 0 {
		p.Report(c.Name.Span, []string{name}, "the screen of %s is tied nowhere", name).Help = `tie it at the controller's end: screen = "XB:11"`
		return
	}
	if len(c.Screen) > 1 || c.Screen[0].ID == model.NoPin {
		return // ground-loop counts ties, the language reports names that lead nowhere
	}
	tie := c.Screen[0]
	anchored := func(id model.PinID) bool {
		part := p.Netlist.Pin(id).Owner.Device()
		return p.IsGround(id) || part != nil && !part.Kind.Joined && !rules.IsSensor(part)
	}
	path := p.Graph.PathTo(tie.ID, anchored, func(e *graph.Edge) bool { return e.Kind.Outside() })
	sensor := p.Netlist.Pin(tie.ID).Owner.Device()
	switch {
	case path == nil && sensor != nil && rules.IsSensor(sensor) && controllerEnd(p, c):
		d := p.Report(tie.Span, []string{name, tie.Text}, "the screen of %s is tied at the sensor %s", name, sensor.Name.Text)
		d.Help = "tie it at the controller's end, and insulate it here"
	case path == nil:
		d := p.Report(tie.Span, []string{name, tie.Text}, "the screen of %s is tied at %s, which leads to no module and no ground", name, tie.Text)
		d.Help = "take it on from there to the controller's screen terminal"
	}
}

// controllerEnd reports whether a core of the cable leads to something that is no sensor.
func controllerEnd(p *rules.Pass, c *model.Cable) bool {
	for _, w := range c.Wires {
		if w.From.ID == model.NoPin {
			continue
		}
		for _, id := range p.Graph.NetOf(w.From.ID).Pins {
			if part := p.Netlist.Pin(id).Owner.Device(); part != nil && !part.Kind.Joined && !rules.IsSensor(part) {
				return true
			}
		}
	}
	return false
}
