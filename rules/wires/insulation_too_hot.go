package wires

import (
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "insulation-too-hot", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "insulation or cover lies where it gets hotter than it stands",
	Doc: `In the vehicle insulation that is too hot turns brittle in a season, or runs off the copper in an hour, and tape and split loom
drip before it. The rule fires where the hottest zone on the way of a wire is as hot as its insulation may get or hotter, whatever
it carries; and where a path with cover-rating lies in a zone that is hotter than that, or holds a wire that its own current
makes hotter. The second is a warning: a cover touches the insulation, not the copper.

A path whose cover is a heat sleeve protects what lies in it: its zone does not count for the wires. A wire that is hotter than its
insulation by its own current, in a zone that alone would do, is said by wire-overload.

Take insulation of a higher class (insulation = "125 C"), a heat sleeve, or another way.`,
	Sources: []string{
		"ISO 6722-1: temperature classes A 85, B 100, C 125, D 150 C (testdata/reference/temperature.csv)",
		"own rise: square of the current, 33 CFR 183.425 ampacities",
	},
	Bad: `[harness]
insulation = "85 C"
[zone.exhaust]
ambient = "120 C"
[place]
A = { zone = "exhaust" }
[part]
F1 = { kind = "fuse", rating = "5 A", at = "A", spare = true }
E1 = { kind = "lamp", load = "5 W", at = "A", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
`,
	Good: `[harness]
insulation = "150 C"
[zone.exhaust]
ambient = "120 C"
[place]
A = { zone = "exhaust" }
[part]
F1 = { kind = "fuse", rating = "5 A", at = "A", spare = true }
E1 = { kind = "lamp", load = "5 W", at = "A", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
`,
	Run: func(p *rules.Pass) {
		lackAmbients(p)
		l := layOf(p)
		for i, w := range p.Netlist.Wires {
			judgeInsulation(p, l, i, w)
		}
		hottest := l.hottestWires(p)
		for _, path := range p.Netlist.Paths {
			if path.CoverRating.IsSet() && l.count[path] > 0 {
				judgeCover(p, path, hottest[path])
			}
		}
	},
})

// lackAmbients says once that no zone states how hot it gets.
func lackAmbients(p *rules.Pass) {
	if len(p.Netlist.Wires) == 0 || slices.ContainsFunc(p.Netlist.Zones, func(z *model.Zone) bool { return z.Ambient.IsSet() }) {
		return
	}
	(&unknownAmbients{Pass: p}).add(p.Netlist.Wires[0])
}

// judgeInsulation holds a wire against the hottest zone on its way, sleeved paths left out.
func judgeInsulation(p *rules.Pass, l *lay, index int, w *model.Wire) {
	class, at := float64(p.Netlist.Harness.Insulation), w.Name.Span
	if w.Insulation.IsSet() {
		class, at = w.Insulation.Value, w.Insulation.Span
	}
	if class <= 0 {
		return
	}
	var hottest *model.Zone
	consider := func(z *model.Zone) {
		if z != nil && z.Ambient.IsSet() && (hottest == nil || z.Ambient.Value > hottest.Ambient.Value) {
			hottest = z
		}
	}
	allSleeved := len(l.ways[index]) > 0
	for _, path := range l.ways[index] {
		if !sleeved(path) {
			allSleeved = false
			consider(zoneOf(path))
		}
	}
	if !allSleeved {
		for _, end := range [...]model.PinID{w.From.ID, w.To.ID} {
			if place := p.Routes.PlaceOf(end); place != nil {
				consider(place.Zone)
			}
		}
	}
	if hottest == nil || hottest.Ambient.Value < class {
		return
	}
	d := p.Report(at, []string{w.Name.Text, hottest.Name.Text}, "the insulation of %s stands %s, and zone %s gets %s", w.Name.Text, unit.Celsius(class), hottest.Name.Text, unit.Celsius(hottest.Ambient.Value))
	d.Help = "take insulation of a higher class, and write it; or a heat sleeve on the path"
	if next, ok := nextClass(hottest.Ambient.Value); ok {
		d.Help = fmt.Sprintf("take and write insulation = %q or higher, or a heat sleeve on the path", next)
	}
	d.Related = []diag.Related{{Span: hottest.Ambient.Span, Message: "the zone"}}
}

// nextClass is the class of ISO 6722-1 that stands a temperature with something to spare.
func nextClass(celsius float64) (unit.Celsius, bool) {
	for _, class := range [...]unit.Celsius{85, 100, 125, 150} {
		if float64(class) >= celsius+10 {
			return class, true
		}
	}
	return 0, false
}

// zoneOf is the zone of a path: its own, else the hotter of its ends'.
func zoneOf(path *model.Path) *model.Zone {
	if path.Zone != nil {
		return path.Zone
	}
	var zone *model.Zone
	for _, end := range [...]*model.Place{path.From, path.To} {
		if end != nil && end.Zone != nil && end.Zone.Ambient.IsSet() && (zone == nil || end.Zone.Ambient.Value > zone.Ambient.Value) {
			zone = end.Zone
		}
	}
	return zone
}

// A hotWire is the hottest wire in a path, by its own current.
type hotWire struct {
	wire    *model.Wire
	celsius float64
	state   string
}

// hottestWires finds the hottest wire in each path over all states. What feeds a starter's motor is warm for seconds only.
func (l *lay) hottestWires(p *rules.Pass) map[*model.Path]hotWire {
	hottest := map[*model.Path]hotWire{}
	for cond, r := range settled(p) {
		for i := range r.Wires {
			w := &r.Wires[i]
			if w.Brief || w.Ampacity <= 0 {
				continue
			}
			for _, path := range l.ways[w.Wire.Index] {
				if c := float64(w.Celsius); c > hottest[path].celsius {
					hottest[path] = hotWire{w.Wire, c, inState(cond)}
				}
			}
		}
	}
	return hottest
}

func judgeCover(p *rules.Pass, path *model.Path, hot hotWire) {
	stands, zone := path.CoverRating.Value, zoneOf(path)
	cover := "cover"
	if path.Cover.IsSet() {
		cover = path.Cover.Text
	}
	at := source.Span(path.CoverRating.Span)
	switch {
	case zone != nil && zone.Ambient.IsSet() && zone.Ambient.Value > stands:
		d := p.Report(at, []string{path.Name.Text, zone.Name.Text}, "the %s of path %s stands %s, and zone %s gets %s",
			cover, path.Name.Text, unit.Celsius(stands), zone.Name.Text, unit.Celsius(zone.Ambient.Value))
		d.Help = "take a cover that stands the heat of the zone, such as a heat sleeve, and write its cover-rating"
	case hot.wire != nil && hot.celsius > stands+1:
		d := p.ReportAs(diag.Warning, at, []string{path.Name.Text, hot.wire.Name.Text}, "the %s of path %s stands %s, and %s in it gets %s %s",
			cover, path.Name.Text, unit.Celsius(stands), hot.wire.Name.Text, unit.Celsius(math.Round(hot.celsius)), hot.state)
		d.Help = "take a cover of a higher rating, or a thicker wire"
	}
}
