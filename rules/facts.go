package rules

import (
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
)

// Facts are what several rules ask of a harness, worked out once.
type Facts struct {
	Graph      *graph.Graph
	Netlist    *model.Netlist
	Conditions []*graph.Condition // one for each state of the file, or one at rest
	Routes     *route.Routes

	marks   []mark            // by terminal
	solid   *graph.Sets       // terminals joined by metal alone: conductors, joints inside parts, bolts; no fuse
	fed     *graph.Sets       // terminals joined by metal or fuses, whatever the switches do
	ground  []bool            // by representative in solid: ground is in it
	live    []bool            // by representative in fed: the live side of a source, or a rail 30, is in it
	classes map[string]string // of the nets under [net]
}

// A mark says something about a terminal that several rules ask for.
type mark uint8

const (
	groundMark mark = 1 << iota // on metal that is ground: a ground point, a bolted case, a body, the battery's ground post
	liveMark                    // the live side of a source
	screenMark                  // a cable's screen is tied here
)

func newFacts(g *graph.Graph) *Facts {
	n := g.Netlist
	f := &Facts{Graph: g, Netlist: n, Conditions: g.Conditions(), Routes: route.New(n), marks: make([]mark, len(n.Pins)), classes: map[string]string{}}
	for _, net := range n.Nets {
		f.classes[net.Name.Text] = net.Class.Text
	}
	f.join()
	f.mark()
	f.spread()
	return f
}

// mark finds the terminals that are ground, live, or where a screen is tied.
func (f *Facts) mark() {
	n := f.Netlist
	for _, b := range n.Bodies {
		f.marks[b.Pin] |= groundMark
	}
	for _, p := range n.Parts {
		if p.Kind.Name == groundPoint {
			for _, id := range p.Owner.Pins {
				f.marks[id] |= groundMark
			}
		} else if id, ok := p.Owner.Pin(model.CasePin); ok && p.Body != nil {
			f.marks[id] |= groundMark
		}
	}
	series := f.Graph.SeriesPoles(func(id model.PinID) int32 { return f.fed.Find(int32(id)) })
	for _, p := range n.Parts {
		for _, s := range p.Inside.Sources {
			live, ground := f.Poles(s)
			if !series[live] {
				f.marks[live] |= liveMark
			}
			if !series[ground] {
				f.marks[ground] |= groundMark
			}
		}
	}
	for _, c := range n.Cables {
		for _, r := range c.Screen {
			if r.ID != model.NoPin {
				f.marks[r.ID] |= screenMark
			}
		}
	}
}

// groundPoint is the kind of the bolts that wires are grounded at.
const groundPoint = "ground point"

// Poles returns the live and the ground terminal of a source. With the plus post bolted to the metal, minus is live.
func (f *Facts) Poles(s model.Source) (live, ground model.PinID) {
	if f.Netlist.Harness.PositiveGround {
		return s.Minus, s.Plus
	}
	return s.Plus, s.Minus
}

// join unites what metal, and what metal or fuses, hold together.
func (f *Facts) join() {
	pins := len(f.Netlist.Pins)
	f.solid, f.fed = graph.NewSets(pins), graph.NewSets(pins)
	for i := range f.Graph.Edges {
		e := &f.Graph.Edges[i]
		if !e.Kind.Conducts() {
			continue
		}
		f.fed.Join(int32(e.A), int32(e.B))
		if e.Kind != graph.Protect {
			f.solid.Join(int32(e.A), int32(e.B))
		}
	}
}

// spread says of each set of joined terminals whether ground, or something always live, is in it.
func (f *Facts) spread() {
	f.ground, f.live = make([]bool, len(f.Netlist.Pins)), make([]bool, len(f.Netlist.Pins))
	for i := range f.Netlist.Pins {
		if f.marks[i]&groundMark != 0 || f.Netlist.Pins[i].Role == catalog.Ground {
			f.ground[f.solid.Find(int32(i))] = true
		}
		if f.marks[i]&liveMark != 0 {
			f.live[f.fed.Find(int32(i))] = true
		}
	}
	for _, l := range f.Netlist.Links {
		if l.Rail.Text == permanentRail && len(l.Joins) > 0 && l.Joins[0].ID != model.NoPin {
			f.live[f.fed.Find(int32(l.Joins[0].ID))] = true
		}
	}
}

// permanentRail is the DIN 72552 name of the supply that comes from the battery whatever the key does. A harness that
// leaves the battery to another file still says with it what is always live.
const permanentRail = "30"

// Grounded reports whether conductors alone lead from the terminal to ground, or to a terminal that is meant as ground.
func (f *Facts) Grounded(pin model.PinID) bool { return f.ground[f.solid.Find(int32(pin))] }

// Permanent reports whether conductors and fuses alone lead from the terminal to the live side of a source.
func (f *Facts) Permanent(pin model.PinID) bool { return f.live[f.fed.Find(int32(pin))] }

// IsGround reports whether the terminal lies on metal that is ground.
func (f *Facts) IsGround(pin model.PinID) bool { return f.marks[pin]&groundMark != 0 }

// IsLive reports whether the terminal is the live side of a source.
func (f *Facts) IsLive(pin model.PinID) bool { return f.marks[pin]&liveMark != 0 }

// HasScreen reports whether a cable's screen is tied at the terminal.
func (f *Facts) HasScreen(pin model.PinID) bool { return f.marks[pin]&screenMark != 0 }

// A meaning is what a terminal or a wire is meant to be, as far as the file shows.
type meaning uint8

const (
	nothing    meaning = iota // the file does not show it
	named                     // a net with a name, and no more is said of it
	meansLive                 // supply
	meansEarth                // power ground
	meansSense                // sensor ground
	meansRef                  // sensor supply
)

var roleMeanings = map[catalog.Role]meaning{
	catalog.Supply: meansLive, catalog.SupplyOut: meansLive, catalog.Cranking: meansLive, catalog.Driver: meansLive,
	catalog.Ground: meansEarth, catalog.Sink: meansEarth, catalog.Return: meansSense, catalog.Reference: meansRef,
}

var classMeanings = map[string]meaning{
	"supply": meansLive, "ground": meansEarth, "return": meansSense, "reference": meansRef, "signal": named,
}

// pinMeans reads a terminal's meaning from what it is on, its role and its stated net, in this order.
func (f *Facts) pinMeans(pin model.PinID) meaning {
	p := f.Netlist.Pin(pin)
	switch {
	case f.IsGround(pin):
		return meansEarth
	case f.IsLive(pin):
		return meansLive
	}
	if m := roleMeanings[p.Role]; m != nothing {
		return m
	}
	return f.netMeans(p.Net)
}

func (f *Facts) netMeans(net model.Name) meaning {
	if m := classMeanings[f.classes[net.Text]]; m != nothing {
		return m
	}
	if net.IsSet() {
		return named
	}
	return nothing
}

// wireMeans reads a wire's meaning from the class of its stated net, its colour if that is reserved, or its name.
func (f *Facts) wireMeans(w *model.Wire) meaning {
	m := f.netMeans(w.Net)
	if m != nothing && m != named {
		return m
	}
	switch {
	case w.Cable != nil: // the colours of cores are the cable's, not the plan's
	case reserves(f.Netlist.Colors.Ground, w.Color.Base):
		return meansEarth
	case reserves(f.Netlist.Colors.Permanent, w.Color.Base):
		return meansLive
	}
	return m
}

func reserves(plan []model.Name, base string) bool {
	return base != "" && slices.ContainsFunc(plan, func(n model.Name) bool { return n.Text == base })
}

// A side tells which of two things a meaning speaks for: above zero for the one that a path begins at, below for the one
// that it ends at, zero for neither.
type side func(meaning) int

// supplyOrGround parts supply from ground: a name of its own is no ground.
func supplyOrGround(m meaning) int {
	switch m {
	case meansLive, named, meansRef:
		return +1
	case meansEarth, meansSense:
		return -1
	}
	return 0
}

// senseOrGround parts sensor ground from power ground.
func senseOrGround(m meaning) int {
	switch m {
	case meansSense:
		return +1
	case meansEarth:
		return -1
	}
	return 0
}

// supplyOrReference parts battery voltage from a sensor supply.
func supplyOrReference(m meaning) int {
	switch m {
	case meansLive:
		return +1
	case meansRef:
		return -1
	}
	return 0
}

// seam returns the index of the hop that joins what must not meet: the hop with the path's beginning on its one side and
// the path's end on its other, and the least between it and the terminals that show so. A wire goes before a contact,
// since contacts are seldom what somebody has put in the wrong place. Where nothing shows it, it is the last wire.
func (f *Facts) seam(path []graph.Hop, of side) int {
	best, bestDistance := -1, len(path)*4+1
	for i, h := range path {
		if k := h.Edge.Kind; k != graph.Wire && k != graph.Link && k != graph.Mate && !k.Contact() {
			continue
		}
		before, up := f.meantBefore(path, i, of)
		after, down := f.meantAfter(path, i, of)
		if before <= 0 || after >= 0 {
			continue
		}
		distance := 2 * (up + down)
		if h.Edge.Kind != graph.Wire {
			distance++
		}
		if distance <= bestDistance {
			best, bestDistance = i, distance
		}
	}
	for i := len(path) - 1; best < 0 && i >= 0; i-- {
		if path[i].Edge.Kind == graph.Wire {
			best = i
		}
	}
	if best < 0 {
		best = len(path) - 1
	}
	return best
}

func (f *Facts) meantBefore(path []graph.Hop, i int, of side) (meant, hops int) {
	without := path[i].Edge.Wire
	for j := i; j >= 0; j-- {
		if s := f.meantAt(path[j].From, without, of); s != 0 {
			return s, i - j
		}
		without = nil
	}
	return 0, 0
}

func (f *Facts) meantAfter(path []graph.Hop, i int, of side) (meant, hops int) {
	without := path[i].Edge.Wire
	for j := i; j < len(path); j++ {
		if s := f.meantAt(path[j].To, without, of); s != 0 {
			return s, j - i
		}
		without = nil
	}
	return 0, 0
}

// meantAt asks the terminal, and where that shows nothing the wires at it apart from the one in question. Wires that
// contradict each other show nothing.
func (f *Facts) meantAt(pin model.PinID, without *model.Wire, of side) int {
	if s := of(f.pinMeans(pin)); s != 0 {
		return s
	}
	sum, plain := 0, true
	for _, w := range f.Graph.WiresAt(pin) {
		s := of(f.wireMeans(w))
		if w == without || s == 0 {
			continue
		}
		plain = plain && sum*s >= 0
		sum = s
	}
	if !plain {
		return 0
	}
	return sum
}
