package signals

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "crossed-pair", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "plus and minus of a pair are crossed",
	Doc: `In the vehicle the signal of an inductive sensor crosses zero in the wrong direction: the controller takes the slow edge for the
sharp one, and the ignition timing wanders with the speed, or there is no synchronism at all. On a data bus nothing works. The rule
fires where a terminal of polarity + and one of polarity - meet on one net: of a sensor and a controller, or of two devices on a bus.

Exchange the two wires at one end. Which end of a sensor is plus stands in its sheet or is found with a battery and a meter: state it
as polarity = "+" and polarity = "-" on both devices. Where only one of the two devices says it, nothing is compared and the
summary says so for inductive sensors; Hall sensors have no polarity to cross, and supplies and grounds are not looked at.`,
	Sources: []string{"common practice"},
	Bad: `[part]
B1 = { kind = "inductive sensor", resistance = "900 ohm", pin.1.polarity = "+", pin.2.polarity = "-" }
A1 = { kind = "module", pins = ["9", "10"], pin.9.polarity = "-", pin.10.polarity = "+" }
[wire]
W1 = { from = "B1:1", to = "A1:9" }
W2 = { from = "B1:2", to = "A1:10" }
[cable]
C1 = { kind = "twisted pair", wires = ["W1", "W2"] }
`,
	Good: `[part]
B1 = { kind = "inductive sensor", resistance = "900 ohm", pin.1.polarity = "+", pin.2.polarity = "-" }
A1 = { kind = "module", pins = ["9", "10"], pin.9.polarity = "+", pin.10.polarity = "-" }
[wire]
W1 = { from = "B1:1", to = "A1:9" }
W2 = { from = "B1:2", to = "A1:10" }
[cable]
C1 = { kind = "twisted pair", wires = ["W1", "W2"] }
`,
	Run: func(p *rules.Pass) {
		told := map[[2]*model.Part]bool{}
		for i := range p.Netlist.Pins {
			crossedAt(p, model.PinID(i), told)
		}
		for _, part := range p.Netlist.Parts {
			if a, b, is := pairOf(p.Netlist, part); is && part.Kind.Name == "inductive sensor" {
				polarityKnown(p, part, a, b)
			}
		}
	},
})

// polarised reports whether the polarity of a terminal says which end of a signal it is.
func polarised(pin *model.Pin) bool {
	switch pin.Role {
	case catalog.Supply, catalog.SupplyOut, catalog.Ground, catalog.Cranking, catalog.Load, catalog.Coil:
		return false
	}
	return pin.Polarity.IsSet()
}

// crossedAt compares a terminal with the others of its net. Two devices are told of once, though both wires are crossed.
func crossedAt(p *rules.Pass, id model.PinID, told map[[2]*model.Part]bool) {
	pin := p.Netlist.Pin(id)
	part := pin.Owner.Device()
	if part == nil || !polarised(pin) {
		return
	}
	for _, other := range others(p, id) {
		o := p.Netlist.Pin(other)
		device := o.Owner.Device()
		if !polarised(o) || o.Polarity.Text == pin.Polarity.Text || device == part || told[[2]*model.Part{part, device}] {
			continue
		}
		told[[2]*model.Part{part, device}], told[[2]*model.Part{device, part}] = true, true
		crossed(p, pin, o)
	}
}

func crossed(p *rules.Pass, a, b *model.Pin) {
	if rules.IsSensor(b.Owner.Device()) && !rules.IsSensor(a.Owner.Device()) {
		a, b = b, a
	}
	span, wires := spanAt(p, b.ID)
	refs := append([]string{a.Owner.Device().Name.Text, a.String(), b.String()}, wires...)
	d := p.Report(span, refs, "%s (%s) of %s meets %s (%s): the pair is crossed", a, a.Polarity.Text, a.Owner.Device().Name.Text, b, b.Polarity.Text)
	d.Help = "exchange the two wires of the pair at one end"
	if twin, only := twinOf(p, a); only {
		d.Fixes = p.Exchange(a.ID, twin, crossedToo(p, a, b, twin) && p.OneWire(a.ID, b.ID))
	}
	d.Related = append(p.Hops(p.Graph.Path(a.ID, b.ID, outside)), diag.Related{Span: a.Polarity.Span, Message: a.String() + " is " + a.Polarity.Text}, diag.Related{Span: b.Polarity.Span, Message: b.String() + " is " + b.Polarity.Text})
}

// polarityKnown asks for the polarity of an inductive sensor and of what it is wired to.
func polarityKnown(p *rules.Pass, part *model.Part, a, b model.PinID) {
	for _, id := range []model.PinID{a, b} {
		meets := others(p, id)
		if len(meets) == 0 {
			return // not wired: unterminated-pin asks
		}
		if !p.Netlist.Pin(id).Polarity.IsSet() || !p.Netlist.Pin(meets[0]).Polarity.IsSet() {
			p.Lacks("polarity of the pair", `add polarity = "+" and polarity = "-" to the terminals of the sensor and of the controller`, part.Name.Span, part.Name.Text)
			return
		}
	}
}

// twinOf is the other end of a pair on the same part; only where the part has just these two.
func twinOf(p *rules.Pass, pin *model.Pin) (twin model.PinID, only bool) {
	twin = model.NoPin
	for _, id := range pin.Owner.Device().Terminals() {
		if other := p.Netlist.Pin(id); id == pin.ID || !polarised(other) {
			continue
		} else if twin != model.NoPin || other.Polarity.Text == pin.Polarity.Text {
			return model.NoPin, false
		}
		twin = id
	}
	return twin, twin != model.NoPin
}

// crossedToo reports whether the twin of a terminal meets the wrong end of the same device in its turn, by one wire.
func crossedToo(p *rules.Pass, a, b *model.Pin, twin model.PinID) bool {
	met := false
	for _, id := range others(p, twin) {
		o := p.Netlist.Pin(id)
		if !polarised(o) {
			continue
		}
		if o.Owner.Device() != b.Owner.Device() || o.Polarity.Text != a.Polarity.Text || !p.OneWire(twin, id) {
			return false
		}
		met = true
	}
	return met
}
