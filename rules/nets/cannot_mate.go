package nets

import (
	"ferrule/rules"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

var _ = rules.Register(&rules.Rule{
	Name: "cannot-mate", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "the two halves of an in-line pair do not go together",
	Doc: `In the vehicle the harness is built, and its plug does not go into the other one. The rule holds the two halves of a pair against
each other: both carry pins, or both carry sockets; both have a key (the coding of the housing) and the keys differ; both name
their family and the families differ, which is a warning, since some makers name the two halves apart. That the cavities and their
rows meet is looked at when the file is read.

Order the other half, or correct contacts, key or family. An adapter between two housings is two pairs: write a connector for
each of its ends. Where a half says nothing, nothing is held against it.`,
	Sources: []string{"common practice"},
	Bad: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 1
mates = "X2"
contacts = "pins"
[connector.X2]
contacts = "pins"
[wire]
W1 = { from = "F1:2", to = "X1:1" }
W2 = { from = "X2:1", to = "E1:1" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 1
mates = "X2"
contacts = "sockets"
[connector.X2]
contacts = "pins"
[wire]
W1 = { from = "F1:2", to = "X1:1" }
W2 = { from = "X2:1", to = "E1:1" }
`,
	Run: func(p *rules.Pass) {
		for _, c := range p.Netlist.Connectors {
			if c.Mate == nil || c.Mate.Mate != c || c.Mate.Name.Span.Before(c.Name.Span) {
				continue // each pair once, from the half that comes first
			}
			halves(p, c, c.Mate)
		}
	},
})

func halves(p *rules.Pass, c, m *model.Connector) {
	refs := []string{c.Name.Text, m.Name.Text}
	related := func(d *diag.Diagnostic, at source.Span, message string) {
		d.Related = []diag.Related{{Span: at, Message: message}}
	}
	if c.Contacts.IsSet() && c.Contacts.Text == m.Contacts.Text {
		d := p.Report(m.Contacts.Span, refs, "%s and %s both carry %s", c.Name.Text, m.Name.Text, c.Contacts.Text)
		d.Help = "one half carries pins, the other sockets; sockets belong on the side that is live when the pair is apart"
		related(d, c.Contacts.Span, c.Name.Text+" carries "+c.Contacts.Text)
	}
	if c.Key.IsSet() && m.Key.IsSet() && c.Key.Text != m.Key.Text {
		d := p.Report(m.Key.Span, refs, "%s has key %s, but its other half %s has key %s", m.Name.Text, m.Key.Text, c.Name.Text, c.Key.Text)
		d.Help = "take both halves with the same key"
		related(d, c.Key.Span, c.Name.Text+" has key "+c.Key.Text)
	}
	if c.Family.IsSet() && m.Family.IsSet() && c.Family.Text != m.Family.Text {
		d := p.ReportAs(diag.Warning, m.Family.Span, refs, "%s is of family %q, but its other half %s is of family %q", m.Name.Text, m.Family.Text, c.Name.Text, c.Family.Text)
		d.Help = "take both halves of one family, or write one name for both if they do go together"
		related(d, c.Family.Span, c.Name.Text+" is of family "+c.Family.Text)
	}
}
