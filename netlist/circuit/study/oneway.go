package study

import (
	"cmp"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A way fuses feed: a consumer that lives from a fuse which carries its current against that is joined to the battery by nothing
// but conductors and contacts, and still lives on what nobody meant. It is why an isolator isolates nothing.

// oneWay tells at which end of each fuse its current is meant to come in: the one that fewer contacts and fuses part from a source,
// with all contacts closed; of ends alike, the one on a bar that feeds other fuses too. Fuses without an entry may carry both ways: a source sits at one of their ends without anything
// between, as at a bank that is charged over its own fuse, or both ends are as far from one.
func (s *Study) oneWay() map[*graph.Edge]model.PinID {
	depth := s.depths()
	fuses := map[graph.NetID]int{} // at each net
	for i := range s.graph.Edges {
		if e := &s.graph.Edges[i]; e.Kind == graph.Protect {
			fuses[s.graph.NetOf(e.A).ID]++
			fuses[s.graph.NetOf(e.B).ID]++
		}
	}
	in := map[*graph.Edge]model.PinID{}
	for i := range s.graph.Edges {
		e := &s.graph.Edges[i]
		if e.Kind != graph.Protect {
			continue
		}
		near := min(depth[e.A], depth[e.B])
		nearer := cmp.Or(cmp.Compare(depth[e.A], depth[e.B]), cmp.Compare(min(fuses[s.graph.NetOf(e.B).ID], 2), min(fuses[s.graph.NetOf(e.A).ID], 2)))
		switch {
		case near == 0 || near == math.MaxInt:
		case nearer < 0:
			in[e] = e.A
		case nearer > 0:
			in[e] = e.B
		}
	}
	return in
}

// depths counts for each terminal the contacts and fuses on the way from the nearest source; math.MaxInt where no way leads.
func (s *Study) depths() []int {
	depth := make([]int, len(s.netlist.Pins))
	for i := range depth {
		depth[i] = math.MaxInt
	}
	var now, next []model.PinID
	reach := func(pin model.PinID, at int, onto *[]model.PinID) {
		if at < depth[pin] {
			depth[pin] = at
			*onto = append(*onto, pin)
		}
	}
	for _, pin := range s.feedPoles() {
		reach(pin, 0, &now)
	}
	for ; len(now) > 0; now, next = next, now[:0] {
		for len(now) > 0 {
			pin := now[len(now)-1]
			now = now[:len(now)-1]
			for _, id := range s.graph.At(pin) {
				switch e := s.graph.Edge(id); {
				case e.Kind == graph.Protect || e.Kind.Contact():
					reach(e.Other(pin), depth[pin]+1, &next)
				case e.Kind == graph.Bolted: // the body is the other pole
				case e.Kind.Conducts() || circuit.Shunt(e):
					reach(e.Other(pin), depth[pin], &now)
				case e.Kind == graph.Diode && (e.A == pin) != s.netlist.Harness.PositiveGround:
					reach(e.Other(pin), depth[pin]+1, &next)
				}
			}
		}
	}
	return depth
}

// feedPoles are the poles of sources on the side that is not grounded. Bodies are no source.
func (s *Study) feedPoles() []model.PinID {
	poles := s.plus
	if s.netlist.Harness.PositiveGround {
		poles = s.minus
	}
	return slices.DeleteFunc(slices.Clone(poles), func(pin model.PinID) bool {
		return slices.ContainsFunc(s.netlist.Bodies, func(b *model.Body) bool { return b.Pin == pin })
	})
}

// backAmps is the current against its way from which a fuse counts as feeding backwards; chosen here, above what meters take.
const backAmps = 0.005

// backwards lists the fuses that carry current against their way, the largest current first.
func (s *Study) backwards(sol *circuit.Solution) []*graph.Edge {
	var found []*graph.Edge
	most := 0.0
	for i := range s.graph.Edges {
		e := &s.graph.Edges[i]
		in, known := s.inlet[e]
		at, solved := s.edgeAt[e]
		if !known || !solved {
			continue
		}
		amps := sol.Amps[at] // from A to B
		if in == e.B {
			amps = -amps
		}
		if s.netlist.Harness.PositiveGround {
			amps = -amps // current comes back to the live pole there
		}
		if -amps <= backAmps {
			continue
		}
		if found = append(found, e); -amps > most {
			most = -amps
			found[0], found[len(found)-1] = found[len(found)-1], found[0]
		}
	}
	return found
}

// fedBackwards reports whether something is joined to the poles only over a fuse that carries current against its way.
func (o *observation) fedBackwards(a, b model.PinID) bool {
	return o.forward != nil && o.actual.proper(a, b) && !o.forward.proper(a, b)
}
