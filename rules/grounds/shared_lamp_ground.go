package grounds

import (
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "shared-lamp-ground", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "left and right lamps, or stop and turn lamps, share one piece of ground wire",
	Doc: `In the vehicle, once that piece corrodes or comes off, the current of one lamp finds its way back through the filament of the
other: the right lamp glows with the left turn signal, the tail lamps blink, and the stop lamp is half as bright. The rule fires
where the only way to ground of several lamp housings is one wire, and among them are lamps of both sides, or a stop lamp in one
and a turn lamp in another. It needs to know what lamps are for: function and side of the part or of each of its loads.

Give each housing a wire of its own to the stud. Lamps in one housing stay silent, since they have one ground terminal by
make; so do separate wires to one stud or bar, and the small lamps of an instrument.`,
	Sources: []string{"common practice"},
	Bad: `[body.body]
[part]
E1 = { kind = "lamp", load = "21 W", function = "turn", side = "left", pin.1.unused = true }
E2 = { kind = "lamp", load = "21 W", function = "turn", side = "right", pin.1.unused = true }
G1 = { kind = "ground point", body = "body" }
[splice]
SP1 = {}
[wire]
W1 = { from = "E1:2", to = "SP1:1" }
W2 = { from = "E2:2", to = "SP1:2" }
W3 = { from = "SP1:3", to = "G1:1" }
`,
	Good: `[body.body]
[part]
E1 = { kind = "lamp", load = "21 W", function = "turn", side = "left", pin.1.unused = true }
E2 = { kind = "lamp", load = "21 W", function = "turn", side = "right", pin.1.unused = true }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "E1:2", to = "G1:1" }
W2 = { from = "E2:2", to = "G1:2" }
`,
	Run: func(p *rules.Pass) {
		r := newReturns(p)
		consumers := r.consumers()
		for _, root := range r.order {
			if land, only := r.onlyWire(root); only {
				sharedLamps(p, land, consumers[root])
			}
		}
	},
})

// outerLamps are the functions of lamps that other road users read.
var outerLamps = []string{"low beam", "high beam", "tail", "stop", "turn", "hazard", "reverse", "park"}

// sharedLamps looks among the lamps of one piece for two that must not glow through each other.
func sharedLamps(p *rules.Pass, land landing, all []consumer) {
	var lamps, unsaid []consumer
	for _, c := range all {
		switch {
		case slices.Contains(outerLamps, c.load.Function.Text):
			lamps = append(lamps, c)
		case c.part.Kind.Name == "lamp" && !c.load.Function.IsSet():
			unsaid = append(unsaid, c)
		}
	}
	for i, a := range lamps {
		for _, b := range lamps[:i] {
			if why := glowThrough(b.load, a.load); a.part != b.part && why != "" {
				sharedBy(p, land, b, a, why)
				return
			}
		}
	}
	if whole := append(lamps, unsaid...); len(unsaid) > 0 && slices.ContainsFunc(whole, func(c consumer) bool { return c.part != unsaid[0].part }) {
		part := unsaid[0].part
		p.Lacks("function and side", `add function = "turn" and side = "left" to the part, or to each of its loads`, part.Name.Span, part.Name.Text)
	}
}

// glowThrough says what the two lamps are that must not share a ground; empty when they may.
func glowThrough(a, b *model.Load) string {
	switch {
	case a.Side.IsSet() && b.Side.IsSet() && a.Side.Text != b.Side.Text:
		return a.Function.Text + " " + a.Side.Text + " and " + b.Function.Text + " " + b.Side.Text
	case isPair(a.Function.Text, b.Function.Text, "stop", "turn"), isPair(a.Function.Text, b.Function.Text, "stop", "hazard"):
		return a.Function.Text + " and " + b.Function.Text
	}
	return ""
}

func isPair(a, b, one, two string) bool { return a == one && b == two || a == two && b == one }

func sharedBy(p *rules.Pass, land landing, a, b consumer, why string) {
	w := land.edge.Wire
	refs := []string{w.Name.Text, a.part.Name.Text, b.part.Name.Text, p.Netlist.Pin(land.at).Owner.Name.Text}
	d := p.Report(endSpan(p, land), refs, "%s and %s share ground wire %s (%s): without it they glow through each other", a.part.Name.Text, b.part.Name.Text, w.Name.Text, why)
	d.Help = "give each of them a wire of its own to " + p.Netlist.Pin(land.at).Owner.Name.Text
	path := append(p.Graph.Path(a.ret, land.from, carries), p.Graph.Path(b.ret, land.from, carries)...)
	d.Related = p.Hops(path)
}
