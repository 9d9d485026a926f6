package sheet

import (
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// A caution is one line of warnings on the cover.
type caution struct{ topic, text string }

// scopeLine says what the sheets are for and what they must not be used for. Every page of the cover carries it in full,
// beside the title block.
func scopeLine(h *model.Harness) string {
	polarity := "negative-ground"
	if h.PositiveGround {
		polarity = "positive-ground"
	}
	return unit.Volt(h.Volts).String() + " " + polarity + " DC wiring only. No airbag/SRS, pretensioner, ABS/stability, " +
		"steering lock, hybrid/HV (>60 V DC, orange) work; those circuits are not to be probed, spliced or carried in these " +
		"harnesses. Computed values are aids; the builder answers for the vehicle. Local vehicle, lighting, race and marine " +
		"codes and licensed practice govern."
}

// cautions are the usual ones for work on the wiring of a vehicle: common practice, and no substitute for the
// instructions of the vehicle and of its parts.
func cautions(h *model.Harness) []caution {
	ground := "negative"
	if h.PositiveGround {
		ground = "positive"
	}
	return []caution{
		{"SRS", "Airbags near the work: battery off, then wait as the vehicle's instructions say (commonly 3 to 10 minutes, verify). " +
			"No test lamp and no ohmmeter near yellow connectors."},
		{"Battery", "The grounded pole (" + ground + ") comes off first and goes on last. Insulated spanner, no ring, no watch. Charging " +
			"gives hydrogen: no spark, protect the eyes, rinse acid off. Never part the battery from a running engine. A " +
			"lithium battery needs its own charge limits, cut-out and fuse interrupt rating. Jump leads: last clamp to the engine block."},
		{"First power", "Controller and modules unplugged. Current-limited source, or a 21 W lamp in series. One fuse at a time. " +
			"Extinguisher (dry powder or CO2) in reach, a second person at the isolator. Smell, or more current than expected: stop, do not retry."},
		{"Fuel", "Take the pressure off first, cap the lines, ventilate. No pump run by a jumper with a line open, no filament lamp " +
			"near the tank. Try the inertia switch by hand before the road. Inside the tank only fuel-rated wire through the maker's " +
			"bulkhead, never a splice. Bond filler and tank."},
		{"Fire", "Every conductor is fused at its source end. Never up-rate a fuse, never bridge one. Replace a blown fuse once, then find " +
			"the cause. Check the tightness of alternator, starter and battery terminals at 50 and 500 miles. No taps that " +
			"cut through insulation, no joints twisted and taped."},
		{"Ignition", "Coil output 20 to 40 kV, primary several 100 V: key off, no hand on plug leads; danger to people with a pacemaker. " +
			"Spark test only with a grounded tester."},
		{"Moving, hot", "Fans can start with the key off: unplug them. Starter test in neutral, wheels chocked, gear interlock checked. " +
			"Keep off belts and exhaust."},
		{"Welding", "Battery and alternator off, controller unplugged, clamp beside the weld. Ventilate when soldering; no hot air near fuel."},
		{"Measuring", "Insulation test never above 50 V and never with a module connected. Back-probe from the wire side with a thin pin; " +
			"never pierce a sealed wire, never spread a socket."},
		{"Sheets", "Valid for the as-built revision that is written in the title block. A change by hand: write it on the sheet, then into the " +
			"netlist. Accepted findings are listed, not hidden."},
		{"Marine, air", "Ignition-protected parts, the 7-inch rule, tinned wire and licensed sign-off apply there; these sheets follow " +
			"road-vehicle practice and are not enough."},
	}
}

// cautionTable sets the cautions as a table.
func cautionTable(h *model.Harness) table {
	t := table{title: "Cautions", heads: []string{"", ""}}
	for _, c := range cautions(h) {
		t.rows = append(t.rows, row{cells: []cell{sayBold(c.topic), say(c.text)}, group: groupOf("hazard", c.topic)})
	}
	return t
}
