package sheet

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// What a meter should read at a terminal: computed from the solved states, or as somebody has written it.

// A meterState is one of the two states in which a bench sheet says what a meter should read.
type meterState struct {
	head      string // of the column: "Key on"
	condition int    // in Solved.Conditions
	running   bool
}

// MeterStates picks the state with the key on and the engine off, and the one with the engine running; none where the file
// has no such state. The running state is the first one with the engine running or, failing that, charging. Of those with
// the key on, the one is taken that differs from it in the fewest switches, so that the two columns are about the same work.
func (v *Solved) meterStates() []meterState {
	running := v.runningState()
	keys := v.mainSwitches("key")
	head := "Key on"
	if len(keys) == 0 {
		keys, head = v.mainSwitches("isolator"), "Engine off"
	}
	if running < 0 {
		head = "On"
	}
	var states []meterState
	if on := v.keyedState(keys, running); on >= 0 {
		states = append(states, meterState{head, on, false})
	}
	if running >= 0 {
		states = append(states, meterState{"Running", running, true})
	}
	return states
}

func (v *Solved) runningState() int {
	found := slices.IndexFunc(v.Conditions, func(c *graph.Condition) bool { return c.State != nil && c.State.Engine.Text == "running" })
	if found < 0 {
		found = slices.IndexFunc(v.Conditions, func(c *graph.Condition) bool { return c.State != nil && c.State.Charging.On })
	}
	return found
}

func (v *Solved) mainSwitches(function string) []*model.Part {
	var parts []*model.Part
	for _, p := range v.Circuit.Netlist.Parts {
		if p.Function.Text == function && p.Kind.Symbol == "switch" {
			parts = append(parts, p)
		}
	}
	return parts
}

// keyedState returns the state with the engine off whose main switches stand as in the running state; without such
// switches, or without a running state, one in which a switch is on.
func (v *Solved) keyedState(keys []*model.Part, running int) int {
	best, least := -1, 0
	for i, c := range v.Conditions {
		if c.State == nil || c.State.Charging.On || c.State.Engine.Text == "running" || c.State.Engine.Text == "cranking" || len(c.State.Switches) == 0 {
			continue
		}
		differs := 0
		if running >= 0 {
			differs = v.differences(c, v.Conditions[running])
		}
		on := func(p *model.Part) bool {
			if running >= 0 {
				return c.PositionOf(p) == v.Conditions[running].PositionOf(p)
			}
			return c.PositionOf(p) != p.Inside.Rest
		}
		awake := func(s model.Setting) bool { return s.Part != nil && s.Position != s.Part.Inside.Rest }
		if !slices.ContainsFunc(c.State.Switches, awake) || slices.ContainsFunc(keys, func(p *model.Part) bool { return !on(p) }) {
			continue
		}
		if best < 0 || differs < least {
			best, least = i, differs
		}
	}
	return best
}

// differences counts the switches that stand otherwise.
func (v *Solved) differences(a, b *graph.Condition) int {
	count := 0
	for _, p := range v.Circuit.Netlist.Parts {
		if a.PositionOf(p) != b.PositionOf(p) {
			count++
		}
	}
	return count
}

// A reading is what a meter shows at a terminal in one state.
type reading struct {
	words   string  // in place of a number: "pulses", "live", or a dash where nothing can be said
	volts   float64 // where words is empty
	guessed bool
}

func (r reading) String() string {
	if r.words != "" {
		return r.words
	}
	return figure(r.volts, r.guessed)
}

// notComputed stands where the solution says nothing: a terminal that floats, a signal.
const notComputed = "–"

// readingAt works out what a meter shows between a terminal and the grounded pole of the battery.
func (v *Solved) readingAt(state meterState, id model.PinID) reading {
	if v.pulses(state, id) {
		return reading{words: "pulses"}
	}
	volts, known := v.voltsAt(state.condition, id)
	switch {
	case known:
		return reading{volts: volts, guessed: v.guessedAt(state.condition, id)}
	case v.relianceOf(state.condition).supply.reaches(id):
		return reading{words: "live"}
	}
	return reading{words: notComputed}
}

// ignites lists what an output drives that only works in pulses while the engine turns.
var ignites = []string{"injector", "coil primary", "coil logic"}

// pulses reports whether what the terminal is joined to switches many times a second or blinks, so that a meter shows a
// mean that depends on load and speed.
func (v *Solved) pulses(state meterState, id model.PinID) bool {
	g, cond := v.Circuit.Graph, v.Conditions[state.condition]
	if cond.State != nil {
		for _, ref := range slices.Concat(cond.State.Driven, cond.State.Pulled) {
			if ref.ID == model.NoPin || g.NetOf(ref.ID) != g.NetOf(id) {
				continue
			}
			pin := v.Circuit.Netlist.Pin(ref.ID)
			if pin.Pulsed.On || state.running && slices.Contains(ignites, pin.Drives.Text) {
				return true
			}
		}
	}
	ground := v.groundPole()
	if ground == model.NoPin {
		return false
	}
	peak, known := v.Reports[state.condition].Solution.Across(id, ground)
	mean, also := v.Reports[state.condition].Mean.Across(id, ground)
	return known && also && math.Abs(peak-mean) > v.nominal()/5
}

// guessedAt reports whether the volts rest on an output whose resistance is assumed, or on a load that is a guess. What
// is joined to ground is at nothing whatever flows.
func (v *Solved) guessedAt(state int, id model.PinID) bool {
	g, cond := v.Circuit.Graph, v.Conditions[state]
	net := g.NetOf(id)
	for _, o := range v.Reports[state].Outputs {
		if o.Estimated && g.NetOf(o.Pin.ID) == net {
			return true
		}
	}
	if cond.Grounded(id) && !cond.Live(id) {
		return false
	}
	for _, l := range v.Reports[state].Loads {
		if b := &v.Circuit.Branches[l.Branch]; l.Guessed && (g.NetOf(b.A) == net || g.NetOf(b.B) == net) {
			return true
		}
	}
	return false
}

// An expectation is one clause of what somebody has written about a meter's reading: "below 1 V with key on, engine off".
type expectation struct {
	least, most float64 // volts; the same where one value is written; least is -Inf for "below"
	text        string  // the value as it is written, in volts: "<1", "4.9-5.1"
	where       string  // the words behind the value, in lower case
	mean        bool
}

var expected = regexp.MustCompile(`^(?:then )?(about|below|under|above|over|at least|at most)? ?([0-9]+(?:\.[0-9]+)?)(?: to ([0-9]+(?:\.[0-9]+)?))? ?(m?)V\b(.*)$`)

// expectations cuts a written expectation into its clauses. What begins with no voltage is none.
func expectations(text string) []expectation {
	var list []expectation
	for clause := range strings.SplitSeq(text, ";") {
		clause = strings.TrimSpace(clause)
		for clause != "" {
			m := expected.FindStringSubmatch(clause)
			if m == nil {
				break
			}
			clause = ""
			where := m[5]
			if strings.HasPrefix(m[0], "then ") {
				where = "then" + where // later than what the clause before is about, and nobody can tell when
			}
			// A comma ends the clause where another voltage stands behind it.
			for at := 0; at < len(where); at++ {
				if rest := strings.TrimSpace(where[at+1:]); where[at] == ',' && expected.MatchString(rest) {
					where, clause = where[:at], rest
					break
				}
			}
			list = append(list, expectationOf(m, where))
		}
	}
	return list
}

func expectationOf(m []string, where string) expectation {
	low, _ := strconv.ParseFloat(m[2], 64) // the pattern lets only numbers pass
	high := low
	if m[3] != "" {
		high, _ = strconv.ParseFloat(m[3], 64)
	}
	if m[4] == "m" {
		low, high = low/1000, high/1000
	}
	e := expectation{least: low, most: high, where: strings.ToLower(where), text: unit.Format(low)}
	e.mean = strings.Contains(e.where, "mean")
	switch {
	case m[1] == "below" || m[1] == "under" || m[1] == "at most":
		e.least, e.text = math.Inf(-1), "<"+unit.Format(high)
	case m[1] == "above" || m[1] == "over" || m[1] == "at least":
		e.most, e.text = math.Inf(1), ">"+e.text
	case m[3] != "":
		e.text += "-" + unit.Format(high)
	}
	return e
}

// applies reports whether the clause is about a state. One that names a circumstance that the sheet does not know, such as a
// warm engine, is about neither.
func (e expectation) applies(v *Solved, state meterState) bool {
	has := func(words ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(e.where, w) })
	}
	switch {
	case has(" to pin", " to cavity", "key off", " for ", "cranking"):
		return false
	case has("engine off"):
		return !state.running
	case has("running", "idle"):
		return state.running
	case has("always"), has("key on"):
		return true
	}
	words := strings.FieldsFunc(e.where, func(r rune) bool { return strings.ContainsRune(" ,()", r) })
	words = slices.DeleteFunc(words, func(w string) bool { return w == "mean" })
	return len(words) == 0 || words[0] == "in" && v.named(state, words[1:])
}

// named reports whether one of the words is the name of the state or of the position of its key switch.
func (v *Solved) named(state meterState, words []string) bool {
	cond := v.Conditions[state.condition]
	names := []string{strings.ToLower(cond.Name())}
	for _, p := range v.mainSwitches("key") {
		if at := cond.PositionOf(p); at >= 0 && at < len(p.Inside.Positions) {
			names = append(names, strings.ToLower(p.Inside.Positions[at].Name.Text))
		}
	}
	return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(names, w) })
}

// differs reports whether volts are more than a tenth away from what is written, and more than a tenth of a volt.
func (e expectation) differs(volts float64) bool {
	room := func(at float64) float64 { return max(at/10, 0.1) + 1e-9 }
	return volts < e.least-room(e.least) || volts > e.most+room(e.most)
}

// meterCell is what stands in the column of a state: what is written, in bold and with what was computed below it where
// the two do not agree; or what was computed.
func (v *Solved) meterCell(state meterState, pin *model.Pin) cell {
	computed := v.readingAt(state, pin.ID)
	for _, e := range expectations(pin.Expect.Text) {
		if !e.applies(v, state) {
			continue
		}
		written := cell{{text: e.text, bold: true}}
		if e.mean {
			written[0].text += " mean"
		} else if computed.words == "" && e.differs(computed.volts) {
			written = append(written, piece{text: computed.String(), mark: warningMark})
		}
		return written
	}
	return say(computed.String())
}

// meterNote says what the columns of volts mean.
func (v *Solved) meterNote(states []meterState, written bool) string {
	var names []string
	for _, st := range states {
		name := v.Conditions[st.condition].Name()
		if state := v.Conditions[st.condition].State; state != nil {
			name = strings.TrimSuffix(state.Name.Text+" ("+state.Title.Text+")", " ()")
		}
		names = append(names, st.head+": state "+name)
	}
	text := strings.Join(names, ". ") + ". In volts against the grounded battery pole, plug on; computed, not measured. " +
		notComputed + " floats, or is a signal. ~ guessed or assumed."
	if written {
		text += " Bold: as written; with a triangle what is computed, where it is more than 10 % off."
	}
	return text
}

// terminalText describes what is crimped on a wire: "1.5 mm, sealed, for 22 AWG to 16 AWG, strip 5 mm".
func terminalText(t *model.Terminal) string {
	text := t.Title.Text
	if t.Wire[1].IsSet() {
		text += ", for " + rangeText(t.Wire[0].String(), t.Wire[1].String())
	}
	if t.Strip.IsSet() {
		text += ", strip " + millimetres(t.Strip)
	}
	return strings.TrimPrefix(text, ", ") + guessMark(t.KnownFrom.Text == "guess")
}

// sealText says which diameters of insulation the seal of a terminal takes; empty where it takes none.
func sealText(t *model.Terminal) string {
	if t == nil || !t.Seal[1].IsSet() {
		return ""
	}
	return strings.TrimSuffix(millimetres(t.Seal[0]), " mm") + "-" + millimetres(t.Seal[1]) + guessMark(t.KnownFrom.Text == "guess")
}

func rangeText(least, most string) string {
	if least == most {
		return most
	}
	return least + " to " + most
}

// millimetres writes a small length with its tenths.
func millimetres(q model.Quantity) string { return unit.Format(math.Round(q.Value*1e4)/10) + " mm" }
