package reach

import (
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
)

// Any is every hand switch or output: for Ask.Free.
func Any(*model.Part) bool { return true }

// AnyOutput is every output: for Ask.Outputs.
func AnyOutput(*model.Pin) bool { return true }

// NoOutput is none.
func NoOutput(*model.Pin) bool { return false }

// Named returns the words of the file that lead a conductor to a terminal: the end of a wire, else the place in a link, else
// the designator of what has the terminal.
func Named(f *rules.Facts, pin model.PinID) source.Span {
	for _, w := range f.Graph.WiresAt(pin) {
		return EndAt(w, pin).Span
	}
	for _, id := range f.Graph.At(pin) {
		if e := f.Graph.Edge(id); e.Kind == graph.Link {
			for _, r := range e.Link.Joins {
				if r.ID == pin {
					return r.Span
				}
			}
		}
	}
	return f.Netlist.Pin(pin).Owner.Name.Span
}

// EndAt returns the end of a wire that lies at a terminal.
func EndAt(w *model.Wire, pin model.PinID) model.PinRef {
	if w.From.ID == pin {
		return w.From
	}
	return w.To
}

// Feeding returns the first wire on the way from a terminal to one that is found over conductors and fuses, the words that
// say where it comes from, and the way. Without a wire there it gives what Named does and a nil wire.
func Feeding(f *rules.Facts, pin model.PinID, found func(model.PinID) bool) (source.Span, *model.Wire, []graph.Hop) {
	path := f.Graph.PathTo(pin, found, func(e *graph.Edge) bool { return e.Kind.Conducts() })
	for _, h := range path {
		if w := h.Edge.Wire; w != nil {
			return EndAt(w, h.To).Span, w, path
		}
	}
	return Named(f, pin), nil, path
}

// ValueSpan returns the words of a part's value where they stand in the harness, and the part's designator where the value
// comes from a stock definition of the program.
func ValueSpan(n *model.Netlist, p *model.Part, key string) source.Span {
	v := p.Value(key)
	if v == nil {
		return p.Name.Span
	}
	span := v.Quantity.Span
	if span.IsZero() {
		span = v.Word.Span
	}
	for _, file := range n.Files {
		if span.File == file {
			return span
		}
	}
	return p.Name.Span
}
