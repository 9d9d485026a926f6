package rules

import (
	"slices"
	"sync"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/edit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/source"
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
	solved  solved
	edits   func() *edit.Document
}

// A mark says something about a terminal that several rules ask for.
type mark uint8

const (
	groundMark mark = 1 << iota // on metal that is ground: a ground point, a bolted case, a body, the battery's ground post
	liveMark                    // the live side of a source
	screenMark                  // a cable's screen is tied here
)

func newFacts(g *graph.Graph, state string) *Facts {
	n := g.Netlist
	f := &Facts{Graph: g, Netlist: n, Conditions: inState(g.Conditions(), state), Routes: route.New(n), marks: make([]mark, len(n.Pins)), classes: map[string]string{}}
	for _, net := range n.Nets {
		f.classes[net.Name.Text] = net.Class.Text
	}
	f.solve(state)
	f.edits = sync.OnceValue(func() *edit.Document { return edit.Read(n.Files) })
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
		if p.Kind.Name == GroundPoint {
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

// GroundPoint is the kind of the bolts that wires are grounded at.
const GroundPoint = "ground point"

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
	poles := f.poles()
	for i := range f.Netlist.Pins {
		// The minus post of a battery has the role ground from its kind; whether it is ground is a matter of polarity and of
		// what stands in series, which the marks know.
		if f.marks[i]&groundMark != 0 || f.Netlist.Pins[i].Role == catalog.Ground && !poles[model.PinID(i)] {
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

// poles are the terminals of all sources.
func (f *Facts) poles() map[model.PinID]bool {
	poles := map[model.PinID]bool{}
	for _, p := range f.Netlist.Parts {
		for _, s := range p.Inside.Sources {
			poles[s.Plus], poles[s.Minus] = true, true
		}
	}
	return poles
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

// Edits is the text of the harness, for fixes: in it keys can be found and set.
func (f *Facts) Edits() *edit.Document { return f.edits() }

// SetKey is the fix that gives a key of `[section] name` a value; none where the text is written in a way that cannot take
// it. After are the keys behind which a new one may stand.
func (f *Facts) SetKey(title string, safe bool, section, name, key, value string, after ...string) []diag.Fix {
	e, err := f.Edits().Set(section, name, key, value, after...)
	if err != nil {
		return nil // the help says the same in words
	}
	return []diag.Fix{{Title: title, Safe: safe, Edits: []source.Edit{e}}}
}

// Fed tells terminals apart by what metal and fuses join whatever the switches do: joined ones have one number.
func (f *Facts) Fed(pin model.PinID) int32 { return f.fed.Find(int32(pin)) }

// Solid tells terminals apart by what metal alone joins; a fuse parts them.
func (f *Facts) Solid(pin model.PinID) int32 { return f.solid.Find(int32(pin)) }

// ClassOf returns the class that the file gives a net, or an empty text.
func (f *Facts) ClassOf(net model.Name) string { return f.classes[net.Text] }

// HasGround reports whether the file has anything that is ground; without it nothing can be held against ground.
func (f *Facts) HasGround() bool { return slices.Contains(f.ground, true) }

// HasLive reports whether the file has anything that is always live.
func (f *Facts) HasLive() bool { return slices.Contains(f.live, true) }
