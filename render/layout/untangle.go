package layout

import (
	"cmp"
	"slices"

	"ferrule/render/geom"
)

// A diagram of the trade has a few crossings that a change or two take away; one with more than tangled is a tangle in any
// order. Of others mostTrials orders are tried, or as many as keep the work within mostWork, in nodes laid out.
const (
	tangled    = 8
	mostTrials = 240
	mostWork   = 8000
)

// untangle changes the order within the rows while lines cross and another order crosses less. Graphviz counts crossings
// between rows as if lines were straight and ended anywhere; ours are led round symbols and end at terminals, so its order is
// good and seldom the best. Here every order that is tried is laid out, and the crossings of what would be drawn are counted.
// The contacts of a changeover change sides, and neighbours of a row change places, alone or with what hangs on them below
// or above, as long as that helps.
func (b *builder) untangle() {
	u := &untangler{builder: b, best: b.crossings()}
	if u.best == 0 || u.best > tangled {
		return
	}
	u.most = min(mostTrials, mostWork/len(b.nodes))
	for u.pass() {
	}
	b.stand()
}

// An untangler is the state of untangle: the least crossings so far, the trials made and how many there may be.
type untangler struct {
	*builder
	best, trials, most int
}

// pass tries every change once and reports whether one helped and more are allowed.
func (u *untangler) pass() (improved bool) {
	for _, n := range u.nodes {
		if n.changesOver() {
			n.swap()
			if u.better() {
				improved = true
			} else {
				n.swap()
			}
		}
	}
	for r, row := range u.grid {
		for i := 0; i+1 < len(row); i++ {
			for distance := 1; distance <= 2 && i+distance < len(row); distance++ {
				if u.moved(r, i, distance) {
					improved = true
					break
				}
				if u.best == 0 || u.trials > u.most {
					return false
				}
			}
		}
	}
	return improved
}

// moved tries to move a node of a row to the right: alone, then with the rows below, then with those above brought into the
// order of what they hang on. It reports whether that helped; if not, all is as it was.
func (u *untangler) moved(r, from, distance int) bool {
	before := make([][]*Node, len(u.grid))
	for i, row := range u.grid {
		before[i] = slices.Clone(row)
	}
	for _, follow := range []func(){func() {}, func() { u.follow(r+1, len(u.grid), 1) }, func() { u.follow(r-1, -1, -1) }} {
		row := u.grid[r]
		node := row[from]
		copy(row[from:], row[from+1:from+distance+1])
		row[from+distance] = node
		u.spreadRows()
		follow()
		if u.better() {
			return true
		}
		for i := range before {
			copy(u.grid[i], before[i])
		}
	}
	return false
}

// better reports whether the order crosses less than any before.
func (u *untangler) better() bool {
	u.trials++
	u.stand()
	now := u.crossings()
	if now >= u.best {
		return false
	}
	u.best = now
	return true
}

// follow sorts rows by the places of what they hang on in the row before, one after the other; what hangs on nothing there
// keeps its place.
func (u *untangler) follow(first, end, way int) {
	for r := first; r != end; r += way {
		sum, count := map[*Node]float64{}, map[*Node]float64{}
		for _, s := range u.steps {
			near, far, port := s.lower, s.upper, s.upperPort
			if way < 0 {
				near, far, port = s.upper, s.lower, s.lowerPort
			}
			if near != nil && far != nil && near.row == r {
				sum[near] += far.x + float64(offset(port)) - float64(far.width)/2
				count[near]++
			}
		}
		place := func(n *Node) float64 {
			if count[n] == 0 {
				return n.x
			}
			return sum[n] / count[n]
		}
		slices.SortStableFunc(u.grid[r], func(m, n *Node) int { return cmp.Compare(place(m), place(n)) })
		u.spreadRows()
	}
}

// spreadRows sets the nodes of every row side by side, for their order.
func (b *builder) spreadRows() {
	for _, row := range b.grid {
		for i, n := range row {
			n.x = 0
			if i > 0 {
				n.x = row[i-1].x + float64(row[i-1].width+n.width)/2
			}
		}
	}
}

// stand gives the nodes their columns in the order of the rows.
func (b *builder) stand() {
	b.spreadRows()
	b.sortPorts(func(n *Node) float64 { return n.x })
	b.columns(b.grid, b.steps)
	b.sortPorts(func(n *Node) float64 { return float64(n.col) + float64(n.width)/2 })
	b.columns(b.grid, b.steps)
	b.closeGaps()
}

// crossings counts where the lines of the piece would cross as it stands, those from symbols to their wires included.
func (b *builder) crossings() int {
	b.place(&Drawing{}, 0)
	var level, upright []geom.Segment
	for _, e := range b.edges {
		level, upright = parted(e.Line, level, upright)
	}
	for _, n := range b.nodes {
		for _, l := range n.Leads {
			level, upright = parted(l, level, upright)
		}
	}
	count := 0
	for _, h := range level {
		for _, v := range upright {
			if h.Crosses(v) {
				count++
			}
		}
	}
	return count
}

// parted adds the segments of a line to those that run level and those that are upright.
func parted(l geom.Polyline, level, upright []geom.Segment) (_, _ []geom.Segment) {
	for i := 1; i < len(l); i++ {
		s := geom.Segment{A: l[i-1], B: l[i]}
		if s.Horizontal() {
			level = append(level, s)
		} else {
			upright = append(upright, s)
		}
	}
	return level, upright
}
