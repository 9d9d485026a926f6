package sheet

import (
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/model"
	"ferrule/netlist/prove"
	"ferrule/render/canvas"
)

var _ = register(&Maker{
	Name: "first-start", Title: "First start", Order: 520,
	Doc: "From the controller going in to the engine at idle, in order: which fuses stay out, what the pump does when the key is switched on, what must stay and " +
		"what must drop out while cranking, what the pins of the controller should read; with room to write in. Only where the harness starts or runs an engine.",
	Plan: planFirstStart,
})

// startCaution is the caution for the first start.
func (s *Set) startCaution() string {
	c := s.craft()
	return c.secured() + " " + c.movingCaution() + " Extinguisher in reach, outdoors or aired. " + when(c.ignition, "Coil output 20 to 40 kV: no hand on plug leads, danger with "+
		"a pacemaker. ") + "Any fuel leak: off. Local codes and licensed practice govern."
}

func planFirstStart(s *Set) []*Page {
	if s.Proofs().Start() == nil {
		return nil
	}
	return s.proofPages("first-start", "First start", "in this order", s.startCaution(), s.startTables()...)
}

// startTables are the parts of the card, in the order of the work; nothing where the harness starts no engine.
func (s *Set) startTables() []table {
	st := s.Proofs().Start()
	if st == nil {
		return nil
	}
	w := &startWriter{s: s, st: st}
	return []table{w.before(), w.prime(), w.crank(), w.fires(), w.idle(), w.written()}
}

// A StartLine is one line of the card for the first start, for the lists.
type StartLine struct {
	Part   string // of the card: "Before"
	Pin    string // of a controller, where the line is about one
	Do     string // what to do, or what the pin is for
	Expect string
}

// StartLines returns the lines of the card in their order.
func (s *Set) StartLines() []StartLine {
	var lines []StartLine
	for _, t := range s.startTables() {
		for _, r := range t.rows {
			l := StartLine{Part: t.title, Pin: r.cells[0][0].text, Do: r.cells[1][0].text, Expect: r.cells[2][0].text}
			if l.Pin == tickBox {
				l.Pin = ""
			}
			lines = append(lines, l)
		}
	}
	return lines
}

type startWriter struct {
	s  *Set
	st *prove.Start
}

var startHeads = []string{"", "Do", "Expect", "Read"}

// practice marks a line that no number of the netlist stands behind.
const practice = " (common practice)"

// A startLine is one line of the card.
type startLine struct{ do, expect string }

func startTable(title string, lines ...startLine) table {
	t := table{title: title, heads: startHeads}
	for _, l := range lines {
		if l.do == "" {
			continue
		}
		read := pen
		if l.expect == "" {
			read = ""
		}
		t.rows = append(t.rows, row{cells: []cell{say(tickBox), say(l.do), say(l.expect), say(read)}})
	}
	return t
}

func lineIf(is bool, do, expect string) startLine {
	if !is {
		return startLine{}
	}
	return startLine{do, expect}
}

func (w *startWriter) before() table {
	st := w.st
	fires := len(st.KeepOut)+len(st.Shared) > 0
	out := "Out for now: fuses " + titledParts(kept(st.KeepOut, nil)) + ", which feed nothing but injectors and coils."
	if len(st.KeepOut) == 0 {
		var what []string
		if len(st.Injectors) > 0 {
			what = append(what, titledParts(st.Injectors))
		}
		if len(st.Coils) > 0 {
			what = append(what, titledParts(st.Coils))
		}
		out = "Unplugged for now: " + strings.Join(what, ", ")
		if len(st.Shared) > 0 {
			out += "; the fuses " + partNames(st.Shared) + " feed other things too"
		}
		out += "."
	} else if len(st.Shared) > 0 {
		out += " Behind " + partNames(st.Shared) + " hang other things too: unplug the injectors and coils there."
	}
	return startTable("Before",
		startLine{"First power is done to its end. Key off, battery back, grounded pole last.", ""},
		lineIf(len(st.Controllers) > 0, "Controller plugged in: "+titledParts(st.Controllers)+". All else that was unplugged goes in too, but for the next line.", ""),
		lineIf(fires || len(st.Injectors)+len(st.Coils) > 0, out, ""),
		lineIf(len(st.Starters) > 0, "Wire back on terminal 50 of "+partNames(st.Starters)+".", ""),
		lineIf(len(st.Controllers) > 0, "Laptop or gauge on the controller, key on: no faults but those of what is out; throttle, temperatures, pressure read what they are"+practice+".", ""),
	)
}

// prime is the fuel side, where there is a pump that a controller or a key runs.
func (w *startWriter) prime() table {
	st := w.st
	if len(st.Pumps) == 0 {
		return table{}
	}
	var lines []startLine
	lines = append(lines, startLine{"Fuel in the tank, lines on, regulator connected. Key on: " + w.s.stateText(st.PrimeState) + ".", ""})
	for _, p := range st.Pumps {
		lines = append(lines, startLine{"Pump " + p.Name + " while it runs", fmt.Sprintf("%s, %s", voltsText(p.Volts), ampsText(p.Amps, p.Marked))})
	}
	if len(st.PumpPins) > 0 {
		lines = append(lines, startLine{fmt.Sprintf("It stops by itself after about %d s without the engine turning%s. It runs on: key off, look at the relay and its control wire.", prove.PrimeSeconds, practice), fmt.Sprintf("about %d s", prove.PrimeSeconds)})
	}
	for _, pin := range st.PumpPins {
		lines = append(lines, startLine{"Control of the pump relay at " + pin.String() + ", as written", pin.Expect.Text})
	}
	lines = append(lines,
		startLine{"Fuel pressure, by the sheet of the kit: ________. Port injection has 43 or 58 psi (3 or 4 bar), a carburettor 4 to 7 psi" + practice + "; the sheet governs.", "as the sheet says"},
		startLine{"Every joint of the fuel line looked at and felt under pressure, twice. Pressure holds for 5 minutes" + practice + ".", "dry"},
		lineIf(len(st.Inertia) > 0, "Trip "+titledParts(st.Inertia)+" by hand, key off and on: no pump. Reset it.", "pump dead"),
	)
	return startTable("Fuel", lines...)
}

func (w *startWriter) crank() table {
	st := w.st
	if st.Crank == nil {
		return startTable("Turning the engine", startLine{"Turn the engine over with ignition and fuel off: free, no noise, oil pressure" + practice + ".", ""})
	}
	c := st.Crank
	lines := []startLine{
		lineIf(len(st.Interlocks) > 0, "Start position without "+titledParts(st.Interlocks)+" actuated: nothing happens.", "nothing"),
		{fmt.Sprintf("Crank, %d s at most, then a minute of rest. Posts of the battery while cranking; not below %s%s.", prove.CrankSeconds, voltsText(prove.CrankVolts*w.s.Solved().nominal()/12), practice), voltsText(c.Posts) + guessMark(c.Marked)},
		lineIf(c.Amps > 0, "Starter, by a clamp on its cable", ampsText(c.Amps, c.Marked)),
	}
	for _, l := range c.Stay {
		do := "Must stay: " + l.Name
		if l.Least > 0 {
			do += ", which works from " + voltsText(l.Least)
		}
		lines = append(lines, startLine{do, voltsText(l.Volts) + guessMark(l.Marked)})
	}
	for _, p := range c.Missing {
		lines = append(lines, startLine{"Must stay, and has nothing in the netlist: " + strings.TrimSpace(p.Name.Text+" "+p.Title.Text) + ". Find out why before going on.", "fault"})
	}
	lines = append(lines,
		lineIf(len(c.Keep) > 0, "Stay live, as with “"+w.s.stateText(c.Against)+"”: "+partNames(c.Keep)+".", "live"),
		lineIf(len(c.Drop) > 0, "Drop out while cranking and come back: "+titledParts(c.Drop)+".", "0 V"),
		lineIf(len(st.Controllers) > 0, "Speed of the engine on the laptop or tachometer while cranking, steady"+practice+". None: polarity and gap of the crank sensor.", "150 to 300 1/min"),
	)
	return startTable("Cranking, injectors and coils still dead: "+w.s.stateText(c.State), lines...)
}

// fires are checks that no netlist states: they are those of the trade.
func (w *startWriter) fires() table {
	st := w.st
	return startTable("Spark, then fuel",
		lineIf(len(st.Coils) > 0, "Coils in"+w.fuseWords(st.Coils)+": spark at a grounded tester, each cylinder in its turn, nobody near the leads"+practice+".", ""),
		lineIf(len(st.Coils) > 0, "Timing while cranking: lamp against the mark, as the controller or the maker states (fixed timing first)"+practice+".", "________ °"),
		lineIf(len(st.Injectors) > 0, "Injectors in"+w.fuseWords(st.Injectors)+": each clicks in its turn; start"+practice+".", ""),
		startLine{"It runs: oil pressure within 5 s, charge lamp out, no leak, no smell; exhaust out of doors" + practice + ".", ""},
	)
}

// fuseWords names the fuses that go back for some parts.
func (w *startWriter) fuseWords(parts []*model.Part) string {
	if fuses := kept(w.st.KeepOut, parts); len(fuses) > 0 {
		return " (" + partNames(fuses) + " in)"
	}
	return ""
}

// kept are the fuses that feed one of the parts; nil for any.
func kept(all []prove.Kept, parts []*model.Part) []*model.Part {
	var fuses []*model.Part
	for _, k := range all {
		if parts == nil || slices.ContainsFunc(k.Feeds, func(p *model.Part) bool { return slices.Contains(parts, p) }) {
			fuses = append(fuses, k.Fuse)
		}
	}
	return fuses
}

func (w *startWriter) idle() table {
	st := w.st
	var lines []startLine
	for _, p := range st.AfterRun {
		lines = append(lines, startLine{"Key off: " + p.Name.Text + " lets go of everything within its after-run time; pump and coils at once.", fmt.Sprintf("%.0f s at most", p.AfterRun.Value)})
	}
	lines = append(lines, startLine{"Key off at idle: the engine stops at once and stays off. It runs on: something feeds a rail backwards, look before it is driven.", "stops"},
		lineIf(len(st.Pumps) > 0, "Pump stops with the engine, also when it is stalled"+practice+".", "within 2 s"))
	return startTable("Stopping", lines...)
}

// written lists what the file says of the pins of controllers, with room to write in.
func (w *startWriter) written() table {
	t := table{title: "At the controller, as the netlist expects it; back-probed, against battery minus", heads: []string{"Pin", "Function", "Expect", "Read"}}
	for _, pin := range w.st.Written {
		t.rows = append(t.rows, row{group: canvas.Group{Kind: "pin", Ref: pin.String()}, cells: []cell{
			sayBold(pin.String()), say(w.s.Function(pin.ID)), say(pin.Expect.Text), say(pen),
		}})
	}
	return t
}
