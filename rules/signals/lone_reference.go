package signals

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "lone-reference", Severity: diag.Note, Harm: rules.Strands, Since: "0.2",
	Title: "all sensors of a module hang on one reference that goes to a hot or wet place",
	Doc: `In the vehicle one chafed wire of one sensor, at the exhaust or where water stands, shorts the only reference, and throttle, pressure
and all the rest read nothing at once. The rule tells of a module with one wired sensor supply on which two sensors or more hang, when
one of them is in a zone that is wet or hotter than the setting "hot".

If the module has a second reference, put the sensors in the exposed place on that. A module with two references in use stays silent,
and so does one whose sensors are all in dry and cool zones, or in none. Accept it for a module that protects each terminal.`,
	Sources: []string{"common practice"},
	Bad: `[zone.bay]
ambient = "85 C"
wet = true
[place]
head = { zone = "bay" }
[part]
A1 = { kind = "module", pins = ["3"], pin.3 = { role = "reference", limit = "100 mA" } }
B1 = { kind = "three-wire sensor", load = "6 mA", at = "head", pin.2.unused = true, pin.3.unused = true }
B2 = { kind = "three-wire sensor", load = "6 mA", at = "head", pin.2.unused = true, pin.3.unused = true }
[wire]
W1 = { from = "A1:3", to = "B1:1" }
W2 = { from = "B1:1", to = "B2:1" }
`,
	Good: `[zone.bay]
ambient = "85 C"
wet = true
[place]
head = { zone = "bay" }
[part]
A1 = { kind = "module", pins = ["3", "4"], pin.3 = { role = "reference", limit = "100 mA" }, pin.4 = { role = "reference", limit = "100 mA" } }
B1 = { kind = "three-wire sensor", load = "6 mA", at = "head", pin.2.unused = true, pin.3.unused = true }
B2 = { kind = "three-wire sensor", load = "6 mA", at = "head", pin.2.unused = true, pin.3.unused = true }
[wire]
W1 = { from = "A1:3", to = "B1:1" }
W2 = { from = "A1:4", to = "B2:1" }
`,
	Settings: []rules.Setting{{Key: "hot", Dim: unit.Temperature, Default: 80, Doc: "the ambient from which a place counts as hot: an engine bay has 85 C (common practice)"}},
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			if rules.IsSensor(part) {
				continue
			}
			var references []model.PinID
			for _, id := range part.Terminals() {
				if p.Netlist.Pin(id).Role == catalog.Reference && p.Graph.Reached(id) {
					references = append(references, id)
				}
			}
			if len(references) == 1 {
				loneReference(p, part, p.Netlist.Pin(references[0]))
			}
		}
	},
})

// loneReference tells of the only reference of a module if a sensor on it is exposed.
func loneReference(p *rules.Pass, part *model.Part, pin *model.Pin) {
	var sensors []string
	var exposed *model.Part
	for _, other := range partsOn(p, pin.ID) {
		if !rules.IsSensor(other) {
			continue
		}
		sensors = append(sensors, other.Name.Text)
		if exposed == nil && isExposed(other.Owner.Place(), p.Setting("hot")) {
			exposed = other
		}
	}
	if exposed == nil || len(sensors) < 2 {
		return
	}
	span, _ := spanAt(p, pin.ID)
	d := p.Report(span, append([]string{pin.String()}, sensors...), "%s is the only reference of %s in use, for %s; a short at %s (%s) takes all of them", pin, part.Name.Text, rules.Few(sensors), exposed.Name.Text, zoneWords(exposed.Owner.Place().Zone))
	d.Help = "put the sensors in the exposed place on a second reference, if the module has one"
}

func isExposed(place *model.Place, hot float64) bool {
	return place != nil && place.Zone != nil && (place.Zone.Wet.On || place.Zone.Ambient.IsSet() && place.Zone.Ambient.Value >= hot)
}

// zoneWords says what a zone is like.
func zoneWords(z *model.Zone) string {
	words := z.Name.Text
	if z.Ambient.IsSet() {
		words += ", " + unit.Celsius(z.Ambient.Value).String()
	}
	if z.Wet.On {
		words += ", wet"
	}
	return words
}
