package layout

import (
	"cmp"
	"slices"

	"ferrule/netlist/model"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A shape is how a symbol lies in its cell. A symbol has one terminal at its head or foot, or two side by side (the
// contacts of a changeover). A wire that comes from the other side than its terminal is led round the symbol, to the
// left or to the right, so that a device is its symbol whichever side its wires come from.
type shape struct {
	terms []term
	core  int // column of the symbol's axis within the node
}

// A term is one terminal of a symbol.
type term struct {
	pin   model.PinID
	above bool
	lead  int // columns to the right of the axis: 1 for the second contact of a changeover
	round int // where wires from the other side are led round the symbol: -1 left, 1 right, 0 when there are none
}

// roundGap is the room above or below a symbol for a lead that goes round it.
const roundGap = 3 * geom.MM

// caseDepth is the room below a symbol for the sign of the metal that it is bolted to.
const caseDepth = 5 * geom.MM

// contactOffset is where the second contact of a changeover stands beside the axis.
const contactOffset = 3600 * geom.Micrometre

// term returns the index of the terminal that a port is at, and whether the port is on the terminal's own side.
func (s *shape) term(p *Port, top bool) (index int, direct bool) {
	index = -1
	for i, t := range s.terms {
		if t.pin == p.Pin && t.above == top {
			return i, true
		}
		if t.pin == p.Pin {
			index = i
		}
	}
	return index, false
}

func (n *Node) side(top bool) []*Port {
	if top {
		return n.Top
	}
	return n.Bottom
}

// at counts the ports of a terminal on its own side, and those on the other.
func (n *Node) at(index int) (direct, back int) {
	for _, top := range [...]bool{true, false} {
		for _, p := range n.side(top) {
			if i, own := n.shape.term(p, top); i == index && own {
				direct++
			} else if i == index {
				back++
			}
		}
	}
	return direct, back
}

// pair reports whether two terminals stand side by side on a side.
func (s *shape) pair(top bool) bool {
	return slices.ContainsFunc(s.terms, func(t term) bool { return t.above == top && t.lead == 1 })
}

func (s *shape) width() int {
	if s.pair(true) || s.pair(false) {
		return 2
	}
	return 1
}

// reach is how many columns the wires at a side's own terminals take left and right of the axis.
func (n *Node) reach(top bool) (left, right int) {
	for i, t := range n.shape.terms {
		if t.above != top {
			continue
		}
		direct, _ := n.at(i)
		switch {
		case t.lead == 1:
			right = max(right, direct)
		case n.shape.pair(top):
			left = max(left, direct-1)
			right = max(right, 1)
		default:
			right = max(right, direct-1)
		}
	}
	return left, right
}

// round returns how many ports are led round to a side of the cell on the left or on the right.
func (n *Node) round(top bool, way int) int {
	for i, t := range n.shape.terms {
		if t.above != top && t.round == way {
			_, back := n.at(i)
			return back
		}
	}
	return 0
}

// chooseRounds decides which leads go round left and which right: by where their wires come from, and so that they never
// cross. It reports false where the shape has more of them than ways round.
func (n *Node) chooseRounds(place func(*Port, bool) float64) bool {
	var loops []int
	mean := make([]float64, len(n.shape.terms))
	for i := range n.shape.terms {
		n.shape.terms[i].round = 0
		if _, back := n.at(i); back > 0 {
			loops = append(loops, i)
			mean[i] = n.mean(i, place)
		}
	}
	way := func(i int) int { // the way that a terminal has no choice in
		if t := n.shape.terms[i]; n.shape.pair(t.above) {
			return 2*t.lead - 1
		}
		return 0
	}
	switch len(loops) {
	case 0:
	case 1:
		t := &n.shape.terms[loops[0]]
		if t.round = way(loops[0]); t.round == 0 {
			t.round = -1
			if here, any := n.direct(!t.above, place); any && mean[loops[0]] > here {
				t.round = 1
			}
		}
	case 2:
		first, second := loops[0], loops[1]
		if way(first) == 1 || way(second) == -1 || way(first) == 0 && way(second) == 0 && mean[first] > mean[second] {
			first, second = second, first
		}
		n.shape.terms[first].round, n.shape.terms[second].round = -1, 1
	default:
		return false
	}
	return true
}

// mean is the place that the wires led round from a terminal come from.
func (n *Node) mean(index int, place func(*Port, bool) float64) float64 {
	sum, count := 0.0, 0.0
	top := !n.shape.terms[index].above
	for _, p := range n.side(top) {
		if i, own := n.shape.term(p, top); i == index && !own {
			sum += place(p, top)
			count++
		}
	}
	return sum / max(1, count)
}

// direct is the place that the wires at a side's own terminals come from, if there are any.
func (n *Node) direct(top bool, place func(*Port, bool) float64) (float64, bool) {
	sum, count := 0.0, 0.0
	for _, p := range n.side(top) {
		if _, own := n.shape.term(p, top); own {
			sum += place(p, top)
			count++
		}
	}
	return sum / max(1, count), count > 0
}

// rank is the place of a port from left to right by what it is led to.
func (n *Node) rank(p *Port, top bool) int {
	i, own := n.shape.term(p, top)
	if i < 0 {
		return 0
	}
	if t := n.shape.terms[i]; !own {
		return 3 * t.round
	} else {
		return t.lead
	}
}

// arrange sorts the ports of a symbol by what they are led to and then by place, and gives them their columns.
func (n *Node) arrange(place func(*Port, bool) float64) {
	n.chooseRounds(place)
	for _, top := range [...]bool{true, false} {
		slices.SortStableFunc(n.side(top), func(p, q *Port) int {
			return cmp.Or(cmp.Compare(n.rank(p, top), n.rank(q, top)), cmp.Compare(place(p, top), place(q, top)))
		})
	}
	n.spread()
}

// spread gives the ports of a symbol their columns, in the order in which they stand.
func (n *Node) spread() {
	s := &n.shape
	s.core = 0
	if s.width() > 1 {
		s.core = n.beside() // a changeover has names to the left of its axis
	}
	for _, top := range [...]bool{true, false} {
		left, _ := n.reach(top)
		if k := n.round(top, -1); k > 0 {
			s.core = max(s.core, left+n.beside()+k-1)
		}
		s.core = max(s.core, left)
	}
	for _, top := range [...]bool{true, false} {
		left, _ := n.reach(top)
		next := map[int]int{-3: s.core - left - n.beside() - n.round(top, -1) + 1, 0: s.core - left, 1: s.core + 1, 3: n.roundColumn(top, 1)}
		for _, p := range n.side(top) {
			rank := n.rank(p, top)
			p.offset = next[rank]
			next[rank]++
		}
	}
}

// roundColumn is the column beside the symbol in which a lead goes round it to a side of the cell.
func (n *Node) roundColumn(top bool, way int) int {
	left, right := n.reach(top)
	if way < 0 {
		return n.shape.core - left - n.beside()
	}
	return n.shape.core + max(n.shape.width(), right+1)
}

// beside is how many columns left of the axis a lead goes round: one more where a long name stands between.
func (n *Node) beside() int {
	if n.shape.width() < 2 {
		return 1
	}
	for _, side := range [...][]*Port{n.Top, n.Bottom} {
		for _, p := range side {
			if font.Width(font.Regular, TextHeight, p.Name) > contactName {
				return 2
			}
		}
	}
	return 1
}

// extent returns how many columns symbol and wires take, and the x within the node at which the lettering can begin.
func (n *Node) extent() (columns int, lettering geom.Length) {
	s := &n.shape
	lettering = geom.Length(s.core+s.width()-1)*Pitch + Pitch/2 + SymbolHalf
	columns = s.core + s.width()
	for _, top := range [...]bool{true, false} {
		_, right := n.reach(top)
		columns = max(columns, s.core+right+1)
		if k := n.round(top, 1); k > 0 {
			column := n.roundColumn(top, 1)
			columns = max(columns, column+k)
			lettering = max(lettering, geom.Length(column)*Pitch+Pitch/2+SideGap)
		}
	}
	return columns, lettering
}

// widest returns the most that extent can give whichever way the leads go round.
func (n *Node) widest() (columns int, lettering geom.Length) {
	ways := 1
	if n.changesOver() {
		ways = 2
	}
	for range ways {
		columns, lettering = n.widestAs(columns, lettering)
		if ways == 2 {
			n.swap() // there and back
		}
	}
	return columns, lettering
}

// changesOver reports whether the symbol has two contacts side by side.
func (n *Node) changesOver() bool { return n.shape.width() == 2 }

// swap puts the contacts of a changeover in each other's place: what it does is the same, and its wires may cross less.
func (n *Node) swap() {
	n.Swapped = !n.Swapped
	above := n.shape.pair(true)
	for i := range n.shape.terms {
		if t := &n.shape.terms[i]; t.above == above {
			t.lead = 1 - t.lead
		}
	}
}

// widestAs is widest with the contacts as they stand.
func (n *Node) widestAs(columns int, lettering geom.Length) (int, geom.Length) {
	for _, sign := range [...]float64{1, -1} {
		for _, bias := range [...]float64{0, 1, -1} {
			place := func(p *Port, top bool) float64 {
				i, own := n.shape.term(p, top)
				if own {
					return 0
				}
				return bias + sign*float64(2*i-1)/4
			}
			n.arrange(place)
			c, l := n.extent()
			columns, lettering = max(columns, c), max(lettering, l)
		}
	}
	return columns, lettering
}

// margins are the rooms that forks and leads round the symbol need above and below it.
func (n *Node) margin(top bool) geom.Length {
	depth := geom.Length(0)
	counts := map[int]int{}
	for _, p := range n.side(top) {
		counts[n.rank(p, top)]++
	}
	for _, k := range counts {
		if k > 1 {
			depth = forkHeight
		}
	}
	for i, t := range n.shape.terms {
		if _, back := n.at(i); t.above == top && back > 0 {
			return depth + roundGap
		}
	}
	return depth
}

// lead draws the thin lines from the ports to the symbol and puts the ports at their points. The cell and the body stand.
func (n *Node) leads() {
	n.Leads, n.Dots, n.Names = nil, nil, nil
	left := n.Cell.Min.X + Pitch/2
	column := func(c int) geom.Length { return left + geom.Length(c)*Pitch }
	n.Axis = column(n.shape.core)
	edge := map[bool]geom.Length{true: n.Body.Min.Y, false: n.Body.Max.Y}
	fork := map[bool]geom.Length{true: n.Cell.Min.Y + forkHeight/2, false: n.Cell.Min.Y + n.height - forkHeight/2}
	for i, t := range n.shape.terms {
		var own, back []*Port
		for _, top := range [...]bool{true, false} {
			for _, p := range n.side(top) {
				switch j, direct := n.shape.term(p, top); {
				case j != i:
				case direct:
					own = append(own, p)
				default:
					back = append(back, p)
				}
			}
		}
		at := geom.Pt(column(n.shape.core+t.lead), edge[t.above])
		if t.lead == 1 {
			n.Leads = append(n.Leads, geom.Polyline{geom.Pt(n.Axis+contactOffset, at.Y), at})
		}
		n.gather(own, at, fork[t.above])
		n.nameContact(t, append(own, back...), at.Y)
		if len(back) == 0 {
			continue
		}
		turn := at.Y - roundGap/2
		if !t.above {
			turn = at.Y + roundGap/2
		}
		way := column(n.roundColumn(!t.above, t.round))
		end := geom.Pt(way, edge[!t.above])
		lead := geom.Polyline{geom.Pt(at.X, turn), geom.Pt(way, turn), end}
		if len(own) > 0 { // it parts from what comes to the terminal directly
			n.Dots = append(n.Dots, lead[0])
		} else {
			lead = append(geom.Polyline{at}, lead...)
		}
		n.Leads = append(n.Leads, lead)
		n.gather(back, end, fork[!t.above])
	}
	_, lettering := n.extent()
	n.Side = n.Cell.Min.X + lettering
}

// gather brings ports together at a point: one port directly, several by a bar with a dot for each.
func (n *Node) gather(ports []*Port, at geom.Point, bar geom.Length) {
	if len(ports) < 2 {
		for _, p := range ports {
			p.At = at
		}
		return
	}
	low, high := at.X, at.X
	for _, p := range ports {
		p.At = geom.Pt(n.Cell.Min.X+Pitch/2+geom.Length(p.offset)*Pitch, bar)
		low, high = min(low, p.At.X), max(high, p.At.X)
		n.Dots = append(n.Dots, p.At)
	}
	n.Leads = append(n.Leads, geom.Polyline{at, geom.Pt(at.X, bar)}, geom.Polyline{geom.Pt(low, bar), geom.Pt(high, bar)})
}

// nameContact letters a terminal of a changeover beside the lead of the symbol.
func (n *Node) nameContact(t term, ports []*Port, edge geom.Length) {
	if n.shape.width() < 2 || len(ports) == 0 {
		return
	}
	y := edge + TextHeight + nameGap
	if !t.above {
		y = edge - nameGap
	}
	l := Lettering{Text: font.Fit(font.Regular, TextHeight, ports[0].Name, geom.Length(n.beside()-1)*Pitch+contactName), At: geom.Pt(n.Axis-700*geom.Micrometre, y), Left: true}
	if t.lead == 1 {
		l.At.X, l.Left = n.Axis+contactOffset+700*geom.Micrometre, false
	}
	n.Names = append(n.Names, l)
}

// nameGap is from the end of a contact's lead to its name.
const nameGap = 1300 * geom.Micrometre

// contactName is the room for the name of a terminal beside a changeover.
const contactName = 6200 * geom.Micrometre
