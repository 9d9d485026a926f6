// Package symbol is the symbol set of the circuit diagrams: our own drawing, on the conventions of IEC 60617 that a
// mechanic knows from any wiring diagram.
//
// It takes a canvas and a place and draws; it knows nothing of parts and nets. It may import canvas and geom. A symbol
// in line stands between two points of one vertical: its leads begin at the top and end at the foot of the given height,
// and nothing reaches farther than Half to either side.
package symbol

import (
	"slices"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// Half is how far a symbol reaches to either side of its leads.
const Half = 4 * geom.MM

// A Symbol is one drawing with its meaning in words.
type Symbol struct {
	Name string
	Says string // for the legend
	draw func(p pen)
}

var all []*Symbol

// register adds a symbol; the files of the symbols call it once each.
func register(name, says string, draw func(p pen)) *Symbol {
	s := &Symbol{Name: name, Says: says, draw: draw}
	all = append(all, s)
	return s
}

// Find returns the symbol of a name, or nil.
func Find(name string) *Symbol {
	i := slices.IndexFunc(all, func(s *Symbol) bool { return s.Name == name })
	if i < 0 {
		return nil
	}
	return all[i]
}

// Names returns the names of all symbols, sorted.
func Names() []string {
	var names []string
	for _, s := range all {
		names = append(names, s.Name)
	}
	slices.Sort(names)
	return names
}

// Draw draws the symbol with its leads from top down over the height.
func (s *Symbol) Draw(c canvas.Canvas, top geom.Point, height geom.Length) {
	s.draw(pen{c: c, top: top, height: height})
}

// pen draws in millimetres around the middle of the symbol: x to the right, y down.
type pen struct {
	c      canvas.Canvas
	top    geom.Point
	height geom.Length
}

func (p pen) at(x, y float64) geom.Point {
	return geom.Pt(p.top.X+geom.Mm(x), p.top.Y+p.height/2+geom.Mm(y))
}

var thin = canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}

// lead draws the two leads up to the body that lies between y and foot.
func (p pen) lead(y, foot float64) {
	p.c.Line(geom.Polyline{p.top, p.at(0, y)}, thin)
	p.c.Line(geom.Polyline{p.at(0, foot), geom.Pt(p.top.X, p.top.Y+p.height)}, thin)
}

// line draws straight pieces through x, y pairs.
func (p pen) line(xy ...float64) { p.c.Line(p.points(xy), thin) }

func (p pen) points(xy []float64) geom.Polyline {
	var line geom.Polyline
	for i := 0; i+1 < len(xy); i += 2 {
		line = append(line, p.at(xy[i], xy[i+1]))
	}
	return line
}

func (p pen) rect(x0, y0, x1, y1 float64) {
	p.c.Rect(geom.RectOf(p.at(x0, y0), p.at(x1, y1)), thin, canvas.SolidFill(canvas.White))
}

func (p pen) circle(x, y, r float64) {
	p.c.Circle(p.at(x, y), geom.Mm(r), thin, canvas.SolidFill(canvas.White))
}

func (p pen) solid(xy ...float64) {
	p.c.Polygon(p.points(xy), canvas.Stroke{}, canvas.SolidFill(canvas.Ink))
}

// letter writes a letter of the symbol itself, such as the M of a motor, centred.
func (p pen) letter(x, y float64, s string) {
	p.c.Text(canvas.Text{At: p.at(x, y+1.25), Face: font.Bold, Height: font.Height2p5, Anchor: canvas.Middle, String: s, Color: canvas.Ink})
}
