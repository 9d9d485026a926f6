package signals

import (
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
)

// outside reports whether an edge is a conductor outside parts.
func outside(e *graph.Edge) bool { return e.Kind.Outside() }

// spanAt returns the words that name a terminal where a wire meets it, or where it is declared, and the wire's name.
func spanAt(p *rules.Pass, id model.PinID) (source.Span, []string) {
	wires := p.Graph.WiresAt(id)
	switch {
	case len(wires) == 0:
		return p.Netlist.Pin(id).Span, nil
	case wires[0].To.ID == id:
		return wires[0].To.Span, []string{wires[0].Name.Text}
	}
	return wires[0].From.Span, []string{wires[0].Name.Text}
}

// others returns the terminals of devices on the net of a terminal, apart from that itself and from bars, studs and ground
// points, which only join.
func others(p *rules.Pass, id model.PinID) []model.PinID {
	var found []model.PinID
	for _, other := range p.Graph.NetOf(id).Pins {
		part := p.Netlist.Pin(other).Owner.Device()
		if other != id && part != nil && !part.Kind.Joined {
			found = append(found, other)
		}
	}
	return found
}
