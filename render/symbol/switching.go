package symbol

// Contacts and windings, drawn at rest. IEC 60617: a blade hinged at the foot; a winding is a rectangle across the leads.
var (
	_ = register("switch", "switch, at rest", func(p pen) {
		p.lead(-3.2, 3.2)
		p.line(0, 3.2, -2.8, -2.6)
		p.line(-1.7, -0.3, -3.6, -0.3)
		p.line(-3.6, -1.3, -3.6, 0.7)
	})
	_ = register("relay contact", "contact of a relay, at rest", func(p pen) {
		p.lead(-3.2, 3.2)
		p.line(0, 3.2, -2.8, -2.6)
		p.circle(0, -3.6, 0.5)
	})
	_ = register("switch closed", "switch that is closed at rest", func(p pen) {
		p.lead(-3.2, 3.2)
		p.line(0, 3.2, 1.1, -3.4)
		p.line(0, -3.2, 2.2, -3.2)
		p.line(0.6, -0.3, -3.6, -0.3)
		p.line(-3.6, -1.3, -3.6, 0.7)
	})
	_ = register("relay contact closed", "contact of a relay that is closed at rest", func(p pen) {
		p.lead(-3.2, 3.2)
		p.line(0, 3.2, 1.1, -3.4)
		p.line(0, -3.2, 2.2, -3.2)
	})
	_ = register("relay coil", "winding of a relay", func(p pen) {
		p.lead(-2, 2)
		p.rect(-3.6, -2, 3.6, 2)
		p.line(-1.2, 2, 1.2, -2)
	})
)
