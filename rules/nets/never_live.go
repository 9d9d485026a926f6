package nets

import (
	"ferrule/rules"
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
)

var _ = rules.Register(&rules.Rule{
	Name: "never-live", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a consumer is never fed",
	Doc: `In the vehicle this is a lamp that never lights and a pump that never runs: everything is wired, and no way leads there from a
source. The rule fires as an error where no source can feed a consumer whatever the switches, relays and outputs do. Where a way
is there, but in no state of the file the consumer works, it is a note: as a rule a state is missing from the file, and
what no state shows nobody has looked at; but it may also be a relay that never pulls, or a switch on the wrong rail.

Wire the feed, or add the state in which the consumer is to work. Consumers are loads and the supply terminals of modules; to
work is to have a tenth of the nominal voltage. Silent are sensors and inputs, which modules feed through resistors of their own;
resistors; the fields of generators; spare parts; terminals that nothing is wired to, of which unterminated-pin speaks,
but for a charge lamp with an end inside its part, over which a generator is excited; and files in which nothing is a source.`,
	Sources: []string{"common practice"},
	Bad: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "5 A" }
S1 = { kind = "switch" }
E1 = { kind = "lamp", load = "5 W" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", length = "0.1 m" }
W2 = { from = "S1:2", to = "E1:1" }
W3 = { from = "E1:2", to = "BAT1:-" }
`,
	Good: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "5 A" }
S1 = { kind = "switch" }
E1 = { kind = "lamp", load = "5 W" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", length = "0.1 m" }
W2 = { from = "S1:2", to = "E1:1" }
W3 = { from = "E1:2", to = "BAT1:-" }
W4 = { from = "F1:2", to = "S1:1" }
[state.on]
switches = { S1 = "on" }
`,
	Run: func(p *rules.Pass) {
		c := newConsumers(p)
		if c == nil {
			return
		}
		dead := map[*model.Part][]consumer{}
		var order []*model.Part
		var idle []consumer
		for _, one := range c.all() {
			switch {
			case one.shown:
			case !one.live:
				if dead[one.part] == nil {
					order = append(order, one.part)
				}
				dead[one.part] = append(dead[one.part], one)
			case one.back:
				idle = append(idle, one)
			}
		}
		for _, part := range order {
			c.neverFed(part, dead[part])
		}
		if len(p.Netlist.States) > 0 && len(p.Conditions) == len(p.Netlist.States) && !c.unsettled() {
			for _, one := range idle {
				c.neverSeen(one)
			}
		}
	},
})

// neverFed reports the consumers of a part that no source can feed, together.
func (c *consumers) neverFed(part *model.Part, all []consumer) {
	names := whatOf(all)
	d := c.Report(part.Name.Span, refsOf(part, all), "%s never fed: no switch, relay or output joins %s to a source", rules.List(names, "is", "are"), ends(c, all[0]))
	d.Help = "wire the feed; follow the wires from " + part.Name.Text + " to where they end"
	d.Related = c.wiresAt(all[0])
}

// neverSeen notes a consumer that could work, but does in no state of the file.
func (c *consumers) neverSeen(one consumer) {
	states := len(c.Netlist.States)
	d := c.ReportAs(diag.Note, one.part.Name.Span, refsOf(one.part, []consumer{one}), "%s works in none of the %d %s of the file", one.what, states, rules.Plural(states, "state", "states"))
	d.Help = "add a state in which it works; if one is there already, a switch, a relay or an output on the way does not do what it should"
}

func whatOf(all []consumer) []string {
	names := make([]string, len(all))
	for i, one := range all {
		names[i] = one.what
	}
	return names
}

// refsOf names the part, and the terminals of modules that are meant.
func refsOf(part *model.Part, all []consumer) []string {
	refs := []string{part.Name.Text}
	for _, one := range all {
		if one.pin {
			refs = append(refs, one.what)
		}
	}
	return refs
}

// ends names the terminals of a consumer.
func ends(c *consumers, one consumer) string {
	if one.pin {
		return one.what
	}
	return fmt.Sprintf("%s or %s", c.Netlist.Pin(one.a), c.Netlist.Pin(one.b))
}

// wiresAt points at the wires of a consumer, where somebody will look first.
func (c *consumers) wiresAt(one consumer) []diag.Related {
	var related []diag.Related
	for _, id := range [...]model.PinID{one.a, one.b} {
		for _, w := range c.Graph.WiresAt(id) {
			related = append(related, diag.Related{Span: w.Name.Span, Message: fmt.Sprintf("wire %s goes from %s to %s", w.Name.Text, w.From.Text, w.To.Text)})
		}
	}
	return related
}
