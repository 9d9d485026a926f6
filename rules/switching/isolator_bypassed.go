package switching

import (
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "isolator-bypassed", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "the isolator opens the battery, and the generator keeps the rest alive",
	Doc: `A battery isolator, or a race vehicle's kill switch, that opens only the battery does not stop a running engine: the
alternator goes on feeding ignition and controller, and without a battery it can reach 100 V (load dump). The rule opens every
part with function = "isolator" in the states in which the engine runs, and looks what the output of a generator still comes to. It is an
error where that is ignition, injection, fuel pump or a controller, and a warning where it is other consumers.

Take an isolator with a second pole that interrupts the ignition or the controller's supply, with a resistor that takes up the
charge of the alternator, or put the output of the alternator on the battery side of the isolator. Silent are isolators with
the generator on the battery side, those with such a second pole, and harnesses without isolator or generator.`,
	Sources: []string{"ISO 16750-2 for load dump (from memory)", "common practice of competition rules: the master switch stops the engine"},
	Bad:     isolated(`"S1:2"`),
	Good:    isolated(`"S1:1"`),
	Run: func(p *rules.Pass) {
		var poles []model.PinID
		for _, part := range p.Netlist.Parts {
			if n := part.Kind.Name; n == "alternator" || n == "dynamo" {
				for _, s := range part.Inside.Sources[:min(1, len(part.Inside.Sources))] {
					live, _ := p.Poles(s)
					poles = append(poles, live)
				}
			}
		}
		cond := running(p.Conditions)
		if len(poles) == 0 || cond == nil {
			return
		}
		var web *reach.Web
		for _, part := range p.Netlist.Parts {
			if part.Function.Text == "isolator" && hasContacts(part) && len(part.Inside.Coils) == 0 {
				if web == nil {
					web = reach.New(p.Facts)
				}
				isolate(p, web, part, poles, cond)
			}
		}
	},
})

// isolated is a vehicle whose alternator ends at the given side of the isolator.
func isolated(at string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", function = "isolator" }
ALT1 = { kind = "alternator", output = "60 A", case = "body" }
S2 = { kind = "switch" }
T1 = { kind = "ignition coil", load = "4 A" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:1" }
W2 = { from = "ALT1:B+", to = ` + at + ` }
W3 = { from = "S1:2", to = "S2:1" }
W4 = { from = "S2:2", to = "T1:15" }
W5 = { from = "T1:1", to = "G1:1" }
W6 = { from = "BAT1:-", to = "G1:2" }
[state.running]
engine = "running"
charging = true
switches = { S1 = "on", S2 = "on" }
`
}

// running is the first state in which the engine runs; nil when none is described.
func running(all []*graph.Condition) *graph.Condition {
	for _, c := range all {
		if c.State != nil && (c.State.Engine.Text == "running" || c.State.Charging.On) {
			return c
		}
	}
	return nil
}

func isolate(p *rules.Pass, web *reach.Web, isolator *model.Part, poles []model.PinID, cond *graph.Condition) {
	f := web.Flow(reach.Ask{Condition: cond, From: poles, Out: func(q *model.Part) bool { return q == isolator }})
	var engine, rest []string
	for i := range p.Graph.Edges {
		e := &p.Graph.Edges[i]
		if e.Kind != graph.Load || len(e.Part.Inside.Sources) > 0 || !f.Works(e.A, e.B) {
			continue
		}
		to := &rest
		if turnsEngine(e) {
			to = &engine
		}
		if !slices.Contains(*to, e.Part.Name.Text) {
			*to = append(*to, e.Part.Name.Text)
		}
	}
	severity, alive := diag.Error, engine
	switch {
	case len(engine) > 0:
	case len(rest) > 0 && !onBattery(p, f):
		severity, alive = diag.Warning, rest
	default:
		return
	}
	source := p.Netlist.Pin(poles[0])
	d := p.ReportAs(severity, isolator.Name.Span, append([]string{isolator.Name.Text, source.String()}, alive...), "with %s open in state %s, %s still feeds %s", titled(isolator), cond.Name(), source, rules.Few(alive))
	d.Help = "take an isolator with a second pole that interrupts the ignition or the supply of the controller, with a resistor for the generator's charge"
	if severity == diag.Warning {
		d.Help = "put the output of the generator on the battery's side of the isolator, over a fuse of its own"
	}
}

// onBattery reports whether the generator stays joined to a battery: then its voltage stays within bounds.
func onBattery(p *rules.Pass, f *reach.Flow) bool {
	for _, part := range p.Netlist.Parts {
		if part.Kind.Name != "battery" {
			continue
		}
		for _, s := range part.Inside.Sources {
			if live, _ := p.Poles(s); f.Live(live) {
				return true
			}
		}
	}
	return false
}

// turnsEngine reports whether a consumer keeps the engine running.
func turnsEngine(e *graph.Edge) bool {
	switch e.Part.Inside.Loads[e.Index].Function.Text {
	case "ignition", "injection", "fuel pump", "controller":
		return true
	}
	switch e.Part.Kind.Name {
	case "ignition coil", "injector":
		return true
	}
	return false
}
