package terminals

import (
	"ferrule/rules"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
)

var _ = rules.Register(&rules.Rule{
	Name: "unsealed-in-wet", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "an open housing where water comes",
	Doc: `In the vehicle the contacts turn green, resistance grows in the plug, and a sensor reads wrong on rainy days. The rule fires for
connectors that wires go to and that are not stated as sealed, in a zone with wet = true, and for lamps, motors, sensors, switches
and other parts with terminals of their own that say sealed = false there. Of a part that says neither, nobody knows: that is noted as missing.

Take a sealed housing and write sealed = true, or move the connector to where it is dry. Old lamps with sockets full of grease, or
a plug under a rubber boot, are accepted with that as the reason. Silent are ground points, studs and bars, posts of
batteries, starters and generators, whatever sits in a panel, a panel with fuses (fuse boxes have a rule of their own), spare parts, and files
without a wet zone.`,
	Sources: []string{"common practice"},
	Bad: `[zone.bay]
wet = true
[place]
a = { zone = "bay" }
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 1
mates = "X2"
at = "a"
[connector.X2]
[wire]
W1 = { from = "F1:2", to = "X1:1" }
W2 = { from = "X2:1", to = "E1:1" }
`,
	Good: `[zone.bay]
wet = true
[place]
a = { zone = "bay" }
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 1
mates = "X2"
at = "a"
sealed = true
[connector.X2]
[wire]
W1 = { from = "F1:2", to = "X1:1" }
W2 = { from = "X2:1", to = "E1:1" }
`,
	Run: func(p *rules.Pass) {
		for _, c := range p.Netlist.Connectors {
			openConnector(p, c)
		}
		for _, part := range p.Netlist.Parts {
			openPart(p, part)
		}
		for _, panel := range p.Netlist.Panels {
			openPanel(p, panel)
		}
	},
})

// openConnector looks at a connector, at a pair once: halves that differ are one leak.
func openConnector(p *rules.Pass, c *model.Connector) {
	m := c.Mate
	if c.Sealed.On && (m == nil || m.Sealed.On) || !firstHalf(c) || !used(p, c) && (m == nil || !used(p, m)) {
		return
	}
	zone, wet := inWet(c.Owner)
	if !wet {
		return
	}
	refs, name, what, span := []string{c.Name.Text}, c.Name.Text, "is not sealed", c.Name.Span
	if m != nil {
		refs = append(refs, m.Name.Text)
		switch {
		case c.Sealed.On:
			name, span = m.Name.Text, m.Name.Span
			refs[0], refs[1] = refs[1], refs[0]
		case !m.Sealed.On:
			name, what = c.Name.Text+" and "+m.Name.Text, "are not sealed"
		}
	}
	if given := c.Sealed.Span; !given.IsZero() && !c.Sealed.On {
		span = given
	}
	d := p.Report(span, refs, "%s %s, and zone %s is wet", name, what, zone.Name.Text)
	d.Help = "take a sealed housing and write sealed = true, or move it to a dry place"
	d.Related = []diag.Related{{Span: zone.Wet.Span, Message: "water comes to zone " + zone.Name.Text}}
}

// openPart looks at a part that wires go to without a connector of the file.
func openPart(p *rules.Pass, part *model.Part) {
	if part.Sealed.On || part.Spare.On || part.Panel != nil || part.Kind.Joined || part.Supplied.On {
		return
	}
	switch part.Kind.Symbol {
	case "battery", "generator", "starter", "resistor", "diode", "capacitor":
		return
	}
	wired := false
	for _, id := range part.Owner.Pins {
		wired = wired || occupied(p, id)
	}
	zone, wet := inWet(part.Owner)
	switch {
	case !wired || !wet:
	case part.Sealed.Span.IsZero():
		p.Lacks("sealing of parts in wet zones", "add sealed = true or sealed = false to each", part.Name.Span, part.Name.Text)
	default:
		d := p.Report(part.Sealed.Span, []string{part.Name.Text}, "%s is not sealed, and zone %s is wet", part.Name.Text, zone.Name.Text)
		d.Help = "take a sealed one, or accept it with what keeps the water out"
		d.Related = []diag.Related{{Span: zone.Wet.Span, Message: "water comes to zone " + zone.Name.Text}}
	}
}

// openPanel looks at a carrier without fuses.
func openPanel(p *rules.Pass, panel *model.Panel) {
	zone, wet := inWet(panel.Owner)
	if panel.Sealed.On || !wet {
		return
	}
	holds := false
	for _, part := range p.Netlist.Parts {
		if part.Panel != panel {
			continue
		}
		if len(part.Inside.Protects) > 0 {
			return
		}
		holds = true
	}
	if !holds && len(panel.Owner.Pins) == 0 {
		return
	}
	d := p.Report(panel.Name.Span, []string{panel.Name.Text}, "panel %s is not sealed, and zone %s is wet", panel.Name.Text, zone.Name.Text)
	d.Help = "take a closed one and write sealed = true, or move it to a dry place"
	d.Related = []diag.Related{{Span: zone.Wet.Span, Message: "water comes to zone " + zone.Name.Text}}
}
