package switching

import (
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

// Ends tells what lies around the terminals of coils and contacts.
type ends struct {
	*rules.Pass
	outputs map[int32][]model.PinID // outputs of modules, by what metal and fuses join
	unsaid  map[int32]bool          // terminals of which the file does not show what they can be joined to, by what metal joins
	loads   map[int32][]*graph.Edge // consumers, by what metal and fuses join
}

func lookAround(p *rules.Pass) *ends {
	e := &ends{Pass: p, outputs: map[int32][]model.PinID{}, unsaid: map[int32]bool{}, loads: map[int32][]*graph.Edge{}}
	for i := range p.Netlist.Pins {
		pin := &p.Netlist.Pins[i]
		if isOutput(pin) {
			e.outputs[p.Fed(pin.ID)] = append(e.outputs[p.Fed(pin.ID)], pin.ID)
		}
		if unsaid(p, pin) {
			e.unsaid[p.Solid(pin.ID)] = true
		}
	}
	for i := range p.Graph.Edges {
		if edge := &p.Graph.Edges[i]; edge.Kind == graph.Load {
			for _, pin := range [...]model.PinID{edge.A, edge.B} {
				e.loads[p.Fed(pin)] = append(e.loads[p.Fed(pin)], edge)
			}
		}
	}
	return e
}

func isOutput(pin *model.Pin) bool {
	switch pin.Role {
	case catalog.Sink, catalog.Driver, catalog.HalfBridge:
		return true
	}
	return false
}

// unsaid: a terminal of a module without a role, of a connector that has no other half in the file, or the minor terminal of
// a generator may be anything.
func unsaid(p *rules.Pass, pin *model.Pin) bool {
	if c := pin.Owner.Connector; c != nil && c.Part == nil && c.Mate == nil {
		return true
	}
	part := pin.Owner.Device()
	switch {
	case part == nil:
		return false
	case len(part.Inside.Sources) > 0:
		return pin.Role == catalog.Signal || pin.Role == catalog.NoRole && pin.Name != model.CasePin
	case part.Kind.Name == "module" || part.Kind.Name == "device" || part.Kind.Name == "gauge":
		return pin.Role == catalog.NoRole || pin.Role == catalog.Output || pin.Role == catalog.Signal
	}
	return false
}

// outputsAt returns the outputs of modules that switch one of two terminals.
func (e *ends) outputsAt(a, b model.PinID) []model.PinID {
	out := slices.Clone(e.outputs[e.Fed(a)])
	if e.Fed(a) != e.Fed(b) {
		out = append(out, e.outputs[e.Fed(b)]...)
	}
	return out
}

// coil is something wound that kicks when it is switched off, and the word for it.
type coil struct {
	edge *graph.Edge
	word string // "coil of K1", "INJ1"
}

// coils lists the relays, valves and injectors whose ends are both wired, in the order of the file.
func (e *ends) coils(kinds ...string) []coil {
	var out []coil
	for i := range e.Graph.Edges {
		edge := &e.Graph.Edges[i]
		if edge.Part == nil || edge.Part.Spare.On || !e.Graph.Reached(edge.A) && !e.IsGround(edge.A) || !e.Graph.Reached(edge.B) && !e.IsGround(edge.B) {
			continue
		}
		switch {
		case edge.Kind == graph.Coil:
			out = append(out, coil{edge, "the coil of " + edge.Part.Name.Text})
		case edge.Kind == graph.Load && slices.Contains(kinds, edge.Part.Kind.Name):
			out = append(out, coil{edge, edge.Part.Name.Text})
		}
	}
	return out
}

func (e *ends) name(pin model.PinID) string { return e.Netlist.Pin(pin).String() }

func titled(p *model.Part) string {
	if p.Title.IsSet() {
		return p.Name.Text + " (" + p.Title.Text + ")"
	}
	return p.Name.Text
}
