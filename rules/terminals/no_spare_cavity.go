package terminals

import (
	"ferrule/rules"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

var _ = rules.Register(&rules.Rule{
	Name: "no-spare-cavity", Severity: diag.Note, Harm: rules.Annoys, Since: "0.2",
	Title: "hardly a cavity is left for what comes later",
	Doc: `In the vehicle the next change, one more sensor or a lamp behind the bulkhead, has no way through: a hole is drilled, a wire is laid
beside the grommet, and a plug ends up with two wires in a cavity. The rule notes in-line connectors with eight cavities and more, and
controllers, of which less than a tenth of the cavities is free. It says nothing about what is wired; it is a thought before
the housings are bought.

Take the next larger housing, or note where the way for later is. Of a controller all plugs count together, and the terminals that are marked unused are
free. Silent are smaller connectors, plugs of gauges and radios, and pairs between which a larger one runs besides.`,
	Sources: []string{"common practice: a tenth of the cavities for later"},
	Bad: `[part]
A1 = { kind = "module", spare = true }
D1 = { kind = "device", spare = true, pins = ["1", "2", "3", "4", "5", "6", "7", "8"] }
[connector.XA]
of = "A1"
cavities = 8
[wire]
W1 = { from = "D1:1", to = "XA:1" }
W2 = { from = "D1:2", to = "XA:2" }
W3 = { from = "D1:3", to = "XA:3" }
W4 = { from = "D1:4", to = "XA:4" }
W5 = { from = "D1:5", to = "XA:5" }
W6 = { from = "D1:6", to = "XA:6" }
W7 = { from = "D1:7", to = "XA:7" }
W8 = { from = "D1:8", to = "XA:8" }
`,
	Good: `[part]
A1 = { kind = "module", spare = true }
D1 = { kind = "device", spare = true, pins = ["1", "2", "3", "4", "5", "6", "7", "8"] }
[connector.XA]
of = "A1"
cavities = 8
spare = ["8"]
[wire]
W1 = { from = "D1:1", to = "XA:1" }
W2 = { from = "D1:2", to = "XA:2" }
W3 = { from = "D1:3", to = "XA:3" }
W4 = { from = "D1:4", to = "XA:4" }
W5 = { from = "D1:5", to = "XA:5" }
W6 = { from = "D1:6", to = "XA:6" }
W7 = { from = "D1:7", to = "XA:7" }
`,
	Settings: []rules.Setting{{Key: "share", Dim: unit.Share, Default: 0.1, Doc: "the share of the cavities that is to be free (common practice)"}},
	Run: func(p *rules.Pass) {
		share := p.Setting("share")
		for _, c := range p.Netlist.Connectors {
			if c.Mate != nil && c.Part == nil && c.Mate.Part == nil && firstHalf(c) {
				full(p, c.Name, "connector "+c.Name.Text+" has", c.Owner.Pins, share)
			}
		}
		for _, part := range p.Netlist.Parts {
			if part.Kind.Name != "module" {
				continue
			}
			var pins []model.PinID
			for _, c := range part.Plugs {
				pins = append(pins, c.Owner.Pins...)
			}
			full(p, part.Name, "the plugs of "+part.Name.Text+" have", pins, share)
		}
	},
})

// fewest is the number of cavities from which a connector is one through which a harness grows.
const fewest = 8

func full(p *rules.Pass, name model.Name, what string, pins []model.PinID, share float64) {
	free := 0
	for _, id := range pins {
		if !occupied(p, id) && !meetsWired(p, id) {
			free++
		}
	}
	if len(pins) < fewest || free == len(pins) || float64(free) >= share*float64(len(pins))*(1-1e-9) {
		return
	}
	d := p.Report(name.Span, []string{name.Text}, "%s %d of %d cavities free", what, free, len(pins))
	d.Help = "take a larger housing while it costs nothing, or plan where the next wire goes through"
}

// meetsWired reports whether the cavity on the other half is wired.
func meetsWired(p *rules.Pass, pin model.PinID) bool {
	o := p.Netlist.Pin(pin).Owner
	if o.Connector == nil || o.Connector.Mate == nil {
		return false
	}
	other, meets := o.Connector.Mate.Owner.Pin(p.Netlist.Pin(pin).Name)
	return meets && occupied(p, other)
}
