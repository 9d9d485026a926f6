package study

import (
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A Change says what becomes of a consumer when one thing is missing.
type Change string

// The changes, in the order in which they are told.
const (
	Dead      Change = "dead"
	Degraded  Change = "degraded"
	NewlyLive Change = "newly live"
	Chatters  Change = "chatters"
)

// degradedShare of the voltage before is where a consumer counts as degraded; job practice: a lamp gives 70 % of its light there.
const degradedShare = 0.9

// A Loss is what one consumer loses, or gains, in one state.
type Loss struct {
	What          string
	Part          string
	Change        Change
	State         string
	Before, After float64 // volts across it
	Sneak         bool    // what it still has comes over a sneak path
	Assumed       bool
}

// CaseOf finds what a designator stands for: a fuse, ground point, relay or any other part, a connector, a splice, a wire.
func (s *Study) CaseOf(name string) (Case, bool) {
	if w := s.netlist.Wire(name); w != nil {
		return s.wireCase(w), true
	}
	o := s.netlist.Owner(name)
	switch {
	case o == nil:
		return Case{}, false
	case o.Connector != nil:
		return s.plugCase(o.Connector), true
	case o.Splice != nil:
		own := func(e *graph.Edge) bool { return e.Kind == graph.Wire && (s.owns(o, e.A) || s.owns(o, e.B)) }
		return s.finish(Case{Kind: SpliceParted, Name: name, Text: titled(name+" parted", o.Title()), edges: s.edgesOf(own)}), true
	case o.Part != nil:
		return s.partCase(o.Part), true
	}
	return Case{}, false
}

func (s *Study) owns(o *model.Owner, pin model.PinID) bool { return s.netlist.Pin(pin).Owner == o }

func (s *Study) partCase(p *model.Part) Case {
	if c, ok := s.fuseCase(p); ok {
		return c
	}
	if c, ok := s.groundCase(p); ok {
		return c
	}
	kind := PartOut
	if len(p.Inside.Coils) > 0 {
		kind = RelayOut
	}
	edges := s.edgesOf(func(e *graph.Edge) bool { return e.Part == p })
	return s.finish(Case{Kind: kind, Name: p.Name.Text, Text: titled(p.Name.Text+" out", p.Title.Text), edges: edges, part: p})
}

// Without solves every state with one thing missing and tells what changes, state by state; one state only when it is named.
func (s *Study) Without(c Case, state string) []Loss {
	s.prepare()
	losses := make([][]Loss, len(s.bases))
	s.each(len(s.bases), func(i int) {
		if b := s.bases[i]; state == "" || b.cond.Name() == state {
			sol := s.circuit.Solve(b.cond, circuit.Options{Open: c.opener(), From: b.sol})
			losses[i] = s.losses(&c, b, s.observe(sol, setting{cond: b.cond, open: c.feedOpener()}))
		}
	})
	return slices.Concat(losses...)
}

func (s *Study) losses(c *Case, b *base, after observation) []Loss {
	var out []Loss
	for i := range s.elements {
		e := &s.elements[i]
		l := Loss{What: e.name, Part: e.part.Name.Text, State: b.cond.Name(), Assumed: s.assumed[e.part]}
		l.Before, l.After = math.Abs(across(b.sol, e.a, e.b)), math.Abs(across(after.sol, e.a, e.b))
		if c.part == e.part || c.Name == e.part.Name.Text {
			l.After = 0 // it is not there any more
		}
		l.Sneak = l.After > liveVolts && !after.feed.proper(e.a, e.b) && b.feed.proper(e.a, e.b) || l.Before <= liveVolts && !after.feed.proper(e.a, e.b)
		switch {
		case e.sort == coilLoad && slices.Contains(after.sol.Cycle, e.part):
			l.Change = Chatters
		case l.Before > liveVolts && l.After <= liveVolts:
			l.Change = Dead
		case l.Before > liveVolts && l.After < degradedShare*l.Before:
			l.Change = Degraded
		case l.Before <= liveVolts && l.After > liveVolts:
			l.Change = NewlyLive
		default:
			continue
		}
		out = append(out, l)
	}
	return out
}
