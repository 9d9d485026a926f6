package circuit

import (
	"math"

	"ferrule/netlist/catalog"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// nominals holds what each terminal has nominally against the grounded side, in volt: that of the harness, that of a source with a
// voltage of its own, or that of a tap between batteries in series. 0 where no source leads, or several that differ.
type nominals struct {
	at     []float64
	ground []bool
}

// standardVolts are the nominal voltages of vehicles.
var standardVolts = [...]float64{6, 12, 24, 48}

// nominalOf is the nominal voltage of a system that a source of some voltage feeds: 12 for 13.6, 24 for 28. A source holds up to a
// fifth more than the nominal voltage while it charges, and a tenth less at the end of a cable; what lies between two steps is taken
// as its own voltage, such as 9 V for a gauge.
func nominalOf(volts float64) float64 {
	for _, n := range standardVolts {
		if volts >= 0.9*n && volts <= 1.25*n {
			return n
		}
	}
	return volts
}

// findNominals floods from the live pole of every source over what conducts when it is closed, never into the grounded side: a pair
// of changeover contacts would join the two.
func (c *Circuit) findNominals() {
	n := &c.nominal
	n.at, n.ground = make([]float64, len(c.Netlist.Pins)), c.groundSide()
	clash := make([]bool, len(c.Netlist.Pins))
	for _, f := range c.nominalSeeds() {
		seen := make([]bool, len(c.Netlist.Pins))
		c.flood(f.pin, n.ground, seen)
		for pin, reached := range seen {
			switch {
			case !reached:
			case n.at[pin] == 0:
				n.at[pin] = f.volts
			case n.at[pin] != f.volts:
				clash[pin] = true
			}
		}
	}
	for pin, differs := range clash {
		if differs {
			n.at[pin] = c.Netlist.Harness.Volts
		}
	}
}

type nominalSeed struct {
	pin   model.PinID
	volts float64
}

// nominalSeeds are the live poles of sources with the voltage that they have: only where the harness has more than one.
func (c *Circuit) nominalSeeds() []nominalSeed {
	var seeds []nominalSeed
	whole, differ := c.Netlist.Harness.Volts, len(c.between) > 0
	for i := range c.Graph.Edges {
		e := &c.Graph.Edges[i]
		if e.Kind != graph.Source {
			continue
		}
		live, volts := e.A, whole
		if c.Netlist.Harness.PositiveGround {
			live = e.B
		}
		if s := &e.Part.Inside.Sources[e.Index]; s.Volts.IsSet() && s.Volts.Value > 0 {
			volts = nominalOf(s.Volts.Value)
		}
		if n := c.series[e.A]; n > 1 && c.between[live] {
			volts = whole * float64(c.below(e, live)) / float64(n)
		}
		differ = differ || volts != whole
		seeds = append(seeds, nominalSeed{live, volts})
	}
	if !differ {
		return nil
	}
	return seeds
}

// below counts the batteries of a series from the grounded end up to a tap.
func (c *Circuit) below(e *graph.Edge, tap model.PinID) int {
	count := 0
	for at, again := tap, true; again && count <= len(c.series); count++ {
		again = false
		for i := range c.Graph.Edges {
			s := &c.Graph.Edges[i]
			if s.Kind != graph.Source || s.Part.Kind.Name != "battery" {
				continue
			}
			live, other := s.A, s.B
			if c.Netlist.Harness.PositiveGround {
				live, other = other, live
			}
			if c.joined(live, at) {
				at, again = other, c.between[other]
				break
			}
		}
	}
	return count
}

// joined reports whether conductors join two terminals.
func (c *Circuit) joined(a, b model.PinID) bool {
	return a == b || c.Graph.NetOf(a) == c.Graph.NetOf(b)
}

// groundSide marks what conductors join to a body or to the grounded pole of a source.
func (c *Circuit) groundSide() []bool {
	sets := graph.NewSets(len(c.Netlist.Pins))
	for i := range c.Graph.Edges {
		if e := &c.Graph.Edges[i]; e.Kind.Conducts() || e.Kind == graph.Bolted || Shunt(e) {
			sets.Join(int32(e.A), int32(e.B))
		}
	}
	grounded := map[int32]bool{}
	for _, b := range c.Netlist.Bodies {
		grounded[sets.Find(int32(b.Pin))] = true
	}
	for i := range c.Graph.Edges {
		if e := &c.Graph.Edges[i]; e.Kind == graph.Source {
			pole := e.B
			if c.Netlist.Harness.PositiveGround {
				pole = e.A
			}
			if !c.between[pole] {
				grounded[sets.Find(int32(pole))] = true
			}
		}
	}
	out := make([]bool, len(c.Netlist.Pins))
	for i := range out {
		out[i] = grounded[sets.Find(int32(i))]
	}
	return out
}

// flood marks what contacts, fuses, diodes and conductors may join to a terminal, and what a module that is supplied there drives.
func (c *Circuit) flood(from model.PinID, ground, seen []bool) {
	stack := []model.PinID{}
	reach := func(pin model.PinID) {
		if !seen[pin] && !ground[pin] {
			seen[pin] = true
			stack = append(stack, pin)
		}
	}
	reach(from)
	for len(stack) > 0 {
		pin := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, id := range c.Graph.At(pin) {
			if e := c.Graph.Edge(id); e.Kind.Conducts() || e.Kind.Contact() || e.Kind == graph.Diode || Shunt(e) {
				reach(e.Other(pin))
			}
		}
		p := c.Netlist.Pin(pin)
		if p.Role != catalog.Supply || p.Owner.Device() == nil {
			continue
		}
		for _, id := range p.Owner.Device().Terminals() {
			if role := c.Netlist.Pin(id).Role; role == catalog.Driver || role == catalog.HalfBridge {
				reach(id)
			}
		}
	}
}

// nominalBetween is the nominal voltage that what lies between two terminals works at.
func (c *Circuit) nominalBetween(a, b model.PinID) float64 {
	if len(c.nominal.at) == 0 {
		return c.Netlist.Harness.Volts
	}
	x, y := c.nominal.at[a], c.nominal.at[b]
	switch most := max(x, y); {
	case x > 0 && y > 0 && x != y:
		return math.Abs(x - y)
	case most > 0:
		return most
	}
	return c.Netlist.Harness.Volts
}

// NominalBetween is the nominal voltage in volt that what lies between two terminals works at: that of the harness, of a source with a
// voltage of its own such as a converter, or the part of it that a tap between batteries in series gives.
func (c *Circuit) NominalBetween(a, b model.PinID) float64 { return c.nominalBetween(a, b) }

// scaleAt turns a 12 V number into one of the nominal voltage of a branch.
func (b *Branch) scaleAt(volts float64) float64 { return volts * b.nominal / 12 }
