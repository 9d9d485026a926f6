package circuit

import (
	"iter"
	"math"
	"slices"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A Drop says where the volts between a source and a consumer stay.
//
// The chain of a consumer leads from each of its terminals along the branch that carries the most of its current, to the
// posts of a battery or to what else feeds it. Loop is what wires and contacts lose between the posts and the terminals.
// Own is the part of it that belongs to this consumer: the elements next to it, on both sides, that carry its current and
// less than a ninth more. Inside is what outputs of modules, diodes, resistors and other consumers of the chain take; it is no
// matter of the wiring and in neither of the two.
type Drop struct {
	Volts             float64 // at the consumer
	Source            float64 // at the posts that feed it
	Loop, Own, Inside float64
	Out, Back         float64 // the parts of Loop on the way to the consumer and on the way back
	Supply, Return    []int   // branches of the chain, from the consumer outward

	Estimated, OwnEstimated float64 // of Loop and Own: on contacts and joints, whose resistances are estimates
	Guessed                 bool    // a wire of the chain is a guess of the file
}

// Chain goes over the branches of the chain: those of the supply, then those of the return, each from the consumer outward.
func (d *Drop) Chain() iter.Seq[int] {
	return func(yield func(int) bool) {
		for _, way := range [...][]int{d.Supply, d.Return} {
			for _, branch := range way {
				if !yield(branch) {
					return
				}
			}
		}
	}
}

// Passes reports whether the chain leads over a branch.
func (d *Drop) Passes(branch int) bool {
	return slices.Contains(d.Supply, branch) || slices.Contains(d.Return, branch)
}

// Feeder is what the consumer loses on wires and contacts that it shares.
func (d *Drop) Feeder() float64 { return d.Loop - d.Own }

// LoopMarked reports whether the loop drop rests on a guess, or on estimates for more than a tenth.
func (d *Drop) LoopMarked() bool { return d.Guessed || d.Estimated > estimatedShare*d.Loop }

// OwnMarked reports the same of the part that the consumer has to itself.
func (d *Drop) OwnMarked() bool { return d.Guessed || d.OwnEstimated > estimatedShare*d.Own }

// sharesUpTo is the current of an element, as a multiple of the consumer's, up to which it counts as the consumer's own.
const sharesUpTo = 1 / 0.9

// DropOf finds where the volts of a consumer stay; false when nothing feeds it.
func (s *Solution) DropOf(branch int) (Drop, bool) {
	c, amps := s.Circuit, s.Amps[branch]
	b := &c.Branches[branch]
	from, to := b.A, b.B
	if amps < 0 {
		from, to, amps = to, from, -amps
	}
	d := Drop{Volts: math.Abs(s.across[branch])}
	if amps < leastAmps {
		return d, false
	}
	plus, feeds, up, okUp := s.chain(from, branch, 1)
	minus, drains, down, okDown := s.chain(to, branch, -1)
	if !okUp || !okDown {
		return d, false
	}
	d.Supply, d.Return = up, down
	if feeds < 0 || drains < 0 || c.Branches[feeds].Part != c.Branches[drains].Part {
		// One side comes from a battery: the other counts from its posts too, and what the leads of a generator lose is not
		// the consumer's. Where a generator feeds it on both sides, its own terminals are the posts.
		plus, minus = s.post(feeds, plus, 1), s.post(drains, minus, -1)
	}
	d.Source = s.Volts[plus] - s.Volts[minus]
	if math.IsNaN(d.Source) {
		return d, false
	}
	s.addWay(&d, up, amps)
	d.Out = s.Volts[plus] - s.Volts[from] - d.Inside
	s.addWay(&d, down, amps)
	// On the lead that charges a battery a consumer can stand above the battery's posts: it then loses only what is its own.
	d.Loop = max(d.Source-d.Volts-d.Inside, d.Own)
	d.Back = d.Loop - d.Out
	if d.Source-d.Inside < d.Volts/2 {
		return d, false // it lies between two sources of one pole, as a charge lamp does: there is no loop to speak of
	}
	return d, true
}

// addWay adds what stays on one side of a consumer that takes amps.
func (s *Solution) addWay(d *Drop, way []int, amps float64) {
	own := true
	for _, i := range way {
		b := &s.Circuit.Branches[i]
		share := math.Abs(s.Amps[i]) / amps
		own = own && share < sharesUpTo && share > 1/sharesUpTo
		volts, estimated := math.Abs(s.across[i]), s.estimatedVolts(i)
		d.Guessed, d.Estimated = d.Guessed || b.GuessedWire(), d.Estimated+estimated
		switch {
		case !b.wiring():
			d.Inside += volts
		case own:
			d.Own, d.OwnEstimated = d.Own+volts, d.OwnEstimated+estimated
		}
	}
}

// leastAmps is the current below which a consumer is not at work.
const leastAmps = 1e-4

// protects reports whether the branch is a fuse, a breaker or a link.
func (b *Branch) protects() bool { return b.Edge != nil && b.Edge.Kind == graph.Protect }

// wiring reports whether the branch is a conductor or a contact.
func (b *Branch) wiring() bool {
	switch b.law {
	case wired, switching:
		return true
	case fixed:
		return b.Edge != nil && (b.Edge.Kind != graph.Resistor && b.Edge.Kind != graph.Load || Shunt(b.Edge))
	}
	return false
}

// chain follows the current from a terminal to the post of a source: against its direction for a sign of 1, with it for
// -1. It stops at the posts of batteries, also where the current goes on to a generator. source is the branch of what else it ends
// at, -1 for a battery.
func (s *Solution) chain(at model.PinID, branch int, sign float64) (post model.PinID, source int, way []int, ok bool) {
	c := s.Circuit
	starts, ends := c.adjacency()
	for range len(c.Branches) {
		next, most := -1, 0.0
		for _, i := range ends[starts[at]:starts[at+1]] {
			b := &c.Branches[i]
			into := sign * s.Amps[i]
			if b.A == at {
				into = -into
			}
			if b.IsBattery() && (sign > 0) == (b.A == at) {
				return at, -1, way, true
			}
			if int(i) != branch && into > most {
				next, most = int(i), into
			}
		}
		if next < 0 {
			return at, -1, way, false
		}
		b := &c.Branches[next]
		if b.law == supplying || b.law == consumer && b.Edge != nil && s.modes[next] == carries {
			return at, next, way, true
		}
		way, branch = append(way, next), next
		at = b.A + b.B - at
	}
	return at, -1, way, false
}

// post is the terminal that the volts of a source count from: those of a generator count from the battery that it charges.
func (s *Solution) post(source int, at model.PinID, sign float64) model.PinID {
	c := s.Circuit
	if source < 0 || c.Branches[source].source != generatorSource {
		return at
	}
	for i := range c.Branches {
		if b := &c.Branches[i]; b.IsBattery() && !math.IsNaN(s.Volts[b.A]) {
			if sign < 0 {
				return b.B
			}
			return b.A
		}
	}
	return at
}

// adjacency lists the branches at each terminal, in the order of Branches.
func (c *Circuit) adjacency() (starts []int32, ends []int32) {
	c.joints.once.Do(func() {
		starts := make([]int32, len(c.Netlist.Pins)+1)
		for i := range c.Branches {
			starts[c.Branches[i].A+1]++
			starts[c.Branches[i].B+1]++
		}
		for i := 1; i < len(starts); i++ {
			starts[i] += starts[i-1]
		}
		ends := make([]int32, 2*len(c.Branches))
		next := append([]int32(nil), starts...)
		for i := range c.Branches {
			for _, pin := range [...]model.PinID{c.Branches[i].A, c.Branches[i].B} {
				ends[next[pin]] = int32(i)
				next[pin]++
			}
		}
		c.joints.starts, c.joints.ends = starts, ends
	})
	return c.joints.starts, c.joints.ends
}
