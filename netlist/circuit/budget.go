package circuit

import (
	"strings"

	"ferrule/netlist/unit"
)

// A Budget is what a consumer may lose between the posts of the battery and its terminals: Target on the wires and
// contacts that it has to itself, Limit on the whole loop. Whole budgets hold both against the loop.
type Budget struct {
	Class         string
	Target, Limit unit.Volt
	Whole         bool
}

// budgets are those of a 12 V system, by the words of the key `budget`; other voltages scale. Common practice.
var budgets = map[string]Budget{
	"controller": {Target: 0.3, Limit: 0.5},
	"valve":      {Target: 0.5, Limit: 0.75}, // injectors, valves, heaters
	"ignition":   {Target: 0.65, Limit: 0.75},
	"pump":       {Target: 0.6, Limit: 0.8},
	"headlamp":   {Target: 0.5, Limit: 0.7},
	"fan":        {Target: 0.5, Limit: 0.8},
	"blower":     {Target: 0.75, Limit: 1.0}, // blowers and wipers
	"lamp":       {Target: 0.8, Limit: 1.2},
	"accessory":  {Target: 0.9, Limit: 1.2}, // horn, radio, socket
	"starter":    {Target: 0.5, Limit: 0.8, Whole: true},
}

// BudgetOf returns the budget of a consumer; false for what has none: sensors, resistors, coils of relays, the solenoid of
// a starter. The part's own key `budget` goes first, then its kind; motors, which have one kind, go by their titles.
func (c *Circuit) BudgetOf(b *Branch) (Budget, bool) {
	class := classOf(b)
	out, ok := budgets[class]
	scale := unit.Volt(b.scaleAt(1))
	out.Class, out.Target, out.Limit = class, out.Target*scale, out.Limit*scale
	return out, ok
}

func classOf(b *Branch) string {
	if b.law != consumer || b.Part == nil || b.excites {
		return ""
	}
	if v := b.Part.Value("budget"); v != nil && v.Word.IsSet() && b.control < 0 {
		return v.Word.Text
	}
	switch b.Part.Kind.Name {
	case "starter":
		if b.control >= 0 {
			return "starter"
		}
	case "injector", "solenoid", "heater":
		return "valve"
	case "two-wire sensor": // the heater of an oxygen sensor; the cell takes next to nothing
		if b.spec.Run.Dim == unit.Current {
			return "valve"
		}
	case "ignition coil":
		return "ignition"
	case "lamp":
		if b.spec.Run.Dim == unit.Power && b.spec.Run.Value >= headLampWatts {
			return "headlamp"
		}
		return "lamp"
	case "motor":
		return motorClass(b)
	case "module":
		return "controller"
	case "horn", "socket outlet", "device", "gauge":
		return "accessory"
	}
	return ""
}

// headLampWatts is the power from which a lamp is a head lamp; the smallest have 40 W.
const headLampWatts = 40

func motorClass(b *Branch) string {
	title := strings.ToLower(b.Part.Title.Text)
	if b.Load != nil {
		title += " " + strings.ToLower(b.Load.Title.Text)
	}
	for _, w := range [...]struct{ word, class string }{
		{"washer", "accessory"}, {"fan", "fan"}, {"blower", "blower"}, {"wiper", "blower"}, {"heater", "blower"}, {"pump", "pump"},
	} {
		if strings.Contains(title, w.word) {
			return w.class
		}
	}
	return "fan" // the strictest of the motors
}
