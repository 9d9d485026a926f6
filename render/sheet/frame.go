package sheet

import (
	"strconv"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// Frame draws what every sheet of the paper p has in common: the frame with its grid of fields and centring marks
// (ISO 5457), the title block (ISO 7200) and the caution. The drawing goes into p.Area().
func Frame(c canvas.Canvas, p Paper, t TitleBlock) {
	canvas.InGroup(c, canvas.Group{Kind: "frame"}, func() {
		drawGrid(c, p)
		c.Rect(p.Frame(), canvas.Stroke{Width: frameLine, Color: canvas.Ink}, canvas.Fill{})
		drawCentringMarks(c, p)
	})
	drawTitleBlock(c, p, t)
}

// Measures of the frame in ISO 5457. Source: testdata/reference/sheet-rules.csv, from memory, as is the width of the grid
// border, which that table lacks.
const (
	frameLine   = canvas.Width0p7
	gridLine    = canvas.Width0p35
	gridBorder  = 5 * geom.MM
	fieldLength = 50 * geom.MM
	gridHeight  = font.Height3p5
)

// gridLetters name the fields from top to bottom. I and O are left out, as they read as digits.
const gridLetters = "ABCDEFGHJKLMNPQRSTUVWXYZ"

// fieldEdges returns the edges of the fields along one side of the sheet, its ends included. The fields are 50 mm long,
// counted from the middle of the sheet, and even in number; the outermost take what is left up to the frame, so that a
// frame that is off the middle (the wider border at the left) only changes their length.
func fieldEdges(side, first, last geom.Length) []geom.Length {
	half := (side + fieldLength) / (2 * fieldLength)
	edges := []geom.Length{first}
	for i := 1 - half; i < half; i++ {
		edges = append(edges, side/2+i*fieldLength)
	}
	return append(edges, last)
}

// smallPaper reports whether the grid stands at the top and right only, as ISO 5457 has it for A4. Letter is as small.
func smallPaper(p Paper) bool { return p.Width < 250*geom.MM }

func drawGrid(c canvas.Canvas, p Paper) {
	frame := p.Frame()
	outer := frame.Inset(-gridBorder)
	pen := canvas.Stroke{Width: gridLine, Color: canvas.Ink}
	columns := fieldEdges(p.Width, frame.Min.X, frame.Max.X)
	rows := fieldEdges(p.Height, frame.Min.Y, frame.Max.Y)
	drawColumns(c, columns, outer.Min.Y, pen)
	drawRows(c, rows, frame.Max.X, pen)
	if smallPaper(p) {
		c.Line(geom.Polyline{
			frame.Min, {X: frame.Min.X, Y: outer.Min.Y}, {X: outer.Max.X, Y: outer.Min.Y}, {X: outer.Max.X, Y: frame.Max.Y}, frame.Max,
		}, pen)
		return
	}
	drawColumns(c, columns, frame.Max.Y, pen)
	drawRows(c, rows, outer.Min.X, pen)
	c.Rect(outer, pen, canvas.Fill{})
}

// drawColumns draws the ticks and numbers of one horizontal border, whose upper edge is at y.
func drawColumns(c canvas.Canvas, edges []geom.Length, y geom.Length, pen canvas.Stroke) {
	for i := range len(edges) - 1 {
		if i > 0 {
			c.Line(geom.Polyline{{X: edges[i], Y: y}, {X: edges[i], Y: y + gridBorder}}, pen)
		}
		drawFieldName(c, strconv.Itoa(i+1), geom.Pt((edges[i]+edges[i+1])/2, y+gridBorder/2))
	}
}

// drawRows draws the ticks and letters of one vertical border, whose left edge is at x.
func drawRows(c canvas.Canvas, edges []geom.Length, x geom.Length, pen canvas.Stroke) {
	for i := range len(edges) - 1 {
		if i > 0 {
			c.Line(geom.Polyline{{X: x, Y: edges[i]}, {X: x + gridBorder, Y: edges[i]}}, pen)
		}
		drawFieldName(c, rowName(i), geom.Pt(x+gridBorder/2, (edges[i]+edges[i+1])/2))
	}
}

// rowName returns the letter of a row, counted from 0; after Z come AA, AB and so on (ISO 5457, from memory).
func rowName(row int) string {
	if row < len(gridLetters) {
		return gridLetters[row : row+1]
	}
	return rowName(row/len(gridLetters)-1) + rowName(row%len(gridLetters))
}

func drawFieldName(c canvas.Canvas, name string, middle geom.Point) {
	c.Text(canvas.Text{
		At: geom.Pt(middle.X, middle.Y+gridHeight/2), Height: gridHeight, Face: font.Regular, Anchor: canvas.Middle,
		String: name, Color: canvas.Ink,
	})
}

// drawCentringMarks draws the four marks by which a copy is aligned, at the middle of the sheet's sides. By ISO
// 5457 (from memory) they run on some way into the drawing space; ours end at the frame, because a drawing may use its
// area to the edge.
func drawCentringMarks(c canvas.Canvas, p Paper) {
	frame, middle := p.Frame(), geom.Pt(p.Width/2, p.Height/2)
	outer := frame.Inset(-gridBorder)
	pen := canvas.Stroke{Width: frameLine, Color: canvas.Ink}
	for _, mark := range []geom.Polyline{
		{{X: middle.X, Y: outer.Min.Y}, {X: middle.X, Y: frame.Min.Y}},
		{{X: middle.X, Y: frame.Max.Y}, {X: middle.X, Y: outer.Max.Y}},
		{{X: outer.Min.X, Y: middle.Y}, {X: frame.Min.X, Y: middle.Y}},
		{{X: frame.Max.X, Y: middle.Y}, {X: outer.Max.X, Y: middle.Y}},
	} {
		c.Line(mark, pen)
	}
}
