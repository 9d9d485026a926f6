package sheet

import (
	"fmt"
	"math"
	"strings"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// budgetTable says on the cover how battery and generators keep up: from the solved states, each line with the state that
// is worst for it. What the netlist does not say is said, and not made up.
func (s *Set) budgetTable() table {
	t := table{title: "Budgets", heads: []string{"", ""}}
	v := s.Solved()
	if len(s.sourcesOf(batteryOnly)) == 0 {
		return t
	}
	add := func(label, text string) {
		if text != "" {
			t.rows = append(t.rows, row{group: groupOf("budget", label), cells: []cell{sayBold(label), say(text)}})
		}
	}
	add("At idle", v.idleText())
	add("At speed", v.speedText())
	add("Battery alone", v.aloneText())
	add("Parked", v.parkedText())
	if len(t.rows) > 0 {
		t.rows = append(t.rows, row{span: true, cells: []cell{say("Computed, not measured. ~ rests on a guess or an assumed load. Hours until the battery is half empty; days until 30 % of it are used.")}})
	}
	return t
}

func batteryOnly(p *model.Part) bool { return p.Kind.Name == "battery" }

// sourcesOf lists the parts with sources that the function accepts.
func (s *Set) sourcesOf(accept func(*model.Part) bool) []*model.Part {
	var parts []*model.Part
	for _, p := range s.Netlist.Parts {
		if len(p.Inside.Sources) > 0 && accept(p) {
			parts = append(parts, p)
		}
	}
	return parts
}

// worst returns the state in which the measure is least among those that it knows; -1 for none.
func (v *Solved) worst(measure func(r *circuit.Report, cond *graph.Condition) (float64, bool)) int {
	worst, least := -1, math.Inf(1)
	for i, r := range v.Reports {
		if m, known := measure(r, v.Conditions[i]); known && m < least {
			worst, least = i, m
		}
	}
	return worst
}

func (v *Solved) idleText() string {
	at := v.worst(func(r *circuit.Report, _ *graph.Condition) (float64, bool) {
		return r.Balance.IdleSpare, r.Balance.Charging && r.Balance.IdleKnown
	})
	if at < 0 {
		if v.worst(func(r *circuit.Report, _ *graph.Condition) (float64, bool) { return 0, r.Balance.Charging }) < 0 {
			return ""
		}
		return "not known: the netlist states no idle output of the generator"
	}
	b, mark := v.Reports[at].Balance, v.markIn(at)
	if b.IdleSpare < 0 {
		return fmt.Sprintf("%s too little of %s, in state %s; the battery carries it for %s", ampsText(b.IdleSpare, mark), ampsText(b.IdleOutput, false),
			v.Conditions[at].Name(), hoursText(b.IdleHours, b.Capacity, mark))
	}
	return fmt.Sprintf("%s left of %s, in state %s", ampsText(b.IdleSpare, mark), ampsText(b.IdleOutput, false), v.Conditions[at].Name())
}

func (v *Solved) speedText() string {
	at := v.worst(func(r *circuit.Report, _ *graph.Condition) (float64, bool) {
		return r.Balance.Output - r.Balance.Demand, r.Balance.Charging && r.Balance.Output > 0
	})
	if at < 0 {
		return ""
	}
	b := v.Reports[at].Balance
	words := "left of"
	if b.Output < b.Demand {
		words = "too little of"
	}
	return fmt.Sprintf("%s %s %s, in state %s", ampsText(b.Output-b.Demand, v.markIn(at)), words, ampsText(b.Output, false), v.Conditions[at].Name())
}

// aloneText is about the heaviest state without a generator. A starter's motor runs for seconds and is no matter of hours.
func (v *Solved) aloneText() string {
	at := v.worst(func(r *circuit.Report, cond *graph.Condition) (float64, bool) {
		cranks := cond.State != nil && cond.State.Engine.Text == "cranking"
		return -r.Balance.Battery, !r.Balance.Charging && !cranks && r.Balance.Battery > 0
	})
	if at < 0 {
		return ""
	}
	b, mark := v.Reports[at].Balance, v.markIn(at)
	return fmt.Sprintf("%s in state %s: %s", ampsText(b.Battery, mark), v.Conditions[at].Name(), hoursText(b.Hours, b.Capacity, mark))
}

// parkedText is about the state in which the battery gives the least.
func (v *Solved) parkedText() string {
	at := v.worst(func(r *circuit.Report, _ *graph.Condition) (float64, bool) {
		return math.Abs(r.Balance.Battery), !r.Balance.Charging
	})
	if at < 0 {
		return ""
	}
	b, mark := v.Reports[at].Balance, v.markIn(at)
	text := ampsText(b.Battery, mark) + " in state " + v.Conditions[at].Name()
	switch {
	case ampsText(b.Battery, false) == ampsText(0, false):
		return "nothing is drawn in state " + v.Conditions[at].Name()
	case b.Capacity == 0:
		return text + ": days not known, no capacity is stated"
	case math.IsInf(b.Days, 0) || b.Days == 0:
		return text
	}
	return text + fmt.Sprintf(": %.0f days%s", math.Floor(b.Days), guessMark(mark))
}

func hoursText(hours, capacity float64, mark bool) string {
	switch {
	case capacity == 0:
		return "hours not known, no capacity is stated"
	case math.IsInf(hours, 0) || hours == 0:
		return "no limit"
	}
	digits := 1
	if hours >= 20 {
		digits = 0
	}
	return fmt.Sprintf("%.*f h%s", digits, hours, guessMark(mark))
}

// markIn reports whether what a state takes rests on a guess.
func (v *Solved) markIn(state int) bool {
	for _, l := range v.Reports[state].Loads {
		if l.Guessed {
			return true
		}
	}
	return false
}

// progressTable is for a pen: how far the work on this revision is.
func progressTable() table {
	t := table{title: "Progress, by hand", heads: []string{"Done", "As-built revision", "Date, initials"}}
	for _, step := range []string{
		"Valid for as-built revision", "Wires cut and labelled", "Terminals crimped, pulled", "Connectors filled", "Continuity, battery off", "First power, fuse by fuse", "Drop and charge measured",
	} {
		t.rows = append(t.rows, row{group: groupOf("progress", step), cells: []cell{say(step), {}, {}}})
	}
	t.ruled = true
	return t
}

// lineTable is the legend of the line styles of the circuit diagrams that are there.
func (s *Set) lineTable(pages []*Page) table {
	t := table{title: "Lines in use", heads: []string{"Line", "Meaning"}}
	diagrams := false
	for _, p := range pages {
		diagrams = diagrams || strings.HasPrefix(p.Name, "schematic-")
	}
	if !diagrams {
		return t
	}
	widths := map[int64]bool{}
	tracer, rails, links, screens := false, false, false, false
	for _, w := range s.Netlist.Wires {
		widths[int64(wireWidth(w))] = true
		tracer = tracer || w.Color.Tracer != ""
	}
	for _, l := range s.Netlist.Links {
		rails = rails || l.Rail.IsSet()
		links = links || !l.Rail.IsSet()
	}
	for _, c := range s.Netlist.Cables {
		screens = screens || len(c.Screen) > 0
	}
	add := func(used bool, p piece, meaning string) {
		if used {
			t.rows = append(t.rows, row{cells: []cell{{p}, say(meaning)}})
		}
	}
	core := unit.Color{Base: "GY"}
	for _, step := range []struct {
		area    float64
		meaning string
	}{{1, "wire below 1.5 mm²"}, {2, "wire of 1.5 mm² and more"}, {6, "wire of 5 mm² and more"}} {
		width := widthOfArea(step.area)
		add(widths[int64(width)], piece{color: core, width: width}, step.meaning+", drawn in its colour")
	}
	add(tracer, piece{color: unit.Color{Base: "WH", Tracer: "BK"}, width: widthOfArea(2)}, "wire with a tracer, in dashes along the middle")
	add(rails, piece{line: &railLine}, "supply rail: a bus bar across the top of a diagram")
	add(links, piece{line: &linkLine}, "bus bar or factory jumper: a conductor that is no wire; leads of a device")
	add(screens, piece{line: &screenLine}, "screen of a cable")
	return t
}
