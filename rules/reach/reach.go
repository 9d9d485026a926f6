// Package reach answers what could be fed: which terminals supply and ground can come to, when some switches may stand in
// any position, some things are taken out, and some outputs of modules are on. No current is computed; consumers pass
// nothing on.
//
// It takes the facts of a harness and gives flows over them. It may import rules and the packages below netlist. Rules of
// several rooms use it.
package reach

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

// weakOhms: a resistor below it, inside a part, weakens what it feeds (the low speed of a blower) and does not cut it off.
const weakOhms = 10

// A Web is a harness with everything that metal joins drawn together into one node, so that a flow costs little.
type Web struct {
	facts   *rules.Facts
	node    []int32 // by terminal
	links   []link
	start   []int32 // the links of node n are ends[start[n]:start[n+1]]
	ends    []int32
	live    []int32 // nodes that a source or a rail 30 holds live
	ground  []int32
	coils   []*graph.Edge
	modules []module
}

// A link joins two nodes: a fuse, a contact, a diode, a weak resistor.
type link struct {
	a, b int32
	edge *graph.Edge
}

// A module and the terminals that decide what its outputs can do.
type module struct{ supplies, sinks, drivers, halves []model.PinID }

// New makes the web of a harness.
func New(f *rules.Facts) *Web {
	w := &Web{facts: f, node: make([]int32, len(f.Netlist.Pins))}
	nodes := w.number()
	for i := range f.Graph.Edges {
		w.add(&f.Graph.Edges[i])
	}
	w.index(nodes)
	w.seed(nodes)
	for _, p := range f.Netlist.Parts {
		w.addModule(p)
	}
	return w
}

func (w *Web) number() int {
	numbers := make([]int32, len(w.node))
	count := int32(0)
	for pin := range w.node {
		root := w.facts.Solid(model.PinID(pin))
		if numbers[root] == 0 {
			count++
			numbers[root] = count
		}
		w.node[pin] = numbers[root] - 1
	}
	return int(count)
}

func (w *Web) add(e *graph.Edge) {
	switch {
	case e.Kind == graph.Coil:
		w.coils = append(w.coils, e)
	case e.Kind == graph.Protect, e.Kind == graph.Diode, e.Kind.Contact(), e.Kind == graph.Resistor && weak(e):
		if a, b := w.node[e.A], w.node[e.B]; a != b {
			w.links = append(w.links, link{a, b, e})
		}
	}
}

func weak(e *graph.Edge) bool {
	ohms := e.Part.Inside.Resistors[e.Index].Ohms
	return ohms.IsSet() && ohms.Value < weakOhms
}

func (w *Web) index(nodes int) {
	w.start = make([]int32, nodes+1)
	for _, l := range w.links {
		w.start[l.a+1]++
		w.start[l.b+1]++
	}
	for n := range nodes {
		w.start[n+1] += w.start[n]
	}
	w.ends = make([]int32, 2*len(w.links))
	next := append([]int32(nil), w.start[:nodes]...)
	for i, l := range w.links {
		for _, n := range [...]int32{l.a, l.b} {
			w.ends[next[n]] = int32(i)
			next[n]++
		}
	}
}

// seed finds what is live and what is ground. The first source of a part is its main one; others, such as the exciter
// terminal of a generator, are meant for one lamp only and feed nothing here.
func (w *Web) seed(nodes int) {
	n := w.facts.Netlist
	isLive, isGround := make([]bool, nodes), make([]bool, nodes)
	for _, p := range n.Parts {
		for i, s := range p.Inside.Sources {
			if live, _ := w.facts.Poles(s); i == 0 && w.facts.IsLive(live) {
				isLive[w.node[live]] = true
			}
		}
	}
	for _, l := range n.Links {
		if l.Rail.Text == "30" && len(l.Joins) > 0 && l.Joins[0].ID != model.NoPin {
			isLive[w.node[l.Joins[0].ID]] = true
		}
	}
	for pin := range n.Pins {
		if w.facts.IsGround(model.PinID(pin)) {
			isGround[w.node[pin]] = true
		}
	}
	for i := range nodes {
		if isLive[i] && !isGround[i] {
			w.live = append(w.live, int32(i))
		}
		if isGround[i] && !isLive[i] {
			w.ground = append(w.ground, int32(i))
		}
	}
}

func (w *Web) addModule(p *model.Part) {
	var m module
	for _, id := range p.Terminals() {
		switch w.facts.Netlist.Pin(id).Role {
		case catalog.Supply:
			m.supplies = append(m.supplies, id)
		case catalog.Sink:
			m.sinks = append(m.sinks, id)
		case catalog.Driver:
			m.drivers = append(m.drivers, id)
		case catalog.HalfBridge:
			m.halves = append(m.halves, id)
		}
	}
	if len(m.sinks)+len(m.drivers)+len(m.halves) > 0 {
		w.modules = append(w.modules, m)
	}
}

// Whole reports whether the harness has both something live and something that is ground: else nothing can be said.
func (w *Web) Whole() bool { return len(w.live) > 0 && len(w.ground) > 0 }

// An Ask says under which circumstances a flow is sought. The zero value is the harness at rest, no output on.
type Ask struct {
	Condition *graph.Condition          // where switches stand and which outputs are on, as far as the rest says nothing else
	Free      func(*model.Part) bool    // hand switches that may stand in any position; nil for none
	At        map[*model.Part]int       // hand switches that stand otherwise
	Out       func(*model.Part) bool    // parts that pass nothing on; nil for none
	Outputs   func(pin *model.Pin) bool // outputs that may be on; nil for those of the condition
	From      []model.PinID             // what is live, in place of the sources; nil for those
}

// A Flow says what supply and ground can come to.
type Flow struct {
	web          *Web
	ask          Ask
	live, ground side
	pulls        map[*model.Part]bool
}

// A side is what one of both can come to, and over what: the index of the link, or begins or nothing.
type side struct {
	came []int32
	from []int32
}

const (
	nothing = -1 // not come to
	begins  = -2 // a pole, or an output that is on
)

// Flow lets supply and ground spread. Relays pull in whose coil can lie between both, and outputs work whose module can be
// supplied, until nothing is added.
func (w *Web) Flow(ask Ask) *Flow {
	f := &Flow{web: w, ask: ask, live: newSide(len(w.start) - 1), ground: newSide(len(w.start) - 1), pulls: map[*model.Part]bool{}}
	live := w.live
	if ask.From != nil {
		live = nil
		for _, pin := range ask.From {
			live = append(live, w.node[pin])
		}
	}
	f.spread(&f.live, live, true)
	f.spread(&f.ground, w.ground, false)
	for added := true; added; {
		added = f.outputs()
		added = f.relays() || added
	}
	return f
}

func newSide(nodes int) side {
	s := side{came: make([]int32, nodes), from: make([]int32, nodes)}
	for i := range s.came {
		s.came[i] = nothing
	}
	return s
}

// spread follows the links from nodes that are new, or from all that are known when a relay has changed.
func (f *Flow) spread(s *side, nodes []int32, live bool) bool {
	w, grown := f.web, false
	var queue []int32
	for _, n := range nodes {
		if s.came[n] == nothing {
			s.came[n], grown = begins, true
		}
		queue = append(queue, n)
	}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		for _, i := range w.ends[w.start[n]:w.start[n+1]] {
			l := &w.links[i]
			to := l.a + l.b - n
			if s.came[to] != nothing || !f.passes(l.edge) || !f.consistent(s, n, l.edge) {
				continue
			}
			if l.edge.Kind == graph.Diode && (w.node[l.edge.A] == n) != (live != w.facts.Netlist.Harness.PositiveGround) {
				continue // live goes with the arrow, ground against it; with plus grounded, the other way round
			}
			s.came[to], s.from[to], grown = i, n, true
			queue = append(queue, to)
		}
	}
	return grown
}

// consistent reports whether a way does not go through one switch in two positions at once.
func (f *Flow) consistent(s *side, n int32, e *graph.Edge) bool {
	if e.Kind != graph.Position {
		return true
	}
	for s.came[n] >= 0 {
		before := f.web.links[s.came[n]].edge
		if before.Part == e.Part && before.Kind == graph.Position && before.Position != e.Position {
			return false
		}
		n = s.from[n]
	}
	return true
}

func (f *Flow) passes(e *graph.Edge) bool {
	a := &f.ask
	switch {
	case a.Out != nil && a.Out(e.Part):
		return false
	case !e.Kind.Contact():
		return true
	case len(e.Part.Inside.Coils) > 0:
		return f.relayPasses(e)
	case a.Free != nil && a.Free(e.Part):
		return true
	}
	if at, moved := a.At[e.Part]; moved {
		if e.Kind == graph.Position {
			return at == e.Position
		}
		return (at == 1) == (e.Kind == graph.Open)
	}
	if a.Condition != nil {
		return a.Condition.Closed(e)
	}
	if e.Kind == graph.Position {
		return e.Part.Inside.Rest == e.Position
	}
	return e.Kind == graph.Closed
}

// relayPasses: a contact that closes goes by what its coil can be joined to here; one that opens, by the condition.
func (f *Flow) relayPasses(e *graph.Edge) bool {
	if e.Kind == graph.Closed {
		return f.ask.Condition == nil || !f.ask.Condition.Engaged(e.Part)
	}
	return f.pulls[e.Part]
}

func (f *Flow) relays() bool {
	changed := false
	for _, c := range f.web.coils {
		if !f.pulls[c.Part] && f.Works(c.A, c.B) && (f.ask.Out == nil || !f.ask.Out(c.Part)) {
			f.pulls[c.Part], changed = true, true
		}
	}
	if changed {
		f.again(&f.live, true)
		f.again(&f.ground, false)
	}
	return changed
}

// again spreads from everything that is known, since a contact has closed.
func (f *Flow) again(s *side, live bool) bool {
	var known []int32
	for n, came := range s.came {
		if came != nothing {
			known = append(known, int32(n))
		}
	}
	return f.spread(s, known, live)
}

func (f *Flow) outputs() bool {
	added := false
	for i := range f.web.modules {
		m := &f.web.modules[i]
		supplied := len(m.supplies) == 0
		for _, pin := range m.supplies {
			supplied = supplied || f.Live(pin)
		}
		if !supplied {
			continue
		}
		added = f.spread(&f.ground, f.on(m.sinks, false), false) || added
		added = f.spread(&f.live, f.on(m.drivers, false), true) || added
		added = f.spread(&f.live, f.on(m.halves, false), true) || added
		added = f.spread(&f.ground, f.on(m.halves, true), false) || added
	}
	return added
}

// on returns the nodes of outputs that are on and not yet joined.
func (f *Flow) on(pins []model.PinID, pulled bool) []int32 {
	var nodes []int32
	for _, id := range pins {
		pin := f.web.facts.Netlist.Pin(id)
		switch {
		case f.ask.Outputs != nil && f.ask.Outputs(pin):
		case f.ask.Outputs == nil && f.ask.Condition != nil && f.ask.Condition.State != nil && named(f.ask.Condition.State, id, pulled):
		default:
			continue
		}
		nodes = append(nodes, f.web.node[id])
	}
	return nodes
}

func named(s *model.State, pin model.PinID, pulled bool) bool {
	list := s.Driven
	if pulled {
		list = s.Pulled
	}
	for _, r := range list {
		if r.ID == pin {
			return true
		}
	}
	return false
}

// Live reports whether supply can come to a terminal.
func (f *Flow) Live(pin model.PinID) bool { return f.live.came[f.web.node[pin]] != nothing }

// Ground reports whether ground can come to a terminal.
func (f *Flow) Ground(pin model.PinID) bool { return f.ground.came[f.web.node[pin]] != nothing }

// Works reports whether what lies between two terminals can be fed.
func (f *Flow) Works(a, b model.PinID) bool {
	return f.web.node[a] != f.web.node[b] && (f.Live(a) && f.Ground(b) || f.Ground(a) && f.Live(b))
}

// Pulls reports whether a relay can pull in.
func (f *Flow) Pulls(p *model.Part) bool { return f.pulls[p] }

// LiveOver lists the links over which supply comes to a terminal, from the terminal to the source; nil where none comes.
func (f *Flow) LiveOver(pin model.PinID) []*graph.Edge { return f.over(&f.live, pin) }

// GroundOver lists the links over which ground comes to a terminal, from the terminal outwards.
func (f *Flow) GroundOver(pin model.PinID) []*graph.Edge { return f.over(&f.ground, pin) }

func (f *Flow) over(s *side, pin model.PinID) []*graph.Edge {
	var edges []*graph.Edge
	for n := f.web.node[pin]; s.came[n] >= 0; n = s.from[n] {
		edges = append(edges, f.web.links[s.came[n]].edge)
	}
	return edges
}

// Needs lists the parts that what lies between two terminals is fed through: fuses, switches and relays on both sides, and
// for each relay what its coil is fed through in turn. Each part once, the nearest first.
func (f *Flow) Needs(a, b model.PinID) []*model.Part {
	var parts []*model.Part
	seen := map[*model.Part]bool{}
	var follow func(a, b model.PinID)
	follow = func(a, b model.PinID) {
		if !f.Live(a) || !f.Ground(b) {
			a, b = b, a
		}
		for _, e := range append(f.LiveOver(a), f.GroundOver(b)...) {
			if seen[e.Part] {
				continue
			}
			seen[e.Part] = true
			parts = append(parts, e.Part)
			if len(e.Part.Inside.Coils) > 0 && e.Kind == graph.Open {
				for _, c := range f.web.coils {
					if c.Part == e.Part {
						follow(c.A, c.B)
					}
				}
			}
		}
	}
	follow(a, b)
	return parts
}
