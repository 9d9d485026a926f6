package graph

// Sets is a union-find structure over 0..n-1 whose joins can be taken back in reverse order. Flags of the members are
// united with the sets. Without path compression a find takes O(log n), and every join can be undone.
//
// Source: R. E. Tarjan, "Efficiency of a good but not linear set union algorithm", J. ACM 22 (1975), union by size; the
// undo stack is common practice in offline dynamic connectivity.
type Sets struct {
	parent []int32
	size   []int32
	flags  []uint8
	undo   []joint
}

// joint is one join that can be taken back: child was hung under root, whose flags were as given.
type joint struct {
	child int32
	flags uint8
}

// NewSets makes n sets of one member each.
func NewSets(n int) *Sets {
	s := &Sets{parent: make([]int32, n), size: make([]int32, n), flags: make([]uint8, n)}
	for i := range n {
		s.parent[i], s.size[i] = int32(i), 1
	}
	return s
}

// Find returns the representative of the set that holds i.
func (s *Sets) Find(i int32) int32 {
	for s.parent[i] != i {
		i = s.parent[i]
	}
	return i
}

// Join unites the sets of a and b.
func (s *Sets) Join(a, b int32) {
	a, b = s.Find(a), s.Find(b)
	if a == b {
		return
	}
	if s.size[a] < s.size[b] {
		a, b = b, a
	}
	s.undo = append(s.undo, joint{child: b, flags: s.flags[a]})
	s.parent[b] = a
	s.size[a] += s.size[b]
	s.flags[a] |= s.flags[b]
}

// Mark returns a point to which Undo can go back.
func (s *Sets) Mark() int { return len(s.undo) }

// Undo takes back all joins since the mark. Flags set in between with Flag are not taken back.
func (s *Sets) Undo(mark int) {
	for len(s.undo) > mark {
		j := s.undo[len(s.undo)-1]
		s.undo = s.undo[:len(s.undo)-1]
		root := s.parent[j.child]
		s.parent[j.child] = j.child
		s.size[root] -= s.size[j.child]
		s.flags[root] = j.flags
	}
}

// Flag sets flags on the set that holds i. Only before the first join that is to be undone.
func (s *Sets) Flag(i int32, flags uint8) { s.flags[s.Find(i)] |= flags }

// Flags returns the united flags of the set that holds i.
func (s *Sets) Flags(i int32) uint8 { return s.flags[s.Find(i)] }
