package symbol

import (
	"ferrule/render/canvas"
	"ferrule/render/geom"
)

// Where conductors meet. IEC 60617: a plug is a solid bar, its socket an arc round it; ground is three shrinking lines.
var (
	_ = register("cavity", "place in an in-line connector", func(p pen) {
		p.lead(-1.6, 1.4)
		p.solid(-0.5, -1.6, 0.5, -1.6, 0.5, 0.8, -0.5, 0.8)
		p.c.Arc(p.at(0, 0), geom.Mm(1.4), 180, 180, thin)
	})
	_ = register("terminal", "terminal of a panel", func(p pen) {
		p.lead(-0.9, 0.9)
		p.circle(0, 0, 0.9)
	})
	_ = register("ground", "ground point", func(p pen) {
		p.c.Line(geom.Polyline{p.top, p.at(0, 0)}, thin)
		p.line(-2.6, 0, 2.6, 0)
		p.line(-1.7, 0.9, 1.7, 0.9)
		p.line(-0.8, 1.8, 0.8, 1.8)
	})
	_ = register("case", "bolted to the metal of the vehicle by its case", func(p pen) {
		p.c.Line(geom.Polyline{p.top, p.at(0, -0.5)}, thin)
		p.line(-2.6, -0.5, 2.6, -0.5)
		for _, x := range []float64{-2.6, -0.4, 1.8} {
			p.line(x+0.8, -0.5, x, 1.3)
		}
	})
	_ = register("ground above", "ground point at the upper end of a strap", func(p pen) {
		p.c.Line(geom.Polyline{p.at(0, 0), geom.Pt(p.top.X, p.top.Y+p.height)}, thin)
		p.line(-2.6, 0, 2.6, 0)
		p.line(-1.7, -0.9, 1.7, -0.9)
		p.line(-0.8, -1.8, 0.8, -1.8)
	})
	_ = register("device", "device of another kind", func(p pen) {
		p.lead(-3, 3)
		p.rect(-3, -3, 3, 3)
	})
	_ = register("joint", "wires joined: splice, stud or bus bar", func(p pen) {
		p.lead(0, 0)
		p.c.Circle(p.at(0, 0), geom.Mm(0.8), canvas.Stroke{}, canvas.SolidFill(canvas.Ink))
		p.line(-3, 0, 3, 0)
	})
	_ = register("goes on", "wire goes on at the terminal, sheet and track named", func(p pen) {
		p.c.Line(geom.Polyline{p.top, p.at(0, 0)}, thin)
		p.solid(-1.2, -0.5, 1.2, -0.5, 0, 2)
	})
)
