package terminals

import (
	"ferrule/rules"
	"fmt"
	"strconv"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

var _ = rules.Register(&rules.Rule{
	Name: "open-cavity", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "an empty cavity of a sealed connector has no plug",
	Doc: `In the vehicle the one empty hole is where the water comes in, and it stands in all the other cavities. The rule fires for the cavities
of a sealed connector that no wire goes to and that are not listed under plugged, once a connector; the two halves of a pair are one.

Put a cavity plug in, from the wire side, and list it: plugged = ["9", "12"]. A cavity that is both spare and plugged is in both lists. Silent
are connectors that are not sealed, and connectors that nothing is wired to.`,
	Sources: []string{"common practice: every cavity of a sealed housing has a wire or a plug"},
	Bad: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 2
mates = "X2"
sealed = true
spare = ["2"]
[connector.X2]
[wire]
W1 = { from = "F1:2", to = "X1:1" }
W2 = { from = "X2:1", to = "E1:1" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 2
mates = "X2"
sealed = true
spare = ["2"]
plugged = ["2"]
[connector.X2]
[wire]
W1 = { from = "F1:2", to = "X1:1" }
W2 = { from = "X2:1", to = "E1:1" }
`,
	Run: func(p *rules.Pass) {
		for _, c := range p.Netlist.Connectors {
			if c.Sealed.On && used(p, c) {
				openCavities(p, c)
			}
		}
	},
})

func openCavities(p *rules.Pass, c *model.Connector) {
	var names, quoted, pins []string
	span, last := c.Name.Span, source.Span{} // last is the last item of the list of plugs
	for _, id := range c.Owner.Pins {
		pin := p.Netlist.Pin(id)
		if pin.Plugged.On && pin.Plugged.Span.Text() == strconv.Quote(pin.Name) {
			last = pin.Plugged.Span
		}
		if pin.Plugged.On || occupied(p, id) || saidByMate(p, c, pin.Name) {
			continue
		}
		if len(names) == 0 && pin.Spare.On {
			span = pin.Spare.Span
		}
		names, quoted, pins = append(names, pin.Name), append(quoted, fmt.Sprintf("%q", pin.Name)), append(pins, pin.String())
	}
	if len(names) == 0 {
		return
	}
	d := p.Report(span, append([]string{c.Name.Text}, pins...), "%s %s of %s %s empty and %s no plug, but the housing is sealed", rules.Plural(len(names), "cavity", "cavities"),
		strings.Join(names, ", "), c.Name.Text, rules.Plural(len(names), "is", "are"), rules.Plural(len(names), "has", "have"))
	d.Help = "close with cavity plugs and add plugged = [" + strings.Join(quoted, ", ") + "] to " + c.Name.Text
	d.Fixes = p.SetList("list the plugs of "+c.Name.Text+", once they are in", false, "connector", c.Name.Text, "plugged", names, last, "spare", "sealed")
}

// saidByMate reports whether the other half, which comes first in the file, is reported for the same cavity.
func saidByMate(p *rules.Pass, c *model.Connector, name string) bool {
	if firstHalf(c) || !c.Mate.Sealed.On || !used(p, c.Mate) {
		return false
	}
	other, meets := c.Mate.Owner.Pin(name)
	return meets && !occupied(p, other)
}
