package grounds

import (
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "missing-strap", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "the cranking current has one way back only, or none",
	Doc: `In the vehicle the cable from the battery to the engine works loose one day, and 200 A look for another way from the engine to
the battery: the throttle cable, the screens of sensor cables, the power ground of the engine controller. They glow, and the
controller is gone. The rule follows straps, cables and bolted metal from the case of each starter to the ground post of the
battery, leaving out every way through a device, and fires when there is none, or when one cable is part of every way.

Join the engine to the body by a strap of at least 16 mm2 and at most 0.4 m, and both the engine and the body to the battery. Then
each stands in for the other. A harness with one piece of metal only stays silent, since there is nothing to strap to; so do one
without a battery or a starter, and a starter whose case is bolted to nothing.`,
	Sources: []string{"common practice: an engine strap of at least 16 mm2 and at most 0.4 m besides the battery's ground cable; each ground cable taken off in turn"},
	Bad: `[body.engine]
[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."+".unused = true }
M1 = { kind = "starter", case = "engine", crank = "200 A", pin.30.unused = true, pin.50.unused = true }
G1 = { kind = "ground point", body = "engine" }
G2 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:-", to = "G1:1" }
W2 = { from = "BAT1:-", to = "G2:1" }
`,
	Good: `[body.engine]
[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."+".unused = true }
M1 = { kind = "starter", case = "engine", crank = "200 A", pin.30.unused = true, pin.50.unused = true }
G1 = { kind = "ground point", body = "engine" }
G2 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:-", to = "G1:1" }
W2 = { from = "BAT1:-", to = "G2:1" }
W3 = { from = "G1:2", to = "G2:2" }
`,
	Run: func(p *rules.Pass) {
		b := bonds{p}
		if len(metalsInUse(p.Netlist)) < 2 || !b.hasPost() {
			return
		}
		for _, part := range p.Netlist.Parts {
			if id, has := part.Owner.Pin(model.CasePin); has && part.Kind.Name == "starter" && part.Body != nil {
				b.crank(part, id)
			}
		}
	},
})

// crank looks at the ways from the case of a starter to the battery.
func (b bonds) crank(part *model.Part, id model.PinID) {
	current := "the cranking current"
	if v := part.Value("crank"); v != nil && v.Quantity.IsSet() {
		current += fmt.Sprintf(" (%s)", unit.Ampere(v.Quantity.Value))
	}
	body := part.Body.Name.Text
	path := b.toBattery(id, nil)
	if path == nil {
		d := b.Report(part.BodyRef.Span, []string{part.Name.Text, body}, "no strap or cable leads from %s to the battery: %s of %s has no intended way back, and takes throttle cable, controller ground and screens", body, current, part.Name.Text)
		d.Help = "join " + body + " to the battery's ground post, and to the body by a strap of at least 16 mm2"
		return
	}
	for _, h := range path {
		w := h.Edge.Wire
		if w == nil || b.toBattery(id, w) != nil {
			continue
		}
		d := b.Report(w.Name.Span, []string{w.Name.Text, part.Name.Text, body}, "with %s lifted, %s of %s has no intended way back: it takes throttle cable, controller ground and screens", w.Name.Text, current, part.Name.Text)
		d.Help = "join " + body + " to the body by a strap of at least 16 mm2 and at most 0.4 m, and the body to the battery"
		d.Related = b.Hops(path)
		return
	}
}
