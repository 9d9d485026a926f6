package sheet

import (
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A gate is what a terminal can depend on: a fuse, the contact of a relay, or the output of a module.
type gate struct {
	part   *model.Part
	relay  bool // an open contact, which needs its coil
	output bool
	input  model.Pair // of a converter, which gives nothing without what it works from
}

// A side is one half of what a consumer needs in a state, supply or ground, as a directed graph from a root (all poles of
// that side) over whatever is closed. Terminals are nodes, and so is every gate, so that what a terminal cannot be reached
// without stands on its way up the tree of dominators.
//
// Source of the algorithm: K. D. Cooper, T. J. Harvey, K. Kennedy, "A Simple, Fast Dominance Algorithm", Rice University
// 2001: immediate dominators by intersection along the reverse postorder, until nothing changes.
type side struct {
	next  [][]int32
	gates []gate // by node, less gateBase
	base  int32  // the first node of a gate
	idom  []int32
	order []int32 // postorder number; -1 where the root does not reach
}

const noNode = -1

func newSide(pins int) *side {
	return &side{next: make([][]int32, pins+1), base: int32(pins) + 1}
}

func (s *side) root() int32 { return s.base - 1 }

// join leads from one node to the other.
func (s *side) join(a, b int32) { s.next[a] = append(s.next[a], b) }

// joinBoth leads both ways, through one gate: whichever way the current takes, it is the same fuse.
func (s *side) joinBoth(a, b int32, g *gate) {
	if g == nil {
		s.join(a, b)
		s.join(b, a)
		return
	}
	node := int32(len(s.next))
	s.next = append(s.next, []int32{a, b})
	s.gates = append(s.gates, *g)
	s.next[a] = append(s.next[a], node)
	s.next[b] = append(s.next[b], node)
}

// joinAll leads from any of several terminals through one gate to another.
func (s *side) joinAll(from []model.PinID, to model.PinID, g gate) {
	node := int32(len(s.next))
	s.next = append(s.next, []int32{int32(to)})
	s.gates = append(s.gates, g)
	for _, id := range from {
		s.next[id] = append(s.next[id], node)
	}
}

// dominate works the immediate dominators out.
func (s *side) dominate() {
	n := len(s.next)
	s.idom, s.order = make([]int32, n), make([]int32, n)
	for i := range s.idom {
		s.idom[i], s.order[i] = noNode, noNode
	}
	post := s.postorder()
	before := make([][]int32, n)
	for _, a := range post {
		for _, b := range s.next[a] {
			before[b] = append(before[b], a)
		}
	}
	s.idom[s.root()] = s.root()
	for changed := true; changed; {
		changed = false
		for i := len(post) - 2; i >= 0; i-- { // the root is the last of the postorder
			node, best := post[i], int32(noNode)
			for _, p := range before[node] {
				switch {
				case s.idom[p] == noNode:
				case best == noNode:
					best = p
				default:
					best = s.meet(best, p)
				}
			}
			if s.idom[node] != best {
				s.idom[node], changed = best, true
			}
		}
	}
}

// postorder numbers the nodes that the root reaches. It goes without recursion, because a chain can be as long as a file.
func (s *side) postorder() []int32 {
	type visit struct {
		node int32
		at   int
	}
	var post []int32
	seen := make([]bool, len(s.next))
	seen[s.root()] = true
	for stack := []visit{{s.root(), 0}}; len(stack) > 0; {
		top := &stack[len(stack)-1]
		if top.at == len(s.next[top.node]) {
			s.order[top.node] = int32(len(post))
			post = append(post, top.node)
			stack = stack[:len(stack)-1]
			continue
		}
		next := s.next[top.node][top.at]
		top.at++
		if !seen[next] {
			seen[next] = true
			stack = append(stack, visit{next, 0})
		}
	}
	return post
}

func (s *side) meet(a, b int32) int32 {
	for a != b {
		for s.order[a] < s.order[b] {
			a = s.idom[a]
		}
		for s.order[b] < s.order[a] {
			b = s.idom[b]
		}
	}
	return a
}

func (s *side) reaches(pin model.PinID) bool { return pin != model.NoPin && s.order[pin] != noNode }

// gatesOf returns the gates that a terminal is not reached without.
func (s *side) gatesOf(pin model.PinID) []gate {
	var gates []gate
	for node := int32(pin); node != s.root(); node = s.idom[node] {
		if node >= s.base {
			gates = append(gates, s.gates[node-s.base])
		}
	}
	return gates
}

// A reliance knows for one state what depends on which fuse and relay.
type reliance struct {
	cond         *graph.Condition
	charging     bool
	supply, back *side
	through      *side // ground by way of a sender or of the field of a generator, as gauges and charge lamps have it
	modules      map[*model.Part]modulePins
	open         map[*model.Part]bool // relays and modules whose own needs are being looked up: a relay may hold itself
}

// modulePins are the terminals that the working of a module depends on.
type modulePins struct{ supplies, grounds, outer []model.PinID }

// relianceOf works out what depends on what in a state, once. It needs no number: a harness without lengths and loads
// has its fuses and switches all the same.
func (v *Solved) relianceOf(state int) *reliance {
	if v.reliances == nil {
		v.reliances = make([]*reliance, len(v.Conditions))
	}
	if v.reliances[state] == nil {
		v.reliances[state] = v.newReliance(state)
	}
	return v.reliances[state]
}

func (v *Solved) newReliance(state int) *reliance {
	cond := v.Conditions[state]
	n := v.Circuit.Netlist
	r := &reliance{cond: cond, charging: cond.State != nil && circuit.Charges(cond.State), supply: newSide(len(n.Pins)), back: newSide(len(n.Pins)), through: newSide(len(n.Pins)), modules: map[*model.Part]modulePins{}, open: map[*model.Part]bool{}}
	for i := range v.Circuit.Graph.Edges {
		r.addEdge(&v.Circuit.Graph.Edges[i], n.Harness.PositiveGround)
	}
	r.addPoles(v, cond)
	for _, p := range n.Parts {
		if p.Kind.Symbol == "module" {
			r.addModule(v, p)
		}
	}
	if cond.State != nil {
		r.addOutputs(n, cond.State)
	}
	r.supply.dominate()
	r.addSenders(v.Circuit.Graph)
	for i := range r.through.next {
		r.through.next[i] = append(r.through.next[i], r.back.next[i]...)
	}
	r.through.next = append(r.through.next, r.back.next[len(r.through.next):]...)
	r.through.gates = r.back.gates
	r.back.dominate()
	r.through.dominate()
	return r
}

// addEdge joins what is closed. A diode conducts towards its cathode: away from plus, and towards minus.
func (r *reliance) addEdge(e *graph.Edge, positive bool) {
	a, b := int32(e.A), int32(e.B)
	switch {
	case e.Kind == graph.Diode && !positive:
		r.supply.join(a, b)
		r.back.join(b, a)
	case e.Kind == graph.Diode:
		r.supply.join(b, a)
		r.back.join(a, b)
	case e.Kind == graph.Resistor && e.Part.Inside.Resistors[e.Index].Ohms.Value < circuit.WeakeningOhms:
		r.supply.joinBoth(a, b, nil)
		r.back.joinBoth(a, b, nil)
	case !r.cond.Closed(e):
	case e.Kind == graph.Protect:
		g := gate{part: e.Part}
		r.supply.joinBoth(a, b, &g)
		r.back.joinBoth(a, b, &g)
	case e.Kind.Contact() && len(e.Part.Inside.Coils) > 0:
		g := gate{part: e.Part, relay: e.Kind == graph.Open}
		r.supply.joinBoth(a, b, &g)
		r.back.joinBoth(a, b, &g)
	default:
		r.supply.joinBoth(a, b, nil)
		r.back.joinBoth(a, b, nil)
	}
}

// addSenders lets the current of a gauge through its sender, and that of a charge lamp through a generator that stands. What
// has supply of its own is no sender.
func (r *reliance) addSenders(g *graph.Graph) {
	for i := range g.Edges {
		e := &g.Edges[i]
		field := e.Kind == graph.Load && len(e.Part.Inside.Sources) > 0 || e.Kind == graph.Source && e.Index > 0
		sender := e.Kind == graph.Load && e.Part.Kind.Symbol == "sensor"
		if (sender || field && !r.charging) && !r.supply.reaches(e.A) && !r.supply.reaches(e.B) {
			r.through.joinBoth(int32(e.A), int32(e.B), nil)
		}
	}
}

// addPoles joins the roots to what delivers: batteries in any state, other sources where they charge. Metal of the vehicle
// is ground.
func (r *reliance) addPoles(v *Solved, cond *graph.Condition) {
	for i := range v.Circuit.Branches {
		b := &v.Circuit.Branches[i]
		if !b.Supplies() || b.Edge == nil {
			continue
		}
		if b.Edge.Kind == graph.Source {
			if source := &b.Part.Inside.Sources[b.Edge.Index]; source.Converts() {
				r.addConverter(b, source.From)
				continue
			}
		}
		if (b.IsGenerator() || b.Edge.Index > 0) && !r.charging {
			continue
		}
		for _, pin := range []model.PinID{b.A, b.B} {
			switch {
			case cond.Live(pin) && !cond.Grounded(pin):
				r.supply.join(r.supply.root(), int32(pin))
			case cond.Grounded(pin) && !cond.Live(pin):
				r.back.join(r.back.root(), int32(pin))
			}
		}
	}
	for _, b := range v.Circuit.Netlist.Bodies {
		r.back.join(r.back.root(), int32(b.Pin))
	}
}

// addConverter leads from the input of a converter to its output, on whichever side each of its poles is.
func (r *reliance) addConverter(b *circuit.Branch, from model.Pair) {
	g := gate{part: b.Part, output: true, input: from}
	r.supply.joinAll([]model.PinID{from.A}, b.A, g)
	r.back.joinAll([]model.PinID{from.B}, b.B, g)
	r.supply.joinAll([]model.PinID{from.B}, b.B, g)
	r.back.joinAll([]model.PinID{from.A}, b.A, g)
}

// addModule joins the grounds of a module, which are one metal inside, and those of its sensors with them.
func (r *reliance) addModule(v *Solved, p *model.Part) {
	var m modulePins
	for _, id := range p.Terminals() {
		if !v.Circuit.Graph.Reached(id) {
			continue
		}
		switch v.Circuit.Netlist.Pin(id).Role {
		case catalog.Supply:
			m.supplies = append(m.supplies, id)
		case catalog.Ground:
			m.grounds = append(m.grounds, id)
		case catalog.Return, catalog.Screen:
			m.outer = append(m.outer, id)
		}
	}
	r.modules[p] = m
	for _, id := range slices.Concat(m.grounds, m.outer) {
		if len(m.grounds) > 0 && id != m.grounds[0] {
			r.back.joinBoth(int32(m.grounds[0]), int32(id), nil)
		}
	}
}

// addOutputs joins the outputs that the state drives to the ground or to the supplies of their modules.
func (r *reliance) addOutputs(n *model.Netlist, st *model.State) {
	add := func(ref model.PinRef, pulled bool) {
		if ref.ID == model.NoPin {
			return
		}
		pin := n.Pin(ref.ID)
		p := pin.Owner.Device()
		m, known := r.modules[p]
		if !known {
			return
		}
		to, from := r.supply, m.supplies
		if pin.Role == catalog.Sink || pulled {
			to, from = r.back, m.grounds
		} else if pin.Role != catalog.Driver && pin.Role != catalog.HalfBridge {
			return
		}
		to.joinAll(from, ref.ID, gate{part: p, output: true})
	}
	for _, ref := range st.Driven {
		add(ref, false)
	}
	for _, ref := range st.Pulled {
		add(ref, true)
	}
}

// feeds reports whether two terminals are joined one to supply and the other to ground.
func (r *reliance) feeds(a, b model.PinID) bool { return r.needs(a, b, map[*model.Part]bool{}) }

// needs adds the fuses and relays without which two terminals are not joined one to supply and the other to ground. It
// reports whether they are.
func (r *reliance) needs(a, b model.PinID, into map[*model.Part]bool) bool {
	for _, back := range []*side{r.back, r.through} {
		for _, way := range []model.Pair{{A: a, B: b}, {A: b, B: a}} {
			if r.supply.reaches(way.A) && back.reaches(way.B) {
				for _, g := range slices.Concat(r.supply.gatesOf(way.A), back.gatesOf(way.B)) {
					r.gateNeeds(g, into)
				}
				return true
			}
		}
	}
	return false
}

func (r *reliance) gateNeeds(g gate, into map[*model.Part]bool) {
	if !g.output {
		into[g.part] = true
	}
	if !g.relay && !g.output || r.open[g.part] {
		return
	}
	r.open[g.part] = true
	defer delete(r.open, g.part)
	var ways []model.Pair
	switch {
	case g.relay:
		ways = g.part.Inside.Coils
	case g.input.A != g.input.B:
		ways = []model.Pair{g.input}
	default:
		ways = r.modules[g.part].pairs()
	}
	for part := range r.common(ways) {
		into[part] = true
	}
}

// pairs are the ways to supply a module: any of its supplies with its grounds.
func (m modulePins) pairs() []model.Pair {
	var pairs []model.Pair
	for _, id := range m.supplies {
		for _, ground := range m.grounds {
			pairs = append(pairs, model.Pair{A: id, B: ground})
		}
	}
	return pairs
}

// common is what all ways need that work in the state: with one of them left, the thing works.
func (r *reliance) common(ways []model.Pair) map[*model.Part]bool {
	var all map[*model.Part]bool
	for _, way := range ways {
		needs := map[*model.Part]bool{}
		if !r.needs(way.A, way.B, needs) {
			continue
		}
		if all == nil {
			all = needs
			continue
		}
		for part := range all {
			if !needs[part] {
				delete(all, part)
			}
		}
	}
	return all
}
