package sizing

import (
	"strings"

	"ferrule/netlist/circuit"
	"ferrule/netlist/unit"
)

// A budget is what a load may lose: on its own wires and contacts (the target), and on the whole loop from the battery's posts
// and back (the limit). Whole budgets hold both against the loop.
type budget struct {
	class         string
	target, limit unit.Volt
	whole         bool
}

// practice is the source of all budgets.
const practice = "common practice for 12 V"

// Budgets for 12 V by class; other voltages scale. Common practice, except control, whose values are from memory of a
// handbook of automotive engineering (testdata/reference/voltage-drop-limits.csv).
var budgets = map[string]budget{
	"controller supply": {target: 0.3, limit: 0.5},
	"valve or heater":   {target: 0.5, limit: 0.75},
	"ignition coil":     {target: 0.65, limit: 0.75},
	"pump":              {target: 0.6, limit: 0.8},
	"head lamp":         {target: 0.5, limit: 0.7},
	"fan":               {target: 0.5, limit: 0.8},
	"blower or wiper":   {target: 0.75, limit: 1.0},
	"lamp":              {target: 0.8, limit: 1.2},
	"accessory":         {target: 0.9, limit: 1.2},
	"control":           {target: 0.5, limit: 1.5},
	"starter":           {target: 0.5, limit: 0.8, whole: true},
}

// budgetOf returns the budget of a consumer; false when none applies, as for resistors and sensors.
func budgetOf(c *circuit.Circuit, b *circuit.Branch) (budget, bool) {
	class := classOf(b)
	out, ok := budgets[class]
	scale := unit.Volt(c.Netlist.Harness.Volts / 12)
	out.class, out.target, out.limit = class, out.target*scale, out.limit*scale
	return out, ok
}

// classOf goes by the kind of the part; motors are told apart by the words of their title, since a kind "fan" or "pump" is none
// of the language's. What cannot be told is an accessory.
func classOf(b *circuit.Branch) string {
	if b.Part == nil || b.Edge != nil && b.Load == nil {
		if b.Part != nil && b.Edge != nil && len(b.Part.Inside.Coils) > 0 {
			return "control"
		}
		return ""
	}
	switch kind := b.Part.Kind; kind.Name {
	case "starter":
		if b.Load == nil {
			return "starter"
		}
		return "control"
	case "injector", "solenoid", "heater":
		return "valve or heater"
	case "ignition coil":
		return "ignition coil"
	case "lamp":
		return lampClass(b)
	case "motor":
		return motorClass(b)
	case "module":
		return "controller supply"
	case "horn", "socket outlet", "device", "gauge":
		return "accessory"
	default:
		return ""
	}
}

// headLampWatts is the power from which a lamp is a head lamp: 45/40 W are the smallest.
const headLampWatts = 40

func lampClass(b *circuit.Branch) string {
	if run := b.Load.Spec.Run; run.Dim == unit.Power && run.Value >= headLampWatts {
		return "head lamp"
	}
	return "lamp"
}

func motorClass(b *circuit.Branch) string {
	title := strings.ToLower(b.Part.Title.Text + " " + b.Load.Title.Text)
	for _, w := range []struct{ word, class string }{
		{"washer", "accessory"}, {"fan", "fan"}, {"blower", "blower or wiper"}, {"wiper", "blower or wiper"}, {"heater", "blower or wiper"}, {"pump", "pump"},
	} {
		if strings.Contains(title, w.word) {
			return w.class
		}
	}
	return "accessory"
}
