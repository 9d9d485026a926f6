package terminals

import (
	"ferrule/rules"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
)

var _ = rules.Register(&rules.Rule{
	Name: "no-expectation", Severity: diag.Note, Harm: rules.Annoys, Since: "0.2",
	Title: "nothing says what a meter should read at a controller's terminal",
	Doc: `In the vehicle the sheet for the first power-up has a blank where a number should be, and whoever stands there with the meter
in the rain finds 4 V and does not know whether that is right. The rule notes, once a plug of a module, the wired terminals without expect.
It begins to speak once one terminal of that module has an expectation: a file that holds none has decided to do without.

Write what is to be read and when: expect = "12 V in RUN, 0 V in OFF". Silent are gauges and other parts, bus and screen
terminals, and terminals that nothing is wired to.`,
	Sources: []string{"common practice"},
	Bad: `[part]
A1 = { kind = "module", spare = true }
F1 = { kind = "fuse", rating = "5 A", spare = true }
[connector.XA]
of = "A1"
cavities = 2
[connector.XA.pin]
1 = { role = "supply", expect = "12 V always" }
2 = { role = "ground" }
[wire]
W1 = { from = "F1:2", to = "XA:1" }
W2 = { from = "F1:1", to = "XA:2" }
`,
	Good: `[part]
A1 = { kind = "module", spare = true }
F1 = { kind = "fuse", rating = "5 A", spare = true }
[connector.XA]
of = "A1"
cavities = 2
[connector.XA.pin]
1 = { role = "supply", expect = "12 V always" }
2 = { role = "ground", expect = "below 0.1 V" }
[wire]
W1 = { from = "F1:2", to = "XA:1" }
W2 = { from = "F1:1", to = "XA:2" }
`,
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			if part.Kind.Name != "module" {
				continue
			}
			any := false
			for _, c := range part.Plugs {
				for _, id := range c.Owner.Pins {
					any = any || p.Netlist.Pin(id).Expect.IsSet()
				}
			}
			if !any {
				continue
			}
			for _, c := range part.Plugs {
				var refs []string
				for _, id := range c.Owner.Pins {
					pin := p.Netlist.Pin(id)
					if !pin.Expect.IsSet() && occupied(p, id) && pin.Role != catalog.Bus && pin.Role != catalog.Screen {
						refs = append(refs, pin.String())
					}
				}
				if len(refs) == 0 {
					continue
				}
				d := p.Report(c.Name.Span, append([]string{c.Name.Text}, refs...), "nothing says what a meter should read at %s", rules.Few(refs))
				d.Help = `add expect = "12 V in RUN" to each line under [connector.` + c.Name.Text + `.pin]`
			}
		}
	},
})
