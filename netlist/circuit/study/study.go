package study

import (
	"math"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
)

// A Study is a harness made ready for questions. It is not for use from several goroutines at once.
type Study struct {
	circuit  *circuit.Circuit
	graph    *graph.Graph
	netlist  *model.Netlist
	routes   *route.Routes
	conds    []*graph.Condition
	elements []element
	rails    []rail
	modules  []module
	plus     []model.PinID // poles of batteries and generators, and the bodies on their side
	minus    []model.PinID
	taps     []model.PinID                 // poles of sources that lie between two in series
	inner    map[*model.Part][]model.PinID // minor poles of sources, as the exciter terminal of a generator
	edgeAt   map[*graph.Edge]int           // index of the branch of an edge
	assumed  map[*model.Part]bool          // parts with a number that is guessed or assumed
	contacts map[*model.Part][]contact
	groundAt map[*model.Place]touched    // see groundNear
	touching [][]int                     // branches at each terminal; made when somebody asks
	inlet    map[*graph.Edge]model.PinID // the end of a fuse at which its current is meant to come in: see oneWay
	bases    []*base
}

// A contact of a relay. make: it closes when the coil pulls.
type contact struct {
	branch int
	make   bool
}

// heaterAmps is from where a load of a sensor counts as something that works, such as the heater of an oxygen sensor.
const heaterAmps = 0.25

// sort says what an element is, for its severity.
type sort uint8

const (
	plainLoad sort = iota + 1
	motorLoad
	starterLoad
	coilLoad
	moduleLoad
)

// An element is something that works when it gets current.
type element struct {
	name   string // "LRL Stop"
	part   *model.Part
	sort   sort
	a, b   model.PinID
	branch int     // -1 for a supply pin of a module that states no current
	rated  float64 // ampere at rated voltage; 0 when unknown
}

// A rail is a bar or a joint that feeds several circuits.
type rail struct {
	name string
	pin  model.PinID
}

// A module and the terminals that its working depends on.
type module struct {
	part                     *model.Part
	grounds, supplies, outer []model.PinID // outer: returns and screens, which are ground inside
	sinks, drivers, halves   []model.PinID
}

// New makes a study of a harness. The circuit that it solves tells of numbers that are missing or assumed: see Circuit.
func New(g *graph.Graph, routes *route.Routes) *Study { return Of(circuit.New(g, routes), routes) }

// Of is New for a circuit that is there already.
func Of(c *circuit.Circuit, routes *route.Routes) *Study {
	g := c.Graph
	s := &Study{circuit: c, graph: g, netlist: g.Netlist, routes: routes, conds: g.Conditions(),
		inner: map[*model.Part][]model.PinID{}, edgeAt: map[*graph.Edge]int{}, assumed: map[*model.Part]bool{}, contacts: map[*model.Part][]contact{}, groundAt: map[*model.Place]touched{}}
	for i := range s.circuit.Branches {
		if e := s.circuit.Branches[i].Edge; e != nil {
			s.edgeAt[e] = i
			if (e.Kind == graph.Open || e.Kind == graph.Closed) && len(e.Part.Inside.Coils) > 0 {
				s.contacts[e.Part] = append(s.contacts[e.Part], contact{i, e.Kind == graph.Open})
			}
		}
	}
	for _, a := range s.circuit.Assumptions {
		s.assumed[a.Part] = true
	}
	for _, p := range s.netlist.Parts {
		if p.KnownFrom.Text == "guess" {
			s.assumed[p] = true
		}
		if p.Kind.Symbol == "module" {
			s.modules = append(s.modules, s.moduleOf(p))
		}
	}
	s.findPoles()
	s.findElements()
	s.findRails()
	s.inlet = s.oneWay()
	return s
}

// Circuit returns the circuit that is studied, for what it lacks and assumes.
func (s *Study) Circuit() *circuit.Circuit { return s.circuit }

func (s *Study) moduleOf(p *model.Part) module {
	m := module{part: p}
	for _, id := range p.Terminals() {
		if !s.graph.Reached(id) {
			continue
		}
		switch s.netlist.Pin(id).Role {
		case catalog.Ground:
			m.grounds = append(m.grounds, id)
		case catalog.Supply:
			m.supplies = append(m.supplies, id)
		case catalog.Return, catalog.Screen:
			m.outer = append(m.outer, id)
		case catalog.Sink:
			m.sinks = append(m.sinks, id)
		case catalog.Driver:
			m.drivers = append(m.drivers, id)
		case catalog.HalfBridge:
			m.halves = append(m.halves, id)
		}
	}
	return m
}

// findPoles sorts the terminals of sources: the first source of a part is its main one and feeds properly; others, such as the
// exciter terminal of a generator, are meant for one lamp only. Points between batteries in series count to the live side: what
// hangs on such a tap is fed.
func (s *Study) findPoles() {
	sets := graph.NewSets(len(s.netlist.Pins))
	for i := range s.graph.Edges {
		if e := &s.graph.Edges[i]; e.Kind.Conducts() {
			sets.Join(int32(e.A), int32(e.B))
		}
	}
	between := s.graph.SeriesPoles(func(pin model.PinID) int32 { return sets.Find(int32(pin)) })
	for i := range s.graph.Edges {
		e := &s.graph.Edges[i]
		switch {
		case e.Kind != graph.Source:
			continue
		case e.Index > 0:
			s.inner[e.Part] = append(s.inner[e.Part], e.A)
			continue
		}
		positive := s.netlist.Harness.PositiveGround
		for _, pin := range [...]model.PinID{e.A, e.B} {
			if between[pin] {
				s.taps = append(s.taps, pin)
			}
		}
		if !between[e.A] || !positive {
			s.plus = append(s.plus, e.A)
		}
		if !between[e.B] || positive {
			s.minus = append(s.minus, e.B)
		}
	}
	for _, b := range s.netlist.Bodies {
		if s.netlist.Harness.PositiveGround {
			s.plus = append(s.plus, b.Pin)
		} else {
			s.minus = append(s.minus, b.Pin)
		}
	}
}

func (s *Study) findElements() {
	supplied := map[model.PinID]bool{}
	for i := range s.circuit.Branches {
		b := &s.circuit.Branches[i]
		e := element{part: b.Part, a: b.A, b: b.B, branch: i, sort: plainLoad, rated: s.circuit.RatedAmps(b)}
		switch {
		case b.IsCoil():
			e.sort, e.name = coilLoad, b.Part.Name.Text+" coil"
		case b.IsMotorOfStarter():
			e.sort, e.name = starterLoad, b.Part.Name.Text+" motor"
		case !b.IsConsumer():
			continue
		case b.Edge == nil:
			e.sort, e.name = s.sortOf(b.Part), s.netlist.Pin(b.A).String()+" of "+b.Part.Name.Text
			if b.Part.Kind.Symbol == "module" && s.netlist.Pin(b.A).Role != catalog.Supply {
				continue // an input takes what it is given and does nothing by itself
			}
			supplied[b.A] = true
		default:
			e.sort, e.name = s.sortOf(b.Part), loadName(b)
			if b.Part.Kind.Symbol == "sensor" && e.rated < heaterAmps {
				continue // what a sensor tells is not the matter of this study
			}
		}
		s.elements = append(s.elements, e)
	}
	for _, m := range s.modules {
		for _, id := range m.supplies {
			if !supplied[id] && len(m.grounds) > 0 {
				s.elements = append(s.elements, element{name: s.netlist.Pin(id).String() + " of " + m.part.Name.Text, part: m.part, sort: s.sortOf(m.part), a: id, b: m.grounds[0], branch: -1})
			}
		}
	}
}

func (s *Study) sortOf(p *model.Part) sort {
	switch {
	case p.Kind.Name == "starter":
		return starterLoad
	case p.Kind.Name == "motor":
		return motorLoad
	case p.Kind.Name == "module": // instruments are drawn as one, but a glimmer in them endangers nobody
		return moduleLoad
	}
	return plainLoad
}

func loadName(b *circuit.Branch) string {
	name := b.Part.Name.Text
	switch {
	case b.Load.Title.IsSet():
		return name + " " + b.Load.Title.Text
	case b.Part.Title.IsSet():
		return name + " " + b.Part.Title.Text
	}
	return name
}

// findRails takes bars that say that they are rails, and otherwise every net from which two fuses or more are fed.
func (s *Study) findRails() {
	seen := map[graph.NetID]bool{}
	add := func(name string, pin model.PinID) {
		if net := s.graph.NetOf(pin); !seen[net.ID] {
			seen[net.ID] = true
			s.rails = append(s.rails, rail{name, pin})
		}
	}
	for _, l := range s.netlist.Links {
		if l.Rail.IsSet() && len(l.Joins) > 0 && l.Joins[0].ID != model.NoPin {
			add("rail "+l.Rail.Text+" ("+l.Name.Text+")", l.Joins[0].ID)
		}
	}
	fed := map[graph.NetID]int{}
	for i := range s.graph.Edges {
		if e := &s.graph.Edges[i]; e.Kind == graph.Protect {
			net := s.graph.NetOf(e.A)
			if fed[net.ID]++; fed[net.ID] == 2 {
				add("rail "+net.Name, e.A)
			}
		}
	}
}

// across is the voltage of a solution from a to b; 0 where one of them floats.
func across(sol *circuit.Solution, a, b model.PinID) float64 {
	if v := sol.Volts[a] - sol.Volts[b]; !math.IsNaN(v) {
		return v
	}
	return 0
}
