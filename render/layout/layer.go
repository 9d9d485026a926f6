package layout

import (
	"cmp"
	"slices"
)

// layer gives every node a row, so that each edge leads from a higher row to a lower one, and puts a passing node into
// every row that an edge goes through.
//
// Rows are longest distances from the top (row 0 hangs from the rails). A node that nothing feeds is then let down to
// just above what it feeds, so that sensors stand over their module and not under the rails.
func (b *builder) layer() {
	order := slices.Clone(b.nodes)
	slices.SortStableFunc(order, func(x, y *Node) int {
		return cmp.Or(cmp.Compare(x.level, y.level), cmp.Compare(x.index, y.index))
	})
	for _, n := range order {
		for _, p := range n.Bottom {
			low := p.Edge.Lower.node
			low.row = max(low.row, n.row+1)
		}
	}
	slices.Reverse(order)
	for _, n := range order {
		if len(n.Bottom) == 0 || !hangsFree(n) {
			continue
		}
		row := n.Bottom[0].Edge.Lower.node.row
		for _, p := range n.Bottom {
			row = min(row, p.Edge.Lower.node.row)
		}
		n.row = row - 1
	}
	for _, e := range b.edges {
		b.pass(e)
	}
}

// hangsFree reports whether nothing above holds the node: no wire, no rail.
func hangsFree(n *Node) bool { return len(n.Top) == 0 }

// pass adds the passing nodes of an edge.
func (b *builder) pass(e *Edge) {
	from := 0
	if e.Upper != nil {
		from = e.Upper.node.row + 1
	}
	for row := from; row < e.Lower.node.row; row++ {
		n := &Node{Form: passing, row: row, width: 1, index: len(b.nodes)}
		b.nodes = append(b.nodes, n)
		e.chain = append(e.chain, n)
	}
}

// rows returns the nodes by row, each row in the order of creation.
func (b *builder) rows() [][]*Node {
	last := 0
	for _, n := range b.nodes {
		last = max(last, n.row)
	}
	rows := make([][]*Node, last+1)
	for _, n := range b.nodes {
		rows[n.row] = append(rows[n.row], n)
	}
	return rows
}

// A step is the piece of an edge between two rows that follow each other: from a port or a passing node to the next.
type step struct {
	upper, lower         *Node // upper is nil below a rail
	upperPort, lowerPort *Port // nil at passing nodes
	edge                 *Edge
	index                int // in edge.cols and edge.bends
}

// cut cuts the edges into pieces that span one gap each.
func (b *builder) cut() []step {
	var out []step
	for _, e := range b.edges {
		s := step{edge: e, upperPort: e.Upper}
		if e.Upper != nil {
			s.upper = e.Upper.node
		}
		for _, n := range e.chain {
			s.lower, s.lowerPort = n, nil
			out = append(out, s)
			s = step{edge: e, upper: n, index: s.index + 1}
		}
		s.lower, s.lowerPort = e.Lower.node, e.Lower
		out = append(out, s)
	}
	return out
}
