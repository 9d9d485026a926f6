package circuit

import (
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// shuntOhms is the resistance below which a resistor is a conductor and no consumer: the shunt of an ammeter has a few milliohms. A
// dead 12 V short over 0.1 ohm is 120 A, which opens every fuse for small circuits and is dangerous behind every larger one. Chosen here.
const shuntOhms = 0.1

// Shunt reports whether an edge is a resistor that is too small to limit a short or to do work: a conductor with resistance, such as
// the shunt of an ammeter. One whose resistance is not stated is none.
func Shunt(e *graph.Edge) bool {
	ohms, known := resistorOhms(e)
	return known && ohms < shuntOhms
}

// WeakeningOhms: a resistor below it, inside a part, is there to weaken what it feeds (a blower's speed) and not to cut it off.
const WeakeningOhms = 10

// Weakens reports whether an edge is such a resistor. One whose resistance is not stated is none.
func Weakens(e *graph.Edge) bool {
	ohms, known := resistorOhms(e)
	return known && e.Kind == graph.Resistor && ohms < WeakeningOhms
}

// resistorOhms is the resistance of a resistor, be it a part of its own or inside another one; false for what is none or states none.
func resistorOhms(e *graph.Edge) (float64, bool) {
	switch {
	case e == nil:
	case e.Kind == graph.Resistor:
		ohms := e.Part.Inside.Resistors[e.Index].Ohms
		return ohms.Value, ohms.IsSet()
	case e.Kind == graph.Load && e.Part.Kind.Name == "resistor":
		run := e.Part.Inside.Loads[e.Index].Spec.Run
		return run.Value, run.IsSet() && run.Dim == unit.Resistance
	}
	return 0, false
}

// InSeries reports whether a pole of a battery lies between two batteries in series.
func (c *Circuit) InSeries(pin model.PinID) bool { return c.between[pin] }

// Limits reports whether what lies between the ends of an edge limits the current of a short by itself: a load, a coil, or a resistor
// that is no Shunt.
func Limits(e *graph.Edge) bool {
	return (e.Kind == graph.Load || e.Kind == graph.Coil || e.Kind == graph.Resistor) && !Shunt(e)
}
