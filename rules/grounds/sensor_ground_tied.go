package grounds

import (
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "sensor-ground-tied", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a sensor ground meets another ground",
	Doc: `In the vehicle the controller's own current, and that of fans and lamps, then looks for ground through the thin wires of the sensors and
the controller's terminal for them. All sensors on that ground read wrong at once, the mixture and the spark with them, and the engine
stumbles or stops; when the controller's real ground comes loose, its whole current burns its way through there. The rule fires where
a sensor ground (role return, or a net of class return) meets power ground outside the module that joins the two, and, as a
warning, where it does so through the case of a sensor.

Take the way out: a sensor ground touches nothing but sensors and the module. Silent is the joint inside the module.`,
	Sources: []string{"common practice: sensor ground ends at the module, which joins it to ground inside"},
	Bad:     sensorGround("\nW5 = { from = \"B1:2\", to = \"G1:2\" }"),
	Good:    sensorGround(""),
	Run: func(p *rules.Pass) {
		for _, m := range sensorMeetings(p) {
			if m.inner {
				throughCase(p, m)
			} else {
				tied(p, m)
			}
		}
	},
})

// sensorGround is a sensor at a controller, with one more wire.
func sensorGround(more string) string {
	return `[body.engine]
[part]
A1 = { kind = "module" }
B1 = { kind = "two-wire sensor", resistance = "2 kohm" }
G1 = { kind = "ground point", body = "engine" }
[connector.XA]
of = "A1"
cavities = 3
[connector.XA.pin]
1 = { role = "ground" }
2 = { role = "return" }
3 = { role = "signal" }
[wire]
W1 = { from = "XA:1", to = "G1:1" }
W2 = { from = "XA:2", to = "B1:2" }
W3 = { from = "B1:1", to = "XA:3" }` + more + `
`
}

// A meeting is a sensor ground that reaches another ground.
type meeting struct {
	sense model.PinID
	path  []graph.Hop // to the other ground; empty where the terminal lies on ground itself
	inner bool        // the way leads through the case of a sensor
}

// sensorMeetings finds the sensor grounds that meet power ground outside the module that joins them.
func sensorMeetings(p *rules.Pass) []meeting {
	var out []meeting
	sense := make([]model.PinID, len(p.Graph.Nets))
	for i := range sense {
		sense[i] = model.NoPin
	}
	note := func(id model.PinID, better bool) {
		if at := &sense[p.Graph.NetOf(id).ID]; *at == model.NoPin || better && !isModule(p, *at) {
			*at = id
		}
	}
	for i := range p.Netlist.Pins {
		pin := &p.Netlist.Pins[i]
		if pin.Role == catalog.Return || p.ClassOf(pin.Net) == "return" {
			note(pin.ID, isModule(p, pin.ID))
		}
	}
	for _, w := range p.Netlist.Wires {
		if p.ClassOf(w.Net) == "return" && w.From.ID != model.NoPin {
			note(w.From.ID, false)
		}
	}
	for i, id := range sense {
		if id == model.NoPin {
			continue
		}
		if m, met := meets(p, id, &p.Graph.Nets[i]); met {
			out = append(out, m)
		}
	}
	return out
}

// meets finds where a sensor ground meets power ground: outside, or through the case of a sensor that is its ground.
func meets(p *rules.Pass, sense model.PinID, net *graph.Net) (meeting, bool) {
	if slices.ContainsFunc(net.Pins, func(id model.PinID) bool { return isPower(p, id) }) {
		path := p.Graph.PathTo(sense, func(id model.PinID) bool { return isPower(p, id) }, func(e *graph.Edge) bool { return e.Kind.Outside() })
		return meeting{sense: sense, path: path}, true
	}
	path := p.Graph.PathTo(sense, p.IsGround, func(e *graph.Edge) bool {
		return e.Kind.Outside() || e.Kind == graph.Common && e.Part != nil && rules.IsSensor(e.Part)
	})
	return meeting{sense: sense, path: path, inner: true}, len(path) > 0
}

func isModule(p *rules.Pass, id model.PinID) bool {
	part := p.Netlist.Pin(id).Owner.Device()
	return part != nil && part.Kind.Name == "module"
}

// isPower reports whether a terminal is power ground, by what it is or by its role.
func isPower(p *rules.Pass, id model.PinID) bool {
	return p.IsGround(id) || p.Netlist.Pin(id).Role == catalog.Ground
}

// tied reports a sensor ground that meets power ground by a wire.
func tied(p *rules.Pass, m meeting) {
	name := p.Netlist.Pin(m.sense).String()
	if len(m.path) == 0 { // a terminal that is meant as sensor ground lies on ground itself
		p.Report(p.Netlist.Pin(m.sense).Span, []string{name}, "sensor ground %s is a power ground itself", name).Help = "give it the role that it has"
		return
	}
	h := m.path[p.Seam(m.path, rules.SenseOrGround)]
	ground := p.Netlist.Pin(m.path[len(m.path)-1].To)
	refs := []string{name, ground.String()}
	what := p.Graph.Describe(h)
	if h.Edge.Wire != nil {
		refs = append(refs, h.Edge.Wire.Name.Text)
		what = "wire " + h.Edge.Wire.Name.Text
	}
	d := p.Report(p.Graph.Span(h), refs, "%s brings sensor ground %s to power ground %s", what, name, ground)
	d.Help = "take it out: sensor ground touches nothing but sensors and the module, which joins it to ground inside"
	d.Related = p.Hops(m.path)
}

// throughCase reports a sensor ground that reaches the metal inside a sensor: its case is its ground.
func throughCase(p *rules.Pass, m meeting) {
	last := m.path[len(m.path)-1]
	at, name := p.Netlist.Pin(last.To), p.Netlist.Pin(m.sense).String()
	d := p.ReportAs(diag.Warning, p.Graph.Span(last), []string{at.Owner.Name.Text, name}, "sensor ground %s reaches metal through the case of %s", name, at.Owner.Name.Text)
	d.Help = "take a sensor whose case is no ground, or mount it insulated; accept it where the sheet of the controller asks for such a sensor"
	d.Related = p.Hops(m.path)
}
