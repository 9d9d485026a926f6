package terminals

import (
	"ferrule/rules"
	"fmt"
	"math"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

var _ = rules.Register(&rules.Rule{
	Name: "terminal-current", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Title: "a terminal carries more than it bears hot and for good",
	Doc: `In the vehicle the plug turns brown around one cavity, the spring of the contact loses its force, and it gets hotter until it opens or
burns. The current of a data sheet is that of one new terminal in free air; in a full housing, hot and after years, 60 % of it
counts. The rule takes the current that warms each contact in the worst state of the file: above 60 % of the rating is a
warning, above the whole rating an error.

Take a larger terminal, split the current over two cavities with two wires, or lead the load around this plug. Duty counts: what flashes
or pulses warms with its effective current. Silent are cables of starters, which carry their current for seconds; terminals
without rating (a note says so); and what the file gives no numbers for.`,
	Sources: []string{"common practice: 0.6 of the current of the data sheet; sheets rate a single contact at a rise of 30 K or 55 K"},
	Bad: `[terminal.t15]
wire = ["22 AWG", "14 AWG"]
rating = "14 A"
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "20 A" }
M1 = { kind = "motor", load = "10 A", terminal = "t15" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "14 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "M1:1", size = "14 AWG", length = "1 m" }
W3 = { from = "M1:2", to = "BAT1:-", size = "14 AWG", length = "1 m" }
`,
	Good: `[terminal.t28]
wire = ["18 AWG", "12 AWG"]
rating = "25 A"
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "20 A" }
M1 = { kind = "motor", load = "10 A", terminal = "t28" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "14 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "M1:1", size = "14 AWG", length = "1 m" }
W3 = { from = "M1:2", to = "BAT1:-", size = "14 AWG", length = "1 m" }
`,
	Settings: []rules.Setting{{Key: "share", Dim: unit.Share, Default: 0.6, Doc: "the share of its rating that a terminal bears hot and for good (common practice)"}},
	Run: func(p *rules.Pass) {
		if !hasTerminals(p) {
			return
		}
		worst := contactCurrents(p)
		share := p.Setting("share")
		seats(p, func(s seat) {
			load, t := worst[s.pin.ID], s.terminal
			switch {
			case load.amps == 0:
			case !t.Rating.IsSet() || t.Rating.Value <= 0:
				p.Lacks("rating of the terminal", `add rating = "14 A" to its definition, from the sheet`, t.Name.Span, t.Name.Text)
			case load.amps > share*t.Rating.Value*(1+1e-9):
				hot(p, s, load, share)
			}
		})
	},
})

// A load is the current that warms a contact, and the state in which it is the most.
type load struct {
	amps  float64
	state string
}

// contactCurrents returns the most that flows in each contact in any state that came to rest: the sum of what its wires bring, each
// with its direction, since what one brings and another takes away passes the crimp but not the contact.
func contactCurrents(p *rules.Pass) map[model.PinID]load {
	worst := map[model.PinID]load{}
	for _, r := range p.Reports() {
		if r.Solution.Err != nil || !r.Solution.Settled || len(r.Solution.Cycle) > 0 {
			continue
		}
		into := map[model.PinID][2]float64{} // as the state drives, and the mean over time
		for i := range r.Wires {
			w := &r.Wires[i]
			if w.Brief {
				continue
			}
			b := &r.Solution.Circuit.Branches[w.Branch]
			for _, end := range [...]struct {
				pin  model.PinID
				sign float64
			}{{b.A, -1}, {b.B, 1}} {
				was := into[end.pin]
				into[end.pin] = [2]float64{was[0] + end.sign*r.Solution.Amps[w.Branch], was[1] + end.sign*r.Mean.Amps[w.Branch]}
			}
		}
		for pin, amps := range into {
			if rms := circuit.RMS(math.Abs(amps[0]), math.Abs(amps[1])); rms > worst[pin].amps*(1+1e-9) {
				worst[pin] = load{rms, r.Solution.State}
			}
		}
	}
	return worst
}

func hot(p *rules.Pass, s seat, l load, share float64) {
	t, w := s.terminal, s.wires[0]
	severity := diag.Warning
	if l.amps > t.Rating.Value*(1+1e-9) {
		severity = diag.Error
	}
	d := p.ReportAs(severity, endAt(w, s.pin.ID).Span, []string{s.pin.String(), w.Name.Text, t.Name.Text}, "terminal %s at %s carries %s in state %s; of its %s it bears %s for good",
		t.Name.Text, s.pin, unit.Ampere(l.amps), l.state, unit.Ampere(t.Rating.Value), unit.Ampere(share*t.Rating.Value))
	d.Help = fmt.Sprintf("take a terminal rated for %s or more, or two cavities and two wires", unit.Ampere(math.Ceil(l.amps/share)))
	d.Related = []diag.Related{{Span: t.Rating.Span, Message: fmt.Sprintf("terminal %s is rated %s", t.Name.Text, unit.Ampere(t.Rating.Value))}}
}
