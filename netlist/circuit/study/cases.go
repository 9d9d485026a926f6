package study

import (
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A Kind says what is done in a case.
type Kind string

// The kinds of cases.
const (
	FuseOut      Kind = "fuse out"
	GroundLifted Kind = "ground lifted"
	WireOff      Kind = "wire off"
	Unplugged    Kind = "unplugged"
	SwitchMoved  Kind = "switch moved"
	MotorTurns   Kind = "motor turns"
	RelayOut     Kind = "relay out"
	PartOut      Kind = "part out"
	SpliceParted Kind = "splice parted"
	AsDeclared   Kind = "as declared"
)

// A Case is one thing taken out, lifted, unplugged or moved.
type Case struct {
	Kind Kind
	Name string // designator
	Text string // "F7 out", "G7 lifted (rear frame)"

	edges    []*graph.Edge // that are opened
	branches []int         // of these, those that the circuit has
	part     *model.Part   // of a moved switch, a turning motor, a part that is out
	position int
}

// opens reports whether the case opens an edge.
func (c *Case) opens(e *graph.Edge) bool { return slices.Contains(c.edges, e) }

// opener is what the circuit asks of a case; nil when it opens nothing.
func (c *Case) opener() func(*circuit.Branch) bool {
	whole := c.part != nil && c.Kind == PartOut
	if len(c.edges) == 0 && !whole {
		return nil
	}
	return func(b *circuit.Branch) bool {
		if b.Edge == nil {
			return whole && b.Part == c.part
		}
		return c.opens(b.Edge)
	}
}

func (c *Case) feedOpener() func(*graph.Edge) bool {
	if len(c.edges) == 0 {
		return nil
	}
	return c.opens
}

// finish looks up the branches of the edges that a case opens.
func (s *Study) finish(c Case) Case {
	for _, e := range c.edges {
		if at, ok := s.edgeAt[e]; ok {
			c.branches = append(c.branches, at)
		}
	}
	return c
}

// opening lists all single cases of something that comes off, in the order of the file.
func (s *Study) opening() []Case {
	var cases []Case
	for _, p := range s.netlist.Parts {
		if c, ok := s.fuseCase(p); ok {
			cases = append(cases, c)
		}
		if c, ok := s.groundCase(p); ok {
			cases = append(cases, c)
		}
	}
	for _, w := range s.netlist.Wires {
		if s.isGroundWire(w) {
			cases = append(cases, s.wireCase(w))
		}
	}
	for _, c := range s.netlist.Connectors {
		if c.Mate == nil || c.Mate.Name.Text > c.Name.Text || c.Mate.Mate != c {
			cases = append(cases, s.plugCase(c))
		}
	}
	return slices.DeleteFunc(cases, func(c Case) bool { return len(c.branches) == 0 })
}

// edgesOf returns the edges that a choice takes, in their order.
func (s *Study) edgesOf(take func(*graph.Edge) bool) []*graph.Edge {
	var edges []*graph.Edge
	for i := range s.graph.Edges {
		if e := &s.graph.Edges[i]; take(e) {
			edges = append(edges, e)
		}
	}
	return edges
}

func titled(text, title string) string {
	if title == "" {
		return text
	}
	return text + " (" + title + ")"
}

func (s *Study) fuseCase(p *model.Part) (Case, bool) {
	if len(p.Inside.Protects) == 0 {
		return Case{}, false
	}
	edges := s.edgesOf(func(e *graph.Edge) bool { return e.Kind == graph.Protect && e.Part == p })
	return s.finish(Case{Kind: FuseOut, Name: p.Name.Text, Text: titled(p.Name.Text+" out", p.Title.Text), edges: edges}), true
}

// groundCase loosens the bolt of a ground point: its rings still touch each other, which is how lamps come to feed each other.
func (s *Study) groundCase(p *model.Part) (Case, bool) {
	if p.Kind.Name != "ground point" {
		return Case{}, false
	}
	edges := s.edgesOf(func(e *graph.Edge) bool { return e.Kind == graph.Bolted && e.Part == p })
	return s.finish(Case{Kind: GroundLifted, Name: p.Name.Text, Text: titled(p.Name.Text+" lifted", p.Title.Text), edges: edges}), true
}

// isGroundWire reports whether a wire ends on a ground point that others share, or on the minus of a source.
func (s *Study) isGroundWire(w *model.Wire) bool {
	for _, pin := range [...]model.PinID{w.From.ID, w.To.ID} {
		if pin == model.NoPin {
			continue
		}
		p := s.netlist.Pin(pin).Owner.Part
		if p != nil && p.Kind.Name == "ground point" && s.wiresOn(p) > 1 || slices.Contains(s.minus, pin) {
			return true
		}
	}
	return false
}

func (s *Study) wiresOn(p *model.Part) int {
	n := 0
	for _, pin := range p.Owner.Pins {
		n += len(s.graph.WiresAt(pin))
	}
	return n
}

func (s *Study) wireCase(w *model.Wire) Case {
	edges := s.edgesOf(func(e *graph.Edge) bool { return e.Wire == w })
	ends := s.netlist.Pin(w.From.ID).String() + " to " + s.netlist.Pin(w.To.ID).String()
	return s.finish(Case{Kind: WireOff, Name: w.Name.Text, Text: "wire " + w.Name.Text + " off (" + ends + ")", edges: edges})
}

// plugCase opens an in-line pair between its halves, and the plug of a part between its wires and the part.
func (s *Study) plugCase(c *model.Connector) Case {
	name, text := c.Name.Text, c.Name.Text+" unplugged"
	has := func(pin model.PinID) bool { return s.netlist.Pin(pin).Owner == c.Owner }
	take := func(e *graph.Edge) bool { return e.Kind == graph.Mate && (has(e.A) || has(e.B)) }
	if c.Mate != nil {
		text = c.Name.Text + "/" + c.Mate.Name.Text + " unplugged"
	}
	if c.Part != nil {
		take = func(e *graph.Edge) bool { return e.Kind.Outside() && (has(e.A) || has(e.B)) }
		text += " from " + c.Part.Name.Text
	}
	return s.finish(Case{Kind: Unplugged, Name: name, Text: titled(text, c.Title.Text), edges: s.edgesOf(take)})
}

// moving lists every other position of every switch in a condition.
func (s *Study) moving(cond *graph.Condition) []Case {
	var cases []Case
	for _, p := range s.netlist.Parts {
		in := &p.Inside
		switch {
		case len(in.Coils) > 0:
		case len(in.Positions) > 0:
			for i := range in.Positions {
				if i != cond.PositionOf(p) {
					cases = append(cases, Case{Kind: SwitchMoved, Name: p.Name.Text, Text: p.Name.Text + " moved to " + in.Positions[i].Name.Text, part: p, position: i})
				}
			}
		case len(in.Open)+len(in.Closed) > 0 && p.Kind.Symbol == "switch":
			position, word := 1, "pressed"
			if cond.PositionOf(p) == 1 {
				position, word = 0, "released"
			}
			cases = append(cases, Case{Kind: SwitchMoved, Name: p.Name.Text, Text: p.Name.Text + " " + word, part: p, position: position})
		}
	}
	return cases
}

// turning lists the motors that generate when they turn without supply.
func (s *Study) turning() []Case {
	var cases []Case
	for _, p := range s.netlist.Parts {
		if v := p.Value("generates"); v != nil && v.Quantity.Value > 0 {
			cases = append(cases, Case{Kind: MotorTurns, Name: p.Name.Text, Text: titled(p.Name.Text+" turns unfed", p.Title.Text), part: p})
		}
	}
	return cases
}
