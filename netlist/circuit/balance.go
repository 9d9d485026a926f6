package circuit

import (
	"math"

	"ferrule/netlist/graph"
)

// A Balance sets what a state takes, in the mean over time, against what its sources can deliver. All currents in ampere.
type Balance struct {
	Charging  bool
	Demand    float64 // of all consumers together, while the generator turns at speed or, without it, of the battery
	Generator float64 // that it delivers at speed
	Others    float64 // that further sources deliver: a solar controller, a converter
	Output    float64 // that it can deliver at speed; 0 when not stated
	Battery   float64 // that the battery delivers; negative while it is charged

	IdleKnown  bool    // an idle output is stated
	IdleDemand float64 // of all consumers at idle, where the volts may be fewer
	IdleOutput float64 // that the generator can deliver at idle
	IdleSpare  float64 // what is left of it; negative for a deficit
	IdleHours  float64 // until the battery is half empty with that deficit; +Inf without one

	Capacity float64 // of the batteries, ampere hours; 0 when not stated
	Hours    float64 // without a generator: until the battery is half empty; +Inf when it delivers nothing, or its capacity is not known
	Days     float64 // likewise for a rest drain: until 30 % of the capacity are used
}

// Balance weighs a state. Hours count to half the 20 hour capacity, days of rest from 80 to 50 % of it: common practice.
func (c *Circuit) Balance(cond *graph.Condition, o Options) Balance {
	b := Balance{Charging: o.charges(cond), Hours: math.Inf(1), Days: math.Inf(1), IdleHours: math.Inf(1)}
	b.Capacity = c.capacity()
	mean := c.SolveMean(cond, o)
	b.Generator, b.Others, b.Battery = c.delivered(mean)
	b.Demand = b.Generator + b.Others + b.Battery
	b.Output, b.IdleOutput = c.outputs()
	if hours := c.hoursToEmpty(mean); hours > 0 {
		b.Hours, b.Days = 0.5*hours, 0.3*hours/24
	}
	if b.Charging && b.IdleOutput > 0 && b.Generator > 0 {
		o.Idle = true
		generator, others, battery := c.delivered(c.SolveMean(cond, o))
		b.IdleKnown, b.IdleDemand = true, generator+others+battery
		b.IdleSpare = b.IdleOutput - b.IdleDemand
		if battery > 0 && b.Capacity > 0 {
			b.IdleHours = 0.5 * b.Capacity / battery
		}
	}
	return b
}

// roundingAmps is the current below which a source delivers nothing but rounding.
const roundingAmps = 1e-7

// delivered sums what generators, further sources and batteries deliver; batteries in series deliver their current once.
func (c *Circuit) delivered(s *Solution) (generators, others, batteries float64) {
	defer func() {
		for _, sum := range [...]*float64{&generators, &others, &batteries} {
			if math.Abs(*sum) < roundingAmps {
				*sum = 0
			}
		}
	}()
	for i := range c.Branches {
		switch b := &c.Branches[i]; b.source {
		case generatorSource:
			generators -= s.Amps[i]
		case otherSource:
			if !b.converter() { // what it gives has been taken from another source
				others -= s.Amps[i]
			}
		case batterySource:
			batteries -= s.Amps[i] / float64(max(1, c.series[b.A]))
		}
	}
	return generators, others, batteries
}

// restAmps is the current below which a battery does not drain: it loses more by itself. Estimate.
const restAmps = 1e-5

// hoursToEmpty is how long the first bank to run down lasts on its whole capacity; 0 when none delivers, or its capacity is not known.
// Batteries that closed conductors join are one bank: one behind an open relay lends nothing to another. Of those in series the one
// at the live end counts, since one current flows in all of them.
func (c *Circuit) hoursToEmpty(s *Solution) float64 {
	sets := graph.NewSets(len(c.Netlist.Pins))
	for i := range c.Branches {
		if b := &c.Branches[i]; b.wiring() && s.On[i] {
			sets.Join(int32(b.A), int32(b.B))
		}
	}
	type bank struct{ amps, capacity float64 }
	banks := map[int32]bank{}
	for i := range c.Branches {
		b := &c.Branches[i]
		live := b.A
		if c.Netlist.Harness.PositiveGround {
			live = b.B
		}
		if !b.IsBattery() || c.between[live] {
			continue
		}
		k := banks[sets.Find(int32(live))]
		k.amps -= s.Amps[i]
		if v := b.Part.Value("capacity"); v != nil {
			k.capacity += v.Quantity.Value
		}
		banks[sets.Find(int32(live))] = k
	}
	shortest := math.Inf(1)
	for _, k := range banks {
		if k.amps > restAmps && k.capacity > 0 {
			shortest = min(shortest, k.capacity/k.amps)
		}
	}
	if math.IsInf(shortest, 1) {
		return 0
	}
	return shortest
}

// capacity sums the batteries; those in series have that of one.
func (c *Circuit) capacity() float64 {
	sum := 0.0
	for i := range c.Branches {
		if b := &c.Branches[i]; b.IsBattery() {
			if v := b.Part.Value("capacity"); v != nil {
				sum += v.Quantity.Value / float64(max(1, c.series[b.A]))
			}
		}
	}
	return sum
}

// outputs sums what generators can deliver, at speed and at idle.
func (c *Circuit) outputs() (speed, idle float64) {
	for _, p := range c.Netlist.Parts {
		if v := p.Value("output"); v != nil {
			speed += v.Quantity.Value
		}
		if v := p.Value("idle-output"); v != nil {
			idle += v.Quantity.Value
		}
	}
	return speed, idle
}
