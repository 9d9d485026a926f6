package signals

import (
	"math"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "open-collector", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a sensor that only pulls down has no pull-up, or has two to different rails",
	Doc: `In the vehicle such a sensor can pull its wire to ground and do nothing else: without a resistor to a supply the wire never rises and
there is no signal. With two resistors, one to 12 V in the instruments and one to 5 V in the controller, 12 V get into the 5 V
input. The rule fires for a terminal marked open-collector = true on whose net nothing pulls up: no input with pull-up = "...", no
resistor and no consumer to another potential; and for a net that is pulled up to two voltages more than a volt apart.

Add a resistor of 1 to 10 kohm to the rail that the input is made for, or take one of the two away. Pull-ups inside a module are
written as pull-up on the terminal or as resistors of the part. A resistor to ground, such as the input of an instrument, is none.`,
	Sources: []string{"common practice"},
	Bad: `[part]
A1 = { kind = "module", pins = ["12"], pin.12 = { role = "signal" } }
B1 = { kind = "three-wire sensor", load = "20 mA", pin.1.unused = true, pin.2.open-collector = true, pin.3.unused = true, loads = [] }
[wire]
W1 = { from = "B1:2", to = "A1:12" }
`,
	Good: `[part]
A1 = { kind = "module", pins = ["12"], pin.12 = { role = "signal", pull-up = "5 V" } }
B1 = { kind = "three-wire sensor", load = "20 mA", pin.1.unused = true, pin.2.open-collector = true, pin.3.unused = true, loads = [] }
[wire]
W1 = { from = "B1:2", to = "A1:12" }
`,
	Run: func(p *rules.Pass) {
		told := map[*graph.Net]bool{}
		resistors := byNet(p)
		for i := range p.Netlist.Pins {
			pin := &p.Netlist.Pins[i]
			if net := p.Graph.NetOf(pin.ID); (pin.OpenCollector.On || pin.PullUp.IsSet()) && p.Graph.Reached(pin.ID) && !told[net] {
				told[net] = true
				pullUps(p, net, resistors[net.ID])
			}
		}
	},
})

// byNet sorts what can pull a net up by the nets that it ends on: resistors, consumers and coils.
func byNet(p *rules.Pass) map[graph.NetID][]pull {
	found := map[graph.NetID][]pull{}
	add := func(part *model.Part, pair model.Pair, span source.Span) {
		if pair.A == model.NoPin || pair.B == model.NoPin {
			return
		}
		for _, ends := range [][2]model.PinID{{pair.A, pair.B}, {pair.B, pair.A}} {
			id := p.Graph.NetOf(ends[0]).ID
			found[id] = append(found[id], pull{part: part, at: ends[0], rail: ends[1], span: span})
		}
	}
	for _, part := range p.Netlist.Parts {
		for _, r := range part.Inside.Resistors {
			add(part, r.Pair, r.Ohms.Span)
		}
		for _, l := range part.Inside.Loads {
			add(part, l.Pair, part.Name.Span)
		}
		for _, c := range part.Inside.Coils {
			add(part, c, part.Name.Span)
		}
	}
	return found
}

// A pull is something that holds a net at a voltage while nobody pulls it down.
type pull struct {
	part     *model.Part
	at, rail model.PinID
	volts    float64 // 0 where the rail's is not known
	span     source.Span
}

// pullUps judges one net.
func pullUps(p *rules.Pass, net *graph.Net, resistors []pull) {
	var collector *model.Pin
	var found []pull
	for _, id := range net.Pins {
		pin := p.Netlist.Pin(id)
		if pin.OpenCollector.On && collector == nil {
			collector = pin
		}
		if pin.PullUp.IsSet() {
			found = append(found, pull{part: pin.Owner.Device(), at: id, volts: pin.PullUp.Value, span: pin.PullUp.Span})
		}
	}
	stated := len(found)
	for _, r := range resistors {
		if collector != nil && r.part == collector.Owner.Device() {
			continue
		}
		same := false // the resistor of a pull-up that the terminal states too
		for _, f := range found[:stated] {
			same = same || f.at == r.at
		}
		volts, up := railVolts(p, r.rail)
		if r.volts = volts; up && !same {
			found = append(found, r)
		}
	}
	if collector != nil && len(found) == 0 {
		noPullUp(p, collector)
		return
	}
	for i, a := range found {
		for _, b := range found[:i] {
			if a.volts > 0 && b.volts > 0 && math.Abs(a.volts-b.volts) > 1 {
				twoPullUps(p, net, b, a)
				return
			}
		}
	}
}

// railVolts says to which voltage a resistor pulls, by what its far end is; false when that is ground or a signal.
func railVolts(p *rules.Pass, id model.PinID) (volts float64, up bool) {
	if p.Grounded(id) {
		return 0, false
	}
	net := p.Graph.NetOf(id)
	for _, other := range net.Pins {
		switch p.PinMeans(other) {
		case rules.MeansRef:
			return referenceVolts, true
		case rules.MeansLive:
			return p.Netlist.Harness.Volts, p.Netlist.Pin(other).Role != catalog.Driver
		}
	}
	for _, c := range p.Conditions {
		if c.Live(id) {
			return p.Netlist.Harness.Volts, true
		}
	}
	return 0, false
}

func noPullUp(p *rules.Pass, pin *model.Pin) {
	span, wires := spanAt(p, pin.ID)
	d := p.Report(span, append([]string{pin.Owner.Device().Name.Text, pin.String()}, wires...), "%s only pulls down, and nothing on net %s pulls up", pin, p.Graph.NetOf(pin.ID).Name)
	d.Help = `add a resistor of 1 to 10 kohm to the rail that the input is made for, or write pull-up = "5 V" on the input if it has one inside`
	d.Related = []diag.Related{{Span: pin.OpenCollector.Span, Message: "marked open-collector here"}}
}

func twoPullUps(p *rules.Pass, net *graph.Net, a, b pull) {
	refs := []string{b.part.Name.Text, p.Netlist.Pin(b.at).String(), a.part.Name.Text, p.Netlist.Pin(a.at).String()}
	d := p.Report(b.span, refs, "net %s is pulled up to %s in %s and to %s in %s", net.Name, unit.Volt(a.volts), a.part.Name.Text, unit.Volt(b.volts), b.part.Name.Text)
	d.Help = "leave the one to the rail that the input is made for"
	d.Related = []diag.Related{{Span: a.span, Message: "the other one"}}
}
