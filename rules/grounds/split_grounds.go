package grounds

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "split-grounds", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "the power grounds of one controller go to different metals",
	Doc: `In the vehicle the engine and the body are not at one voltage while the starter turns or the generator delivers: the strap
between them loses some tenths of a volt. A controller with one ground on each has that difference between its own terminals: its
signals shift, and part of the cranking current goes through it. The rule fires where wired terminals of role ground of one
module reach ground points on different bodies.

Take all of them to one stud, on the engine for an engine controller. A module that says isolated-grounds = true stays silent,
and so do several studs on one body. Terminals that are one piece of metal inside are the matter of ground-loop. Where the maker
asks for two bodies, accept the finding with the page of the sheet.`,
	Sources: []string{"common practice: at least two power ground wires, all to one stud on the engine"},
	Bad: `[body.engine]
[body.body]
[part]
A1 = { kind = "module", function = "controller", pins = ["1", "2"], pin.1.role = "ground", pin.2.role = "ground" }
G1 = { kind = "ground point", body = "engine" }
G2 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "A1:1", to = "G1:1" }
W2 = { from = "A1:2", to = "G2:1" }
W3 = { from = "G1:2", to = "G2:2" }
`,
	Good: `[body.engine]
[part]
A1 = { kind = "module", function = "controller", pins = ["1", "2"], pin.1.role = "ground", pin.2.role = "ground" }
G1 = { kind = "ground point", body = "engine" }
[wire]
W1 = { from = "A1:1", to = "G1:1" }
W2 = { from = "A1:2", to = "G1:2" }
`,
	Run: func(p *rules.Pass) {
		var r *returns
		for _, part := range p.Netlist.Parts {
			if p.IsController(part) && !part.IsolatedGrounds.On {
				if r == nil {
					r = newReturns(p)
				}
				r.splitGrounds(part)
			}
		}
	},
})

// splitGrounds reports the first power ground that lies on another body than the first of all.
func (r *returns) splitGrounds(part *model.Part) {
	var first, firstLand model.PinID = model.NoPin, model.NoPin
	for _, id := range part.Terminals() {
		pin := r.Netlist.Pin(id)
		if pin.Role != catalog.Ground || r.IsGround(id) {
			continue
		}
		all := r.landings[r.pieces.Find(int32(id))]
		if len(all) == 0 {
			continue
		}
		at := all[0].at
		switch {
		case bodyAt(r.Netlist, at) == nil:
		case first == model.NoPin:
			first, firstLand = id, at
		case r.pieces.Find(int32(id)) == r.pieces.Find(int32(first)):
		case bodyAt(r.Netlist, at) != bodyAt(r.Netlist, firstLand):
			r.reportSplit(part, [2]model.PinID{first, id}, firstLand, all[0])
			return
		}
	}
}

func (r *returns) reportSplit(part *model.Part, pins [2]model.PinID, first model.PinID, land landing) {
	n := r.Netlist
	one, two := n.Pin(pins[0]), n.Pin(pins[1])
	d := r.Report(endSpan(r.Pass, land), []string{part.Name.Text, one.String(), two.String(), n.Pin(first).Owner.Name.Text, n.Pin(land.at).Owner.Name.Text},
		"power grounds of %s lie on two bodies: %s on %s at %s, %s on %s at %s", part.Name.Text,
		one, bodyAt(n, first).Name.Text, n.Pin(first).Owner.Name.Text, two, bodyAt(n, land.at).Name.Text, n.Pin(land.at).Owner.Name.Text)
	d.Help = "take all of them to one stud"
	path := append(r.Graph.PathTo(one.ID, r.IsGround, carries), r.Graph.PathTo(two.ID, r.IsGround, carries)...)
	d.Related = r.Hops(path)
}

// bodyAt returns the metal that a ground terminal is bolted to, or nil.
func bodyAt(n *model.Netlist, pin model.PinID) *model.Body {
	o := n.Pin(pin).Owner
	if o.Part != nil {
		return o.Part.Body
	}
	return o.Body
}
