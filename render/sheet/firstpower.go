package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ferrule/netlist/model"
	"ferrule/netlist/prove"
	"ferrule/render/canvas"
)

var _ = register(&Maker{
	Name: "first-power", Title: "First power", Order: 510,
	Doc: "The order in which the fuses go in, upstream first and controllers unplugged: what has to be switched, the amperes to expect, the reading at which " +
		"to stop, where to look then, and the volts at the plugs that are still empty. Then the relays of the controller, and every empty plug in every key position.",
	Plan: planFirstPower,
})

// powerCaution is the caution for first power.
func (s *Set) powerCaution() string {
	c := s.craft()
	return "Extinguisher (dry powder or CO2) in reach, a second person at the isolator. Current-limited source, or a 21 W lamp in series. One fuse at " +
		"a time. Smell, smoke or more amperes than the stop value: off, do not retry. " + when(c.fuelPump, "Fuel lines closed. ") +
		when(len(c.vapor) > 0, "Air what vapour gathers in first. ") + "Local codes and licensed practice govern."
}

// secured says how a vehicle is kept from moving while somebody works at it; empty where it has no engine.
func (c craft) secured() string {
	switch {
	case !c.engine:
		return ""
	case c.sort == boat:
		return "Gear in neutral, propeller clear."
	case c.sort == twoWheeler:
		return "Gear in neutral, on the stand."
	}
	return "Gear in neutral, wheels chocked."
}

func planFirstPower(s *Set) []*Page {
	p := s.Proofs().Power()
	if len(p.Steps) == 0 {
		return nil
	}
	w := &powerWriter{s: s, p: p, nominal: s.Solved().nominal()}
	return s.proofPages("first-power", "First power", fmt.Sprintf("%s, one at a time", counted(len(p.Steps), "fuse")), s.powerCaution(),
		w.before(), w.steps(), w.relays(), w.plugs())
}

type powerWriter struct {
	s       *Set
	p       *prove.Power
	nominal float64
}

func (w *powerWriter) before() table {
	t := table{title: "Before the first fuse", heads: []string{"", ""}}
	unplugged := ""
	if len(w.p.Unplugged) > 0 {
		unplugged = "Unplugged, and they stay so to the end of this sheet: " + titledParts(w.p.Unplugged) + "."
		if slices.ContainsFunc(w.p.Unplugged, func(p *model.Part) bool { return p.Kind.Name == "starter" }) {
			unplugged += " At the starter the wire of terminal 50 comes off and is insulated; the thick cable stays."
		}
	}
	others := ""
	if len(w.p.Others) > 0 {
		others = "Dark or parted, since they make current by themselves: " + titledParts(w.p.Others) + "."
	}
	t.rows = tickRows(
		"Continuity and insulation are done. All fuses out, breakers off. All switches at rest. "+w.s.craft().secured(),
		fmt.Sprintf("Battery clamps off and insulated. In their place a source at %.1f V, limit %.0f A to begin with and %.0f A at most; its ammeter is the one that is read. "+
			"Or the battery with a %.0f W lamp in series: it passes %.1f A at most, glows when something takes half of that, and burns brightly on a short.",
			w.p.Volts, prove.SourceFirstAmps, prove.SourceMostAmps, prove.LampWatts, prove.LampWatts/w.nominal),
		w.banks(),
		unplugged,
		others,
		fmt.Sprintf("Source on, every fuse out: expect %s, stop above %s. Read "+pen+" A. More: a cable ahead of the fuses.", measured(w.p.Alone.Supply, w.p.Alone.Marked), measured(w.p.Alone.Stop(), false)),
		w.liveText(&w.p.Alone),
	)
	t.rows = append(t.rows, spanRow(fmt.Sprintf("Amperes: through the fuse, and at the source with all that is in. Stop above: what the source should show and %.0f %% more, at least %.1f A more. "+
		"Lamps and motors take several times that for a moment: wait two seconds. Switches back to rest after each line, but for those under SET. Volts against %s. %s",
		100*prove.StopShare, prove.StopAmps, w.pole(), guessNote)))
	return t
}

func (w *powerWriter) pole() string {
	if pole := w.s.Proofs().Harness.GroundPole(); pole != model.NoPin {
		return w.s.pointName(pole)
	}
	return "ground"
}

// banks says what to do where several batteries feed the harness.
func (w *powerWriter) banks() string {
	if len(w.p.Banks) < 2 {
		return ""
	}
	var banks []string
	for i := range w.p.Banks {
		banks = append(banks, w.bankText(&w.p.Banks[i]))
	}
	return fmt.Sprintf("%d banks of batteries: %s. All parted, every clamp insulated: it is live once a fuse joins it to the source. The source stands in for one bank at a time, as SOURCE says.",
		len(banks), strings.Join(banks, "; "))
}

// bankText names a bank and where the source goes in its place.
func (w *powerWriter) bankText(b *prove.Bank) string {
	return fmt.Sprintf("%s (%s and %s, %.1f V)", partNames(b.Batteries), w.s.pointName(b.Live), w.s.pointName(b.Grounded), b.Volts)
}

// sourceRows say where the source goes, and what it shows there with nothing switched.
func (w *powerWriter) sourceRows(s *prove.Step, first bool) []row {
	if len(w.p.Banks) < 2 || !first && s.Joined == nil {
		return nil
	}
	rows := []row{headRow("SOURCE in place of "+w.bankText(&w.p.Banks[s.Bank]), canvas.Group{})}
	if s.Joined == nil {
		return rows
	}
	rows = append(rows, spanRow(fmt.Sprintf("Source off, moved, on again, all switches at rest: expect %s, stop above %s. Read "+pen+" A.", measured(s.Joined.Supply, s.Joined.Marked), measured(s.Joined.Stop(), false))))
	if live := w.liveText(s.Joined); live != "" {
		rows = append(rows, spanRow(live))
	}
	return rows
}

func (w *powerWriter) liveText(r *prove.Reading) string {
	if len(r.Live) == 0 {
		return ""
	}
	return "Live now: " + w.volts(r) + "."
}

func (w *powerWriter) volts(r *prove.Reading) string {
	var words []string
	for _, v := range r.Live {
		words = append(words, w.s.pointName(v.Pin)+" "+voltsText(v.Volts))
	}
	return strings.Join(words, ", ")
}

func (w *powerWriter) steps() table {
	t := table{title: "Fuses", heads: []string{"Step", "With", "Fuse takes", "Source shows", "Stop above", "Read", "Volts at", "Read", "OK"}}
	for i := range w.p.Steps {
		t.rows = append(t.rows, w.sourceRows(&w.p.Steps[i], i == 0)...)
		t.rows = append(t.rows, w.stepRows(&w.p.Steps[i])...)
	}
	if len(w.p.Dead) > 0 {
		t.rows = append(t.rows, headRow("Not tried here", canvas.Group{}), spanRow("Nothing feeds them in any state of the netlist while the engine stands: "+titledParts(w.p.Dead)+
			". They go in last and are looked at with the engine running."))
	}
	if len(w.p.Spare) > 0 {
		t.rows = append(t.rows, spanRow("Spare positions, which stay empty: "+partNames(w.p.Spare)+"."))
	}
	return t
}

func (w *powerWriter) stepRows(s *prove.Step) []row {
	var rows []row
	if s.Moved {
		rows = append(rows, headRow("SET: "+w.s.setupText(&s.Setup, false), canvas.Group{}))
	}
	title := fmt.Sprintf("%d.  %s %s, %s", s.Number, s.Fuse.Name.Text, strings.TrimSpace(ratingText(s.Fuse)), s.Fuse.Title.Text)
	if len(s.Ahead) > 0 {
		title += "   (behind " + partNames(s.Ahead) + ")"
	}
	if s.By != nil {
		title += "   (fed by " + s.By.Name.Text + ")"
	}
	rows = append(rows, row{span: true, ruled: true, keep: true, cells: []cell{sayBold(title)}, group: canvas.Group{Kind: "part", Ref: s.Fuse.Name.Text}})
	for i := range s.Readings {
		r := w.readingRow(s, &s.Readings[i], i == 0)
		r.keep = true
		rows = append(rows, r)
		if extra := w.works(&s.Readings[i]); extra != "" && i < len(s.Readings)-1 {
			rows = append(rows, row{span: true, keep: true, cells: []cell{say(extra)}})
		}
	}
	last := w.works(&s.Readings[len(s.Readings)-1])
	return append(rows, spanRow(strings.TrimSpace(last+" Too much: "+w.look(s))))
}

func (w *powerWriter) readingRow(s *prove.Step, r *prove.Reading, first bool) row {
	with := w.s.setupText(&r.Setup, true)
	if first {
		with = "as set"
	}
	points := cell{}
	read := cell{}
	if first && !math.IsNaN(r.Volts) {
		points, read = append(points, piece{text: w.s.pointName(s.Output) + " " + voltsText(r.Volts)}), append(read, piece{text: pen})
	}
	for _, v := range r.Live {
		points, read = append(points, piece{text: w.s.pointName(v.Pin) + " " + voltsText(v.Volts)}), append(read, piece{text: pen})
	}
	return row{cells: []cell{{}, say(with), say(measured(r.Amps, r.Marked)), say(measured(r.Supply, r.Marked)), sayBold(measured(r.Stop(), false)), say(pen), points, read, say(tickBox)}}
}

// works says what comes on, and how to go on where the source does not give that much.
func (w *powerWriter) works(r *prove.Reading) string {
	text := ""
	if len(r.Works) > 0 {
		text = "Works: " + strings.Join(r.Works, ", ") + "."
	}
	switch {
	case r.Beyond():
		text += fmt.Sprintf(" More than a source of %.0f A gives: unplug what takes it and measure the volts at its plug; amperes later, from the battery, with the fuse of this step in.", prove.SourceMostAmps)
	case r.Supply > prove.SourceFirstAmps:
		text += fmt.Sprintf(" Limit of the source up to %.0f A for this line.", prove.SourceMostAmps)
	case r.Dims(w.nominal):
		text += " A lamp in series takes much of the volts here: bridge it for this line once it did not burn brightly."
	}
	return strings.TrimSpace(text)
}

// mostLook is how many things are listed behind a fuse.
const mostLook = 14

func (w *powerWriter) look(s *prove.Step) string {
	var words []string
	for _, x := range s.Look {
		word := ""
		switch {
		case x.Wire != nil:
			word = x.Wire.Name.Text
		case w.s.Proofs().Harness.Ground(x.Pin):
			continue
		default:
			word = w.s.pointName(x.Pin)
		}
		if !slices.Contains(words, word) {
			words = append(words, word)
		}
	}
	if len(words) == 0 {
		return "the socket of the fuse."
	}
	if len(words) > mostLook {
		words = append(words[:mostLook], fmt.Sprintf("and %d more", len(words)-mostLook))
	}
	return "from near to far " + strings.Join(words, ", ") + "."
}

func (w *powerWriter) relays() table {
	t := table{title: "Relays that the controller works, all fuses in", heads: []string{"Jumper", "Relay clicks", "Source shows, coil alone", "Stop above", "Read", "Then starts", "With it", "OK"}}
	if len(w.p.Relays) == 0 {
		return t
	}
	set := spanRow("Jumper with a 1 A fuse, from the empty cavity to ground, one at a time. What starts is unplugged first: measure its volts at its plug. " +
		"A fuel pump runs by a jumper only with the lines closed and dry, for a moment, nobody smoking; a fan unplugged or hands off.")
	set.keep = true
	t.rows = append(t.rows, headRow("SET: "+w.s.setupText(&w.p.Columns[len(w.p.Columns)-1], false), canvas.Group{}), set)
	for i := range w.p.Relays {
		r := &w.p.Relays[i]
		with := measured(r.Reading.Supply, r.Reading.Marked)
		if len(r.Loads) == 0 {
			with = ""
		}
		stop := r.Coils + max(prove.StopAmps, prove.StopShare*r.Coils)
		t.rows = append(t.rows, row{group: canvas.Group{Kind: "pin", Ref: w.s.Netlist.Pin(r.Pin).String()}, cells: []cell{
			sayBold(w.s.pointName(r.Pin)), say(titledParts(r.Relays)), say(measured(r.Coils, false)), sayBold(measured(stop, false)), say(pen),
			say(strings.Join(r.Reading.Works, ", ")), say(with), say(tickBox),
		}})
	}
	return t
}

func (w *powerWriter) plugs() table {
	t := table{title: "Empty plugs, all fuses in", heads: []string{"Cavity", "Function"}}
	var legend []string
	for i := range w.p.Columns {
		name := string(rune('A' + i))
		t.heads = append(t.heads, name, "Read")
		legend = append(legend, name+": "+w.s.setupText(&w.p.Columns[i], true))
	}
	note := spanRow(strings.Join(legend, ". ") + ". Volts; “0” is joined to ground, “" + notComputed +
		"” floats: a meter shows nothing or next to it. What is live in none of them is left out: grounds are proved by continuity. Signals, sensor supplies and returns come from the controller: " +
		"see the pin-outs, once it is in.")
	note.keep = true
	for _, plug := range w.p.Plugs {
		rows := w.plugRows(&plug)
		if len(rows) > 0 {
			if len(t.rows) == 0 {
				t.rows = append(t.rows, note)
			}
			t.rows = append(t.rows, headRow(strings.TrimSpace(plug.Part.Name.Text+" "+plug.Part.Title.Text), canvas.Group{}))
			rows[len(rows)-1].keep = false
			t.rows = append(t.rows, rows...)
		}
	}
	return t
}

func (w *powerWriter) plugRows(plug *prove.Plug) []row {
	var rows []row
	for i, id := range plug.Pins {
		if !slices.ContainsFunc(plug.Rows[i], func(v float64) bool { return v > 0.5 }) {
			continue
		}
		cells := []cell{sayBold(w.s.pointName(id)), say(w.s.Function(id))}
		for _, v := range plug.Rows[i] {
			switch {
			case math.IsNaN(v):
				cells = append(cells, say(notComputed), cell{})
			case math.Abs(v) < 0.5:
				cells = append(cells, say("0"), say("___"))
			default:
				cells = append(cells, sayBold(fmt.Sprintf("%.1f", v)), say("___"))
			}
		}
		rows = append(rows, row{cells: cells, group: canvas.Group{Kind: "pin", Ref: w.s.Netlist.Pin(id).String()}})
	}
	return rows
}
