package grounds

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "shared-stud", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "a controller is grounded on the stud of a motor or a generator",
	Doc: `In the vehicle the joint of a stud in its metal has about a milliohm, more once it corrodes. A fan that starts with 40 A, or a
generator with its ripple, lifts the whole stud by that, and the controller on it sees its signals jump. The rule fires where a
power ground of a controller (a module with sensors or outputs) and the return of a motor, a starter or a generator end on one
ground point or stud.

Give the controller a stud of its own. A bus bar stays silent, and so do lamps, relay coils, horns and other steady things on
the controller's stud, the battery's own cable, and modules with nothing but a supply and a data bus.`,
	Sources: []string{"common practice; a stud in its metal has 0.5 to 2 mohm (estimate)"},
	Bad: `[body.body]
[part]
A1 = { kind = "module", function = "controller", pins = ["1"], pin.1.role = "ground" }
M1 = { kind = "motor", load = "14 A", pin.1.unused = true }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "A1:1", to = "G1:1" }
W2 = { from = "M1:2", to = "G1:2" }
`,
	Good: `[body.body]
[part]
A1 = { kind = "module", function = "controller", pins = ["1"], pin.1.role = "ground" }
M1 = { kind = "motor", load = "14 A", pin.1.unused = true }
G1 = { kind = "ground point", body = "body" }
G2 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "A1:1", to = "G1:1" }
W2 = { from = "M1:2", to = "G2:1" }
`,
	Run: func(p *rules.Pass) {
		onStud := map[*model.Part]*studUse{}
		var order []*model.Part
		r := newReturns(p)
		consumers := r.consumers()
		for _, root := range r.order {
			for _, land := range r.landings[root] {
				part := p.Netlist.Pin(land.at).Owner.Part
				if part == nil || part.Kind.Name != rules.GroundPoint && part.Kind.Name != "stud" {
					continue
				}
				if onStud[part] == nil {
					onStud[part] = &studUse{}
					order = append(order, part)
				}
				onStud[part].add(land, r.controllerOn(root), motorOf(consumers[root]))
			}
		}
		for _, land := range casesOf(p) {
			if use := onStud[p.Netlist.Pin(land.at).Owner.Part]; use != nil {
				use.add(land, nil, p.Netlist.Pin(land.from).Owner.Part)
			}
		}
		for _, stud := range order {
			onStud[stud].report(p, stud)
		}
	},
})

// studUse is who is grounded on a stud.
type studUse struct {
	controller, motor         *model.Part
	controllerLand, motorLand landing
}

func (u *studUse) add(land landing, controller, motor *model.Part) {
	if controller != nil && u.controller == nil {
		u.controller, u.controllerLand = controller, land
	}
	if motor != nil && u.motor == nil {
		u.motor, u.motorLand = motor, land
	}
}

func (u *studUse) report(p *rules.Pass, stud *model.Part) {
	if u.controller == nil || u.motor == nil {
		return
	}
	refs := []string{stud.Name.Text, u.controller.Name.Text, u.motor.Name.Text}
	d := p.Report(endSpan(p, u.controllerLand), refs, "controller %s is grounded at %s, where %s %s returns its current too", u.controller.Name.Text, stud.Name.Text, u.motor.Kind.Name, u.motor.Name.Text)
	d.Help = "give the controller a stud of its own"
	d.Related = []diag.Related{{Span: endSpan(p, u.motorLand), Message: u.motor.Name.Text + " ends here"}}
}

// controllerOn returns the controller whose power ground a piece is, or nil.
func (r *returns) controllerOn(root int32) *model.Part {
	if r.controllers == nil {
		r.controllers = map[int32]*model.Part{}
		for _, part := range r.Netlist.Parts {
			if !r.IsController(part) {
				continue
			}
			for _, id := range part.Terminals() {
				if r.Netlist.Pin(id).Role == catalog.Ground && r.controllers[r.pieces.Find(int32(id))] == nil {
					r.controllers[r.pieces.Find(int32(id))] = part
				}
			}
		}
	}
	return r.controllers[root]
}

// motorOf returns the first motor among consumers.
func motorOf(all []consumer) *model.Part {
	for _, c := range all {
		if k := c.part.Kind.Name; k == "motor" || k == "starter" {
			return c.part
		}
	}
	return nil
}

// casesOf lists the wires from the case of a generator or a starter that is bolted to nothing to a ground point.
func casesOf(p *rules.Pass) []landing {
	var found []landing
	for i := range p.Graph.Edges {
		e := &p.Graph.Edges[i]
		if e.Kind != graph.Wire {
			continue
		}
		for _, land := range []landing{{e, e.A, e.B}, {e, e.B, e.A}} {
			part := p.Netlist.Pin(land.from).Owner.Part
			if part == nil || part.Body != nil || p.Netlist.Pin(land.from).Name != model.CasePin {
				continue
			}
			switch part.Kind.Name {
			case "alternator", "dynamo", "starter":
				found = append(found, land)
			}
		}
	}
	return found
}
