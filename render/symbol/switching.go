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
	_ = register("relay changeover", "contact of a relay that changes over, at rest", func(p pen) { p.changeover(1, true, false) })
	_ = register("relay changeover down", "contact of a relay that changes over, at rest", func(p pen) { p.changeover(-1, true, false) })
	_ = register("switch changeover", "switch that changes over, at rest", func(p pen) { p.changeover(1, true, true) })
	_ = register("switch changeover down", "switch that changes over, at rest", func(p pen) { p.changeover(-1, true, true) })
	_ = register("switch changeover open", "switch to two sides, open at rest", func(p pen) { p.changeover(1, false, true) })
	_ = register("switch changeover open down", "switch to two sides, open at rest", func(p pen) { p.changeover(-1, false, true) })
	_ = register("relay coil", "winding of a relay", func(p pen) {
		p.lead(-2, 2)
		p.rect(-3.6, -2, 3.6, 2)
		p.line(-1.2, 2, 1.2, -2)
	})
)

// contact is how far the second contact of a changeover stands to the right of the first.
const contact = 3.6

// changeover draws a blade hinged at the foot, or with up = -1 at the head, between two contacts: the one on the leads is
// joined at rest, unless the blade stands between them. A switch has its handle on the left.
func (p pen) changeover(up float64, rests, handle bool) {
	end := 5.5 // half the height of a symbol
	p.line(0, -end*up, 0, -3.2*up)
	p.line(0, 3.2*up, 0, end*up)
	p.line(contact, -end*up, contact, -2.4*up)
	tip := contact / 2
	if rests {
		tip = 0.9
		p.line(0, -3.2*up, 1.6, -3.2*up)
		p.line(0, 3.2*up, tip, -3.5*up)
	} else {
		p.line(0, 3.2*up, tip, -2.6*up)
	}
	if handle {
		p.line(tip/2, 0, -3, 0)
		p.line(-3, -1, -3, 1)
	}
}
