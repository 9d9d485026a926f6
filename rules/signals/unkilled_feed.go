package signals

import (
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "unkilled-feed", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "pump, injectors or coils stay fed when the controller does not want them",
	Doc: `In the vehicle the fuel pump runs on after an accident or with a dead engine; an injector whose driver is grounded by a chafed wire
floods the engine; coils sit under current and get hot. What the engine runs on must be fed over a relay that the controller holds, so
that it is dead as soon as the controller loses its supply or stops driving. The rule follows the feed of each fuel pump, injector and
ignition coil to the live side of a source, over wires, fuses and the contacts of switches and of relays that no controller works, and
fires when there is such a way. A relay whose coil is fed over a relay that the controller works falls with it, and counts as worked too.

Take the feed from the main relay or the pump relay of the controller. The rule asks only in a harness with injectors: there a
controller runs the engine. A carburettor's pump, ignition by contact breaker, and a pump without function = "fuel pump" stay silent.`,
	Sources: []string{"common practice: pump, injectors and coils hang on a rail that the controller's relay kills"},
	Bad:     feedExample("S1:2"),
	Good:    feedExample("K1:87"),
	Run: func(p *rules.Pass) {
		if !slices.ContainsFunc(p.Netlist.Parts, func(part *model.Part) bool { return part.Kind.Name == "injector" && !part.Spare.On }) {
			return
		}
		u := &unkilled{Pass: p, told: map[*graph.Edge]bool{}}
		for _, part := range p.Netlist.Parts {
			for i := range part.Inside.Loads {
				if load := &part.Inside.Loads[i]; feedsEngine(part, load) {
					u.feed(part, load)
				}
			}
		}
	},
})

// feedExample is an injector with a feed from a terminal of choice, and a main relay that the controller holds.
func feedExample(from string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "10 A" }
S1 = { kind = "switch" }
K1 = { kind = "relay", suppression = "resistor", rating = "40 A" }
A1 = { kind = "module", function = "controller", pins = ["4", "7", "15", "31"], pin.4.role = "supply", pin.7.role = "sink", pin.15 = { role = "sink", clamp = "ground" }, pin.31.role = "ground" }
INJ1 = { kind = "injector", load = "12 ohm" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", length = "0.1 m" }
W2 = { from = "F1:2", to = "S1:1" }
W3 = { from = "F1:2", to = "K1:30" }
W4 = { from = "F1:2", to = "K1:86" }
W5 = { from = "K1:85", to = "A1:15" }
W6 = { from = "K1:87", to = "A1:4" }
W7 = { from = "` + from + `", to = "INJ1:1" }
W8 = { from = "INJ1:2", to = "A1:7" }
W9 = { from = "A1:31", to = "BAT1:-" }
`
}

// feedsEngine reports whether a load is a fuel pump, an injector or the ignition.
func feedsEngine(part *model.Part, load *model.Load) bool {
	switch load.Function.Text {
	case "fuel pump", "injection", "ignition":
		return part.Kind.Name != "module"
	}
	return part.Kind.Name == "injector" || part.Kind.Name == "ignition coil"
}

// unkilled is one run of the rule.
type unkilled struct {
	*rules.Pass
	held map[*model.Part]bool // relays that a controller works
	told map[*graph.Edge]bool // feeds that are reported
}

// feed looks for a way from a load to a source that no controller can part.
func (u *unkilled) feed(part *model.Part, load *model.Load) {
	for _, id := range []model.PinID{load.A, load.B} {
		if id == model.NoPin || u.Grounded(id) {
			continue
		}
		path := u.Graph.PathTo(id, u.live, u.passes)
		if path == nil {
			continue
		}
		// Several injectors on one wrong feed are one mistake: it is told at the last wire that all have in common.
		for _, h := range path {
			if u.told[h.Edge] {
				return
			}
		}
		for _, h := range path {
			if h.Edge.Kind == graph.Protect || h.Edge.Kind.Contact() {
				u.told[h.Edge] = true
				break
			}
		}
		u.report(part, id, path)
		return
	}
}

func (u *unkilled) report(part *model.Part, id model.PinID, path []graph.Hop) {
	what := map[string]string{"injector": "injector", "ignition coil": "ignition coil"}[part.Kind.Name]
	if what == "" {
		what = "fuel pump"
	}
	span, wires := spanAt(u.Pass, id)
	refs := append([]string{part.Name.Text, u.Netlist.Pin(id).String()}, wires...)
	var through []string
	for _, h := range path {
		if p := h.Edge.Part; p != nil && (h.Edge.Kind == graph.Protect || h.Edge.Kind.Contact()) {
			through = append(through, p.Name.Text)
		}
	}
	over := ""
	if len(through) > 0 {
		over = " by way of " + rules.And(through)
	}
	refs = append(refs, through...)
	d := u.Report(span, refs, "%s %s is fed%s, which no controller can switch off", what, part.Name.Text, over)
	d.Help = "feed it from a relay whose coil the controller holds: the main relay or the pump relay"
	d.Related = u.Hops(path)
}

// live reports whether a terminal is the live side of a battery or an always live rail.
func (u *unkilled) live(id model.PinID) bool { return u.IsLive(id) }

// passes reports whether current passes an edge whatever controllers do, in some position of the switches.
func (u *unkilled) passes(e *graph.Edge) bool {
	if e.Kind.Conducts() {
		return !u.IsGround(e.A) || !u.IsGround(e.B)
	}
	if !e.Kind.Contact() {
		return false
	}
	return !u.controlled()[e.Part]
}

// controlled are the relays whose coil an output of a module holds, over wires, fuses and switches.
func (u *unkilled) controlled() map[*model.Part]bool {
	if u.held != nil {
		return u.held
	}
	u.held = map[*model.Part]bool{}
	drives := func(id model.PinID) bool {
		pin := u.Netlist.Pin(id)
		part := pin.Owner.Device()
		return part != nil && part.Kind.Name == "module" && (pin.Role == catalog.Sink || pin.Role == catalog.Driver || pin.Role == catalog.HalfBridge)
	}
	over := func(e *graph.Edge) bool {
		return (e.Kind.Conducts() || e.Kind.Contact() && (e.Part == nil || len(e.Part.Inside.Coils) == 0)) && !u.IsGround(e.A) && !u.IsGround(e.B)
	}
	for _, part := range u.Netlist.Parts {
		for _, coil := range part.Inside.Coils {
			for _, id := range []model.PinID{coil.A, coil.B} {
				if id != model.NoPin && !u.held[part] && !u.Permanent(id) && u.Graph.PathTo(id, drives, over) != nil {
					u.held[part] = true
				}
			}
		}
	}
	for grown := len(u.held) > 0; grown; {
		grown = false
		for _, part := range u.Netlist.Parts {
			if len(part.Inside.Coils) > 0 && !u.held[part] && u.falls(part) {
				u.held[part], grown = true, true
			}
		}
	}
	return u.held
}

// falls reports whether a relay lets go when those let go that are known as held: each of its coils is then fed from nowhere, though
// something can feed it.
func (u *unkilled) falls(part *model.Part) bool {
	for _, coil := range part.Inside.Coils {
		if coil.A == model.NoPin || coil.B == model.NoPin || !u.Graph.Reached(coil.A) && !u.Graph.Reached(coil.B) {
			return false
		}
		for _, id := range [...]model.PinID{coil.A, coil.B} {
			if u.Graph.PathTo(id, u.live, u.passes) != nil {
				return false
			}
		}
	}
	return true
}
