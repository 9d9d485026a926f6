package sheet

import (
	"math"
	"slices"
	"strconv"

	"ferrule/netlist/model"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A face is a connector as it is seen from one side: the cavities where they lie in the housing, and the latch.
type face struct {
	heading string
	rows    [][]string // of one length; "" where the housing has no cavity
	columns []int      // the number of each column, the same from both sides
	latch   string     // "top", "bottom", "left", "right", or "" where it is not stated
	round   bool       // the shell is round; its latch is then a key
	stagger bool       // the rows lie half a place beside one another: a column is half a cavity wide
}

// The two sides. The words say what the reader looks at, because "front" and "rear" are understood either way.
const (
	wireSideHeading   = "LOOKING AT THE WIRES GOING IN"
	matingFaceHeading = "LOOKING AT THE MATING FACE"
)

// facesOf returns both sides of a connector: as the file states one, and mirrored from left to right. The answer is false
// where the file does not say how the cavities lie or from which side that is meant: such a picture would be a guess.
func facesOf(c *model.Connector) (wireSide, matingFace face, ok bool) {
	columns := 0
	for _, r := range c.Rows {
		columns = max(columns, len(r))
	}
	if columns == 0 || !c.View.IsSet() {
		return face{}, face{}, false
	}
	stated := face{latch: c.Latch.Text, columns: make([]int, columns), round: c.Shell.Text == "round", stagger: c.Staggered()}
	for _, r := range c.Rows {
		stated.rows = append(stated.rows, append(slices.Clone(r), make([]string, columns-len(r))...))
	}
	for i := range stated.columns {
		stated.columns[i] = i + 1
		if stated.latch == "right" {
			stated.columns[i] = columns - i
		}
	}
	wireSide, matingFace = stated, stated.mirrored()
	if c.View.Text == "mating face" {
		wireSide, matingFace = matingFace, wireSide
	}
	wireSide.heading, matingFace.heading = wireSideHeading, matingFaceHeading
	return wireSide, matingFace, true
}

func (f face) mirrored() face {
	m := face{columns: slices.Clone(f.columns), latch: f.latch, round: f.round, stagger: f.stagger}
	slices.Reverse(m.columns)
	for _, r := range f.rows {
		r = slices.Clone(r)
		slices.Reverse(r)
		m.rows = append(m.rows, r)
	}
	switch f.latch {
	case "left":
		m.latch = "right"
	case "right":
		m.latch = "left"
	}
	return m
}

// rowNumber counts the rows from the latch, as a builder does with the housing in hand.
func (f face) rowNumber(i int) int {
	if f.latch == "bottom" {
		return len(f.rows) - i
	}
	return i + 1
}

// Measures of a face.
const (
	facePitch    = 10 * geom.MM // of cavities, where there is room
	leastPitch   = 4500 * geom.Micrometre
	cavityGap    = 700 * geom.Micrometre // between two cavities
	letterRoom   = 400 * geom.Micrometre // between a cavity's edge and its name
	housingWall  = 1300 * geom.Micrometre
	leastHousing = 18 * geom.MM
	latchLength  = 15 * geom.MM
	latchDepth   = 5 * geom.MM
	rowNumbers   = 8 * geom.MM // room for the numbers beside the rows
	colNumbers   = 5 * geom.MM // room for the numbers below the columns
	headingRoom  = 6 * geom.MM
	viewGap      = 6 * geom.MM
)

// A facePlan says how the two sides of a connector are laid out on a page.
type facePlan struct {
	pitch     geom.Length
	lettering geom.Length
	stacked   bool        // the sides stand below one another, not beside
	view      geom.Point  // width and height of one side
	height    geom.Length // of both together
}

// extent is how wide and how high the inside of the shell is, in places of a cavity.
func (f face) extent() (width, height float64) {
	width, height = float64(len(f.columns)), float64(len(f.rows))
	if f.stagger {
		width = (width + 1) / 2
	}
	if !f.round {
		return width, height
	}
	farthest := 0.0
	for i, r := range f.rows {
		for j, name := range r {
			if name != "" {
				across := float64(j) + 0.5
				if f.stagger {
					across = (float64(j) + 1) / 2
				}
				farthest = max(farthest, math.Hypot(across-width/2, float64(i)+0.5-height/2))
			}
		}
	}
	diameter := 2*farthest + 1
	return diameter, diameter
}

// step is from one column to the next.
func (p facePlan) step(f face) geom.Length {
	if f.stagger {
		return p.pitch / 2
	}
	return p.pitch
}

// grid is the room that all places take.
func (p facePlan) grid(f face) geom.Point {
	return geom.Pt(p.step(f)*geom.Length(len(f.columns)-1)+p.pitch, p.pitch*geom.Length(len(f.rows)))
}

func places(count float64, pitch geom.Length) geom.Length {
	return geom.Length(math.Ceil(count * float64(pitch)))
}

// around returns how much room a side needs in width and height beyond the housing's inside.
func (f face) around() geom.Point {
	need := geom.Pt(2*housingWall+rowNumbers, 2*housingWall+colNumbers+headingRoom)
	switch f.latch {
	case "left", "right":
		need.X += latchDepth
	case "top", "bottom":
		need.Y += latchDepth
	}
	return need
}

// planFaces fits the faces into a width and height; false where the names of the cavities would not fit.
func planFaces(f face, width, height geom.Length) (facePlan, bool) {
	wide, high := f.extent()
	around := f.around()
	for _, stacked := range []bool{false, true} {
		view := geom.Pt((width-viewGap)/2, height)
		if stacked {
			view = geom.Pt(width, (height-viewGap)/2)
		}
		pitch := min(facePitch, geom.Length(float64(view.X-around.X)/wide), geom.Length(float64(view.Y-around.Y)/high))
		for _, lettering := range []geom.Length{font.Height3p5, font.Height2p5} {
			room := pitch - cavityGap - 2*letterRoom
			if pitch < leastPitch || f.widestName(lettering) > room || lettering > room {
				continue
			}
			if f.round && math.Hypot(float64(f.widestName(lettering)), float64(lettering)) > float64(room) {
				continue // the corners of the name lie on the rim
			}
			p := facePlan{pitch: pitch, lettering: lettering, stacked: stacked}
			p.view = geom.Pt(view.X, around.Y+max(leastHousing-2*housingWall, places(high, pitch)))
			p.height = p.view.Y
			if stacked {
				p.height = 2*p.view.Y + viewGap
			}
			return p, p.height <= height
		}
	}
	return facePlan{}, false
}

func (f face) widestName(lettering geom.Length) geom.Length {
	widest := geom.Length(0)
	for _, r := range f.rows {
		for _, name := range r {
			widest = max(widest, font.Width(font.Bold, lettering, name))
		}
	}
	return widest
}

// draw draws both sides with the top left corner at the point. Cavities for which wired says no are grey.
func (p facePlan) draw(c canvas.Canvas, at geom.Point, wireSide, matingFace face, wired func(name string) bool) {
	second := geom.Pt(at.X+p.view.X+viewGap, at.Y)
	if p.stacked {
		second = geom.Pt(at.X, at.Y+p.view.Y+viewGap)
	}
	p.drawView(c, at, wireSide, wired)
	p.drawView(c, second, matingFace, wired)
}

func (p facePlan) drawView(c canvas.Canvas, at geom.Point, f face, wired func(string) bool) {
	housing := p.housing(at, f)
	grid := p.grid(f)
	origin := geom.Pt(housing.Center().X-grid.X/2, housing.Center().Y-grid.Y/2)
	canvas.InGroup(c, canvas.Group{Kind: "face", Title: f.heading}, func() {
		c.Text(canvas.Text{
			At: geom.Pt(at.X+p.view.X/2, at.Y+font.MinHeight), Face: font.Bold, Height: font.MinHeight, Anchor: canvas.Middle,
			String: f.heading, Color: canvas.Ink,
		})
		latch := "LATCH"
		if f.round {
			latch = "KEY"
			c.Circle(housing.Center(), housing.Width()/2, canvas.Stroke{Width: canvas.Width0p7, Color: canvas.Ink}, canvas.Fill{})
		} else {
			c.Rect(housing, canvas.Stroke{Width: canvas.Width0p7, Color: canvas.Ink}, canvas.Fill{})
		}
		drawLatch(c, housing, f.latch, latch)
		p.drawCavities(c, origin, f, wired)
		p.drawNumbers(c, origin, housing, f)
	})
}

// housing returns the outline of the housing of a side whose top left corner is at the point: in the middle of what the
// latch and the numbers leave.
func (p facePlan) housing(at geom.Point, f face) geom.Rect {
	free := geom.RectAt(at, p.view.X, p.view.Y)
	free.Min.Y += headingRoom
	if f.latch == "left" {
		free.Min.X, free.Max.X = free.Min.X+latchDepth, free.Max.X-rowNumbers
	} else {
		free.Min.X += rowNumbers
	}
	switch f.latch {
	case "right":
		free.Max.X -= latchDepth
	case "top":
		free.Min.Y, free.Max.Y = free.Min.Y+latchDepth, free.Max.Y-colNumbers
	case "bottom":
		free.Min.Y, free.Max.Y = free.Min.Y+colNumbers, free.Max.Y-latchDepth
	}
	if f.latch != "top" && f.latch != "bottom" {
		free.Max.Y -= colNumbers
	}
	wide, high := f.extent()
	width := max(leastHousing, places(wide, p.pitch)+2*housingWall)
	height := max(leastHousing, places(high, p.pitch)+2*housingWall)
	return geom.RectAt(geom.Pt(free.Center().X-width/2, free.Center().Y-height/2), width, height)
}

// drawLatch draws the tab of the latch on its side of the housing, with the word in it.
func drawLatch(c canvas.Canvas, housing geom.Rect, side, text string) {
	m := housing.Center()
	var tab geom.Rect
	switch side {
	case "top":
		tab = geom.RectAt(geom.Pt(m.X-latchLength/2, housing.Min.Y-latchDepth), latchLength, latchDepth)
	case "bottom":
		tab = geom.RectAt(geom.Pt(m.X-latchLength/2, housing.Max.Y), latchLength, latchDepth)
	case "left":
		tab = geom.RectAt(geom.Pt(housing.Min.X-latchDepth, m.Y-latchLength/2), latchDepth, latchLength)
	case "right":
		tab = geom.RectAt(geom.Pt(housing.Max.X, m.Y-latchLength/2), latchDepth, latchLength)
	default:
		return
	}
	c.Rect(tab, canvas.Stroke{Width: canvas.Width0p5, Color: canvas.Ink}, canvas.SolidFill(canvas.Shade))
	word := canvas.Text{Face: font.Bold, Height: font.MinHeight, Anchor: canvas.Middle, String: text, Color: canvas.Ink}
	word.At = geom.Pt(tab.Center().X, tab.Center().Y+font.MinHeight/2)
	if side == "left" || side == "right" {
		word.At, word.Angle = geom.Pt(tab.Center().X+font.MinHeight/2, tab.Center().Y), 90
	}
	c.Text(word)
}

func (p facePlan) drawCavities(c canvas.Canvas, origin geom.Point, f face, wired func(string) bool) {
	for i, r := range f.rows {
		for j, name := range r {
			if name == "" {
				continue
			}
			corner := geom.Pt(origin.X+geom.Length(j)*p.step(f), origin.Y+geom.Length(i)*p.pitch)
			cavity := geom.RectAt(corner, p.pitch, p.pitch).Inset(cavityGap / 2)
			pen, ground := canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}, canvas.SolidFill(canvas.White)
			if !wired(name) {
				pen, ground = canvas.Stroke{Width: canvas.Width0p18, Color: canvas.Ink}, canvas.SolidFill(canvas.Shade)
			}
			canvas.InGroup(c, canvas.Group{Kind: "cavity", Ref: name}, func() {
				if f.round {
					c.Circle(cavity.Center(), cavity.Width()/2, pen, ground)
				} else {
					c.Rect(cavity, pen, ground)
				}
				c.Text(canvas.Text{
					At: geom.Pt(cavity.Center().X, cavity.Center().Y+p.lettering/2), Face: font.Bold, Height: p.lettering,
					Anchor: canvas.Middle, String: name, Color: canvas.Ink,
				})
			})
		}
	}
}

// drawNumbers letters rows ("R1") and columns ("C1") outside the housing, on the sides where the latch is not. Where
// columns are narrow only some of them are lettered.
func (p facePlan) drawNumbers(c canvas.Canvas, origin geom.Point, housing geom.Rect, f face) {
	left := housing.Min.X - letterRoom - cavityGap
	anchor := canvas.End
	if f.latch == "left" {
		left, anchor = housing.Max.X+letterRoom+cavityGap, canvas.Start
	}
	for i := range f.rows {
		c.Text(outside(geom.Pt(left, origin.Y+geom.Length(i)*p.pitch+p.pitch/2+font.MinHeight/2), anchor, "R", f.rowNumber(i)))
	}
	foot := housing.Max.Y + cavityGap + letterRoom + font.MinHeight
	if f.latch == "bottom" {
		foot = housing.Min.Y - cavityGap - letterRoom
	}
	step := p.columnStep(f)
	for j, number := range f.columns {
		if numbered(number, step) {
			c.Text(outside(geom.Pt(origin.X+geom.Length(j)*p.step(f)+p.pitch/2, foot), canvas.Middle, "C", number))
		}
	}
}

func outside(at geom.Point, anchor canvas.TextAnchor, letter string, number int) canvas.Text {
	return canvas.Text{
		At: at, Face: font.Regular, Height: font.MinHeight, Anchor: anchor, String: letter + strconv.Itoa(number), Color: canvas.Faint,
	}
}

// columnStep returns which columns are lettered: all, every second, every fifth, every tenth.
func (p facePlan) columnStep(f face) int {
	width := font.Width(font.Regular, font.MinHeight, "C"+strconv.Itoa(len(f.columns))) + cavityGap
	for _, step := range []int{1, 2, 5} {
		least := step // columns from one letter to the next
		if step == 5 {
			least = 4 // from column 1 to column 5
		}
		if width <= p.step(f)*geom.Length(least) {
			return step
		}
	}
	return 10
}

// numbered reports whether a column is lettered: the first always, then the odd ones, or the multiples of the step.
func numbered(column, step int) bool {
	if step == 2 {
		return column%2 == 1
	}
	return column == 1 || column%step == 0
}
