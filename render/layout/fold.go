package layout

import (
	"slices"

	"ferrule/netlist/model"
	"ferrule/render/geom"
)

// A Room is how much of a sheet a diagram may take: the drawing area of a paper, less its margin.
type Room struct{ Width, Height geom.Length }

// holds reports whether a drawing fits.
func (r Room) holds(d *Drawing) bool { return d.Width <= r.Width && d.Height <= r.Height }

// mayHold reports whether a drawing could fit once it is folded: that does not make it smaller, only less tall, and seldom takes
// away more than a quarter of its white space.
func (r Room) mayHold(d *Drawing) bool {
	return r.Width.Mm()*r.Height.Mm()*1.3 > d.Width.Mm()*d.Height.Mm()
}

// foldable is the index of the first room for which a diagram is folded: on the smallest paper, folding would make more
// marks than lines.
const foldable = 1

// drawFor lays out a sheet for the smallest of the rooms that takes it. A diagram is as tall as its longest chain of
// wires, and often narrow; where that needs larger paper than its width does, the chain is cut, and its lower part goes
// on beside the upper one, with a pair of marks at each wire, as current-track drawings have always done. Rooms hold two
// ways of each size, upright and lying; upright goes first, since a taller sheet needs fewer cuts.
func (a *assignment) drawFor(s *sheet, rooms [][]Room) (*Drawing, error) {
	whole, err := a.build(s).draw(0)
	if err != nil {
		return nil, err
	}
	for i, ways := range rooms {
		for _, room := range ways {
			if room.holds(whole) {
				return whole, nil
			}
		}
		for _, room := range ways {
			if i < foldable || !room.mayHold(whole) {
				continue
			}
			folded, err := a.foldedFor(s, room)
			if err != nil {
				return nil, err
			}
			if folded != nil {
				return folded, nil
			}
		}
	}
	return whole, nil
}

// foldedFor folds a diagram for a room; nil where it does not fit. The index strip may turn out lower than was thought: then
// it is tried once more, with that much more room for what stands above it.
func (a *assignment) foldedFor(s *sheet, room Room) (*Drawing, error) {
	for height, tries := room.Height, 0; tries < 2; tries++ {
		d, err := a.build(s).draw(height)
		if err != nil {
			return nil, err
		}
		if room.holds(d) && d.cuts() <= max(2, len(d.Wires)/3) {
			return d, nil
		}
		if d.Height >= room.Height {
			return nil, nil
		}
		height += room.Height - d.Height
	}
	return nil, nil
}

// mostCuts is how many wires a fold may cut at most, and a diagram has no more than a third of its wires cut: more marks
// than that are harder to follow than a larger sheet.
const mostCuts = 6

// cuts counts the wires that go on on the same diagram by marks.
func (d *Drawing) cuts() int {
	drawn, cut := map[*model.Wire]bool{}, 0
	for _, e := range d.Edges {
		drawn[e.Wire] = true
	}
	for _, e := range d.Edges {
		if e.Stub != nil && drawn[e.Stub] {
			cut++
		}
	}
	return cut
}

// foldMark is what the marks at a cut add to the height of either part.
const foldMark = MarkArrow + MarkLength

// fold cuts a piece that is taller than the limit and returns its parts from the top down, arranged and measured for
// themselves. Without a place to cut it is returned as it is.
func (b *builder) fold(top, limit geom.Length) ([]*builder, error) {
	if err := b.arrange(); err != nil {
		return nil, err
	}
	foot := b.place(&Drawing{}, top)
	if limit == 0 || foot <= limit {
		return []*builder{b}, nil
	}
	row := b.foldRow(top, limit)
	if row == 0 {
		return []*builder{b}, nil
	}
	b.cutAbove(row)
	var out []*builder
	for _, piece := range b.pieces() {
		parts, err := piece.fold(top, limit)
		if err != nil {
			return nil, err
		}
		out = append(out, parts...)
	}
	return out, nil
}

// foldRow chooses the row above which the piece is cut: with few cuts, in few parts, as far down as can be. 0 for none.
func (b *builder) foldRow(top, limit geom.Length) int {
	best, bestCost := 0, 0
	for row := 1; row < len(b.grid); row++ {
		if b.feet[row-1]+foldMark > limit {
			break
		}
		cuts, ok := b.cuts(row)
		if !ok || len(cuts) > mostCuts {
			continue
		}
		below := top + foldMark + b.feet[len(b.feet)-1] - b.feet[row-1]
		cost := len(cuts) + 3*int((below-1)/limit)
		if best == 0 || cost <= bestCost {
			best, bestCost = row, cost
		}
	}
	return best
}

// upperPart returns the nodes that stay above a cut. A mark or a ground stays with what it is at.
func (b *builder) upperPart(row int) map[*Node]bool {
	upper := map[*Node]bool{}
	for _, n := range b.nodes {
		upper[n] = n.row < row
	}
	for _, e := range b.edges {
		if e.Upper == nil {
			continue
		}
		if n := e.Upper.node; n.leaf() && !e.Lower.node.leaf() {
			upper[n] = upper[e.Lower.node]
		}
		if n := e.Lower.node; n.leaf() && !e.Upper.node.leaf() {
			upper[n] = upper[e.Upper.node]
		}
	}
	return upper
}

// leaf reports whether the node ends a wire and is nothing that one looks for.
func (n *Node) leaf() bool { return n.Form == Mark || n.Form == Ground }

// cuts returns the edges that a cut above the row goes through; false where it cannot go.
func (b *builder) cuts(row int) (cut []*Edge, ok bool) {
	upper := b.upperPart(row)
	count := map[bool]int{} // of what either part has besides marks and grounds: without any, it would be cut again and again
	for _, n := range b.nodes {
		if n.Form != passing && !n.leaf() {
			count[upper[n]]++
		}
	}
	for _, e := range b.edges {
		if e.Upper == nil || upper[e.Upper.node] == upper[e.Lower.node] {
			continue
		}
		if !upper[e.Upper.node] || e.Screen != nil || e.Stub != nil {
			return nil, false
		}
		cut = append(cut, e)
	}
	return cut, count[true] > 0 && count[false] > 0
}

// cutAbove parts the piece: every wire that is cut ends at a mark, and its end comes in at another one. The wire itself, with
// its lettering, stays with the upper part.
func (b *builder) cutAbove(row int) {
	cut, _ := b.cuts(row)
	b.nodes = slices.DeleteFunc(b.nodes, func(n *Node) bool { return n.Form == passing })
	for _, n := range b.nodes {
		n.row, n.col = 0, 0
	}
	for _, e := range b.edges {
		e.chain, e.bends, e.Line = nil, nil, nil
	}
	for _, e := range cut {
		below, above := e.Lower, e.Upper
		goesOn := b.mark(below.Pin, e)
		goesOn.level = above.node.level + 1e-9
		comesIn := b.mark(above.Pin, e)
		comesIn.level, comesIn.Other.Drawn = below.node.level-1e-9, e.Wire != nil
		rest := &Edge{Stub: e.Wire, Link: e.Link}
		rest.Upper, rest.Lower = b.port(&comesIn.Bottom, end{comesIn, above.Pin}), below
		e.Lower = b.port(&goesOn.Top, end{goesOn, below.Pin})
		rest.Upper.Edge, rest.Lower.Edge, e.Lower.Edge = rest, rest, e
		b.edges = append(b.edges, rest)
		for _, n := range []*Node{goesOn, comesIn} {
			n.size(b.a.g.Netlist)
		}
	}
}
