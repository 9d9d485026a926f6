package signals

import (
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "bus-terminator", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a data bus has other than two terminators, or not at its two ends",
	Doc: `In the vehicle the bus works on the bench and fails with the engine running, or is dead from the start: without a resistor at an
end the edges come back as echoes, and with a third the transmitters cannot pull the pair apart. The rule adds up the resistors
between the nets of class bus high and bus low that at least two devices share, inside devices and outside, two in series as one.
It fires when they are not two of 120 ohm (60 ohm between the wires, no power), and when one of two stands farther from an end than
a stub may be long.

Take the one out that is not at an end, or add the one that is missing; a modem in the middle has none. What is built into a
device must be written, as resistors = [{ between = "XB:17-XB:18", value = "120 ohm" }]; one that can be switched counts as
it stands. Where no resistor is written at all, nothing can be said and the summary says that. A bus with one device in the
file stays silent: the rest of it is in another file.`,
	Sources: []string{
		"ISO 11898-2: 120 ohm at each of the two ends, 100 to 130 ohm each (testdata/reference/can-bus.csv)",
		"SAE J1939-11: the same (testdata/reference/can-bus.csv)",
	},
	Bad:  busExample(`[{ between = "3-4", value = "120 ohm" }]`, `[]`),
	Good: busExample(`[{ between = "3-4", value = "120 ohm" }]`, `[{ between = "3-4", value = "120 ohm" }]`),
	Run: func(p *rules.Pass) {
		for _, b := range buses(p) {
			b.judgeTerminators(p)
		}
	},
})

// busExample is a bus of two devices with the given resistors inside.
func busExample(first, second string) string {
	return fmt.Sprintf(`[net]
BUS-H = { class = "bus high", bit-rate = "500 kbit/s" }
BUS-L = { class = "bus low" }
[part]
A1 = { kind = "module", pins = ["3", "4"], pin.3.net = "BUS-H", pin.4.net = "BUS-L", resistors = %s }
A2 = { kind = "module", pins = ["3", "4"], pin.3.net = "BUS-H", pin.4.net = "BUS-L", resistors = %s }
[wire]
W1 = { from = "A1:3", to = "A2:3", length = "2 m" }
W2 = { from = "A1:4", to = "A2:4", length = "2 m" }
[cable]
C1 = { kind = "twisted pair", wires = ["W1", "W2"] }
`, first, second)
}

// What a terminator may be, in ohm: ISO 11898-2, minimum and maximum.
const leastTerminator, mostTerminator = 100.0, 130.0

func (b *bus) judgeTerminators(p *rules.Pass) {
	found := b.terminators(p)
	if len(found) == 0 {
		p.Lacks("terminators of the data bus", `write them where they are: resistors = [{ between = "XB:17-XB:18", value = "120 ohm" }]`, b.span(p), b.high.Name)
		return
	}
	switch {
	case len(found) != 2:
		b.wrongNumber(p, found)
	case !fits(found[0]) || !fits(found[1]):
		b.wrongValue(p, found)
	default:
		b.notAtEnds(p, found)
	}
}

func fits(t terminator) bool { return t.ohms >= leastTerminator && t.ohms <= mostTerminator }

// together is what a meter reads between the two wires with the power off.
func together(all []terminator) unit.Ohm {
	sum := 0.0
	for _, t := range all {
		sum += 1 / t.ohms
	}
	return unit.Ohm(1 / sum)
}

var counts = []string{"no terminator", "one terminator", "two terminators", "three terminators", "four terminators"}

// wrongNumber reports a bus with one terminator or with more than two, at the one that is least at an end.
func (b *bus) wrongNumber(p *rules.Pass, all []terminator) {
	extra := all[len(all)-1]
	if x, y, known := b.ends(p); known {
		for _, t := range all {
			if t.part != x.part && t.part != y.part {
				extra = t
			}
		}
	}
	refs, names := b.refs(extra, all)
	count := fmt.Sprintf("%d terminators", len(all))
	if len(all) < len(counts) {
		count = counts[len(all)]
	}
	d := p.Report(extra.span, refs, "%s between %s and %s (in %s): %s, where two of 120 ohm at the ends make 60 ohm", count, b.high.Name, b.low.Name, rules.And(names), together(all))
	d.Help = "take the one in " + extra.part.Name.Text + " out: it stands at no end of the bus"
	if len(all) == 1 {
		d.Help = "put 120 ohm at the other end of the bus, or write the one that is inside a device there"
	}
	for _, t := range all {
		d.Related = append(d.Related, diag.Related{Span: t.span, Message: fmt.Sprintf("%s in %s", unit.Ohm(t.ohms), t.part.Name.Text)})
	}
}

// refs names the devices with terminators, the one in question first.
func (b *bus) refs(first terminator, all []terminator) (refs, names []string) {
	refs = []string{first.part.Name.Text, b.high.Name, b.low.Name}
	for _, t := range all {
		names = append(names, t.part.Name.Text)
		if t.part != first.part {
			refs = append(refs, t.part.Name.Text)
		}
	}
	return refs, names
}

func (b *bus) wrongValue(p *rules.Pass, all []terminator) {
	bad := all[0]
	if fits(bad) {
		bad = all[1]
	}
	refs, _ := b.refs(bad, all)
	d := p.Report(bad.span, refs, "the terminator of %s in %s has %s: the pair reads %s, not 60 ohm", b.name(), bad.part.Name.Text, unit.Ohm(bad.ohms), together(all))
	d.Help = "make it 120 ohm; 100 to 130 ohm will do"
}

// notAtEnds reports a terminator that a longer piece of bus goes on behind than a stub may have.
func (b *bus) notAtEnds(p *rules.Pass, all []terminator) {
	stubs, known := b.stubs(p)
	if !known {
		p.Lacks("length of the wires of the data bus", `add length = "1.2 m", or places and paths between the ends`, b.span(p), b.high.Name)
		return
	}
	allowed := longestStub(b.rate())
	if allowed == 0 {
		allowed = 1
	}
	for _, s := range stubs {
		if s.behind >= 0 && s.metres > allowed+0.001 {
			b.farFromEnd(p, all[s.behind], all, s.node, s.metres, allowed)
			return
		}
	}
}

func (b *bus) farFromEnd(p *rules.Pass, t terminator, all []terminator, end node, behind, allowed float64) {
	refs, _ := b.refs(t, all)
	refs = append(refs, end.part.Name.Text)
	d := p.Report(t.span, refs, "the terminator of %s in %s stands %s from the end of the bus at %s; a stub may have %s", b.name(), t.part.Name.Text, unit.Metre(behind), end.part.Name.Text, unit.Metre(allowed))
	d.Help = "put it at " + end.part.Name.Text
	d.Related = []diag.Related{{Span: endOf(p, end), Message: end.part.Name.Text + " is the end of the bus"}}
}

func endOf(p *rules.Pass, n node) source.Span { return p.Netlist.Pin(n.high).Span }
