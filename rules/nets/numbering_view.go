package nets

import (
	"ferrule/rules"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
)

var _ = rules.Register(&rules.Rule{
	Name: "numbering-view", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "nothing says from which side a connector is numbered",
	Doc: `In the vehicle this is the mirrored harness: rows that were read at the mating face are filled from the wire side, every wire is in
the wrong cavity, and power meets ground in the controller. It is the commonest total loss. The rule fires for every connector
with more than two cavities whose grid does not say its view: such rows can be read two ways. Where there is no grid either, no face
can be drawn, and only the numbers moulded in the housing stand between you and the mirror: that is noted as missing (no-data).

Look at the drawing that the pin-out comes from: if it shows where the wires go in, write view = "wire side", if it shows the
contacts from the front, view = "mating face". Confirm two or three corner cavities by the numbers moulded in the plastic. Silent
are connectors with one or two cavities, a half whose mate says it, and a plug that nothing is wired to.`,
	Sources: []string{"common practice"},
	Bad: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
A1 = { kind = "module", spare = true }
[connector.XA]
of = "A1"
grid = ["1-3"]
[wire]
W1 = { from = "F1:2", to = "XA:1" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
A1 = { kind = "module", spare = true }
[connector.XA]
of = "A1"
grid = ["1-3"]
view = "wire side"
[wire]
W1 = { from = "F1:2", to = "XA:1" }
`,
	Run: func(p *rules.Pass) {
		for _, c := range p.Netlist.Connectors {
			switch {
			case c.View.IsSet() || len(c.Owner.Pins) <= 2:
			case c.Mate != nil && (c.Mate.View.IsSet() || c.Mate.Mate == c && c.Mate.Name.Span.Before(c.Name.Span)):
			default:
				noView(p, c)
			}
		}
	},
})

func noView(p *rules.Pass, c *model.Connector) {
	used := false
	for _, id := range c.Owner.Pins {
		used = used || wiredAt(p.Graph, id)
	}
	if !used {
		return
	}
	if c.Rows == nil {
		p.Lacks("view, and no grid,", `add view = "wire side" and grid = ["1-6", "7-12"], as the pin-out shows them`, c.Name.Span, c.Name.Text)
		return
	}
	d := p.Report(c.Name.Span, []string{c.Name.Text}, "%s has %d cavities, and its grid does not say from which side it is seen", c.Name.Text, len(c.Owner.Pins))
	d.Help = `add view = "wire side" if the pin-out shows where the wires go in, view = "mating face" if it shows the contacts`
	for _, view := range []string{"wire side", "mating face"} { // which of the two, the pin-out alone says
		d.Fixes = append(d.Fixes, p.SetKey("say that "+c.Name.Text+" is seen from the "+view, false, "connector", c.Name.Text, "view", view, "grid")...)
	}
}
