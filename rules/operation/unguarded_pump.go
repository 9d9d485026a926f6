package operation

import (
	"regexp"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "unguarded-pump", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "the fuel pump can run after an impact, or with the engine standing",
	Doc: `A pump that runs on after an impact feeds the fire. Two guards are usual: an inertia switch in the way of the pump or of its
relay's coil, and a controller that lets the pump run for two seconds at key-on and then only while the engine turns. The rule
opens every part with function = "inertia switch" and lets all else be as it may: it fires where the pump (function = "fuel
pump") can still run, and says so too where the coil of its relay is live with the key off, so that a chafed control wire runs the
pump. It fires where the pump runs in a state with the engine standing though no output of a controller is on: key-on alone runs it; and
where the only output that is on is that of a relay with function = "main relay", which the controller lets go with the key and not with the engine.
That there is no inertia switch in the file at all is a warning.

Feed the coil of the pump relay from the rail of the main relay over the inertia switch, and switch its other end with the
controller. Silent are pumps that a controller primes; pumps without the function; and an oil pressure switch that stops the
pump with the engine, since it is open in the states in which the engine stands.`,
	Sources: []string{"common practice: prime 2 s, then with engine speed only, off 1 to 2 s after it stops; inertia or roll-over switch in the way"},
	Bad:     pumpFrom(`"BAT1:+"`),
	Good:    pumpFrom(`"S3:2"`),
	Run: func(p *rules.Pass) {
		pumps := uses(p, "fuel pump")
		if len(pumps) == 0 {
			lackFunction(p, fuelPump, "function of what looks like a fuel pump", `add function = "fuel pump" to it, so that what guards it is looked at`)
			return
		}
		web := reach.New(p.Facts)
		if !web.Whole() {
			return
		}
		g := &guards{Pass: p, inertia: hasFunction(p, "inertia switch")}
		g.most = web.Flow(reach.Ask{Free: reach.Any, Outputs: reach.AnyOutput})
		g.tripped = web.Flow(reach.Ask{Free: reach.Any, Outputs: reach.AnyOutput, Out: among(g.inertia)})
		g.rest = web.Flow(reach.Ask{Outputs: reach.NoOutput})
		g.main = mainOutputs(p)
		for i := range pumps {
			g.impact(&pumps[i])
			g.standing(web, &pumps[i])
		}
	},
})

// pumpFrom is a pump whose relay's coil is fed from the place given.
func pumpFrom(feed string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", function = "key" }
S3 = { kind = "switch", function = "inertia switch", positions = { normal = ["1-2"], tripped = [] } }
K2 = { kind = "relay", suppression = "resistor" }
A1 = { kind = "module", pins = ["15", "31", "PUMP"], pin.15.role = "supply", pin.31.role = "ground", pin.PUMP.role = "sink" }
M1 = { kind = "motor", function = "fuel pump", load = "7 A" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:1" }
W2 = { from = "S1:2", to = "A1:15" }
W3 = { from = "S1:2", to = "S3:1" }
W4 = { from = ` + feed + `, to = "K2:86" }
W5 = { from = "K2:85", to = "A1:PUMP" }
W6 = { from = "BAT1:+", to = "K2:30" }
W7 = { from = "K2:87", to = "M1:1" }
W8 = { from = "M1:2", to = "G1:1" }
W9 = { from = "A1:31", to = "G1:2" }
W10 = { from = "BAT1:-", to = "G1:3" }
`
}

type guards struct {
	*rules.Pass
	inertia       []*model.Part
	most, tripped *reach.Flow          // with every switch as it may be; the same with the inertia switches open
	rest          *reach.Flow          // with all at rest
	main          map[model.PinID]bool // outputs that hold the main relay
}

func (g *guards) impact(pump *use) {
	if !g.most.Works(pump.a, pump.b) {
		return
	}
	coil, live := g.coil(pump)
	chafe := ""
	if coil != nil && g.rest.Live(live) {
		if wires := wiresOn(g.Pass, coil.Other(live)); len(wires) > 0 {
			chafe = "a chafe of " + rules.Few(wires) + " to ground runs the pump with the key off"
		}
	}
	switch {
	case len(g.inertia) == 0:
		d := g.ReportAs(diag.Warning, pump.part.Name.Span, []string{pump.part.Name.Text}, "%s runs on after an impact: no inertia switch lies in its way%s", pump.title(), and(chafe))
		d.Help = `lead the coil of its relay over an inertia switch, and say function = "inertia switch" of it`
	case g.tripped.Works(pump.a, pump.b):
		g.bypassed(pump, coil, live, chafe)
	case chafe != "":
		d := g.Report(g.feed(live), []string{pump.part.Name.Text, coil.Part.Name.Text}, "the coil of %s is live with the key off: %s", titled(coil.Part), chafe)
		d.Help = "feed the coil from a rail that goes off with the controller"
	}
}

func and(text string) string {
	if text == "" {
		return ""
	}
	return ", and " + text
}

// coil returns the coil of the relay that feeds a pump, and its live end; nil when the pump is fed without one.
func (g *guards) coil(pump *use) (*graph.Edge, model.PinID) {
	pin := pump.a
	if !g.most.Live(pin) {
		pin = pump.b
	}
	for _, e := range g.most.LiveOver(pin) {
		if e.Kind != graph.Open || len(e.Part.Inside.Coils) == 0 {
			continue
		}
		for _, id := range g.Graph.At(e.Part.Inside.Coils[0].A) {
			if c := g.Graph.Edge(id); c.Kind == graph.Coil && c.Part == e.Part {
				if g.most.Live(c.A) && g.most.Ground(c.B) {
					return c, c.A
				}
				return c, c.B
			}
		}
	}
	return nil, model.NoPin
}

// feed points at where the live end of a coil gets its supply; over contacts that are closed at rest, at where these get theirs.
func (g *guards) feed(live model.PinID) source.Span {
	for _, e := range g.rest.LiveOver(live) {
		if e.Kind.Contact() {
			if live = e.A; !g.Permanent(live) {
				live = e.B
			}
		}
	}
	span, _, _ := reach.Feeding(g.Facts, live, g.IsLive)
	return span
}

func (g *guards) bypassed(pump *use, coil *graph.Edge, live model.PinID, chafe string) {
	switches := rules.And(partNames(g.inertia))
	refs := append([]string{pump.part.Name.Text}, partNames(g.inertia)...)
	span := pump.part.Name.Span
	if coil != nil {
		refs = append(refs, coil.Part.Name.Text)
		span = g.feed(live)
	}
	d := g.Report(span, refs, "%s runs on after an impact: inertia switch %s is bypassed%s", pump.title(), switches, and(chafe))
	d.Help = "lead the feed of the pump, or of its relay's coil, over " + switches
	if coil != nil {
		d.Help = "lead the feed of " + g.Netlist.Pin(live).String() + " over " + switches
	}
}

// fuelPump recognises a fuel pump by its title.
var fuelPump = regexp.MustCompile(`(?i)\b(fuel|petrol)\b.*\bpump\b`)

// lackFunction names the motors without a function whose title says what they probably are.
func lackFunction(p *rules.Pass, title *regexp.Regexp, what, help string) {
	for _, part := range p.Netlist.Parts {
		if part.Kind.Name == "motor" && !part.Spare.On && !part.Function.IsSet() && title.MatchString(part.Title.Text) {
			p.Lacks(what, help, part.Name.Span, part.Name.Text)
		}
	}
}

// mainOutputs are the outputs that work a main relay, over wires, fuses and contacts.
func mainOutputs(p *rules.Pass) map[model.PinID]bool {
	outputs := map[model.PinID]bool{}
	for _, part := range hasFunction(p, "main relay") {
		for _, coil := range part.Inside.Coils {
			for _, end := range [...]model.PinID{coil.A, coil.B} {
				if end == model.NoPin {
					continue
				}
				p.Graph.PathTo(end, func(id model.PinID) bool {
					if role := p.Netlist.Pin(id).Role; role == catalog.Sink || role == catalog.Driver {
						outputs[id] = true
					}
					return false
				}, func(e *graph.Edge) bool { return e.Kind.Outside() })
			}
		}
	}
	return outputs
}

// standing looks for a state in which the engine stands and the pump runs though no output of a controller is on, or none but that which
// holds the main relay.
func (g *guards) standing(web *reach.Web, pump *use) {
	for _, i := range engine(g.Pass, "off") {
		cond := g.Conditions[i]
		f := web.Flow(reach.Ask{Condition: cond, Outputs: reach.NoOutput})
		if !f.Works(pump.a, pump.b) {
			if g.withMain(web, pump, cond) {
				return
			}
			continue
		}
		d := g.Report(pump.part.Name.Span, append([]string{pump.part.Name.Text}, partNames(f.Needs(pump.a, pump.b))...), "%s runs in state %s, with the engine standing and no output of a controller on", pump.title(), cond.Name())
		d.Help = "let a controller switch its relay, which stops it without engine speed; a carburettor's pump needs an oil pressure switch in its way at least"
		return
	}
}

// withMain reports a pump that runs in a state as soon as the main relay is on.
func (g *guards) withMain(web *reach.Web, pump *use, cond *graph.Condition) bool {
	if cond.State == nil || !slices.ContainsFunc(cond.State.Driven, func(r model.PinRef) bool { return g.main[r.ID] }) {
		return false
	}
	f := web.Flow(reach.Ask{Condition: cond, Outputs: func(pin *model.Pin) bool {
		return g.main[pin.ID] && slices.ContainsFunc(cond.State.Driven, func(r model.PinRef) bool { return r.ID == pin.ID })
	}})
	if !f.Works(pump.a, pump.b) {
		return false
	}
	d := g.Report(pump.part.Name.Span, append([]string{pump.part.Name.Text}, partNames(f.Needs(pump.a, pump.b))...), "%s runs in state %s, with the engine standing, as long as the main relay is on: no output of its own stops it", pump.title(), cond.Name())
	d.Help = "give the pump a relay that an output of the controller switches: two seconds at key-on, then with engine speed only"
	return true
}
