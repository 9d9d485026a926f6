package grounds

import (
	"fmt"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "sensor-ground-load", Severity: diag.Error, Harm: rules.Annoys, Since: "0.2",
	Title: "something that uses current returns over a sensor ground",
	Doc: `In the vehicle every sensor on that ground reads wrong while the heater or the valve is on: one ampere in the thin wire of
a sensor ground lifts it by 80 to 100 mV, which is two per cent of a 5 V signal. The rule fires where a consumer or the coil of a
relay has an end on a net that is a sensor ground: one with a terminal of role return, or of class return.

Take the return to power ground, or to the output of the controller that switches it. Sensors and what takes no more than the
setting "most" stay silent, as does a consumer whose terminals the maker's sheet calls returns and whose net is no sensor's.`,
	Sources: []string{"common practice: a sensor ground loses no more than 5 mV, 0.1 % of 5 V, and carries sensors only"},
	Bad: `[part]
B1 = { kind = "two-wire sensor", resistance = "2 kohm", pin.1.unused = true }
R1 = { kind = "heater", load = "12 W", pin.1.unused = true }
[wire]
W1 = { from = "R1:2", to = "B1:2" }
`,
	Good: `[part]
B1 = { kind = "two-wire sensor", resistance = "2 kohm", pin.1.unused = true }
A1 = { kind = "module", pins = ["1"], pin.1.role = "return" }
[wire]
W1 = { from = "A1:1", to = "B1:2" }
`,
	Settings: []rules.Setting{{Key: "most", Dim: unit.Current, Default: 0.1, Doc: "the current that may return over a sensor ground; the Hall sensors of an engine together take some 30 mA (common practice)"}},
	Run: func(p *rules.Pass) {
		sense := senseNets(p)
		if len(sense) == 0 {
			return
		}
		for _, part := range p.Netlist.Parts {
			for i := range part.Inside.Loads {
				loadOnSense(p, sense, part, &part.Inside.Loads[i])
			}
			for _, coil := range part.Inside.Coils {
				onSense(p, sense, part, coil, "the coil of "+part.Name.Text)
			}
		}
	},
})

// senseNets finds the nets that are sensor grounds, each with a terminal that shows it, that of a controller
// before that of a sensor. Nets that meet ground are the
// matter of sensor-ground-tied: there everything returns over the sensor ground, and the joint is the mistake.
func senseNets(p *rules.Pass) map[int32]model.PinID {
	found := map[int32]model.PinID{}
	grounded := map[int32]bool{}
	for i := range p.Netlist.Pins {
		if id := model.PinID(i); p.IsGround(id) || p.Netlist.Pins[i].Role == catalog.Ground && p.Grounded(id) {
			grounded[int32(p.Graph.NetOf(id).ID)] = true
		}
	}
	for i := range p.Netlist.Pins {
		pin := &p.Netlist.Pins[i]
		if pin.Role != catalog.Return && p.ClassOf(pin.Net) != "return" || !p.Graph.Reached(pin.ID) {
			continue
		}
		id := int32(p.Graph.NetOf(pin.ID).ID)
		if grounded[id] {
			continue
		}
		if at, known := found[id]; !known || p.IsController(pin.Owner.Device()) && !p.IsController(p.Netlist.Pin(at).Owner.Device()) {
			found[id] = pin.ID
		}
	}
	return found
}

func loadOnSense(p *rules.Pass, sense map[int32]model.PinID, part *model.Part, load *model.Load) {
	takes, known := p.LoadAmps(load, p.LoadVolts(load))
	if known && takes <= p.Setting("most") || !known && (rules.IsSensor(part) || part.Kind.Name == "module" || part.Kind.Name == "gauge") {
		return
	}
	what := part.Name.Text
	if load.Title.IsSet() && load.Title.Text != part.Title.Text {
		what += " (" + load.Title.Text + ")"
	}
	if known {
		what += fmt.Sprintf(", %s,", unit.Ampere(takes))
	}
	onSense(p, sense, part, load.Pair, what)
}

// onSense reports a pair with an end on a sensor ground.
func onSense(p *rules.Pass, sense map[int32]model.PinID, part *model.Part, pair model.Pair, what string) {
	for _, id := range []model.PinID{pair.B, pair.A} {
		if id == model.NoPin || p.Netlist.Pin(id).Role == catalog.Return {
			continue
		}
		shows, is := sense[int32(p.Graph.NetOf(id).ID)]
		if !is {
			continue
		}
		name := p.Netlist.Pin(id).String()
		span, refs := p.Netlist.Pin(id).Span, []string{part.Name.Text, name, p.Netlist.Pin(shows).String()}
		if wires := p.Graph.WiresAt(id); len(wires) > 0 {
			span, refs = endAt(wires[0], id), append(refs, wires[0].Name.Text)
		}
		d := p.Report(span, refs, "%s returns over sensor ground %s", what, p.Netlist.Pin(shows))
		d.Help = "take the return to power ground by a wire of its own: sensor ground carries nothing but sensors"
		d.Related = p.Hops(p.Graph.Path(id, shows, carries))
		return
	}
}

// endAt returns the words that name the end of a wire at a terminal.
func endAt(w *model.Wire, pin model.PinID) source.Span {
	if w.To.ID == pin {
		return w.To.Span
	}
	return w.From.Span
}
