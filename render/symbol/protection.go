package symbol

// Protective devices. IEC 60617: a fuse is a rectangle with the conductor through it.
var (
	_ = register("fuse", "fuse or fusible link", func(p pen) {
		p.lead(-3.5, 3.5)
		p.rect(-1.6, -3.5, 1.6, 3.5)
		p.line(0, -3.5, 0, 3.5)
	})
	_ = register("breaker", "circuit breaker", func(p pen) {
		p.lead(-3.5, 3.5)
		p.line(0, 3.5, -2.6, -2.6)
		p.line(-1, -4.5, 1, -2.5)
		p.line(-1, -2.5, 1, -4.5)
	})
)
