package sheet

import (
	"cmp"
	"fmt"
	"strings"
	"unicode"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// Measures of a panel's picture.
const (
	leastCell     = 46 * geom.MM // of width, where the rows are ours to choose
	leastGridCell = 34 * geom.MM // of width, where the netlist states the rows: they are kept whole as long as the words are legible
	leastHeight   = 41 * geom.MM
	mostCell      = 95 * geom.MM
	mostHeight    = 70 * geom.MM
	footRoom      = font.Height3p5 + 6*geom.MM
	fewParts      = 12 // up to so many, the picture is on bench paper
)

// A panelPicture is how the positions of a panel are laid out on a paper.
type panelPicture struct {
	paper         Paper
	facts         []placed
	cells         geom.Rect     // where the positions are
	grid          [][]*position // all rows
	columns, rows int           // of a page
	size          geom.Point    // of a position
}

// lying is bench paper turned, for few positions in a row.
func (s *Set) lying() Paper {
	p := s.bench()
	p.Name += " lying"
	p.Width, p.Height = p.Height, p.Width
	return p
}

// whole reports whether one page holds the picture.
func (p *panelPicture) whole() bool { return len(p.grid) <= p.rows && gridColumns(p.grid) <= p.columns }

// cover is the area that the positions take of the room for them, in thousandths.
func (p *panelPicture) cover(positions int) int64 {
	room := int64(p.cells.Width()/1000) * int64(p.cells.Height()/1000)
	return 1000 * int64(positions) * int64(p.size.X/1000) * int64(p.size.Y/1000) / max(1, room)
}

func gridColumns(grid [][]*position) int {
	columns := 1
	for _, row := range grid {
		columns = max(columns, len(row))
	}
	return columns
}

// pictureOf lays a panel out: of the papers and numbers of columns the one that fills a page best, or, where none needs one page
// alone, the last paper with as many columns as it holds.
func (s *Set) pictureOf(plan *panelPlan, groups []keyGroup) *panelPicture {
	papers := []Paper{s.wall()}
	if len(plan.positions) <= fewParts {
		papers = []Paper{s.bench(), s.lying()}
	}
	var best *panelPicture
	for _, paper := range papers {
		for _, p := range s.picturesOn(paper, plan, groups) {
			if p.whole() && (best == nil || p.cover(len(plan.positions)) > best.cover(len(plan.positions))) {
				best = p
			}
		}
	}
	if best == nil {
		all := s.picturesOn(s.wall(), plan, groups)
		best = all[len(all)-1]
	}
	return best
}

// picturesOn are the ways to lay a panel out on a paper: one for each number of columns, or one where the netlist states the rows.
func (s *Set) picturesOn(paper Paper, plan *panelPlan, groups []keyGroup) []*panelPicture {
	area := paper.Area().Inset(sheetMargin)
	cells := area
	cells.Min.Y += headerRoom
	facts := flow{boxAt: func(int) box { return box{0, cells} }}.place(s.panelFacts(plan, groups).lay(area.Width()))
	cells.Min.Y = bottom(facts, cells.Min.Y) + blockGap
	cells.Max.Y -= footRoom
	var pictures []*panelPicture
	add := func(grid [][]*position, least geom.Length) {
		p := &panelPicture{paper: paper, facts: facts, cells: cells, grid: grid}
		p.columns = spread(gridColumns(grid), int(cells.Width()/least))
		p.rows = spread(len(grid), int(cells.Height()/leastHeight))
		p.size = geom.Pt(min(mostCell, cells.Width()/geom.Length(p.columns)), min(mostHeight, cells.Height()/geom.Length(p.rows)))
		pictures = append(pictures, p)
	}
	if len(plan.rows) > 0 {
		add(plan.stated(), leastGridCell)
		return pictures
	}
	for columns := 1; columns <= max(1, int(cells.Width()/leastCell)); columns++ {
		add(inRows(plan.positions, columns), leastCell)
	}
	return pictures
}

// stated are the rows as the netlist states them, and below them what it states no place for.
func (p *panelPlan) stated() [][]*position {
	return append(append([][]*position{}, p.rows...), inRows(p.unplaced, gridColumns(p.rows))...)
}

// inRows cuts positions into rows.
func inRows(positions []*position, columns int) [][]*position {
	var rows [][]*position
	for len(positions) > 0 {
		n := min(columns, len(positions))
		rows, positions = append(rows, positions[:n]), positions[n:]
	}
	return rows
}

// panelPages draws the positions of a panel as cells in rows.
func (s *Set) panelPages(plan *panelPlan, groups []keyGroup, names pageNames) []*Page {
	picture := s.pictureOf(plan, groups)
	title := "Panel " + plan.panel.Name.Text
	if plan.panel.Title.IsSet() {
		title += ": " + plan.panel.Title.Text
	}
	name := names.take("panel", plan.panel.Name.Text)
	area := picture.paper.Area().Inset(sheetMargin)
	var pages []*Page
	for top := 0; top < len(picture.grid); top += picture.rows {
		for left := 0; left < gridColumns(picture.grid); left += picture.columns {
			number := len(pages) + 1
			pages = append(pages, &Page{
				Name: continuedName(name, number), Title: title, Paper: picture.paper, Caution: panelCaution,
				Shows: []Shown{{"panel-picture", plan.panel.Name.Text}},
				Draw: func(c canvas.Canvas) {
					drawHeading(c, area, plan.panel.Name.Text, plan.panel.Title.Text, number > 1)
					s.drawParts(c, picture.facts)
					picture.draw(s, c, top, left, groups)
					height := fittingHeight(font.Bold, font.Height3p5, plan.foot(), area.Width())
					letterIn(c, geom.Pt(area.Min.X, area.Max.Y-geom.MM), area.Width(), font.Bold, height, plan.foot())
				},
			})
		}
	}
	for i, page := range pages {
		if len(pages) > 1 {
			page.Title += fmt.Sprintf(" (%d of %d)", i+1, len(pages))
		}
	}
	return pages
}

// draw draws the part of the grid that begins at a row and a column. A page may get a part that has nothing but empty positions.
func (p *panelPicture) draw(s *Set, c canvas.Canvas, top, left int, groups []keyGroup) {
	for i, row := range p.grid[top:min(top+p.rows, len(p.grid))] {
		for j := left; j < min(left+p.columns, len(row)); j++ {
			at := p.cells.Min.Add(geom.Pt(geom.Length(j-left)*p.size.X, geom.Length(i)*p.size.Y))
			cell := geom.RectAt(at, p.size.X, p.size.Y)
			if row[j] == nil {
				drawEmptyPosition(c, cell)
				continue
			}
			canvas.InGroup(c, canvas.Group{Kind: "position", Ref: row[j].part.Name.Text, Title: row[j].title}, func() {
				row[j].draw(s, c, cell, groups)
			})
		}
	}
}

// drawEmptyPosition draws a position that the grid names and that nothing sits in.
func drawEmptyPosition(c canvas.Canvas, cell geom.Rect) {
	c.Rect(cell.Inset(geom.MM/2), canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Ink, Dash: []geom.Length{2 * geom.MM, geom.MM}}, canvas.SolidFill(canvas.Shade))
	inside := cell.Inset(geom.MM/2 + cellInset)
	letterIn(c, geom.Pt(inside.Min.X, inside.Min.Y+font.Height3p5), inside.Width(), font.Regular, font.Height3p5, "empty")
}

const cellInset = 1800 * geom.Micrometre

// draw letters one position: designator and kind, rating large, colour, the name in capitals, what is behind it, when it is live.
func (p *position) draw(s *Set, c canvas.Canvas, cell geom.Rect, groups []keyGroup) {
	fill := canvas.Fill{}
	if p.part.Spare.On {
		fill = canvas.SolidFill(canvas.Shade)
	}
	c.Rect(cell.Inset(geom.MM/2), canvas.Stroke{Width: canvas.Width0p5, Color: canvas.Ink}, fill)
	inside := cell.Inset(geom.MM/2 + cellInset)
	y := inside.Min.Y + font.Height5
	p.drawDesignator(s, c, geom.Pt(inside.Min.X, y), inside.Width())
	if len(p.part.Inside.Protects) > 0 {
		y += p.drawRating(c, geom.Pt(inside.Min.X, y), inside.Width())
	}
	lettering, live := liveText(inside.Width(), p.live, groups)
	pitch := lettering * pitchPercent / 100
	foot := inside.Max.Y - geom.Length(len(live)-1)*pitch - lettering - lineGap // above the capitals of the first line
	for i, line := range live {
		at := geom.Pt(inside.Min.X, inside.Max.Y-geom.Length(len(live)-1-i)*pitch)
		letterIn(c, at, inside.Width(), font.Regular, lettering, line)
	}
	circuit := font.Wrap(font.Regular, font.MinHeight, p.circuit, inside.Width())
	y = p.drawName(c, geom.Pt(inside.Min.X, y), inside.Width(), foot-y-geom.Length(min(len(circuit), circuitLines))*cellPitch)
	for _, line := range shortened(circuit, int((foot-y)/cellPitch)) {
		y += cellPitch
		letterIn(c, geom.Pt(inside.Min.X, y), inside.Width(), font.Regular, font.MinHeight, line)
	}
}

// drawDesignator letters the designator at the left and the kind at the right; a relay has its rating there too: nobody replaces
// it by the number.
func (p *position) drawDesignator(s *Set, c canvas.Canvas, at geom.Point, width geom.Length) {
	kind := p.part.Kind.Name
	if p.part.Spare.On {
		kind = "spare"
	}
	if len(p.part.Inside.Protects) == 0 && p.rating != "" {
		kind += " " + p.rating
	}
	right := canvas.Text{
		At: geom.Pt(at.X+width, at.Y), Anchor: canvas.End, Face: font.Regular, Height: font.MinHeight, Color: canvas.Ink,
		String: font.Fit(font.Regular, font.MinHeight, kind, width/2),
	}
	c.Text(right)
	room := width - right.Width() - 2*geom.MM
	height := fittingHeight(font.Bold, font.Height5, p.part.Name.Text, room)
	name := canvas.Text{At: at, Face: font.Bold, Height: height, Color: canvas.Ink, String: font.Fit(font.Bold, height, p.part.Name.Text, room)}
	c.Text(name)
	s.linkPart(c, name, p.part)
}

// cellPitch is from line to line within a cell.
const cellPitch = font.MinHeight * pitchPercent / 100

func letterIn(c canvas.Canvas, at geom.Point, width geom.Length, face font.Face, height geom.Length, text string) {
	c.Text(canvas.Text{At: at, Face: face, Height: height, Color: canvas.Ink, String: font.Fit(face, height, text, width)})
}

// drawRating letters the rating large with the colour behind it, and returns how much room that took.
func (p *position) drawRating(c canvas.Canvas, at geom.Point, width geom.Length) geom.Length {
	rating := canvas.Text{
		At: geom.Pt(at.X, at.Y+font.Height10+3*geom.MM), Face: font.Bold, Height: font.Height10, Color: canvas.Ink, String: cmp.Or(p.rating, "? A"),
	}
	for rating.Width() > width*6/10 && rating.Height > font.Height5 {
		rating.Height -= geom.MM
	}
	c.Text(rating)
	left := rating.Bounds().Max.X + 2*geom.MM
	room := at.X + width - left
	height := font.Height3p5
	lines := font.Wrap(font.Bold, height, p.colorWords(), room)
	if len(lines) > 2 || widestOf(font.Bold, height, strings.Fields(p.colorWords())) > room {
		height = font.MinHeight
		lines = font.Wrap(font.Bold, height, p.colorWords(), room)
	}
	for i, line := range lines[:min(len(lines), 2)] {
		back := geom.Length(min(len(lines), 2)-1-i) * (height * pitchPercent / 100)
		letterIn(c, geom.Pt(left, rating.At.Y-back), room, font.Bold, height, line)
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
	return "no standard colour"
}

// nameHeights are the letterings of the name of a position, from the one that is read two metres away.
var nameHeights = []geom.Length{font.Height7, font.Height5, font.Height3p5, font.Height2p5}

// circuitLines is how many lines the name leaves at the least for what is behind the position, and lineGap stands between that and the
// dots.
const (
	circuitLines = 2
	lineGap      = 3 * geom.MM / 2
)

// capitalPitch is from line to line of a text in capitals: close where no letter has an accent, which would touch the line above.
func capitalPitch(height geom.Length, text string) geom.Length {
	if strings.ContainsFunc(text, func(r rune) bool { return r > unicode.MaxASCII }) {
		return height * pitchPercent / 100
	}
	return height * 145 / 100
}

// drawName letters the name in capitals, as large as its words stay whole and there is room, and returns where it ends.
func (p *position) drawName(c canvas.Canvas, at geom.Point, width, room geom.Length) geom.Length {
	name := strings.ToUpper(p.title)
	for _, height := range nameHeights {
		pitch := capitalPitch(height, name)
		lines := font.Wrap(font.Bold, height, name, width)
		fits := geom.Length(len(lines))*pitch <= room && widestOf(font.Bold, height, strings.Fields(name)) <= width
		if !fits && height != font.MinHeight {
			continue
		}
		if !fits {
			lines = shortened(lines, max(1, int(room/pitch)))
		}
		for _, line := range lines {
			at.Y += pitch
			letterIn(c, at, width, font.Bold, height, line)
		}
		break
	}
	return at.Y
}

func widestOf(face font.Face, height geom.Length, words []string) geom.Length {
	widest := geom.Length(0)
	for _, w := range words {
		widest = max(widest, font.Width(face, height, w))
	}
	return widest
}

// shortened cuts lines to so many, and says so.
func shortened(lines []string, most int) []string {
	if most = max(0, most); len(lines) > most {
		lines = lines[:most]
		if most > 0 {
			lines[most-1] += " …"
		}
	}
	return lines
}

// liveText letters the dots with the names of the groups, in two lines at the most, or with their letters where the names do not fit.
func liveText(width geom.Length, live []string, groups []keyGroup) (lettering geom.Length, lines []string) {
	long, short := make([]string, len(groups)), make([]string, len(groups))
	for i, g := range groups {
		long[i], short[i] = g.name+live[i], g.letter+live[i]
	}
	for _, texts := range [][]string{long, short} {
		for _, height := range []geom.Length{font.Height3p5, font.MinHeight} {
			lines := font.Wrap(font.Regular, height, strings.Join(texts, "  "), width)
			if len(lines) <= 2 && widestOf(font.Regular, height, texts) <= width {
				return height, lines
			}
		}
	}
	return font.MinHeight, font.Wrap(font.Regular, font.MinHeight, strings.Join(short, "  "), width)
}
