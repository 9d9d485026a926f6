package sheet

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

var _ = register(&Maker{
	Name: "states", Title: "Key-position matrix", Order: 60,
	Doc: "What is live in which key position: a row for each consumer, supply rail, driven output and named net, a column for each " +
		"state of the netlist, with the computed volts and the fuse, switch and relay that bring them; below it a key of the states.",
	Plan: planStates,
})

const stateCaution = "Computed from the netlist, for a charged battery; not measured. Live here means live: battery off, grounded pole first, before " +
	"anything is opened. Fans and pumps may start by themselves, some with the key off. A reading that differs is a fault to be found, not a tolerance."

// leastState is the narrowest that the column of a state is made: figures with their mark and letter stand in it.
const leastState = 12500 * geom.Micrometre

// stateHeads is how wide the columns before those of the states are taken to be when the states are counted out, and mostNames how
// wide either of the two is taken to be when the paper is chosen.
const (
	stateHeads = 110 * geom.MM
	mostNames  = 64 * geom.MM
)

func planStates(s *Set) []*Page {
	if len(s.Netlist.States) == 0 {
		return nil
	}
	m := newStateMatrix(s)
	paper := m.paper().sheaf(stateCaution)
	width := paper.width()
	most := max(1, int((width-stateHeads)/leastState))
	var tables []*laidTable
	for first := 0; first < len(s.Netlist.States); first += most {
		t := m.table(first, min(first+most, len(s.Netlist.States)))
		tables = append(tables, t.lay(min(width, t.natural(width/3))))
	}
	tables = append(tables, m.key().lay(width), m.legend().lay(width))
	parts := flow{gap: blockGap, boxAt: paper.boxes(1)}.place(tables...)
	return s.tablePages("states", "Key-position matrix", "what is live when, in volts, and through what", stateCaution, paper, parts)
}

// paper is the smallest on which the matrix has all its states side by side: bench paper, wall paper upright, or lying.
func (m *stateMatrix) paper() Paper {
	if m.set.Paper.Name == "" {
		width := m.table(0, len(m.set.Netlist.States)).natural(mostNames)
		bench := m.set.bench()
		bench.LongCaution = true
		for _, p := range []Paper{bench, upright(m.set.wall())} {
			if p.Area().Inset(sheetMargin).Width() >= width {
				return p
			}
		}
	}
	return m.set.wall()
}

// A stateRow is a thing with what becomes of it in every state.
type stateRow struct {
	ref, title, kind string
	link             Shown // where the thing itself is shown
	cells            []stateCell
}

// A stateCell is what becomes of a thing in one state.
type stateCell struct {
	text string // "13.4", "off", "ground", "driven"
	live bool
	way  string // through what; empty for off and ground
}

// A stateMatrix is the content of the sheet.
type stateMatrix struct {
	set    *Set
	solved *Solved
	groups []stateGroup
}

type stateGroup struct {
	title string
	rows  []stateRow
}

func newStateMatrix(s *Set) *stateMatrix {
	m := &stateMatrix{set: s, solved: s.Solved()}
	add := func(title string, rows []stateRow) {
		if len(rows) > 0 {
			m.groups = append(m.groups, stateGroup{title, rows})
		}
	}
	add("Consumers: volts across them", m.consumerRows())
	rails, seen := m.railRows()
	add("Supply rails and bars: volts against ground", rails)
	add("Outputs of modules", m.outputRows())
	add("Named nets that are live in some state: volts against ground", m.netRows(seen))
	return m
}

func (m *stateMatrix) consumerRows() []stateRow {
	var rows []stateRow
	for i := range m.solved.Consumers {
		c := &m.solved.Consumers[i]
		r := stateRow{ref: c.Ref, title: c.Title, kind: "consumer", link: Shown{"part", c.Part.Name.Text}}
		for state := range m.solved.Conditions {
			r.cells = append(r.cells, m.consumerCell(state, c))
		}
		rows = append(rows, r)
	}
	return rows
}

// consumerCell says whether a consumer works in a state. Without a stated load there are no volts to compute; whether it is
// joined to supply and ground is known all the same.
func (m *stateMatrix) consumerCell(state int, c *Consumer) stateCell {
	cond := m.solved.Conditions[state]
	if l := m.solved.At(state, c); l != nil {
		way := m.solved.shortWay(m.solved.waysOf(l))
		if m.solved.Circuit.Branches[c.Branch].IsMotorOfStarter() {
			way += ", by its solenoid"
		}
		return stateCell{text: figure(l.Drop.Volts, l.Guessed), live: true, way: way}
	}
	if r := m.solved.relianceOf(state); m.solved.works(state, c) {
		live := c.A
		if !r.supply.reaches(live) {
			live = c.B
		}
		return stateCell{text: "live", live: true, way: m.solved.feedOf(cond, live)}
	}
	return stateCell{text: "off"}
}

func figure(volts float64, guessed bool) string {
	return strconv.FormatFloat(volts, 'f', 1, 64) + guessMark(guessed)
}

// railRows are the bars that the netlist calls rails. What they are joined to outside parts is one net, which then needs no
// row of its own.
func (m *stateMatrix) railRows() ([]stateRow, map[graph.NetID]bool) {
	seen := map[graph.NetID]bool{}
	var rows []stateRow
	for _, l := range m.set.Netlist.Links {
		pin := firstJoin(l)
		if !l.Rail.IsSet() || pin == model.NoPin {
			continue
		}
		seen[m.set.Graph.NetOf(pin).ID] = true
		r := stateRow{ref: l.Rail.Text, title: strings.TrimSpace(l.Name.Text + " " + l.Title.Text), kind: "rail"}
		for state := range m.solved.Conditions {
			r.cells = append(r.cells, m.netCell(state, pin))
		}
		rows = append(rows, r)
	}
	return rows, seen
}

func firstJoin(l *model.Link) model.PinID {
	for _, ref := range l.Joins {
		if ref.ID != model.NoPin {
			return ref.ID
		}
	}
	return model.NoPin
}

// netCell says what a conductor is at in a state. Volts that come over a consumer, as on the low side of a coil whose output
// is off, are marked, since whoever looks for the feed finds none.
func (m *stateMatrix) netCell(state int, pin model.PinID) stateCell {
	cond := m.solved.Conditions[state]
	volts, known := m.solved.voltsAt(state, pin)
	on := known && volts >= m.solved.onVolts()
	switch {
	case cond.Grounded(pin) && !cond.Live(pin):
		return stateCell{text: "ground"}
	case on && cond.Live(pin) && !cond.Grounded(pin):
		if way := m.solved.feedOf(cond, pin); way != "" {
			return stateCell{text: figure(volts, false), live: true, way: way}
		}
		return stateCell{text: figure(volts, false) + "*"}
	case on:
		return stateCell{text: figure(volts, false) + "*"}
	case !known && m.solved.relianceOf(state).supply.reaches(pin):
		return stateCell{text: "live", live: true, way: m.solved.feedOf(cond, pin)}
	}
	return stateCell{text: "off"}
}

// outputRows are the outputs that any state drives or pulls.
func (m *stateMatrix) outputRows() []stateRow {
	named := map[model.PinID]bool{}
	for _, st := range m.set.Netlist.States {
		for _, r := range slices.Concat(st.Driven, st.Pulled) {
			named[r.ID] = r.ID != model.NoPin
		}
	}
	var rows []stateRow
	for i := range m.set.Netlist.Pins {
		pin := &m.set.Netlist.Pins[i]
		if !named[pin.ID] {
			continue
		}
		r := stateRow{ref: pin.String(), title: cmp.Or(pin.Does.Text, pin.Owner.Title()), kind: "output", link: Shown{pin.Owner.Sort.String(), pin.Owner.Name.Text}}
		for _, st := range m.set.Netlist.States {
			r.cells = append(r.cells, outputCell(st, pin.ID))
		}
		rows = append(rows, r)
	}
	return rows
}

func outputCell(st *model.State, pin model.PinID) stateCell {
	is := func(r model.PinRef) bool { return r.ID == pin }
	switch {
	case slices.ContainsFunc(st.Pulled, is):
		return stateCell{text: "pulled", live: true}
	case slices.ContainsFunc(st.Driven, is):
		return stateCell{text: "driven", live: true}
	}
	return stateCell{text: "off"}
}

// netRows are the nets that the file names and that are live in some state, in the order of the file.
func (m *stateMatrix) netRows(seen map[graph.NetID]bool) []stateRow {
	var rows []stateRow
	for i := range m.set.Graph.Nets {
		net := &m.set.Graph.Nets[i]
		if !net.Stated || seen[net.ID] {
			continue
		}
		r := stateRow{ref: net.Name, title: m.netTitle(net.Name), kind: "net"}
		live := false
		for state := range m.solved.Conditions {
			cell := m.netCell(state, net.Pins[0])
			r.cells = append(r.cells, cell)
			live = live || cell.live
		}
		if live {
			rows = append(rows, r)
		}
	}
	return rows
}

func (m *stateMatrix) netTitle(name string) string {
	for _, net := range m.set.Netlist.Nets {
		if net.Name.Text == name {
			return net.Title.Text
		}
	}
	return ""
}

// table sets the states from first up to end.
func (m *stateMatrix) table(first, end int) table {
	t := table{ruled: true, heads: []string{"", "Through"}}
	for _, st := range m.set.Netlist.States[first:end] {
		t.heads = append(t.heads, brokenName(st.Name.Text))
	}
	for _, g := range m.groups {
		lead := geom.Length(0)
		for i := range g.rows {
			if width := g.rows[i].leadWidth(); width <= mostLead {
				lead = max(lead, width)
			}
		}
		t.rows = append(t.rows, row{span: true, keep: true, ruled: true, cells: []cell{sayBold(g.title)}})
		for i := range g.rows {
			t.rows = append(t.rows, g.rows[i].row(first, end, lead))
		}
	}
	return t
}

// brokenName lets the name of a state break where it has a hyphen.
func brokenName(name string) string { return strings.ReplaceAll(name, "-", "-\n") }

// row sets a thing. The ways through which it is live in the states shown stand once each; with more than one, letters say
// in the cells which it is.
func (r *stateRow) row(first, end int, lead geom.Length) row {
	var ways []string
	for _, c := range r.cells[first:end] {
		if c.way != "" && !slices.Contains(ways, c.way) {
			ways = append(ways, c.way)
		}
	}
	out := row{group: canvas.Group{Kind: r.kind, Ref: r.ref, Title: r.title}}
	through := say(strings.Join(ways, ""))
	if len(ways) > 1 {
		through = nil
		for i, way := range ways {
			through = append(through, piece{text: letter(i) + " " + way})
		}
	}
	out.cells = []cell{r.name(lead), through}
	for _, c := range r.cells[first:end] {
		text := c.text
		if i := slices.Index(ways, c.way); i >= 0 && len(ways) > 1 {
			text += " " + letter(i)
		}
		out.cells = append(out.cells, cell{{text: text, bold: c.live, shaded: c.live}})
	}
	return out
}

// mostLead is the widest that a designator may be to stand before its title; a longer name stands above it.
const mostLead = 20 * geom.MM

func (r *stateRow) leadWidth() geom.Length {
	return font.Width(font.Bold, font.MinHeight, r.ref) + 3*geom.MM/2
}

// name is the designator and what it is, side by side where the designators of the group are short.
func (r *stateRow) name(lead geom.Length) cell {
	switch {
	case r.title == "":
		return cell{{text: r.ref, bold: true, link: r.link}}
	case r.leadWidth() > lead:
		return cell{{text: r.ref, bold: true, link: r.link}, {text: r.title}}
	}
	return cell{{text: r.title, lead: r.ref, leadRoom: lead, link: r.link}}
}

// letter numbers with letters, from 0: a to z, then aa and so on.
func letter(i int) string {
	if i < 26 {
		return string(rune('a' + i))
	}
	return letter(i/26-1) + letter(i%26)
}

// key says what each state is: where the switches stand, what is driven, whether the generators deliver.
func (m *stateMatrix) key() table {
	t := table{title: "States", heads: []string{"State", "What it is", "Switches; those not named stand at rest", "Driven by modules", "Charging"}}
	for i, st := range m.set.Netlist.States {
		t.rows = append(t.rows, row{
			group: canvas.Group{Kind: "state", Ref: st.Name.Text, Title: st.Title.Text},
			cells: []cell{
				sayBold(st.Name.Text), say(m.stateText(i)), say(switchText(st)), say(pinsText(m.set.Netlist, st)),
				say(map[bool]string{true: "yes", false: "no"}[circuit.Charges(st)]),
			},
		})
	}
	return t
}

// stateText is the title of a state, and a warning where its solution did not come to rest.
func (m *stateMatrix) stateText(state int) string {
	text := m.set.Netlist.States[state].Title.Text
	if !m.solved.Reports[state].Solution.Settled {
		text = strings.TrimSpace(text + " The solution did not come to rest: its figures are the last ones.")
	}
	return text
}

func switchText(st *model.State) string {
	var words []string
	for _, set := range st.Switches {
		title := ""
		if set.Part != nil && set.Part.Title.IsSet() {
			title = " (" + set.Part.Title.Text + ")"
		}
		words = append(words, set.PartName.Text+title+": "+set.PositionName.Text)
	}
	return cmp.Or(strings.Join(words, ", "), "all at rest")
}

func pinsText(n *model.Netlist, st *model.State) string {
	var words []string
	name := func(r model.PinRef) string {
		if r.ID == model.NoPin {
			return r.Text
		}
		return n.Pin(r.ID).String()
	}
	for _, r := range st.Driven {
		words = append(words, name(r))
	}
	for _, r := range st.Pulled {
		words = append(words, name(r)+" (pulled)")
	}
	return cmp.Or(strings.Join(words, " "), "nothing")
}

// legend explains the words of the cells.
func (m *stateMatrix) legend() table {
	t := table{title: "How to read it", heads: []string{"", ""}}
	add := func(c cell, meaning string) { t.rows = append(t.rows, row{keep: true, cells: []cell{c, say(meaning)}}) }
	nominal := unit.Volt(m.solved.nominal()).String()
	add(cell{{text: "12.6", bold: true, shaded: true}}, "live, bold on grey: volts in a "+nominal+" system. A consumer that pulses is shown while it is on.")
	add(cell{{text: "12.6 a", bold: true, shaded: true}}, "live through the way that bears the letter in the column Through")
	add(cell{{text: "live", bold: true, shaded: true}}, "joined to supply; a number is missing for the volts")
	add(say("off"), "no current, or no volts")
	add(say("ground"), "joined to ground")
	add(say("12.6*"), "volts that come through a consumer or a sensor supply: no fuse or switch brings them directly")
	add(say("Through"), "from the source on: the fuse nearest to it and every switch and relay on the way; behind \"to ground by\" what switches its ground side")
	add(say("~"), strings.TrimPrefix(guessNote, "~ "))
	if names := m.solved.leftOut(); names != "" {
		add(say("Left out"), "solved without, because a number is missing: "+names)
	}
	return t
}
