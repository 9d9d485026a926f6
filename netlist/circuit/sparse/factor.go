package sparse

import "slices"

// State fills a Pattern with numbers.
type State struct {
	Siemens []float64 // conductance per branch, 0 = open
	Held    []bool    // per node: its potential is given; nil = none
	Shunt   []float64 // conductance in siemens per node to the reference, 0 V; nil = none
}

// Factor is the factorised matrix of a Pattern in one State. All slices below run
// over elimination positions unless they say otherwise.
type Factor struct {
	pattern  *Pattern
	siemens  []float64 // per branch
	held     []bool
	shunt    []float64 // to the reference
	ratio    []float64 // per entry of the factor: conductance / pivot of its column
	inverse  []float64 // 1 / pivot; 0 where held, and at the last node of a floating island
	rowSum   []float64 // sum of the magnitudes of a row of the matrix, siemens
	island   []int32   // index into floating, -1 = tied to a potential; nil when nothing floats
	floating [][]int32 // nodes
	root     []int32   // by position, the last of its island that was eliminated; room for findIslands
	last     []int32   // per island: the position that ended in a zero pivot

	inverseNorm float64 // 1-norm of the inverse, ohms; below 0 until somebody asks
	weakest     Pivot
	refactored  int // counts Refactor, so that a Variant notices

	ground, diagonal, work []float64 // used during Refactor
}

// Pivot describes a pivot of the factorisation.
type Pivot struct {
	Node    int32   // -1 when the network has no pivot
	Siemens float64 // what ties the node to given potentials after the others are eliminated
	Share   float64 // Siemens over the sum of conductances at the node, 0 to 1
}

// Factor factorises the pattern in a state, whose slices it copies. Floating parts are not
// an error: see Factor.Floating. It fails with an *InputError on slices of a wrong
// length and on conductances that are negative, not finite, or outside MinSiemens..MaxSiemens.
func (p *Pattern) Factor(s State) (*Factor, error) {
	n, m := len(p.node), len(p.branches)
	f := &Factor{
		pattern: p, siemens: make([]float64, m), held: make([]bool, n), shunt: make([]float64, n),
		ratio: make([]float64, len(p.rows)), inverse: make([]float64, n), rowSum: make([]float64, n),
		ground: make([]float64, n), diagonal: make([]float64, n), work: make([]float64, n),
	}
	if err := f.Refactor(s); err != nil {
		return nil, err
	}
	return f, nil
}

// Refactor replaces the state and factorises again in the same memory. On an
// *InputError the factor keeps its former state. A Variant made before is void afterwards.
func (f *Factor) Refactor(s State) error {
	if err := f.pattern.checkState(s); err != nil {
		return err
	}
	f.refactored++
	f.adopt(s)
	f.assemble()
	f.eliminate()
	f.findIslands()
	f.inverseNorm = -1
	return nil
}

// adopt copies the state into elimination order.
func (f *Factor) adopt(s State) {
	copy(f.siemens, s.Siemens)
	clear(f.held)
	clear(f.shunt)
	for v, h := range s.Held {
		f.held[f.pattern.place[v]] = h
	}
	for v, g := range s.Shunt {
		f.shunt[f.pattern.place[v]] = g
	}
}

// assemble sums parallel branches into the entries of the factor, and what leads to a
// held node or to the reference into ground.
func (f *Factor) assemble() {
	p := f.pattern
	clear(f.ratio)
	copy(f.ground, f.shunt)
	copy(f.diagonal, f.shunt)
	copy(f.rowSum, f.shunt)
	for e, g := range f.siemens {
		if g == 0 || p.slot[e] < 0 {
			continue
		}
		a, b := p.from[e], p.to[e]
		f.diagonal[a] += g
		f.diagonal[b] += g
		switch {
		case f.held[a] && f.held[b]:
		case f.held[a]:
			f.ground[b] += g
			f.rowSum[b] += g
		case f.held[b]:
			f.ground[a] += g
			f.rowSum[a] += g
		default:
			f.ratio[p.slot[e]] += g
			f.rowSum[a] += 2 * g
			f.rowSum[b] += 2 * g
		}
	}
}

// eliminate replaces star by mesh, node by node. On entry ratio holds conductances.
func (f *Factor) eliminate() {
	p := f.pattern
	f.weakest = Pivot{Node: -1, Share: 2}
	for k := range f.inverse {
		if f.held[k] {
			f.inverse[k] = 0
			continue
		}
		first, end := p.start[k], p.start[k+1]
		pivot := f.ground[k]
		for _, g := range f.ratio[first:end] {
			pivot += g
		}
		if pivot == 0 {
			f.inverse[k] = 0
			continue
		}
		f.inverse[k] = 1 / pivot
		if share := pivot / f.diagonal[k]; share < f.weakest.Share {
			f.weakest = Pivot{Node: p.node[k], Siemens: pivot, Share: share}
		}
		f.spread(first, end, f.ground[k], pivot)
	}
	if f.weakest.Node >= 0 {
		f.weakest.Share = min(1, f.weakest.Share)
	} else {
		f.weakest.Share = 0
	}
}

// spread adds the mesh that replaces the column first..end to the columns of its
// rows, and the share of its ground to their grounds; the column becomes ratios. The rows of a
// column are among those of the columns that it updates, so both are walked once.
func (f *Factor) spread(first, end int, ground, pivot float64) {
	p := f.pattern
	for a := first; a < end; a++ {
		i := p.rows[a]
		share := f.ratio[a] / pivot
		f.ratio[a] = share
		if share == 0 {
			continue
		}
		f.ground[i] += share * ground
		at := p.start[i]
		for b := a + 1; b < end; b++ {
			for p.rows[at] != p.rows[b] {
				at++
			}
			f.ratio[at] += share * f.ratio[b]
		}
	}
}

// substitute turns injected currents into potentials in place: forward and backward
// substitution with potentials 0 where held and at the last node of an island.
func (f *Factor) substitute(x []float64) {
	p := f.pattern
	for k := range x {
		current := x[k]
		if current == 0 {
			continue
		}
		for a := p.start[k]; a < p.start[k+1]; a++ {
			x[p.rows[a]] += f.ratio[a] * current
		}
	}
	for k := len(x) - 1; k >= 0; k-- {
		volts := x[k] * f.inverse[k]
		for a := p.start[k]; a < p.start[k+1]; a++ {
			volts += f.ratio[a] * x[p.rows[a]]
		}
		x[k] = volts
	}
}

// measureInverse is the 1-norm of the inverse in ohms: the largest potential when one
// ampere enters every node that is tied to a potential. Exact, since the inverse is non-negative.
func (f *Factor) measureInverse(x []float64, substitute func([]float64)) float64 {
	for k := range x {
		x[k] = 1
		if f.held[k] || f.floats(int32(k)) {
			x[k] = 0
		}
	}
	substitute(x)
	norm := 0.0
	for k, volts := range x {
		if !f.floats(int32(k)) {
			norm = max(norm, volts)
		}
	}
	return norm
}

// matrixNorm is the 1-norm of a matrix with the given row sums, in siemens.
func (f *Factor) matrixNorm(rowSum []float64) float64 {
	norm := 0.0
	for k, sum := range rowSum {
		if !f.held[k] && !f.floats(int32(k)) {
			norm = max(norm, sum)
		}
	}
	return norm
}

// Condition is the condition number in the 1-norm of the matrix of all nodes that
// are neither held nor floating; 0 if there are none.
// It costs as much as solving, once a state.
func (f *Factor) Condition() float64 {
	if f.inverseNorm < 0 {
		f.inverseNorm = f.measureInverse(f.work, f.substitute)
	}
	return f.matrixNorm(f.rowSum) * f.inverseNorm
}

// Weakest is the pivot that is smallest beside the conductances at its node: where
// its Share is tiny, say 1e-10, that node and what hangs on it are tied to the given
// potentials by a leak only. Floating nodes do not count.
func (f *Factor) Weakest() Pivot { return f.weakest }

// Pattern is the pattern that was factorised.
func (f *Factor) Pattern() *Pattern { return f.pattern }

// Floating lists the islands: the groups of nodes that conduct among themselves but
// have no path to a held node or a shunt. Nodes ascend, islands by their first node.
// Holding one node of each island and factorising again solves them too.
func (f *Factor) Floating() [][]int32 {
	islands := make([][]int32, len(f.floating))
	for i, nodes := range f.floating {
		islands[i] = slices.Clone(nodes)
	}
	return islands
}

func (f *Factor) floats(k int32) bool { return f.island != nil && f.island[k] >= 0 }

// findIslands follows every node to the last of its island that was eliminated. Conductances
// were only ever added, so the ground of an island that has none is exactly zero,
// and within the bounds on input no product can have underflowed to look so: what
// ties two parts of a network cannot fall below MinSiemens over the number of nodes.
func (f *Factor) findIslands() {
	if !f.anyZeroPivot() {
		f.island, f.floating, f.last = nil, nil, nil
		return
	}
	p := f.pattern
	if f.root == nil {
		f.root = make([]int32, len(p.node))
	}
	for k := len(f.root) - 1; k >= 0; k-- {
		f.root[k] = int32(k)
		for a := p.start[k]; a < p.start[k+1]; a++ {
			if f.ratio[a] != 0 {
				f.root[k] = f.root[p.rows[a]]
				break
			}
		}
	}
	if !f.sameIslands() {
		f.collect()
	}
}

func (f *Factor) anyZeroPivot() bool {
	for k, inverse := range f.inverse {
		if inverse == 0 && !f.held[k] {
			return true
		}
	}
	return false
}

// ends reports whether the island of a position ends in a zero pivot, and where.
func (f *Factor) ends(k int32) (end int32, floats bool) {
	end = f.root[k]
	return end, !f.held[end] && f.inverse[end] == 0
}

// sameIslands reports whether the islands are those that were found before: from one step of a solution to the next they
// seldom change.
func (f *Factor) sameIslands() bool {
	if f.island == nil {
		return false
	}
	for k, i := range f.island {
		end, floats := f.ends(int32(k))
		if floats != (i >= 0) || floats && f.last[i] != end {
			return false
		}
	}
	return true
}

// collect numbers the islands by their first node. It allocates what it finds afresh, because solutions keep the slices.
func (f *Factor) collect() {
	p := f.pattern
	f.island, f.floating, f.last = make([]int32, len(f.root)), nil, nil
	for k := range f.island {
		f.island[k] = -1
	}
	var size []int
	all := 0
	for v := range int32(len(f.root)) {
		k := p.place[v]
		end, floats := f.ends(k)
		if !floats {
			continue
		}
		if f.island[end] < 0 {
			f.island[end] = int32(len(f.last))
			f.last, size = append(f.last, end), append(size, 0)
		}
		f.island[k] = f.island[end]
		size[f.island[k]]++
		all++
	}
	members := make([]int32, all)
	f.floating = make([][]int32, len(f.last))
	for i, n := range size {
		f.floating[i], members = members[:0:n], members[n:]
	}
	for v := range int32(len(f.root)) {
		if i := f.island[p.place[v]]; i >= 0 {
			f.floating[i] = append(f.floating[i], v)
		}
	}
}
