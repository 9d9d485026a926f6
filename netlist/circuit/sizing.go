package circuit

import (
	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/unit"
)

// Metres is the length of a wire branch; 0 for others.
func (b *Branch) Metres() unit.Metre { return unit.Metre(b.metres) }

// Ambient is the hottest ambient temperature along a wire branch, or around a coil.
func (b *Branch) Ambient() unit.Celsius { return b.ambient }

// Insulation is the temperature class of a wire branch.
func (b *Branch) Insulation() unit.Celsius { return b.class }

// Metal is what the conductor of a wire branch is made of.
func (b *Branch) Metal() conductor.Metal { return b.metal }

// EndOhms is the resistance of the two connections of a wire branch.
func (b *Branch) EndOhms() unit.Ohm { return unit.Ohm(b.ends) }

// Consumes reports whether the current of the branch does something there: a load, a coil, a resistor that is no Shunt, what a module
// takes. All other branches that are no sources hand current on.
func (b *Branch) Consumes() bool {
	return b.law == consumer || b.law == winding || b.Edge != nil && b.Edge.Kind == graph.Resistor && !Shunt(b.Edge)
}

// Supplies reports whether the branch is a source.
func (b *Branch) Supplies() bool { return b.law == supplying }

// Cranks reports whether the branch is the motor of a starter, which runs for seconds only.
func (b *Branch) Cranks() bool {
	return b.Part != nil && b.Part.Kind.Name == "starter" && b.law == consumer
}

// ZoneCelsius is the ambient temperature around a fuse, relay or other part that is not a wire; false when its place or
// zone states none, and a room's is given.
func (c *Circuit) ZoneCelsius(b *Branch) (unit.Celsius, bool) {
	if b.Part == nil || b.Part.Owner == nil {
		return roomCelsius, false
	}
	return zoneCelsius(b.Part.Owner.Place())
}
