package circuit

import (
	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// What the studies of faults and sneak paths ask of a branch without a solution at hand.

// ClosedOhms returns the resistance in ohm of a branch that passes current on without doing work: a wire with its two
// connections at the given conductor temperature, a fuse, a closed contact, a joint, a diode the right way round. It is
// false for what uses or makes current: consumers, coils, sources and outputs.
func (b *Branch) ClosedOhms(celsius unit.Celsius) (ohms float64, passes bool) {
	switch b.law {
	case fixed, switching, oneWay:
		return b.Ohms, true
	case wired:
		return conductor.ResistanceAt(b.Ohms, celsius, b.metal) + b.ends, true
	}
	return 0, false
}

// IsBattery reports whether the branch is a battery: Volts is then its open-circuit voltage when charged and Ohms its inner
// resistance.
func (b *Branch) IsBattery() bool { return b.law == supplying && b.source == batterySource }

// IsGenerator reports whether the branch is a generator that charges in some states.
func (b *Branch) IsGenerator() bool { return b.law == supplying && b.source == generatorSource }

// IsConverter reports whether the branch is a source that is fed at other terminals of its part.
func (b *Branch) IsConverter() bool { return b.converter() }

// IsOutput reports whether the branch is an output of a module; A is its pin, and B the ground or supply that it joins to.
func (b *Branch) IsOutput() bool { return b.law == driving }

// IsConsumer reports whether the branch uses current: a load or what a module takes at a pin, but no coil.
func (b *Branch) IsConsumer() bool { return b.law == consumer }

// IsCoil reports whether the branch is the winding of a relay.
func (b *Branch) IsCoil() bool { return b.law == winding }

// IsMotorOfStarter reports whether the branch is the motor of a starter, which runs while its terminal 50 is live.
func (b *Branch) IsMotorOfStarter() bool { return b.law == consumer && b.control >= 0 }

// RatedAmps is the current in ampere that a consumer or a coil takes at the voltage that it is rated for; 0 when it is not known
// or the branch is neither.
func (c *Circuit) RatedAmps(b *Branch) float64 {
	switch {
	case b.law == winding && b.Ohms > 0:
		return b.scaleAt(runningVolts) / b.Ohms
	case b.law != consumer || b.spec.Run.Value <= 0:
		return 0
	}
	switch b.spec.Run.Dim {
	case unit.Current:
		return b.spec.Run.Value
	case unit.Power:
		return b.spec.Run.Value / b.nominal
	}
	return b.scaleAt(runningVolts) / b.spec.Run.Value
}

// PoweredVolts is the supply in volt below which a controller is taken to drive nothing; common practice.
func (c *Circuit) PoweredVolts() float64 { return c.scale(poweredVolts) }

// PoweredBetween is PoweredVolts of what lies between two terminals: behind a converter, or on a tap between batteries, the system has
// another voltage than the harness.
func (c *Circuit) PoweredBetween(a, b model.PinID) float64 {
	return poweredVolts * c.nominalBetween(a, b) / nominalVolts
}
