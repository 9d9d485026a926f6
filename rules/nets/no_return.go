package nets

import (
	"ferrule/rules"
	"fmt"
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
)

var _ = rules.Register(&rules.Rule{
	Name: "no-return", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a consumer is fed, but nothing leads its current back",
	Doc: `In the vehicle the consumer is dead, or its current finds a way of its own: back through the filament of another lamp, through a
sensor ground, through the throttle cable. The rule fires where one end of a consumer can be live and its other end reaches
neither the grounded pole of a battery nor an output that joins to it, whatever switches and outputs do, and where no state of the
file makes it work. What shares the dead end is one finding, as all lamps on a bar whose wire to the battery was forgotten.

Wire the return. A device that is grounded through its case says case = "BODY". What ends on metal that no strap joins to the battery is
the matter of unbonded-metal. Silent are sensors and inputs, resistors, spare parts, terminals that nothing is wired to, and gauges
and lamps that work through a sender or a generator.`,
	Sources: []string{"common practice"},
	Bad: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "fuse", rating = "5 A" }
E1 = { kind = "lamp", load = "5 W" }
STD1 = { kind = "stud" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", length = "0.1 m" }
W2 = { from = "F1:2", to = "E1:1" }
W3 = { from = "E1:2", to = "STD1:1" }
`,
	Good: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "5 A" }
E1 = { kind = "lamp", load = "5 W" }
STD1 = { kind = "stud" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", length = "0.1 m" }
W2 = { from = "F1:2", to = "E1:1" }
W3 = { from = "E1:2", to = "STD1:1" }
W4 = { from = "STD1:2", to = "BAT1:-" }
`,
	Run: func(p *rules.Pass) {
		c := newConsumers(p)
		if c == nil {
			return
		}
		byEnd := map[int32][]consumer{}
		var order []int32
		for _, one := range c.all() {
			if one.works || !one.live || one.back {
				continue
			}
			end := c.Solid(one.deadEnd(c))
			if c.onMetal(end) {
				continue
			}
			if byEnd[end] == nil {
				order = append(order, end)
			}
			byEnd[end] = append(byEnd[end], one)
		}
		for _, end := range order {
			c.noReturn(byEnd[end])
		}
	},
})

// deadEnd returns the end of a consumer that is not live, or its second one where both are.
func (one *consumer) deadEnd(c *consumers) model.PinID {
	if c.live[one.b] && !c.live[one.a] {
		return one.a
	}
	return one.b
}

// noReturn reports all consumers that end at one dead end.
func (c *consumers) noReturn(all []consumer) {
	first := all[0]
	pin := first.deadEnd(c)
	refs, span := []string{first.part.Name.Text, c.Netlist.Pin(pin).String()}, first.part.Name.Span
	for _, one := range all[1:] {
		if name := one.part.Name.Text; name != refs[0] && name != refs[len(refs)-1] {
			refs = append(refs, name)
		}
	}
	d := c.Report(span, refs, "%s no return: from %s nothing leads back to a source", rules.List(briefly(all), "has", "have"), c.Netlist.Pin(pin))
	d.Help = "wire the return: a ground point, the grounded bar, or the output that is to join it to ground"
	d.Related = c.wiresAt(first)
}

// briefly names consumers, the first three and how many more.
func briefly(all []consumer) []string {
	names := whatOf(all)
	if len(names) <= 4 {
		return names
	}
	return append(names[:3:3], fmt.Sprintf("%d more", len(names)-3))
}

// onMetal reports whether a dead end lies on the metal of the vehicle.
func (c *consumers) onMetal(end int32) bool {
	return slices.ContainsFunc(c.Netlist.Bodies, func(b *model.Body) bool { return c.Solid(b.Pin) == end })
}
