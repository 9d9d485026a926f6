package nets

import (
	"ferrule/rules"
	"fmt"
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

var _ = rules.Register(&rules.Rule{
	Name: "same-color-at-part", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "two wires of one colour and size at one part",
	Doc: `In the vehicle somebody takes the switch out, and two wires of one colour and size hang there that belong on two terminals; each
fits the place of the other. Rule color-clash looks at connectors; this one looks at parts that have terminals of their own,
such as switches, relays, lamps and sensors. It fires where wires of one colour and one size go to two terminals of one part on two nets.

Give one of the two another tracer. Silent are ground wires among themselves, wires of one net, wires of which the file states one name for both, wires of two sizes, cores of
cables, wires that came with a kit, terminals that the part joins in all its positions, and parts with two terminals, such as a
plain lamp or a fuse.`,
	Sources: []string{"common practice: no colour twice at one place"},
	Bad: `[part]
S1 = { kind = "switch", spare = true, pins = ["30", "58", "56"], positions = { off = [], on = ["30-58-56"] } }
E1 = { kind = "lamp", load = "5 W", spare = true }
E2 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "S1:58", to = "E1:1", color = "GY" }
W2 = { from = "S1:56", to = "E2:1", color = "GY" }
`,
	Good: `[part]
S1 = { kind = "switch", spare = true, pins = ["30", "58", "56"], positions = { off = [], on = ["30-58-56"] } }
E1 = { kind = "lamp", load = "5 W", spare = true }
E2 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "S1:58", to = "E1:1", color = "GY" }
W2 = { from = "S1:56", to = "E2:1", color = "GY/WH" }
`,
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			if !part.Kind.Joined && len(part.Owner.Pins) > 2 {
				alike(p, part)
			}
		}
	},
})

// A look is what tells one wire from another once both hang free.
type look struct {
	color unit.Color
	size  unit.Size
}

// alike reports the first pair of wires of each look at a part.
func alike(p *rules.Pass, part *model.Part) {
	first := map[look]seat{}
	told := map[look]bool{}
	for _, pin := range part.Owner.Pins {
		if p.Grounded(pin) {
			continue
		}
		for _, id := range p.Graph.At(pin) {
			e := p.Graph.Edge(id)
			if e.Kind != graph.Wire || !free(e.Wire) {
				continue
			}
			key := look{e.Wire.Color, e.Wire.Size}
			s := seat{wire: e.Wire, pin: pin, net: p.Graph.NetOf(pin).ID}
			was, seen := first[key]
			switch {
			case !seen:
				first[key] = s
			case was.net == s.net || was.wire == s.wire || told[key]:
			case s.wire.Net.IsSet() && s.wire.Net.Text == was.wire.Net.Text: // one function before and behind a contact
			case alwaysJoined(part, was.pin, s.pin):
			default:
				told[key] = true
				lookAlike(p, was, s)
			}
		}
	}
}

// alwaysJoined reports whether a part joins two of its terminals in every position: it does not matter then which wire is
// on which.
func alwaysJoined(part *model.Part, a, b model.PinID) bool {
	both := func(group []model.PinID) bool { return slices.Contains(group, a) && slices.Contains(group, b) }
	if slices.ContainsFunc(part.Inside.Joins, both) {
		return true
	}
	for _, p := range part.Inside.Positions {
		if !slices.ContainsFunc(p.Joins, both) {
			return false
		}
	}
	return len(part.Inside.Positions) > 0
}

func lookAlike(p *rules.Pass, a, b seat) {
	if b.wire.Index < a.wire.Index {
		a, b = b, a
	}
	at, other := p.Netlist.Pin(b.pin), p.Netlist.Pin(a.pin)
	d := p.Report(b.wire.ColorText.Span, []string{b.wire.Name.Text, a.wire.Name.Text, at.String(), other.String()}, "wires %s at %s and %s at %s are both %s",
		a.wire.Name.Text, other, b.wire.Name.Text, at, b.wire.Color)
	d.Help = "give one of the two another tracer, so that they cannot be swapped"
	d.Related = []diag.Related{{Span: a.wire.ColorText.Span, Message: fmt.Sprintf("wire %s is %s too", a.wire.Name.Text, a.wire.Color)}}
}
