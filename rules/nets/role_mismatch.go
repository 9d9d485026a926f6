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

// A mixture is what is on a net, by what it is to a module. Bars, splices and connectors between are of no account.
type mixture struct {
	outputs, inputs, buses, others, signals []model.PinID
	takes                                   []burden
	switched                                bool // something else can work what is on the net
}

func (m *mismatches) on(net *graph.Net) (on mixture) {
	for _, id := range net.Pins {
		pin := m.Netlist.Pin(id)
		part := pin.Owner.Device()
		switch {
		case part == nil || part.Kind.Joined:
			on.switched = on.switched || pin.Owner.Body != nil || part != nil && m.IsGround(id)
			continue
		case part.Kind.Name == "module":
			switch pin.Role {
			case catalog.Sink, catalog.Driver, catalog.HalfBridge:
				on.outputs = append(on.outputs, id)
			case catalog.Bus:
				on.buses = append(on.buses, id)
				on.inputs = append(on.inputs, id)
			case catalog.Signal, catalog.Input, catalog.Reference:
				on.inputs = append(on.inputs, id)
			}
			if pin.Role != catalog.Bus && pin.Role != catalog.NoRole {
				on.others = append(on.others, id)
			}
			continue
		case part.Kind.Symbol == "sensor" && pin.Role == catalog.Signal:
			on.signals = append(on.signals, id)
			continue
		}
		if b, is := m.burdenAt(pin, part); is {
			on.takes = append(on.takes, b)
		} else if part.Kind.Symbol != "resistor" && part.Kind.Symbol != "diode" && part.Kind.Symbol != "capacitor" {
			on.switched = true
		}
	}
	return on
}

// net compares what is on a net.
func (m *mismatches) net(net *graph.Net) {
	if len(net.Pins) < 2 {
		return
	}
	on := m.on(net)
	if len(on.outputs)+len(on.inputs) == 0 || contradicts(m.Graph, net) {
		return
	}
	switch {
	case len(on.outputs) > 0:
		m.driven(on.outputs, on.takes)
		if len(on.signals) > 0 && len(on.inputs) == 0 && !on.switched && len(on.takes) == 0 {
			m.sensorOnOutput(on.outputs[0], on.signals[0])
		}
	case len(on.takes) > 0 && !on.switched:
		m.worksNothing(on.inputs[0], on.takes[0])
	}
	if len(on.buses) > 0 && len(on.others) > 0 {
		m.onBus(on.buses[0], on.others[0])
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
		if !out.Drives.IsSet() && len(takes) > 0 {
			m.Lacks("purpose (drives) of an output", `add drives = "relay", "injector", "lamp" and the like as its sheet says, or drives = "anything"`, out.Span, out.String())
		}
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
			d.Fixes = m.exchanged(id)
			break
		}
	}
}

func (m *mismatches) worksNothing(input model.PinID, b burden) {
	in := m.Netlist.Pin(input)
	d := m.found(input, b.pin, "%s, %s, has only %s to work it, a terminal of role %s", b.part.Name.Text, b.what, in, in.Role)
	d.Help = fmt.Sprintf("%s takes a level and switches no load: move the wire to an output", in)
	d.Fixes = m.exchanged(input)
}

func (m *mismatches) sensorOnOutput(output, signal model.PinID) {
	out, at := m.Netlist.Pin(output), m.Netlist.Pin(signal)
	d := m.found(output, signal, "%s says what a sensor measures, but it leads to %s, an output of role %s", at, out, out.Role)
	d.Help = "move the wire to the input that is meant for the sensor"
	d.Fixes = m.exchanged(output)
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

// exchanged is the exchange of a terminal of a module with the one other of its terminals that is as wrong and is right for what
// hangs here, while what hangs there is right here; none where there is no such terminal, or more than one.
func (m *mismatches) exchanged(at model.PinID) []diag.Fix {
	here, alone := m.hanging(at)
	if !alone || m.suits(at, here) {
		return nil
	}
	partner := model.NoPin
	for _, id := range m.Netlist.Pin(at).Owner.Device().Terminals() {
		there, alone := m.hanging(id)
		if id == at || !alone || m.suits(id, there) || !m.suits(id, here) || !m.suits(at, there) {
			continue
		}
		if partner != model.NoPin {
			return nil
		}
		partner = id
	}
	if partner == model.NoPin {
		return nil
	}
	return m.Exchange(at, partner, true)
}

// A hung thing is what one wire ties to a terminal of a module: a burden, or a sensor's signal where it takes nothing.
type hung struct {
	burden
	signal model.PinID
}

// hanging is the one thing that hangs at a terminal, by one wire.
func (m *mismatches) hanging(at model.PinID) (h hung, alone bool) {
	net := m.Graph.NetOf(at)
	on := m.on(net)
	if on.switched || len(on.outputs)+len(on.inputs) != 1 || len(on.takes)+len(on.signals) != 1 || contradicts(m.Graph, net) {
		return h, false
	}
	if len(on.signals) > 0 {
		return hung{signal: on.signals[0]}, m.OneWire(at, on.signals[0])
	}
	return hung{burden: on.takes[0], signal: model.NoPin}, m.OneWire(at, on.takes[0].pin)
}

// suits reports whether a terminal of a module is made for what hangs at it, by its role, what it drives and its cylinder.
func (m *mismatches) suits(at model.PinID, h hung) bool {
	pin := m.Netlist.Pin(at)
	if h.part == nil {
		return pin.Role == catalog.Signal || pin.Role == catalog.Input
	}
	if pin.Drives.IsSet() && pin.Drives.Text != "anything" && !slices.Contains(h.fits, pin.Drives.Text) {
		return false
	}
	if v := h.part.Value("cylinder"); v != nil && v.Word.IsSet() && pin.Cylinder.IsSet() && !meets(pin.Cylinder.Text, v.Word.Text) {
		return false
	}
	toGround := m.farEndGrounded(h.pin) != m.Netlist.Harness.PositiveGround
	switch pin.Role {
	case catalog.Sink:
		return !toGround
	case catalog.Driver:
		return toGround
	}
	return pin.Role == catalog.HalfBridge
}

// farEndGrounded reports whether the other terminal of what takes current at one is on ground.
func (m *mismatches) farEndGrounded(pin model.PinID) bool {
	for _, id := range m.Graph.At(pin) {
		if e := m.Graph.Edge(id); e.Kind == graph.Load || e.Kind == graph.Coil {
			return m.Grounded(e.Other(pin))
		}
	}
	return false
}
