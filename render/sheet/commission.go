package sheet

import (
	"fmt"
	"math"
	"strings"

	"ferrule/netlist/model"
	"ferrule/netlist/prove"
	"ferrule/render/canvas"
)

var _ = register(&Maker{
	Name: "commission", Title: "Commissioning", Order: 530,
	Doc: "The acceptance of the finished harness: drop tests under load, out and back, with what is expected and the limit from the budget; charging; current with everything " +
		"off; what gets warm; bolts to tighten again; with a column to write in.",
	Plan: planCommission,
})

// commissionCaution is the caution for measuring at the finished harness.
func (s *Set) commissionCaution() string {
	c := s.craft()
	return "Back-probe from the wire side with a thin pin; never pierce a sealed wire. " + when(c.engine, c.secured()+" "+c.movingCaution()+" Never part the battery from a running engine. ") +
		"Battery off before a bolt is tightened. Local codes and licensed practice govern."
}

func planCommission(s *Set) []*Page {
	w := &commissionWriter{s: s, c: s.Proofs().Commission()}
	return s.proofPages("commission", "Commissioning", "write it in", s.commissionCaution(), w.drops(), w.grounds(), w.leads(), w.charging(), w.sleep(), w.warm(), w.bolts())
}

type commissionWriter struct {
	s *Set
	c *prove.Commission
}

func (w *commissionWriter) drops() table {
	t := table{title: "Drop under load, millivolts", heads: []string{"Load on", "Red lead – black lead", "Expect", "Limit", "Read", "OK"}}
	if len(w.c.Drops) == 0 {
		return t
	}
	note := spanRow("With a meter on millivolts while the load works, not with an ohmmeter. The limit of the loop is that of the budget (common practice, see the netlist's reference); it is parted " +
		"as what is expected of the two sides. Both together: the last line of a load. Above: clean, crimp and tighten first; then the wire is too thin. A bold limit is one that the computed " +
		"value passes already. ~ rests on a guess, or on estimated contacts for more than a tenth.")
	note.keep = true
	t.rows = append(t.rows, note)
	var state *model.State
	for i := range w.c.Drops {
		d := &w.c.Drops[i]
		if i == 0 || d.State != state {
			state = d.State
			t.rows = append(t.rows, headRow("WITH: "+w.s.stateText(state)+w.switchesText(state), canvas.Group{}))
		}
		t.rows = append(t.rows, w.dropRow(d))
	}
	return t
}

// switchesText says how the switches stand for a state.
func (w *commissionWriter) switchesText(st *model.State) string {
	if st == nil {
		return ""
	}
	var words []string
	for _, x := range st.Switches {
		if x.Part != nil && x.Position != x.Part.Inside.Rest {
			words = append(words, x.PartName.Text+" "+x.PositionName.Text)
		}
	}
	if len(words) == 0 {
		return ""
	}
	return " (" + strings.Join(words, ", ") + ")"
}

func (w *commissionWriter) dropRow(d *prove.DropTest) row {
	var points, expect, limit, read cell
	add := func(from, to model.PinID, volts, most float64) {
		if from == to {
			return
		}
		points = append(points, piece{text: w.s.pointName(from) + " – " + w.s.pointName(to)})
		expect = append(expect, piece{text: millivolts(volts) + guessMark(d.Marked)})
		limit = append(limit, piece{text: millivolts(most), bold: volts > most})
		read = append(read, piece{text: pen})
	}
	add(d.Post, d.Feed, d.Out, d.OutLimit)
	if d.Drain != model.NoPin {
		add(d.Drain, d.Base, d.Back, d.BackLimit)
	}
	loop := "together"
	if d.Through != model.NoPin {
		loop = "together with the way back through " + w.s.pointName(d.Through)
	}
	points = append(points, piece{text: loop})
	expect = append(expect, piece{text: millivolts(d.Load.Drop.Loop) + guessMark(d.Marked)})
	limit = append(limit, piece{text: millivolts(d.Limit), bold: d.Load.Drop.Loop > d.Limit})
	read = append(read, piece{text: ""})
	name := strings.TrimSpace(d.Load.Ref+" "+d.Load.Title) + "\n" + ampsText(d.Load.Amps, d.Load.Guessed)
	return row{cells: []cell{say(name), points, expect, limit, read, say(tickBox)}, group: canvas.Group{Kind: "load", Ref: d.Load.Ref}}
}

func (w *commissionWriter) grounds() table {
	t := table{title: "Grounds of controllers, millivolts, in the state that puts most on them", heads: []string{"Pin", "To the metal at", "With", "Expect", "Limit", "Read", "OK"}}
	for i := range w.c.Grounds {
		g := &w.c.Grounds[i]
		t.rows = append(t.rows, row{cells: []cell{
			sayBold(w.s.pointName(g.Pin)), say(strings.TrimSpace(g.Point.Name.Text + " " + g.Point.Title.Text)), say(w.s.stateText(g.State)),
			say(millivolts(g.Volts) + guessMark(g.Marked)), {{text: millivolts(g.Limit), bold: g.Volts > g.Limit}}, say(pen), say(tickBox),
		}, group: canvas.Group{Kind: "pin", Ref: w.s.Netlist.Pin(g.Pin).String()}})
	}
	return t
}

func (w *commissionWriter) leads() table {
	t := table{title: "Leads of the generator, at full output (much on, engine fast), millivolts", heads: []string{"From", "To", "At", "Expect", "Limit", "Read", "OK"}}
	for i := range w.c.Leads {
		l := &w.c.Leads[i]
		to := "live post of the battery"
		if l.Return {
			to = "grounded post of the battery"
		}
		t.rows = append(t.rows, row{cells: []cell{
			sayBold(w.s.pointText(l.From)), say(to), say(ampsText(l.Amps, false)), say(millivolts(l.Volts)), {{text: millivolts(l.Limit), bold: l.Volts > l.Limit}}, say(pen), say(tickBox),
		}})
	}
	return t.noted("With less current the millivolts are less in proportion: write the current beside them.")
}

func (w *commissionWriter) charging() table {
	t := table{title: "Charging", heads: []string{"With", "Posts, expect", "Read", "Generator, mean", "Into the battery", "Read", "OK"}}
	scale := w.s.Solved().nominal() / 12
	for i := range w.c.Charges {
		c := &w.c.Charges[i]
		t.rows = append(t.rows, row{cells: []cell{
			say(w.s.stateText(c.State)), say(voltsText(c.Volts)), say(pen), say(ampsText(c.Generator, true)), say(signedAmps(c.Battery)), say(pen), say(tickBox),
		}})
		if c.IdleKnown {
			spare := fmt.Sprintf("At idle there are %s to spare.", ampsText(c.Spare, true))
			if c.Spare < 0 {
				spare = fmt.Sprintf("At idle %s are missing: the battery gives them.", ampsText(c.Spare, true))
			}
			t.rows = append(t.rows, spanRow(spare+" At idle: posts "+pen+" V, battery "+pen+" A."))
		}
	}
	return t.noted(fmt.Sprintf("Usual are %.1f to %.1f V at the posts%s; the maker of battery and regulator governs. First the line with little on, at idle and at speed, then that with all on.",
		prove.ChargeLow*scale, prove.ChargeHigh*scale, practice))
}

// signedAmps writes what flows into a battery.
func signedAmps(a float64) string {
	if a < 0 {
		return "gives " + ampsText(a, true)
	}
	return ampsText(a, true)
}

func (w *commissionWriter) sleep() table {
	t := table{title: "Everything off", heads: []string{"With", "Expect", "Wanted", "Limit", "Read", "OK"}}
	s := w.c.Sleep
	if s == nil {
		return t
	}
	t.rows = []row{{cells: []cell{
		say(w.s.stateText(s.State)), say(milliamps(s.Amps) + "~"), say(milliamps(prove.SleepTarget)), {{text: milliamps(prove.SleepLimit), bold: s.Amps > prove.SleepLimit}}, say(pen), say(tickBox),
	}}}
	text := "Meter in the ground lead of the battery, bridged while doors and key are worked; read after the modules have gone to sleep, 10 to 30 minutes" + practice + "."
	if !math.IsInf(s.Days, 0) && s.Days > 0 {
		text += fmt.Sprintf(" With what is computed the battery goes from 80 to 50 %% in %.0f days.", s.Days)
	}
	t.rows = append(t.rows, spanRow(text))
	return t
}

func milliamps(a float64) string { return fmt.Sprintf("%.0f mA", 1000*a) }

func (w *commissionWriter) warm() table {
	t := table{title: "Warm to the touch, after 20 minutes with everything on", heads: []string{"What", "With", "Carries", "Share", "Feels", "OK"}}
	for i := range w.c.Warm {
		x := &w.c.Warm[i]
		share := fmt.Sprintf("%.0f %%", 100*x.Share)
		if x.Wire != nil {
			share += fmt.Sprintf(", %.0f K", x.Kelvin)
		}
		t.rows = append(t.rows, row{cells: []cell{
			say(strings.TrimSpace(x.Ref + " " + x.Title)), say(w.s.stateText(x.State)), say(ampsText(x.Amps, x.Marked)), say(share), say(pen), say(tickBox),
		}})
	}
	return t.noted(fmt.Sprintf("These carry the largest share of what they may. No fuse, relay, plug or ring more than %.0f K above the air around it%s: hot to the hand is too hot. "+
		"By infrared thermometer or the back of the hand, away from fans and belts.", prove.WarmKelvin, practice))
}

func (w *commissionWriter) bolts() table {
	t := table{title: "Bolts to tighten again, battery off", heads: []string{"Where", "Rings", "Torque, N m", "First", fmt.Sprintf("%d miles", prove.TorqueMiles1), fmt.Sprintf("%d miles", prove.TorqueMiles2)}}
	if w.s.craft().sort == boat {
		t.heads[4], t.heads[5] = "first day", "each season"
	}
	for _, b := range w.c.Bolts {
		t.rows = append(t.rows, row{cells: []cell{say(strings.TrimSpace(b.Ref + " " + b.Title)), say(fmt.Sprint(b.Rings)), say(pen), say(tickBox), say(tickBox), say(tickBox)}})
	}
	return t.noted("The torque is that of the maker of the stud; none is computed here.")
}
