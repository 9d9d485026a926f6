package canvas

import (
	"slices"
	"strings"
	"unicode/utf8"

	"ferrule/render/font"
	"ferrule/render/geom"
)

// A Page is one sheet as drawn: a size and the calls that draw it, in order.
type Page struct {
	Name  string     // short and unique in the document; links lead here by it, files are named after it
	Title string     // in words, for outlines and window titles
	Size  geom.Point // width and height
	About string     // what such a sheet shows and is for, to be read aloud; may be empty
	Ops   []Op
}

// Bounds returns the page from corner to corner.
func (p *Page) Bounds() geom.Rect { return geom.Rect{Max: p.Size} }

// Undrawn reports whether a text on the page has characters that the faces lack, and stands there with the replacement
// character for them (font.Drawable).
func (p *Page) Undrawn() bool {
	return slices.ContainsFunc(p.Ops, func(o Op) bool { return strings.ContainsRune(o.Text.String, utf8.RuneError) })
}

// An OpKind says which call an Op keeps.
type OpKind uint8

// One kind for each method of Canvas.
const (
	OpBegin OpKind = iota + 1
	OpEnd
	OpLine
	OpRect
	OpCircle
	OpArc
	OpPolygon
	OpText
	OpLink
	OpAnchor
)

// An Op is one call on a Canvas, kept as a value. Which fields count depends on the kind.
type Op struct {
	Kind   OpKind
	Groups []Group       // the groups around it, outermost first; of OpBegin and OpEnd, its own group is the last
	Points geom.Polyline // OpLine, OpPolygon: all points; OpCircle, OpArc: the centre; OpAnchor: the place
	Area   geom.Rect     // OpRect, OpLink
	Radius geom.Length   // OpCircle, OpArc
	From   Degrees       // OpArc: where it starts
	Sweep  Degrees       // OpArc: how far it runs
	Stroke Stroke        // the shapes
	Fill   Fill          // OpRect, OpCircle, OpPolygon
	Text   Text          // OpText
	Target string        // OpLink: where it leads; OpAnchor: its name
}

// Group returns the innermost group around the op, or the zero Group.
func (o Op) Group() Group {
	if len(o.Groups) == 0 {
		return Group{}
	}
	return o.Groups[len(o.Groups)-1]
}

// In reports whether the op lies in a group of that kind, at any depth. An empty ref matches every ref.
func (o Op) In(kind, ref string) bool {
	return slices.ContainsFunc(o.Groups, func(g Group) bool {
		return g.Kind == kind && (ref == "" || g.Ref == ref)
	})
}

// Bounds returns the box that the op takes on the sheet, half a line width around shapes included, and whether it takes
// any. Groups, anchors and what draws nothing take none. The box of an arc is that of its whole circle.
func (o Op) Bounds() (geom.Rect, bool) {
	switch o.Kind {
	case OpText:
		return o.Text.Bounds(), o.Text.Draws()
	case OpLink:
		return o.Area, true
	case OpRect:
		return o.Area.Inset(-o.Stroke.Width / 2), o.Stroke.Draws() || o.Fill.Solid
	case OpCircle, OpArc:
		center := geom.Rect{Min: o.Points[0], Max: o.Points[0]}
		return center.Inset(-o.Radius - o.Stroke.Width/2), o.Stroke.Draws() || o.Fill.Solid
	case OpLine:
		return o.Points.Bounds().Inset(-o.Stroke.Width / 2), o.Stroke.Draws() && len(o.Points) >= 2
	case OpPolygon:
		return o.Points.Bounds().Inset(-o.Stroke.Width / 2), (o.Stroke.Draws() || o.Fill.Solid) && len(o.Points) >= 3
	default:
		return geom.Rect{}, false
	}
}

// A Recorder is a Canvas that keeps every call as an Op.
type Recorder struct {
	page *Page
	open []Group
}

var _ Canvas = (*Recorder)(nil)

// NewRecorder starts a page of the given size (width and height).
func NewRecorder(name, title string, size geom.Point) *Recorder {
	return &Recorder{page: &Page{Name: name, Title: title, Size: size}}
}

// Page returns the page as recorded. A group that was begun and not ended is a bug of the caller, and panics.
func (r *Recorder) Page() *Page {
	if len(r.open) > 0 {
		panic("canvas: group " + r.open[len(r.open)-1].Kind + " was not ended")
	}
	return r.page
}

// keep appends the op. The slices of groups are clipped, so that ops can share them and none can grow into another's.
func (r *Recorder) keep(o Op) {
	o.Groups = slices.Clip(r.open)
	r.page.Ops = append(r.page.Ops, o)
}

// BeginGroup implements Canvas.
func (r *Recorder) BeginGroup(g Group) {
	r.open = append(slices.Clip(r.open), g)
	r.keep(Op{Kind: OpBegin})
}

// EndGroup implements Canvas. Ending what was not begun is a bug of the caller, and panics.
func (r *Recorder) EndGroup() {
	if len(r.open) == 0 {
		panic("canvas: EndGroup without BeginGroup")
	}
	r.keep(Op{Kind: OpEnd})
	r.open = r.open[:len(r.open)-1]
}

// Line implements Canvas.
func (r *Recorder) Line(line geom.Polyline, s Stroke) {
	r.keep(Op{Kind: OpLine, Points: slices.Clone(line), Stroke: ownDash(s)})
}

// Rect implements Canvas.
func (r *Recorder) Rect(area geom.Rect, s Stroke, f Fill) {
	r.keep(Op{Kind: OpRect, Area: area, Stroke: ownDash(s), Fill: f})
}

// Circle implements Canvas.
func (r *Recorder) Circle(center geom.Point, radius geom.Length, s Stroke, f Fill) {
	r.keep(Op{Kind: OpCircle, Points: geom.Polyline{center}, Radius: radius, Stroke: ownDash(s), Fill: f})
}

// Arc implements Canvas.
func (r *Recorder) Arc(center geom.Point, radius geom.Length, start, sweep Degrees, s Stroke) {
	r.keep(Op{Kind: OpArc, Points: geom.Polyline{center}, Radius: radius, From: start, Sweep: sweep, Stroke: ownDash(s)})
}

// Polygon implements Canvas.
func (r *Recorder) Polygon(points []geom.Point, s Stroke, f Fill) {
	r.keep(Op{Kind: OpPolygon, Points: slices.Clone(points), Stroke: ownDash(s), Fill: f})
}

// Text implements Canvas. The string is kept as it can be drawn (font.Drawable), so that what is measured, what a golden
// file shows and what is printed are one and the same.
func (r *Recorder) Text(t Text) {
	t.String = font.Drawable(t.String)
	r.keep(Op{Kind: OpText, Text: t})
}

// Link implements Canvas.
func (r *Recorder) Link(area geom.Rect, target string) {
	r.keep(Op{Kind: OpLink, Area: area, Target: target})
}

// Anchor implements Canvas.
func (r *Recorder) Anchor(name string, at geom.Point) {
	r.keep(Op{Kind: OpAnchor, Points: geom.Polyline{at}, Target: name})
}

func ownDash(s Stroke) Stroke {
	s.Dash = slices.Clone(s.Dash)
	return s
}

// Replay draws the page onto another canvas, call for call.
func (p *Page) Replay(c Canvas) {
	for _, o := range p.Ops {
		o.replay(c)
	}
}

func (o Op) replay(c Canvas) {
	switch o.Kind {
	case OpBegin:
		c.BeginGroup(o.Group())
	case OpEnd:
		c.EndGroup()
	case OpLine:
		c.Line(o.Points, o.Stroke)
	case OpRect:
		c.Rect(o.Area, o.Stroke, o.Fill)
	case OpCircle:
		c.Circle(o.Points[0], o.Radius, o.Stroke, o.Fill)
	case OpArc:
		c.Arc(o.Points[0], o.Radius, o.From, o.Sweep, o.Stroke)
	case OpPolygon:
		c.Polygon(o.Points, o.Stroke, o.Fill)
	case OpText:
		c.Text(o.Text)
	case OpLink:
		c.Link(o.Area, o.Target)
	case OpAnchor:
		c.Anchor(o.Target, o.Points[0])
	}
}
