package sizing

import (
	"cmp"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/model"
)

// leastAmps is the current below which a branch counts as carrying nothing: 10 microamperes, far below what sizes anything
// and above the rounding of the solution.
const leastAmps = 1e-5

// A flow is the path of one consumer's current in one state: how much of it each branch carries.
type flow struct {
	consumer int     // index of the branch
	amps     float64 // of the consumer
	duty     float64 // 0 to 1
	onTime   float64 // seconds that it is on at a time; +Inf when that is long, 0 when it is short
	parts    []share // in ascending order of branch
}

// A share is what a branch carries of a consumer's current.
type share struct {
	branch int
	amps   float64
}

// A tracer follows currents through one solution.
type tracer struct {
	c    *circuit.Circuit
	s    *circuit.Solution
	at   [][]int      // branches by terminal
	post []bool       // by terminal: a pole of a battery, where a loop ends
	in   [2][]float64 // by terminal: the sum of currents that arrive (0) and leave (1)
}

// branchesAt lists the branches at every terminal.
func branchesAt(c *circuit.Circuit) [][]int {
	at := make([][]int, len(c.Netlist.Pins))
	for i := range c.Branches {
		b := &c.Branches[i]
		at[b.A] = append(at[b.A], i)
		at[b.B] = append(at[b.B], i)
	}
	return at
}

// posts marks the poles of the batteries.
func posts(c *circuit.Circuit) []bool {
	post := make([]bool, len(c.Netlist.Pins))
	for i := range c.Branches {
		if b := &c.Branches[i]; b.Supplies() && b.Part != nil && b.Part.Kind.Name == "battery" {
			post[b.A], post[b.B] = true, true
		}
	}
	return post
}

func newTracer(c *circuit.Circuit, s *circuit.Solution, at [][]int, post []bool) *tracer {
	t := &tracer{c: c, s: s, at: at, post: post}
	for d := range t.in {
		t.in[d] = make([]float64, len(at))
	}
	for i := range c.Branches {
		if a := math.Abs(s.Amps[i]); a >= leastAmps {
			t.in[0][t.end(i, true)] += a
			t.in[1][t.end(i, false)] += a
		}
	}
	return t
}

// end is the terminal at which the current of a branch arrives, or the one that it leaves.
func (t *tracer) end(branch int, arrives bool) model.PinID {
	b := &t.c.Branches[branch]
	if (t.s.Amps[branch] > 0) == arrives {
		return b.B
	}
	return b.A
}

// flows returns the flow of every consumer that is on, in the order of the branches.
func (t *tracer) flows() []flow {
	var flows []flow
	for i := range t.c.Branches {
		b := &t.c.Branches[i]
		if amps := math.Abs(t.s.Amps[i]); b.Consumes() && amps >= leastAmps {
			f := flow{consumer: i, amps: amps, duty: duty(b), onTime: b.OnTime()}
			f.parts = t.follow(t.end(i, false), amps, true, -1)
			f.parts = append(f.parts, t.follow(t.end(i, true), amps, false, t.converter(f.parts))...)
			if t.flashes(f.parts) {
				f.duty *= flashShare
				f.onTime = 0
			}
			if t.pulsed(f.parts) {
				f.onTime = 0
			}
			slices.SortFunc(f.parts, func(a, b share) int { return cmp.Compare(a.branch, b.branch) })
			flows = append(flows, f)
		}
	}
	return flows
}

// startShare is the share of the time for which a starter is taken to run: 30 s (see circuit.Branch.OnTime), then 2 minutes of rest, the usual advice of
// owner's manuals; common practice.
const startShare = 0.2

// flashShare is the share of the time that a flasher is on; common practice, and the middle of what lighting rules allow.
const flashShare = 0.5

// flashes reports whether a current comes through a flasher.
func (t *tracer) flashes(parts []share) bool {
	return slices.ContainsFunc(parts, func(p share) bool {
		part := t.c.Branches[p.branch].Part
		return part != nil && part.Kind.Name == "flasher"
	})
}

// duty is the share of the time that a consumer is on.
func duty(b *circuit.Branch) float64 {
	if b.Load != nil && b.Load.Spec.Duty.IsSet() {
		return min(max(b.Load.Spec.Duty.Value, 0), 1)
	}
	if b.Cranks() {
		return startShare
	}
	return 1
}

// pulsed reports whether a current goes through an output that switches many times a second.
func (t *tracer) pulsed(parts []share) bool {
	return slices.ContainsFunc(parts, func(p share) bool {
		b := &t.c.Branches[p.branch]
		return b.IsOutput() && t.c.Netlist.Pin(b.A).Pulsed.On
	})
}

// follow traces a current from a terminal against its direction (upstream) to where it comes from, or along its direction to
// where it goes, as far as the poles of a battery or another source. Potential only rises upstream, so terminals are taken in
// the order of their potential and each is left once with all that reached it. What a converter feeds goes back into it and what it
// does not feed goes past, where its output shares a terminal with its input; converter is the branch that feeds, -1 for none.
func (t *tracer) follow(from model.PinID, amps float64, upstream bool, converter int) []share {
	demand := map[model.PinID]float64{from: amps}
	open := []model.PinID{from}
	var parts []share
	for steps := 0; len(open) > 0 && steps < len(t.at); steps++ {
		pin := t.next(&open, upstream)
		d := demand[pin]
		delete(demand, pin)
		sum := t.in[1][pin]
		if upstream {
			sum = t.in[0][pin]
		}
		passes := t.passing(pin, upstream, converter, &sum)
		if t.post[pin] || sum < leastAmps {
			continue
		}
		for _, i := range t.at[pin] {
			a := math.Abs(t.s.Amps[i])
			if a < leastAmps || t.end(i, upstream) != pin || !passes(i) {
				continue
			}
			part := d * a / sum
			if part < leastAmps/10 {
				continue
			}
			parts = append(parts, share{i, part})
			if t.c.Branches[i].Supplies() {
				continue
			}
			other := t.end(i, !upstream)
			if _, waits := demand[other]; !waits {
				open = append(open, other)
			}
			demand[other] += part
		}
	}
	return parts
}

// converter is the converter among the branches that a consumer is fed over; -1 for none.
func (t *tracer) converter(parts []share) int {
	for _, p := range parts {
		if t.c.Branches[p.branch].IsConverter() {
			return p.branch
		}
	}
	return -1
}

// passing says which of the branches at a terminal a current goes back over, and takes the others off the sum: of a converter's output
// there is only what that converter feeds.
func (t *tracer) passing(pin model.PinID, upstream bool, converter int, sum *float64) func(branch int) bool {
	if upstream {
		return func(int) bool { return true }
	}
	own, others, into := false, 0.0, 0.0
	for _, i := range t.at[pin] {
		if b := &t.c.Branches[i]; b.IsConverter() && t.end(i, false) == pin {
			if a := math.Abs(t.s.Amps[i]); i == converter {
				own, into = true, a
			} else {
				others += a
			}
		}
	}
	if own {
		*sum = into
		return func(i int) bool { return i == converter }
	}
	*sum -= others
	return func(i int) bool { return !t.c.Branches[i].IsConverter() }
}

// next takes the open terminal of the lowest potential (upstream) or the highest (downstream) off the list.
func (t *tracer) next(open *[]model.PinID, upstream bool) model.PinID {
	best := 0
	for i, pin := range *open {
		if d := t.s.Volts[pin] - t.s.Volts[(*open)[best]]; upstream && d < 0 || !upstream && d > 0 {
			best = i
		}
	}
	pin := (*open)[best]
	*open = slices.Delete(*open, best, best+1)
	return pin
}

// effective returns the effective value of the current of every branch: the root of the mean square over the duty of the
// consumers, as far as their pulses are short against the time that the branch takes to get warm. Those that pulse are taken as being on together, which is the safe side. What no consumer accounts for flows all
// the time.
func effective(c *circuit.Circuit, s *circuit.Solution, flows []flow) []float64 {
	type pulse struct{ amps, duty float64 }
	// Those of branch i are all[starts[i]:starts[i+1]], in the order of the flows.
	starts := make([]int32, len(s.Amps)+1)
	for _, f := range flows {
		for _, p := range f.parts {
			starts[p.branch+1]++
		}
	}
	for i := 1; i < len(starts); i++ {
		starts[i] += starts[i-1]
	}
	all, next := make([]pulse, starts[len(s.Amps)]), slices.Clone(starts)
	for _, f := range flows {
		for _, p := range f.parts {
			share := f.duty
			if share < 1 {
				share = circuit.WarmingShare(f.duty, f.onTime, c.Branches[p.branch].ThermalTau())
			}
			all[next[p.branch]] = pulse{p.amps, share}
			next[p.branch]++
		}
	}
	rms := make([]float64, len(s.Amps))
	for i := range rms {
		list := all[starts[i]:starts[i+1]]
		rest := math.Abs(s.Amps[i])
		sum := 0.0
		for _, p := range list {
			sum += p.amps
		}
		scale := 1.0
		if sum > rest {
			scale = rest / sum // consumers in series account for one current twice
		}
		slices.SortFunc(list, func(a, b pulse) int { return cmp.Compare(a.duty, b.duty) })
		// From the shortest pulse to the longest: all are on at first, then one after the other goes off.
		on, mean, since := rest, 0.0, 0.0
		for _, p := range list {
			mean += on * on * (p.duty - since)
			if p.duty < 1 {
				on -= p.amps * scale
			}
			since = p.duty
		}
		if mean += on * on * (1 - since); mean > 0 {
			rms[i] = math.Sqrt(mean)
		}
	}
	return rms
}
