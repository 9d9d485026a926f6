package fuses

import (
	"cmp"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

// A guarded is a fuse, breaker or link with what lies between it and the next one or the first consumers.
type guarded struct {
	part       *model.Part
	rating     unit.Ampere // 0 when not stated
	wires      []*model.Wire
	takers     []taker
	next       []*model.Part // the fuses behind
	generators []*model.Part // that feed it from behind
}

// A taker is what takes current from a fuse: a load, the coil of a relay, or a supply terminal of a module.
type taker struct {
	part *model.Part
	load *model.Load // of a load; else nil
	edge *graph.Edge // of a load or a coil; else nil
	pin  model.PinID // of a terminal of a module; else NoPin
}

// name is the designator of a taker, with the title of the load where the part has several.
func (t taker) name() string {
	switch {
	case t.edge != nil && t.edge.Kind == graph.Coil:
		return "the coil of " + t.part.Name.Text
	case t.load != nil && t.load.Title.IsSet() && len(t.part.Inside.Loads) > 1:
		return t.part.Name.Text + " (" + t.load.Title.Text + ")"
	}
	return t.part.Name.Text
}

// function is what the taker does in the vehicle, as far as the file says; empty when it does not.
func (t taker) function() string {
	if t.load != nil && t.load.Function.IsSet() {
		return t.load.Function.Text
	}
	return t.part.Function.Text
}

// ratingOf is the rating of a fuse, 0 when it has none, with the words that state it, or the designator.
func ratingOf(part *model.Part) (unit.Ampere, source.Span) {
	if v := part.Value("rating"); v != nil && v.Quantity.IsSet() {
		return unit.Ampere(v.Quantity.Value), v.Quantity.Span
	}
	return 0, part.Name.Span
}

// called writes a fuse with its rating: "F8 10 A".
func called(part *model.Part) string {
	if rating, _ := ratingOf(part); rating > 0 {
		return part.Name.Text + " " + rating.String()
	}
	return part.Name.Text
}

// curveOf is the time-current band of a fuse. It is not known where the file states a family of which there is no table:
// an electronic fuse has a curve of its own. Where it states none, the family follows from the rating.
func curveOf(part *model.Part) (curve *fusecurve.Curve, known bool) {
	rating, _ := ratingOf(part)
	word := ""
	if v := part.Value("family"); v != nil {
		word = v.Word.Text
	}
	curve, source, _ := fusecurve.Of(word, rating)
	_, family := fusecurve.ParseFamily(word)
	return curve, source.IsSet() && (family || word == "")
}

// A survey finds what lies behind each fuse. It walks from the live poles outwards, from fuse to fuse, over everything that
// can be joined, contacts included, and never with one switch in two positions.
type survey struct {
	*rules.Pass
	seen    []int32 // by terminal: the walk that came last
	root    []bool  // by terminal: reached from a source without a fuse
	walks   int32
	queue   []visit
	guarded []*guarded
	pending []start
	entered map[*graph.Edge]*guarded
}

// A visit is a terminal that a walk came to, and the contact that it came over.
type visit struct {
	pin  model.PinID
	over *graph.Edge
	from int // index of the visit before; -1 for none
}

// A start is a fuse to be entered.
type start struct {
	edge *graph.Edge
	pin  model.PinID // on the side of the load
}

// surveyOf lists the fuses that something feeds, in the order of the file.
func surveyOf(p *rules.Pass) []*guarded {
	s := &survey{Pass: p, seen: make([]int32, len(p.Netlist.Pins)), root: make([]bool, len(p.Netlist.Pins)), entered: map[*graph.Edge]*guarded{}}
	root := &guarded{}
	s.walk(root, s.poles())
	for i := range s.queue {
		s.root[s.queue[i].pin] = true
	}
	for len(s.pending) > 0 {
		next := s.pending[0]
		s.pending = s.pending[1:]
		rating, _ := ratingOf(next.edge.Part)
		g := &guarded{part: next.edge.Part, rating: rating}
		s.guarded = append(s.guarded, g)
		s.walk(g, []model.PinID{next.pin})
	}
	order := map[*model.Part]int{}
	for i, part := range p.Netlist.Parts {
		order[part] = i
	}
	slices.SortStableFunc(s.guarded, func(a, b *guarded) int { return cmp.Compare(order[a.part], order[b.part]) })
	return s.guarded
}

// poles are the live poles of batteries; of all sources where there is no battery; the rails 30 where there is no source.
func (s *survey) poles() []model.PinID {
	var batteries, all []model.PinID
	for _, part := range s.Netlist.Parts {
		for _, src := range part.Inside.Sources {
			live, _ := s.Poles(src)
			if !s.IsLive(live) {
				continue
			}
			all = append(all, live)
			if part.Kind.Name == "battery" {
				batteries = append(batteries, live)
			}
		}
	}
	if len(batteries) > 0 {
		return batteries
	}
	if len(all) > 0 {
		return all
	}
	for _, l := range s.Netlist.Links {
		if l.Rail.Text == "30" && len(l.Joins) > 0 && l.Joins[0].ID != model.NoPin {
			all = append(all, l.Joins[0].ID)
		}
	}
	return all
}

func (s *survey) walk(g *guarded, from []model.PinID) {
	s.walks++
	s.queue = s.queue[:0]
	for _, pin := range from {
		s.visit(pin, nil, -1)
	}
	met := map[*graph.Edge]bool{}
	first := len(s.pending)
	for at := 0; at < len(s.queue); at++ {
		pin := s.queue[at].pin
		s.module(g, pin)
		for _, id := range s.Graph.At(pin) {
			s.step(g, at, s.Graph.Edge(id), met)
		}
	}
	kept := s.pending[:first]
	for _, n := range s.pending[first:] { // a fuse whose far side this walk came to by another way is a bypassed one
		if s.seen[n.pin] == s.walks || s.root[n.pin] || s.entered[n.edge] != nil {
			continue
		}
		s.entered[n.edge] = g
		g.next = append(g.next, n.edge.Part)
		kept = append(kept, n)
	}
	s.pending = kept
}

func (s *survey) visit(pin model.PinID, over *graph.Edge, from int) {
	if s.seen[pin] == s.walks || s.root[pin] {
		return
	}
	s.seen[pin] = s.walks
	s.queue = append(s.queue, visit{pin, over, from})
}

// module notes a terminal by which a module takes its supply: what it takes is no load of the graph.
func (s *survey) module(g *guarded, pin model.PinID) {
	p := s.Netlist.Pin(pin)
	if device := p.Owner.Device(); device != nil && device.Kind.Symbol == "module" && p.Role == catalog.Supply {
		g.takers = append(g.takers, taker{part: device, pin: pin})
	}
}

// step goes over one edge, unless it limits the current by itself, leads to ground, or is the next fuse.
func (s *survey) step(g *guarded, at int, e *graph.Edge, met map[*graph.Edge]bool) {
	pin := s.queue[at].pin
	other := e.Other(pin)
	switch e.Kind {
	case graph.Protect:
		s.pending = append(s.pending, start{e, other})
		return
	case graph.Load:
		if !met[e] {
			met[e] = true
			g.takers = append(g.takers, taker{part: e.Part, load: &e.Part.Inside.Loads[e.Index], edge: e, pin: model.NoPin})
		}
		return
	case graph.Coil:
		if !met[e] {
			met[e] = true
			g.takers = append(g.takers, taker{part: e.Part, edge: e, pin: model.NoPin})
		}
		return
	case graph.Source:
		if v := e.Part.Value("output"); e.Index == 0 && v != nil && v.Quantity.Value > 0 {
			g.generators = append(g.generators, e.Part)
		}
		return
	case graph.Resistor, graph.Bolted:
		return
	case graph.Diode:
		if (e.A == pin) == s.Netlist.Harness.PositiveGround {
			return
		}
	case graph.Open, graph.Closed, graph.Position:
		if !s.agrees(at, e) {
			return
		}
	}
	if s.Grounded(other) || s.root[other] {
		return
	}
	if e.Wire != nil && !met[e] {
		met[e] = true
		g.wires = append(g.wires, e.Wire)
	}
	if e.Kind.Contact() {
		s.visit(other, e, at)
	} else {
		s.visit(other, nil, at)
	}
}

// agrees reports whether a contact can be closed together with those of its part on the way to a visit.
func (s *survey) agrees(at int, e *graph.Edge) bool {
	for ; at >= 0; at = s.queue[at].from {
		o := s.queue[at].over
		if o == nil || o.Part != e.Part {
			continue
		}
		if e.Kind == graph.Position && o.Kind == graph.Position {
			return closesIn(e.Part, o.Position, e) || closesIn(e.Part, e.Position, o)
		}
		return e.Kind == o.Kind
	}
	return true
}

// closesIn reports whether a position of a switch joins the two terminals of a contact.
func closesIn(part *model.Part, position int, e *graph.Edge) bool {
	return slices.ContainsFunc(part.Inside.Positions[position].Joins, func(group []model.PinID) bool {
		return slices.Contains(group, e.A) && slices.Contains(group, e.B)
	})
}
