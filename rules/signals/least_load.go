package signals

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "least-load", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "an output drives fewer ohms than it may",
	Doc: `In the vehicle a low-ohm injector takes four amperes from a driver that is made for one; the driver gets hot and dies, and the
injector stays open. The rule takes all consumers and coils that an output with least-load = "..." drives, in parallel, each with the
resistor that lies in series with it, and fires when that is less than the output may drive.

Put a ballast resistor in series, fit injectors of more ohms, or take an output that limits the current. A ballast that the file
writes, as a part of kind resistor before or behind the consumer, is counted. What an output carries in ampere against its limit
is another rule's matter. An output made for injectors (drives = "injector") without least-load and without limit is asked for.`,
	Sources: []string{"the sheet of the controller; common practice: an injector of less than about 8 ohm needs a driver that limits the current, or a ballast"},
	Bad: `[part]
A1 = { kind = "module", pins = ["7"], pin.7 = { role = "sink", drives = "injector", least-load = "10 ohm" } }
INJ1 = { kind = "injector", load = "2.5 ohm", pin.1.unused = true }
[wire]
W1 = { from = "INJ1:2", to = "A1:7" }
`,
	Good: `[part]
A1 = { kind = "module", pins = ["7"], pin.7 = { role = "sink", drives = "injector", least-load = "10 ohm" } }
INJ1 = { kind = "injector", load = "12 ohm", pin.1.unused = true }
[wire]
W1 = { from = "INJ1:2", to = "A1:7" }
`,
	Run: func(p *rules.Pass) {
		var elements map[graph.NetID][]element
		for i := range p.Netlist.Pins {
			pin := &p.Netlist.Pins[i]
			if !isOutput(pin.Role) || !p.Graph.Reached(pin.ID) || !pin.LeastLoad.IsSet() && pin.Drives.Text != "injector" {
				continue
			}
			if elements == nil {
				elements = elementsByNet(p)
			}
			leastLoad(p, pin, elements)
		}
	},
})

// isOutput reports whether a role is that of an output.
func isOutput(role catalog.Role) bool {
	switch role {
	case catalog.Sink, catalog.Driver, catalog.HalfBridge, catalog.Output:
		return true
	}
	return false
}

// An element is a consumer, a coil or a resistor with an end on a net.
type element struct {
	part     *model.Part
	far      model.PinID
	ohms     float64
	resistor bool
}

// elementsByNet sorts the elements of known resistance by the nets of their ends.
func elementsByNet(p *rules.Pass) map[graph.NetID][]element {
	found := map[graph.NetID][]element{}
	add := func(part *model.Part, pair model.Pair, ohms float64, resistor bool) {
		if pair.A == model.NoPin || pair.B == model.NoPin || ohms <= 0 {
			return
		}
		for _, ends := range [][2]model.PinID{{pair.A, pair.B}, {pair.B, pair.A}} {
			id := p.Graph.NetOf(ends[0]).ID
			found[id] = append(found[id], element{part, ends[1], ohms, resistor})
		}
	}
	for _, part := range p.Netlist.Parts {
		for _, r := range part.Inside.Resistors {
			add(part, r.Pair, r.Ohms.Value, true)
		}
		for i := range part.Inside.Loads {
			l := &part.Inside.Loads[i]
			if amps, known := p.LoadAmps(l, p.LoadVolts(l)); known && amps > 0 {
				add(part, l.Pair, p.LoadVolts(l)/amps, part.Kind.Name == "resistor")
			}
		}
		if v := part.Value("coil-resistance"); v != nil {
			for _, c := range part.Inside.Coils {
				add(part, c, v.Quantity.Value, false)
			}
		}
	}
	return found
}

// leastLoad holds what an output drives against what it may.
func leastLoad(p *rules.Pass, pin *model.Pin, elements map[graph.NetID][]element) {
	net := p.Graph.NetOf(pin.ID).ID
	conductance, driven := 0.0, []string(nil)
	take := func(e element, ballast float64) {
		if p.Graph.NetOf(e.far).ID != net && e.part != pin.Owner.Device() {
			conductance += 1 / (e.ohms + ballast + behind(p, e, elements))
			driven = append(driven, e.part.Name.Text)
		}
	}
	for _, e := range elements[net] {
		if !e.resistor || e.part == pin.Owner.Device() {
			take(e, 0)
			continue
		}
		served := false // a ballast between the output and its consumer
		for _, next := range elements[p.Graph.NetOf(e.far).ID] {
			if !next.resistor && !p.Permanent(e.far) && p.Graph.NetOf(next.far).ID != net {
				served = true
				take(next, e.ohms)
			}
		}
		if !served {
			take(e, 0)
		}
	}
	switch {
	case conductance == 0:
	case !pin.LeastLoad.IsSet():
		if !pin.Limit.IsSet() {
			p.Lacks("least load, and no limit, of an injector output", `add least-load = "10 ohm" or limit = "1.5 A" to the terminal, as its sheet says`, pin.Span, pin.String())
		}
	case 1/conductance < pin.LeastLoad.Value*(1-1e-9):
		span, wires := spanAt(p, pin.ID)
		d := p.Report(span, append(append([]string{pin.String()}, driven...), wires...), "output %s drives %s (%s), and may drive no less than %s", pin, unit.Ohm(1/conductance), rules.Few(driven), unit.Ohm(pin.LeastLoad.Value))
		d.Help = "put a ballast resistor in series, take consumers of more ohms, or an output that limits the current"
		d.Related = []diag.Related{{Span: pin.LeastLoad.Span, Message: "what it may drive"}}
	}
}

// behind is the resistance of a ballast between a consumer and its supply: the resistors at its far end in parallel, if
// nothing but they feed it.
func behind(p *rules.Pass, e element, elements map[graph.NetID][]element) float64 {
	net, conductance, feeds := p.Graph.NetOf(e.far), 0.0, 0
	for _, id := range net.Pins {
		if part := p.Netlist.Pin(id).Owner.Device(); part != nil && part != e.part && !part.Kind.Joined && part.Kind.Name != "resistor" {
			feeds++ // a fuse, a contact, or another consumer of the same supply
		}
	}
	if feeds > 0 {
		return 0
	}
	for _, r := range elements[net.ID] {
		if r.resistor && r.part != e.part {
			conductance += 1 / r.ohms
		}
	}
	if conductance == 0 {
		return 0
	}
	return 1 / conductance
}
