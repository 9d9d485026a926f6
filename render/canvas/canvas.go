// Package canvas is the drawing vocabulary of the sheets: a dozen calls that every sheet is drawn with and every output
// format understands.
//
// A sheet draws itself once into a Recorder, which keeps each call as a value. The page that comes out is what tests
// read (where does this text stand, does that line pass through it), what golden files print (Dump) and what the formats
// replay: canvas/pdf and canvas/svg each implement Canvas and know nothing of wires. The package may import render/geom
// and render/font and nothing else of ours.
//
// Coordinates are micrometres from the top left corner of the sheet, y downwards. What is drawn later covers what was
// drawn before.
package canvas

import (
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A Canvas is something to draw a sheet on. BeginGroup and EndGroup pair up; every other call is complete in itself and
// leaves no state behind.
type Canvas interface {
	// BeginGroup opens a group: what is drawn until its EndGroup belongs to one thing. Groups nest.
	BeginGroup(Group)
	// EndGroup closes the group opened last.
	EndGroup()
	// Line draws the chain of straight segments through the points. Fewer than two points draw nothing.
	Line(geom.Polyline, Stroke)
	// Rect draws an upright rectangle: filled first, then outlined.
	Rect(geom.Rect, Stroke, Fill)
	// Circle draws a circle: filled first, then outlined.
	Circle(center geom.Point, radius geom.Length, stroke Stroke, fill Fill)
	// Arc draws a piece of a circle's outline. It starts at the angle start and runs through sweep, both counted
	// counter-clockwise as printed, from three o'clock. A sweep of 360 or more is the whole circle.
	Arc(center geom.Point, radius geom.Length, start, sweep Degrees, stroke Stroke)
	// Polygon draws the closed shape through the points: filled first, then outlined. Fewer than three points draw
	// nothing.
	Polygon(points []geom.Point, stroke Stroke, fill Fill)
	// Text draws one line of text. An empty string or a height of zero draws nothing.
	Text(Text)
	// Link makes the rectangle lead to a page (by its Name) or an anchor (by its name). A target that the document does
	// not have makes no link: a set of chosen sheets simply loses the links to the others.
	Link(area geom.Rect, target string)
	// Anchor names a place on the page that links can lead to. The first anchor of a name in the document counts, and a
	// page of that name comes before it.
	Anchor(name string, at geom.Point)
}

// A Group says what a part of the drawing shows. It becomes <g data-kind data-ref><title> in SVG; a PDF has no use for
// it.
type Group struct {
	Kind  string // what it is: "wire", "part", "pin", "splice", "net-label", "rail", "frame" ...
	Ref   string // its designator, "K1" or "W101"; empty where there is none
	Title string // words for a person who points at it; may be empty
}

// InGroup draws inside a group, which it opens and closes.
func InGroup(c Canvas, g Group, draw func()) {
	c.BeginGroup(g)
	draw()
	c.EndGroup()
}

// Degrees is an angle in whole degrees, counter-clockwise as printed.
type Degrees int32

// A Stroke is how a line is drawn: its ends are cut off square, its corners are round. The zero Stroke, like any of zero
// width, draws nothing.
type Stroke struct {
	Width geom.Length
	Color Color
	Dash  []geom.Length // lengths drawn and left out in turn; empty for a continuous line
}

// Line widths of ISO 128, in the standard's steps of the square root of two. Source:
// testdata/reference/sheet-rules.csv, rows ISO 128.
const (
	Width0p18 = 180 * geom.Micrometre
	Width0p25 = 250 * geom.Micrometre
	Width0p35 = 350 * geom.Micrometre
	Width0p5  = 500 * geom.Micrometre
	Width0p7  = 700 * geom.Micrometre
	Width1    = 1 * geom.MM
	Width1p4  = 1400 * geom.Micrometre
)

// Draws reports whether the stroke leaves a mark.
func (s Stroke) Draws() bool { return s.Width > 0 }

// A Fill is how an area is painted. The zero Fill paints nothing, so that a shape is hollow unless somebody says
// otherwise.
type Fill struct {
	Color Color
	Solid bool
}

// SolidFill paints an area in one colour.
func SolidFill(c Color) Fill { return Fill{Color: c, Solid: true} }

// A TextAnchor says which point of a text stands at its At. The zero value is Start.
type TextAnchor uint8

// The points of a text that can be placed, along its baseline.
const (
	Start TextAnchor = iota
	Middle
	End
)

// String returns the anchor's name in a golden file.
func (a TextAnchor) String() string {
	switch a {
	case Middle:
		return "middle"
	case End:
		return "end"
	default:
		return "start"
	}
}

// Text is one line of lettering.
type Text struct {
	At     geom.Point // on the baseline, at the start, middle or end of the text
	Face   font.Face
	Height geom.Length // of a capital, as ISO 3098 counts it
	Anchor TextAnchor
	Angle  Degrees // 0, or 90 for a text that reads upwards; any other value is drawn as 0
	String string
	Color  Color
}

// Upright reports whether the text reads upwards.
func (t Text) Upright() bool { return t.Angle == 90 }

// Draws reports whether the text leaves a mark.
func (t Text) Draws() bool { return t.String != "" && t.Height > 0 }

// Width returns how far the text advances along its baseline.
func (t Text) Width() geom.Length { return font.Width(t.Face, t.Height, t.String) }

// Origin returns where the baseline starts.
func (t Text) Origin() geom.Point {
	back := geom.Length(0)
	switch t.Anchor {
	case Middle:
		back = t.Width() / 2
	case End:
		back = t.Width()
	}
	if t.Upright() {
		return geom.Pt(t.At.X, t.At.Y+back)
	}
	return geom.Pt(t.At.X-back, t.At.Y)
}

// Bounds returns the box that the text takes on the sheet (see font.Box): its ink, and at least its advance along the
// baseline and the capital height above it.
func (t Text) Bounds() geom.Rect {
	box := font.Box(t.Face, t.Height, t.String)
	if t.Upright() {
		// Along the baseline is up the sheet, and below the baseline is to the right of it.
		box = geom.Rect{Min: geom.Pt(box.Min.Y, -box.Max.X), Max: geom.Pt(box.Max.Y, -box.Min.X)}
	}
	return box.Move(t.Origin())
}
