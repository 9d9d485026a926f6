package study

import (
	"math"
	"slices"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A way is the tree of shortest ways from the live poles of the batteries over what passes current.
type way struct {
	came  []*graph.Edge // the edge over which a terminal was reached; nil at a pole and where nothing leads
	depth []int         // hops from a pole; -1 where nothing leads
}

// livePoles are the poles of batteries on the side that is not grounded.
func (s *Study) livePoles() []model.PinID {
	var poles []model.PinID
	for i := range s.circuit.Branches {
		b := &s.circuit.Branches[i]
		pole, among := b.A, s.plus
		if s.netlist.Harness.PositiveGround {
			pole, among = b.B, s.minus
		}
		if b.IsBattery() && slices.Contains(among, pole) {
			poles = append(poles, pole)
		}
	}
	return poles
}

func (s *Study) wayFrom(poles []model.PinID, allow func(e *graph.Edge, from model.PinID) bool) *way {
	w := &way{came: make([]*graph.Edge, len(s.netlist.Pins)), depth: make([]int, len(s.netlist.Pins))}
	for i := range w.depth {
		w.depth[i] = -1
	}
	for _, pin := range poles {
		w.depth[pin] = 0
	}
	queue := slices.Clone(poles)
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		for _, id := range s.graph.At(pin) {
			e := s.graph.Edge(id)
			if next := e.Other(pin); w.depth[next] < 0 && allow(e, pin) {
				w.depth[next], w.came[next] = w.depth[pin]+1, e
				queue = append(queue, next)
			}
		}
	}
	return w
}

// path lists the edges from a terminal back to the pole.
func (w *way) path(pin model.PinID) []*graph.Edge {
	var edges []*graph.Edge
	for e := w.came[pin]; e != nil; e = w.came[pin] {
		edges = append(edges, e)
		pin = e.Other(pin)
	}
	return edges
}

// groundNear is the metal that a bare wire would touch at a terminal: that of the nearest ground point along the paths of the
// harness, else of the first body; battery minus where the file has no body.
func (s *Study) groundNear(pin model.PinID) (model.PinID, bool) {
	place := s.routes.PlaceOf(pin)
	g, known := s.groundAt[place]
	if !known {
		g.pin, g.ok = s.nearestGround(place)
		s.groundAt[place] = g
	}
	return g.pin, g.ok
}

// A touched is the metal that a bare wire would touch at a place.
type touched struct {
	pin model.PinID
	ok  bool
}

func (s *Study) nearestGround(place *model.Place) (model.PinID, bool) {
	nearest, metres := model.NoPin, math.Inf(1)
	for _, p := range s.netlist.Parts {
		if p.Kind.Name != "ground point" || p.Body == nil {
			continue
		}
		if m, _, ok := s.routes.Between(place, p.Owner.Place()); ok && float64(m) < metres {
			nearest, metres = p.Body.Pin, float64(m)
		}
	}
	switch {
	case nearest != model.NoPin:
		return nearest, true
	case len(s.netlist.Bodies) > 0:
		return s.netlist.Bodies[0].Pin, true
	}
	if s.netlist.Harness.PositiveGround && len(s.plus) > 0 {
		return s.plus[0], true
	}
	base := s.circuit.Base()
	return base, base != model.NoPin
}
