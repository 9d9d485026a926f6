package nets

import (
	"ferrule/rules"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

var _ = rules.Register(&rules.Rule{
	Name: "crossed-over", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "cylinders or sides are crossed over",
	Doc: `In the vehicle cylinder 3 gets the fuel of cylinder 1 and the engine runs rough without a fault code; or the left turn signal
flashes on the right. The rule goes by the keys cylinder and side. A module's output that serves one cylinder must not lead to an
injector or a coil of another; what comes from a switch, a fuse, a relay or an output that serves one side must not lead to a
consumer of the other side. Several cylinders with commas, as of a coil that fires two or of injectors in a batch, are met by
each of them.

Move the wire, or correct the key: cylinder = "1,4" says that an output serves both. Silent are nets with consumers of both sides
and nothing that serves one, such as stop lamps; nets of which the file states two names (net-short says that); parts and terminals without the
keys.`,
	Sources: []string{"common practice"},
	Bad: `[part]
A1 = { kind = "module", spare = true, pins = ["7"], pin.7 = { role = "sink", cylinder = "1" } }
INJ3 = { kind = "injector", load = "12 ohm", spare = true, cylinder = "3" }
[wire]
W1 = { from = "INJ3:2", to = "A1:7" }
`,
	Good: `[part]
A1 = { kind = "module", spare = true, pins = ["7"], pin.7 = { role = "sink", cylinder = "3" } }
INJ3 = { kind = "injector", load = "12 ohm", spare = true, cylinder = "3" }
[wire]
W1 = { from = "INJ3:2", to = "A1:7" }
`,
	Run: func(p *rules.Pass) {
		c := &crossings{Pass: p, sides: sidesOfLoads(p.Netlist)}
		c.lackCylinders()
		if !c.indexed() {
			return
		}
		for i := range p.Graph.Nets {
			c.net(&p.Graph.Nets[i])
		}
	},
})

// crossings is one run of the rule.
type crossings struct {
	*rules.Pass
	sides map[model.PinID]model.Name // of consumers, by terminal; "" where several sides meet
}

// lackCylinders names the injectors, of several, whose cylinder the file does not say.
func (c *crossings) lackCylinders() {
	var all, lacking []*model.Part
	for _, part := range c.Netlist.Parts {
		if part.Kind.Name != "injector" || part.Spare.On {
			continue
		}
		all = append(all, part)
		if v := part.Value("cylinder"); v == nil || !v.Word.IsSet() {
			lacking = append(lacking, part)
		}
	}
	if len(all) < 2 {
		return
	}
	for _, part := range lacking {
		c.Lacks("cylinder", `add cylinder = "1" to each, and to the outputs that work them`, part.Name.Span, part.Name.Text)
	}
}

// indexed reports whether the file says any cylinder or side of a terminal or of something that serves one.
func (c *crossings) indexed() bool {
	for i := range c.Netlist.Pins {
		if pin := &c.Netlist.Pins[i]; pin.Cylinder.IsSet() || pin.Side.IsSet() {
			return true
		}
	}
	return slices.ContainsFunc(c.Netlist.Parts, func(p *model.Part) bool { return p.Side.IsSet() })
}

// sidesOfLoads maps the terminals of consumers to the side that they serve. A terminal that consumers of both sides share
// serves none.
func sidesOfLoads(n *model.Netlist) map[model.PinID]model.Name {
	sides := map[model.PinID]model.Name{}
	for _, part := range n.Parts {
		for _, l := range part.Inside.Loads {
			if !l.Side.IsSet() {
				continue
			}
			for _, id := range [...]model.PinID{l.A, l.B} {
				if id == model.NoPin {
					continue
				}
				if was, seen := sides[id]; seen && was.Text != l.Side.Text {
					sides[id] = model.Name{}
					continue
				}
				sides[id] = l.Side
			}
		}
	}
	return sides
}

// A station is a terminal of a net that serves a cylinder or a side.
type station struct {
	pin    model.PinID
	serves model.Name
}

func (c *crossings) net(net *graph.Net) {
	if len(net.Pins) < 2 || contradicts(c.Graph, net) {
		return
	}
	cylinders, sides := c.stations(net)
	c.compare(cylinders, c.cylinders())
	c.compare(sides, c.ofSides())
}

// An index is one of the two ways in which terminals say what they serve.
type index struct {
	what string // a format
	same func(a, b string) bool
	of   func(*graph.Net) meeting
}

func (c *crossings) cylinders() index {
	return index{"cylinder %s", meets, func(net *graph.Net) meeting { cylinders, _ := c.stations(net); return cylinders }}
}

func (c *crossings) ofSides() index {
	return index{"the %s side", func(a, b string) bool { return a == b }, func(net *graph.Net) meeting { _, sides := c.stations(net); return sides }}
}

// A meeting is what of a net serves something: what leads there, and what takes the current.
type meeting struct{ from, to []station }

// stations finds the terminals of a net that serve a cylinder, and those that serve a side.
func (c *crossings) stations(net *graph.Net) (cylinders, sides meeting) {
	for _, id := range net.Pins {
		pin := c.Netlist.Pin(id)
		part := pin.Owner.Device()
		if part == nil || part.Kind.Joined || c.IsGround(id) {
			continue
		}
		control := len(part.Inside.Loads) == 0 || part.Kind.Symbol == "module"
		if pin.Cylinder.IsSet() {
			if control {
				cylinders.from = append(cylinders.from, station{id, pin.Cylinder})
			} else {
				cylinders.to = append(cylinders.to, station{id, pin.Cylinder})
			}
		} else if v := part.Value("cylinder"); v != nil && v.Word.IsSet() {
			cylinders.to = append(cylinders.to, station{id, v.Word})
		}
		side, consumes := c.sides[id]
		switch {
		case consumes && side.IsSet():
			sides.to = append(sides.to, station{id, side})
		case consumes:
		case pin.Side.IsSet():
			sides.from = append(sides.from, station{id, pin.Side})
		case part.Side.IsSet() && control:
			sides.from = append(sides.from, station{id, part.Side})
		}
	}
	return cylinders, sides
}

// meets reports whether every cylinder of b is one of a, or every one of a is one of b: an output for a batch meets each of
// its injectors, and a coil that fires two meets the outputs for either.
func meets(a, b string) bool { return within(a, b) || within(b, a) }

func within(a, b string) bool {
	have := cylindersOf(a)
	for _, one := range cylindersOf(b) {
		if !slices.Contains(have, one) {
			return false
		}
	}
	return true
}

func cylindersOf(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == '+' || r == ';' })
}

// compare reports the first terminal that serves something else than what leads to it.
func (c *crossings) compare(m meeting, by index) {
	for _, a := range m.from {
		for _, b := range m.to {
			if by.same(a.serves.Text, b.serves.Text) {
				continue
			}
			c.crossed(a, b, by)
			return
		}
	}
}

func (c *crossings) crossed(a, b station, by index) {
	from, to := c.Netlist.Pin(a.pin), c.Netlist.Pin(b.pin)
	path := c.Graph.Path(a.pin, b.pin, func(e *graph.Edge) bool { return e.Kind.Outside() })
	w, end := lastWire(path)
	if part := from.Owner.Device(); part.Kind.Name == "module" { // with so many terminals alike, the wrong end is there
		w, end = lastWire(backwards(path))
	}
	if w == nil {
		return // joined by bars and mated cavities alone, which nobody has crossed
	}
	d := c.Report(end, []string{to.String(), from.String(), w.Name.Text}, "%s serves %s, but it leads to %s, which serves %s", from, fmt.Sprintf(by.what, a.serves.Text), to, fmt.Sprintf(by.what, b.serves.Text))
	d.Help = fmt.Sprintf("move the wire to what serves %s, or correct one of the two keys", fmt.Sprintf(by.what, b.serves.Text))
	d.Related = c.Hops(path)
	if right, only := c.server(from, b.serves.Text); only {
		d.Fixes = c.Exchange(a.pin, right, c.cures(a, b, station{right, b.serves}, by))
	}
}

// cures reports whether two exchanged wires are the whole mistake: what hangs at the terminal that is right for b is right for a.
func (c *crossings) cures(a, b, right station, by index) bool {
	net := c.Graph.NetOf(right.pin)
	if contradicts(c.Graph, net) || net == c.Graph.NetOf(a.pin) {
		return false
	}
	here, there := by.of(c.Graph.NetOf(a.pin)), by.of(net)
	if len(here.from) != 1 || len(here.to) != 1 || len(there.from) != 1 || len(there.to) != 1 {
		return false
	}
	other := there.to[0]
	return by.same(a.serves.Text, other.serves.Text) && c.OneWire(a.pin, b.pin) && c.OneWire(right.pin, other.pin)
}

// server is the one other terminal of a controller that serves what was asked for.
func (c *crossings) server(from *model.Pin, serves string) (pin model.PinID, only bool) {
	pin = model.NoPin
	for _, id := range from.Owner.Device().Terminals() {
		if other := c.Netlist.Pin(id); id == from.ID || other.Role != from.Role || other.Cylinder.Text != serves && other.Side.Text != serves {
			continue
		} else if pin != model.NoPin {
			return model.NoPin, false
		} else {
			pin = other.ID
		}
	}
	return pin, pin != model.NoPin
}
