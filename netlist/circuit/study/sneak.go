package study

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A Sneak is one cause with all that it does.
type Sneak struct {
	Case
	Severity Severity
	Effects  []Effect // worst first, each thing once in its worst state
	States   []string // in which there is an effect, in the order of the file; moved switches are named behind
}

// Sneaks is the result of the search.
type Sneaks struct {
	Found   []Sneak  // worst first
	Series  []Effect // chains that the declared states themselves show, each in its worst state
	Cases   int      // combinations of a state and a case that were looked at
	Skipped int      // of these, those that provably change nothing
	Solved  int      // of these, those that were solved in full
	Unquiet []string // combinations whose iteration did not come to rest: their numbers are the last ones
}

// base is a declared state as it stands.
type base struct {
	observation
	cond     *graph.Condition
	improper []float64
}

// quietAmps is the current below which a branch may be opened without anything changing: nothing flows there but rounding.
const quietAmps = 1e-7

// quietVolts is the same for a contact that closes.
const quietVolts = 1e-7

// A found effect together with the case that made it.
type found struct {
	c       Case
	effects []Effect
	state   string
}

// tally is what one state contributes.
type tally struct {
	found                  []found
	cases, skipped, solved int
	unquiet                []string
}

// prepare solves the declared states.
func (s *Study) prepare() {
	if s.bases != nil {
		return
	}
	s.bases = make([]*base, len(s.conds))
	s.each(len(s.conds), func(i int) {
		b := &base{cond: s.conds[i]}
		b.observation = s.observe(s.circuit.Solve(b.cond, circuit.Options{}), setting{cond: b.cond})
		b.improper, _ = s.improper(b.observation)
		s.bases[i] = b
	})
}

// workers is how many states are looked at side by side.
const workers = 4

// each runs jobs side by side. Results go by index, so their order does not depend on
// which of them is faster.
func (s *Study) each(jobs int, do func(job int)) {
	next := make(chan int)
	var wait sync.WaitGroup
	for range min(workers, jobs) {
		wait.Go(func() {
			for job := range next {
				do(job)
			}
		})
	}
	for job := range jobs {
		next <- job
	}
	close(next)
	wait.Wait()
}

// Sneaks looks for sneak paths in every declared state with each fuse out, each ground point and ground wire off, each connector
// unplugged, each switch in each other position, and each motor that generates turning unfed.
//
// Every combination is solved in full with its relays, diodes and lamps, except where the solution is known beforehand: opening
// branches without current and closing contacts without voltage leaves everything as it was, exactly. That leaves some third of
// the combinations, and an estimate on the linearised network would save little on them: a relay that drops makes it worthless.
func (s *Study) Sneaks() *Sneaks {
	s.prepare()
	usual := make([]float64, len(s.elements)+len(s.rails))
	for _, b := range s.bases {
		for i, v := range b.improper {
			usual[i] = max(usual[i], v)
		}
	}
	opening, turning := s.opening(), s.turning()
	tallies := make([]tally, len(s.bases))
	s.each(len(s.bases), func(i int) {
		w := &search{s: s, base: s.bases[i], usual: usual}
		w.asDeclared()
		for _, k := range opening {
			w.open(k)
		}
		for _, k := range turning {
			w.turn(k, nil, "")
		}
		for _, k := range s.moving(w.base.cond) {
			w.move(k, turning)
		}
		tallies[i] = w.tally
	})
	return s.collect(tallies)
}

// search looks at the cases of one state.
type search struct {
	s     *Study
	base  *base
	usual []float64
	tally
}

// asDeclared looks at the state itself for what is fed over fuses that carry current against their way. Over other consumers a state may
// feed something on purpose, so that is Series.
func (w *search) asDeclared() {
	if w.base.forward == nil {
		return
	}
	k := Case{Kind: AsDeclared, Text: "nothing out, as declared"}
	all := make([]float64, len(w.usual))
	for i := range all {
		all[i] = math.Inf(1) // what is not fed backwards
	}
	if effects := w.s.effects(w.base.observation, w.base.observation, all, w.base.cond.Name(), &k); len(effects) > 0 {
		w.found = append(w.found, found{k, effects, w.base.cond.Name()})
	}
}

func (w *search) open(k Case) {
	w.cases++
	for _, at := range k.branches {
		if math.Abs(w.base.sol.Amps[at]) > quietAmps {
			w.try(k, circuit.Options{Open: k.opener()}, setting{cond: w.base.cond, open: k.feedOpener()}, w.base.cond.Name())
			return
		}
	}
	w.skipped++
}

// turn lets a motor turn in the state, with a switch moved first when positions says so; only where the motor is not fed.
func (w *search) turn(k Case, positions map[*model.Part]int, after string) {
	w.cases++
	set := setting{cond: w.base.cond, positions: positions}
	if w.fed(k.part, w.s.feedOf(set)) {
		w.skipped++
		return
	}
	state := w.base.cond.Name()
	if after != "" {
		state += ", " + after
	}
	w.try(k, circuit.Options{Positions: positions, Turning: func(p *model.Part) bool { return p == k.part }}, set, state)
}

func (w *search) fed(p *model.Part, f *feed) bool {
	for i := range w.s.elements {
		if e := &w.s.elements[i]; e.part == p && f.proper(e.a, e.b) {
			return true
		}
	}
	return false
}

// move moves a switch; a motor that ran before and is cut off by that turns on for a while.
func (w *search) move(k Case, turning []Case) {
	w.cases++
	positions := map[*model.Part]int{k.part: k.position}
	if w.quietMove(k) {
		w.skipped++
	} else {
		w.try(k, circuit.Options{Positions: positions}, setting{cond: w.base.cond, positions: positions}, w.base.cond.Name())
	}
	for _, motor := range turning {
		if w.fed(motor.part, w.base.feed) {
			w.turn(motor, positions, k.Text)
		}
	}
}

// quietMove reports whether none of the contacts that open carries current, and none of those that close has voltage across.
func (w *search) quietMove(k Case) bool {
	t := graph.Toggle{Part: k.part, Position: k.position, Pressed: k.position == 1}
	for i := range w.s.graph.Edges {
		e := &w.s.graph.Edges[i]
		if e.Part != k.part || !e.Kind.Contact() {
			continue
		}
		is, will := w.base.cond.Closed(e), w.base.cond.ClosedWith(t, e)
		at, known := w.s.edgeAt[e]
		v := w.base.sol.Volts[e.A] - w.base.sol.Volts[e.B]
		switch {
		case !known || is == will:
		case is && math.Abs(w.base.sol.Amps[at]) > quietAmps, will && !(math.Abs(v) <= quietVolts):
			return false
		}
	}
	return true
}

func (w *search) try(k Case, o circuit.Options, set setting, state string) {
	w.solved++
	o.From = w.base.sol
	sol := w.s.circuit.Solve(w.base.cond, o)
	if !sol.Settled && sol.Cycle == nil {
		w.unquiet = append(w.unquiet, state+": "+k.Text)
	}
	got := w.s.observe(sol, set)
	if effects := w.s.effects(got, w.base.observation, w.usual, state, &k); len(effects) > 0 {
		w.found = append(w.found, found{k, effects, state})
	}
}

// collect puts what one cause does in all states into one place, and sorts.
func (s *Study) collect(tallies []tally) *Sneaks {
	out := &Sneaks{Series: s.series()}
	at := map[string]int{}
	for _, t := range tallies {
		out.Cases, out.Skipped, out.Solved = out.Cases+t.cases, out.Skipped+t.skipped, out.Solved+t.solved
		out.Unquiet = append(out.Unquiet, t.unquiet...)
		for _, f := range t.found {
			i, known := at[f.c.Text]
			if !known {
				i = len(out.Found)
				at[f.c.Text] = i
				out.Found = append(out.Found, Sneak{Case: f.c})
			}
			out.Found[i].add(f)
		}
	}
	for i := range out.Found {
		f := &out.Found[i]
		slices.SortStableFunc(f.Effects, worse)
		f.Severity = f.Effects[0].Severity
	}
	slices.SortStableFunc(out.Found, func(a, b Sneak) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), worse(a.Effects[0], b.Effects[0]))
	})
	return out
}

// worse orders effects: the severe ones first, then those with the larger share of the rated current, then the higher volts.
func worse(a, b Effect) int {
	return cmp.Or(cmp.Compare(b.Severity, a.Severity), compareClose(b.Share, a.Share), compareClose(b.Volts, a.Volts))
}

// compareClose takes numbers within a millionth as equal, so that rounding decides no order.
func compareClose(a, b float64) int {
	if math.Abs(a-b) <= 1e-6*max(math.Abs(a), math.Abs(b)) {
		return 0
	}
	return cmp.Compare(a, b)
}

// add keeps the worst of the effects on each thing.
func (k *Sneak) add(f found) {
	k.States = append(k.States, f.state)
	for _, e := range f.effects {
		i := slices.IndexFunc(k.Effects, func(old Effect) bool { return old.at == e.at })
		switch {
		case i < 0:
			k.Effects = append(k.Effects, e)
		case worse(e, k.Effects[i]) < 0:
			k.Effects[i] = e
		}
	}
}

// series lists what the declared states feed over other consumers, each thing in its worst state.
func (s *Study) series() []Effect {
	none := make([]float64, len(s.elements)+len(s.rails)) // what is fed over fuses is no chain
	var all Sneak
	for _, b := range s.bases {
		all.add(found{effects: s.effects(b.observation, b.observation, none, b.cond.Name(), &Case{}), state: b.cond.Name()})
	}
	slices.SortStableFunc(all.Effects, worse)
	return all.Effects
}
