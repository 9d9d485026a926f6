package symbol

import (
	"ferrule/render/geom"
)

// Consumers. IEC 60617: a lamp is a circle with a cross, a machine a circle with its letter, a resistor a rectangle.
var (
	_ = register("lamp", "lamp", func(p pen) {
		p.lead(-3, 3)
		p.circle(0, 0, 3)
		p.line(-2.1, -2.1, 2.1, 2.1)
		p.line(-2.1, 2.1, 2.1, -2.1)
	})
	_ = register("motor", "motor", func(p pen) {
		p.lead(-3.4, 3.4)
		p.circle(0, 0, 3.4)
		p.letter(0, 0, "M")
	})
	_ = register("starter", "starter motor with solenoid", func(p pen) {
		p.lead(-3.4, 3.4)
		p.circle(0, 0, 3.4)
		p.letter(0, 0, "M")
		p.line(-3.9, -3.9, 3.9, -3.9)
	})
	_ = register("heater", "heating element", func(p pen) {
		p.lead(-3.8, 3.8)
		p.rect(-1.8, -3.8, 1.8, 3.8)
		for _, y := range []float64{-1.9, 0, 1.9} {
			p.line(-1.8, y, 1.8, y)
		}
	})
	_ = register("resistor", "resistor", func(p pen) {
		p.lead(-3.8, 3.8)
		p.rect(-1.5, -3.8, 1.5, 3.8)
	})
	_ = register("coil", "solenoid valve or injector", func(p pen) {
		p.lead(-3, 3)
		p.rect(-2.6, -3, 2.6, 3)
		p.line(-2.6, 3, 2.6, -3)
		p.line(-2.6, -3, 2.6, 3)
	})
	_ = register("horn", "horn", func(p pen) {
		p.lead(-2.6, 2.6)
		p.c.Arc(p.at(0, 0), geom.Mm(3.4), -90, 180, thin)
		p.line(0, -3.4, 0, 3.4)
		p.line(3.4, -1.4, 3.9, -2.2)
		p.line(3.4, 1.4, 3.9, 2.2)
	})
	_ = register("diode", "diode, current flows toward the bar", func(p pen) {
		p.lead(-1.8, 1.8)
		p.solid(-2.2, -1.8, 2.2, -1.8, 0, 1.8)
		p.line(-2.2, 1.8, 2.2, 1.8)
	})
	_ = register("diode up", "diode, current flows toward the bar", func(p pen) {
		p.lead(-1.8, 1.8)
		p.solid(-2.2, 1.8, 2.2, 1.8, 0, -1.8)
		p.line(-2.2, -1.8, 2.2, -1.8)
	})
	_ = register("capacitor", "capacitor", func(p pen) {
		p.lead(-0.7, 0.7)
		p.line(-3, -0.7, 3, -0.7)
		p.line(-3, 0.7, 3, 0.7)
	})
	_ = register("sensor", "sensor or sender", func(p pen) {
		p.lead(-3.2, 3.2)
		p.rect(-2, -3.2, 2, 3.2)
		p.line(-3.6, 2.6, -2.6, 2.6, 2.6, -2.6, 3.6, -2.6)
	})
)
