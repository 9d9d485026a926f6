package list

import (
	"math"
	"strconv"

	"ferrule/netlist/model"
	"ferrule/netlist/prove"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "commission", Title: "Commissioning", Order: 460, Sheet: "commission",
	Doc: "every check of the finished harness but the drop tests: grounds of controllers, leads of generators, charging, current with everything off, what gets warm, bolts",
	Columns: []Column{
		text("check"), text("what"), text("at"), text("state"), number("expected"), number("limit"), text("unit"), text("guessed"), text("above_limit"), number("read"),
	},
	Rows: commissionRows,
})

func commissionRows(s *sheet.Set) [][]string {
	c := s.Proofs().Commission()
	var rows [][]string
	add := func(check, what, at string, state *model.State, expected, limit float64, unit string, marked bool) {
		over := limit > 0 && expected > limit
		rows = append(rows, []string{check, what, at, stateName(state), digits(expected), digits(limit), unit, yes(marked), yes(over), ""})
	}
	none := math.NaN()
	for _, g := range c.Grounds {
		add("ground of a controller", s.Netlist.Pin(g.Pin).String(), g.Point.Name.Text, g.State, 1000*g.Volts, 1000*g.Limit, "mV", g.Marked)
	}
	for _, l := range c.Leads {
		add("lead of a generator", s.Netlist.Pin(l.From).String(), "", nil, 1000*l.Volts, 1000*l.Limit, "mV", false)
	}
	for _, x := range c.Charges {
		add("charging", x.Part.Name.Text, "posts", x.State, x.Volts, none, "V", true)
		add("charging", x.Part.Name.Text, "into the battery", x.State, x.Battery, none, "A", true)
		if x.IdleKnown {
			add("charging", x.Part.Name.Text, "to spare at idle", x.State, x.Spare, none, "A", true)
		}
	}
	if c.Sleep != nil {
		add("everything off", "ground lead of the battery", "", c.Sleep.State, 1000*c.Sleep.Amps, 1000*prove.SleepLimit, "mA", true)
	}
	for _, x := range c.Warm {
		add("warm", x.Ref, x.Title, x.State, none, prove.WarmKelvin, "K", x.Marked)
	}
	for _, b := range c.Bolts {
		add("bolt", b.Ref, b.Title, nil, none, none, "N m", false)
	}
	return rows
}

func stateName(s *model.State) string {
	if s == nil {
		return ""
	}
	return s.Name.Text
}

// digits writes a number to a hundredth; nothing where it is none.
func digits(v float64) string {
	if math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(math.Round(100*v)/100, 'f', -1, 64)
}
