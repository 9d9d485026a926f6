package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/model"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

var _ = register(&Maker{
	Name: "pinout", Title: "Connector pin-outs", Order: 200,
	Doc: "One sheet for each connector, for the bench: the face from both sides with the latch, and a table of every cavity with " +
		"what it does, its wires, where they lead and what a meter should read. Cavities that stay empty are marked, with " +
		"PLUG where the housing is sealed.",
	Plan: planPinouts,
})

const plugCaution = "Battery off, grounded pole first, before a plug is parted. Back-probe from the wire side with a thin pin; never pierce a " +
	"sealed wire, never spread a socket. No insulation test with a module connected. Hand changes: write them here, then into the netlist."

func planPinouts(s *Set) []*Page {
	connectors := slices.Clone(s.Netlist.Connectors)
	slices.SortStableFunc(connectors, func(a, b *model.Connector) int { return CompareNatural(a.Name.Text, b.Name.Text) })
	names := pageNames{}
	var pages []*Page
	for _, c := range connectors {
		pages = append(pages, s.planPinout(c, names)...)
	}
	return pages
}

// A pinout is the plan of the sheets of one connector.
type pinout struct {
	set        *Set
	connector  *model.Connector
	paper      Paper
	facts      []placed
	faces      *facePlan // nil where there is no picture
	faceAt     geom.Point
	wireSide   face
	matingFace face
	notice     []string // lines that say why there is no picture, or that the picture lacks something
	noticeBox  geom.Rect
	cavities   []placed
	groups     []pinGroup // the cavities in the order of the table
	byFunction bool       // a further sheet of the connector, in the order of functions and without its head
	breaks     bool       // words of the table are broken
	towers     bool       // some cell of the table is a tower of words, one below the other
}

// tableStyles are the ways to set the table of cavities, the most legible first: lettering, and whether the particulars
// of a wire stand below one another in one column, which leaves the texts more room.
var tableStyles = []struct {
	lettering geom.Length
	stacked   bool
}{{font.Height3p5, false}, {font.Height3p5, true}, {font.Height2p5, false}, {font.Height2p5, true}}

// bestPinout takes the smallest paper on which some style needs one page and breaks no word. Where even the wall paper has no
// such style, it takes bench paper, and of the styles that break the fewest words the one that needs the fewest pages.
func (s *Set) bestPinout(c *model.Connector, groups []pinGroup) *pinout {
	var best *pinout
	bench := s.bench()
	for _, paper := range []Paper{bench, s.table()} {
		for _, style := range tableStyles {
			p := s.layPinout(c, paper, style.lettering, style.stacked, groups)
			if pagesOf(p.cavities) <= 1 && !p.breaks && !(p.towers && style.lettering > font.MinHeight) {
				return p
			}
			fewer := best != nil && best.breaks == p.breaks && pagesOf(p.cavities) < pagesOf(best.cavities)
			if best == nil || paper == bench && (best.breaks && !p.breaks || fewer) {
				best = p
			}
		}
	}
	return best
}

// planPinout plans the sheets of a connector: in the order of the housing and, for a plug of a controller, in that of the
// functions too.
func (s *Set) planPinout(c *model.Connector, names pageNames) []*Page {
	title := "Pin-out " + c.Name.Text
	if c.Title.IsSet() {
		title += ": " + c.Title.Text
	}
	pages := s.bestPinout(c, []pinGroup{{pins: c.Owner.Pins}}).pages(names.take("pinout", c.Name.Text), title)
	if groups := s.functionGroups(c); groups != nil {
		pages = append(pages, s.bestPinout(c, groups).pages(names.take("pinout", c.Name.Text+"-by-function"), title+", by function")...)
	}
	return pages
}

func (p *pinout) pages(name, title string) []*Page {
	count := max(1, pagesOf(p.cavities))
	var pages []*Page
	for i := range count {
		page := &Page{
			Name: continuedName(name, i+1), Title: title, Paper: p.paper, Caution: plugCaution,
			Shows: []Shown{{"connector", p.connector.Name.Text}},
			Draw:  func(canvas canvas.Canvas) { p.draw(canvas, i) },
		}
		if i > 0 {
			page.Title += fmt.Sprintf(" (%d of %d)", i+1, count)
		}
		pages = append(pages, page)
	}
	return pages
}

// Measures of a bench sheet.
const (
	sheetMargin = 4 * geom.MM // between the frame and what is drawn
	blockGap    = 5 * geom.MM
	leastTable  = 50 * geom.MM // of height, else the table begins on the next page
	headerRoom  = font.Height7 + 6*geom.MM
)

func (s *Set) layPinout(c *model.Connector, least Paper, lettering geom.Length, stacked bool, groups []pinGroup) *pinout {
	p := &pinout{set: s, connector: c, paper: least, groups: groups, byFunction: groups[0].title != ""}
	if p.byFunction {
		p.faceAt = p.paper.Area().Inset(sheetMargin).Min.Add(geom.Pt(0, headerRoom))
		p.layCavities(lettering, stacked)
		return p
	}
	facesKnown := false
	p.wireSide, p.matingFace, facesKnown = facesOf(c)
	if facesKnown {
		// A face with many columns takes a larger sheet rather than lettering that nobody can read.
		for _, paper := range s.series()[:3] {
			if paper.Height*paper.Width < least.Height*least.Width {
				continue
			}
			area := paper.Area().Inset(sheetMargin)
			if plan, ok := planFaces(p.wireSide, area.Width(), area.Height()*6/10); ok {
				p.paper, p.faces = paper, &plan
				break
			}
		}
	}
	p.writeNotice(facesKnown)
	p.layHead(p.paper.Area().Inset(sheetMargin))
	p.layCavities(lettering, stacked)
	return p
}

func (p *pinout) writeNotice(facesKnown bool) {
	c := p.connector
	text := ""
	switch {
	case len(c.Rows) == 0 && c.View.IsSet():
		text = "Places of the cavities not stated: confirm by the numbers moulded in the housing."
	case !facesKnown:
		text = "Numbering view not stated: confirm by the numbers moulded in the housing."
	case p.faces == nil:
		text = "The face has too many cavities to be drawn legibly: count by the numbers moulded in the housing."
	case p.wireSide.latch == "":
		text = "Side of the latch not stated: confirm which way up the housing is by the numbers moulded in it."
	}
	if text != "" {
		width := p.paper.Area().Inset(sheetMargin).Width() - 4*cellPadding
		p.notice = font.Wrap(font.Bold, font.Height3p5, text, width)
	}
}

// layHead puts the facts, the notice and the faces below one another and leaves the table what remains.
func (p *pinout) layHead(area geom.Rect) {
	area.Min.Y += headerRoom
	facts := p.set.connectorFacts(p.connector).lay(area.Width())
	p.facts = flow{boxAt: func(int) box { return box{0, area} }}.place(facts)
	y := bottom(p.facts, area.Min.Y) + blockGap
	if len(p.notice) > 0 {
		height := font.Height3p5 + geom.Length(len(p.notice)-1)*font.LinePitch(font.Height3p5) + 4*cellPadding
		p.noticeBox = geom.RectAt(geom.Pt(area.Min.X, y), area.Width(), height)
		y += height + blockGap
	}
	p.faceAt = geom.Pt(area.Min.X, y)
}

func (p *pinout) layCavities(lettering geom.Length, stacked bool) {
	area := p.paper.Area().Inset(sheetMargin)
	first := area
	first.Min.Y = p.faceAt.Y
	if p.faces != nil {
		first.Min.Y += p.faces.height + blockGap
	}
	skipped := 0
	if first.Height() < leastTable {
		skipped = 1
	}
	rest := area
	rest.Min.Y += headerRoom
	t := p.set.cavityTable(p.connector, stacked, p.groups)
	t.height = lettering
	laid := t.lay(area.Width())
	p.breaks, p.towers = laid.breaks, laid.towers()
	p.cavities = flow{boxAt: func(i int) box {
		if i+skipped == 0 {
			return box{0, first}
		}
		return box{i + skipped, rest}
	}}.place(laid)
}

// connectorFacts is what the head of a pin-out says about the housing, in two pairs of columns.
func (s *Set) connectorFacts(c *model.Connector) table {
	var facts [][2]string
	add := func(label, value string) {
		if value != "" {
			facts = append(facts, [2]string{label, value})
		}
	}
	if !s.titleFits(c.Name.Text, c.Title.Text) {
		add("Title", c.Title.Text)
	}
	if c.Part != nil {
		add("Plug of", strings.TrimSpace(c.Part.Name.Text+" "+c.Part.Title.Text))
	}
	if c.Mate != nil {
		add("Mates with", strings.TrimSpace(c.Mate.Name.Text+" "+c.Mate.Title.Text))
	}
	if place := c.Owner.Place(); place != nil {
		add("Place", cmp.Or(place.Title.Text, place.Name.Text))
	}
	add("Cavities", s.cavityCount(c))
	add("Contacts", c.Contacts.Text)
	add("Housing", c.Family.Text)
	add("Coding", c.Key.Text)
	add("Sealed", s.sealedText(c))
	if crimps, all := s.crimpsOf(c); len(crimps) == 1 && all {
		text := crimps[0].Name.Text + ": " + terminalText(crimps[0])
		if seal := sealText(crimps[0]); seal != "" {
			text += ", seal for " + seal
		}
		add("Terminals", text)
	}
	add("Note", c.Note.Text)
	t := table{heads: []string{"", "", "", ""}}
	for i := 0; i < len(facts); i += 2 {
		r := row{cells: []cell{sayBold(facts[i][0]), say(facts[i][1])}}
		if i+1 < len(facts) {
			r.cells = append(r.cells, sayBold(facts[i+1][0]), say(facts[i+1][1]))
		}
		t.rows = append(t.rows, r)
	}
	return t
}

// sealedText says whether a housing is sealed, and how many of its cavities stay empty and take a plug for that.
func (s *Set) sealedText(c *model.Connector) string {
	if !c.Sealed.On {
		return "no"
	}
	empty, plugged := 0, 0
	for _, id := range c.Owner.Pins {
		if s.Vacancy(id) != "" {
			empty++
			if s.Netlist.Pin(id).Plugged.On {
				plugged++
			}
		}
	}
	switch {
	case empty == 0:
		return "yes"
	case empty == plugged:
		return fmt.Sprintf("yes: every empty cavity takes a PLUG (%d)", empty)
	}
	return fmt.Sprintf("yes: every empty cavity takes a PLUG (%d, of which the netlist names %d)", empty, plugged)
}

func (s *Set) cavityCount(c *model.Connector) string {
	wired := 0
	for _, id := range c.Owner.Pins {
		if len(s.Graph.WiresAt(id)) > 0 {
			wired++
		}
	}
	return fmt.Sprintf("%d, of which %d wired", len(c.Owner.Pins), wired)
}

// cavityHeads are the columns of the table of cavities, before those of the states.
var cavityHeads = []string{"Cavity", "Function", "Wire", "Size", "Colour", "Goes to", "Expect"}

// cavityTable lists cavities in the order given; byFunction puts them under headings. Columns in which no row says anything
// are left out, and so is what is the same for all and stands in the head of the sheet.
func (s *Set) cavityTable(c *model.Connector, stacked bool, groups []pinGroup) table {
	t := table{heads: slices.Clone(cavityHeads)}
	states := s.Solved().meterStates()
	for _, st := range states {
		t.heads = append(t.heads, st.head)
	}
	t.heads = append(t.heads, "Terminal, seal")
	crimps, all := s.crimpsOf(c)
	uniform := len(crimps) == 0 || len(crimps) == 1 && all
	written := false
	for _, g := range groups {
		if g.title != "" {
			t.rows = append(t.rows, row{span: true, ruled: true, keep: true, cells: []cell{sayBold(g.title)}})
		}
		for _, id := range g.pins {
			pin := s.Netlist.Pin(id)
			written = written || pin.Expect.IsSet()
			r := s.terminalRow(id, pin.Name)
			for _, st := range states {
				r.cells = append(r.cells, s.voltsCell(st, pin))
			}
			if uniform || r.shaded {
				r.cells = append(r.cells, cell{})
			} else {
				r.cells = append(r.cells, say(crimpText(pin.Terminal)))
			}
			t.rows = append(t.rows, r)
		}
	}
	if len(t.rows) == 0 {
		t.rows = []row{{span: true, cells: []cell{say("The netlist states no cavities for this connector.")}}}
	} else if len(states) > 0 {
		t.rows = append(t.rows, row{span: true, ruled: true, cells: []cell{say(s.Solved().meterNote(states, written))}})
	}
	if !uniform {
		t.rows = append(t.rows, crimpRows(crimps)...)
	}
	for i := len(t.heads) - 1; i >= len(cavityHeads)-1; i-- {
		t = t.without(i)
	}
	if stacked {
		t = t.stackWires()
	}
	return t
}

// voltsCell is what a meter should read at a cavity; nothing where no conductor ends.
func (s *Set) voltsCell(st meterState, pin *model.Pin) cell {
	if !s.Graph.Reached(pin.ID) || s.Vacancy(pin.ID) != "" {
		return cell{}
	}
	return s.Solved().meterCell(st, pin)
}

// crimpsOf returns the terminals that are crimped on in the wired cavities of a connector, each once, in the order of the
// cavities. The last answer tells whether all wired cavities have one.
func (s *Set) crimpsOf(c *model.Connector) (crimps []*model.Terminal, all bool) {
	all = true
	for _, id := range c.Owner.Pins {
		if len(s.Graph.WiresAt(id)) == 0 {
			continue
		}
		t := s.Netlist.Pin(id).Terminal
		all = all && t != nil
		if t != nil && !slices.Contains(crimps, t) {
			crimps = append(crimps, t)
		}
	}
	return crimps, all
}

// crimpText names a terminal and, below it, the range of its seal.
func crimpText(t *model.Terminal) string {
	if t == nil {
		return "not stated"
	}
	return strings.TrimSuffix(t.Name.Text+"\n"+sealText(t), "\n")
}

// crimpRows explains the terminals of a table that names several.
func crimpRows(crimps []*model.Terminal) []row {
	var rows []row
	for _, t := range crimps {
		rows = append(rows, row{span: true, cells: []cell{say("Terminal " + t.Name.Text + ": " + terminalText(t))}})
	}
	return rows
}

// Columns of the table of cavities that stackWires puts together.
const (
	wireColumn  = 2
	colorColumn = 4
)

// stackWires puts the colour of each wire below its number.
func (t table) stackWires() table {
	t.heads = slices.Delete(slices.Clone(t.heads), colorColumn, colorColumn+1)
	rows := slices.Clone(t.rows)
	for i, r := range rows {
		if r.span {
			continue
		}
		wires := slices.Clone(r.cells[wireColumn])
		for n := range wires {
			if n < len(r.cells[colorColumn]) && wires[n].text != "" {
				wires[n].text += "\n" + r.cells[colorColumn][n].text
				wires[n].color = r.cells[colorColumn][n].color
			}
		}
		rows[i].cells = slices.Delete(slices.Clone(r.cells), colorColumn, colorColumn+1)
		rows[i].cells[wireColumn] = wires
	}
	t.rows = rows
	return t
}

// without drops a column in which no row says anything, so that the others get its room.
func (t table) without(column int) table {
	for _, r := range t.rows {
		if !r.span && column < len(r.cells) && len(r.cells[column]) > 0 && r.cells[column][0].text != "" {
			return t
		}
	}
	t.heads = slices.Delete(slices.Clone(t.heads), column, column+1)
	rows := slices.Clone(t.rows)
	for i, r := range rows {
		if !r.span && column < len(r.cells) {
			rows[i].cells = slices.Delete(slices.Clone(r.cells), column, column+1)
		}
	}
	t.rows = rows
	return t
}

// terminalRow is the row of a cavity or of a terminal of a device: what it does and, one below the other, the wires that
// end there.
func (s *Set) terminalRow(id model.PinID, name string) row {
	pin := s.Netlist.Pin(id)
	r := row{group: canvas.Group{Kind: "pin", Ref: pin.String()}}
	var wires, sizes, colors, goes cell
	for _, w := range s.WiresAt(id) {
		color := cmp.Or(ColorText(w), "not stated")
		if w.Supplied.On {
			color += "\nsupplied"
		}
		wires = append(wires, piece{text: w.Name.Text, bold: true})
		sizes = append(sizes, piece{text: sizeText(w)})
		colors = append(colors, piece{text: color, color: w.Color})
		goes = append(goes, s.farPiece(w, id))
	}
	for _, bar := range s.barsAt(id) {
		wires, sizes, colors = append(wires, piece{}), append(sizes, piece{}), append(colors, piece{})
		goes = append(goes, piece{text: bar})
	}
	if vacancy := s.Vacancy(id); vacancy != "" {
		r.shaded = true
		goes = say(vacancy)
	}
	r.cells = []cell{sayBold(name), say(s.Function(id)), wires, sizes, colors, goes, say(pin.Expect.Text)}
	return r
}

func sizeText(w *model.Wire) string {
	if !w.Size.IsSet() {
		return "not stated"
	}
	return w.Size.String()
}

// farPiece words where a wire leads, and links to the sheet that shows it.
func (s *Set) farPiece(w *model.Wire, from model.PinID) piece {
	end := s.FarEnd(w, from)
	p := piece{text: end.words(s.Netlist)}
	if end.Pin != model.NoPin {
		owner := s.Netlist.Pin(end.Pin).Owner
		p.link = Shown{owner.Sort.String(), owner.Name.Text}
	}
	return p
}

func (p *pinout) draw(c canvas.Canvas, page int) {
	area := p.paper.Area().Inset(sheetMargin)
	if page == 0 && !p.byFunction {
		c.Anchor("connector-"+p.connector.Name.Text, area.Min)
	}
	about := p.connector.Title.Text
	if p.byFunction {
		about = strings.TrimPrefix(about+", by function", ", ")
	}
	drawHeading(c, area, p.connector.Name.Text, about, page > 0)
	p.set.drawParts(c, onPage(p.cavities, page))
	if page > 0 {
		return
	}
	p.set.drawParts(c, p.facts)
	p.drawNotice(c)
	if p.faces != nil {
		p.faces.draw(c, p.faceAt, p.wireSide, p.matingFace, func(name string) bool {
			id, ok := p.connector.Owner.Pin(name)
			return ok && len(p.set.Graph.WiresAt(id)) > 0
		})
	}
}

func (p *pinout) drawNotice(c canvas.Canvas) {
	if len(p.notice) == 0 {
		return
	}
	c.Rect(p.noticeBox, canvas.Stroke{Width: canvas.Width0p5, Color: canvas.Ink}, canvas.Fill{})
	at := p.noticeBox.Min.Add(geom.Pt(2*cellPadding, 2*cellPadding+font.Height3p5))
	for _, line := range p.notice {
		c.Text(canvas.Text{At: at, Face: font.Bold, Height: font.Height3p5, String: line, Color: canvas.Ink})
		at.Y += font.LinePitch(font.Height3p5)
	}
}

// titleFits reports whether the heading of a bench sheet holds a title in full.
func (s *Set) titleFits(name, title string) bool {
	room := s.bench().Area().Inset(sheetMargin).Width() - font.Width(font.Bold, font.Height7, name+", continued") - 4*geom.MM
	return font.Width(font.Regular, font.MinHeight, title) <= room
}

// drawHeading letters a designator large, and the title behind it as far as there is room.
func drawHeading(c canvas.Canvas, area geom.Rect, name, title string, continued bool) {
	if continued {
		name += ", continued"
	}
	drawHeadingOf(c, area, name, title, font.Height7)
}

// drawHeadingOf letters a name in a height, and a title behind it as far as there is room.
func drawHeadingOf(c canvas.Canvas, area geom.Rect, name, title string, lettering geom.Length) {
	head := canvas.Text{
		At: geom.Pt(area.Min.X, area.Min.Y+lettering), Face: font.Bold, Height: lettering, Color: canvas.Ink,
		String: font.Fit(font.Bold, lettering, name, area.Width()),
	}
	c.Text(head)
	left := head.Bounds().Max.X + 4*geom.MM
	height := fittingHeight(font.Regular, min(font.Height5, lettering), title, area.Max.X-left)
	c.Text(canvas.Text{
		At: geom.Pt(left, head.At.Y), Face: font.Regular, Height: height, Color: canvas.Ink,
		String: font.Fit(font.Regular, height, title, area.Max.X-left),
	})
}
