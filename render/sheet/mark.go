package sheet

import (
	"ferrule/netlist/diag"
	"ferrule/render/canvas"
	"ferrule/render/geom"
)

// A mark is a small shape that stands for a word, so that a page can be scanned and still reads without colour.
type mark uint8

const (
	noMark mark = iota
	errorMark
	warningMark
	noteMark
	acceptedMark
	boxMark    // to tick by hand
	tickedMark // a box that the status file has ticked
)

// markOf returns the shape of a severity.
func markOf(s diag.Severity) mark {
	switch s {
	case diag.Error:
		return errorMark
	case diag.Warning:
		return warningMark
	}
	return noteMark
}

// draw draws the shape about its centre: a filled square for an error, a hollow triangle for a warning, a ring for a
// note, a tick for what is accepted, a box to tick, a box with a cross for what is done.
func (m mark) draw(c canvas.Canvas, at geom.Point) {
	half := markSize/2 - canvas.Width0p5/2
	pen := canvas.Stroke{Width: canvas.Width0p5, Color: canvas.Ink}
	switch m {
	case errorMark:
		c.Rect(geom.Rect{Min: at, Max: at}.Inset(-half), pen, canvas.SolidFill(canvas.Ink))
	case warningMark:
		c.Polygon([]geom.Point{{X: at.X, Y: at.Y - half}, {X: at.X + half, Y: at.Y + half}, {X: at.X - half, Y: at.Y + half}}, pen, canvas.Fill{})
	case noteMark:
		c.Circle(at, half, pen, canvas.Fill{})
	case boxMark, tickedMark:
		thin := canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Ink}
		c.Rect(geom.Rect{Min: at, Max: at}.Inset(-half), thin, canvas.Fill{})
		if m == tickedMark {
			c.Line(geom.Polyline{{X: at.X - half, Y: at.Y - half}, {X: at.X + half, Y: at.Y + half}}, pen)
			c.Line(geom.Polyline{{X: at.X - half, Y: at.Y + half}, {X: at.X + half, Y: at.Y - half}}, pen)
		}
	case acceptedMark:
		c.Line(geom.Polyline{{X: at.X - half, Y: at.Y}, {X: at.X - half/3, Y: at.Y + half}, {X: at.X + half, Y: at.Y - half}}, pen)
	}
}

// boxOf is a box to tick, or one that is ticked already.
func boxOf(done bool) mark {
	if done {
		return tickedMark
	}
	return boxMark
}
