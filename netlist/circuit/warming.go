package circuit

import (
	"math"
	"slices"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// startTime is how long a starter runs at a time, in seconds; common practice.
const startTime = 30

// hornTime is how long a horn sounds at a time, in seconds; common practice, on the safe side.
const hornTime = 3

// OnTime is how long a consumer is on at a time, in seconds. Where the file does not say, what opens and closes with the engine or by
// pulses is short, and everything else is long: a fan, a pump, a brake lamp or a socket stays on for minutes.
func (b *Branch) OnTime() float64 {
	switch {
	case b.Load != nil && b.Load.Spec.OnTime.IsSet():
		return b.Load.Spec.OnTime.Value
	case b.Cranks():
		return startTime
	case b.Part == nil || b.Load == nil:
		return 0
	}
	switch b.Part.Kind.Name {
	case "horn":
		return hornTime
	case "injector", "ignition coil", "solenoid", "two-wire sensor", "three-wire sensor", "bridge sensor":
		return 0
	}
	if b.Part.Function.Text == "ignition" || b.Load.Function.Text == "ignition" {
		return 0
	}
	return math.Inf(1)
}

// WarmingShare is the share of the time that counts for heat, of a consumer that is on for onTime seconds at a time with a duty, in
// something with a thermal time constant tau in seconds: how near the heat of a pulse train comes, at its peaks, to that of a
// current that is always on. It is the duty for short pulses and 1 for long ones. (First-order warming and cooling; the peak of
// a periodic pulse is (1 - exp(-on/tau)) / (1 - exp(-period/tau)).)
func WarmingShare(duty, onTime, tau float64) float64 {
	switch {
	case duty <= 0 || duty >= 1 || onTime <= 0 || math.IsInf(tau, 1):
		return duty
	case math.IsInf(onTime, 1):
		return 1
	}
	return math.Expm1(-onTime/tau) / math.Expm1(-onTime/duty/tau)
}

// ThermalTau is the thermal time constant of a branch in seconds: without end for what is no wire, since the share of its rating that a
// fuse carries for good is meant for hours, and one that is loaded beyond it for minutes only gets warm. Of wires in air: 45 s for 20 AWG, 90 s for 14, 150 s for 10, 600 s for
// 2 AWG (estimates of the trade), between them by the power of the area.
func (b *Branch) ThermalTau() float64 {
	if b.Wire == nil || !b.Wire.Size.IsSet() {
		return math.Inf(1)
	}
	table := [...]struct {
		size    unit.Size
		seconds float64
	}{{unit.AWG(20), 45}, {unit.AWG(14), 90}, {unit.AWG(10), 150}, {unit.AWG(2), slowestTau}}
	at := 0
	for at < len(table)-2 && b.Wire.Size.AreaMM2() > table[at+1].size.AreaMM2() {
		at++
	}
	low, high := table[at], table[at+1]
	power := math.Log(high.seconds/low.seconds) / math.Log(high.size.AreaMM2()/low.size.AreaMM2())
	return low.seconds * math.Pow(b.Wire.Size.AreaMM2()/low.size.AreaMM2(), power)
}

// slowestTau is the thermal time constant of the thickest wires of ThermalTau, in seconds: with it what is on for a stated time warms no
// wire more than it does in truth.
const slowestTau = 600

// solveWarm is SolveMean with what is on for long at a time as it warms wires: a fan that runs for half an hour warms its wire as if it
// were always on. mean is what SolveMean gives; it is returned where nothing is on for long.
func (c *Circuit) solveWarm(cond *graph.Condition, o Options, on, mean *Solution) *Solution {
	o.warm = map[*Branch]float64{}
	for i := range c.Branches {
		b := &c.Branches[i]
		if b.law != consumer || b.duty >= 1 || math.Abs(on.Amps[i]) < leastAmps || on.interrupted(i) {
			continue
		}
		if share := WarmingShare(b.duty, b.OnTime(), slowestTau); share > b.duty {
			o.warm[b] = share
		}
	}
	if len(o.warm) == 0 {
		return mean
	}
	if o.From == nil {
		o.From = on
	}
	return c.SolveMean(cond, o)
}

// interrupted reports whether the current of a consumer comes through a flasher, or through an output that switches many times a second:
// then its pulses are short however long it is on.
func (s *Solution) interrupted(branch int) bool {
	c := s.Circuit
	short := func(i int) bool {
		b := &c.Branches[i]
		return b.flasher() || b.IsOutput() && c.Netlist.Pin(b.A).Pulsed.On
	}
	b := &c.Branches[branch]
	for _, end := range [...]struct {
		at   model.PinID
		sign float64
	}{{b.A, 1}, {b.B, -1}} {
		if s.Amps[branch] < 0 {
			end.sign = -end.sign
		}
		_, source, way, _ := s.chain(end.at, branch, end.sign)
		if source >= 0 && short(source) || slices.ContainsFunc(way, short) {
			return true
		}
	}
	return false
}
