package layout

import (
	"slices"

	"ferrule/netlist/model"
)

// inline names the symbols that have a form with one port above and one below.
var inline = map[string]bool{
	"fuse": true, "breaker": true, "switch": true, "diode": true, "resistor": true, "capacitor": true, "lamp": true, "motor": true,
	"heater": true, "coil": true, "horn": true, "sensor": true, "battery": true, "relay coil": true, "relay contact": true,
	"generator": true, "starter": true,
}

// finish decides between symbols in line and boxes, now that the ports are known.
func (b *builder) finish() {
	for _, n := range b.nodes {
		switch {
		case n.Form == Box && inline[n.Symbol]:
			b.symbolize(n)
		case n.Form == Inline && n.Symbol == "cavity":
			b.mated(n)
		case n.Form == Inline && (len(n.Top) == 0 || len(n.Bottom) == 0):
			n.Form = Joint // a terminal that all its wires leave on one side
		case n.Form == Inline:
			n.shape.terms = []term{{pin: n.Top[0].Pin, above: true}, {pin: n.Bottom[0].Pin}}
		}
		if n.Form == Box {
			b.doubled(n)
		}
	}
}

// used returns the terminals that have ports, in the order in which they came.
func (n *Node) used() []model.PinID {
	var pins []model.PinID
	for _, side := range [...][]*Port{n.Top, n.Bottom} {
		for _, p := range side {
			if !slices.Contains(pins, p.Pin) {
				pins = append(pins, p.Pin)
			}
		}
	}
	return pins
}

// mated gives the place where two cavities meet its shape: that half is above that has more of its wires there.
func (b *builder) mated(n *Node) {
	above, below := n.pins[0], model.NoPin
	if len(n.pins) > 1 {
		below = n.pins[1]
	}
	if below != model.NoPin && n.againstTheGrain(below, above) < n.againstTheGrain(above, below) {
		above, below = below, above
	}
	n.shape.terms = []term{{pin: above, above: true}, {pin: below}}
	n.Lines = nil
	if below != model.NoPin {
		n.Lines = []string{b.a.g.Netlist.Pin(below).String()}
	}
	n.Ref = b.a.g.Netlist.Pin(above).String()
}

// againstTheGrain counts the wires that have to be led round the symbol when one terminal is above and the other below.
func (n *Node) againstTheGrain(above, below model.PinID) int {
	count := 0
	for _, p := range n.Top {
		if p.Pin == below {
			count++
		}
	}
	for _, p := range n.Bottom {
		if p.Pin == above {
			count++
		}
	}
	return count
}

// symbolize makes a part a symbol in line when the symbol tells all of it: two terminals, one terminal and the case, or
// a contact that changes over.
func (b *builder) symbolize(n *Node) {
	used := n.used()
	switch len(used) {
	case 1:
		if id, ok := n.Part.Owner.Pin(model.CasePin); ok && n.Part.Body != nil && id != used[0] && n.Partner == "" {
			n.Case = true
			b.twoTerminals(n, used[0], id)
		} else if other := b.otherOf(n, used[0]); other != model.NoPin {
			b.twoTerminals(n, used[0], other)
		}
	case 2:
		if !n.caseWorks(used) {
			b.twoTerminals(n, used[0], used[1])
		}
	case 3:
		b.changeover(n, used)
	}
}

// caseWorks reports whether the case of a part is a terminal besides those wired, as of an alternator: a symbol with two
// leads would then leave one out.
func (n *Node) caseWorks(used []model.PinID) bool {
	id, ok := n.Part.Owner.Pin(model.CasePin)
	if !ok || n.Part.Body == nil || slices.Contains(used, id) {
		return false
	}
	in := &n.Part.Inside
	return slices.ContainsFunc(in.Loads, func(l model.Load) bool { return l.A == id || l.B == id }) ||
		slices.ContainsFunc(in.Sources, func(s model.Source) bool { return s.Plus == id || s.Minus == id }) ||
		slices.ContainsFunc(in.Positions, func(p model.Position) bool {
			return slices.ContainsFunc(p.Joins, func(group []model.PinID) bool { return slices.Contains(group, id) })
		})
}

// otherOf returns the second terminal of a part, or of its coil or contact, of which only the first has a wire.
func (b *builder) otherOf(n *Node, pin model.PinID) model.PinID {
	if len(n.pins) == 2 {
		return n.pins[0] + n.pins[1] - pin
	}
	return model.NoPin
}

// twoTerminals chooses which terminal is at the head: that of a battery which is live, else so that as few wires as can
// be are led round, else the one nearer to supply.
func (b *builder) twoTerminals(n *Node, p, q model.PinID) {
	switch {
	case n.Case:
	case n.Symbol == "battery" && len(n.Part.Inside.Sources) > 0:
		source := n.Part.Inside.Sources[0]
		p, q = source.Plus, source.Minus
		if b.a.g.Netlist.Harness.PositiveGround {
			p, q = q, p
			n.Symbol = "battery minus up"
		}
	case n.againstTheGrain(q, p) < n.againstTheGrain(p, q), n.againstTheGrain(q, p) == n.againstTheGrain(p, q) && b.a.level[q] < b.a.level[p]:
		p, q = q, p
	}
	n.Form = Inline
	n.shape.terms = []term{{pin: p, above: true}, {pin: q}}
	b.orient(n, p, q)
}

// orient chooses the form of a symbol that depends on how the part is wired: which way a diode stands, and whether a
// contact between the two terminals is closed at rest.
func (b *builder) orient(n *Node, top, bottom model.PinID) {
	between := func(p model.Pair) bool { return p.A == top && p.B == bottom || p.A == bottom && p.B == top }
	in := &n.Part.Inside
	switch n.Symbol {
	case "diode":
		if slices.ContainsFunc(in.Diodes, func(d model.Pair) bool { return d.A == bottom && d.B == top }) {
			n.Symbol = "diode up"
		}
	case "switch", "relay contact":
		closed := slices.ContainsFunc(in.Closed, between)
		if len(in.Positions) > 0 {
			closed = slices.ContainsFunc(in.Positions[in.Rest].Joins, func(group []model.PinID) bool {
				return slices.Contains(group, top) && slices.Contains(group, bottom)
			})
		}
		if closed {
			n.Symbol += " closed"
		}
	}
	if n.Partner != "" || n.Symbol == "diode" || n.Symbol == "diode up" { // terminals that must not be mixed up
		netlist := b.a.g.Netlist
		n.Lines = append([]string{netlist.Pin(top).Name + "-" + netlist.Pin(bottom).Name}, n.Lines...)
	}
}

// changeover makes a part with three wired terminals a contact that changes over, if it is one: a common terminal that is
// joined to one or to the other.
func (b *builder) changeover(n *Node, used []model.PinID) {
	common, resting, other, rests := changeoverOf(&n.Part.Inside, used)
	if common == model.NoPin {
		return
	}
	best := -1
	for _, above := range [...]bool{true, false} {
		terms := []term{{pin: resting, above: above}, {pin: other, above: above, lead: 1}, {pin: common, above: !above}}
		before := n.shape.terms
		n.shape.terms = terms
		loops := 0
		for i := range terms {
			if _, back := n.at(i); back > 0 {
				loops++
			}
		}
		if loops > 2 || best >= 0 && loops >= best {
			n.shape.terms = before
			continue
		}
		best = loops
	}
	if best < 0 {
		return
	}
	n.Form = Inline
	switch n.Symbol {
	case "relay contact":
		n.Symbol = "relay changeover"
	default:
		n.Symbol = "switch changeover"
		if !rests {
			n.Symbol = "switch changeover open"
		}
	}
	if !n.shape.terms[0].above {
		n.Symbol += " down"
	}
}

// changeoverOf finds the terminal that is joined to one or the other of two, and which of them at rest (rests), if any.
func changeoverOf(in *model.Inside, used []model.PinID) (common, resting, other model.PinID, rests bool) {
	none := func() (model.PinID, model.PinID, model.PinID, bool) {
		return model.NoPin, model.NoPin, model.NoPin, false
	}
	var pairs []model.Pair
	rest := -1
	switch {
	case len(in.Positions) > 0:
		for i, position := range in.Positions {
			for _, group := range position.Joins {
				if len(group) != 2 || len(position.Joins) > 1 {
					return none()
				}
				if i == in.Rest {
					rest = len(pairs)
				}
				pairs = append(pairs, model.Pair{A: group[0], B: group[1]})
			}
		}
	case len(in.Open) == 1 && len(in.Closed) == 1:
		pairs, rest = []model.Pair{in.Closed[0], in.Open[0]}, 0
	}
	if len(pairs) != 2 {
		return none()
	}
	if rest == 1 {
		pairs[0], pairs[1] = pairs[1], pairs[0]
	}
	p, q := pairs[0], pairs[1]
	switch {
	case p.A == q.A:
		common, resting, other = p.A, p.B, q.B
	case p.A == q.B:
		common, resting, other = p.A, p.B, q.A
	case p.B == q.A:
		common, resting, other = p.B, p.A, q.B
	case p.B == q.B:
		common, resting, other = p.B, p.A, q.A
	default:
		return none()
	}
	for _, pin := range [...]model.PinID{common, resting, other} {
		if !slices.Contains(used, pin) {
			return none()
		}
	}
	if common == resting || common == other || resting == other {
		return none()
	}
	return common, resting, other, rest >= 0
}

// doubled marks the lower ports of a box whose terminal has wires above as well: they are led round the box to the
// terminal, for a terminal that stood above and below would look like two.
func (b *builder) doubled(n *Node) {
	for _, p := range n.Bottom {
		if slices.ContainsFunc(n.Top, func(q *Port) bool { return q.Pin == p.Pin }) {
			p.back = true
			n.returns++
		}
	}
}
