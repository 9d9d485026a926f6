package prove

import (
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A Setup is how the harness stands while something is measured: which switches are off their rest, and which outputs of unplugged
// controllers are joined to ground by a jumper at the empty plug, in place of the controller.
type Setup struct {
	State    *model.State // that it is taken from; nil when everything rests
	Switches []model.Setting
	Jumpers  []model.PinID
}

func (s *Setup) position(p *model.Part) (int, bool) {
	for _, w := range s.Switches {
		if w.Part == p {
			return w.Position, true
		}
	}
	return p.Inside.Rest, false
}

// without is the setup with one switch back at rest or one jumper off.
func (s *Setup) without(p *model.Part, jumper model.PinID) Setup {
	return Setup{
		State:    s.State,
		Switches: slices.DeleteFunc(slices.Clone(s.Switches), func(w model.Setting) bool { return w.Part == p }),
		Jumpers:  slices.DeleteFunc(slices.Clone(s.Jumpers), func(id model.PinID) bool { return id == jumper }),
	}
}

// same reports whether two setups put the same switches into the same positions with the same jumpers.
func (s *Setup) same(o *Setup) bool {
	return len(s.Switches) == len(o.Switches) && slices.Equal(s.Jumpers, o.Jumpers) && !slices.ContainsFunc(s.Switches, func(w model.Setting) bool {
		at, set := o.position(w.Part)
		return !set || at != w.Position
	})
}

// A rig is the harness at first power: some fuses in, switches as in a setup, the unplugged parts away, engine standing.
type rig struct {
	h     *Harness
	in    func(*model.Part) bool // fuses that are in
	setup *Setup
	poles []model.PinID // live poles of what feeds: see Harness.poles
	bank  int

	live, ground []bool
	depth        []int32 // edges from a live pole
	engaged      map[*model.Part]bool
}

// settle finds what is live. Relays start dropped out and pull in by what their coils are joined to, until none changes; a relay
// that works against itself is left as it stands after as many rounds as there are coils.
func (h *Harness) settle(setup *Setup, in func(*model.Part) bool) *rig {
	r := &rig{h: h, in: in, setup: setup, poles: h.poles(), bank: h.feeding, engaged: map[*model.Part]bool{}}
	for range len(h.coils) + 2 {
		r.spread()
		changed := false
		for _, e := range h.coils {
			pulls := r.fed(e)
			if h.out[e.Part] {
				pulls = false
			}
			if pulls != r.engaged[e.Part] {
				r.engaged[e.Part], changed = pulls, true
			}
		}
		if !changed {
			break
		}
	}
	return r
}

// fed reports whether what lies between the ends of an edge has supply at one and ground at the other.
func (r *rig) fed(e *graph.Edge) bool {
	return r.live[e.A] && !r.ground[e.A] && r.ground[e.B] && !r.live[e.B] || r.ground[e.A] && !r.live[e.A] && r.live[e.B] && !r.ground[e.B]
}

func (r *rig) spread() {
	n := len(r.h.Netlist.Pins)
	r.live, r.ground, r.depth = make([]bool, n), make([]bool, n), make([]int32, n)
	grounded := slices.Clone(r.h.grounded)
	for _, b := range r.h.Netlist.Bodies {
		grounded = append(grounded, b.Pin)
	}
	grounded = append(grounded, r.setup.Jumpers...)
	r.flood(r.ground, grounded, nil)
	seeds := r.poles
	for len(seeds) > 0 { // a converter feeds on once its own input is live
		r.flood(r.live, seeds, r.depth)
		seeds = nil
		for _, c := range r.h.converters {
			if r.live[c.input] && !r.live[c.output] {
				seeds = append(seeds, c.output)
			}
		}
	}
}

// flood marks what is joined to the seeds. Diodes pass the live side on by their direction.
func (r *rig) flood(mark []bool, seeds []model.PinID, depth []int32) {
	g := r.h.Graph
	queue := make([]model.PinID, 0, len(seeds))
	for _, pin := range seeds {
		if !mark[pin] {
			mark[pin] = true
			queue = append(queue, pin)
		}
	}
	positive := r.h.Netlist.Harness.PositiveGround
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		for _, id := range g.At(pin) {
			e := g.Edge(id)
			next := e.Other(pin)
			if mark[next] || !r.passes(e) || e.Kind == graph.Diode && (e.A == pin) != ((depth != nil) != positive) {
				continue
			}
			mark[next] = true
			if depth != nil {
				depth[next] = depth[pin] + 1
			}
			queue = append(queue, next)
		}
	}
}

// passes reports whether an edge conducts without doing work.
func (r *rig) passes(e *graph.Edge) bool {
	switch {
	case e.Part != nil && r.h.out[e.Part] && e.Kind != graph.Bolted:
		return false
	case e.Kind == graph.Protect:
		return r.in(e.Part)
	case e.Kind.Conducts(), e.Kind == graph.Diode:
		return true
	case e.Kind == graph.Resistor:
		return circuit.Weakens(e)
	case !e.Kind.Contact():
		return false
	case len(e.Part.Inside.Coils) > 0:
		return r.engaged[e.Part] == (e.Kind == graph.Open)
	}
	at, _ := r.setup.position(e.Part)
	switch e.Kind {
	case graph.Open:
		return at == 1
	case graph.Closed:
		return at != 1
	}
	return at == e.Position
}

// A converter feeds its output from its own input.
type converter struct {
	part          *model.Part
	input, output model.PinID
}

// findConverters lists the sources that are fed by others.
func (h *Harness) findConverters() {
	for _, p := range h.Netlist.Parts {
		if h.out[p] || p.Kind.Symbol == "battery" || p.Kind.Symbol == "generator" {
			continue
		}
		for _, s := range p.Inside.Sources {
			input, output := s.From.A, s.Plus
			if h.Netlist.Harness.PositiveGround {
				input, output = s.From.B, s.Minus
			}
			if s.Converts() {
				h.converters = append(h.converters, converter{p, input, output})
			}
		}
	}
}
