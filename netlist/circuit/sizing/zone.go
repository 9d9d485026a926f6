package sizing

import (
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// zones says which fuse protects which wire.
type zones struct {
	ahead  map[*model.Wire][]*model.Part // the fuses ahead of a wire, the nearest first
	wires  map[*model.Part][]*model.Wire // the wires that a fuse protects, in the order in which current reaches them
	bare   map[*model.Wire]bool          // wires from a source with no fuse ahead
	ground []bool                        // by terminal: joined to the body
	first  map[model.PinID][]*model.Part // by terminal that a source reaches with no fuse: the fuses that source meets first
	// generators lists the generators that a fuse serves and nothing else.
	generators map[*model.Part][]*model.Part
	outputs    []*graph.Edge        // the first source of each generator: the output, not the warning lamp's
	limited    map[*model.Wire]stop // wires that a source with a limit feeds with no fuse ahead
	alone      map[model.PinID]bool // poles of sources that no battery reaches
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
	loads  []*model.Part // what takes current and was met
}

// A visit is a terminal that was reached, with the contact over which it was, so that no switch stands in two positions on
// one way.
type visit struct {
	pin  model.PinID
	over *graph.Edge
	from int // index of the visit before; -1 for none
}

// findZones walks from each source from fuse to fuse. Sources that something other than a fuse joins, contacts included, are one. A
// fuse between two sources protects what lies behind it as seen from either: both of its sides. Batteries go first; other sources
// count where no battery reaches, since what feeds there is limited by them alone.
func findZones(g *graph.Graph) *zones {
	z := &zones{ahead: map[*model.Wire][]*model.Part{}, wires: map[*model.Part][]*model.Wire{}, bare: map[*model.Wire]bool{}, first: map[model.PinID][]*model.Part{},
		generators: map[*model.Part][]*model.Part{}, limited: map[*model.Wire]stop{}, alone: map[model.PinID]bool{}}
	z.ground, z.outputs = groundPins(g), outputsOf(g)
	reached := make([]bool, len(g.Netlist.Pins))
	var roots []*walk
	begin := func(pole model.PinID) {
		for _, root := range roots {
			if root.seen[pole] {
				return
			}
		}
		root := z.walk(g, []model.PinID{pole})
		roots = append(roots, root)
		z.enter(g, root, reached)
	}
	for _, pole := range hotPoles(g, z.ground) {
		begin(pole)
	}
	for _, pole := range allPoles(g, z.ground) {
		if !reached[pole] {
			z.alone[pole] = true
			begin(pole)
		}
	}
	for _, root := range roots {
		parts := root.parts()
		for pin := range root.seen {
			z.first[pin] = parts
		}
		for _, w := range root.wires {
			z.bare[w] = true
		}
	}
	for _, root := range roots {
		z.protect(g, root)
	}
	z.limit(g)
	return z
}

// enter marks what a source reaches, over fuses too.
func (z *zones) enter(g *graph.Graph, root *walk, reached []bool) {
	z.each(g, root, func(_ *model.Part, w *walk) {
		for pin := range w.seen {
			reached[pin] = true
		}
	})
}

// protect says which wires each fuse protects against one source.
func (z *zones) protect(g *graph.Graph, root *walk) {
	z.each(g, root, func(fuse *model.Part, w *walk) {
		if fuse == nil {
			return
		}
		for _, wire := range w.wires {
			if !z.bare[wire] && !slices.Contains(z.ahead[wire], fuse) {
				z.ahead[wire] = append(z.ahead[wire], fuse)
				z.wires[fuse] = append(z.wires[fuse], wire)
			}
		}
		for _, e := range z.outputs {
			if p := e.Part; (w.seen[e.A] || w.seen[e.B]) && w.serves(p) && !slices.Contains(z.generators[fuse], p) {
				z.generators[fuse] = append(z.generators[fuse], p)
			}
		}
	})
}

// each goes through the walks from one source: that from the source itself, with no fuse, and those behind each fuse, each fuse once
// and the nearest first.
func (z *zones) each(g *graph.Graph, root *walk, do func(fuse *model.Part, w *walk)) {
	entered := map[*graph.Edge]bool{}
	do(nil, root)
	queue := []*walk{root}
	for len(queue) > 0 {
		w := queue[0]
		queue = queue[1:]
		for i, pin := range w.fuses {
			e := w.edges[i]
			if behind := e.Other(pin); !entered[e] && !w.seen[behind] {
				entered[e] = true
				next := z.walk(g, []model.PinID{behind})
				do(e.Part, next)
				queue = append(queue, next)
			}
		}
	}
}

// parts are the fuses that a walk met, each once.
func (w *walk) parts() []*model.Part {
	var out []*model.Part
	for _, e := range w.edges {
		if !slices.Contains(out, e.Part) {
			out = append(out, e.Part)
		}
	}
	return out
}

// serves reports whether what lies behind a fuse is a generator and nothing else that takes or passes current on: the fuse is then the
// generator's own.
func (w *walk) serves(generator *model.Part) bool {
	others := slices.ContainsFunc(w.loads, func(p *model.Part) bool { return p != generator })
	return !others && len(w.parts()) <= 1 // the fuse itself is met again
}

// limit finds the wires that sources with a limit of their own feed, up to the next fuse. Batteries have none, and the output of a
// generator is the matter of study.generators.
func (z *zones) limit(g *graph.Graph) {
	for i := range g.Edges {
		e := &g.Edges[i]
		if e.Kind != graph.Source || e.Part.Kind.Name == "battery" || e.Part.Value("output") != nil {
			continue
		}
		amps := e.Part.Inside.Sources[e.Index].Limit.Value
		if amps <= 0 {
			continue
		}
		for _, pin := range [...]model.PinID{e.A, e.B} {
			if z.ground[pin] {
				continue
			}
			for _, w := range z.walk(g, []model.PinID{pin}).wires {
				if old := z.limited[w]; amps > old.amps {
					z.limited[w] = stop{part: e.Part, amps: amps}
				}
			}
		}
	}
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
			if e := g.Edge(id); e.Kind.Conducts() && e.Kind != graph.Protect || circuit.Shunt(e) {
				mark(e.Other(pin))
			}
		}
	}
	return ground
}

// hotPoles are the poles of the batteries that are not grounded, taps between batteries in series among them; allPoles those of
// all sources.
func hotPoles(g *graph.Graph, ground []bool) []model.PinID {
	return polesOf(g, ground, func(p *model.Part) bool { return p.Kind.Name == "battery" })
}

func allPoles(g *graph.Graph, ground []bool) []model.PinID {
	return polesOf(g, ground, func(*model.Part) bool { return true })
}

func polesOf(g *graph.Graph, ground []bool, take func(*model.Part) bool) []model.PinID {
	var out []model.PinID
	for i := range g.Edges {
		e := &g.Edges[i]
		if e.Kind != graph.Source || !take(e.Part) {
			continue
		}
		for _, pin := range [...]model.PinID{e.A, e.B} {
			if !ground[pin] {
				out = append(out, pin)
			}
		}
	}
	return out
}

// outputsOf lists the sources that are the outputs of generators.
func outputsOf(g *graph.Graph) []*graph.Edge {
	var out []*graph.Edge
	for i := range g.Edges {
		if e := &g.Edges[i]; e.Kind == graph.Source && e.Index == 0 && e.Part.Value("output") != nil {
			out = append(out, e)
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
	case graph.Source, graph.Bolted:
		return
	case graph.Coil, graph.Resistor, graph.Load:
		if circuit.Limits(e) {
			w.loads = append(w.loads, e.Part)
			return
		}
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
