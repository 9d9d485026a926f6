package wires

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "parked-drain", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "with everything off the battery is drained",
	Doc: `In the vehicle that stands for a fortnight the starter then only clicks. The rule looks at every state in which all switches
rest, no output is driven and the engine stands, and sums what the battery still gives: memories, radios, regulators, a relay that
nobody switches off (150 mA, five days). It fires above 50 mA, and where less than 14 days are left until a battery that
stood at 80 % is at 50 %. It names what takes most.

A vehicle with a battery isolator (function = "isolator") is parted from its battery when it stands, and is silent. States of
use, such as parked with the hazard lamps on, are none of its matter: a switch is on in them. A file
without such a state does not say when it is off, and is not judged.

Feed what need not live from the key, or fit an isolator; the after-run of a module is no drain.`,
	Sources: []string{"common practice: 30 mA wanted, 50 mA at most; days = 0.3 C20 / (24 h I)"},
	Settings: []rules.Setting{
		{Key: "drain", Dim: unit.Current, Default: 0.05, Doc: "what a parked vehicle may take; common practice"},
		{Key: "days", Dim: unit.Time, Default: 14 * 24 * 3600, Doc: "that a vehicle must stand, written in hours; common practice"},
	},
	Bad:  parkedExample("200 mA"),
	Good: parkedExample("5 mA"),
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			if part.Function.Text == "isolator" {
				return
			}
		}
		var most worse[parked]
		for cond, r := range settled(p) {
			if rests(p, cond) && r.Balance.Battery > 0 {
				most.take(r.Balance.Battery, parked{cond, r})
			}
		}
		b := circuit.Balance{}
		if most.any {
			b = most.what.report.Balance
		}
		seconds := b.Days * 24 * 3600
		if most.any && (most.by > p.Setting("drain")*(1+1e-9) || b.Capacity > 0 && seconds < p.Setting("days")) {
			reportParked(p, most.what)
		}
	},
})

func parkedExample(load string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
A1 = { kind = "module", pins = ["1", "2"], pin.1 = { role = "supply", load = "` + load + `" }, pin.2.role = "ground" }
F1 = { kind = "fuse", rating = "5 A" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "18 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "A1:1", size = "18 AWG", length = "0.5 m" }
W3 = { from = "A1:2", to = "BAT1:-", size = "18 AWG", length = "0.5 m" }
[state.off]
`
}

// parked is a state in which everything is off.
type parked struct {
	cond   *graph.Condition
	report *circuit.Report
}

// rests reports whether in a state all switches rest, nothing is driven and no engine turns.
func rests(p *rules.Pass, cond *graph.Condition) bool {
	s := cond.State
	if s == nil || len(s.Driven) > 0 || len(s.Pulled) > 0 || circuit.Charges(s) || s.Engine.IsSet() && s.Engine.Text != "off" {
		return false
	}
	return !slices.ContainsFunc(s.Switches, func(x model.Setting) bool {
		return x.Part != nil && x.Position >= 0 && x.Position != x.Part.Inside.Rest
	})
}

func reportParked(p *rules.Pass, x parked) {
	var battery *model.Part
	for _, part := range p.Netlist.Parts {
		if part.Kind.Name == "battery" && battery == nil {
			battery = part
		}
	}
	if battery == nil {
		return
	}
	refs, most, all := []string{battery.Name.Text}, []string(nil), x.report.Balance.Battery
	for _, t := range takers(x.report) {
		if t.amps > 0.05*all && len(most) < 3 {
			most = append(most, t.ref+" "+amperes(t.amps))
			refs = append(refs, t.ref)
		}
	}
	stands := ""
	if b := x.report.Balance; b.Capacity > 0 {
		stands = fmt.Sprintf(", which it stands for %s days", unit.Format(math.Round(b.Days*10)/10))
	}
	d := p.Report(battery.Name.Span, refs, "%s gives %s %s%s; wanted are %s at most and %s days; most goes to %s", titled(battery.Name.Text, battery.Title.Text),
		amperes(all), inState(x.cond), stands, amperes(p.Setting("drain")), unit.Format(math.Round(p.Setting("days")/(24*3600))), rules.And(most))
	d.Help = "feed what need not live from a rail that goes off with the key, or fit an isolator (function = \"isolator\")"
}

// A taker is a consumer or a coil with its mean current in ampere.
type taker struct {
	ref  string
	amps float64
}

// takers lists what takes current in a state, the most first.
func takers(r *circuit.Report) []taker {
	var all []taker
	for _, l := range r.Loads {
		all = append(all, taker{l.Ref, math.Abs(l.Mean)})
	}
	for i := range r.Mean.Circuit.Branches {
		if b := &r.Mean.Circuit.Branches[i]; b.IsCoil() {
			all = append(all, taker{b.Part.Name.Text, math.Abs(r.Mean.Amps[i])})
		}
	}
	slices.SortStableFunc(all, func(a, b taker) int { return cmp.Compare(b.amps, a.amps) })
	return all
}
