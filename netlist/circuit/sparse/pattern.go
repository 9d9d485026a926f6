package sparse

import (
	"fmt"
	"math"
	"slices"
)

// Branch joins nodes A and B. Its current counts positive from A to B. Parallel
// branches are welcome; a branch from a node to itself never carries current.
type Branch struct{ A, B int32 }

// Pattern is what all states of a network share: which nodes are joined, the order
// in which they are eliminated, and where the factor has entries. It is immutable.
type Pattern struct {
	branches []Branch
	node     []int32 // elimination position -> node
	place    []int32 // node -> elimination position
	from, to []int32 // per branch: positions of A and B
	slot     []int   // per branch: its entry in rows, -1 for a branch from a node to itself
	start    []int   // column k of the factor is rows[start[k]:start[k+1]]
	rows     []int32 // positions below the diagonal, ascending in each column
}

// Analyze chooses the elimination order for a network of nodes 0..nodes-1 and finds
// the structure of its factor. The list is copied. It fails with an *InputError if
// a branch names a node that does not exist.
func Analyze(nodes int, branches []Branch) (*Pattern, error) {
	if nodes < 0 || nodes > math.MaxInt32 {
		return nil, &InputError{"nodes", -1, float64(nodes), fmt.Sprintf("%d is no count of nodes", nodes)}
	}
	for i, b := range branches {
		if b.A < 0 || b.B < 0 || int(b.A) >= nodes || int(b.B) >= nodes {
			problem := fmt.Sprintf("joins nodes %d and %d, but the nodes are 0 to %d", b.A, b.B, nodes-1)
			return nil, &InputError{"branch", i, 0, problem}
		}
	}
	p := &Pattern{branches: slices.Clone(branches)}
	e := newElimination(nodes, branches)
	e.run()
	p.relabel(e)
	p.locate()
	return p, nil
}

// Nodes is the number of nodes.
func (p *Pattern) Nodes() int { return len(p.node) }

// Branches is the number of branches, parallels and opens included.
func (p *Pattern) Branches() int { return len(p.branches) }

// Entries is the number of entries of the factor below its diagonal. A tree of n
// nodes has n-1; what is above that is fill.
func (p *Pattern) Entries() int { return len(p.rows) }

// relabel takes the order over from the elimination, in postorder of the elimination
// tree: an equivalent order (Liu 1990) in which a column stands near those that it
// updates, so that the passes over the factor run mostly within the caches.
func (p *Pattern) relabel(e *elimination) {
	n := len(e.order)
	p.place = make([]int32, n)
	for k, v := range e.order {
		p.place[v] = int32(k)
	}
	post := postorder(e.parents(p.place))
	p.node = make([]int32, n)
	p.start = make([]int, n+1)
	p.rows = make([]int32, 0, len(e.rows))
	for k, old := range post {
		p.node[k] = e.order[old]
	}
	for k, v := range p.node {
		p.place[v] = int32(k)
	}
	for k, old := range post {
		for _, v := range e.rows[e.start[old]:e.start[old+1]] {
			p.rows = append(p.rows, p.place[v])
		}
		p.start[k+1] = len(p.rows)
		slices.Sort(p.rows[p.start[k]:])
	}
}

// locate notes for every branch the positions of its ends and its entry.
func (p *Pattern) locate() {
	m := len(p.branches)
	p.from, p.to, p.slot = make([]int32, m), make([]int32, m), make([]int, m)
	for i, b := range p.branches {
		p.from[i], p.to[i] = p.place[b.A], p.place[b.B]
		p.slot[i] = p.entry(min(p.from[i], p.to[i]), max(p.from[i], p.to[i]))
	}
}

// entry is the index in rows of row high in column low, -1 on the diagonal.
func (p *Pattern) entry(low, high int32) int {
	if low == high {
		return -1
	}
	column := p.rows[p.start[low]:p.start[low+1]]
	i, found := slices.BinarySearch(column, high)
	if !found {
		panic(fmt.Sprintf("sparse: no entry for positions %d and %d", low, high))
	}
	return p.start[low] + i
}

// parent is the parent of position k in the elimination tree, -1 for a root.
func (p *Pattern) parent(k int32) int32 {
	if p.start[k] == p.start[k+1] {
		return -1
	}
	return p.rows[p.start[k]]
}

// postorder lists the nodes of a forest given by its parents (-1 at a root), every
// parent after its children. Parents must have higher numbers than their children.
func postorder(parent []int32) []int32 {
	n := len(parent)
	size := make([]int32, n) // of the subtree
	for k := range parent {
		size[k]++
		if up := parent[k]; up >= 0 {
			size[up] += size[k]
		}
	}
	// A subtree occupies a block that ends with its root, and free[k] is the end of what is
	// still free in the block of k. Going down from the roots, each node takes the end of its parent's.
	free := make([]int32, n)
	post := make([]int32, n)
	end := int32(n)
	for k := n - 1; k >= 0; k-- {
		limit := &end
		if up := parent[k]; up >= 0 {
			limit = &free[up]
		}
		last := *limit - 1
		*limit -= size[k]
		post[last] = int32(k)
		free[k] = last
	}
	return post
}
