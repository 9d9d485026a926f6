package nets

import (
	"ferrule/rules"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

var _ = rules.Register(&rules.Rule{
	Name: "off-plan-color", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "a ground wire, or a feed straight from the battery, is not in the colour that the plan keeps for it",
	Doc: `In the vehicle the next pair of hands takes a white wire for a signal and gets the battery, or looks for the ground among the black
wires and does not find it. Rule color-clash says where a colour of the plan under [colors] stands on something else; this rule
says the other half: where the plan keeps a base colour for ground and a wire to ground has another one, and where it keeps one for permanent supply and
a wire that no fuse, no switch and no relay parts from the battery has another one. Once a net.

Take the colour of the plan as base, with a tracer of your own, or add the other colour to the plan. Silent are files without a
plan, sensor ground, screens, cores of cables, wires that came with a kit or are in the vehicle already, and wires behind a fuse:
a fused feed may be named after what it feeds.`,
	Sources: []string{"common practice: red for permanent supply, black (in DIN 72551 vehicles brown) for ground; DIN from memory"},
	Bad: `[colors]
ground = ["BK"]
[body.body]
[part]
E1 = { kind = "lamp", load = "5 W", spare = true }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "E1:2", to = "G1:1", color = "WH" }
`,
	Good: `[colors]
ground = ["BK"]
[body.body]
[part]
E1 = { kind = "lamp", load = "5 W", spare = true }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "E1:2", to = "G1:1", color = "BK/WH" }
`,
	Run: func(p *rules.Pass) {
		plan := &p.Netlist.Colors
		if len(plan.Ground) == 0 && len(plan.Permanent) == 0 {
			return
		}
		raw, metal := rawFeeds(p), groundMetal(p)
		told := map[graph.NetID]bool{}
		for _, w := range p.Netlist.Wires {
			if !free(w) || !w.Wired() {
				continue
			}
			net := p.Graph.NetOf(w.From.ID)
			switch base := w.Color.Base; {
			case told[net.ID]:
			case shorted(p, w.From.ID, metal): // the colour is right, and the wire is in the wrong place
			case len(plan.Ground) > 0 && metal[p.Solid(w.From.ID)]:
				if !rules.Reserves(plan.Ground, base) && !sensorGround(p, w, net) {
					told[net.ID] = true
					offPlan(p, w, "ground", plan.Ground)
				}
			case len(plan.Permanent) > 0 && raw[p.Solid(w.From.ID)] && !rules.Reserves(plan.Permanent, base):
				told[net.ID] = true
				offPlan(p, w, "permanent supply", plan.Permanent)
			}
		}
	},
})

// shorted reports whether a terminal is supply and ground at once.
func shorted(p *rules.Pass, pin model.PinID, metal map[int32]bool) bool {
	both := p.Permanent(pin) && metal[p.Solid(pin)]
	for _, c := range p.Conditions {
		both = both || c.Shorted(pin)
	}
	return both
}

// groundMetal finds what metal alone joins to a body, or, in a file that has none, to the ground side of a battery. A
// terminal that is only meant as ground is not enough: the minus of a solar module, or of a battery in the middle of two,
// lies on no metal.
func groundMetal(p *rules.Pass) map[int32]bool {
	metal := map[int32]bool{}
	for _, b := range p.Netlist.Bodies {
		metal[p.Solid(b.Pin)] = true
	}
	for _, part := range p.Netlist.Parts {
		if len(p.Netlist.Bodies) > 0 || part.Kind.Name != "battery" {
			continue
		}
		for _, s := range part.Inside.Sources {
			if _, ground := p.Poles(s); p.IsGround(ground) {
				metal[p.Solid(ground)] = true
			}
		}
	}
	return metal
}

// rawFeeds finds what metal alone joins to the live side of a battery.
func rawFeeds(p *rules.Pass) map[int32]bool {
	raw := map[int32]bool{}
	for _, part := range p.Netlist.Parts {
		if part.Kind.Name != "battery" {
			continue
		}
		for _, s := range part.Inside.Sources {
			if live, _ := p.Poles(s); p.IsLive(live) {
				raw[p.Solid(live)] = true
			}
		}
	}
	return raw
}

// sensorGround reports whether a net is a return of sensors or a screen, which have colours of their own.
func sensorGround(p *rules.Pass, w *model.Wire, net *graph.Net) bool {
	if p.NetMeans(w.Net) == rules.MeansSense {
		return true
	}
	for _, id := range net.Pins {
		if r := p.Netlist.Pin(id).Role; r == catalog.Return || r == catalog.Screen || p.HasScreen(id) {
			return true
		}
	}
	return false
}

func offPlan(p *rules.Pass, w *model.Wire, what string, kept []model.Name) {
	names := make([]string, len(kept))
	for i, n := range kept {
		names[i] = n.Text
	}
	d := p.Report(w.ColorText.Span, []string{w.Name.Text}, "wire %s is %s, but it is %s, for which the plan keeps %s", w.Name.Text, w.Color, what, strings.Join(names, ", "))
	d.Help = "take " + names[0] + " as base colour, or add " + w.Color.Base + " under [colors]"
	d.Related = []diag.Related{{Span: kept[0].Span, Message: "the plan for " + what}}
}
