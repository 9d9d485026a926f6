package operation

import (
	"fmt"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "dead-when-needed", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "something is without supply in a state in which it must work",
	Doc: `An engine that only fires as the key is let go has its controller, its coils or its pump on a rail that the key switch drops
in START. The rule fires where a part, or one of its loads, is without supply in a state that it names under needed-in; and, in every state in which
the engine is cranking, for what has the function controller, ignition, injection or fuel pump, whether it names the state or not. A
consumer that an output switches to ground is supplied when its other end is live, and so is the coil of a relay; a controller when
one of its switched supplies is live, and all that are marked as required.

Feed it from a rail that stays live in that state: 15 and not 75 or 15X, or lead the missing one over the contact that START
closes. Silent are parts that are not needed in the state, and consumers that wait for an output.`,
	Sources: []string{"common practice: cranking keeps controller, pump, coils, injectors and sensors", "DIN 72552 for the names of rails (testdata/reference/terminals-din72552.csv)"},
	Bad:     cranking(`["30-50"]`),
	Good:    cranking(`["30-15-50"]`),
	Run: func(p *rules.Pass) {
		p.FollowsShorts()
		for _, part := range p.Netlist.Parts {
			for i, cond := range p.Conditions {
				if cond.State == nil || part.Spare.On {
					continue
				}
				if span, needed := neededIn(p, part, cond); needed && !supplied(p, part, i, span) {
					break // one cause is often in the way of several states
				}
			}
			loadsNeeded(p, part)
		}
	},
})

// cranking is an engine with an ignition coil, and a key switch whose position start joins what is given.
func cranking(start string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", pins = ["30", "15", "50"], positions = { off = [], run = ["30-15"], start = ` + start + ` } }
T1 = { kind = "ignition coil", load = "4 A", needed-in = ["crank"] }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:30" }
W2 = { from = "S1:15", to = "T1:15" }
W3 = { from = "T1:1", to = "G1:1" }
W4 = { from = "BAT1:-", to = "G1:2" }
[state.run]
switches = { S1 = "run" }
[state.crank]
engine = "cranking"
switches = { S1 = "start" }
`
}

// cranks are the functions without which an engine does not start.
var cranks = []string{"controller", "ignition", "injection", "fuel pump"}

func neededIn(p *rules.Pass, part *model.Part, cond *graph.Condition) (source.Span, bool) {
	for _, n := range part.NeededIn {
		if n.Text == cond.Name() {
			return n.Span, true
		}
	}
	turns := slices.Contains(cranks, part.Function.Text) || slices.ContainsFunc(part.Inside.Loads, func(l model.Load) bool { return slices.Contains(cranks, l.Function.Text) })
	return part.Name.Span, turns && cond.State.Engine.Text == "cranking"
}

// supplied reports what lacks supply in a state; true when nothing does.
func supplied(p *rules.Pass, part *model.Part, at int, span source.Span) bool {
	cond := p.Conditions[at]
	if len(part.Inside.Coils) > 0 {
		return coilSupplied(p, part, at, span)
	}
	if len(part.Inside.Loads) == 0 || part.Kind.Name == "module" {
		return moduleSupplied(p, part, at, span)
	}
	for i := range part.Inside.Loads {
		l := &part.Inside.Loads[i]
		if l.Function.IsSet() && part.NeededIn == nil && !slices.Contains(cranks, l.Function.Text) {
			continue
		}
		if !p.Graph.Reached(l.A) && !p.IsGround(l.A) || !p.Graph.Reached(l.B) && !p.IsGround(l.B) || fed(p, cond, l.A, l.B) {
			continue
		}
		pin := l.A
		if cond.Live(l.A) || p.Grounded(l.A) {
			pin = l.B
		}
		u := use{part: part, a: l.A, b: l.B}
		dead(p, part, u.title(), pin, at, span)
		return false
	}
	return true
}

// loadsNeeded reports the loads of a part that name states of their own and are without supply in one of them.
func loadsNeeded(p *rules.Pass, part *model.Part) {
	for i := range part.Inside.Loads {
		l := &part.Inside.Loads[i]
		if part.Spare.On {
			continue
		}
		for _, name := range l.NeededIn {
			at := slices.IndexFunc(p.Conditions, func(c *graph.Condition) bool { return c.State != nil && c.Name() == name.Text })
			if at >= 0 && !fed(p, p.Conditions[at], l.A, l.B) {
				loadDead(p, part, l, at, name.Span)
				break
			}
		}
	}
}

func loadDead(p *rules.Pass, part *model.Part, l *model.Load, at int, span source.Span) {
	pin, cond := l.A, p.Conditions[at]
	if cond.Live(l.A) || p.Grounded(l.A) {
		pin = l.B
	}
	title := titled(part)
	if l.Title.IsSet() {
		title = part.Name.Text + " (" + l.Title.Text + ")"
	}
	dead(p, part, title, pin, at, span)
}

// coilSupplied reports a relay that must be pulled in, and is not.
func coilSupplied(p *rules.Pass, part *model.Part, at int, span source.Span) bool {
	cond := p.Conditions[at]
	for _, c := range part.Inside.Coils {
		if !p.Graph.Reached(c.A) || !p.Graph.Reached(c.B) || fed(p, cond, c.A, c.B) {
			continue
		}
		pin := c.A
		if cond.Live(c.A) || p.Grounded(c.A) {
			pin = c.B
		}
		dead(p, part, titled(part), pin, at, span)
		return false
	}
	return true
}

// fed reports whether a consumer has supply at one end and at the other ground, or an output that can give it.
func fed(p *rules.Pass, cond *graph.Condition, a, b model.PinID) bool {
	half := func(a, b model.PinID) bool { return cond.Live(a) && (cond.Grounded(b) || outputOn(p, b)) }
	return half(a, b) || half(b, a)
}

func outputOn(p *rules.Pass, pin model.PinID) bool {
	return slices.ContainsFunc(p.Graph.NetOf(pin).Pins, func(id model.PinID) bool {
		switch p.Netlist.Pin(id).Role {
		case catalog.Sink, catalog.HalfBridge, catalog.Driver:
			return true
		}
		return false
	})
}

func moduleSupplied(p *rules.Pass, part *model.Part, at int, span source.Span) bool {
	cond := p.Conditions[at]
	first, any := model.NoPin, false
	for _, id := range part.Terminals() {
		pin := p.Netlist.Pin(id)
		if pin.Role != catalog.Supply || !p.Graph.Reached(id) {
			continue
		}
		switch {
		case cond.Live(id):
			any = any || !p.Permanent(id)
		case pin.Required.On:
			dead(p, part, titled(part), id, at, span)
			return false
		case first == model.NoPin:
			first = id
		}
	}
	if first != model.NoPin && !any {
		dead(p, part, titled(part), first, at, span)
		return false
	}
	return true
}

// dead reports, and says which contact is the difference to a state in which the terminal is live.
func dead(p *rules.Pass, part *model.Part, title string, pin model.PinID, at int, span source.Span) {
	cond := p.Conditions[at]
	d := p.Report(span, []string{part.Name.Text, p.Netlist.Pin(pin).String()}, "%s must work in state %s, and %s is dead then", title, cond.Name(), p.Netlist.Pin(pin))
	d.Help = "feed it from a rail that is live in that state"
	for _, other := range p.Conditions {
		if !other.Live(pin) {
			continue
		}
		path := p.Graph.PathTo(pin, p.IsLive, other.Closed)
		for _, h := range path {
			if h.Edge.Kind.Contact() && !cond.Closed(h.Edge) {
				d.Message += fmt.Sprintf(": %s, which feeds it in state %s, is open", contactName(p, h.Edge), other.Name())
				d.Help = fmt.Sprintf("close %s in that state too, or feed it from a rail that is live then", contactName(p, h.Edge))
				break
			}
		}
		d.Related = p.Hops(path)
		return
	}
}

// contactName writes a contact as "S1 30-15".
func contactName(p *rules.Pass, e *graph.Edge) string {
	return fmt.Sprintf("%s %s-%s", e.Part.Name.Text, e.Part.Owner.PinName(e.A), e.Part.Owner.PinName(e.B))
}
