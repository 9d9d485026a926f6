package operation

import (
	"math"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "live-when-off", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a consumer works with everything off",
	Doc: `What takes current with the key off empties the battery, and burns where nobody is near. The rule looks at the state in which
the engine stands, no output is on and every switch rests, and fires for consumers and relay coils that take more there than a memory or
a clock does. A relay coil that stays on takes 150 mA: a battery is flat in days.

Feed it from a rail that the key switches off; if it is to work, say works-off = true of the part or the load, or always-live =
true of the net that feeds it. Silent is what takes less than the setting least, and harnesses that describe no such state. How
long the battery lasts with all that is on together is the matter of other rules.`,
	Sources:  []string{"common practice: 30 mA for the whole vehicle; a relay coil of 85 ohm takes 0.15 A"},
	Settings: []rules.Setting{{Key: "least", Dim: unit.Current, Default: 0.02, Doc: "the current up to which a consumer may be on with everything off; common practice: a memory or a clock takes 5 to 20 mA"}},
	Bad:      alwaysOn(""),
	Good:     alwaysOn(", works-off = true"),
	Run: func(p *rules.Pass) {
		at := keyOff(p)
		if at < 0 || !steady(p.Reports()[at].Solution) {
			return
		}
		r := p.Reports()[at]
		for i := range r.Loads {
			l := &r.Loads[i]
			b := &r.Solution.Circuit.Branches[l.Branch]
			if b.Part.WorksOff.On || b.Load != nil && b.Load.WorksOff.On {
				continue
			}
			title := l.Ref
			if l.Title != "" {
				title += " (" + l.Title + ")"
			}
			stays(p, at, b, title, math.Abs(l.Amps))
		}
		for i := range r.Solution.Circuit.Branches {
			if b := &r.Solution.Circuit.Branches[i]; b.IsCoil() && !b.Part.WorksOff.On {
				stays(p, at, b, "the coil of "+titled(b.Part), math.Abs(r.Solution.Amps[i]))
			}
		}
	},
})

// alwaysOn is a lamp without a switch that says what is given.
func alwaysOn(says string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "5 A" }
E1 = { kind = "lamp", load = "5 W"` + says + ` }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "18 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
W3 = { from = "E1:2", to = "G1:1", size = "18 AWG", length = "1 m" }
W4 = { from = "BAT1:-", to = "G1:2", size = "6 AWG", length = "1 m" }
[state.off]
`
}

func stays(p *rules.Pass, at int, b *circuit.Branch, title string, amps float64) {
	if amps <= p.Setting("least") || alwaysLive(p, b.A) || alwaysLive(p, b.B) {
		return
	}
	d := p.Report(b.Part.Name.Span, []string{b.Part.Name.Text}, "%s takes %s in state %s, with everything off", title, milli(amps), p.Conditions[at].Name())
	d.Help = "feed it from a rail that the key switches off, or say works-off = true of it"
}

// alwaysLive reports whether the net of a terminal says that it is live with everything off on purpose.
func alwaysLive(p *rules.Pass, pin model.PinID) bool {
	name := p.Graph.NetOf(pin).Name
	for _, n := range p.Netlist.Nets {
		if n.AlwaysLive.On && n.Name.Text == name {
			return true
		}
	}
	return false
}

func milli(amps float64) string {
	if amps < 1 {
		return unit.Format(math.Round(amps*1000)) + " mA"
	}
	return unit.Format(math.Round(amps*10)/10) + " A"
}
