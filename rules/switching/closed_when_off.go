package switching

import (
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "closed-when-off", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a switch joins its terminals in the position off",
	Doc: `In the vehicle the lamp burns while its switch says off, and the battery is flat in the morning; or the table of positions was
written the wrong way round, and every state that the file describes is solved with the lamp dark where it burns. The rule
fires where the position named off joins terminals that another position leaves apart, while that other joins nothing beyond what off
joins.

Exchange the joins of the two positions, or give them the names that the switch has. Silent are positions that lead to
ground, as a stop button that grounds an ignition does; positions that join other terminals than off does, as a wiper switch whose off
leads to the park contact; contacts with an end that nothing is wired to and no consumer inside hangs on; and switches whose positions have other names.`,
	Sources: []string{"common practice"},
	Bad:     offSwitch(`["1-2"]`, "[]"),
	Good:    offSwitch("[]", `["1-2"]`),
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			positions := part.Inside.Positions
			off := slices.IndexFunc(positions, func(at model.Position) bool { return strings.EqualFold(at.Name.Text, "off") })
			if off >= 0 && !part.Spare.On {
				closedWhenOff(p, part, &positions[off], positions)
			}
		}
	},
})

// offSwitch is a lamp behind a switch, with what its two positions join.
func offSwitch(off, on string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", positions = { off = ` + off + `, on = ` + on + ` }, rest = "off" }
E1 = { kind = "lamp", load = "5 W", works-off = true }
[wire]
W1 = { from = "BAT1:+", to = "S1:1", size = "14 AWG", length = "0.1 m" }
W2 = { from = "S1:2", to = "E1:1", size = "14 AWG", length = "0.1 m" }
W3 = { from = "E1:2", to = "BAT1:-", size = "14 AWG", length = "0.1 m" }
`
}

func closedWhenOff(p *rules.Pass, part *model.Part, off *model.Position, positions []model.Position) {
	for i := range positions {
		other := &positions[i]
		if other == off || !within(other, off) {
			continue
		}
		for _, pair := range joined(off) {
			if joins(other, pair) || !used(p, pair.A) || !used(p, pair.B) || p.Grounded(pair.A) || p.Grounded(pair.B) {
				continue
			}
			a, b := p.Netlist.Pin(pair.A), p.Netlist.Pin(pair.B)
			d := p.Report(off.Name.Span, []string{part.Name.Text, a.String(), b.String()}, "%s joins %s and %s in position %s, and parts them in position %s",
				titled(part), a, b, off.Name.Text, other.Name.Text)
			d.Help = "exchange what the two positions join, or name them as the switch does"
			return
		}
	}
}

// used reports whether a wire ends at a terminal, or a consumer inside the part hangs on it.
func used(p *rules.Pass, pin model.PinID) bool {
	return p.Graph.Reached(pin) || slices.ContainsFunc(p.Graph.At(pin), func(id graph.EdgeID) bool { return p.Graph.Edge(id).Kind == graph.Load })
}

// within reports whether a position joins nothing that another does not.
func within(inner, outer *model.Position) bool {
	return !slices.ContainsFunc(joined(inner), func(pair model.Pair) bool { return !joins(outer, pair) })
}

// joined lists the pairs of neighbouring terminals that a position joins; groups are chains of them.
func joined(at *model.Position) []model.Pair {
	var pairs []model.Pair
	for _, group := range at.Joins {
		for i := 0; i+1 < len(group); i++ {
			pairs = append(pairs, model.Pair{A: group[i], B: group[i+1]})
		}
	}
	return pairs
}

// joins reports whether a position joins the two terminals of a pair.
func joins(at *model.Position, pair model.Pair) bool {
	return slices.ContainsFunc(at.Joins, func(group []model.PinID) bool {
		return slices.Contains(group, pair.A) && slices.Contains(group, pair.B)
	})
}
