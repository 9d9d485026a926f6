package sheet

import (
	"fmt"
	"strings"

	"ferrule/netlist/model"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// The card for the inside of a lid. The size is our own choice: it fits the lids of common boxes and can be laminated.
const (
	lidWidth  = 100 * geom.MM
	lidHeight = 160 * geom.MM
	lidInset  = 3 * geom.MM
	lidLabel  = 8 * geom.MM // room above the cut line for its label
	lidHead   = font.Height5 + 3*geom.MM
)

// lidPages cuts the panels down to cards, as many on a sheet as fit side by side. A panel with much in it takes several.
func (s *Set) lidPages(plans []panelPlan, groups []keyGroup, name string) []*Page {
	if len(plans) == 0 {
		return nil
	}
	paper := s.table() // printed at 100 % and cut out, so never enlarged
	area := paper.Area().Inset(sheetMargin)
	area.Min.Y += headerRoom
	perPage := max(1, int(area.Width()/(lidWidth+columnGap)))
	var cards []lidCard
	for i := range plans {
		cards = append(cards, s.lidCards(&plans[i], groups)...)
	}
	var pages []*Page
	count := (len(cards) + perPage - 1) / perPage
	for n := range count {
		on := cards[n*perPage : min((n+1)*perPage, len(cards))]
		page := &Page{
			Name: continuedName(name, n+1), Title: "Cards for the lids", Paper: paper, Caution: panelCaution,
			Draw: func(c canvas.Canvas) {
				drawHeading(c, paper.Area().Inset(sheetMargin), "Cards for the lids", "print at 100 %, cut out, laminate", n > 0)
				for i, card := range on {
					at := geom.Pt(area.Min.X+geom.Length(i)*(lidWidth+columnGap), area.Min.Y+lidLabel)
					s.drawLid(c, card, at)
				}
			},
		}
		if count > 1 {
			page.Title += fmt.Sprintf(" (%d of %d)", n+1, count)
		}
		pages = append(pages, page)
	}
	return pages
}

// A lidCard is one card: rows of a table that is laid out at the origin of its card.
type lidCard struct {
	panel  *model.Panel
	number int // of the panel's cards, from 1
	of     int
	parts  []placed
	foot   []string
}

// lidCards lays the positions of a panel out over its cards.
func (s *Set) lidCards(plan *panelPlan, groups []keyGroup) []lidCard {
	foot := font.Wrap(font.Bold, font.MinHeight, lidLegend(groups), lidWidth-2*lidInset)
	inside := geom.RectAt(geom.Pt(0, 0), lidWidth, lidHeight).Inset(lidInset)
	inside.Min.Y += lidHead
	inside.Max.Y -= geom.Length(len(foot))*cellPitch + geom.MM
	laid := lidTable(plan, groups, 0).lay(inside.Width())
	f := flow{boxAt: func(i int) box { return box{i, inside} }}
	parts := f.place(laid)
	if pagesOf(parts) > 1 {
		// Shortened words on one card are better than two cards in one lid; the words stand in full on the picture.
		if short := f.place(lidTable(plan, groups, laid.widths[circuitColumn]-2*cellPadding).lay(inside.Width())); pagesOf(short) < pagesOf(parts) {
			parts = short
		}
	}
	var cards []lidCard
	for i := range pagesOf(parts) {
		cards = append(cards, lidCard{plan.panel, i + 1, pagesOf(parts), onPage(parts, i), foot})
	}
	return cards
}

func lidLegend(groups []keyGroup) string {
	var words []string
	for _, g := range groups {
		words = append(words, g.letter+" "+g.name)
	}
	return "Do not up-rate. Order as in the netlist: check the box.\n" +
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
		p := &plan.positions[i]
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
func (s *Set) drawLid(c canvas.Canvas, card lidCard, at geom.Point) {
	outline := geom.RectAt(at, lidWidth, lidHeight)
	name := card.panel.Name.Text
	canvas.InGroup(c, canvas.Group{Kind: "lid-card", Ref: name}, func() {
		c.Rect(outline, canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Ink, Dash: []geom.Length{3 * geom.MM, 2 * geom.MM}}, canvas.Fill{})
		size := fmt.Sprintf("Cut along the broken line: %s x %s mm", lidWidth, lidHeight)
		if card.of > 1 {
			size += fmt.Sprintf(", card %d of %d", card.number, card.of)
		}
		letterIn(c, geom.Pt(at.X, at.Y-2*geom.MM), lidWidth, font.Regular, font.MinHeight, size)
		head := strings.TrimSpace(name + " " + card.panel.Title.Text)
		width := lidWidth - 2*lidInset
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
