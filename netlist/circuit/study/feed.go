package study

import (
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A setting is what differs from a condition.
type setting struct {
	cond      *graph.Condition
	positions map[*model.Part]int
	open      func(*graph.Edge) bool // nil for none
}

// A feed tells which terminals are joined to plus and to minus without a consumer in between.
type feed struct {
	plus, minus []bool
	engaged     map[*model.Part]bool
	forward     bool // fuses pass the live pole on in their own way only
}

// proper reports whether what lies between two terminals is fed as it is meant to be.
func (f *feed) proper(a, b model.PinID) bool {
	return f.plus[a] && !f.minus[a] && f.minus[b] && !f.plus[b] || f.minus[a] && !f.plus[a] && f.plus[b] && !f.minus[b]
}

// feedOf settles relays and modules from how they stand in the condition: a fault happens in a vehicle that works. Relays that
// come to no rest are left as they are after as many rounds as there are.
func (s *Study) feedOf(set setting) *feed {
	f := &feed{engaged: map[*model.Part]bool{}}
	coils := 0
	for i := range s.graph.Edges {
		if e := &s.graph.Edges[i]; e.Kind == graph.Coil {
			f.engaged[e.Part] = set.cond.Engaged(e.Part)
			coils++
		}
	}
	for range coils + 2 {
		s.spread(f, set)
		if !s.pull(f, set) {
			break
		}
	}
	return f
}

// spread floods from the poles, then lets the modules join their outputs, as long as something is added.
func (s *Study) spread(f *feed, set setting) {
	f.plus, f.minus = make([]bool, len(s.netlist.Pins)), make([]bool, len(s.netlist.Pins))
	s.flood(f, set, f.plus, s.plus, false)
	s.flood(f, set, f.minus, s.minus, true)
	for added := true; added; {
		added = false
		for i := range s.modules {
			added = s.drive(f, set, &s.modules[i]) || added
		}
	}
}

// flood marks what is joined to the seeds. Diodes pass plus on from anode to cathode, minus the other way.
func (s *Study) flood(f *feed, set setting, mark []bool, seeds []model.PinID, backwards bool) bool {
	var stack []model.PinID
	add := func(pin model.PinID) {
		if !mark[pin] {
			mark[pin] = true
			stack = append(stack, pin)
		}
	}
	for _, pin := range seeds {
		add(pin)
	}
	grown := len(stack) > 0
	for len(stack) > 0 {
		pin := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, id := range s.graph.At(pin) {
			e := s.graph.Edge(id)
			if !s.passes(f, set, e) || e.Kind == graph.Diode && (e.A == pin) == backwards {
				continue
			}
			if in, oneWay := s.inlet[e]; oneWay && f.forward && in != pin && backwards == s.netlist.Harness.PositiveGround {
				continue
			}
			add(e.Other(pin))
		}
	}
	return grown
}

func (s *Study) passes(f *feed, set setting, e *graph.Edge) bool {
	if set.open != nil && set.open(e) {
		return false
	}
	switch {
	case e.Kind.Conducts(), e.Kind == graph.Diode, circuit.Shunt(e):
		return true
	case e.Kind == graph.Resistor:
		return circuit.Weakens(e)
	case !e.Kind.Contact():
		return false
	case len(e.Part.Inside.Coils) > 0:
		return f.engaged[e.Part] == (e.Kind == graph.Open)
	}
	if position, moved := set.positions[e.Part]; moved {
		return set.cond.ClosedWith(graph.Toggle{Part: e.Part, Position: position, Pressed: position == 1}, e)
	}
	return set.cond.Closed(e)
}

// drive joins the driven outputs of a module that is grounded and supplied.
func (s *Study) drive(f *feed, set setting, m *module) bool {
	any := func(pins []model.PinID, mark []bool) bool {
		for _, pin := range pins {
			if mark[pin] {
				return true
			}
		}
		return false
	}
	positive := s.netlist.Harness.PositiveGround
	ground, live := f.minus, f.plus
	if positive {
		ground, live = live, ground
	}
	if !any(m.grounds, ground) {
		return false
	}
	added := s.flood(f, set, ground, m.grounds, !positive)
	added = s.flood(f, set, ground, m.outer, !positive) || added
	supplied := any(m.supplies, live)
	if len(m.supplies) > 0 && !supplied {
		return added
	}
	state := set.cond.State
	if state == nil {
		return added
	}
	added = s.flood(f, set, ground, listed(m.sinks, state.Driven), !positive) || added
	added = s.flood(f, set, ground, listed(m.halves, state.Pulled), !positive) || added
	if supplied {
		added = s.flood(f, set, live, listed(m.drivers, state.Driven), positive) || added
		added = s.flood(f, set, live, listed(m.halves, state.Driven), positive) || added
	}
	return added
}

// listed returns the pins that a list of a state names.
func listed(pins []model.PinID, refs []model.PinRef) []model.PinID {
	return slices.DeleteFunc(slices.Clone(pins), func(pin model.PinID) bool {
		return !slices.ContainsFunc(refs, func(r model.PinRef) bool { return r.ID == pin })
	})
}

// pull lets the relays go by their coils; it reports whether one changed.
func (s *Study) pull(f *feed, set setting) bool {
	changed := false
	for i := range s.graph.Edges {
		e := &s.graph.Edges[i]
		if e.Kind != graph.Coil {
			continue
		}
		pulls := f.proper(e.A, e.B) && (set.open == nil || !set.open(e))
		if pulls != f.engaged[e.Part] {
			f.engaged[e.Part], changed = pulls, true
		}
	}
	return changed
}
