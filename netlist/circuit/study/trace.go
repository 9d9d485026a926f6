package study

import (
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// A Step is one hop of a chain: over what, and the terminal that it leads to.
type Step struct {
	Over  string  // "wire 60c 12 AWG OG/BK 3.00 m", "fuse F3 15 A"; empty for the first terminal
	Wire  string  // designator of the wire, when it is one
	Amps  float64 // through it in the direction of the chain; NaN when nothing is known of it
	Open  bool    // no current can pass here in the state
	Pin   string  // the terminal after the hop
	Net   string
	Volts float64 // of the terminal against battery minus; NaN where it floats

	Assumed bool // the part or wire has a number that is guessed or assumed
}

// A Chain is a way through the harness in one state.
type Chain struct {
	State   string
	Title   string // "from the source", "to ground", "between"
	From    string // where it begins and ends, with what that is: "BAT1:+ (battery)", "frame (grounded body)", "XB:3 (sensor supply of ECU)"
	To      string
	Steps   []Step
	Settled bool

	// Against says that current flows against the chain where its amperes are not negative: with positive ground a chain begins at the
	// minus, which is the live pole.
	Against bool
}

// hop is a branch walked over.
type hop struct {
	branch int
	from   model.PinID
	to     model.PinID
}

// StateNames lists the declared states in the order of the file.
func (s *Study) StateNames() []string {
	names := make([]string, len(s.conds))
	for i, c := range s.conds {
		names[i] = c.Name()
	}
	return names
}

// Trace returns the chain from the source to a terminal and on from there to ground. Without a state the first one counts in which
// the terminal is live, else the first of the file. A chain that does not exist is left out.
func (s *Study) Trace(pin model.PinID, state string) []Chain {
	s.prepare()
	b := s.baseFor(pin, state)
	up := s.walk(pin, s.isSource(true), s.upRules(b)[:2], nil)
	if up == nil {
		up = s.walk(pin, s.isSource(false), s.upRules(b)[2:], nil)
	}
	var chains []Chain
	blocked := map[model.PinID]bool{}
	if up != nil {
		for _, h := range up {
			blocked[h.to] = true
		}
		chains = append(chains, s.chain(b, "from the source", reversed(up, pin), first(up, pin)))
	}
	if down := s.walk(pin, s.isGround(), s.downRules(b), blocked); down != nil {
		chains = append(chains, s.chain(b, "to ground", down, pin))
	}
	return chains
}

// Between returns the chain from one terminal to another, over consumers and open contacts if it must be.
func (s *Study) Between(from, to model.PinID, state string) []Chain {
	s.prepare()
	b := s.baseFor(from, state)
	hops := s.walk(from, func(pin model.PinID) bool { return pin == to }, []rule{s.passive(b), both(s.carries(b, false), noSource), both(s.carries(b, true), noSource), both(on(b), noSource), noSource}, nil)
	if hops == nil {
		return nil
	}
	return []Chain{s.chain(b, "between", hops, from)}
}

// baseFor takes the named state, or the first in which the terminal is live and carries current, or is live, or carries current.
func (s *Study) baseFor(pin model.PinID, state string) *base {
	chosen, merit := s.bases[0], 0
	for _, b := range s.bases {
		now := 0
		switch {
		case state != "" && b.cond.Name() == state:
			now = 4
		case state != "":
		default:
			if b.feed.plus[pin] && !b.feed.minus[pin] {
				now += 2
			}
			if slices.ContainsFunc(s.branchesAt()[pin], func(at int) bool { return math.Abs(b.sol.Amps[at]) > 1e-3 }) {
				now++
			}
		}
		if now > merit {
			chosen, merit = b, now
		}
	}
	return chosen
}

// isSource accepts live poles of batteries and, when references is set, outputs that supply sensors; live poles of generators
// when there is no battery.
func (s *Study) isSource(references bool) func(model.PinID) bool {
	poles := s.livePoles()
	if len(poles) == 0 {
		poles = s.plus
	}
	return func(pin model.PinID) bool {
		return slices.Contains(poles, pin) || references && s.netlist.Pin(pin).Role == catalog.Reference
	}
}

func (s *Study) isGround() func(model.PinID) bool {
	poles := s.minus
	if s.netlist.Harness.PositiveGround {
		poles = s.plus
	}
	return func(pin model.PinID) bool { return slices.Contains(poles, pin) }
}

// A rule says over which branches a chain may go on from a terminal; rules are tried in turn, the most telling first.
type rule func(at int, br *circuit.Branch, from model.PinID) bool

// carries keeps to the way that the current takes: from a terminal along with it, or against it when the walk goes up to the
// source. Less than 0.1 mA is no current that somebody looks for.
func (s *Study) carries(b *base, up bool) rule {
	against := up != s.netlist.Harness.PositiveGround
	return func(at int, br *circuit.Branch, from model.PinID) bool {
		amps := b.sol.Amps[at]
		return math.Abs(amps) > 1e-4 && (amps > 0) == ((br.A == from) != against)
	}
}

func (s *Study) passive(b *base) rule {
	return func(at int, br *circuit.Branch, from model.PinID) bool {
		_, passes := br.ClosedOhms(unit.Celsius(20))
		return passes && b.sol.On[at] && (br.Edge == nil || !circuit.Limits(br.Edge))
	}
}

func both(a, b rule) rule {
	return func(at int, br *circuit.Branch, from model.PinID) bool { return a(at, br, from) && b(at, br, from) }
}

func noSource(_ int, br *circuit.Branch, _ model.PinID) bool {
	return !br.IsBattery() && !br.IsGenerator() && (br.Edge == nil || br.Edge.Kind != graph.Source)
}

// upRules has two rules without consumers on the way, then those with, of which one takes open contacts rather than consumers without current; downRules has none without.
func (s *Study) upRules(b *base) []rule {
	up := s.carries(b, true)
	return []rule{both(up, s.passive(b)), s.passive(b), both(up, noSource), openable, both(on(b), noSource), noSource}
}

// openable keeps to conductors and contacts, open ones too: the way that would feed a dead terminal.
func openable(_ int, br *circuit.Branch, _ model.PinID) bool {
	_, passes := br.ClosedOhms(unit.Celsius(20))
	return passes && (br.Edge == nil || !circuit.Limits(br.Edge))
}

func (s *Study) downRules(b *base) []rule {
	return []rule{both(s.carries(b, false), noSource), both(on(b), noSource), noSource}
}

func on(b *base) rule {
	return func(at int, _ *circuit.Branch, _ model.PinID) bool { return b.sol.On[at] }
}

// walk is a breadth-first search by the first rule that finds a way; among equally short ways the first of the file wins.
func (s *Study) walk(from model.PinID, found func(model.PinID) bool, rules []rule, blocked map[model.PinID]bool) []hop {
	for _, allow := range rules {
		if hops := s.search(from, found, allow, blocked); hops != nil {
			return hops
		}
	}
	return nil
}

func (s *Study) search(from model.PinID, found func(model.PinID) bool, allow rule, blocked map[model.PinID]bool) []hop {
	if found(from) {
		return []hop{}
	}
	came := map[model.PinID]hop{}
	queue := []model.PinID{from}
	at := s.branchesAt()
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		for _, i := range at[pin] {
			br := &s.circuit.Branches[i]
			next := br.A
			if next == pin {
				next = br.B
			}
			if _, seen := came[next]; seen || next == from || blocked[next] || !allow(i, br, pin) {
				continue
			}
			came[next] = hop{i, pin, next}
			if found(next) {
				return unwind(came, next, from)
			}
			queue = append(queue, next)
		}
	}
	return nil
}

func unwind(came map[model.PinID]hop, to, from model.PinID) []hop {
	var hops []hop
	for to != from {
		h := came[to]
		hops = append(hops, h)
		to = h.from
	}
	slices.Reverse(hops)
	return hops
}

func (s *Study) branchesAt() [][]int {
	if s.touching == nil {
		s.touching = make([][]int, len(s.netlist.Pins))
		for i := range s.circuit.Branches {
			b := &s.circuit.Branches[i]
			s.touching[b.A] = append(s.touching[b.A], i)
			s.touching[b.B] = append(s.touching[b.B], i)
		}
	}
	return s.touching
}

// reversed turns hops round, so that a chain reads from the source.
func reversed(hops []hop, from model.PinID) []hop {
	out := make([]hop, 0, len(hops))
	for i := len(hops) - 1; i >= 0; i-- {
		out = append(out, hop{hops[i].branch, hops[i].to, hops[i].from})
	}
	return out
}

func first(hops []hop, from model.PinID) model.PinID {
	if len(hops) == 0 {
		return from
	}
	return hops[len(hops)-1].to
}

func (s *Study) chain(b *base, title string, hops []hop, start model.PinID) Chain {
	end := start
	if len(hops) > 0 {
		end = hops[len(hops)-1].to
	}
	c := Chain{State: b.cond.Name(), Title: title, From: s.endWords(start), To: s.endWords(end), Settled: b.sol.Settled,
		Against: s.netlist.Harness.PositiveGround && title != "between"}
	c.Steps = append(c.Steps, Step{Pin: s.netlist.Pin(start).String(), Net: s.netName(start), Volts: b.sol.Volts[start], Amps: math.NaN()})
	for _, h := range hops {
		br := &s.circuit.Branches[h.branch]
		step := Step{Over: s.over(br, h), Pin: s.netlist.Pin(h.to).String(), Net: s.netName(h.to), Volts: b.sol.Volts[h.to], Amps: b.sol.Amps[h.branch], Open: !b.sol.On[h.branch]}
		if (br.A != h.from) != c.Against {
			step.Amps = -step.Amps
		}
		if br.Wire != nil {
			step.Wire, step.Assumed = br.Wire.Name.Text, br.GuessedWire()
		} else {
			step.Assumed = s.assumed[br.Part]
		}
		c.Steps = append(c.Steps, step)
	}
	return c
}

// endWords names a terminal at which a chain ends, with what it is when that is a source or ground.
func (s *Study) endWords(pin model.PinID) string {
	name, p := s.netlist.Pin(pin).String(), s.netlist.Pin(pin).Owner.Device()
	live := slices.Contains(s.plus, pin) != s.netlist.Harness.PositiveGround
	switch {
	case slices.ContainsFunc(s.netlist.Bodies, func(b *model.Body) bool { return b.Pin == pin }):
		return name + " (grounded body)"
	case p == nil:
		return name
	case s.netlist.Pin(pin).Role == catalog.Reference:
		return name + " (sensor supply of " + p.Name.Text + ")"
	case !slices.Contains(s.plus, pin) && !slices.Contains(s.minus, pin):
		return name
	case live && s.netlist.Harness.PositiveGround:
		return name + " (" + p.Kind.Name + ", live pole)"
	case live:
		return name + " (" + p.Kind.Name + ")"
	}
	return name + " (" + p.Kind.Name + ", grounded pole)"
}

func (s *Study) netName(pin model.PinID) string {
	if net := s.graph.NetOf(pin); net.Stated {
		return net.Name
	}
	return ""
}

// over says in a few words what a hop goes over.
func (s *Study) over(br *circuit.Branch, h hop) string {
	e := br.Edge
	switch {
	case br.Wire != nil:
		return s.wireWords(br.Wire)
	case e == nil && br.IsOutput():
		return "output of " + br.Part.Name.Text + ", driven"
	case e == nil && br.IsMotorOfStarter():
		return "motor of " + br.Part.Name.Text
	case e == nil:
		return "inside " + br.Part.Name.Text
	case e.Kind == graph.Protect:
		return fmt.Sprintf("%s %s %s", br.Part.Kind.Name, br.Part.Name.Text, ratingOf(br.Part))
	case e.Kind == graph.Position:
		return fmt.Sprintf("%s in %s", br.Part.Name.Text, br.Part.Inside.Positions[e.Position].Name.Text)
	case e.Kind == graph.Open || e.Kind == graph.Closed:
		return "contact of " + br.Part.Name.Text
	case e.Kind == graph.Coil:
		return "coil of " + br.Part.Name.Text
	case e.Kind == graph.Load:
		return "load " + loadName(br)
	case e.Kind == graph.Link:
		return "link " + e.Link.Name.Text
	case e.Kind == graph.Mate:
		return "mated"
	}
	return s.graph.Describe(graph.Hop{Edge: e, From: h.from, To: h.to})
}

func (s *Study) wireWords(w *model.Wire) string {
	text := "wire " + w.Name.Text
	if w.Size.IsSet() {
		text += " " + w.Size.String()
	}
	if w.Color.IsSet() {
		text += " " + w.Color.String()
	}
	if m, ok := s.routes.Length(w); ok {
		text += " " + m.String()
	}
	return text
}
