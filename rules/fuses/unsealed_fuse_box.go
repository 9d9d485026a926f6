package fuses

import (
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "unsealed-fuse-box", Severity: diag.Note, Harm: rules.Strands, Since: "0.2",
	Title: "fuses sit in the wet without a seal",
	Doc: `In the vehicle spray creeps into the box, the clips turn green, and after two winters fuses that look whole make no contact, or
get so warm that they open. The note comes for a panel that holds fuses, breakers or relays, and for a fuse that sits by
itself, in a place whose zone is wet = true, without sealed = true.

Put the box where it is dry, take one with a seal and say sealed = true, or grease the clips and accept the note with that
reason.

Silent are panels whose fuses are all bolted in: a bolted joint under its cover stands spray. Silent are places without a
zone and zones that say nothing of wet.`,
	Sources: []string{"common practice"},
	Bad:     wetBox(""), Good: wetBox("sealed = true"),
	Run: func(p *rules.Pass) {
		inside := map[*model.Panel][]*model.Part{}
		for _, part := range p.Netlist.Parts {
			switch {
			case part.Panel != nil && exposed(part):
				inside[part.Panel] = append(inside[part.Panel], part)
			case part.Panel == nil && len(part.Inside.Protects) > 0 && exposed(part) && wet(part.Owner) && !part.Sealed.On:
				d := p.Report(part.Name.Span, []string{part.Name.Text}, "%s sits in %s, which gets wet, and is not sealed", called(part), part.Owner.Place().Zone.Name.Text)
				d.Help = "take a holder with a seal and write sealed = true, or put it where it is dry"
			}
		}
		for _, panel := range p.Netlist.Panels {
			if parts := inside[panel]; len(parts) > 0 && wet(panel.Owner) && !panel.Sealed.On {
				d := p.Report(panel.Name.Span, []string{panel.Name.Text}, "panel %s with %d %s sits in %s, which gets wet, and is not sealed",
					panel.Name.Text, len(parts), rules.Plural(len(parts), "fuse or relay", "fuses and relays"), panel.Owner.Place().Zone.Name.Text)
				d.Help = "take a box with a seal and write sealed = true, or put it where it is dry"
				d.Related = append(d.Related, diag.Related{Span: panel.Owner.Place().Zone.Wet.Span, Message: fmt.Sprintf("zone %s is wet", panel.Owner.Place().Zone.Name.Text)})
			}
		}
	},
})

func wetBox(sealed string) string {
	return `[zone.bay]
wet = true
[place]
WING = { zone = "bay" }
[panel.P]
at = "WING"
` + sealed + `
[part]
F1 = { kind = "fuse", rating = "10 A", family = "blade", in = "P", spare = true }
`
}

// exposed reports whether a part has clips or contacts that moisture gets at: fuses that are not bolted in, and relays.
func exposed(part *model.Part) bool {
	if len(part.Inside.Protects) > 0 {
		curve, _ := curveOf(part)
		return curve.Family != fusecurve.BoltIn
	}
	return len(part.Inside.Coils) > 0 && !part.Sealed.On
}

// wet reports whether spray reaches the place of something.
func wet(o *model.Owner) bool {
	place := o.Place()
	return place != nil && place.Zone != nil && place.Zone.Wet.On
}
