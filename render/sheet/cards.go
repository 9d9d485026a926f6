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

// Cards are cut out and stuck up where they are needed: a stack card beside each stud, a tag on each connector, a card in each lid. Four
// stack cards or sixteen tags stand on a page of A4 or Letter; they are a little smaller than A6, so that a printer that needs a
// margin prints them whole.
const (
	cardWidth  = 95 * geom.MM
	cardHeight = 130 * geom.MM
	tagHeight  = cardHeight / 4
	cardInset  = 3 * geom.MM
	cardHead   = font.Height7 + 2*geom.MM
)

// cardLine is the line along which a card is cut out.
var cardLine = canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Ink, Dash: []geom.Length{3 * geom.MM, 2 * geom.MM}}

const studCardCaution = "Battery off, grounded pole first. The torque is that of the maker of the stud: none is computed here."

// A card is what is cut out: how it draws itself within its outline.
type card struct {
	group canvas.Group
	draw  func(c canvas.Canvas, outline geom.Rect)
}

// Cards draws the cards of the harness, to be printed at 100 %: stacks of studs, tags of connectors, lids of panels. It needs no planned set.
func (s *Set) Cards() []*canvas.Page {
	paper := s.bench()
	pages := s.cardPages(nil, paper, cardHeight, s.studCards())
	pages = s.cardPages(pages, paper, tagHeight, s.tagCards())
	return s.lidCardPages(pages, paper)
}

// cardPages lays cards of a height out on pages, two beside one another, in the middle of the paper.
func (s *Set) cardPages(pages []*canvas.Page, paper Paper, height geom.Length, cards []card) []*canvas.Page {
	const across = 2
	down := int(2 * cardHeight / height)
	left, top := (paper.Width-across*cardWidth)/2, (paper.Height-geom.Length(down)*height)/2
	for group := range slices.Chunk(cards, across*down) {
		r := canvas.NewRecorder(continuedName("cards", len(pages)+1), "Cards to cut out", paper.Size())
		for i, card := range group {
			at := geom.Pt(left+geom.Length(i%across)*cardWidth, top+geom.Length(i/across)*height)
			drawCard(r, card, geom.RectAt(at, cardWidth, height), i%across == 0, i < across)
		}
		pages = append(pages, r.Page())
	}
	return pages
}

// drawCard draws a card and its cut line; that at the left and at the top only where no other card has drawn it already.
func drawCard(c canvas.Canvas, card card, outline geom.Rect, left, top bool) {
	canvas.InGroup(c, card.group, func() {
		corners := outline.Corners()
		c.Line(geom.Polyline{corners[1], corners[2], corners[3]}, cardLine)
		if left {
			c.Line(geom.Polyline{corners[3], corners[0]}, cardLine)
		}
		if top {
			c.Line(geom.Polyline{corners[0], corners[1]}, cardLine)
		}
		card.draw(c, outline)
	})
}

// lidCardPages lays the cards of the lids out on the paper lying, which two of the usual ones fit.
func (s *Set) lidCardPages(pages []*canvas.Page, paper Paper) []*canvas.Page {
	plans, groups := s.panelPlans()
	size := geom.Pt(paper.Height, paper.Width)
	area := geom.RectAt(geom.Pt(0, 0), size.X, size.Y).Inset(otherBorder)
	var cards []lidCard
	for i := range plans {
		cards = append(cards, s.lidCards(&plans[i], groups, geom.Pt(area.Width(), area.Height()-lidLabel))...)
	}
	if len(cards) == 0 {
		return pages
	}
	for n := range shelve(cards, area) {
		r := canvas.NewRecorder(continuedName("cards", len(pages)+1), "Cards to cut out", size)
		for _, card := range cards {
			if card.page == n {
				s.drawLid(r, card)
			}
		}
		pages = append(pages, r.Page())
	}
	return pages
}

// origin is what tells one print of a card from another: harness, revision, hash.
func (s *Set) origin() string {
	h := &s.Netlist.Harness
	words := []string{cmp.Or(h.Vehicle.Text, h.Title.Text)}
	if h.Revision.IsSet() {
		words = append(words, "rev. "+h.Revision.Text)
	}
	return strings.TrimSpace(strings.Join(append(words, s.Hash), "  "))
}

// studCards are the cards of all studs that have rings; a stud with many has several.
func (s *Set) studCards() []card {
	var cards []card
	for _, p := range s.studs() {
		if lugs := s.lugsOf(p.Owner); len(lugs) > 0 {
			cards = append(cards, s.stackCards(p, lugs)...)
		}
	}
	return cards
}

// Measures of the picture of a stack, left of the table.
const (
	stackWidth = 22 * geom.MM // of the picture
	plateWidth = 16 * geom.MM
	boltWidth  = 5 * geom.MM
	boltHead   = 5 * geom.MM // the nut, and the metal at the foot
)

// A stackCard is one card of a stud, laid out at the origin.
type stackCard struct {
	part       *model.Part
	parts      []placed
	first, end bool // the top and the foot of the stack are on it
	about      []string
	number, of int
}

// stackCards lays out the rings of a stud from the top down, as one looks at them.
func (s *Set) stackCards(p *model.Part, lugs []lug) []card {
	inside := geom.RectAt(geom.Pt(0, 0), cardWidth, cardHeight).Inset(cardInset)
	about := s.studLine(p)[1].text // behind the name
	if p.Kind.Name != "bus bar" && len(lugs) > mostRings {
		about += fmt.Sprintf(". More than %d rings: if this is a bar, each has a screw of its own", mostRings)
	}
	lines := font.Wrap(font.Regular, font.MinHeight, about, inside.Width())
	body := inside
	body.Min.X += stackWidth
	body.Min.Y += cardHead + font.Height3p5 + 2*geom.MM + geom.Length(len(lines))*cellPitch + boltHead
	body.Max.Y -= boltHead + geom.Length(len(s.studCardFoot(p, inside.Width())))*cellPitch + 2*geom.MM
	t := table{heads: []string{"", "", "", ""}}
	for i := len(lugs) - 1; i >= 0; i-- {
		t.rows = append(t.rows, s.stackRow(p, lugs, i))
	}
	f := flow{boxAt: func(i int) box { return box{i, body} }}
	t.height = font.Height3p5
	parts := f.place(t.lay(body.Width()))
	if pagesOf(parts) > 1 {
		t.height = font.MinHeight
		parts = f.place(t.lay(body.Width()))
	}
	var cards []card
	count := pagesOf(parts)
	for i := range count {
		one := stackCard{p, onPage(parts, i), i == 0, i == count-1, lines, i + 1, count}
		cards = append(cards, card{canvas.Group{Kind: "stud-card", Ref: p.Name.Text, Title: p.Title.Text}, func(c canvas.Canvas, outline geom.Rect) { s.drawStack(c, one, outline) }})
	}
	return cards
}

func (s *Set) stackRow(p *model.Part, lugs []lug, i int) row {
	l := lugs[i]
	number := fmt.Sprint(i + 1)
	if p.Kind.Name == "bus bar" {
		number = s.Netlist.Pin(l.pin).Name
	}
	var wires, goes cell
	for _, w := range l.wires {
		wires = append(wires, piece{text: w.Name.Text, bold: true})
		goes = append(goes, s.farPiece(w, l.pin))
		goes[len(goes)-1].link = Shown{}
	}
	return row{group: canvas.Group{Kind: "pin", Ref: s.Netlist.Pin(l.pin).String() + " " + wireWords(l.wires)}, cells: []cell{
		sayBold(number), wires, {{text: s.ringText(l)}}, goes,
	}}
}

// studCardFoot are the lines at the foot of a card: for a pen, the caution, and where the card comes from.
func (s *Set) studCardFoot(p *model.Part, width geom.Length) []string {
	lines := []string{"Torque: ________ N m   By: ____________"}
	switch p.Kind.Name {
	case "bus bar":
		lines = []string{"Torque of the screws: ________ N m   By: ________"}
	case "ground point":
		lines = append(lines, "Bright metal [   ]   Toothed washer [   ]   Greased [   ]")
	}
	lines = append(lines, font.Wrap(font.Regular, font.MinHeight, studCardCaution, width)...)
	return append(lines, font.Wrap(font.Regular, font.MinHeight, s.origin(), width)...)
}

func (s *Set) drawStack(c canvas.Canvas, card stackCard, outline geom.Rect) {
	inside := outline.Inset(cardInset)
	p := card.part
	name := p.Name.Text
	if card.of > 1 {
		name += fmt.Sprintf(" (%d of %d)", card.number, card.of)
	}
	y := inside.Min.Y + font.Height7
	letterIn(c, geom.Pt(inside.Min.X, y), inside.Width(), font.Bold, font.Height7, name)
	y = inside.Min.Y + cardHead + font.Height3p5
	letterIn(c, geom.Pt(inside.Min.X, y), inside.Width(), font.Bold, fittingHeight(font.Bold, font.Height3p5, p.Title.Text, inside.Width()), p.Title.Text)
	y += 2 * geom.MM
	for _, line := range card.about {
		y += cellPitch
		letterIn(c, geom.Pt(inside.Min.X, y-geom.MM), inside.Width(), font.Regular, font.MinHeight, line)
	}
	for _, part := range card.parts {
		part.at = part.at.Add(outline.Min)
		s.drawParts(c, []placed{part})
		drawPlates(c, card, geom.Pt(inside.Min.X, part.at.Y), part)
	}
	foot := s.studCardFoot(p, inside.Width())
	y = inside.Max.Y - geom.Length(len(foot)-1)*cellPitch
	for _, line := range foot {
		letterIn(c, geom.Pt(inside.Min.X, y), inside.Width(), font.Regular, font.MinHeight, line)
		y += cellPitch
	}
}

// drawPlates draws a ring beside each row, on one bolt from the nut to the metal; on a bus bar a screw beside each, on one bar.
func drawPlates(c canvas.Canvas, card stackCard, at geom.Point, part placed) {
	thin := canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Ink}
	thick := canvas.Stroke{Width: canvas.Width0p5, Color: canvas.Ink}
	middle, top := at.X+plateWidth/2, at.Y
	foot := bottom([]placed{part}, top)
	bar := card.part.Kind.Name == "bus bar"
	if bar {
		c.Rect(geom.Rect{Min: geom.Pt(middle-boltWidth, top), Max: geom.Pt(middle+boltWidth, foot)}, thin, canvas.SolidFill(canvas.Shade))
	} else {
		c.Rect(geom.Rect{Min: geom.Pt(middle-boltWidth/2, top), Max: geom.Pt(middle+boltWidth/2, foot)}, thin, canvas.Fill{})
	}
	y := top
	for _, r := range part.rows {
		height := part.table.rowHeight(r.lines)
		row := geom.RectAt(geom.Pt(at.X, y), plateWidth, height)
		if bar {
			c.Circle(row.Center(), boltWidth/2, thin, canvas.SolidFill(canvas.White))
			c.Line(geom.Polyline{geom.Pt(middle-boltWidth/2, row.Center().Y), geom.Pt(middle+boltWidth/2, row.Center().Y)}, thin)
		} else {
			c.Rect(geom.Rect{Min: geom.Pt(row.Min.X, row.Center().Y-geom.MM), Max: geom.Pt(row.Max.X, row.Center().Y+geom.MM)}, thin, canvas.SolidFill(canvas.White))
		}
		y += height
	}
	if !bar && card.first { // the nut
		c.Rect(geom.Rect{Min: geom.Pt(middle-boltWidth, top-boltHead+geom.MM), Max: geom.Pt(middle+boltWidth, top-geom.MM/2)}, thick, canvas.SolidFill(canvas.Shade))
	}
	if !bar && card.end { // the metal
		metal := geom.Rect{Min: geom.Pt(at.X, foot+geom.MM/2), Max: geom.Pt(at.X+plateWidth, foot+boltHead-geom.MM)}
		c.Rect(metal, thick, canvas.Fill{})
		for x := metal.Min.X + 2*geom.MM; x < metal.Max.X; x += 2 * geom.MM {
			c.Line(geom.Polyline{geom.Pt(x, metal.Min.Y), geom.Pt(x-2*geom.MM, metal.Max.Y)}, thin)
		}
		word := "metal, the thickest ring next to it"
		if card.part.Kind.Name == "stud" {
			word = "foot of the stud, the thickest ring next to it"
		}
		letterIn(c, geom.Pt(at.X+stackWidth+cellPadding, metal.Max.Y-geom.MM/2), cardWidth-stackWidth-2*cardInset, font.Regular, font.MinHeight, word)
	}
}

// tagCards are the tags of all connectors, to be tied on while the loom is laid.
func (s *Set) tagCards() []card {
	connectors := slices.Clone(s.Netlist.Connectors)
	slices.SortStableFunc(connectors, func(a, b *model.Connector) int { return CompareNatural(a.Name.Text, b.Name.Text) })
	var cards []card
	for _, k := range connectors {
		cards = append(cards, card{canvas.Group{Kind: "tag", Ref: k.Name.Text, Title: k.Title.Text}, func(c canvas.Canvas, outline geom.Rect) { s.drawTag(c, k, outline) }})
	}
	return cards
}

// Measures of a tag: a hole for the tie, and the text behind it.
const (
	tagHole = 4 * geom.MM
	tagText = 13 * geom.MM // from the left edge
)

func (s *Set) drawTag(c canvas.Canvas, k *model.Connector, outline geom.Rect) {
	c.Circle(geom.Pt(outline.Min.X+tagText/2, outline.Center().Y), tagHole/2, canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Ink}, canvas.Fill{})
	left, width := outline.Min.X+tagText, cardWidth-tagText-cardInset
	y := outline.Min.Y + cardInset + font.Height7
	letterIn(c, geom.Pt(left, y), width, font.Bold, font.Height7, k.Name.Text)
	lines := []string{k.Title.Text}
	if k.Mate != nil {
		lines = append(lines, "mates "+strings.TrimSpace(k.Mate.Name.Text+" "+k.Mate.Title.Text))
	}
	if k.Part != nil {
		lines = append(lines, "plug of "+strings.TrimSpace(k.Part.Name.Text+" "+k.Part.Title.Text))
	}
	if place := k.Owner.Place(); place != nil {
		lines = append(lines, "at: "+cmp.Or(place.Title.Text, place.Name.Text))
	}
	wired := 0
	for _, id := range k.Owner.Pins {
		if len(s.WiresAt(id)) > 0 {
			wired++
		}
	}
	lines = append(lines, fmt.Sprintf("%d of %d cavities wired", wired, len(k.Owner.Pins)))
	lines = slices.DeleteFunc(lines, func(l string) bool { return l == "" })
	y += 2 * geom.MM
	for _, line := range lines[:min(len(lines), 4)] {
		y += cellPitch
		letterIn(c, geom.Pt(left, y-geom.MM), width, font.Regular, font.MinHeight, line)
	}
}
