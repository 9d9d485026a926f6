package symbol

// Sources. IEC 60617: the long thin plate of a battery is plus.
var (
	_ = register("battery", "battery", func(p pen) {
		p.lead(-2.4, 2.4)
		p.line(-3.4, -2.4, 3.4, -2.4)
		p.solid(-1.6, -1.1, 1.6, -1.1, 1.6, -0.5, -1.6, -0.5)
		p.line(-3.4, 1, 3.4, 1)
		p.solid(-1.6, 2, 1.6, 2, 1.6, 2.6, -1.6, 2.6)
	})
	_ = register("battery minus up", "battery, plus below", func(p pen) {
		p.lead(-2.6, 2.4)
		p.solid(-1.6, -2.6, 1.6, -2.6, 1.6, -2, -1.6, -2)
		p.line(-3.4, -1, 3.4, -1)
		p.solid(-1.6, 0.5, 1.6, 0.5, 1.6, 1.1, -1.6, 1.1)
		p.line(-3.4, 2.4, 3.4, 2.4)
	})
	_ = register("generator", "alternator or dynamo", func(p pen) {
		p.lead(-3.4, 3.4)
		p.circle(0, 0, 3.4)
		p.letter(0, 0, "G")
	})
)
