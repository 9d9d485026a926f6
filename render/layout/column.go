package layout

import (
	"cmp"
	"slices"
)

// sweeps is how often the rows are aligned with their neighbours, down and up in turn; more changes nothing to speak of.
const sweeps = 12

// columns gives every node its leftmost column: in each row the nodes keep their order and do not overlap, and stand as
// nearly as can be straight above and below what they are joined to.
//
// For one row with its neighbour held still, the least sum of sideways steps is an isotonic regression in the L1 norm:
// pool adjacent violators with weighted medians. Source: R. E. Barlow et al., "Statistical Inference under Order
// Restrictions" (1972), ch. 1. Sweeping it over the rows is the priority method of Sugiyama, Tagawa and Toda (1981).
func (b *builder) columns(rows [][]*Node, steps []step) {
	for _, row := range rows {
		at := 0
		for _, n := range row {
			n.col = at
			at += n.width
		}
	}
	ups, downs := map[*Node][]step{}, map[*Node][]step{}
	for _, s := range steps {
		if s.upper != nil {
			ups[s.lower] = append(ups[s.lower], s)
			downs[s.upper] = append(downs[s.upper], s)
		}
	}
	for i := range sweeps {
		for r := range rows {
			if i%2 == 0 {
				align(rows[r], ups, downs, i >= sweeps-2)
			} else {
				align(rows[len(rows)-1-r], downs, ups, i >= sweeps-2)
			}
		}
	}
	left := 0
	for _, n := range b.nodes {
		left = min(left, n.col)
	}
	for _, n := range b.nodes {
		n.col -= left
	}
}

// closeGaps takes out the columns that no node and no passing wire stands in.
func (b *builder) closeGaps() {
	right := 0
	for _, n := range b.nodes {
		right = max(right, n.col+n.width)
	}
	taken := make([]bool, right)
	for _, n := range b.nodes {
		for c := n.col; c < n.col+n.width; c++ {
			taken[c] = true
		}
	}
	shift, shifts := 0, make([]int, right)
	for c := range taken {
		shifts[c] = shift
		if !taken[c] {
			shift++
		}
	}
	for _, n := range b.nodes {
		n.col -= shifts[n.col]
	}
}

// wish is one pull at a node: to a column, with a weight.
type wish struct {
	col    int
	weight int
}

// wishes are the columns at which the node's edges on one side would be straight.
func wishes(n *Node, steps []step) []wish {
	var out []wish
	for _, s := range steps {
		other, ownOffset, otherOffset := s.upper, offset(s.lowerPort), offset(s.upperPort)
		if other == n {
			other, ownOffset, otherOffset = s.lower, offset(s.upperPort), offset(s.lowerPort)
		}
		weight := 1
		if other.Form == passing {
			weight++
		}
		if n.Form == passing {
			weight += 2
		}
		out = append(out, wish{other.col + otherOffset - ownOffset, weight})
	}
	return out
}

func offset(p *Port) int {
	if p == nil {
		return 0
	}
	return p.offset
}

// block is a run of nodes that stand shoulder to shoulder.
type block struct {
	first, last int
	wishes      []wish
	at          int
}

// align places one row against the neighbours in one direction, or in both.
func align(row []*Node, toward, away map[*Node][]step, both bool) {
	var blocks []block
	shift := 0
	shifts := make([]int, len(row))
	for i, n := range row {
		shifts[i] = shift
		pull := wishes(n, toward[n])
		if both || len(pull) == 0 {
			pull = append(pull, wishes(n, away[n])...)
		}
		if len(pull) == 0 {
			pull = []wish{{n.col, 1}}
		}
		for k := range pull {
			pull[k].col -= shift
		}
		blocks = append(blocks, block{first: i, last: i, wishes: pull, at: median(pull)})
		for len(blocks) > 1 && blocks[len(blocks)-2].at > blocks[len(blocks)-1].at {
			top := blocks[len(blocks)-1]
			blocks = blocks[:len(blocks)-1]
			under := &blocks[len(blocks)-1]
			under.last = top.last
			under.wishes = append(under.wishes, top.wishes...)
			under.at = median(under.wishes)
		}
		shift += n.width
	}
	for _, bl := range blocks {
		for i := bl.first; i <= bl.last; i++ {
			row[i].col = bl.at + shifts[i]
		}
	}
}

// median returns the weighted lower median of the wishes.
func median(w []wish) int {
	sorted := slices.Clone(w)
	slices.SortFunc(sorted, func(a, b wish) int { return cmp.Compare(a.col, b.col) })
	total := 0
	for _, x := range sorted {
		total += x.weight
	}
	sum := 0
	for _, x := range sorted {
		if sum += x.weight; 2*sum >= total {
			return x.col
		}
	}
	return sorted[len(sorted)-1].col
}
