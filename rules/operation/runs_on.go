package operation

import (
	"fmt"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "runs-on", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "the engine runs on with the key off",
	Doc: `The engine turns, the alternator charges, the fans spin, and the key is turned off: what keeps a relay in now keeps the
engine running. Known ways are the charge warning lamp, over which terminal L of the alternator holds the ignition relay, a fan that
generates, and a stop or hazard switch that feeds the key rail. The rule solves the state with everything off as it is in the
moment after a state with the engine running: relays where they were, the generators delivering, the motors that generate
turning, no output on. It fires where ignition, injection, fuel pump or a controller still has supply that it does not have when all
stands still.

Put a diode into the lead of the charge lamp, its cathode towards terminal L, or feed the relay from elsewhere. Silent is a
controller that holds itself awake over its own output (after-run), since no output is on here; and what is live for good. It needs
a state with everything off and one with engine = "running".`,
	Sources: []string{"common practice: run-on over the exciter lamp, a known fault of conversions"},
	Bad:     runsOn(`"S1:2"`),
	Good:    runsOn(`"D1:K"`),
	Run: func(p *rules.Pass) {
		off, turns := keyOff(p), engine(p, "running")
		if off < 0 || len(turns) == 0 {
			return
		}
		still, before := p.Reports()[off].Solution, p.Reports()[turns[0]].Solution
		if !steady(still) || before.Err != nil {
			return
		}
		after := p.Circuit().Solve(p.Conditions[off], circuit.Options{Engine: circuit.Turning, From: before, Turning: reach.Any})
		if steady(after) {
			runOn(p, after, still, p.Conditions[turns[0]].Name())
		}
	},
})

// runsOn is an ignition relay on the key, and a charge lamp that is fed from the place given.
func runsOn(lamp string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
S1 = { kind = "switch" }
K1 = { stock = "mini-relay-40a-resistor" }
T1 = { kind = "ignition coil", load = "4 A" }
E1 = { kind = "lamp", load = "4 W" }
D1 = { kind = "diode" }
G1 = { kind = "ground point", body = "body" }
[part.ALT1]
kind = "alternator"
case = "body"
output = "60 A"
sources = [{ between = "B+-case" }, { between = "L-case", limit = "1 A" }]
[wire]
W1 = { from = "BAT1:+", to = "S1:1", size = "14 AWG", length = "1 m" }
W2 = { from = "S1:2", to = "K1:86", size = "18 AWG", length = "1 m" }
W3 = { from = "K1:85", to = "G1:1", size = "18 AWG", length = "1 m" }
W4 = { from = "BAT1:+", to = "K1:30", size = "14 AWG", length = "1 m" }
W5 = { from = "K1:87", to = "T1:15", size = "14 AWG", length = "1 m" }
W6 = { from = "T1:1", to = "G1:2", size = "14 AWG", length = "1 m" }
W7 = { from = "S1:2", to = "D1:A", size = "20 AWG", length = "1 m" }
W8 = { from = ` + lamp + `, to = "E1:1", size = "20 AWG", length = "1 m" }
W9 = { from = "E1:2", to = "ALT1:L", size = "20 AWG", length = "1 m" }
W10 = { from = "ALT1:B+", to = "BAT1:+", size = "6 AWG", length = "1 m" }
W11 = { from = "BAT1:-", to = "G1:3", size = "4 AWG", length = "1 m" }
[state.off]
engine = "off"
[state.running]
engine = "running"
charging = true
switches = { S1 = "on" }
`
}

func runOn(p *rules.Pass, after, still *circuit.Solution, running string) {
	alive := stillFed(p, after, still)
	if len(alive) == 0 {
		return
	}
	var held []*model.Part
	for _, part := range p.Netlist.Parts {
		if len(part.Inside.Coils) > 0 && after.Engaged(part) && !still.Engaged(part) {
			held = append(held, part)
		}
	}
	span, how, refs := alive[0].part.Name.Span, "", names(alive)
	if len(held) > 0 {
		span, refs = held[0].Name.Span, append(partNames(held), refs...)
		coil := held[0].Inside.Coils[0]
		how = fmt.Sprintf(": %s stays pulled in at %s", titled(held[0]), unit.Volt(across(after, coil.A, coil.B)).String())
		if from := heldBy(p, after, coil); from != "" {
			how += ", fed back from " + from
		}
	}
	d := p.Report(span, refs, "with the key off after state %s, %s still has supply%s", running, rules.Few(names(alive)), how)
	d.Help = "put a diode into the way of that feed (for a charge warning lamp its cathode towards terminal L), or take the coil off that rail"
}

// stillFed lists what keeps an engine running and has supply though it has none when all stands still.
func stillFed(p *rules.Pass, after, still *circuit.Solution) []use {
	var out []use
	try := func(part *model.Part, a, b model.PinID, e *graph.Edge) {
		if least := p.Circuit().PoweredVolts(); across(after, a, b) > least && across(still, a, b) < least/2 {
			out = append(out, use{part: part, a: a, b: b, edge: e})
		}
	}
	for i := range p.Graph.Edges {
		e := &p.Graph.Edges[i]
		if e.Kind != graph.Load || e.Part.Spare.On {
			continue
		}
		function := e.Part.Inside.Loads[e.Index].Function.Text
		if k := e.Part.Kind.Name; k == "ignition coil" || k == "injector" || slices.Contains(cranks, function) {
			try(e.Part, e.A, e.B, e)
		}
	}
	for _, m := range controllers(p) {
		ground := model.NoPin
		for _, id := range m.Terminals() {
			if p.Netlist.Pin(id).Role == catalog.Ground && p.Graph.Reached(id) {
				ground = id
			}
		}
		for _, id := range switchedSupplies(p, m) {
			if ground != model.NoPin {
				try(m, id, ground, nil)
			}
		}
	}
	return out
}

// heldBy names what gives the current that holds a coil: the generator terminal or motor that is joined to it over
// consumers, contacts and metal alone.
func heldBy(p *rules.Pass, s *circuit.Solution, coil model.Pair) string {
	for _, pin := range [...]model.PinID{coil.A, coil.B} {
		if p.Grounded(pin) {
			continue
		}
		path := p.Graph.PathTo(pin, func(id model.PinID) bool {
			owner := p.Netlist.Pin(id).Owner.Device()
			return owner != nil && (len(owner.Inside.Sources) > 1 && p.IsLive(id) || owner.Value("generates") != nil)
		}, func(e *graph.Edge) bool {
			return e.Kind.Conducts() && e.Kind != graph.Bolted || e.Kind == graph.Load || e.Kind == graph.Resistor
		})
		if len(path) > 0 {
			return p.Netlist.Pin(path[len(path)-1].To).String()
		}
	}
	return ""
}
