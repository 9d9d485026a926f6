package sizing

import (
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// zones says which fuse protects which wire.
type zones struct {
	ahead  map[*model.Wire][]*model.Part // the fuses ahead of a wire, the nearest first
	wires  map[*model.Part][]*model.Wire // the wires that a fuse protects, in the order in which current reaches them
	bare   map[*model.Wire]bool          // wires from a source with no fuse ahead
	ground []bool                        // by terminal: joined to the body
	// generators lists the generators that feed a fuse from its far side.
	generators map[*model.Part][]*model.Part
}

// A walk is a search from a hot terminal over everything that can be joined, contacts included.
type walk struct {
	g      *graph.Graph
	ground []bool
	seen   map[model.PinID]bool
	queue  []visit
	wires  []*model.Wire
	fuses  []model.PinID // terminals of fuses that were met, in order
	edges  []*graph.Edge // the fuse of each
}

// A visit is a terminal that was reached, with the contact over which it was, so that no switch stands in two positions on
// one way.
type visit struct {
	pin  model.PinID
	over *graph.Edge
	from int // index of the visit before; -1 for none
}

// findZones walks from the hot poles of the batteries (of all sources where there is no battery) from fuse to fuse.
func findZones(g *graph.Graph) *zones {
	z := &zones{ahead: map[*model.Wire][]*model.Part{}, wires: map[*model.Part][]*model.Wire{}, bare: map[*model.Wire]bool{}, generators: map[*model.Part][]*model.Part{}}
	z.ground = groundPins(g)
	type entry struct {
		fuse *model.Part
		pin  model.PinID
	}
	var queue []entry
	entered := map[*graph.Edge]bool{}
	root := z.walk(g, hotPoles(g, z.ground))
	take := func(w *walk) {
		for i, pin := range w.fuses {
			e := w.edges[i]
			if !entered[e] && !w.seen[e.Other(pin)] {
				entered[e] = true
				queue = append(queue, entry{e.Part, e.Other(pin)})
			}
		}
	}
	for _, w := range root.wires {
		z.bare[w] = true
	}
	take(root)
	for len(queue) > 0 {
		next := queue[0]
		queue = queue[1:]
		w := z.walk(g, []model.PinID{next.pin})
		for _, wire := range w.wires {
			if !z.bare[wire] {
				z.ahead[wire] = append(z.ahead[wire], next.fuse)
				z.wires[next.fuse] = append(z.wires[next.fuse], wire)
			}
		}
		z.generators[next.fuse] = append(z.generators[next.fuse], generatorsAt(g, w.seen)...)
		take(w)
	}
	return z
}

// groundPins marks what conductors join to a body, or to minus of a battery where no body is.
func groundPins(g *graph.Graph) []bool {
	ground := make([]bool, len(g.Netlist.Pins))
	var queue []model.PinID
	mark := func(pin model.PinID) {
		if !ground[pin] {
			ground[pin] = true
			queue = append(queue, pin)
		}
	}
	for _, b := range g.Netlist.Bodies {
		mark(b.Pin)
	}
	if len(queue) == 0 {
		for i := range g.Edges {
			if e := &g.Edges[i]; e.Kind == graph.Source {
				if g.Netlist.Harness.PositiveGround {
					mark(e.A)
				} else {
					mark(e.B)
				}
			}
		}
	}
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		for _, id := range g.At(pin) {
			if e := g.Edge(id); e.Kind.Conducts() && e.Kind != graph.Protect {
				mark(e.Other(pin))
			}
		}
	}
	return ground
}

// hotPoles are the poles of the batteries that are not grounded; of all sources where there is no battery.
func hotPoles(g *graph.Graph, ground []bool) []model.PinID {
	var batteries, all []model.PinID
	for i := range g.Edges {
		e := &g.Edges[i]
		if e.Kind != graph.Source {
			continue
		}
		for _, pin := range [...]model.PinID{e.A, e.B} {
			if ground[pin] {
				continue
			}
			all = append(all, pin)
			if e.Part.Kind.Name == "battery" {
				batteries = append(batteries, pin)
			}
		}
	}
	if len(batteries) > 0 {
		return batteries
	}
	return all
}

// generatorsAt lists the generators whose first source has a pole among the terminals: the output, not the warning lamp's.
func generatorsAt(g *graph.Graph, seen map[model.PinID]bool) []*model.Part {
	var out []*model.Part
	for i := range g.Edges {
		if e := &g.Edges[i]; e.Kind == graph.Source && e.Index == 0 && e.Part.Value("output") != nil && (seen[e.A] || seen[e.B]) {
			out = append(out, e.Part)
		}
	}
	return out
}

func (z *zones) walk(g *graph.Graph, from []model.PinID) *walk {
	w := &walk{g: g, ground: z.ground, seen: map[model.PinID]bool{}}
	for _, pin := range from {
		w.seen[pin] = true
		w.queue = append(w.queue, visit{pin: pin, from: -1})
	}
	met := map[*model.Wire]bool{}
	for at := 0; at < len(w.queue); at++ {
		pin := w.queue[at].pin
		for _, id := range g.At(pin) {
			w.step(at, pin, g.Edge(id), met)
		}
	}
	return w
}

// step goes over one edge, unless it limits the current itself, opens a fuse, leads to ground, or would need a switch in two
// positions at once.
func (w *walk) step(at int, pin model.PinID, e *graph.Edge, met map[*model.Wire]bool) {
	other := e.Other(pin)
	switch e.Kind {
	case graph.Protect:
		w.fuses, w.edges = append(w.fuses, pin), append(w.edges, e)
		return
	case graph.Coil, graph.Resistor, graph.Load, graph.Source, graph.Bolted:
		return
	case graph.Diode:
		if (e.A == pin) == w.g.Netlist.Harness.PositiveGround { // the live side is the minus there
			return
		}
	case graph.Open, graph.Closed, graph.Position:
		if !w.agrees(at, e) {
			return
		}
	}
	if w.ground[other] {
		return
	}
	if e.Kind == graph.Wire && !met[e.Wire] {
		met[e.Wire] = true
		w.wires = append(w.wires, e.Wire)
	}
	if !w.seen[other] {
		w.seen[other] = true
		over := e
		if !e.Kind.Contact() {
			over = nil
		}
		w.queue = append(w.queue, visit{pin: other, over: over, from: at})
	}
}

// agrees reports whether a contact can be closed together with those on the way to a visit.
func (w *walk) agrees(at int, e *graph.Edge) bool {
	for ; at >= 0; at = w.queue[at].from {
		if o := w.queue[at].over; o != nil && o.Part == e.Part && (o.Kind != e.Kind || o.Position != e.Position) {
			return sharedPosition(e, o)
		}
	}
	return true
}

// sharedPosition reports whether two contacts of a switch are closed in one position: the joins of a position may be given as
// several edges, and two positions may join the same terminals.
func sharedPosition(a, b *graph.Edge) bool {
	if a.Kind != graph.Position || b.Kind != graph.Position {
		return false
	}
	joins := func(position int, e *graph.Edge) bool {
		for _, group := range e.Part.Inside.Positions[position].Joins {
			hasA, hasB := false, false
			for _, pin := range group {
				hasA, hasB = hasA || pin == e.A, hasB || pin == e.B
			}
			if hasA && hasB {
				return true
			}
		}
		return false
	}
	return joins(a.Position, b) || joins(b.Position, a)
}
