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

// LoadVolts is the voltage that a load nominally has, in volt: that of the harness, or of what feeds it behind a converter.
func (f *Facts) LoadVolts(l *model.Load) float64 { return f.Circuit().NominalBetween(l.A, l.B) }

// LoadAmps returns what a load takes in ampere at a voltage; false when the file does not say. A power counts at the voltage that
// the load nominally has, which it is rated at.
func (f *Facts) LoadAmps(l *model.Load, volts float64) (float64, bool) {
	switch run, nominal := l.Spec.Run, f.LoadVolts(l); {
	case !run.IsSet():
		return 0, false
	case run.Dim == unit.Current:
		return run.Value, true
	case run.Dim == unit.Power && nominal > 0:
		return run.Value / nominal, true
	case run.Dim == unit.Resistance && run.Value > 0:
		return volts / run.Value, true
	}
	return 0, false
}
