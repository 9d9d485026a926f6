package rules

import (
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// IsSensor reports whether a part is a sensor or a sender.
func IsSensor(part *model.Part) bool {
	switch part.Kind.Name {
	case "two-wire sensor", "three-wire sensor", "bridge sensor", "inductive sensor", "gauge sender":
		return true
	}
	return false
}

// IsController reports whether a part measures or drives: a module with terminals for sensors or with outputs, or one whose
// function says so. A module with nothing but supply and a data bus is none, and neither is no part.
func (f *Facts) IsController(part *model.Part) bool {
	if part == nil {
		return false
	}
	if part.Function.Text == "controller" {
		return true
	}
	return part.Kind.Name == "module" && slices.ContainsFunc(part.Terminals(), func(id model.PinID) bool {
		switch f.Netlist.Pin(id).Role {
		case catalog.Return, catalog.Reference, catalog.Sink, catalog.Driver, catalog.HalfBridge, catalog.Signal:
			return true
		}
		return false
	})
}

// LoadAmps returns what a load takes in ampere at a voltage; false when the file does not say. A power counts at the nominal
// voltage, which it is rated at.
func (f *Facts) LoadAmps(spec model.LoadSpec, volts float64) (float64, bool) {
	switch run := spec.Run; {
	case !run.IsSet():
		return 0, false
	case run.Dim == unit.Current:
		return run.Value, true
	case run.Dim == unit.Power && f.Netlist.Harness.Volts > 0:
		return run.Value / f.Netlist.Harness.Volts, true
	case run.Dim == unit.Resistance && run.Value > 0:
		return volts / run.Value, true
	}
	return 0, false
}
