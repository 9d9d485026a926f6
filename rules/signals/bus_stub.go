package signals

import (
	"ferrule/netlist/diag"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "bus-stub", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "a device hangs on a data bus by a stub that is too long for the bit rate",
	Doc: `In the vehicle every branch of the bus without a terminator at its end sends an echo; a long one arrives while the bit is read,
and messages are lost that were right on the bench. The rule takes as trunk the way between the two terminators, or between the two
devices that are farthest apart where there are not two, and measures from it to each device that branches off: 0.3 m at 800 kbit/s
and above, 1 m at 250 and 500 kbit/s. A bus that goes on behind a terminator is the matter of bus-terminator.

Loop the trunk through the device, two wires in each cavity or a pair of splices beside it, or shorten the stub. Buses of 125 kbit/s
and below stay silent. Without bit-rate on the net, or without the lengths of its wires, nothing is said but what is missing.`,
	Sources: []string{
		"ISO 11898-2: 0.3 m at 1 Mbit/s (from memory; testdata/reference/can-bus.csv)",
		"SAE J2284: 1 m at 500 kbit/s (from memory); SAE J1939-11: 1 m at 250 kbit/s (testdata/reference/can-bus.csv)",
	},
	Bad:  stubExample("1.5 m"),
	Good: stubExample("0.5 m"),
	Run: func(p *rules.Pass) {
		for _, b := range buses(p) {
			b.judgeStubs(p)
		}
	},
})

// stubExample is a bus of three devices, of which the third hangs on a stub.
func stubExample(stub string) string {
	return `[net]
BUS-H = { class = "bus high", bit-rate = "500 kbit/s" }
BUS-L = { class = "bus low" }
[part]
A1 = { kind = "module", pins = ["3", "4"], pin.3.net = "BUS-H", pin.4.net = "BUS-L", resistors = [{ between = "3-4", value = "120 ohm" }] }
A2 = { kind = "module", pins = ["3", "4"], pin.3.net = "BUS-H", pin.4.net = "BUS-L", resistors = [{ between = "3-4", value = "120 ohm" }] }
A3 = { kind = "module", pins = ["3", "4"], pin.3.net = "BUS-H", pin.4.net = "BUS-L" }
[splice]
SP1 = {}
SP2 = {}
[wire]
W1 = { from = "A1:3", to = "SP1:1", length = "2 m" }
W2 = { from = "A1:4", to = "SP2:1", length = "2 m" }
W3 = { from = "SP1:1", to = "A2:3", length = "2 m" }
W4 = { from = "SP2:1", to = "A2:4", length = "2 m" }
W5 = { from = "SP1:1", to = "A3:3", length = "` + stub + `" }
W6 = { from = "SP2:1", to = "A3:4", length = "` + stub + `" }
[cable]
C1 = { kind = "twisted pair", wires = ["W1", "W2"] }
C2 = { kind = "twisted pair", wires = ["W3", "W4"] }
C3 = { kind = "twisted pair", wires = ["W5", "W6"] }
`
}

func (b *bus) judgeStubs(p *rules.Pass) {
	if len(b.nodes) < 3 {
		return
	}
	rate := b.rate()
	if rate == 0 {
		p.Lacks("bit rate of the data bus", `add bit-rate = "500 kbit/s" to the net of class bus high`, b.span(p), b.high.Name)
		return
	}
	limit := longestStub(rate)
	if limit == 0 {
		return
	}
	stubs, known := b.stubs(p)
	if !known {
		p.Lacks("length of the wires of the data bus", `add length = "1.2 m", or places and paths between the ends`, b.span(p), b.high.Name)
		return
	}
	for _, s := range stubs {
		if s.behind < 0 && s.metres > limit+0.001 {
			b.longStub(p, s.node, s.metres, limit)
		}
	}
}

func (b *bus) longStub(p *rules.Pass, n node, stub, limit float64) {
	refs := []string{n.part.Name.Text, b.high.Name, b.low.Name}
	span := p.Netlist.Pin(n.high).Span
	for _, w := range p.Graph.WiresAt(n.high) {
		span, refs = w.Name.Span, append(refs, w.Name.Text)
		break
	}
	d := p.Report(span, refs, "%s hangs on %s by a stub of %s; at %s it may have %s", n.part.Name.Text, b.name(), unit.Metre(stub), b.decl.BitRate.Text, unit.Metre(limit))
	d.Help = "loop the bus through the device, or shorten the stub"
	d.Related = p.Hops(p.Graph.Path(n.high, b.nodes[0].high, outside))
}
