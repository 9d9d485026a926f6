package switching

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
	Name: "reversed-supply", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "a device gets plus where minus belongs",
	Doc: `A module that is fed the wrong way round dies in the moment of switching on; a pump runs backwards and moves nothing; a fan blows
against the wind; an outlet kills what is plugged into it. The rule looks at the solved states and fires where what takes current
between two terminals gets its voltage the other way: where one of them has the role ground, or has the role supply and lies on ground,
or where a terminal says polarity = "+" or "-".

Exchange the two wires. Silent are lamps, heaters, coils and whatever else works either way round and so has neither a ground
terminal of its own nor a polarity; write polarity = "+" on the terminals of motors whose direction matters. Voltages below half of
the nominal one are left to the rules about sneak paths.`,
	Sources: []string{"common practice"},
	Bad:     reversed("W1", "W2"),
	Good:    reversed("W2", "W1"),
	Run: func(p *rules.Pass) {
		told := map[*model.Part]bool{}
		for _, r := range p.Reports() {
			if s := r.Solution; s.Settled && s.Err == nil {
				reversedIn(p, s, told)
			}
		}
	},
})

// reversed is an outlet on a battery; the first name of a wire goes to its plus.
func reversed(a, b string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
X1 = { kind = "socket outlet", load = "5 A" }
[wire]
` + a + ` = { from = "BAT1:+", to = "` + map[string]string{"W1": "X1:2", "W2": "X1:1"}[a] + `", size = "14 AWG", length = "0.1 m" }
` + b + ` = { from = "BAT1:-", to = "` + map[string]string{"W1": "X1:2", "W2": "X1:1"}[b] + `", size = "14 AWG", length = "0.1 m" }
`
}

func reversedIn(p *rules.Pass, s *circuit.Solution, told map[*model.Part]bool) {
	least := p.Netlist.Harness.Volts / 2
	for _, part := range p.Netlist.Parts {
		for _, l := range part.Inside.Loads {
			way := wayOf(p, l.Pair)
			if way == 0 || told[part] || part.Spare.On {
				continue
			}
			volts, known := s.Across(l.A, l.B)
			if volts *= way; !known || math.IsNaN(volts) || volts > -least {
				continue
			}
			told[part] = true
			report(p, s, part, l.Pair, volts, way)
		}
	}
}

// wayOf is +1 where the first terminal of a pair has to be plus, -1 where the second has, and 0 where nothing says so.
func wayOf(p *rules.Pass, pair model.Pair) float64 {
	a, b := p.Netlist.Pin(pair.A), p.Netlist.Pin(pair.B)
	switch {
	case a.Polarity.Text == "+" || b.Polarity.Text == "-":
		return +1
	case a.Polarity.Text == "-" || b.Polarity.Text == "+":
		return -1
	}
	earthed := +1.0
	if p.Netlist.Harness.PositiveGround {
		earthed = -1
	}
	switch grounds, other := b.Role == catalog.Ground, a.Role == catalog.Ground; {
	case grounds && !other:
		return earthed
	case other && !grounds:
		return -earthed
	}
	switch { // a gauge between its supply and a sender has no ground of its own
	case a.Role == catalog.Supply && p.Grounded(a.ID):
		return earthed
	case b.Role == catalog.Supply && p.Grounded(b.ID):
		return -earthed
	}
	return 0
}

func report(p *rules.Pass, s *circuit.Solution, part *model.Part, pair model.Pair, volts, way float64) {
	plus, minus := p.Netlist.Pin(pair.A), p.Netlist.Pin(pair.B)
	if way < 0 {
		plus, minus = minus, plus
	}
	span := part.Name.Span
	for _, w := range p.Graph.WiresAt(plus.ID) {
		if end := w.From; end.ID == plus.ID {
			span = end.Span
		} else {
			span = w.To.Span
		}
	}
	d := p.Report(span, []string{part.Name.Text, plus.String(), minus.String()}, "%s gets %s at %s against %s in state %s: it is fed the wrong way round",
		part.Name.Text, unit.Volt(volts), plus, minus, s.State)
	d.Help = "exchange what goes to " + plus.String() + " and " + minus.String()
	d.Fixes = p.Exchange(plus.ID, minus.ID, false) // somebody may have written the polarity wrong instead
}
