package terminals

import (
	"ferrule/rules"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

var _ = rules.Register(&rules.Rule{
	Name: "mixed-plating", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "tin meets gold, or a weak signal passes tin",
	Doc: `In the vehicle tin against gold frets: the small movements of every mile grind tin oxide onto the gold, and the contact fails though
both halves look new. A weak signal through tin fails so too, since a millivolt does not break through the oxide that a lamp's current burns
away. The rule fires where the terminals of two cavities that meet differ in plating and one is gold, and where the signal of a
sensor passes a terminal with tin.

Take the same plating on both sides; gold on both for what a sensor says. A current of 1 mA or more, or a pull-up to 10 V and more as of Hall sensors, keeps
tin clean: such signals are silent, and so are terminals of which the file states no plating, and supply and ground of sensors.`,
	Sources: []string{"common practice: like plating on like, gold for dry circuits; tin wants more than 1 mA at some volts (figures from memory)"},
	Bad: `[terminal.tin]
plating = "tin"
[terminal.gold]
plating = "gold"
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 1
mates = "X2"
terminal = "tin"
[connector.X2]
terminal = "gold"
[wire]
W1 = { from = "F1:2", to = "X1:1" }
W2 = { from = "X2:1", to = "E1:1" }
`,
	Good: `[terminal.tin]
plating = "tin"
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 1
mates = "X2"
terminal = "tin"
[connector.X2]
terminal = "tin"
[wire]
W1 = { from = "F1:2", to = "X1:1" }
W2 = { from = "X2:1", to = "E1:1" }
`,
	Settings: []rules.Setting{{Key: "dry", Dim: unit.Current, Default: 0.001, Doc: "the current below which tin does not clean itself (common practice, from memory)"}},
	Run: func(p *rules.Pass) {
		if !hasTerminals(p) {
			return
		}
		for _, c := range p.Netlist.Connectors {
			if c.Mate != nil && firstHalf(c) {
				platings(p, c)
			}
		}
		weakOnTin(p)
	},
})

func plating(pin *model.Pin) string {
	if pin.Terminal == nil {
		return ""
	}
	return pin.Terminal.Plating.Text
}

// platings reports a pair of halves once, with the first two cavities that meet in tin and gold.
func platings(p *rules.Pass, c *model.Connector) {
	for _, id := range c.Owner.Pins {
		pin := p.Netlist.Pin(id)
		other, meets := c.Mate.Owner.Pin(pin.Name)
		if !meets || len(p.Graph.WiresAt(id)) == 0 || len(p.Graph.WiresAt(other)) == 0 {
			continue
		}
		mate := p.Netlist.Pin(other)
		a, b := plating(pin), plating(mate)
		if a == "" || b == "" || a == b || a != "gold" && b != "gold" {
			continue
		}
		span := mate.Terminal.Plating.Span
		d := p.Report(span, []string{mate.String(), pin.String(), mate.Terminal.Name.Text, pin.Terminal.Name.Text}, "%s at %s meets %s at %s", b, mate, a, pin)
		d.Help = "take the same plating on both sides"
		d.Related = []diag.Related{{Span: pin.Terminal.Plating.Span, Message: "terminal " + pin.Terminal.Name.Text + " is plated with " + a}}
		return
	}
}

// weakOnTin reports each net of a sensor's signal once, at the first cavity with tin.
func weakOnTin(p *rules.Pass) {
	dry := p.Setting("dry")
	var most map[model.PinID]load
	unplated := map[*model.Terminal]bool{}
	for i := range p.Graph.Nets {
		net := &p.Graph.Nets[i]
		tin, sensor := weak(p, net)
		if sensor != nil {
			lackPlating(p, net, unplated)
		}
		if tin == nil || sensor == nil {
			continue
		}
		if most == nil {
			most = contactCurrents(p)
		}
		if most[tin.ID].amps >= dry {
			continue
		}
		w := p.Graph.WiresAt(tin.ID)[0]
		d := p.Report(endAt(w, tin.ID).Span, []string{tin.String(), sensor.String(), tin.Terminal.Name.Text, w.Name.Text}, "the signal of %s passes tin at %s", sensor, tin)
		d.Help = "take gold on both sides for what a sensor says"
		d.Related = []diag.Related{{Span: tin.Terminal.Plating.Span, Message: "terminal " + tin.Terminal.Name.Text + " is plated with tin"}}
	}
}

// lackPlating names, once each, the terminals without a plating that carry what a sensor says.
func lackPlating(p *rules.Pass, net *graph.Net, told map[*model.Terminal]bool) {
	for _, id := range net.Pins {
		t := p.Netlist.Pin(id).Terminal
		if t == nil || t.Plating.IsSet() || told[t] || len(p.Graph.WiresAt(id)) == 0 {
			continue
		}
		told[t] = true
		p.Lacks("plating of the terminal", `add plating = "gold", "silver" or "tin" to its definition`, t.Name.Span, t.Name.Text)
	}
}

// weak returns the first terminal with tin and a wire in a net that is a sensor's signal, and the sensor's terminal.
func weak(p *rules.Pass, net *graph.Net) (tin, sensor *model.Pin) {
	for _, id := range net.Pins {
		pin := p.Netlist.Pin(id)
		part := pin.Owner.Device()
		switch {
		case pin.PullUp.IsSet() && pin.PullUp.Value >= 10:
			return nil, nil
		case part != nil && part.Kind.Symbol == "sensor" && part.Kind.Name != "gauge sender" && pin.Role == catalog.Signal && sensor == nil:
			sensor = pin
		}
		if tin == nil && plating(pin) == "tin" && len(p.Graph.WiresAt(id)) > 0 {
			tin = pin
		}
	}
	return tin, sensor
}
