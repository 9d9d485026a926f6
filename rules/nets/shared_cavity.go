package nets

import (
	"ferrule/rules"
	"fmt"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
)

var _ = rules.Register(&rules.Rule{
	Name: "shared-cavity", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "two wires in one cavity",
	Doc: `In the vehicle two conductors in a barrel that is made for one are crimped badly: one of the two pulls out, or the terminal does
not go into its cavity, and a seal that two wires share lets water in. The rule fires where two wires or more end in one cavity
of a connector, or at a terminal of a part for which the file names what is crimped on. At the tabs of fuses and relays that sit
in a panel it is a warning, since some panels have screws there.

Bring the wires together at a splice and take one wire on from there, or end them in two cavities. Where the two are crimped
into one terminal on purpose, write double-crimp = true in the line of that terminal: rule terminal-range then holds the sum of the
conductors against the barrel, and seal-range says where a seal forbids it. Silent are splices, studs, bus bars, ground points,
terminals of a panel, bolt-in fuses, posts of batteries, generators and starters, and parts of which the file does not say how
wires are fastened: screws take several.`,
	Sources: []string{"common practice: one wire, one terminal, one cavity, one seal"},
	Bad: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
E2 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 1
mates = "X2"
[connector.X2]
[wire]
W1 = { from = "F1:2", to = "X1:1" }
W2 = { from = "X2:1", to = "E1:1" }
W3 = { from = "X2:1", to = "E2:1" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
E2 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 1
mates = "X2"
[connector.X2]
[splice]
SP1 = {}
[wire]
W1 = { from = "F1:2", to = "X1:1" }
W2 = { from = "X2:1", to = "SP1:1" }
W3 = { from = "SP1:2", to = "E1:1" }
W4 = { from = "SP1:2", to = "E2:1" }
`,
	Run: func(p *rules.Pass) {
		for i := range p.Netlist.Pins {
			pin := &p.Netlist.Pins[i]
			if pin.DoubleCrimp.On || len(p.Graph.At(pin.ID)) < 2 {
				continue
			}
			severity := cavitySeverity(pin)
			if severity == diag.Invalid {
				continue
			}
			if wires := p.Graph.WiresAt(pin.ID); len(wires) > 1 {
				sharedCavity(p, pin, wires, severity)
			}
		}
	},
})

// cavitySeverity says how bad two wires at a terminal are; Invalid where several may end.
func cavitySeverity(pin *model.Pin) diag.Severity {
	part := pin.Owner.Part
	switch {
	case pin.Owner.Connector != nil:
		return diag.Error
	case part == nil || part.Kind.Joined || part.Kind.Symbol == "battery" || part.Kind.Symbol == "generator" || part.Kind.Symbol == "starter" || pin.Terminal.IsRing():
		return diag.Invalid
	case pin.Terminal != nil:
		return diag.Error
	case part.Panel != nil && (part.Kind.Symbol == "fuse" || part.Kind.Symbol == "breaker" || part.Kind.Symbol == "relay") && !bolted(part):
		return diag.Warning
	}
	return diag.Invalid
}

// bolted reports whether a fuse is held by screws, by the name of its family.
func bolted(part *model.Part) bool {
	family := part.Value("family")
	return family != nil && strings.Contains(strings.ToLower(family.Word.Text), "bolt")
}

func sharedCavity(p *rules.Pass, pin *model.Pin, wires []*model.Wire, severity diag.Severity) {
	names := make([]string, len(wires))
	for i, w := range wires {
		names[i] = w.Name.Text
	}
	what := "terminal"
	if pin.Owner.Connector != nil {
		what = "cavity"
	}
	at := endAt(wires[1], pin.ID)
	d := p.ReportAs(severity, at.Span, append([]string{pin.String()}, names...), "wires %s end in one %s, %s", rules.And(names), what, pin)
	d.Help = fmt.Sprintf("join them at a splice and take one wire to %s; if they share a terminal on purpose, write double-crimp = true in its line", pin)
	for _, w := range wires {
		if w != wires[1] {
			d.Related = append(d.Related, diag.Related{Span: endAt(w, pin.ID).Span, Message: fmt.Sprintf("wire %s ends here too", w.Name.Text)})
		}
	}
}
