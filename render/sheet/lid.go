package sheet

import (
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/model"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// The card for the inside of a lid, where the netlist states no size of it: our own choice, that of a card which fits the lids of
// common boxes and can be laminated.
const (
	lidWidth  = 100 * geom.MM
	lidHeight = 160 * geom.MM
	lidInset  = 3 * geom.MM
	lidLabel  = 8 * geom.MM // room above the cut line for its label
	lidHead   = font.Height5 + 3*geom.MM
)

// Limits of a card whose size the netlist states.
const (
	leastLidWidth  = 70 * geom.MM
	leastLidHeight = 45 * geom.MM
	lidColumn      = 85 * geom.MM // a card that is wider than two of them has its lines in two columns
)

// lidSize is the size of the card of a panel. What is too small for lettering, or larger than the sheet, is not kept to, and the
// card says so.
func lidSize(panel *model.Panel, most geom.Point) (size geom.Point, kept bool) {
	if !panel.Lid.IsSet() {
		return geom.Pt(lidWidth, lidHeight), true
	}
	stated := geom.Pt(geom.Length(panel.Lid.Width*1e3*float64(geom.MM)), geom.Length(panel.Lid.Height*1e3*float64(geom.MM)))
	size = geom.Pt(min(most.X, max(leastLidWidth, stated.X)), min(most.Y, max(leastLidHeight, stated.Y)))
	return size, size == stated
}

// lidPages cuts the panels down to cards, as many on a sheet as have room. A panel with much in it takes several.
func (s *Set) lidPages(plans []panelPlan, groups []keyGroup, name string) []*Page {
	if len(plans) == 0 {
		return nil
	}
	var cards []lidCard
	var paper Paper
	count := 0
	for _, p := range []Paper{s.bench(), s.table()} { // printed at 100 % and cut out, so never enlarged
		area := lidArea(p)
		var on []lidCard
		for i := range plans {
			on = append(on, s.lidCards(&plans[i], groups, geom.Pt(area.Width(), area.Height()-lidLabel))...)
		}
		pages := shelve(on, area)
		if count == 0 || pages < count || slices.ContainsFunc(cards, func(c lidCard) bool { return !c.kept }) {
			cards, paper, count = on, p, pages
		}
	}
	var pages []*Page
	for n := range count {
		on := slices.DeleteFunc(slices.Clone(cards), func(c lidCard) bool { return c.page != n })
		page := &Page{Name: continuedName(name, n+1), Title: "Cards for the lids", Paper: paper, Caution: panelCaution}
		if n > 0 && !slices.ContainsFunc(on, func(c lidCard) bool { return !c.within(lidArea(s.bench())) }) {
			page.Paper = s.bench()
		}
		page.Draw = func(c canvas.Canvas) {
			drawHeading(c, page.Paper.Area().Inset(sheetMargin), "Cards for the lids", "print at 100 %, cut out, laminate", false)
			for _, card := range on {
				s.drawLid(c, card)
			}
		}
		if count > 1 {
			page.Title += fmt.Sprintf(" (%d of %d)", n+1, count)
		}
		pages = append(pages, page)
	}
	return pages
}

// lidArea is where cards lie on a paper.
func lidArea(paper Paper) geom.Rect {
	area := paper.Area().Inset(sheetMargin)
	area.Min.Y += headerRoom
	return area
}

func (c lidCard) within(area geom.Rect) bool {
	return c.at.X+c.size.X <= area.Max.X && c.at.Y+c.size.Y <= area.Max.Y
}

// shelve gives every card its place, from left to right in rows and page after page, and returns the number of pages.
func shelve(cards []lidCard, area geom.Rect) int {
	page, at, shelf := 0, area.Min, geom.Length(0)
	for i := range cards {
		c := &cards[i]
		if at.X > area.Min.X && at.X+c.size.X > area.Max.X {
			at, shelf = geom.Pt(area.Min.X, at.Y+shelf+blockGap), 0
		}
		if at.Y > area.Min.Y && at.Y+lidLabel+c.size.Y > area.Max.Y {
			page, at, shelf = page+1, area.Min, 0
		}
		c.page, c.at = page, at.Add(geom.Pt(0, lidLabel))
		at.X += c.size.X + columnGap
		shelf = max(shelf, lidLabel+c.size.Y)
	}
	return page + 1
}

// A lidCard is one card: rows of a table that is laid out at the origin of its card.
type lidCard struct {
	panel  *model.Panel
	number int // of the panel's cards, from 1
	of     int
	parts  []placed
	foot   []string
	size   geom.Point
	kept   bool // the size is the one that the netlist states, or it states none
	page   int
	at     geom.Point
}

// lidCards lays the positions of a panel out over its cards, in the largest lettering that needs one card alone.
func (s *Set) lidCards(plan *panelPlan, groups []keyGroup, most geom.Point) []lidCard {
	size, kept := lidSize(plan.panel, most)
	foot := font.Wrap(font.Bold, font.MinHeight, lidLegend(plan, groups), size.X-2*lidInset)
	inside := geom.RectAt(geom.Pt(0, 0), size.X, size.Y).Inset(lidInset)
	inside.Min.Y += lidHead
	inside.Max.Y -= geom.Length(len(foot))*cellPitch + geom.MM
	columns := columnsOf(inside, max(1, int(size.X/lidColumn)))
	f := flow{boxAt: func(i int) box { return box{i / len(columns), columns[i%len(columns)]} }}
	lay := func(lettering, circuit geom.Length) (*laidTable, []placed) {
		t := lidTable(plan, groups, circuit)
		t.height = lettering
		laid := t.lay(columns[0].Width())
		return laid, f.place(laid)
	}
	laid, parts := lay(font.MinHeight, 0)
	if large, wide := lay(font.Height3p5, 0); pagesOf(wide) == 1 && !large.breaks {
		parts = wide
	} else if pagesOf(parts) > 1 {
		// Shortened words on one card are better than two cards in one lid; the words stand in full on the picture.
		if _, short := lay(font.MinHeight, laid.widths[circuitColumn]-2*cellPadding); pagesOf(short) < pagesOf(parts) {
			parts = short
		}
	}
	var cards []lidCard
	for i := range pagesOf(parts) {
		cards = append(cards, lidCard{panel: plan.panel, number: i + 1, of: pagesOf(parts), parts: onPage(parts, i), foot: foot, size: size, kept: kept})
	}
	return cards
}

func lidLegend(plan *panelPlan, groups []keyGroup) string {
	var words []string
	for _, g := range groups {
		words = append(words, g.letter+" "+g.name)
	}
	order := "Check the order against the box.\n"
	if len(plan.rows) == 0 {
		order = "Order as in the netlist: check the box.\n"
	}
	return "Do not up-rate. " + order +
		strings.Join(words, ", ") + ": " + liveAlways + " live, " + liveSome + " at times, " + liveNever + " dead"
}

const circuitColumn = 3

// lidTable has a line for each position. What it is for is cut to a width, unless that is 0.
func lidTable(plan *panelPlan, groups []keyGroup, width geom.Length) table {
	t := table{heads: []string{"", "", "", ""}}
	for _, g := range groups {
		t.heads = append(t.heads, g.letter)
	}
	t.heads[0], t.heads[1], t.heads[2], t.heads[3] = "Pos.", "A", "Colour", "Circuit"
	for i := range plan.positions {
		p := plan.positions[i]
		rating, color := p.rating, p.color
		if len(p.part.Inside.Protects) == 0 {
			rating, color = "", p.part.Kind.Name
		} else if rating == "" {
			rating = "?"
		}
		title := p.title
		if title == "" {
			title = p.circuit
		}
		if p.part.Spare.On {
			title = "spare"
		}
		if width > 0 {
			title = font.Fit(font.Regular, font.MinHeight, title, width)
		}
		r := row{
			shaded: p.part.Spare.On, group: canvas.Group{Kind: "lid-position", Ref: p.part.Name.Text, Title: p.title},
			cells: []cell{sayBold(p.part.Name.Text), sayBold(strings.Replace(rating, " A", "", 1)), say(color), say(title)},
		}
		for _, dot := range p.live {
			r.cells = append(r.cells, say(dot))
		}
		t.rows = append(t.rows, r)
	}
	return t
}

// drawLid draws a card with the cut line around it and the size beside the line.
func (s *Set) drawLid(c canvas.Canvas, card lidCard) {
	at, outline := card.at, geom.RectAt(card.at, card.size.X, card.size.Y)
	name := card.panel.Name.Text
	canvas.InGroup(c, canvas.Group{Kind: "lid-card", Ref: name}, func() {
		c.Rect(outline, canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Ink, Dash: []geom.Length{3 * geom.MM, 2 * geom.MM}}, canvas.Fill{})
		size := fmt.Sprintf("Cut along the broken line: %s x %s mm", card.size.X, card.size.Y)
		if !card.kept {
			size = fmt.Sprintf("Cut out: %s x %s mm, not %s", card.size.X, card.size.Y, card.panel.Lid)
		}
		if card.of > 1 {
			size += fmt.Sprintf(", card %d of %d", card.number, card.of)
		}
		letterIn(c, geom.Pt(at.X, at.Y-2*geom.MM), card.size.X, font.Regular, font.MinHeight, size)
		head := strings.TrimSpace(name + " " + card.panel.Title.Text)
		width := card.size.X - 2*lidInset
		height := fittingHeight(font.Bold, font.Height5, head, width)
		letterIn(c, geom.Pt(at.X+lidInset, at.Y+lidInset+font.Height5), width, font.Bold, height, head)
		for _, p := range card.parts {
			p.at = p.at.Add(at)
			s.drawParts(c, []placed{p})
		}
		y := outline.Max.Y - lidInset - geom.Length(len(card.foot)-1)*cellPitch
		for _, line := range card.foot {
			letterIn(c, geom.Pt(at.X+lidInset, y), width, font.Bold, font.MinHeight, line)
			y += cellPitch
		}
	})
}
