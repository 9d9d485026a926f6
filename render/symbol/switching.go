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

// The changeovers: of a relay or a switch, hinged at the foot or at the head, with the contact that is joined at rest on the
// leads or, swapped, beside them.
func init() {
	for _, down := range []bool{false, true} {
		for _, swapped := range []bool{false, true} {
			up, ending := 1.0, ""
			if down {
				up, ending = -1, " down"
			}
			if swapped {
				ending += " swapped"
			}
			register("relay changeover"+ending, "contact of a relay that changes over, at rest", func(p pen) { p.changeover(up, true, swapped, false) })
			register("switch changeover"+ending, "switch that changes over, at rest", func(p pen) { p.changeover(up, true, swapped, true) })
			register("switch changeover open"+ending, "switch to two sides, open at rest", func(p pen) { p.changeover(up, false, swapped, true) })
		}
	}
}

// contact is how far the second contact of a changeover stands to the right of the first.
const contact = 3.6

// changeover draws a blade hinged at the foot, or with up = -1 at the head, between two contacts: the one on the leads, or
// swapped the one beside them, is joined at rest, unless the blade stands between them. A switch has its handle on the left.
func (p pen) changeover(up float64, rests, swapped, handle bool) {
	end := 5.5 // half the height of a symbol
	p.line(0, 3.2*up, 0, end*up)
	tip, left, right := contact/2, -3.2, -2.4 // how far the contacts reach towards the hinge
	switch {
	case !rests:
		p.line(0, 3.2*up, tip, -2.6*up)
	case swapped:
		tip, left, right = contact-0.9, -2.4, -3.2
		p.line(contact, -3.2*up, contact-1.6, -3.2*up)
		p.line(0, 3.2*up, tip, -3.5*up)
	default:
		tip = 0.9
		p.line(0, -3.2*up, 1.6, -3.2*up)
		p.line(0, 3.2*up, tip, -3.5*up)
	}
	p.line(0, -end*up, 0, left*up)
	p.line(contact, -end*up, contact, right*up)
	if handle {
		p.line(tip/2, 0, -3, 0)
		p.line(-3, -1, -3, 1)
	}
}
