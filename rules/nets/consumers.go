package nets

import (
	"ferrule/rules"
	"math"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// consumers are what is meant to work in the vehicle, with what each state of the file and the wiring as such show of it.
// Rules never-live and no-return both ask.
type consumers struct {
	*rules.Pass
	live []bool // by terminal: a source, or an output that can be one, reaches it in some position
	back []bool // by terminal: current can go on from it to the other pole, or into an output that joins to it
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
	c := &consumers{Pass: p}
	from, to, ground := c.ends()
	if len(from) == 0 {
		return nil
	}
	c.live = c.spread(from, passes, func(pin model.PinID) bool { return ground[p.Solid(pin)] })
	c.back = c.spread(to, func(e *graph.Edge) bool { return passes(e) || leads(e) }, p.Permanent)
	return c
}

// weak is the resistance in ohm above which a resistor is no way for the current of a consumer: the series resistor of a blower has
// one or two, a pull-up a thousand and more. Common practice.
const weak = 100

// passes reports whether current can pass an edge in some position.
func passes(e *graph.Edge) bool {
	if e.Kind == graph.Resistor {
		r := e.Part.Inside.Resistors[e.Index].Ohms
		return r.IsSet() && r.Value <= weak
	}
	return e.Kind.Conducts() || e.Kind.Contact() || e.Kind == graph.Diode
}

// leads reports whether an edge is a consumer that leads current back for others: gauges work through their senders, charge lamps
// through the field of the generator.
func leads(e *graph.Edge) bool {
	return e.Kind == graph.Load && (e.Part.Kind.Symbol == "sensor" || e.Part.Kind.Symbol == "resistor" || len(e.Part.Inside.Sources) > 0) || e.Kind == graph.Resistor
}

// ends finds where current can come from and where it can go, and what metal joins to the ground of a battery. Where no battery is in
// the file, rails are sources and bodies are ground.
func (c *consumers) ends() (from, to []model.PinID, ground map[int32]bool) {
	n := c.Netlist
	ground = map[int32]bool{}
	battery := false
	for _, part := range n.Parts {
		for _, s := range part.Inside.Sources {
			live, minus := c.Poles(s)
			from, to = append(from, live), append(to, minus)
			if part.Kind.Name == "battery" && c.IsGround(minus) {
				battery = true
				ground[c.Solid(minus)] = true
			}
		}
	}
	if !battery {
		for _, l := range n.Links {
			if l.Rail.IsSet() && len(l.Joins) > 0 && l.Joins[0].ID != model.NoPin {
				from = append(from, l.Joins[0].ID)
			}
		}
		for _, b := range n.Bodies {
			to = append(to, b.Pin)
			ground[c.Solid(b.Pin)] = true
		}
	}
	if len(from) == 0 {
		return nil, nil, nil
	}
	for i := range n.Pins {
		id := model.PinID(i)
		switch n.Pins[i].Role {
		case catalog.Sink:
			to = append(to, id)
		case catalog.HalfBridge:
			from, to = append(from, id), append(to, id)
		case catalog.Driver, catalog.Output, catalog.Reference:
			from = append(from, id)
		}
	}
	return from, to, ground
}

// spread marks what can be reached from some terminals, without going onto those that stops names: a switch that joins now the one and now
// the other must not make ground live.
func (c *consumers) spread(from []model.PinID, allow func(*graph.Edge) bool, stops func(model.PinID) bool) []bool {
	reached := make([]bool, len(c.Netlist.Pins))
	queue := slices.Clone(from)
	for _, pin := range from {
		reached[pin] = true
	}
	for len(queue) > 0 {
		pin := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		for _, id := range c.Graph.At(pin) {
			e := c.Graph.Edge(id)
			if next := e.Other(pin); !reached[next] && allow(e) && !stops(next) {
				reached[next] = true
				queue = append(queue, next)
			}
		}
	}
	return reached
}

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
		one.live = c.live[b.A] || c.live[b.B]
		one.back = c.live[b.A] && c.back[b.B] || c.live[b.B] && c.back[b.A]
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
	if b.Load != nil && b.Load.Function.Text == "charge lamp" {
		return c.wired(b.A) || c.wired(b.B) // the generator is excited over it, so an end that leads nowhere inside counts too
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
