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

var _ = register(&Maker{
	Name: "depends", Title: "Fuse and relay matrix", Order: 70,
	Doc: "What stops when a fuse is out or a relay drops: a row for each fuse and relay, a column for each consumer, and a mark where the " +
		"consumer does not work without it, over whatever switches, relays and controllers lie between.",
	Plan: planDepends,
})

const dependCaution = "Follows from the netlist: in the states that it names, every part sound but the one. Two faults at once look otherwise. Never up-rate a " +
	"fuse; replace a blown one once, then find the cause. Battery off, grounded pole first, before a relay is pulled."

// A dependence says how a consumer depends on a fuse or relay.
type dependence uint8

const (
	atTimes dependence = iota + 1 // in some of the states in which it works
	always                        // in all of them
)

// A dependMatrix is the content of the sheet.
type dependMatrix struct {
	gates   []*model.Part // fuses, then relays
	columns []*Consumer   // consumers that work in some state
	marks   map[*model.Part]map[*Consumer]dependence
}

func planDepends(s *Set) []*Page {
	m := s.dependMatrix()
	if len(m.gates) == 0 || len(m.columns) == 0 {
		return nil
	}
	return m.pages(s)
}

func (s *Set) dependMatrix() *dependMatrix {
	v := s.Solved()
	m := &dependMatrix{gates: s.gates(), marks: map[*model.Part]map[*Consumer]dependence{}}
	works, counts := map[*Consumer]int{}, map[*model.Part]map[*Consumer]int{}
	for _, g := range m.gates {
		counts[g], m.marks[g] = map[*Consumer]int{}, map[*Consumer]dependence{}
	}
	for state := range v.Conditions {
		r := v.relianceOf(state)
		for i := range v.Consumers {
			c := &v.Consumers[i]
			needs := map[*model.Part]bool{}
			if !v.works(state, c) || !v.consumerNeeds(r, c, needs) {
				continue
			}
			works[c]++
			for part := range needs {
				counts[part][c]++
			}
		}
	}
	for i := range v.Consumers {
		if c := &v.Consumers[i]; works[c] > 0 {
			m.columns = append(m.columns, c)
			for _, g := range m.gates {
				m.mark(g, c, counts[g][c], works[c])
			}
		}
	}
	return m
}

func (m *dependMatrix) mark(g *model.Part, c *Consumer, count, works int) {
	switch count {
	case 0:
	case works:
		m.marks[g][c] = always
	default:
		m.marks[g][c] = atTimes
	}
}

// consumerNeeds is what a consumer needs in a state; the motor of a starter needs what its solenoid does.
func (v *Solved) consumerNeeds(r *reliance, c *Consumer, into map[*model.Part]bool) bool {
	if c.Branch >= 0 && v.Circuit.Branches[c.Branch].IsMotorOfStarter() {
		r.needs(v.Circuit.Branches[c.Branch].Pin, c.B, into)
	}
	return r.needs(c.A, c.B, into)
}

// gates lists the parts that protect, then the relays, each in natural order.
func (s *Set) gates() []*model.Part {
	var fuses, relays []*model.Part
	for _, p := range s.Netlist.Parts {
		switch {
		case len(p.Inside.Protects) > 0:
			fuses = append(fuses, p)
		case len(p.Inside.Coils) > 0:
			relays = append(relays, p)
		}
	}
	byName := func(a, b *model.Part) int { return CompareNatural(a.Name.Text, b.Name.Text) }
	slices.SortStableFunc(fuses, byName)
	slices.SortStableFunc(relays, byName)
	return append(fuses, relays...)
}

// Measures of the matrix.
const (
	dependPitch  = 5500 * geom.Micrometre // of a column
	dependRow    = 5200 * geom.Micrometre
	dependHead   = 58 * geom.MM // height of the upright heads
	dependNames  = 62 * geom.MM // width of the row heads
	dependRadius = 1300 * geom.Micrometre
)

const dependNote = "● does not work without it. ○ does not work without it in some of the states in which it works. A consumer with several ways " +
	"depends on none of them alone. Through relays and outputs of modules too; a module counts as supplied while one of its supplies is."

// dependLines are the lines of the note at the foot, and dependFoot the room that they take.
func dependLines(paper Paper) []string {
	return font.Wrap(font.Regular, font.MinHeight, dependNote, paper.Area().Inset(sheetMargin).Width())
}

func dependFoot(paper Paper) geom.Length {
	return geom.Length(len(dependLines(paper)))*cellPitch + 2*geom.MM
}

// dependGrid is how much of the matrix a page holds.
func dependGrid(paper Paper) (columns, rows int) {
	area := paper.Area().Inset(sheetMargin)
	columns = int((area.Width() - dependNames) / dependPitch)
	rows = int((area.Height() - headerRoom - dependHead - dependFoot(paper)) / dependRow)
	return columns, rows
}

func (m *dependMatrix) pages(s *Set) []*Page {
	paper := s.bench()
	columns, rows := dependGrid(paper)
	if len(m.columns) > columns || len(m.gates) > rows {
		paper = s.wall()
		columns, rows = dependGrid(paper)
	}
	columns, rows = spread(len(m.columns), columns), spread(len(m.gates), rows)
	var pages []*Page
	for across := range slices.Chunk(m.columns, columns) {
		for down := range slices.Chunk(m.gates, rows) {
			number := len(pages) + 1
			page := &Page{
				Name: continuedName("depends", number), Title: "Fuse and relay matrix", Paper: paper, Caution: dependCaution,
				Draw: func(c canvas.Canvas) {
					drawHeading(c, paper.Area().Inset(sheetMargin), "Fuse and relay matrix", "what stops without it", number > 1)
					m.draw(s, c, paper, across, down)
				},
			}
			pages = append(pages, page)
		}
	}
	for i, p := range pages {
		if len(pages) > 1 {
			p.Title += fmt.Sprintf(" (%d of %d)", i+1, len(pages))
		}
	}
	return pages
}

// spread divides so many things evenly over as few pages as hold them, and returns how many a page gets.
func spread(things, most int) int {
	most = max(1, most)
	pages := (things + most - 1) / most
	return (things + pages - 1) / pages
}

// draw draws a part of the matrix: heads, grid, marks.
func (m *dependMatrix) draw(s *Set, c canvas.Canvas, paper Paper, columns []*Consumer, gates []*model.Part) {
	area := paper.Area().Inset(sheetMargin)
	origin := geom.Pt(area.Min.X+dependNames, area.Min.Y+headerRoom+dependHead)
	width := min(2*dependPitch, (area.Max.X-origin.X)/geom.Length(len(columns)))
	height := min(2*dependRow, (area.Max.Y-dependFoot(paper)-origin.Y)/geom.Length(len(gates)))
	for i, consumer := range columns {
		x := origin.X + geom.Length(i)*width + (width+font.MinHeight)/2
		canvas.InGroup(c, canvas.Group{Kind: "consumer", Ref: consumer.Ref, Title: consumer.Title}, func() {
			name := font.Fit(font.Regular, font.MinHeight, consumer.shortName(dependHead-2*geom.MM), dependHead-2*geom.MM)
			c.Text(canvas.Text{At: geom.Pt(x, origin.Y-geom.MM), Angle: 90, Face: font.Regular, Height: font.MinHeight, String: name, Color: canvas.Ink})
		})
	}
	for i, g := range gates {
		m.drawGate(s, c, geom.Pt(origin.X, origin.Y+geom.Length(i)*height), width, height, g, columns)
	}
	end := geom.Pt(origin.X+geom.Length(len(columns))*width, origin.Y+geom.Length(len(gates))*height)
	drawDependGrid(c, geom.Rect{Min: origin, Max: end}, len(columns), len(gates))
	for i, line := range dependLines(paper) {
		letterIn(c, geom.Pt(area.Min.X, area.Max.Y-dependFoot(paper)+geom.Length(i+1)*cellPitch), area.Width(), font.Regular, font.MinHeight, line)
	}
}

// shortName drops the title of the whole where the name of one of its parts is too long.
func (c *Consumer) shortName(width geom.Length) string {
	name := c.Name()
	if _, part, ok := strings.Cut(c.Title, ": "); ok && font.Width(font.Regular, font.MinHeight, name) > width {
		return c.Ref + " " + part
	}
	return name
}

// drawGate draws the row of a fuse or relay: its name, and its marks.
func (m *dependMatrix) drawGate(s *Set, c canvas.Canvas, at geom.Point, width, height geom.Length, g *model.Part, columns []*Consumer) {
	canvas.InGroup(c, canvas.Group{Kind: "gate", Ref: g.Name.Text, Title: g.Title.Text}, func() {
		most := font.MinHeight
		switch {
		case height >= font.Height5*8/5:
			most = font.Height5
		case height >= font.Height3p5*8/5:
			most = font.Height3p5
		}
		lettering := fittingHeight(font.Bold, most, g.Name.Text, dependNames/2)
		baseline := at.Y + (height+lettering)/2
		name := canvas.Text{
			At: geom.Pt(at.X-dependNames, baseline), Face: font.Bold, Height: lettering, Color: canvas.Ink,
			String: font.Fit(font.Bold, lettering, g.Name.Text, dependNames/2),
		}
		c.Text(name)
		s.linkPart(c, name, g)
		left := name.At.X + name.Width() + geom.MM*3/2
		title := g.Title.Text
		if most > font.MinHeight {
			title = strings.ToUpper(title)
		}
		title = strings.TrimSpace(ratingText(g) + " " + title)
		room := at.X - left - geom.MM
		letterIn(c, geom.Pt(left, baseline), room, font.Regular, fittingHeight(font.Regular, most, title, room), title)
		for i, consumer := range columns {
			middle := geom.Pt(at.X+geom.Length(i)*width+width/2, at.Y+height/2)
			mark := m.marks[g][consumer]
			if mark == 0 {
				continue
			}
			fill := canvas.Fill{}
			if mark == always {
				fill = canvas.SolidFill(canvas.Ink)
			}
			canvas.InGroup(c, canvas.Group{Kind: "mark", Ref: g.Name.Text + " " + consumer.Name()}, func() {
				c.Circle(middle, dependRadius, canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}, fill)
			})
		}
	})
}

// ratingText is the rating of a fuse, as it is told beside its name.
func ratingText(p *model.Part) string {
	v := p.Value("rating")
	if len(p.Inside.Protects) == 0 || v == nil || !v.Quantity.IsSet() {
		return ""
	}
	return valueText(v) + guessMark(p.KnownFrom.Text == "guess")
}

// drawDependGrid draws the lines of the matrix, every fifth of them heavier, so that an eye can follow them.
func drawDependGrid(c canvas.Canvas, grid geom.Rect, columns, rows int) {
	pen := func(i, last int) canvas.Stroke {
		if i%5 == 0 || i == last {
			return canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}
		}
		return canvas.Stroke{Width: canvas.Width0p18, Color: canvas.Ink}
	}
	for i := range columns + 1 {
		x := grid.Min.X + grid.Width()/geom.Length(columns)*geom.Length(i)
		c.Line(geom.Polyline{geom.Pt(x, grid.Min.Y-dependHead), geom.Pt(x, grid.Max.Y)}, pen(i, columns))
	}
	for i := range rows + 1 {
		y := grid.Min.Y + grid.Height()/geom.Length(rows)*geom.Length(i)
		c.Line(geom.Polyline{geom.Pt(grid.Min.X-dependNames, y), geom.Pt(grid.Max.X, y)}, pen(i, rows))
	}
}
