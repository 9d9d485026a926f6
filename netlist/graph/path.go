package graph

import (
	"fmt"
	"slices"

	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

// A Hop is one step of a path: over an edge, from one terminal to the next.
type Hop struct {
	Edge     *Edge
	From, To model.PinID
}

// Path returns the shortest way from one terminal to another over edges that allow accepts, or nil when there is none.
// Among equally short ways the one that comes first in the file wins. A path from a terminal to itself is empty, not nil.
func (g *Graph) Path(from, to model.PinID, allow func(*Edge) bool) []Hop {
	return g.PathTo(from, func(pin model.PinID) bool { return pin == to }, allow)
}

// PathTo is Path to the nearest terminal that found accepts.
func (g *Graph) PathTo(from model.PinID, found func(model.PinID) bool, allow func(*Edge) bool) []Hop {
	return g.PathFrom([]model.PinID{from}, found, allow)
}

// PathFrom is PathTo from whichever of several terminals is nearest; among equally near ones the first wins.
func (g *Graph) PathFrom(from []model.PinID, found func(model.PinID) bool, allow func(*Edge) bool) []Hop {
	came := make(map[model.PinID]Hop, len(from))
	queue := make([]model.PinID, 0, len(from))
	for _, pin := range from {
		if found(pin) {
			return []Hop{}
		}
		if _, seen := came[pin]; !seen {
			came[pin] = Hop{}
			queue = append(queue, pin)
		}
	}
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		for _, id := range g.At(pin) {
			e := g.Edge(id)
			next := e.Other(pin)
			if _, seen := came[next]; seen || !allow(e) || e.Kind == Diode && e.A != pin {
				continue
			}
			came[next] = Hop{Edge: e, From: pin, To: next}
			if found(next) {
				return unwind(came, next)
			}
			queue = append(queue, next)
		}
	}
	return nil
}

// unwind follows the hops back from a terminal to the one that the search began at, which no hop leads to.
func unwind(came map[model.PinID]Hop, to model.PinID) []Hop {
	var hops []Hop
	for h := came[to]; h.Edge != nil; h = came[h.From] {
		hops = append(hops, h)
	}
	slices.Reverse(hops)
	return hops
}

// Describe says in a few words what the hop goes over.
func (g *Graph) Describe(h Hop) string {
	from, to := g.Netlist.Pin(h.From), g.Netlist.Pin(h.To)
	switch e := h.Edge; e.Kind {
	case Wire:
		return fmt.Sprintf("wire %s from %s to %s", e.Wire.Name.Text, from, to)
	case Link:
		return fmt.Sprintf("link %s joins %s and %s", e.Link.Name.Text, from, to)
	case Mate:
		return fmt.Sprintf("%s meets %s", from, to)
	case Joined:
		return fmt.Sprintf("%s joins its wires", from.Owner.Name.Text)
	case Common:
		return fmt.Sprintf("%s joins %s and %s inside", e.Part.Name.Text, from, to)
	case Bolted:
		return fmt.Sprintf("%s is bolted to the %s", e.Part.Name.Text, e.Part.Body.Name.Text)
	case Protect:
		return fmt.Sprintf("through %s %s", e.Part.Kind.Name, e.Part.Name.Text)
	case Position:
		return fmt.Sprintf("%s in position %q joins %s and %s", e.Part.Name.Text, e.Part.Inside.Positions[e.Position].Name.Text, from, to)
	case Open, Closed:
		return fmt.Sprintf("contact of %s from %s to %s", e.Part.Name.Text, from, to)
	case Diode:
		return fmt.Sprintf("forward through the diode in %s from %s to %s", e.Part.Name.Text, from, to)
	}
	return fmt.Sprintf("through %s from %s to %s", h.Edge.Part.Name.Text, from, to)
}

// Span returns the words of the file that make the hop: the wire's name, the link's, or the part's.
func (g *Graph) Span(h Hop) source.Span {
	switch e := h.Edge; e.Kind {
	case Wire:
		return e.Wire.Name.Span
	case Link:
		return e.Link.Name.Span
	case Mate, Joined:
		return g.Netlist.Pin(h.From).Owner.Name.Span
	default:
		return e.Part.Name.Span
	}
}
