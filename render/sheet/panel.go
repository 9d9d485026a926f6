package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/fusecurve"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

var _ = register(&Maker{
	Name: "panel", Title: "Panel and lid chart", Order: 310,
	Doc: "Every fuse box and carrier with what sits in it: ratings large, the standard body colour in words, what each position is for in plain " +
		"words, and in which key positions it is live; then the same as cards to cut out for the lid.",
	Plan: planPanels,
})

const panelCaution = "Never up-rate a fuse, never bridge one. Replace a blown fuse once, then find the cause. Battery off, grounded pole first, before a " +
	"relay or a bar is touched. The order of the positions is that of the netlist: check it against the box before you trust the picture."

// panelFoot stands below every picture, since the language knows no positions within a panel.
const panelFoot = "As seen with the lid open. Order as in the netlist; check against the box. Never up-rate."

// FuseColor returns the standard body colour of a fuse by its family, as the netlist words it, and its rating in ampere;
// false where no standard that is known here gives one.
func FuseColor(family string, rating float64) (string, bool) {
	f, _ := fusecurve.ParseFamily(family)
	return fusecurve.Color(f, unit.Ampere(rating))
}

// A position is one part in a panel, with the words that stand at it.
type position struct {
	part    *model.Part
	rating  string // "15 A", "" for what has none
	color   string
	title   string
	circuit string   // what is behind it
	live    []string // by key group: a filled dot, a ring, a dash
}

// A keyGroup is a position of the key, or what comes nearest to it, with the states in which it stands.
type keyGroup struct {
	name   string
	letter string
	states []int
}

// A panelPlan is one panel with its positions.
type panelPlan struct {
	panel     *model.Panel
	positions []position
}

func planPanels(s *Set) []*Page {
	plans, groups := s.panelPlans()
	names := pageNames{}
	var pages []*Page
	for i := range plans {
		pages = append(pages, s.panelPages(&plans[i], groups, names)...)
	}
	return append(pages, s.lidPages(plans, groups, names.take("panel", "cards"))...)
}

// panelPlans are the panels with something in them, and the positions of the key by which they are live.
func (s *Set) panelPlans() ([]panelPlan, []keyGroup) {
	var plans []panelPlan
	byPanel := map[*model.Panel][]*model.Part{}
	for _, p := range s.Netlist.Parts {
		if p.Panel != nil {
			byPanel[p.Panel] = append(byPanel[p.Panel], p)
		}
	}
	var groups []keyGroup
	var behind *behind
	for _, p := range s.Netlist.Panels {
		if len(byPanel[p]) == 0 {
			continue
		}
		if behind == nil {
			groups, behind = s.keyGroups(), s.findBehind()
		}
		plan := panelPlan{panel: p}
		for _, part := range byPanel[p] {
			plan.positions = append(plan.positions, s.position(part, groups, behind))
		}
		plans = append(plans, plan)
	}
	return plans, groups
}

// mostGroups is how many positions of a key a card has columns for.
const mostGroups = 6

// keyGroups sorts the states by where the key stands: a switch with the function of a key or, without one, of an isolator;
// else by the engine; else all in one. A switch with more positions than a card has room for is passed over.
func (s *Set) keyGroups() []keyGroup {
	conds := s.Solved().Conditions
	if key := s.keySwitch(); key != nil {
		var order []string
		for i := range max(2, len(key.Inside.Positions)) {
			order = append(order, positionName(key, i))
		}
		groups := groupStates(len(conds), order, func(i int) string { return positionName(key, conds[i].PositionOf(key)) })
		if len(groups) <= mostGroups {
			return groups
		}
	}
	if slices.ContainsFunc(s.Netlist.States, func(st *model.State) bool { return st.Engine.IsSet() }) {
		return groupStates(len(conds), []string{"off", "cranking", "running", "not stated"}, func(i int) string {
			return cmp.Or(s.Netlist.States[i].Engine.Text, "not stated")
		})
	}
	return groupStates(len(conds), nil, func(int) string { return "live" })
}

// groupStates puts states of one name together, in the order given, and gives the groups their letters.
func groupStates(count int, order []string, name func(state int) string) []keyGroup {
	var groups []keyGroup
	for i := range count {
		at := slices.IndexFunc(groups, func(g keyGroup) bool { return g.name == name(i) })
		if at < 0 {
			at = len(groups)
			groups = append(groups, keyGroup{name: name(i)})
		}
		groups[at].states = append(groups[at].states, i)
	}
	slices.SortStableFunc(groups, func(a, b keyGroup) int {
		return cmp.Compare(slices.Index(order, a.name), slices.Index(order, b.name))
	})
	letterGroups(groups)
	return groups
}

func (s *Set) keySwitch() *model.Part {
	for _, function := range []string{"key", "isolator"} {
		for _, p := range s.Netlist.Parts {
			if p.Function.Text == function {
				return p
			}
		}
	}
	return nil
}

// positionName names a position of a switch. A switch without positions of its own is open or closed.
func positionName(p *model.Part, i int) string {
	if i >= 0 && i < len(p.Inside.Positions) {
		return p.Inside.Positions[i].Name.Text
	}
	if i == 1 {
		return "on"
	}
	return "off"
}

// mostLetters is how long the letters of a group may be; longer ones are replaced by a number.
const mostLetters = 3

// letterGroups gives each group the shortest beginning of its name that no other has.
func letterGroups(groups []keyGroup) {
	for i := range groups {
		name := []rune(groups[i].name)
		for n := 1; n <= len(name); n++ {
			groups[i].letter = strings.ToUpper(string(name[:n]))
			clash := func(g keyGroup) bool {
				return g.name != groups[i].name && strings.HasPrefix(strings.ToUpper(g.name), groups[i].letter)
			}
			if !slices.ContainsFunc(groups, clash) {
				break
			}
		}
		if len([]rune(groups[i].letter)) > mostLetters {
			groups[i].letter = strconv.Itoa(i + 1)
		}
	}
}

// A behind tells what hangs on fuses and contacts, from the ways of all consumers in all states.
type behind struct {
	consumers map[*model.Part][]string // of which the part is the nearest fuse, or which the contact switches
	next      map[*model.Part][]string // the fuses that follow a fuse
}

func (s *Set) findBehind() *behind {
	v := s.Solved()
	b := &behind{map[*model.Part][]string{}, map[*model.Part][]string{}}
	add := func(list map[*model.Part][]string, p *model.Part, name string) {
		if !slices.Contains(list[p], name) {
			list[p] = append(list[p], name)
		}
	}
	for i := range v.Consumers {
		c := &v.Consumers[i]
		for state := range v.Reports {
			l := v.At(state, c)
			if l == nil {
				continue
			}
			live, ground := v.waysOf(l)
			var following *model.Part
			for k := len(live) - 1; k >= 0; k-- {
				switch w := live[k]; {
				case w.sort == fuseStep && following == nil:
					add(b.consumers, w.part, cmp.Or(c.Title, c.Ref))
					following = w.part
				case w.sort == fuseStep:
					add(b.next, w.part, following.Name.Text)
					following = w.part
				case w.sort == contactStep:
					add(b.consumers, w.part, cmp.Or(c.Title, c.Ref))
				}
			}
			for _, w := range ground {
				if w.sort == contactStep {
					add(b.consumers, w.part, cmp.Or(c.Title, c.Ref))
				}
			}
		}
	}
	return b
}

func (s *Set) position(p *model.Part, groups []keyGroup, b *behind) position {
	out := position{part: p, title: p.Title.Text}
	if v := p.Value("rating"); v != nil && v.Quantity.IsSet() {
		out.rating = unit.Ampere(v.Quantity.Value).String() + guessMark(p.KnownFrom.Text == "guess")
		family := ""
		if f := p.Value("family"); f != nil {
			family = f.Word.Text
		}
		out.color, _ = FuseColor(family, v.Quantity.Value)
	}
	out.circuit = circuitWords(p, b)
	for _, g := range groups {
		out.live = append(out.live, s.liveDot(p, g))
	}
	return out
}

// circuitWords lists what a position is for: the consumers of which it is the nearest fuse, the fuses that follow it, or
// what it switches.
func circuitWords(p *model.Part, b *behind) string {
	var words []string
	if list := b.consumers[p]; len(list) > 0 && strings.Join(list, "") != p.Title.Text {
		words = append(words, strings.Join(list, ", "))
	}
	if list := b.next[p]; len(list) > 0 {
		words = append(words, "then "+strings.Join(slices.SortedFunc(slices.Values(list), CompareNatural), " "))
	}
	return strings.Join(words, "; ")
}

// The dots of a position in a key group.
const (
	liveAlways = "●" // in all states of the group
	liveSome   = "○" // in some
	liveNever  = "–"
)

// liveDot says in how many states of a group a fuse is live, a relay pulled in, or a switch live behind its contacts.
func (s *Set) liveDot(p *model.Part, g keyGroup) string {
	live := 0
	for _, state := range g.states {
		if s.liveIn(p, state) {
			live++
		}
	}
	switch live {
	case 0:
		return liveNever
	case len(g.states):
		return liveAlways
	}
	return liveSome
}

func (s *Set) liveIn(p *model.Part, state int) bool {
	r := s.Solved().relianceOf(state)
	if len(p.Inside.Coils) > 0 {
		return slices.ContainsFunc(p.Inside.Coils, func(coil model.Pair) bool { return r.feeds(coil.A, coil.B) })
	}
	for i := range s.Graph.Edges {
		e := &s.Graph.Edges[i]
		if e.Part == p && (e.Kind == graph.Protect || e.Kind.Contact()) && r.cond.Closed(e) && r.supply.reaches(e.A) && r.supply.reaches(e.B) {
			return true
		}
	}
	return false
}

// Measures of a panel's picture.
const (
	leastCell  = 46 * geom.MM // of width
	cellHeight = 41 * geom.MM // at the least; where there is room, more of what is behind a fuse is told
	mostHeight = 54 * geom.MM
	footRoom   = font.Height3p5 + 6*geom.MM
	fewParts   = 12 // up to so many, the picture is on bench paper
)

// panelPages draws the positions of a panel as cells in rows.
func (s *Set) panelPages(plan *panelPlan, groups []keyGroup, names pageNames) []*Page {
	paper := s.wall()
	if len(plan.positions) <= fewParts {
		paper = s.bench()
	}
	area := paper.Area().Inset(sheetMargin)
	facts := s.panelFacts(plan, groups).lay(area.Width())
	top := area
	top.Min.Y += headerRoom
	factParts := flow{boxAt: func(int) box { return box{0, top} }}.place(facts)
	cells := top
	cells.Min.Y = bottom(factParts, top.Min.Y) + blockGap
	cells.Max.Y -= footRoom
	columns := int(cells.Width() / leastCell)
	rows := max(1, int(cells.Height()/cellHeight))
	used := min(rows, (len(plan.positions)+columns-1)/columns)
	height := min(mostHeight, cells.Height()/geom.Length(used))
	title := "Panel " + plan.panel.Name.Text
	if plan.panel.Title.IsSet() {
		title += ": " + plan.panel.Title.Text
	}
	name := names.take("panel", plan.panel.Name.Text)
	var pages []*Page
	for chunk := range slices.Chunk(plan.positions, columns*rows) {
		number := len(pages) + 1
		page := &Page{
			Name: continuedName(name, number), Title: title, Paper: paper, Caution: panelCaution,
			Shows: []Shown{{"panel-picture", plan.panel.Name.Text}},
			Draw: func(c canvas.Canvas) {
				drawHeading(c, area, plan.panel.Name.Text, plan.panel.Title.Text, number > 1)
				s.drawParts(c, factParts)
				s.drawPositions(c, cells, columns, height, chunk, groups)
				foot := fittingHeight(font.Bold, font.Height3p5, panelFoot, area.Width())
				letterIn(c, geom.Pt(area.Min.X, area.Max.Y-geom.MM), area.Width(), font.Bold, foot, panelFoot)
			},
		}
		if len(plan.positions) > columns*rows {
			page.Title += fmt.Sprintf(" (%d of %d)", number, (len(plan.positions)+columns*rows-1)/(columns*rows))
		}
		pages = append(pages, page)
	}
	return pages
}

// panelFacts says where the panel is, what it has besides, and how to read the dots.
func (s *Set) panelFacts(plan *panelPlan, groups []keyGroup) table {
	t := table{heads: []string{"", ""}}
	add := func(label, text string) { t.rows = append(t.rows, row{cells: []cell{sayBold(label), say(text)}}) }
	if place := plan.panel.Place; place != nil {
		add("Place", cmp.Or(place.Title.Text, place.Name.Text))
	}
	var terminals []string
	for _, id := range plan.panel.Owner.Pins {
		terminals = append(terminals, s.Netlist.Pin(id).Name)
	}
	if len(terminals) > 0 {
		add("Terminals", strings.Join(terminals, ", "))
	}
	add("Spare", spareWords(plan)+"   Spare fuses in the lid: ________________")
	add("Live", liveLegend(groups))
	return t
}

func spareWords(plan *panelPlan) string {
	var words []string
	for _, p := range plan.positions {
		if p.part.Spare.On {
			words = append(words, strings.TrimSpace(p.part.Name.Text+" "+p.rating))
		}
	}
	if len(words) == 0 {
		return "no spare position."
	}
	return strings.Join(words, ", ") + "."
}

// liveLegend explains the dots and names the groups.
func liveLegend(groups []keyGroup) string {
	var words []string
	for _, g := range groups {
		if g.letter != strings.ToUpper(g.name) {
			words = append(words, g.letter+" "+g.name)
		}
	}
	text := liveAlways + " live, or pulled in, in all states of the netlist with the key so; " + liveSome + " in some of them; " + liveNever + " in none."
	if len(words) > 0 {
		text += " " + strings.Join(words, ", ") + "."
	}
	return text
}

// drawPositions draws the cells from left to right, row by row.
func (s *Set) drawPositions(c canvas.Canvas, area geom.Rect, columns int, height geom.Length, positions []position, groups []keyGroup) {
	width := area.Width() / geom.Length(columns)
	for i := range positions {
		at := geom.Pt(area.Min.X+geom.Length(i%columns)*width, area.Min.Y+geom.Length(i/columns)*height)
		canvas.InGroup(c, canvas.Group{Kind: "position", Ref: positions[i].part.Name.Text, Title: positions[i].title}, func() {
			positions[i].draw(s, c, geom.RectAt(at, width, height), groups)
		})
	}
}

const cellInset = 1800 * geom.Micrometre

// draw letters one position: designator and kind, rating large, colour, what it is for, when it is live.
func (p *position) draw(s *Set, c canvas.Canvas, cell geom.Rect, groups []keyGroup) {
	fill := canvas.Fill{}
	if p.part.Spare.On {
		fill = canvas.SolidFill(canvas.Shade)
	}
	c.Rect(cell.Inset(geom.MM/2), canvas.Stroke{Width: canvas.Width0p5, Color: canvas.Ink}, fill)
	inside := cell.Inset(geom.MM/2 + cellInset)
	y := inside.Min.Y + font.Height5
	kind := p.part.Kind.Name
	if p.part.Spare.On {
		kind = "spare"
	}
	right := canvas.Text{
		At: geom.Pt(inside.Max.X, y), Anchor: canvas.End, Face: font.Regular, Height: font.MinHeight, Color: canvas.Ink,
		String: font.Fit(font.Regular, font.MinHeight, kind, inside.Width()/2),
	}
	c.Text(right)
	room := inside.Width() - right.Width() - 2*geom.MM
	height := fittingHeight(font.Bold, font.Height5, p.part.Name.Text, room)
	name := canvas.Text{
		At: geom.Pt(inside.Min.X, y), Face: font.Bold, Height: height, Color: canvas.Ink, String: font.Fit(font.Bold, height, p.part.Name.Text, room),
	}
	c.Text(name)
	s.linkPart(c, name, p.part)
	y += p.drawRating(c, geom.Pt(inside.Min.X, y), inside.Width())
	for _, line := range p.lines(inside.Width(), int((inside.Max.Y-y)/cellPitch)-liveLines(inside.Width(), p.live, groups)) {
		y += cellPitch
		letterIn(c, geom.Pt(inside.Min.X, y), inside.Width(), line.face(), font.MinHeight, line.text)
	}
	lines := liveText(inside.Width(), p.live, groups)
	for i, line := range lines {
		at := geom.Pt(inside.Min.X, inside.Max.Y-geom.Length(len(lines)-1-i)*cellPitch)
		letterIn(c, at, inside.Width(), font.Regular, font.MinHeight, line)
	}
}

// cellPitch is from line to line within a cell.
const cellPitch = font.MinHeight * pitchPercent / 100

func letterIn(c canvas.Canvas, at geom.Point, width geom.Length, face font.Face, height geom.Length, text string) {
	c.Text(canvas.Text{At: at, Face: face, Height: height, Color: canvas.Ink, String: font.Fit(face, height, text, width)})
}

// drawRating letters the rating large with the colour behind it, and returns how much room that took. A relay shows its
// rating smaller: nobody replaces it by the number.
func (p *position) drawRating(c canvas.Canvas, at geom.Point, width geom.Length) geom.Length {
	if len(p.part.Inside.Protects) == 0 {
		if p.rating != "" {
			letterIn(c, geom.Pt(at.X, at.Y+cellPitch), width, font.Regular, font.MinHeight, p.rating)
			return cellPitch
		}
		return 0
	}
	rating := canvas.Text{
		At: geom.Pt(at.X, at.Y+font.Height10+3*geom.MM), Face: font.Bold, Height: font.Height10, Color: canvas.Ink, String: cmp.Or(p.rating, "? A"),
	}
	for rating.Width() > width*6/10 && rating.Height > font.Height5 {
		rating.Height -= geom.MM
	}
	c.Text(rating)
	left := rating.Bounds().Max.X + 2*geom.MM
	lines := font.Wrap(font.Bold, font.MinHeight, p.colorWords(), at.X+width-left)
	for i, line := range lines[:min(len(lines), 2)] {
		back := geom.Length(min(len(lines), 2)-1-i) * cellPitch
		letterIn(c, geom.Pt(left, rating.At.Y-back), at.X+width-left, font.Bold, font.MinHeight, line)
	}
	return font.Height10 + 3*geom.MM + geom.MM
}

// colorWords is the standard colour, or that none is known.
func (p *position) colorWords() string {
	switch {
	case p.color != "":
		return p.color
	case p.rating == "":
		return "rating not stated"
	}
	return "colour not known"
}

// lines are title and circuit, as far as there is room for them.
func (p *position) lines(width geom.Length, room int) []piece {
	var lines []piece
	for _, text := range font.Wrap(font.Bold, font.MinHeight, p.title, width) {
		lines = append(lines, piece{text: text, bold: true})
	}
	lines = lines[:min(len(lines), 2)]
	for _, text := range font.Wrap(font.Regular, font.MinHeight, p.circuit, width) {
		lines = append(lines, piece{text: text})
	}
	if room = max(0, room); len(lines) > room {
		lines = lines[:room]
		if room > 0 {
			lines[room-1].text += " …"
		}
	}
	return lines
}

// liveText letters the dots with the names of the groups, or with their letters where the names do not fit.
func liveText(width geom.Length, live []string, groups []keyGroup) []string {
	long, short := make([]string, len(groups)), make([]string, len(groups))
	for i, g := range groups {
		long[i], short[i] = g.name+live[i], g.letter+live[i]
	}
	text := strings.Join(long, "  ")
	if font.Width(font.Regular, font.MinHeight, text) <= width {
		return []string{text}
	}
	return font.Wrap(font.Regular, font.MinHeight, strings.Join(short, "  "), width)
}

func liveLines(width geom.Length, live []string, groups []keyGroup) int {
	return len(liveText(width, live, groups))
}
