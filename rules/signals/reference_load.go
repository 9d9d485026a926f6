package signals

import (
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "reference-load", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a sensor supply of a module delivers more than its limit",
	Doc: `In the vehicle the reference sags, and every sensor on it reads too little at once; or the controller shuts it down and the engine
stops. The rule adds up what the sensors and resistors on the net of a reference take, at 5 V, and fires above the limit of the
terminal.

Spread the sensors over two references, or give the hungry one a supply of its own. Resistors inside the module that delivers it
are its own matter and are not counted; neither is what the sensor takes from another supply. Where the limit of a reference with
two sensors or more is not stated, or what a sensor takes, the summary says so.`,
	Sources: []string{"common practice: the sum of the currents stays below the limit of the module's sheet"},
	Bad: `[part]
A1 = { kind = "module", pins = ["3"], pin.3 = { role = "reference", limit = "10 mA" } }
B1 = { kind = "three-wire sensor", load = "12 mA", pin.2.unused = true, pin.3.unused = true }
[wire]
W1 = { from = "A1:3", to = "B1:1" }
`,
	Good: `[part]
A1 = { kind = "module", pins = ["3"], pin.3 = { role = "reference", limit = "100 mA" } }
B1 = { kind = "three-wire sensor", load = "12 mA", pin.2.unused = true, pin.3.unused = true }
[wire]
W1 = { from = "A1:3", to = "B1:1" }
`,
	Run: func(p *rules.Pass) {
		for i := range p.Netlist.Pins {
			if givesReference(p, &p.Netlist.Pins[i]) {
				referenceLoad(p, &p.Netlist.Pins[i])
			}
		}
	},
})

// referenceVolts is what a sensor supply has: 5 V, common practice.
const referenceVolts = 5

// givesReference reports whether a terminal is a sensor supply that a module delivers.
func givesReference(p *rules.Pass, pin *model.Pin) bool {
	part := pin.Owner.Device()
	return pin.Role == catalog.Reference && part != nil && !rules.IsSensor(part) && p.Graph.Reached(pin.ID)
}

// referenceLoad holds the sum of the currents on a reference against its limit.
func referenceLoad(p *rules.Pass, pin *model.Pin) {
	sum, takers, unknown := 0.0, []string(nil), (*model.Part)(nil)
	take := func(part *model.Part, amps float64, known bool) {
		switch {
		case !known && unknown == nil:
			unknown = part
		case known && amps > 0:
			sum += amps
			if !slices.Contains(takers, part.Name.Text) {
				takers = append(takers, part.Name.Text)
			}
		}
	}
	for _, part := range partsOn(p, pin.ID) {
		for i := range part.Inside.Loads {
			if l := &part.Inside.Loads[i]; onNet(p, pin.ID, l.Pair) {
				amps, known := p.LoadAmps(l, referenceVolts)
				take(part, amps, known)
			}
		}
		for _, r := range part.Inside.Resistors {
			if onNet(p, pin.ID, r.Pair) && r.Ohms.Value > 0 {
				take(part, referenceVolts/r.Ohms.Value, true)
			}
		}
	}
	switch {
	case len(takers) == 0 && unknown == nil:
	case !pin.Limit.IsSet():
		if len(takers) > 1 {
			p.Lacks("limit of the sensor supply", `add limit = "100 mA" to the terminal of role reference`, pin.Span, pin.String())
		}
	case sum > pin.Limit.Value*(1+1e-9):
		delivers, limit := rules.Apart(sum, pin.Limit.Value, "A", func(amps float64) string { return unit.Ampere(amps).String() })
		d := p.Report(pin.Limit.Span, append([]string{pin.String()}, takers...), "reference %s delivers %s of %s, to %s", pin, delivers, limit, rules.Few(takers))
		d.Help = "take some of the sensors to another reference, or to a supply of their own"
	case unknown != nil:
		p.Lacks("current of a sensor on a reference", `add load = "6 mA" to the sensor`, unknown.Name.Span, unknown.Name.Text)
	}
}

// partsOn lists the other devices on the net of a terminal, in the order of the net.
func partsOn(p *rules.Pass, id model.PinID) []*model.Part {
	own := p.Netlist.Pin(id).Owner.Device()
	var found []*model.Part
	for _, other := range others(p, id) {
		if part := p.Netlist.Pin(other).Owner.Device(); part != own && !slices.Contains(found, part) {
			found = append(found, part)
		}
	}
	return found
}

// onNet reports whether one end of a pair, and not the other, is on the net of a terminal.
func onNet(p *rules.Pass, id model.PinID, pair model.Pair) bool {
	if pair.A == model.NoPin || pair.B == model.NoPin {
		return false
	}
	net := p.Graph.NetOf(id)
	return (p.Graph.NetOf(pair.A) == net) != (p.Graph.NetOf(pair.B) == net)
}
