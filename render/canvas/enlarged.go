package canvas

import "ferrule/render/geom"

// Enlarged returns a canvas that passes every call on to another with all measures times permille/1000: places, sizes,
// lettering and line widths alike.
func Enlarged(to Canvas, permille int) Canvas { return enlarged{to, int64(permille)} }

type enlarged struct {
	to       Canvas
	permille int64
}

func (e enlarged) length(l geom.Length) geom.Length { return geom.Length(int64(l) * e.permille / 1000) }

func (e enlarged) point(p geom.Point) geom.Point { return geom.Pt(e.length(p.X), e.length(p.Y)) }

func (e enlarged) rect(r geom.Rect) geom.Rect {
	return geom.Rect{Min: e.point(r.Min), Max: e.point(r.Max)}
}

func (e enlarged) points(line []geom.Point) []geom.Point {
	out := make([]geom.Point, len(line))
	for i, p := range line {
		out[i] = e.point(p)
	}
	return out
}

func (e enlarged) stroke(s Stroke) Stroke {
	s.Width = e.length(s.Width)
	dash := make([]geom.Length, len(s.Dash))
	for i, l := range s.Dash {
		dash[i] = e.length(l)
	}
	s.Dash = dash
	return s
}

func (e enlarged) BeginGroup(g Group) { e.to.BeginGroup(g) }
func (e enlarged) EndGroup()          { e.to.EndGroup() }

func (e enlarged) Line(line geom.Polyline, s Stroke) { e.to.Line(e.points(line), e.stroke(s)) }

func (e enlarged) Rect(r geom.Rect, s Stroke, f Fill) { e.to.Rect(e.rect(r), e.stroke(s), f) }

func (e enlarged) Circle(center geom.Point, radius geom.Length, s Stroke, f Fill) {
	e.to.Circle(e.point(center), e.length(radius), e.stroke(s), f)
}

func (e enlarged) Arc(center geom.Point, radius geom.Length, start, sweep Degrees, s Stroke) {
	e.to.Arc(e.point(center), e.length(radius), start, sweep, e.stroke(s))
}

func (e enlarged) Polygon(points []geom.Point, s Stroke, f Fill) {
	e.to.Polygon(e.points(points), e.stroke(s), f)
}

func (e enlarged) Text(t Text) {
	t.At, t.Height = e.point(t.At), e.length(t.Height)
	e.to.Text(t)
}

func (e enlarged) Link(area geom.Rect, target string) { e.to.Link(e.rect(area), target) }
func (e enlarged) Anchor(name string, at geom.Point)  { e.to.Anchor(name, e.point(at)) }
