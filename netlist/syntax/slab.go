package syntax

// A slab hands out pieces of memory from large chunks: a netlist makes millions of small nodes that live and die
// together, and one allocation for a few hundred of them is several times quicker than one each.
type slab[T any] struct {
	free []T
	next int // size of the next chunk, grown so that a small file stays small
}

const largestChunk = 4096

// take returns n zeroed elements in a row, with no room to grow into the neighbours.
func (s *slab[T]) take(n int) []T {
	if n > len(s.free) {
		s.next = min(max(64, 2*s.next), largestChunk)
		s.free = make([]T, max(n, s.next))
	}
	piece := s.free[:n:n]
	s.free = s.free[n:]
	return piece
}

// one returns a zeroed element.
func (s *slab[T]) one() *T { return &s.take(1)[0] }
