package sheet

import (
	"cmp"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/symbol"
)

// A box is a place that tables flow into: a column of a page. Pages are counted from 0.
type box struct {
	page int
	area geom.Rect
}

// A flow is a chain of boxes: boxAt returns the box number i, for every i from 0. The boxes are of one width, and each
// holds at least a title, a head and one line.
type flow struct {
	boxAt func(i int) box
	gap   geom.Length // between two tables in one box
}

// A placed is a part of a table in its place.
type placed struct {
	page      int
	at        geom.Point
	table     *laidTable
	rows      []laidRow
	continued bool // not the first part of its table
	first     int  // index of its first row in the table
}

// A flowing is a flow at work.
type flowing struct {
	flow
	number int // of the box
	box    box
	y      geom.Length // the first free place in the box
	parts  []placed
}

// place lets the tables flow through the boxes, one below the other. Rows that are to be kept together stay on one page
// where a page can hold them; a row higher than a page is cut between two lines.
func (f flow) place(tables ...*laidTable) []placed {
	w := &flowing{flow: f, box: f.boxAt(0)}
	w.y = w.box.area.Min.Y
	for _, t := range tables {
		w.table(t)
	}
	return w.parts
}

func (w *flowing) room() geom.Length { return w.box.area.Max.Y - w.y }

func (w *flowing) fresh() bool { return w.y == w.box.area.Min.Y }

func (w *flowing) next() {
	w.number++
	w.box = w.boxAt(w.number)
	w.y = w.box.area.Min.Y
}

// begin opens a part of the table in the present box, at row first.
func (w *flowing) begin(t *laidTable, first int, continued bool) {
	if !w.fresh() {
		w.y += w.gap
	}
	w.parts = append(w.parts, placed{
		page: w.box.page, at: geom.Pt(w.box.area.Min.X, w.y), table: t, continued: continued, first: first,
	})
	w.y += t.titleHeight()
}

func (w *flowing) add(t *laidTable, r laidRow) {
	part := &w.parts[len(w.parts)-1]
	part.rows = append(part.rows, r)
	w.y += t.rowHeight(r.lines)
}

func (w *flowing) table(t *laidTable) {
	if len(t.rows) == 0 {
		return
	}
	if need := w.gap + t.titleHeight() + t.unitHeight(0); !w.fresh() && need > w.room() {
		w.next()
	}
	w.begin(t, 0, false)
	for i := 0; i < len(t.rows); i = t.unitEnd(i) {
		if t.unitHeight(i) > w.room() && i > 0 {
			w.next()
			w.begin(t, i, true)
		}
		for j := i; j < t.unitEnd(i); j++ {
			w.row(t, j, t.rows[j])
		}
	}
}

// row places one row; what the box cannot hold of it goes on in the next.
func (w *flowing) row(t *laidTable, index int, r laidRow) {
	for t.rowHeight(r.lines) > w.room() {
		if lines := t.linesIn(w.room()); lines > 0 {
			var upper laidRow
			upper, r = r.split(min(lines, r.lines-1))
			w.add(t, upper)
		}
		w.next()
		w.begin(t, index, true)
	}
	w.add(t, r)
}

// unitEnd returns the index behind the rows that stay together with row i.
func (l *laidTable) unitEnd(i int) int {
	for i < len(l.rows)-1 && l.rows[i].row.keep {
		i++
	}
	return i + 1
}

func (l *laidTable) unitHeight(i int) geom.Length {
	height := geom.Length(0)
	for j := i; j < l.unitEnd(i); j++ {
		height += l.rowHeight(l.rows[j].lines)
	}
	return height
}

// pagesOf returns how many pages the parts take.
func pagesOf(parts []placed) int {
	pages := 0
	for _, p := range parts {
		pages = max(pages, p.page+1)
	}
	return pages
}

// onPage returns the parts on one page.
func onPage(parts []placed, page int) []placed {
	var on []placed
	for _, p := range parts {
		if p.page == page {
			on = append(on, p)
		}
	}
	return on
}

// bottom returns where the last of the parts ends, or top when there is none.
func bottom(parts []placed, top geom.Length) geom.Length {
	for _, p := range parts {
		end := p.at.Y + p.table.titleHeight()
		for _, r := range p.rows {
			end += p.table.rowHeight(r.lines)
		}
		top = max(top, end)
	}
	return top
}

// drawParts draws parts of tables. Links are looked up in the set: a thing that no page shows gets none.
func (s *Set) drawParts(c canvas.Canvas, parts []placed) {
	for _, p := range parts {
		canvas.InGroup(c, canvas.Group{Kind: "table", Title: p.table.title}, func() { p.draw(s, c) })
	}
}

func (p placed) draw(s *Set, c canvas.Canvas) {
	t, y := p.table, p.at.Y
	if t.title != "" {
		title := t.title
		if p.continued {
			title += ", continued"
		}
		lettering := t.titleLettering()
		c.Text(canvas.Text{
			At: geom.Pt(p.at.X, y+lettering), Face: font.Bold, Height: lettering, Color: canvas.Ink,
			String: font.Fit(font.Bold, lettering, title, t.width),
		})
		y += lettering + font.Descent(font.Bold, lettering) + titleGap
	}
	// Rules come after all rows, because the grey ground of a row would cover half of the one above it.
	rules := []weightedRule{{y, canvas.Width0p35}}
	if t.head != nil {
		y = p.drawRow(s, c, y, *t.head)
		rules = append(rules, weightedRule{y, canvas.Width0p35})
	}
	for i, r := range p.rows {
		if r.row.ruled {
			rules = append(rules, weightedRule{y, canvas.Width0p5})
		}
		y = p.drawRow(s, c, y, r)
		if i == len(p.rows)-1 {
			rules = append(rules, weightedRule{y, canvas.Width0p35})
		} else if !r.more {
			rules = append(rules, weightedRule{y, canvas.Width0p18})
		}
	}
	for _, r := range rules {
		c.Line(geom.Polyline{geom.Pt(p.at.X, r.y), geom.Pt(p.at.X+t.width, r.y)}, canvas.Stroke{Width: r.weight, Color: canvas.Ink})
	}
	p.drawColumnRules(c)
}

// drawColumnRules draws the lines between the columns of a ruled table; rows that take the whole width are left out.
func (p placed) drawColumnRules(c canvas.Canvas) {
	t := p.table
	if !t.ruled {
		return
	}
	rows := p.rows
	y := p.at.Y + t.titleHeight()
	if t.head != nil {
		y -= t.rowHeight(t.head.lines)
		rows = append([]laidRow{*t.head}, rows...)
	}
	for _, r := range rows {
		end := y + t.rowHeight(r.lines)
		x := p.at.X
		for i := 0; i < len(t.widths)-1 && !r.row.span; i++ {
			x += t.widths[i]
			c.Line(geom.Polyline{geom.Pt(x, y), geom.Pt(x, end)}, canvas.Stroke{Width: canvas.Width0p18, Color: canvas.Ink})
		}
		y = end
	}
}

// A weightedRule is a line across a table.
type weightedRule struct{ y, weight geom.Length }

// drawRow draws a row from y on and returns where it ends.
func (p placed) drawRow(s *Set, c canvas.Canvas, y geom.Length, r laidRow) geom.Length {
	t := p.table
	end := y + t.rowHeight(r.lines)
	if r.row.shaded {
		c.Rect(geom.Rect{Min: geom.Pt(p.at.X, y), Max: geom.Pt(p.at.X+t.width, end)}, canvas.Stroke{}, canvas.SolidFill(canvas.Shade))
	}
	cells := func() {
		x := p.at.X
		for i, lines := range r.cells {
			width := t.cellWidth(r.row, i)
			if len(lines) > 0 && lines[0].shaded {
				c.Rect(geom.RectAt(geom.Pt(x, y), width, end-y), canvas.Stroke{}, canvas.SolidFill(canvas.Shade))
			}
			for n, line := range lines {
				baseline := y + t.above() + t.height + geom.Length(n)*t.linePitch()
				t.drawLine(s, c, geom.Pt(x+cellPadding, baseline), line)
			}
			x += width
		}
	}
	if r.row.group == (canvas.Group{}) {
		cells()
	} else {
		canvas.InGroup(c, r.row.group, cells)
	}
	return end
}

// drawLine draws one line of a cell with its baseline at the point.
func (l *laidTable) drawLine(s *Set, c canvas.Canvas, at geom.Point, line laidLine) {
	lettering := line.lettering(l.height)
	at.Y += lettering - l.height
	middle := at.Y - l.height/2
	if line.first && line.color.IsSet() {
		core := geom.Polyline{geom.Pt(at.X, middle), geom.Pt(at.X+cmp.Or(line.sample, sampleLength), middle)}
		canvas.WireLine(c, core, line.color.Base, line.color.Tracer, cmp.Or(line.width, sampleWidth))
	}
	if line.first && line.line != nil {
		c.Line(geom.Polyline{geom.Pt(at.X, middle), geom.Pt(at.X+sampleLength, middle)}, *line.line)
	}
	if line.first && line.drawn != nil {
		line.drawn.Draw(c, geom.Pt(at.X+symbol.Half, at.Y-l.height), l.height+2*l.linePitch())
	}
	if line.first && line.share != nil {
		drawBar(c, geom.Pt(at.X, middle), *line.share)
	}
	if line.first {
		line.mark.draw(c, geom.Pt(at.X+markSize/2, middle))
	}
	if line.first && line.lead != "" {
		lead := canvas.Text{At: at, Face: font.Bold, Height: l.height, String: line.lead, Color: canvas.Ink}
		c.Text(lead)
		if target := line.target(s); target != "" && lead.Draws() {
			c.Link(lead.Bounds(), target)
		}
		line.link, line.page = Shown{}, ""
	}
	text := canvas.Text{
		At: geom.Pt(at.X+line.indent(), at.Y), Face: line.face(), Height: lettering, String: line.text, Color: canvas.Ink,
	}
	c.Text(text)
	if target := line.target(s); target != "" && text.Draws() {
		c.Link(text.Bounds(), target)
	}
}

// target returns the page that the piece leads to, or nothing.
func (p piece) target(s *Set) string {
	if p.page != "" {
		return p.page
	}
	if p.link != (Shown{}) {
		if page := s.PageOf(p.link.Kind, p.link.Ref); page != nil {
			return page.Name
		}
	}
	return ""
}
