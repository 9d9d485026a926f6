package study

import (
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// Limits of what counts as a sneak path; job practice.
const (
	liveVolts     = 1.0  // less than that is not called live
	shareOfRated  = 0.05 // less of the rated current is not worth a line
	runningShare  = 0.3  // a motor or solenoid may move from this share of its rated current
	brightShare   = 0.5  // a lamp is seen as lit from this share
	likeDeclared  = 1.25 // a chain that a declared state shows is only reported when it gets this much more
	likeDeclaredV = 0.5  // volts, likewise
)

// Severity orders sneak paths. The zero value is none.
type Severity int

// The severities.
const (
	Glow   Severity = iota + 1 // a lamp glimmers, a coil is too weak to pull in
	Odd                        // something works that should not, or works weakly
	Fault                      // a relay pulls in, a controller is half supplied
	Danger                     // starter, controller or a motor could run
)

var severityWords = [...]string{"", "glow", "odd", "fault", "danger"}

// String returns the word of the severity.
func (s Severity) String() string { return severityWords[s] }

// An Effect is what a case does to one thing in one state.
type Effect struct {
	What     string // "LRL Stop", "rail 15X (C-15X)"
	Part     string // designator; empty for a rail
	How      string // "in series", "pulls in", "half supplied" ...
	State    string
	Volts    float64 // across it; of a rail against ground
	Amps     float64 // through it, in its normal direction; 0 for a rail
	Share    float64 // of its rated current; 0 when that is not known
	Severity Severity
	Assumed  bool // the numbers rest on a guess or an assumption about the part

	at int // index of element, or of rail after the elements
}

// An observation is one solution as the search sees it.
type observation struct {
	sol    *circuit.Solution
	feed   *feed // what is meant
	actual *feed // the same with the relays as the solution has them: what a relay that is held over a sneak path feeds in turn

	back    []*graph.Edge // fuses that carry current against their way, the largest current first
	forward *feed         // actual without what they feed; nil when there are none
}

func (s *Study) observe(sol *circuit.Solution, set setting) observation {
	o := observation{sol: sol, feed: s.feedOf(set)}
	o.actual = &feed{engaged: map[*model.Part]bool{}}
	differs := false
	for p, meant := range o.feed.engaged {
		is := s.pulls(p, sol)
		o.actual.engaged[p] = is
		differs = differs || is != meant
	}
	if differs {
		s.spread(o.actual, set)
	} else {
		o.actual = o.feed
	}
	if o.back = s.backwards(sol); len(o.back) > 0 {
		o.forward = &feed{engaged: o.actual.engaged, forward: true}
		s.spread(o.forward, set)
	}
	return o
}

// pulls reports whether the contacts of a relay stand as they do when it pulls.
func (s *Study) pulls(p *model.Part, sol *circuit.Solution) bool {
	for i := range s.contacts[p] {
		c := &s.contacts[p][i]
		return sol.On[c.branch] == c.make
	}
	return false
}

// improper returns, for each element and then each rail, the volts that it has without being properly fed; 0 otherwise. back are the
// volts of those that are fed over a fuse that carries current against its way; nil when there are none.
func (s *Study) improper(o observation) (volts, back []float64) {
	volts = make([]float64, len(s.elements)+len(s.rails))
	if o.forward != nil {
		back = make([]float64, len(volts))
	}
	for i := range s.elements {
		e := &s.elements[i]
		v := math.Abs(across(o.sol, e.a, e.b))
		if !o.feed.proper(e.a, e.b) {
			volts[i] = v
		}
		if o.fedBackwards(e.a, e.b) {
			back[i] = v
		}
	}
	for i, r := range s.rails {
		v := s.aboveGround(o.sol, r.pin)
		if !railFed(o.feed, r.pin) && !railFed(o.actual, r.pin) {
			volts[len(s.elements)+i] = v
		}
		if o.forward != nil && railFed(o.actual, r.pin) && !railFed(o.forward, r.pin) {
			back[len(s.elements)+i] = v
		}
	}
	return volts, back
}

// railFed: a rail is in order on the side of the vehicle's supply; one that is joined to ground is no sneak either.
func railFed(f *feed, pin model.PinID) bool { return f.plus[pin] || f.minus[pin] }

// aboveGround is the voltage of a terminal against the grounded pole of the battery, without its sign. A body is no reference: in
// some cases it is the body that is cut off.
func (s *Study) aboveGround(sol *circuit.Solution, pin model.PinID) float64 {
	ground := 0.0
	if s.netlist.Harness.PositiveGround && len(s.plus) > 0 {
		ground = sol.Volts[s.plus[0]]
	}
	if v := sol.Volts[pin] - ground; !math.IsNaN(v) {
		return math.Abs(v)
	}
	return 0
}

// effects lists what is fed improperly in a solution beyond what the declared states show.
func (s *Study) effects(o, before observation, usual []float64, state string, c *Case) []Effect {
	var out []Effect
	volts, back := s.improper(o)
	for i := range volts {
		v, known := volts[i], usual[i]
		if back != nil && back[i] > 0 {
			// What a declared state shows is no excuse here: a fuse has its way. Only what this state shows anyhow is said once.
			v, known = back[i], 0
			if _, was := s.improper(before); was != nil && c.Kind != AsDeclared {
				known = was[i]
			}
		}
		if v > known*likeDeclared+likeDeclaredV*min(known, 1) {
			if e, ok := s.effect(i, v, o, before, c); ok {
				e.State = state
				out = append(out, e)
			}
		}
	}
	return out
}

func (s *Study) effect(at int, volts float64, o, before observation, c *Case) (Effect, bool) {
	if at >= len(s.elements) {
		return s.railEffect(at, volts, o)
	}
	el := &s.elements[at]
	e := Effect{What: el.name, Part: el.part.Name.Text, Volts: volts, Assumed: s.assumed[el.part], at: at}
	if el.branch >= 0 {
		e.Amps = o.sol.Amps[el.branch]
		if el.rated > 0 {
			e.Share = math.Abs(e.Amps) / el.rated
		}
	}
	if volts <= liveVolts && e.Share <= shareOfRated || c.Kind == MotorTurns && el.part == c.part {
		return e, false
	}
	if o.actual.proper(el.a, el.b) && before.feed.proper(el.a, el.b) && !o.fedBackwards(el.a, el.b) {
		return e, false // it works as before, behind a relay that is held over the sneak path; the relay is reported
	}
	s.judge(&e, el, o, before)
	return e, true
}

func (s *Study) railEffect(at int, volts float64, o observation) (Effect, bool) {
	r := s.rails[at-len(s.elements)]
	e := Effect{What: r.name, How: "live", Volts: volts, Severity: Glow, at: at}
	if o.forward != nil && railFed(o.actual, r.pin) && !railFed(o.forward, r.pin) {
		e.How = "live backwards over " + o.back[0].Part.Name.Text
	}
	if volts >= s.circuit.PoweredVolts()/2 {
		e.Severity = Odd
	}
	return e, volts > liveVolts
}

// judge says how an element is fed and how bad that is.
func (s *Study) judge(e *Effect, el *element, o, before observation) {
	meant := before.feed
	if o.fedBackwards(el.a, el.b) {
		meant = before.actual // what relays feed that were pulled over ways of their own was at work before just so
	}
	was := meant.proper(el.a, el.b) && !before.fedBackwards(el.a, el.b) && math.Abs(across(before.sol, el.a, el.b)) > liveVolts
	e.How, e.Severity = "fed from elsewhere", Glow
	switch {
	case o.fedBackwards(el.a, el.b):
		e.How = "fed backwards over " + o.back[0].Part.Name.Text
	case s.runsBackwards(el, o.sol):
		e.How = "backwards"
	case was:
		e.How = "in series"
	case o.actual.proper(el.a, el.b):
		e.How = "fed by a relay that pulls"
	}
	switch el.sort {
	case coilLoad:
		s.judgeCoil(e, el, o, was)
	case moduleLoad:
		powered := e.Volts >= s.circuit.PoweredBetween(el.a, el.b)
		switch e.Severity = Fault; {
		case powered && o.fedBackwards(el.a, el.b):
			e.Severity = Danger
		case powered:
			e.How, e.Severity = "supplied over a sneak path", Danger
		default:
			e.How = "half supplied"
		}
	case motorLoad, starterLoad:
		if e.Share >= runningShare {
			e.Severity = Odd
			if !was {
				e.Severity = Danger
			}
		}
	default:
		if e.Share >= brightShare {
			e.Severity = Odd
		}
	}
}

func (s *Study) judgeCoil(e *Effect, el *element, o observation, was bool) {
	on := s.pulls(el.part, o.sol)
	switch {
	case slices.Contains(o.sol.Cycle, el.part):
		e.How, e.Severity = "chatters", Fault
	case on && was:
		e.How, e.Severity = "stays in over a sneak path", Fault
	case on:
		e.How, e.Severity = "pulls in", Fault
	default:
		e.How += ", too weak to pull in"
	}
}

// runsBackwards compares with the direction of the current in the declared states in which the element is properly fed.
func (s *Study) runsBackwards(el *element, sol *circuit.Solution) bool {
	if el.branch < 0 {
		return false
	}
	normal := 0.0
	for _, b := range s.bases {
		if b.feed.proper(el.a, el.b) {
			if i := b.sol.Amps[el.branch]; math.Abs(i) > math.Abs(normal) {
				normal = i
			}
		}
	}
	if normal == 0 {
		normal = 1
	}
	return sol.Amps[el.branch]*normal < 0 && math.Abs(sol.Amps[el.branch]) > 1e-3
}
