package terminals

import (
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "sparks-in-vapor", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "something that sparks sits where fuel vapour or battery gas gathers",
	Doc: `Contacts spark when they open, brushes spark while a motor turns, and a fuse sparks when it opens. Beside a petrol tank, under an
engine box or above a battery one spark is an explosion. The rule fires for switches, relays, flashers, breakers, motors,
starters, generators, fuses and outlets in a zone with vapor = true that do not say ignition-protected = true.

Move the part out of the space, or take one that is made and marked for it and write ignition-protected = true. Silent are lamps
without a switch, sensors, splices, studs, modules and spare parts, and files without such a zone. Boats with petrol engines must by
law have only ignition protected parts there; on the road it is good sense. The rule knows what the file says of zones, not
whether a space is ventilated: local codes decide.`,
	Sources: []string{
		"33 CFR 183.410: ignition protection of electrical components on boats with petrol engines (paragraph from memory)",
		"common practice for battery boxes and tanks on the road",
	},
	Bad: `[zone.tank]
vapor = true
[place]
a = { zone = "tank" }
[part]
S1 = { kind = "switch", at = "a", pin.1.unused = true, pin.2.unused = true }
`,
	Good: `[zone.tank]
vapor = true
[place]
a = { zone = "tank" }
[part]
S1 = { kind = "switch", at = "a", ignition-protected = true, pin.1.unused = true, pin.2.unused = true }
`,
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			what := sparks(part)
			if what == "" || part.Spare.On || part.IgnitionProtected.On {
				continue
			}
			place := part.Owner.Place()
			if place == nil || place.Zone == nil || !place.Zone.Vapor.On {
				continue
			}
			d := p.Report(part.Name.Span, []string{part.Name.Text}, "%s %s, and in zone %s vapour can gather", part.Name.Text, what, place.Zone.Name.Text)
			d.Help = "move it out of the zone, or take an ignition protected one and write ignition-protected = true"
			d.Related = []diag.Related{{Span: place.Zone.Vapor.Span, Message: "vapour can gather in zone " + place.Zone.Name.Text}}
		}
	},
})

// sparks says in words what sparks in a part; empty when nothing does.
func sparks(part *model.Part) string {
	in := &part.Inside
	switch {
	case len(in.Open)+len(in.Closed)+len(in.Positions) > 0:
		return "has contacts that spark"
	case len(in.Protects) > 0:
		return "sparks when it opens"
	}
	switch part.Kind.Name {
	case "motor", "starter", "alternator", "dynamo":
		return "has brushes that spark"
	case "socket outlet":
		return "sparks when a plug is pulled"
	}
	return ""
}
