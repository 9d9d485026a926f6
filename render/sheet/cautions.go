package sheet

import (
	"fmt"
	"strings"

	"ferrule/netlist/unit"
)

// A caution is one line of warnings on the cover.
type caution struct{ topic, text string }

// scopeLine says what the sheets are for and what they must not be used for. Every page of the cover carries it, beside the
// title block; bench paper has room for a shorter wording only.
func (s *Set) scopeLine(short bool) string {
	h := &s.Netlist.Harness
	polarity := "negative-ground"
	if h.PositiveGround {
		polarity = "positive-ground"
	}
	scope := scopes[s.craft().sort]
	without := "No " + scope.without + " work; those circuits are not to be probed, spliced or carried in these harnesses. "
	if short {
		without = "No " + scope.shortly + " work: not to be probed, spliced or carried. "
	}
	return unit.Volt(h.Volts).String() + " " + polarity + " DC wiring only. " + without +
		"Computed values are aids; the builder answers for the result. " + scope.codes + " and licensed practice govern."
}

// scopes are what harnesses of a sort keep away from, and whose rules go before these sheets.
var scopes = map[craftSort]struct{ without, shortly, codes string }{
	roadVehicle: {
		"airbag/SRS, pretensioner, ABS/stability, steering lock, hybrid/HV (>60 V DC, orange)",
		"airbag/SRS, ABS/stability, steering lock, hybrid/HV (>60 V DC)", "Local vehicle, lighting, race and marine codes",
	},
	twoWheeler: {
		"ABS/stability, rider airbag, steering lock, hybrid/HV (>60 V DC, orange)",
		"ABS/stability, steering lock, hybrid/HV (>60 V DC)", "Local vehicle, lighting and race codes",
	},
	boat: {
		"shore power or other AC, electric propulsion (>60 V DC, orange), steering, fire or gas safety system",
		"shore power, electric propulsion (>60 V DC), gas safety", "Local boat, navigation-light and gas codes, the insurer's survey",
	},
}

// cautions are the usual ones for work on the wiring of this harness: common practice, and no substitute for the
// instructions of the vehicle and of its parts. What it has nothing of is left out: a boat has no inertia switch.
func (s *Set) cautions() []caution {
	c := s.craft()
	var list []caution
	add := func(topic string, texts ...string) {
		if text := strings.Join(strings.Fields(strings.Join(texts, " ")), " "); text != "" {
			list = append(list, caution{topic, text})
		}
	}
	if c.sort == roadVehicle {
		add("SRS", "Airbags near the work: battery off, then wait as the vehicle's instructions say (commonly 3 to 10 minutes, verify). "+
			"No test lamp and no ohmmeter near yellow connectors.")
	}
	add("Battery", s.batteryCaution(c))
	if c.standing > 1 {
		add("Sources", fmt.Sprintf("%d sources feed this harness: %s. Part every one of them, or pull its fuse, before you take it for dead: a second "+
			"battery, a charger or a solar controller stays live by itself.", len(c.sources), strings.Join(c.sources, ", ")))
	}
	add("First power", when(c.modules, "Controller and modules unplugged."), "Current-limited source, or a 21 W lamp in series. One fuse at a time. "+
		"Extinguisher (dry powder or CO2) in reach, a second person at the isolator. Smell, or more current than expected: stop, do not retry.")
	if len(c.vapor) > 0 {
		add("Vapour", "Fuel vapour or battery gas can gather in: "+strings.Join(c.vapor, ", ")+". Air it and sniff before anything is switched on or "+
			"parted; no spark, no crimping with a flame there. Only parts marked as ignition protected are mounted there.")
	}
	add("Fuel", c.fuelCaution())
	add("Fire", "Every conductor is fused at its source end. Never up-rate a fuse, never bridge one. Replace a blown fuse once, then find "+
		"the cause.", c.tightness(), "No taps that cut through insulation, no joints twisted and taped.")
	if c.sort == boat {
		add("Water", "A battery in the bilge water, or a cable chafed through below it, burns or sinks the boat: fuse within 7 inches of the source "+
			"(178 mm) where your code asks for it, tinned stranded wire, joints sealed and above the bilge, drip loops. Bilge pump ahead of the "+
			"isolator: it can start at any moment.")
		add("Corrosion", "Bond and isolate as the code of your waters asks; no current through through-hulls. Isolator off when the boat is left.")
	}
	if c.ignition || c.sort == roadVehicle && !c.engine { // of a netlist that tells of no engine nothing is known
		add("Ignition", "Coil output 20 to 40 kV, primary several 100 V: key off, no hand on plug leads; danger to people with a pacemaker. "+
			"Spark test only with a grounded tester.")
	}
	add("Moving, hot", c.movingCaution())
	if c.metalBody && c.sort != boat {
		add("Welding", "Battery and generator off,", when(c.modules, "controller unplugged,"), "clamp beside the weld. Ventilate when soldering; no hot air near fuel.")
	} else {
		add("Heat", "Ventilate when soldering and shrinking; no hot air near fuel.")
	}
	add("Measuring", "Insulation test never above 50 V and never with a module connected. Back-probe from the wire side with a thin pin; "+
		"never pierce a sealed wire, never spread a socket.")
	add("Sheets", "Valid for the as-built revision that is written in the title block. A change by hand: write it on the sheet, then into the "+
		"netlist. Accepted findings are listed, not hidden.")
	if c.sort == boat {
		add("Marine", "These sheets do not replace the rules for small craft or a licensed sign-off. Shore power and gas are separate trades: unplug "+
			"and close them before work.")
	} else {
		add("Marine, air", "Ignition-protected parts, the 7-inch rule, tinned wire and licensed sign-off apply there; these sheets follow "+
			"road-vehicle practice and are not enough.")
	}
	return list
}

func when(is bool, text string) string {
	if is {
		return text
	}
	return ""
}

func (s *Set) batteryCaution(c craft) string {
	ground := "negative"
	if s.Netlist.Harness.PositiveGround {
		ground = "positive"
	}
	text := "The grounded pole (" + ground + ") comes off first and goes on last. Insulated spanner, no ring, no watch. Charging " +
		"gives hydrogen: no spark, protect the eyes, rinse acid off. "
	if c.engine {
		text += "Never part the battery from a running engine. "
	}
	text += "A lithium battery needs its own charge limits, cut-out and fuse interrupt rating. "
	if c.engine && c.sort != boat {
		text += "Jump leads: last clamp to the engine block."
	}
	return text
}

// fuelCaution is empty where nothing of the harness burns or moves fuel.
func (c craft) fuelCaution() string {
	switch {
	case c.fuelPump:
		return "Take the pressure off first, cap the lines, ventilate. No pump run by a jumper with a line open, no filament lamp near the tank. " +
			when(c.inertia, "Try the inertia switch by hand before the road. ") +
			"Inside the tank only fuel-rated wire through the maker's bulkhead, never a splice. Bond filler and tank."
	case c.sort == boat && c.engine:
		return "Tank, hose and filler shut and bonded; no wiring work while fuelling. Ventilate before the engine or a switch is tried."
	case c.engine || c.sort == roadVehicle:
		return "No spark and no filament lamp near the tank or an open line; ventilate. Bond filler and tank."
	}
	return ""
}

func (c craft) movingCaution() string {
	var texts []string
	if c.fans {
		texts = append(texts, "Fans can start with the key off: unplug them.")
	}
	if c.starter {
		switch c.sort {
		case boat:
			texts = append(texts, "Starter test in neutral, propeller clear.")
		case twoWheeler:
			texts = append(texts, "Starter test in neutral, on the stand.")
		default:
			texts = append(texts, "Starter test in neutral, wheels chocked, gear interlock checked.")
		}
	}
	if c.engine {
		texts = append(texts, "Keep off "+map[craftSort]string{roadVehicle: "belts", twoWheeler: "chain", boat: "belts, propeller"}[c.sort]+" and exhaust.")
	}
	return strings.Join(texts, " ")
}

// cautionTable sets the cautions as a table.
func (s *Set) cautionTable() table {
	t := table{title: "Cautions", heads: []string{"", ""}}
	for _, c := range s.cautions() {
		t.rows = append(t.rows, row{cells: []cell{sayBold(c.topic), say(c.text)}, group: groupOf("hazard", c.topic)})
	}
	return t
}
