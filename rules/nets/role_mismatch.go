package nets

import (
	"ferrule/rules"
	"fmt"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

var _ = rules.Register(&rules.Rule{
	Name: "role-mismatch", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "what hangs on a module's terminal is not what the terminal is for",
	Doc: `In the vehicle a driver burns, or an input is pulled to where it does not belong: an injector on the output for a fan relay, a relay's
coil on an input, a sensor on an output. The rule goes by the keys drives and role of the terminals of modules and by the kinds of
the parts that are wired to them. It fires where an output is made for something else than what it drives (drives = "relay", and
an injector is there), where a consumer or a coil has nothing but a signal, bus or reference terminal to work it, where a
sensor's signal meets nothing but outputs, and where a bus terminal meets a terminal of another role of a module.

Move the wire to the terminal that is meant, or correct drives or role: drives = "anything", or none, is for an output that the
sheet allows any load within its limit. Silent are resistors and diodes, gauges, nets that a switch or relay works besides, nets of
which the file states two names (net-short says that), and
everything that goes through a fuse or a contact first. Ignition coils that expect logic or a primary driver, and a load on sensor
ground, are other rules' matter.`,
	Sources: []string{"common practice; what an output is made for stands in the sheet of the module"},
	Bad: `[part]
A1 = { kind = "module", spare = true, pins = ["17"], pin.17 = { role = "sink", drives = "relay" } }
INJ1 = { kind = "injector", load = "12 ohm", spare = true }
[wire]
W1 = { from = "INJ1:2", to = "A1:17" }
`,
	Good: `[part]
A1 = { kind = "module", spare = true, pins = ["7"], pin.7 = { role = "sink", drives = "injector" } }
INJ1 = { kind = "injector", load = "12 ohm", spare = true }
[wire]
W1 = { from = "INJ1:2", to = "A1:7" }
`,
	Run: func(p *rules.Pass) {
		m := &mismatches{p}
		for i := range p.Graph.Nets {
			m.net(&p.Graph.Nets[i])
		}
	},
})

// mismatches is one run of the rule.
type mismatches struct{ *rules.Pass }

// A burden is what takes current at a terminal, in the words of the key drives.
type burden struct {
	pin  model.PinID
	part *model.Part
	what string   // in plain words: "an injector"
	fits []string // the values of drives that suit it
}

// burdens maps kinds of parts to what they are to an output.
var burdens = map[string]burden{
	"injector":      {what: "an injector", fits: []string{"injector"}},
	"ignition coil": {what: "an ignition coil", fits: []string{"coil primary", "coil logic"}},
	"lamp":          {what: "a lamp", fits: []string{"lamp"}},
	"solenoid":      {what: "a valve", fits: []string{"valve"}},
	"heater":        {what: "a heater", fits: []string{"heater"}},
	"motor":         {what: "a motor", fits: []string{"motor"}},
	"horn":          {what: "a horn", fits: []string{"motor"}},
}

// net collects what is on a net and compares it. Bars, splices and connectors between are of no account.
func (m *mismatches) net(net *graph.Net) {
	if len(net.Pins) < 2 {
		return
	}
	var outputs, inputs, buses, others, signals []model.PinID
	var takes []burden
	switched := false // something else can work what is on the net
	for _, id := range net.Pins {
		pin := m.Netlist.Pin(id)
		part := pin.Owner.Device()
		switch {
		case part == nil || part.Kind.Joined:
			switched = switched || pin.Owner.Body != nil || part != nil && m.IsGround(id)
			continue
		case part.Kind.Name == "module":
			switch pin.Role {
			case catalog.Sink, catalog.Driver, catalog.HalfBridge:
				outputs = append(outputs, id)
			case catalog.Bus:
				buses = append(buses, id)
				inputs = append(inputs, id)
			case catalog.Signal, catalog.Input, catalog.Reference:
				inputs = append(inputs, id)
			}
			if pin.Role != catalog.Bus && pin.Role != catalog.NoRole {
				others = append(others, id)
			}
			continue
		case part.Kind.Symbol == "sensor" && pin.Role == catalog.Signal:
			signals = append(signals, id)
			continue
		}
		if b, is := m.burdenAt(pin, part); is {
			takes = append(takes, b)
		} else if part.Kind.Symbol != "resistor" && part.Kind.Symbol != "diode" && part.Kind.Symbol != "capacitor" {
			switched = true
		}
	}
	if len(outputs)+len(inputs) == 0 || contradicts(m.Graph, net) {
		return
	}
	switch {
	case len(outputs) > 0:
		m.driven(outputs, takes)
		if len(signals) > 0 && len(inputs) == 0 && !switched && len(takes) == 0 {
			m.sensorOnOutput(outputs[0], signals[0])
		}
	case len(inputs) > 0 && len(takes) > 0 && !switched:
		m.worksNothing(inputs[0], takes[0])
	}
	if len(buses) > 0 && len(others) > 0 {
		m.onBus(buses[0], others[0])
	}
}

// burdenAt says what takes current at a terminal of a part: a coil, or a consumer of the part's kind. The terminals of a
// part that no consumer has, such as the supply of an ignition coil's igniter, take nothing of an output.
func (m *mismatches) burdenAt(pin *model.Pin, part *model.Part) (burden, bool) {
	for _, e := range m.Graph.At(pin.ID) {
		edge := m.Graph.Edge(e)
		if edge.Kind == graph.Coil {
			return burden{pin: pin.ID, part: part, what: "the coil of a relay", fits: []string{"relay"}}, true
		}
		if b, known := burdens[part.Kind.Name]; known && edge.Kind == graph.Load {
			b.pin, b.part = pin.ID, part
			return b, true
		}
	}
	return burden{}, false
}

// driven holds what an output is made for against what it drives.
func (m *mismatches) driven(outputs []model.PinID, takes []burden) {
	for _, id := range outputs {
		out := m.Netlist.Pin(id)
		if !out.Drives.IsSet() || out.Drives.Text == "anything" {
			continue
		}
		for _, b := range takes {
			if slices.Contains(b.fits, out.Drives.Text) {
				continue
			}
			d := m.found(id, b.pin, "%s drives %s, %s, but it is made for: %s", out, b.part.Name.Text, b.what, out.Drives.Text)
			d.Help = fmt.Sprintf(`move the wire to the output for %s; if the sheet allows any load here, write drives = "anything"`, b.part.Name.Text)
			d.Related = append([]diag.Related{{Span: out.Drives.Span, Message: fmt.Sprintf("%s is made for: %s", out, out.Drives.Text)}}, d.Related...)
			break
		}
	}
}

func (m *mismatches) worksNothing(input model.PinID, b burden) {
	in := m.Netlist.Pin(input)
	d := m.found(input, b.pin, "%s, %s, has only %s to work it, a terminal of role %s", b.part.Name.Text, b.what, in, in.Role)
	d.Help = fmt.Sprintf("%s takes a level and switches no load: move the wire to an output", in)
}

func (m *mismatches) sensorOnOutput(output, signal model.PinID) {
	out, at := m.Netlist.Pin(output), m.Netlist.Pin(signal)
	d := m.found(output, signal, "%s says what a sensor measures, but it leads to %s, an output of role %s", at, out, out.Role)
	d.Help = "move the wire to the input that is meant for the sensor"
}

func (m *mismatches) onBus(bus, other model.PinID) {
	at := m.Netlist.Pin(other)
	d := m.found(bus, other, "%s is on the data bus of %s, but its role is %s", at, m.Netlist.Pin(bus), at.Role)
	d.Help = "move the wire, or correct the role: a data bus joins terminals of role bus alone"
}

// found reports a mismatch at the end of the last wire on the way from one terminal to the other.
func (m *mismatches) found(from, to model.PinID, format string, args ...any) *diag.Diagnostic {
	// The end at the module is what somebody has put in the wrong place.
	path := backwards(m.Graph.Path(from, to, func(e *graph.Edge) bool { return e.Kind.Outside() }))
	refs := []string{m.Netlist.Pin(to).String(), m.Netlist.Pin(from).String()}
	span := m.Netlist.Pin(to).Owner.Name.Span
	var w *model.Wire
	var end source.Span
	if w, end = lastWire(path); w != nil {
		span, refs = end, append(refs, w.Name.Text)
	}
	d := m.Report(span, refs, format, args...)
	d.Related = m.Hops(path)
	return d
}
