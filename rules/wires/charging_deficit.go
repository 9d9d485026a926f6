package wires

import (
	"fmt"
	"math"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "charging-deficit", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "the generator delivers less than the consumers take",
	Doc: `In the vehicle the battery makes up for it, the lamps fade in the traffic jam, and the next start fails. The rule sums
what all consumers take over time in each state in which the generator charges, and holds it against what the generator gives
hot at idle (idle-output), and at speed.

A deficit is a warning where it would have the battery half empty within three hours, and where that cannot be told; a note where the battery
carries it for longer: nobody idles for an evening, and a state with everything on does not last. A note too is a margin of less
than a tenth at idle, and more than 85 % of the output at speed, where nothing is left to charge with.

Consumers count with their duty and flashers with half their time, so that what only peaks does not count; a state should
hold what is on together for long, such as night, rain and one fan.

Shed what need not run at idle, take lamps that use less, or a generator or pulley that gives more.`,
	Sources: []string{
		"common practice: all that is on together within the hot idle output, and within 85 % of the rating at speed; half of the 20 hour capacity until flat",
		"three hours: chosen here",
	},
	Settings: []rules.Setting{
		{Key: "share", Dim: unit.Share, Default: 0.85, Doc: "of the full output that the consumers may take at speed; common practice"},
		{Key: "margin", Dim: unit.Share, Default: 0.1, Doc: "of the idle output below which what is left is a note; chosen here"},
		{Key: "lasts", Dim: unit.Time, Default: 3 * 3600, Doc: "how long the battery must carry a deficit until it is half empty for that to be a note, in hours; chosen here"},
	},
	Bad:  chargingExample("45 A"),
	Good: chargingExample("20 A"),
	Run: func(p *rules.Pass) {
		generator := mainGenerator(p)
		if generator == nil {
			return
		}
		var idle, running worse[balanced]
		charges, idleKnown := false, false
		for cond, r := range settled(p) {
			b := &r.Balance
			charges, idleKnown = charges || b.Charging, idleKnown || b.Charging && b.IdleKnown
			if b.Charging && b.IdleKnown && (b.IdleSpare >= 0 || b.Capacity == 0 || !math.IsInf(b.IdleHours, 1)) {
				idle.take(-b.IdleSpare, balanced{cond, b})
			}
			if b.Charging && b.Output > 0 && (b.Battery > 0 || b.Demand <= b.Output) {
				running.take(b.Demand/b.Output, balanced{cond, b})
			}
		}
		if charges && !idleKnown {
			p.Lacks("output at idle", `add idle-output = "40 A", what it delivers hot at idle`, generator.Name.Span, generator.Name.Text)
		}
		if idle.any {
			judgeIdle(p, generator, idle.what)
		}
		if running.any && running.by > p.Setting("share")*(1+1e-9) {
			judgeRunning(p, generator, running.what)
		}
	},
})

func chargingExample(load string) string {
	return `[body.engine]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
ALT1 = { kind = "alternator", output = "70 A", idle-output = "30 A", regulated = "14 V", case = "engine", pin.L.unused = true, pin.S.unused = true }
E1 = { kind = "heater", load = "` + load + `" }
G1 = { kind = "ground point", body = "engine" }
F1 = { kind = "fuse", rating = "100 A" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "4 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "ALT1:B+", size = "4 AWG", length = "0.5 m" }
W3 = { from = "ALT1:B+", to = "E1:1", size = "4 AWG", length = "0.5 m" }
W4 = { from = "E1:2", to = "G1:1", size = "4 AWG", length = "0.5 m" }
W5 = { from = "G1:2", to = "BAT1:-", size = "4 AWG", length = "0.5 m" }
[state.run]
engine = "running"
charging = true
`
}

// balanced is the balance of a state.
type balanced struct {
	cond    *graph.Condition
	balance *circuit.Balance
}

// mainGenerator is the generator with the largest output, or nil.
func mainGenerator(p *rules.Pass) *model.Part {
	var most *model.Part
	for _, part := range p.Netlist.Parts {
		v := part.Value("output")
		if v != nil && v.Quantity.IsSet() && (most == nil || v.Quantity.Value > most.Value("output").Quantity.Value) {
			most = part
		}
	}
	return most
}

// deficit is how bad it is that a battery makes up for a generator, and for how long it does, in words.
func deficit(p *rules.Pass, hours float64) (diag.Severity, string) {
	switch {
	case math.IsInf(hours, 1):
		return diag.Warning, ""
	case hours*3600 >= p.Setting("lasts"):
		return diag.Note, fmt.Sprintf("; the battery carries it for %s h until it is half empty", unit.Format(math.Round(hours*10)/10))
	}
	return diag.Warning, fmt.Sprintf("; the battery is half empty after %s h", unit.Format(math.Round(hours*10)/10))
}

func judgeIdle(p *rules.Pass, generator *model.Part, x balanced) {
	b := x.balance
	at := generator.Name.Span
	if v := generator.Value("idle-output"); v != nil {
		at = v.Quantity.Span
	}
	who := titled(generator.Name.Text, generator.Title.Text)
	switch {
	case b.IdleSpare < 0:
		severity, lasts := deficit(p, b.IdleHours)
		d := p.ReportAs(severity, at, []string{generator.Name.Text}, "%s gives %s at idle and the consumers take %s %s: %s too little%s", who,
			amperes(b.IdleOutput), amperes(b.IdleDemand), inState(x.cond), amperes(-b.IdleSpare), lasts)
		d.Help = "shed what need not run at idle, or take a generator or pulley that gives more there"
	case b.IdleSpare < p.Setting("margin")*b.IdleOutput:
		d := p.ReportAs(diag.Note, at, []string{generator.Name.Text}, "%s gives %s at idle and the consumers take %s %s: %s are left", who,
			amperes(b.IdleOutput), amperes(b.IdleDemand), inState(x.cond), amperes(b.IdleSpare))
		d.Help = "it suffices; what is added to that state needs a look at the generator first"
	}
}

func judgeRunning(p *rules.Pass, generator *model.Part, x balanced) {
	b := x.balance
	severity, lasts := diag.Note, ""
	if b.Demand > b.Output {
		severity, lasts = deficit(p, b.Hours)
	}
	d := p.ReportAs(severity, generator.Value("output").Quantity.Span, []string{generator.Name.Text}, "the consumers take %s %s, which is %d %% of the %s that %s gives at speed: %s are wanted at most%s",
		amperes(b.Demand), inState(x.cond), int(math.Round(100*b.Demand/b.Output)), amperes(b.Output), titled(generator.Name.Text, generator.Title.Text),
		amperes(p.Setting("share")*b.Output), lasts)
	d.Help = "shed a load in that state, or take a larger generator"
}
