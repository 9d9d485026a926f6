package nets

import (
	"slices"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

// endAt returns the end of a wire that is at a terminal.
func endAt(w *model.Wire, pin model.PinID) model.PinRef {
	if w.To.ID == pin {
		return w.To
	}
	return w.From
}

// wiredAt reports whether a wire or a link ends at a terminal.
func wiredAt(g *graph.Graph, pin model.PinID) bool {
	for _, id := range g.At(pin) {
		if k := g.Edge(id).Kind; k == graph.Wire || k == graph.Link {
			return true
		}
	}
	return false
}

// lastWire returns the last wire of a path and the words of the end by which the path leaves it.
func lastWire(path []graph.Hop) (*model.Wire, source.Span) {
	for _, h := range slices.Backward(path) {
		if w := h.Edge.Wire; w != nil {
			return w, endAt(w, h.To).Span
		}
	}
	return nil, source.Span{}
}

// backwards returns a path as it is walked from its far end.
func backwards(path []graph.Hop) []graph.Hop {
	out := make([]graph.Hop, len(path))
	for i, h := range path {
		out[len(path)-1-i] = graph.Hop{Edge: h.Edge, From: h.To, To: h.From}
	}
	return out
}

// contradicts reports whether the file states two names in a net: which of them is wrong is the matter of net-short.
func contradicts(g *graph.Graph, net *graph.Net) bool {
	stated := ""
	differs := func(name model.Name) bool {
		if !name.IsSet() || name.Text == stated {
			return false
		}
		if stated != "" {
			return true
		}
		stated = name.Text
		return false
	}
	for _, id := range net.Pins {
		if differs(g.Netlist.Pin(id).Net) {
			return true
		}
		for _, e := range g.At(id) {
			if w := g.Edge(e).Wire; w != nil && differs(w.Net) {
				return true
			}
		}
	}
	return false
}
