package grounds

import (
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "unbonded-metal", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "current returns through metal that no strap joins to the battery",
	Doc: `In the vehicle a bed on rubber mounts, a door on its hinges, a painted or galvanised panel conducts one day and not the next:
lamps that flicker with the road, a pump that is slow in the wet. The rule fires for every metal (body) that something is grounded
on, when no cable, strap or bar leads from it to the ground post of the battery. It counts no way through a device, and none that
the file does not write: metals count as separate until a wire joins them, and metal marked poor = true most of all.

Write the strap that is there, or add one: a wire from a ground point on this metal to one on the next. Metal that nothing is
grounded on stays silent, and so does a harness without a battery. The metal of a starter is the matter of missing-strap.`,
	Sources: []string{"common practice: a return crosses no rubber mount, hinge, bed joint or painted panel without a strap"},
	Bad: `[body.body]
[body.bed]
poor = true
[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."+".unused = true }
E1 = { kind = "lamp", load = "21 W", pin.1.unused = true }
G1 = { kind = "ground point", body = "body" }
G2 = { kind = "ground point", body = "bed" }
[wire]
W1 = { from = "BAT1:-", to = "G1:1" }
W2 = { from = "E1:2", to = "G2:1" }
`,
	Good: `[body.body]
[body.bed]
poor = true
[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."+".unused = true }
E1 = { kind = "lamp", load = "21 W", pin.1.unused = true }
G1 = { kind = "ground point", body = "body" }
G2 = { kind = "ground point", body = "bed" }
[wire]
W1 = { from = "BAT1:-", to = "G1:1" }
W2 = { from = "E1:2", to = "G2:1" }
W3 = { from = "G2:2", to = "G1:2" }
`,
	Run: func(p *rules.Pass) {
		b := bonds{p}
		if !b.hasPost() {
			return
		}
		for _, body := range metalsInUse(p.Netlist) {
			if body.Pin != model.NoPin && b.toBattery(body.Pin, nil) == nil {
				b.unbonded(body)
			}
		}
	},
})

// unbonded reports metal that hangs free, at its first ground point or case.
func (b bonds) unbonded(body *model.Body) {
	var at *model.Part
	for _, part := range b.Netlist.Parts {
		if part.Body != body {
			continue
		}
		if part.Kind.Name == "starter" {
			return
		}
		if at == nil && b.inUse(part) {
			at = part
		}
	}
	if at == nil {
		return
	}
	span := at.BodyRef.Span
	if at.Kind.Name == rules.GroundPoint {
		span = at.GroundBody.Span
	}
	why := ""
	if body.Poor.On {
		why = ", and it is poor ground by itself"
	}
	d := b.Report(span, []string{at.Name.Text, body.Name.Text}, "%s is grounded on %s, which no strap joins to the battery%s", at.Name.Text, body.Name.Text, why)
	d.Help = "add the strap, or write the one that is there: a wire from a ground point on " + body.Name.Text + " to one on metal that the battery is joined to"
	d.Related = []diag.Related{{Span: body.Name.Span, Message: body.Name.Text + " is defined here"}}
}

// inUse reports whether a ground point has wires, or a part returns current through its case.
func (b bonds) inUse(part *model.Part) bool {
	for _, id := range part.Owner.Pins {
		for _, e := range b.Graph.At(id) {
			if k := b.Graph.Edge(e).Kind; k != graph.Bolted && k != graph.Joined {
				return true
			}
		}
	}
	return false
}
