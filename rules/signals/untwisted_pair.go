package signals

import (
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "untwisted-pair", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "the pair of an inductive or knock sensor, or of a data bus, is neither twisted nor screened",
	Doc: `In the vehicle the two wires of a pair pick up ignition and generator unless they lie so close that both pick up the same. An
engine that loses synchronism at 4000 rpm, or a bus with lost messages, is the result. The rule fires where the two wires of
an inductive sensor, of a sensor with polarity + and - on two of its terminals, or of a data bus, are not in one cable of kind
twisted pair, screened pair or screened cable, on any piece longer than the setting "most".

Twist the two, one turn for every 20 to 30 mm, and write the cable: [cable] CRANK = { kind = "twisted pair", wires = ["34a",
"35a"] }. Hall sensors and other sensors with a supply stay silent, as does a sensor of whose two ends only one has a wire.`,
	Sources: []string{
		"common practice: a turn for every 20 to 30 mm, untwisted for 50 mm at a terminal at the most",
		"SAE J1939-11 and -15: the pair of the bus is twisted (testdata/reference/can-bus.csv)",
	},
	Bad: `[part]
B1 = { kind = "inductive sensor", resistance = "900 ohm" }
A1 = { kind = "module", pins = ["9", "10"] }
[wire]
W1 = { from = "B1:1", to = "A1:9" }
W2 = { from = "B1:2", to = "A1:10" }
`,
	Good: `[part]
B1 = { kind = "inductive sensor", resistance = "900 ohm" }
A1 = { kind = "module", pins = ["9", "10"] }
[wire]
W1 = { from = "B1:1", to = "A1:9" }
W2 = { from = "B1:2", to = "A1:10" }
[cable]
C1 = { kind = "twisted pair", wires = ["W1", "W2"] }
`,
	Settings: []rules.Setting{{Key: "most", Dim: unit.Length, Default: 0.05, Doc: "how long a piece may be without being twisted: the ends at a terminal (common practice)"}},
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			if a, b, is := pairOf(p.Netlist, part); is {
				pairIsTwisted(p, part.Name.Text, "sensor "+part.Name.Text, p.Graph.NetOf(a), p.Graph.NetOf(b))
			}
		}
		for _, b := range buses(p) {
			pairIsTwisted(p, b.high.Name, "data bus "+b.name(), b.high, b.low)
		}
	},
})

// pairOf returns the two ends of a sensor that gives its signal between two wires, plus first where the file says which.
func pairOf(n *model.Netlist, part *model.Part) (a, b model.PinID, is bool) {
	a, b = model.NoPin, model.NoPin
	for _, id := range part.Terminals() {
		switch n.Pin(id).Polarity.Text {
		case "+":
			a = id
		case "-":
			b = id
		}
	}
	if a != model.NoPin && b != model.NoPin && rules.IsSensor(part) {
		return a, b, true
	}
	if part.Kind.Name != "inductive sensor" || len(part.Inside.Loads) == 0 {
		return a, b, false
	}
	pair := part.Inside.Loads[0].Pair
	return pair.A, pair.B, pair.A != model.NoPin && pair.B != model.NoPin
}

// pairIsTwisted reports the first wire of a pair that lies in no twisted or screened cable with one of the other side.
func pairIsTwisted(p *rules.Pass, ref, what string, a, b *graph.Net) {
	one, two := wiresOn(p, a), wiresOn(p, b)
	if a == b || len(one) == 0 || len(two) == 0 {
		return
	}
	together := map[*model.Cable]bool{}
	for _, w := range two {
		together[w.Cable] = true
	}
	for _, w := range one {
		length, known := p.Routes.Length(w)
		if known && float64(length) <= p.Setting("most") || w.Cable != nil && twisted(w.Cable) && together[w.Cable] {
			continue
		}
		d := p.Report(w.Name.Span, []string{ref, w.Name.Text, two[0].Name.Text}, "wire %s of %s is not twisted or screened with its partner on net %s", w.Name.Text, what, b.Name)
		d.Help = `twist the two, a turn for every 20 to 30 mm, and write a [cable] of kind "twisted pair" or "screened pair"`
		return
	}
}

func twisted(c *model.Cable) bool { return c.Kind.Text != "cable" }

// wiresOn lists the wires of a net in the order of the file.
func wiresOn(p *rules.Pass, net *graph.Net) []*model.Wire {
	var found []*model.Wire
	seen := map[*model.Wire]bool{}
	for _, id := range net.Pins {
		for _, w := range p.Graph.WiresAt(id) {
			if !seen[w] {
				seen[w] = true
				found = append(found, w)
			}
		}
	}
	return found
}
