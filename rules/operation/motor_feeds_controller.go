package operation

import (
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "motor-feeds-controller", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a motor that turns on feeds the controller's rail",
	Doc: `A fan in the airstream and a blower that coasts generate several volts. On the rail that the main relay feeds, with no contact
between, they feed the controller after the key is off: it stays half awake, may hold its own main relay, and the engine runs on. The rule
fires where metal and fuses alone join a motor that turns on (function = "cooling fan", or generates stated) to a supply of a
controller that is not live for good.

Feed the motor through a relay of its own from the battery, so that an open contact parts them, or put a diode between the rail
and the motor. Silent are motors behind a relay, a switch or a diode, pumps that stop at once and say no generates, and
controllers that are live for good.`,
	Sources: []string{"common practice"},
	Bad:     fanOn(`"K1:87"`),
	Good:    fanOn(`"D1:K"`),
	Run: func(p *rules.Pass) {
		p.FollowsShorts()
		supplies := map[int32]model.PinID{}
		for _, m := range controllers(p) {
			for _, id := range switchedSupplies(p, m) {
				if _, known := supplies[p.Fed(id)]; !known {
					supplies[p.Fed(id)] = id
				}
			}
		}
		var done []*model.Part
		for i := range p.Graph.Edges {
			e := &p.Graph.Edges[i]
			if e.Kind != graph.Load || !turnsOn(e) || slices.Contains(done, e.Part) {
				continue
			}
			for _, pin := range [...]model.PinID{e.A, e.B} {
				if at, joined := supplies[p.Fed(pin)]; joined {
					done = append(done, e.Part)
					backFeeds(p, e.Part, pin, at)
					break
				}
			}
		}
	},
})

// fanOn is a controller behind a main relay, and a fan that is fed from the place given.
func fanOn(feed string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
K1 = { kind = "relay", suppression = "resistor" }
A1 = { kind = "module", function = "controller", pins = ["87", "31", "MAIN"], pin.87.role = "supply", pin.31.role = "ground", pin.MAIN.role = "sink" }
M1 = { kind = "motor", function = "cooling fan", load = "14 A", generates = "6 V" }
D1 = { kind = "diode", pin.K.net = "FAN" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "K1:30" }
W2 = { from = "BAT1:+", to = "K1:86" }
W3 = { from = "K1:85", to = "A1:MAIN" }
W4 = { from = "K1:87", to = "A1:87" }
W5 = { from = ` + feed + `, to = "M1:1" }
W6 = { from = "K1:87", to = "D1:A" }
W7 = { from = "M1:2", to = "G1:1" }
W8 = { from = "A1:31", to = "G1:2" }
W9 = { from = "BAT1:-", to = "G1:3" }
`
}

// turnsOn reports whether a motor turns without supply: it says what it generates, or is a fan.
func turnsOn(e *graph.Edge) bool {
	if e.Part.Kind.Name != "motor" {
		return false
	}
	v := e.Part.Value("generates")
	return v != nil && v.Quantity.Value > 0 || e.Part.Inside.Loads[e.Index].Function.Text == "cooling fan"
}

func backFeeds(p *rules.Pass, motor *model.Part, pin, supply model.PinID) {
	span, wire, path := reach.Feeding(p.Facts, pin, func(id model.PinID) bool { return id == supply })
	refs := []string{motor.Name.Text, p.Netlist.Pin(pin).String(), p.Netlist.Pin(supply).String()}
	if wire != nil {
		refs = append(refs, wire.Name.Text)
	}
	d := p.Report(span, refs, "%s feeds %s of %s while it turns on: only metal and fuses lie between", titled(motor), p.Netlist.Pin(supply), p.Netlist.Pin(supply).Owner.Device().Name.Text)
	d.Help = "feed the motor through a relay of its own from the battery, or put a diode before it"
	d.Related = p.Hops(path)
}
