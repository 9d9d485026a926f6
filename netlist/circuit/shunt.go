package circuit

import (
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// shuntOhms is the resistance below which a resistor is a conductor and no consumer: the shunt of an ammeter has a few milliohms. A
// dead 12 V short over 0.1 ohm is 120 A, which opens every fuse for small circuits and is dangerous behind every larger one. Chosen here.
const shuntOhms = 0.1

// Shunt reports whether an edge is a resistor that is too small to limit a short or to do work: a conductor with resistance, such as
// the shunt of an ammeter. One whose resistance is not stated is none.
func Shunt(e *graph.Edge) bool {
	if e == nil || e.Kind != graph.Resistor {
		return false
	}
	ohms := e.Part.Inside.Resistors[e.Index].Ohms
	return ohms.IsSet() && ohms.Value < shuntOhms
}

// InSeries reports whether a pole of a battery lies between two batteries in series.
func (c *Circuit) InSeries(pin model.PinID) bool { return c.between[pin] }

// Limits reports whether what lies between the ends of an edge limits the current of a short by itself: a load, a coil, or a resistor
// that is no Shunt.
func Limits(e *graph.Edge) bool {
	switch e.Kind {
	case graph.Load, graph.Coil:
		return true
	case graph.Resistor:
		return !Shunt(e)
	}
	return false
}
