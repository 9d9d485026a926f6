package signals

import (
	"math"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "input-volts", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "an input gets more volts than it stands",
	Doc: `In the vehicle the input dies, at once or after weeks, and often the rest of the controller with it: a lamp line of 12 V on a logic
input, a sensor that is fed with 12 V on an input for 5 V. The rule solves every state of the file and holds the volts at each
terminal that states highest = "..." against that; and it compares highest with the pull-up of whatever else is on the net.

Put a divider or a relay between, or choose an input that is made for battery voltage. Up to 5 per cent above the stated value stay
silent, since a reference has its tolerance. A divider or a resistor that the file writes is computed with. What
a converter or a charger feeds is not judged, since no file can say how many volts such a source holds. Where an input of a
module sees more than 6 V and the file does not say what it stands, the summary says so.`,
	Sources: []string{
		"the sheet of the module",
		"ISO 16750-2: a 12 V system works from 9 to 16 V (from memory)",
	},
	Bad: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "5 A" }
A1 = { kind = "module", pins = ["5", "6"], pin.5 = { role = "input", highest = "5 V" }, pin.6.role = "ground" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "18 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "A1:5", size = "18 AWG", length = "1 m" }
W3 = { from = "A1:6", to = "BAT1:-", size = "18 AWG", length = "1 m" }
`,
	Good: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "5 A" }
A1 = { kind = "module", pins = ["5", "6"], pin.5 = { role = "input", highest = "24 V" }, pin.6.role = "ground" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "18 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "A1:5", size = "18 AWG", length = "1 m" }
W3 = { from = "A1:6", to = "BAT1:-", size = "18 AWG", length = "1 m" }
`,
	Settings: []rules.Setting{{Key: "asked-above", Dim: unit.Voltage, Default: 6, Doc: "the volts at an input from which the file is asked what the input stands: an input for a sensor of 5 V never has as many (common practice)"}},
	Run: func(p *rules.Pass) {
		worst, vague := highestVolts(p), vagueSupplies(p)
		for i := range p.Netlist.Pins {
			pin := &p.Netlist.Pins[i]
			at := worst[i]
			switch {
			case !p.Graph.Reached(pin.ID) || vague[p.Fed(pin.ID)]:
			case pin.Highest.IsSet():
				inputVolts(p, pin, at)
			case isInput(pin) && at.volts > p.Setting("asked-above"):
				p.Lacks("highest voltage of an input", `add highest = "16 V" to the terminal, as its sheet says`, pin.Span, pin.String())
			}
		}
	},
})

// A reading is the most volts of a terminal, and the state that has them.
type reading struct {
	volts float64
	state string
}

// highestVolts returns the most volts of each terminal over the states whose solution can be trusted.
func highestVolts(p *rules.Pass) []reading {
	worst := make([]reading, len(p.Netlist.Pins))
	for _, report := range p.Reports() {
		s := report.Solution
		if s == nil || !trusted(s) {
			continue
		}
		for i, v := range s.Volts {
			if !math.IsNaN(v) && math.Abs(v) > worst[i].volts {
				worst[i] = reading{math.Abs(v), s.State}
			}
		}
	}
	return worst
}

// vagueSupplies are the sets of terminals that a source feeds of which the file cannot say how many volts it holds: a
// converter, a charger, solar modules. The circuit takes the voltage of a generator for them, which judges nothing.
func vagueSupplies(p *rules.Pass) map[int32]bool {
	vague := map[int32]bool{}
	for _, part := range p.Netlist.Parts {
		switch part.Kind.Name {
		case "battery", "alternator", "dynamo":
			continue
		}
		for _, s := range part.Inside.Sources {
			if live, _ := p.Poles(s); live != model.NoPin && !p.Grounded(live) {
				vague[p.Fed(live)] = true
			}
		}
	}
	return vague
}

// trusted reports whether the numbers of a solution mean anything.
func trusted(s *circuit.Solution) bool {
	return s.Err == nil && s.Settled && len(s.Cycle) == 0 && len(s.Race) == 0
}

// isInput reports whether a terminal is an input of a module.
func isInput(pin *model.Pin) bool {
	part := pin.Owner.Device()
	return part != nil && part.Kind.Name == "module" && (pin.Role == catalog.Input || pin.Role == catalog.Signal)
}

func inputVolts(p *rules.Pass, pin *model.Pin, at reading) {
	const tolerance = 1.05
	most := pin.Highest.Value * tolerance
	if at.volts > most {
		span, wires := spanAt(p, pin.ID)
		d := p.Report(span, append([]string{pin.String()}, wires...), "%s gets %.1f V in state %s, and stands %s", pin, at.volts, at.state, unit.Volt(pin.Highest.Value))
		d.Help = "put a divider between, or take another input"
		d.Related = []diag.Related{{Span: pin.Highest.Span, Message: "what it stands"}}
		return
	}
	for _, id := range others(p, pin.ID) {
		o := p.Netlist.Pin(id)
		if o.PullUp.IsSet() && o.PullUp.Value > most {
			span, wires := spanAt(p, pin.ID)
			d := p.Report(span, append([]string{pin.String(), o.String()}, wires...), "%s is pulled up to %s by %s, and stands %s", pin, unit.Volt(o.PullUp.Value), o, unit.Volt(pin.Highest.Value))
			d.Help = "part the two, or take an input with the same pull-up"
			d.Related = []diag.Related{{Span: o.PullUp.Span, Message: "the pull-up"}, {Span: pin.Highest.Span, Message: "what it stands"}}
			return
		}
	}
}
