package nets

import (
	"ferrule/rules"
	"math"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// consumers are what is meant to work in the vehicle, with what each state of the file and the wiring as such show of it.
// Rules never-live and no-return both ask.
type consumers struct {
	*rules.Pass
	sets *graph.Sets // terminals that metal, fuses, contacts in any position, diodes and resistors join
	live []bool      // by representative: a source, or an output that can be one, is there
	back []bool      // by representative: the other pole is there, or an output that joins to it
}

// A consumer is one load of a part, or what a module takes at a supply terminal.
type consumer struct {
	part  *model.Part
	a, b  model.PinID
	what  string // "E1", "E1 (Low beam)", "XA:4"
	pin   bool   // a supply terminal of a module
	works bool   // in some solved state
	shown bool   // that, or it lies between supply and ground in a state, whatever the numbers are
	live  bool   // one of its ends can be live
	back  bool   // with one end live, the other can be led back
}

// least is the share of the nominal voltage above which a consumer counts as at work. A lamp in series with another may
// be meant so; what a stray way through other consumers leaves is less. Common practice.
const least = 0.1

// newConsumers returns nil for a file in which nothing is a source: nothing can be said of it.
func newConsumers(p *rules.Pass) *consumers {
	c := &consumers{Pass: p, sets: graph.NewSets(len(p.Netlist.Pins))}
	for i := range p.Graph.Edges {
		if e := &p.Graph.Edges[i]; passes(e) {
			c.sets.Join(int32(e.A), int32(e.B))
		}
	}
	c.live, c.back = make([]bool, len(p.Netlist.Pins)), make([]bool, len(p.Netlist.Pins))
	if !c.mark() {
		return nil
	}
	return c
}

// passes reports whether current can pass an edge in some position, with no consumer on the way but a sensor: gauges work
// through their senders, and charge lamps through the field of the generator.
func passes(e *graph.Edge) bool {
	switch {
	case e.Kind.Conducts(), e.Kind.Contact(), e.Kind == graph.Diode, e.Kind == graph.Resistor:
		return true
	case e.Kind == graph.Load:
		return e.Part.Kind.Symbol == "sensor" || e.Part.Kind.Symbol == "resistor" || len(e.Part.Inside.Sources) > 0
	}
	return false
}

// mark finds where current can come from and where it can go.
func (c *consumers) mark() bool {
	n := c.Netlist
	battery, source := false, false
	for _, part := range n.Parts {
		for _, s := range part.Inside.Sources {
			live, ground := c.Poles(s)
			source = true
			c.live[c.root(live)] = true
			if part.Kind.Name == "battery" {
				battery = true
			}
			c.back[c.root(ground)] = true
		}
	}
	for _, l := range n.Links { // a harness whose battery is in another file
		if l.Rail.IsSet() && !battery && len(l.Joins) > 0 && l.Joins[0].ID != model.NoPin {
			source = true
			c.live[c.root(l.Joins[0].ID)] = true
		}
	}
	if !battery {
		for _, b := range n.Bodies {
			c.back[c.root(b.Pin)] = true
		}
	}
	for i := range n.Pins {
		switch n.Pins[i].Role {
		case catalog.Sink:
			c.back[c.root(model.PinID(i))] = true
		case catalog.HalfBridge:
			c.back[c.root(model.PinID(i))] = true
			c.live[c.root(model.PinID(i))] = true
		case catalog.Driver, catalog.Output, catalog.Reference:
			c.live[c.root(model.PinID(i))] = true
		}
	}
	return source
}

func (c *consumers) root(pin model.PinID) int32 { return c.sets.Find(int32(pin)) }

// all returns the consumers that a rule can judge, in the order of the network: not those of spare parts and sensors, and
// none with a terminal that nothing is wired to, of which unterminated-pin speaks.
func (c *consumers) all() []consumer {
	var out []consumer
	network := c.Circuit()
	for i := range network.Branches {
		b := &network.Branches[i]
		if !b.IsConsumer() || b.IsMotorOfStarter() || !judged(b) || !c.reached(b) || c.Graph.NetOf(b.A) == c.Graph.NetOf(b.B) {
			continue // what is bridged is the matter of net-short
		}
		one := consumer{part: b.Part, a: b.A, b: b.B, what: nameOf(c.Netlist, b), pin: b.Edge == nil, works: c.worksIn(i)}
		one.shown = one.works || c.across(b.A, b.B)
		a, z := c.root(b.A), c.root(b.B)
		one.live = c.live[a] || c.live[z]
		one.back = c.live[a] && c.back[z] || c.live[z] && c.back[a]
		out = append(out, one)
	}
	return out
}

// judged reports whether a branch is something that is meant to work: not a sensor, an input, a resistor or a field.
func judged(b *circuit.Branch) bool {
	if b.Part == nil || b.Part.Spare.On || len(b.Part.Inside.Sources) > 0 {
		return false
	}
	return b.Part.Kind.Symbol != "sensor" && b.Part.Kind.Symbol != "resistor"
}

// reached reports whether wires go to both ends of a branch. What a module takes at a terminal has one end in the file; an
// end that a part has inside alone, between a diode and a lamp, is reached through that.
func (c *consumers) reached(b *circuit.Branch) bool {
	if b.Edge == nil {
		return c.Netlist.Pin(b.Pin).Role == catalog.Supply && c.wired(b.Pin)
	}
	return c.wired(b.A) && c.wired(b.B)
}

func (c *consumers) wired(pin model.PinID) bool {
	p := c.Netlist.Pin(pin)
	if p.Name == model.CasePin {
		return true
	}
	for _, id := range c.Graph.At(pin) {
		switch e := c.Graph.Edge(id); {
		case e.Kind == graph.Wire || e.Kind == graph.Link || e.Kind == graph.Common || e.Kind == graph.Diode || e.Kind == graph.Resistor || e.Kind.Contact():
			return true
		case e.Kind == graph.Mate && wiredAt(c.Graph, e.Other(pin)):
			return true
		}
	}
	return false
}

func nameOf(n *model.Netlist, b *circuit.Branch) string {
	if b.Edge == nil {
		return n.Pin(b.Pin).String()
	}
	name := b.Part.Name.Text
	if b.Load != nil && b.Load.Title.IsSet() && b.Load.Title.Text != b.Part.Title.Text {
		name += " (" + b.Load.Title.Text + ")"
	}
	return name
}

// worksIn reports whether a branch is at work in some state that came to rest.
func (c *consumers) worksIn(branch int) bool {
	volts := least * c.Netlist.Harness.Volts
	for _, r := range c.Reports() {
		s := r.Solution
		if s.Err == nil && math.Abs(s.BranchVolts(branch)) >= volts && math.Abs(s.Amps[branch]) > 0 {
			return true
		}
	}
	return false
}

// across reports whether two terminals lie between supply and ground in some state. The network leaves wires out that have
// no size or no length; here they count.
func (c *consumers) across(a, b model.PinID) bool {
	for _, cond := range c.Conditions {
		if cond.Live(a) && cond.Grounded(b) || cond.Live(b) && cond.Grounded(a) {
			return true
		}
	}
	return false
}

// unsettled reports whether some state cannot be judged by its numbers: what works in it nobody knows.
func (c *consumers) unsettled() bool {
	for _, r := range c.Reports() {
		if s := r.Solution; s.Err != nil || !s.Settled || len(s.Cycle) > 0 {
			return true
		}
	}
	return false
}
