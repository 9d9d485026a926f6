package graph

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/model"
)

// Flags of an island: what it is joined to without a consumer in between.
const (
	onPlus  uint8 = 1 << iota // the plus terminal of a source
	onMinus                   // the minus terminal of a source
)

// islands groups the terminals that are joined whatever the switches do. Contacts, coils and diodes join islands, so the
// work of a key position does not grow with the number of wires.
type islands struct {
	of       []int32
	count    int
	flags    []uint8
	contacts []*Edge // Open, Closed and Position edges, part by part
	first    []int   // where in contacts each part of parts begins; one longer than parts
	parts    []*model.Part
	coils    []*Edge
	diodes   []*Edge
}

// Islands are found once a graph. The flags are those of sources and bodies: a body counts as grounded, so that a part
// of a harness without its battery can be judged too.
func (g *Graph) islandsOf() *islands {
	is := &islands{of: make([]int32, len(g.Netlist.Pins))}
	sets := NewSets(len(g.Netlist.Pins))
	for i := range g.Edges {
		e := &g.Edges[i]
		switch {
		case e.Kind.Conducts():
			sets.Join(int32(e.A), int32(e.B))
		case e.Kind.Contact():
			if n := len(is.parts); n == 0 || is.parts[n-1] != e.Part {
				is.parts, is.first = append(is.parts, e.Part), append(is.first, len(is.contacts))
			}
			is.contacts = append(is.contacts, e)
		case e.Kind == Coil:
			is.coils = append(is.coils, e)
		case e.Kind == Diode:
			is.diodes = append(is.diodes, e)
		}
	}
	is.first = append(is.first, len(is.contacts))
	number := make([]int32, len(is.of))
	for pin := range is.of {
		root := sets.Find(int32(pin))
		if number[root] == 0 {
			is.count++
			number[root] = int32(is.count)
		}
		is.of[pin] = number[root] - 1
	}
	is.flags = make([]uint8, is.count)
	series := g.SeriesPoles(func(pin model.PinID) int32 { return is.of[pin] })
	for i := range g.Edges {
		e := &g.Edges[i]
		if e.Kind != Source {
			continue
		}
		if !series[e.A] {
			is.flags[is.of[e.A]] |= onPlus
		}
		if !series[e.B] {
			is.flags[is.of[e.B]] |= onMinus
		}
	}
	for _, b := range g.Netlist.Bodies {
		is.flags[is.of[b.Pin]] |= g.groundFlag()
	}
	return is
}

// SeriesPoles returns the terminals of sources that lie between two sources in series, such as the two batteries of a 24 V
// vehicle: neither supply nor ground. There plus of one source is joined to minus of another, to no body, and no source is
// joined to itself (that is a short). The function set tells which terminals conductors and fuses join.
func (g *Graph) SeriesPoles(set func(model.PinID) int32) map[model.PinID]bool {
	var sources []*Edge
	for i := range g.Edges {
		if e := &g.Edges[i]; e.Kind == Source {
			sources = append(sources, e)
		}
	}
	plus, minus, other := map[int32]bool{}, map[int32]bool{}, map[int32]bool{}
	for _, b := range g.Netlist.Bodies {
		other[set(b.Pin)] = true
	}
	for _, e := range sources {
		plus[set(e.A)], minus[set(e.B)] = true, true
		if set(e.A) == set(e.B) {
			other[set(e.A)] = true
		}
	}
	between := map[model.PinID]bool{}
	for _, e := range sources {
		for _, pin := range [...]model.PinID{e.A, e.B} {
			if at := set(pin); plus[at] && minus[at] && !other[at] {
				between[pin] = true
			}
		}
	}
	return between
}

func (g *Graph) groundFlag() uint8 {
	if g.Netlist.Harness.PositiveGround {
		return onPlus
	}
	return onMinus
}

// A Condition is a harness in one key position: which contacts are closed, what is live, what is grounded. Consumers do
// not pass anything on here; what flows through them is the matter of the circuit, not of the graph.
type Condition struct {
	State    *model.State  // nil when everything rests
	Chatters []*model.Part // relays that found no position to stay in

	g        *Graph
	is       *islands
	position map[*model.Part]int
	engaged  map[*model.Part]bool
	driven   []uint8 // flags that driven outputs add, by island
	sets     *Sets
	extra    []uint8 // flags that come through diodes, by representative
}

// Conditions returns the harness in each of its states, in the order of the file; one in which everything rests when the
// file names no state.
func (g *Graph) Conditions() []*Condition {
	is := g.islandsOf()
	if len(g.Netlist.States) == 0 {
		return []*Condition{g.condition(is, nil)}
	}
	out := make([]*Condition, len(g.Netlist.States))
	for i, s := range g.Netlist.States {
		out[i] = g.condition(is, s)
	}
	return out
}

func (g *Graph) condition(is *islands, state *model.State) *Condition {
	c := &Condition{State: state, g: g, is: is, position: map[*model.Part]int{}, engaged: map[*model.Part]bool{}, driven: make([]uint8, is.count)}
	if state != nil {
		for _, s := range state.Switches {
			if s.Part != nil && s.Position >= 0 {
				c.position[s.Part] = s.Position
			}
		}
		for _, r := range state.Driven {
			c.drive(r.ID)
		}
		for _, r := range state.Pulled {
			if r.ID != model.NoPin && c.g.Netlist.Pin(r.ID).Role == catalog.HalfBridge {
				c.driven[c.is.of[r.ID]] |= c.g.groundFlag()
			}
		}
	}
	c.settle()
	return c
}

// drive makes an output carry what it switches: a sink ground, a driver and a half bridge supply.
func (c *Condition) drive(pin model.PinID) {
	if pin == model.NoPin {
		return
	}
	ground := c.g.groundFlag()
	switch c.g.Netlist.Pin(pin).Role {
	case catalog.Sink:
		c.driven[c.is.of[pin]] |= ground
	case catalog.Driver, catalog.HalfBridge:
		c.driven[c.is.of[pin]] |= (onPlus | onMinus) &^ ground
	}
}

// settle lets the relays pull in and drop out until none changes any more. A relay that still changes after as many
// rounds as there are coils works against itself: it is noted as chattering and left as it stands.
func (c *Condition) settle() {
	for range len(c.is.coils) + 2 {
		c.join()
		c.Chatters = nil
		for _, coil := range c.is.coils {
			if pulls := c.across(coil.A, coil.B); pulls != c.engaged[coil.Part] {
				c.engaged[coil.Part] = pulls
				c.Chatters = append(c.Chatters, coil.Part)
			}
		}
		if len(c.Chatters) == 0 {
			return
		}
	}
	c.join()
}

// across reports whether two terminals lie between supply and ground, either way round.
func (c *Condition) across(a, b model.PinID) bool {
	fa, fb := c.flags(a), c.flags(b)
	return fa&onPlus != 0 && fb&onMinus != 0 && fa&fb == 0 || fa&onMinus != 0 && fb&onPlus != 0 && fa&fb == 0
}

// join unites the islands over the closed contacts and leads flags on through diodes.
func (c *Condition) join() {
	c.sets = c.fresh()
	for _, e := range c.is.contacts {
		if c.Closed(e) {
			c.sets.Join(c.is.of[e.A], c.is.of[e.B])
		}
	}
	c.extra = make([]uint8, c.is.count)
	for changed := len(c.is.diodes) > 0; changed; {
		changed = false
		for _, d := range c.is.diodes {
			a, k := c.sets.Find(c.is.of[d.A]), c.sets.Find(c.is.of[d.B])
			plus, minus := (c.sets.flags[a]|c.extra[a])&onPlus, (c.sets.flags[k]|c.extra[k])&onMinus
			if c.extra[k]|plus != c.extra[k] || c.extra[a]|minus != c.extra[a] {
				c.extra[k] |= plus
				c.extra[a] |= minus
				changed = true
			}
		}
	}
}

// fresh returns sets of single islands with the flags of sources, bodies and driven outputs.
func (c *Condition) fresh() *Sets {
	s := NewSets(c.is.count)
	for i := range s.flags {
		s.flags[i] = c.is.flags[i] | c.driven[i]
	}
	return s
}

func (c *Condition) flags(pin model.PinID) uint8 {
	root := c.sets.Find(c.is.of[pin])
	return c.sets.flags[root] | c.extra[root]
}

// Closed reports whether the edge carries current in this condition without a consumer.
func (c *Condition) Closed(e *Edge) bool {
	switch e.Kind {
	case Open:
		return c.actuated(e.Part)
	case Closed:
		return !c.actuated(e.Part)
	case Position:
		return c.PositionOf(e.Part) == e.Position
	}
	return e.Kind.Conducts()
}

// actuated reports whether the coil of a relay pulls, or the button of a switch is pressed.
func (c *Condition) actuated(p *model.Part) bool {
	if len(p.Inside.Coils) > 0 {
		return c.engaged[p]
	}
	return c.position[p] == 1
}

// PositionOf returns the position that a switch stands in.
func (c *Condition) PositionOf(p *model.Part) int {
	if at, set := c.position[p]; set {
		return at
	}
	return p.Inside.Rest
}

// Name returns the state's name, or "rest".
func (c *Condition) Name() string {
	if c.State == nil {
		return "rest"
	}
	return c.State.Name.Text
}

// Live reports whether the terminal is joined to the side of a source that is not ground.
func (c *Condition) Live(pin model.PinID) bool {
	return c.flags(pin)&(onPlus|onMinus)&^c.g.groundFlag() != 0
}

// Grounded reports whether the terminal is joined to ground.
func (c *Condition) Grounded(pin model.PinID) bool { return c.flags(pin)&c.g.groundFlag() != 0 }

// Shorted reports whether the terminal joins supply and ground without a consumer.
func (c *Condition) Shorted(pin model.PinID) bool { return c.flags(pin) == onPlus|onMinus }

// A Toggle is one part whose contacts stand differently than in the condition: another switch position, a relay that
// changes over.
type Toggle struct {
	Part     *model.Part
	Position int  // of a switch with positions; -1 for a relay or a button
	Pressed  bool // of a relay or a button: the contacts are actuated
}

// Closed reports whether the edge carries current when the part is toggled and all else stands as in the condition.
func (c *Condition) ClosedWith(t Toggle, e *Edge) bool {
	if e.Part != t.Part || !e.Kind.Contact() {
		return c.Closed(e)
	}
	switch e.Kind {
	case Open:
		return t.Pressed
	case Closed:
		return !t.Pressed
	}
	return e.Position == t.Position
}

// EachShort calls found for every toggle of a single part that joins supply and ground without a consumer, in the order
// of the file, with a terminal that lies on the short. Shorts that stand without a toggle are not its matter.
//
// Each part must be judged without its own present contacts, and joins cannot be removed from a union-find structure;
// but the last ones can be taken back. So the parts are halved again and again, each time joining the contacts of the
// half that is not looked into: every contact is joined O(log parts) times instead of once for each part.
func (c *Condition) EachShort(found func(t Toggle, on model.PinID)) {
	if len(c.is.parts) > 0 {
		c.without(0, len(c.is.parts), c.fresh(), found)
	}
}

func (c *Condition) without(low, high int, s *Sets, found func(Toggle, model.PinID)) {
	if high-low == 1 {
		c.toggles(low, s, found)
		return
	}
	middle := (low + high) / 2
	mark := s.Mark()
	c.joinParts(middle, high, s)
	c.without(low, middle, s, found)
	s.Undo(mark)
	c.joinParts(low, middle, s)
	c.without(middle, high, s, found)
	s.Undo(mark)
}

func (c *Condition) joinParts(low, high int, s *Sets) {
	for _, e := range c.is.contacts[c.is.first[low]:c.is.first[high]] {
		if c.Closed(e) {
			s.Join(c.is.of[e.A], c.is.of[e.B])
		}
	}
}

// toggles tries every other position of one part on sets that hold all other parts' contacts.
func (c *Condition) toggles(index int, s *Sets, found func(Toggle, model.PinID)) {
	part := c.is.parts[index]
	own := c.is.contacts[c.is.first[index]:c.is.first[index+1]]
	try := func(t Toggle) {
		mark := s.Mark()
		for _, e := range own {
			if c.ClosedWith(t, e) {
				before := s.Flags(c.is.of[e.A]) == onPlus|onMinus || s.Flags(c.is.of[e.B]) == onPlus|onMinus
				s.Join(c.is.of[e.A], c.is.of[e.B])
				if !before && s.Flags(c.is.of[e.A]) == onPlus|onMinus {
					found(t, e.A)
					break
				}
			}
		}
		s.Undo(mark)
	}
	if len(part.Inside.Positions) > 0 {
		for i := range part.Inside.Positions {
			if i != c.PositionOf(part) {
				try(Toggle{Part: part, Position: i})
			}
		}
		return
	}
	try(Toggle{Part: part, Position: -1, Pressed: !c.actuated(part)})
}

// Engaged reports whether a relay pulls in this condition, by what its coil is joined to.
func (c *Condition) Engaged(p *model.Part) bool { return c.engaged[p] }
