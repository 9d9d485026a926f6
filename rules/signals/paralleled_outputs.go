package signals

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "paralleled-outputs", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "outputs are joined that may not be",
	Doc: `In the vehicle two outputs on one load do not share its current evenly: the one that switches first, or has the lower resistance,
takes all of it; and two outputs that drive both ways fight each other. The rule fires where two outputs of one device are on one net
without parallel = true on both, and where two devices drive one net and one of the outputs drives both ways (output, half-bridge).

Take one output for the load, a relay if one is too weak, or write parallel = true on both if the maker's sheet allows it. Outputs
of two devices that only join to ground, or only to supply, stay silent: either may switch the load. So do outputs with a diode
or a resistor between.`,
	Sources: []string{"common practice; the sheet of the device"},
	Bad: `[part]
A1 = { kind = "module", pins = ["16", "17"], pin.16.role = "sink", pin.17.role = "sink" }
M1 = { kind = "motor", load = "5 A", pin.1.unused = true }
[wire]
W1 = { from = "M1:2", to = "A1:16" }
W2 = { from = "M1:2", to = "A1:17" }
`,
	Good: `[part]
A1 = { kind = "module", pins = ["16", "17"], pin.16 = { role = "sink", parallel = true }, pin.17 = { role = "sink", parallel = true } }
M1 = { kind = "motor", load = "5 A", pin.1.unused = true }
[wire]
W1 = { from = "M1:2", to = "A1:16" }
W2 = { from = "M1:2", to = "A1:17" }
`,
	Run: func(p *rules.Pass) {
		for i := range p.Graph.Nets {
			parallel(p, &p.Graph.Nets[i])
		}
	},
})

// parallel reports the first two outputs of a net that may not be joined.
func parallel(p *rules.Pass, net *graph.Net) {
	var outputs []*model.Pin
	for _, id := range net.Pins {
		pin := p.Netlist.Pin(id)
		if !isOutput(pin.Role) || pin.Owner.Device() == nil {
			continue
		}
		for _, other := range outputs {
			if !mayJoin(other, pin) {
				joined(p, other, pin)
				return
			}
		}
		outputs = append(outputs, pin)
	}
}

// mayJoin reports whether two outputs may be on one net.
func mayJoin(a, b *model.Pin) bool {
	if a.Parallel.On && b.Parallel.On {
		return true
	}
	oneWay := func(pin *model.Pin) bool { return pin.Role == catalog.Sink || pin.Role == catalog.Driver }
	return a.Owner.Device() != b.Owner.Device() && a.Role == b.Role && oneWay(a)
}

func joined(p *rules.Pass, a, b *model.Pin) {
	span, wires := spanAt(p, b.ID)
	refs := append([]string{b.Owner.Device().Name.Text, a.String(), b.String()}, wires...)
	d := p.Report(span, refs, "outputs %s and %s drive one net, and nothing says that they may", a, b)
	d.Help = "take one of them for the load, or write parallel = true on both if the maker's sheet allows it"
	d.Related = p.Hops(p.Graph.Path(a.ID, b.ID, outside))
}
