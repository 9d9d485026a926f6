package switching

import (
	"fmt"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "coil-on-live-rail", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a coil stays live when the controller that switches it is off",
	Doc: `A controller that takes its supply from a main relay is dead with the key off, and its outputs should be so too. A coil, valve
or injector on a rail that is still live then leads current into the output all night: where the output clamps to supply, the
controller stays half awake over it, the main relay chatters, and the battery is flat; where it clamps to ground, a chafed
control wire works the coil with the key off. The rule fires where the feed of the coil is live in a state in which none of
the controller's switched supplies is; it is an error where the output clamps to supply.

Feed the coil from the rail that the main relay feeds. The coil of the main relay itself must be on a permanent feed, and is
looked at only for the clamp: it needs an output that clamps to ground. Silent are controllers without a switched supply, and
coils on a rail that goes off with the controller or before it. So are motors and lamps, which need no kick to be led away.`,
	Sources: []string{"common practice"},
	Bad:     halfAwake(`"F1:2"`),
	Good:    halfAwake(`"K1:87"`),
	Run: func(p *rules.Pass) {
		r := &rails{ends: lookAround(p), web: reach.New(p.Facts), supplies: map[*model.Part][]model.PinID{}}
		for _, c := range r.coils("solenoid", "injector", "ignition coil") {
			for _, id := range r.outputsAt(c.edge.A, c.edge.B) {
				if pin := p.Netlist.Pin(id); pin.Role == catalog.Sink && pin.Owner.Device() != nil {
					r.judge(c, id)
				}
			}
		}
	},
})

// halfAwake is a controller on a main relay, and a second relay whose coil is fed from the place given.
func halfAwake(feed string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "5 A" }
K1 = { kind = "relay", suppression = "resistor" }
K2 = { kind = "relay", suppression = "resistor" }
A1 = { kind = "module", pins = ["30", "87", "31", "MAIN", "PUMP"], pin.30.role = "supply", pin.87.role = "supply", pin.31.role = "ground", pin.MAIN = { role = "sink", clamp = "ground" }, pin.PUMP = { role = "sink", clamp = "ground" } }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1" }
W2 = { from = "F1:2", to = "K1:86" }
W3 = { from = "K1:85", to = "A1:MAIN" }
W4 = { from = "BAT1:+", to = "K1:30" }
W5 = { from = "K1:87", to = "A1:87" }
W6 = { from = "F1:2", to = "A1:30" }
W7 = { from = ` + feed + `, to = "K2:86" }
W8 = { from = "K2:85", to = "A1:PUMP" }
W9 = { from = "A1:31", to = "G1:1" }
W10 = { from = "BAT1:-", to = "G1:2" }
`
}

type rails struct {
	*ends
	web      *reach.Web
	supplies map[*model.Part][]model.PinID // the switched ones of each module
}

// switched lists the supply terminals of a module that are not live for good.
func (r *rails) switched(m *model.Part) []model.PinID {
	if pins, known := r.supplies[m]; known {
		return pins
	}
	var pins []model.PinID
	for _, id := range m.Terminals() {
		if r.Netlist.Pin(id).Role == catalog.Supply && r.Graph.Reached(id) && !r.Permanent(id) {
			pins = append(pins, id)
		}
	}
	r.supplies[m] = pins
	return pins
}

func (r *rails) judge(c coil, output model.PinID) {
	pin := r.Netlist.Pin(output)
	supplies := r.switched(pin.Owner.Device())
	feed := c.edge.A
	if r.Fed(feed) == r.Fed(output) {
		feed = c.edge.B
	}
	if len(supplies) == 0 || r.Fed(feed) == r.Fed(output) {
		return
	}
	at := slices.IndexFunc(r.Conditions, func(cond *graph.Condition) bool {
		return cond.Live(feed) && !slices.ContainsFunc(supplies, cond.Live)
	})
	if at < 0 {
		return
	}
	clamps := pin.Clamp.Text == "supply"
	main := r.worksSupply(c.edge.Part, supplies)
	if main && !clamps {
		return
	}
	severity, does := diag.Warning, "the output is fed through it while the controller is off"
	if clamps {
		severity, does = diag.Error, "its output clamps to supply, so the controller stays half awake and the battery drains"
	}
	span, wire, path := reach.Feeding(r.Facts, feed, r.IsLive)
	refs := []string{c.edge.Part.Name.Text, r.name(output), r.name(feed)}
	if wire != nil {
		refs = append(refs, wire.Name.Text)
	}
	d := r.ReportAs(severity, span, refs, "%s is live in state %s, when %s of %s is dead: %s", c.word, r.Conditions[at].Name(), rules.Few(r.names(supplies)), pin.Owner.Device().Name.Text, does)
	d.Help = fmt.Sprintf("feed it from the rail that feeds %s", r.name(supplies[0]))
	if main {
		d.Help = fmt.Sprintf("a main relay needs an output that clamps to ground; %s clamps to supply", r.name(output))
	}
	d.Related = r.Hops(path)
}

// worksSupply reports whether a relay is what switches the supplies of the controller.
func (r *rails) worksSupply(relay *model.Part, supplies []model.PinID) bool {
	if len(relay.Inside.Coils) == 0 {
		return false
	}
	f := r.web.Flow(reach.Ask{Free: reach.Any, Outputs: reach.AnyOutput, Out: func(p *model.Part) bool { return p == relay }})
	return !slices.ContainsFunc(supplies, f.Live)
}

func (e *ends) names(pins []model.PinID) []string {
	out := make([]string, len(pins))
	for i, id := range pins {
		out[i] = e.name(id)
	}
	return out
}
