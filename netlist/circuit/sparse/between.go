package sparse

import "slices"

// Between is the resistance in ohms between two nodes with all sources at rest: the difference of their potentials when one
// ampere goes in at a and comes out at b. It is false when they are one node, or when no path leads from one to the other
// and at most one of them is tied to a potential. Only the ancestors of the two nodes in the elimination tree take part, so
// it is much cheaper than a Solve; it is not refined, and so precise to some 1e-12 of the larger of the two potentials.
func (f *Factor) Between(a, b int32) (ohms float64, ok bool) {
	p := f.pattern
	if a == b {
		return 0, false
	}
	ka, kb := p.place[a], p.place[b]
	if f.island != nil && f.island[ka] != f.island[kb] {
		return 0, false
	}
	x := f.work
	clear(x)
	path := p.ancestors(ka, kb)
	for _, end := range []struct {
		k    int32
		amps float64
	}{{ka, 1}, {kb, -1}} {
		if !f.held[end.k] {
			x[end.k] = end.amps
		}
	}
	f.substituteAlong(x, path)
	return x[ka] - x[kb], true
}

// ancestors lists positions with all that they lead to in the elimination tree, ascending.
func (p *Pattern) ancestors(ends ...int32) []int32 {
	var path []int32
	seen := map[int32]bool{}
	for _, k := range ends {
		for ; k >= 0 && !seen[k]; k = p.parent(k) {
			seen[k] = true
			path = append(path, k)
		}
	}
	slices.Sort(path)
	return path
}
