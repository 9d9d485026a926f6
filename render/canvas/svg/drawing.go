package svg

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"math"
	"strings"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A drawing prints calls as elements. Errors of the writer wait in it until the end (bufio.Writer keeps the first).
type drawing struct {
	out   *bufio.Writer
	named map[string]bool // pages and anchors that have their id
}

var _ canvas.Canvas = (*drawing)(nil)

func (d *drawing) print(format string, values ...any) { fmt.Fprintf(d.out, format, values...) }

// escape makes any string fit for an attribute or for text. Characters that XML 1.0 cannot hold become U+FFFD.
func escape(s string) string {
	var out strings.Builder
	// A strings.Builder never fails.
	_ = xml.EscapeText(&out, []byte(s))
	return out.String()
}

// BeginGroup implements canvas.Canvas.
func (d *drawing) BeginGroup(g canvas.Group) {
	d.print(`<g data-kind="%s"`, escape(g.Kind))
	if g.Ref != "" {
		d.print(` data-ref="%s"`, escape(g.Ref))
	}
	d.print(">\n")
	if g.Title != "" {
		d.print("<title>%s</title>\n", escape(g.Title))
	}
}

// EndGroup implements canvas.Canvas.
func (d *drawing) EndGroup() { d.print("</g>\n") }

// Line implements canvas.Canvas.
func (d *drawing) Line(line geom.Polyline, s canvas.Stroke) {
	if len(line) >= 2 && s.Draws() {
		d.print(`<polyline points="%s"%s/>`+"\n", pointList(line), paint(s, canvas.Fill{}))
	}
}

// Rect implements canvas.Canvas.
func (d *drawing) Rect(area geom.Rect, s canvas.Stroke, f canvas.Fill) {
	if look := paint(s, f); look != "" {
		d.print(`<rect x="%s" y="%s" width="%s" height="%s"%s/>`+"\n",
			area.Min.X, area.Min.Y, area.Width(), area.Height(), look)
	}
}

// Circle implements canvas.Canvas.
func (d *drawing) Circle(center geom.Point, radius geom.Length, s canvas.Stroke, f canvas.Fill) {
	if look := paint(s, f); look != "" && radius > 0 {
		d.print(`<circle cx="%s" cy="%s" r="%s"%s/>`+"\n", center.X, center.Y, radius, look)
	}
}

// Arc implements canvas.Canvas.
func (d *drawing) Arc(center geom.Point, radius geom.Length, start, sweep canvas.Degrees, s canvas.Stroke) {
	from, through := canvas.CounterClockwise(start, sweep)
	if through == 0 || radius <= 0 || !s.Draws() {
		return
	}
	if through == 360 {
		d.Circle(center, radius, s, canvas.Fill{})
		return
	}
	a, b := onCircle(center, radius, from), onCircle(center, radius, from+through)
	large := 0
	if through > 180 {
		large = 1
	}
	d.print(`<path d="M%s %s A%s %s 0 %d 0 %s %s"%s/>`+"\n", a.X, a.Y, radius, radius, large, b.X, b.Y,
		paint(s, canvas.Fill{}))
}

// onCircle returns the point of the circle at an angle, to the micrometre.
func onCircle(center geom.Point, radius geom.Length, angle canvas.Degrees) geom.Point {
	sin, cos := math.Sincos(float64(angle) * math.Pi / 180)
	return geom.Pt(center.X+geom.Length(math.Round(float64(radius)*cos)), center.Y-geom.Length(math.Round(float64(radius)*sin)))
}

// Polygon implements canvas.Canvas.
func (d *drawing) Polygon(points []geom.Point, s canvas.Stroke, f canvas.Fill) {
	if look := paint(s, f); look != "" && len(points) >= 3 {
		d.print(`<polygon points="%s"%s/>`+"\n", pointList(points), look)
	}
}

// Text implements canvas.Canvas.
func (d *drawing) Text(t canvas.Text) {
	t.String = font.Drawable(t.String)
	if !t.Draws() {
		return
	}
	d.print(`<text x="%s" y="%s" font-family="%s" font-size="%s" fill="%s"`,
		t.At.X, t.At.Y, family(t.Face), font.EmSize(t.Face, t.Height), t.Color)
	if t.Face == font.Bold {
		d.print(` font-weight="bold"`)
	}
	// The width is stated too: a reader's machine that lacks the face takes another one, which would run into what stands beside.
	if width := font.Width(t.Face, t.Height, t.String); width > 0 {
		d.print(` textLength="%s" lengthAdjust="spacingAndGlyphs"`, width)
	}
	if t.Anchor != canvas.Start {
		d.print(` text-anchor="%s"`, t.Anchor)
	}
	if t.Upright() {
		d.print(` transform="rotate(-90 %s %s)"`, t.At.X, t.At.Y)
	}
	if t.String != strings.Join(strings.Fields(t.String), " ") {
		d.print(` xml:space="preserve"`)
	}
	d.print(">%s</text>\n", escape(t.String))
}

// family names the face, and what comes near to it where it is missing. The width of a text is stated beside it.
func family(face font.Face) string {
	if face == font.Mono {
		return "Go Mono, monospace"
	}
	return "Go, sans-serif"
}

// Link implements canvas.Canvas: a rectangle that is not seen and can be clicked.
func (d *drawing) Link(area geom.Rect, target string) {
	d.print(`<a xlink:href="#%s" data-target="%s"><rect x="%s" y="%s" width="%s" height="%s" pointer-events="all"/></a>`+"\n",
		ID(target), escape(target), area.Min.X, area.Min.Y, area.Width(), area.Height())
}

// Anchor implements canvas.Canvas: an element of no extent that carries the id. A second one of the name is left out,
// because an id stands once in a file.
func (d *drawing) Anchor(name string, at geom.Point) {
	if d.named[name] {
		return
	}
	d.named[name] = true
	d.print(`<path id="%s" d="M%s %s"/>`+"\n", ID(name), at.X, at.Y)
}

func pointList(points []geom.Point) string {
	texts := make([]string, len(points))
	for i, p := range points {
		texts[i] = p.String()
	}
	return strings.Join(texts, " ")
}

// paint returns the attributes of an outline and a fill; empty when neither leaves a mark.
func paint(s canvas.Stroke, f canvas.Fill) string {
	look := ""
	if f.Solid {
		look = fmt.Sprintf(` fill="%s"`, f.Color)
	}
	if !s.Draws() {
		return look
	}
	look += fmt.Sprintf(` stroke="%s" stroke-width="%s"`, s.Color, s.Width)
	if len(s.Dash) > 0 {
		texts := make([]string, len(s.Dash))
		for i, length := range s.Dash {
			texts[i] = length.String()
		}
		look += fmt.Sprintf(` stroke-dasharray="%s"`, strings.Join(texts, " "))
	}
	return look
}
