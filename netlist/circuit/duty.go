package circuit

import (
	"math"

	"ferrule/netlist/graph"
)

// flasherDuty is the share of the time that a flasher is on; common practice, within what UN Regulation 6 allows (from memory).
const flasherDuty = 0.5

// SolveMean solves for the means of currents and voltages over time: consumers that pulse take the mean of their current,
// and what lies behind a flasher is the mean of on and off. The result obeys Kirchhoff's laws, since means are linear.
// Mean currents are what a battery and a generator feel.
func (c *Circuit) SolveMean(cond *graph.Condition, o Options) *Solution {
	o.Mean = true
	if key, plain := keyOf(cond, &o); plain {
		key.overTime = true
		return c.kept(key, func() *Solution { return c.solveMean(cond, o) })
	}
	return c.solveMean(cond, o)
}

func (c *Circuit) solveMean(cond *graph.Condition, o Options) *Solution {
	on := c.Solve(cond, o)
	if on.Err != nil || !c.flashes(on) {
		return on
	}
	on = on.clone()
	open := o.Open
	o.Open = func(b *Branch) bool { return b.flasher() || open != nil && open(b) }
	o.From = on
	off := c.Solve(cond, o)
	if off.Err != nil {
		return off
	}
	blend := func(a, b []float64) {
		for i := range a {
			a[i] = flasherDuty*a[i] + (1-flasherDuty)*b[i]
		}
	}
	blend(on.Amps, off.Amps)
	blend(on.across, off.across)
	blend(on.Extra, off.Extra)
	for i, v := range off.Volts {
		if !math.IsNaN(v) && !math.IsNaN(on.Volts[i]) {
			on.Volts[i] = flasherDuty*on.Volts[i] + (1-flasherDuty)*v
		}
	}
	on.Settled = on.Settled && off.Settled
	on.Residual = max(on.Residual, off.Residual)
	return on
}

func (b *Branch) flasher() bool { return b.law == switching && b.Part.Kind.Name == "flasher" }

// flashes reports whether a flasher carries current.
func (c *Circuit) flashes(s *Solution) bool {
	for i := range c.Branches {
		if c.Branches[i].flasher() && math.Abs(s.Amps[i]) > reverseAmps {
			return true
		}
	}
	return false
}

// RMS is the root mean square of a current that pulses, from its peak and its mean, in ampere: what warms a wire. It is
// sqrt(peak mean), an upper bound for any current that stays between 0 and its peak, since then i*i <= peak*i at every
// moment; for a single consumer that is on or off it is exact: sqrt(duty) times its current. A current that changes its
// direction counts with its peak.
func RMS(peak, mean float64) float64 {
	if peak*mean <= 0 || math.Abs(mean) > math.Abs(peak) {
		return max(math.Abs(peak), math.Abs(mean))
	}
	return math.Sqrt(peak * mean)
}
