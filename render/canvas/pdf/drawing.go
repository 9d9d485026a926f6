package pdf

import (
	"github.com/jung-kurt/gofpdf"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// pointsPerMM turns millimetres into the points that font sizes are given in.
const pointsPerMM = 72 / 25.4

// A drawing draws pages into the file.
type drawing struct {
	out     *gofpdf.Fpdf
	targets map[string]target
	links   map[string]int // the file's number of each link target used so far
	lettering
}

// lettering is the font that is set on the page; setting it again for every text would double the size of a table.
type lettering struct {
	face   font.Face
	height geom.Length
}

var _ canvas.Canvas = (*drawing)(nil)

// drawPart draws a page. Its window is cut out only where it is not the whole page: a clip that cuts nothing off would
// still cost every reader the work.
func (d *drawing) drawPart(part Part, lastHeight geom.Length) {
	p := part.Page
	d.out.AddPageFormat("P", sizeOf(p))
	d.out.SetLineJoinStyle("round")
	d.out.SetLineCapStyle("butt")
	d.lettering = lettering{}
	d.setFont(font.Regular, font.MinHeight)
	d.bookmark(p, lastHeight)
	if w := part.Window; w != p.Bounds() {
		d.out.ClipRect(w.Min.X.Mm(), w.Min.Y.Mm(), w.Width().Mm(), w.Height().Mm(), false)
		p.Replay(d)
		d.out.ClipEnd()
		d.lettering = lettering{} // the end of the clip brings back the font that was set before it
		d.setFont(font.Regular, font.MinHeight)
	} else {
		p.Replay(d)
	}
	if part.Over != nil {
		part.Over.Replay(d)
	}
}

// BeginGroup implements canvas.Canvas; a PDF keeps no groups.
func (d *drawing) BeginGroup(canvas.Group) {}

// EndGroup implements canvas.Canvas.
func (d *drawing) EndGroup() {}

// Line implements canvas.Canvas.
func (d *drawing) Line(line geom.Polyline, s canvas.Stroke) {
	if len(line) < 2 || !s.Draws() {
		return
	}
	d.setPen(s, canvas.Fill{})
	d.trace(line)
	d.out.DrawPath("D")
}

// Polygon implements canvas.Canvas.
func (d *drawing) Polygon(points []geom.Point, s canvas.Stroke, f canvas.Fill) {
	style := paintStyle(s, f)
	if len(points) < 3 || style == "" {
		return
	}
	d.setPen(s, f)
	d.trace(points)
	d.out.ClosePath()
	d.out.DrawPath(style)
}

// trace lays a path through the points. The pen is set before it: the format forbids changes of colour or width between
// a path and its painting (ISO 32000-1, on graphics objects; from memory).
func (d *drawing) trace(line geom.Polyline) {
	d.out.MoveTo(line[0].X.Mm(), line[0].Y.Mm())
	for _, p := range line[1:] {
		d.out.LineTo(p.X.Mm(), p.Y.Mm())
	}
}

// Rect implements canvas.Canvas.
func (d *drawing) Rect(area geom.Rect, s canvas.Stroke, f canvas.Fill) {
	if style := paintStyle(s, f); style != "" {
		d.setPen(s, f)
		d.out.Rect(area.Min.X.Mm(), area.Min.Y.Mm(), area.Width().Mm(), area.Height().Mm(), style)
	}
}

// Circle implements canvas.Canvas.
func (d *drawing) Circle(center geom.Point, radius geom.Length, s canvas.Stroke, f canvas.Fill) {
	if style := paintStyle(s, f); style != "" && radius > 0 {
		d.setPen(s, f)
		d.out.Circle(center.X.Mm(), center.Y.Mm(), radius.Mm(), style)
	}
}

// Arc implements canvas.Canvas.
func (d *drawing) Arc(center geom.Point, radius geom.Length, start, sweep canvas.Degrees, s canvas.Stroke) {
	from, through := canvas.CounterClockwise(start, sweep)
	if through == 0 || radius <= 0 || !s.Draws() {
		return
	}
	d.setPen(s, canvas.Fill{})
	d.out.Arc(center.X.Mm(), center.Y.Mm(), radius.Mm(), radius.Mm(), 0, float64(from), float64(from+through), "D")
}

// Text implements canvas.Canvas.
func (d *drawing) Text(t canvas.Text) {
	t.String = font.Drawable(t.String)
	if !t.Draws() {
		return
	}
	d.setFont(t.Face, t.Height)
	d.out.SetTextColor(int(t.Color.R), int(t.Color.G), int(t.Color.B))
	at := t.Origin()
	if !t.Upright() {
		d.out.Text(at.X.Mm(), at.Y.Mm(), t.String)
		return
	}
	d.out.TransformBegin()
	d.out.TransformRotate(90, at.X.Mm(), at.Y.Mm())
	d.out.Text(at.X.Mm(), at.Y.Mm(), t.String)
	d.out.TransformEnd()
}

// Link implements canvas.Canvas.
func (d *drawing) Link(area geom.Rect, name string) {
	if number, ok := d.linkTo(name); ok {
		d.out.Link(area.Min.X.Mm(), area.Min.Y.Mm(), area.Width().Mm(), area.Height().Mm(), number)
	}
}

// Anchor implements canvas.Canvas; the places were collected before the first page (targetsIn).
func (d *drawing) Anchor(string, geom.Point) {}

func (d *drawing) setFont(face font.Face, height geom.Length) {
	if wanted := (lettering{face, height}); d.lettering != wanted {
		d.out.SetFont(face.String(), "", font.EmSize(face, height).Mm()*pointsPerMM)
		d.lettering = wanted
	}
}

func (d *drawing) setPen(s canvas.Stroke, f canvas.Fill) {
	if f.Solid {
		d.out.SetFillColor(int(f.Color.R), int(f.Color.G), int(f.Color.B))
	}
	if !s.Draws() {
		return
	}
	d.out.SetDrawColor(int(s.Color.R), int(s.Color.G), int(s.Color.B))
	d.out.SetLineWidth(s.Width.Mm())
	dash := make([]float64, len(s.Dash))
	for i, length := range s.Dash {
		dash[i] = length.Mm()
	}
	d.out.SetDashPattern(dash, 0)
}

// paintStyle returns the writer's letters for what is to be done with a shape; empty when nothing is.
func paintStyle(s canvas.Stroke, f canvas.Fill) string {
	switch {
	case s.Draws() && f.Solid:
		return "DF"
	case s.Draws():
		return "D"
	case f.Solid:
		return "F"
	default:
		return ""
	}
}
