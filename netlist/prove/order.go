package prove

import (
	"cmp"
	"slices"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// setups are the states of the file as the bench can bring them about: switches that a hand can set, without those parts that are
// unplugged or only move when something turns, and with a jumper for each relay that an unplugged controller drives to ground.
func (h *Harness) setups() []Setup {
	all := []Setup{{}}
	for _, s := range h.Netlist.States {
		all = append(all, h.setupOf(s))
	}
	return all
}

func (h *Harness) setupOf(s *model.State) Setup {
	setup := Setup{State: s}
	for _, w := range s.Switches {
		if w.Part == nil || w.Position < 0 || h.out[w.Part] || len(w.Part.Inside.Sources) > 0 || w.Position == w.Part.Inside.Rest {
			continue
		}
		setup.Switches = append(setup.Switches, w)
	}
	for _, r := range s.Driven {
		if r.ID != model.NoPin && h.out[h.Netlist.Pin(r.ID).Owner.Device()] && h.relaySink(r.ID) && !slices.Contains(setup.Jumpers, r.ID) {
			setup.Jumpers = append(setup.Jumpers, r.ID)
		}
	}
	return setup
}

// main reports whether a part is a key switch or an isolator: what makes the key positions of a vehicle.
func main(p *model.Part) bool {
	return p.Kind.Symbol == "switch" && (p.Function.Text == "key" || p.Function.Text == "isolator")
}

// keyed is the part of a setup that main switches make.
func (s *Setup) keyed() Setup {
	return Setup{State: s.State, Switches: slices.DeleteFunc(slices.Clone(s.Switches), func(w model.Setting) bool { return !main(w.Part) })}
}

// KeyPositions are the different positions of the main switches in the states of the file, all else at rest, everything off first;
// where there is no main switch, those of all switches. Positions that only cranking needs come last.
func (h *Harness) KeyPositions() []Setup {
	positions := []Setup{{}}
	var cranking []Setup
	hasMain := slices.ContainsFunc(h.Netlist.Parts, main)
	for _, s := range h.setups() {
		k := s
		k.Jumpers = nil
		if hasMain {
			k = s.keyed()
		}
		same := func(p Setup) bool { return p.same(&k) }
		switch {
		case slices.ContainsFunc(positions, same) || slices.ContainsFunc(cranking, same):
		case s.State.Engine.Text == "cranking":
			cranking = append(cranking, k)
		default:
			positions = append(positions, k)
		}
	}
	return append(positions, cranking...)
}

// A placing is a fuse with the setup in which its input is live.
type placing struct {
	edge  *graph.Edge
	part  *model.Part
	setup Setup
	bank  int // that feeds it; everyBank where there is only one
	key   int // index of its key position; -1 where nothing feeds it
	depth int32
	index int // in the file
}

// stage compares the order in which setups are gone through: nothing switched; further switches; the key positions one by one,
// each alone, then with further switches, then with jumpers.
func (p *placing) compare(o *placing) int {
	return cmp.Or(cmp.Compare(p.bank, o.bank), cmp.Compare(p.key, o.key), cmp.Compare(min(len(p.setup.Jumpers), 1), min(len(o.setup.Jumpers), 1)),
		cmp.Compare(len(p.setup.Switches), len(o.setup.Switches)), cmp.Compare(p.depth, o.depth), cmp.Compare(p.index, o.index))
}

// placings finds for every fuse the bank that feeds it with the least that has to be switched; of two that need as much, the nearer one.
func (h *Harness) placings() (live, dead []placing) {
	var all []placing
	h.eachBank(func(bank int) {
		for i, p := range h.placed(bank) {
			switch {
			case i == len(all):
				all = append(all, p)
			case p.key >= 0 && (all[i].key < 0 || p.easier(&all[i]) || !all[i].easier(&p) && p.depth < all[i].depth):
				all[i] = p
			}
		}
	})
	for _, p := range all {
		if p.key < 0 {
			dead = append(dead, p)
		} else {
			live = append(live, p)
		}
	}
	return live, dead
}

// placed finds for every fuse the least that has to be switched so that its input is live from a bank.
func (h *Harness) placed(bank int) (placings []placing) {
	keys, setups := h.KeyPositions(), h.setups()
	all := func(*model.Part) bool { return true }
	rigs := make([]*rig, len(setups))
	for i := range setups {
		rigs[i] = h.settle(&setups[i], all)
	}
	type input struct {
		pin   model.PinID
		setup int
	}
	least := map[input]Setup{}
	for i := range h.Graph.Edges {
		e := &h.Graph.Edges[i]
		if e.Kind != graph.Protect || e.Part.Spare.On || h.out[e.Part] || !h.wired(e.Part) {
			continue
		}
		best := placing{edge: e, part: e.Part, bank: bank, key: -1, index: i}
		for s := range setups {
			in, ok := rigs[s].input(e)
			if !ok {
				continue
			}
			at := input{h.Graph.NetOf(in).Pins[0], s}
			setup, known := least[at]
			if !known {
				setup = h.reduce(setups[s], in)
				least[at] = setup
			}
			p := placing{edge: e, part: e.Part, bank: bank, setup: setup, key: keyOf(keys, &setup), depth: rigs[s].depth[in], index: i}
			if best.key < 0 || p.easier(&best) {
				best = p
			}
		}
		placings = append(placings, best)
	}
	return placings
}

// easier prefers no jumpers; then the earlier key position, then fewer switches. Among setups with jumpers the first in the file
// stays, since the key stands there as the controller wants it.
func (p *placing) easier(o *placing) bool {
	a, b := len(p.setup.Jumpers), len(o.setup.Jumpers)
	switch {
	case min(a, 1) != min(b, 1):
		return a < b
	case a > 0:
		return a < b
	case p.key != o.key:
		return p.key < o.key
	case len(p.setup.Switches) != len(o.setup.Switches):
		return len(p.setup.Switches) < len(o.setup.Switches)
	}
	return p.setup.standing() && !o.setup.standing()
}

// standing reports whether the engine stands in the state that a setup is taken from.
func (s *Setup) standing() bool {
	return s.State == nil || s.State.Engine.Text != "running" && !s.State.Charging.On
}

// input is the end of a fuse that is nearer to a live pole, when it is live.
func (r *rig) input(e *graph.Edge) (model.PinID, bool) {
	a, b := r.live[e.A], r.live[e.B]
	switch {
	case a && b && r.depth[e.B] < r.depth[e.A], b && !a:
		return e.B, true
	case a:
		return e.A, true
	}
	return model.NoPin, false
}

// reduce puts back every switch and takes off every jumper without which the terminal stays live. A jumper that has to stay keeps
// the main switches as they are.
func (h *Harness) reduce(s Setup, pin model.PinID) Setup {
	all := func(*model.Part) bool { return true }
	live := func(s Setup) bool { return h.settle(&s, all).live[pin] }
	if bare := (Setup{State: s.State}); live(bare) {
		return bare
	}
	if bare := (Setup{State: s.State, Switches: s.Switches}); live(bare) {
		s = bare
	}
	for _, j := range slices.Clone(s.Jumpers) {
		if less := s.without(nil, j); live(less) {
			s = less
		}
	}
	for pass := range 2 { // further switches first, then the main ones
		for _, w := range slices.Clone(s.Switches) {
			if main(w.Part) != (pass == 1) || main(w.Part) && len(s.Jumpers) > 0 {
				continue
			}
			if less := s.without(w.Part, model.NoPin); live(less) {
				s = less
			}
		}
	}
	return s
}

// keyOf is the index of the key position of a setup.
func keyOf(keys []Setup, s *Setup) int {
	k := s.keyed()
	if i := slices.IndexFunc(keys, func(p Setup) bool { return p.same(&k) }); i >= 0 {
		return i
	}
	if i := slices.IndexFunc(keys, func(p Setup) bool { return p.same(&Setup{Switches: s.Switches}) }); i >= 0 {
		return i
	}
	return len(keys)
}

// order puts the fuses one behind the other: by stage, and within that so that what feeds the input of a fuse, over conductors,
// contacts and the coils that hold them, is in before it. What is left has no feed from what is in; it is told apart.
func (h *Harness) order() (sequence, dead []placing) {
	live, dead := h.placings()
	slices.SortStableFunc(live, func(a, b placing) int { return a.compare(&b) })
	inserted := map[*model.Part]bool{}
	in := func(p *model.Part) bool { return inserted[p] }
	for len(live) > 0 {
		wave := h.wave(live, in)
		if len(wave) == 0 {
			break
		}
		for _, i := range wave {
			sequence = append(sequence, live[i])
			inserted[live[i].part] = true
		}
		for n := len(wave) - 1; n >= 0; n-- {
			live = slices.Delete(live, wave[n], wave[n]+1)
		}
	}
	return sequence, append(live, dead...)
}

// wave lists those of the first setup among what is left that are live with what is in; where none of them is, of the next setup.
func (h *Harness) wave(left []placing, in func(*model.Part) bool) []int {
	for first := 0; first < len(left); {
		last := first
		for last < len(left) && left[last].bank == left[first].bank && left[last].setup.same(&left[first].setup) && left[last].key == left[first].key {
			last++
		}
		h.feeding = left[first].bank
		r := h.settle(&left[first].setup, in)
		h.feeding = everyBank
		var wave []int
		for i := first; i < last; i++ {
			if _, ok := r.input(left[i].edge); ok {
				wave = append(wave, i)
			}
		}
		if len(wave) > 0 {
			return wave
		}
		first = last
	}
	return nil
}
