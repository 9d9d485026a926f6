package sparse

import "math"

// elimination plays the elimination of a network on its graph and records the
// order and the columns of the factor. The lists of neighbours are cleaned of dead
// nodes only when they are walked anyway, so that peeling the leaves off
// a hub of ten thousand wires stays linear.
type elimination struct {
	neighbours [][]int32 // with dead nodes among them
	degree     []int32   // living neighbours
	dead       []bool
	mark       []int32 // mark[i] == stamp: i is a neighbour of the node in hand
	stamp      int32
	queue      queue
	remaining  int

	order []int32 // nodes in the order of their elimination
	start []int   // of the columns in rows
	rows  []int32 // nodes, not positions
}

func newElimination(nodes int, branches []Branch) *elimination {
	e := &elimination{
		degree: make([]int32, nodes), dead: make([]bool, nodes), mark: make([]int32, nodes),
		queue: newQueue(nodes), remaining: nodes,
		order: make([]int32, 0, nodes), start: make([]int, 1, nodes+1),
		rows: make([]int32, 0, len(branches)+len(branches)/4),
	}
	e.join(nodes, branches)
	for i := range e.degree {
		e.queue.add(int32(i), e.degree[i])
	}
	return e
}

// join builds the lists of neighbours in one block, each neighbour once.
func (e *elimination) join(nodes int, branches []Branch) {
	end := make([]int, nodes+1)
	for _, b := range branches {
		if b.A != b.B {
			end[b.A]++
			end[b.B]++
		}
	}
	sum := 0
	for i := range end {
		sum, end[i] = sum+end[i], sum
	}
	block := make([]int32, sum)
	for _, b := range branches {
		if b.A != b.B {
			block[end[b.A]], block[end[b.B]] = b.B, b.A
			end[b.A]++
			end[b.B]++
		}
	}
	e.neighbours = make([][]int32, nodes)
	first := 0
	for i := range e.neighbours {
		list := e.distinct(block[first:end[i]:end[i]])
		e.neighbours[i], e.degree[i], first = list, int32(len(list)), end[i]
	}
}

// distinct removes repeated neighbours, which parallel branches make.
func (e *elimination) distinct(list []int32) []int32 {
	e.nextStamp()
	kept := list[:0]
	for _, j := range list {
		if e.mark[j] != e.stamp {
			e.mark[j] = e.stamp
			kept = append(kept, j)
		}
	}
	return kept
}

func (e *elimination) nextStamp() {
	if e.stamp == math.MaxInt32 {
		clear(e.mark)
		e.stamp = 0
	}
	e.stamp++
}

func (e *elimination) run() {
	for e.remaining > 0 {
		k := e.queue.popLeast()
		for _, i := range e.neighbours[k] {
			if !e.dead[i] {
				e.rows = append(e.rows, i)
			}
		}
		star := e.rows[e.start[len(e.order)]:]
		e.order = append(e.order, k)
		e.start = append(e.start, len(e.rows))
		e.dead[k] = true
		e.neighbours[k] = nil
		e.remaining--
		e.mesh(star)
		for _, i := range star {
			e.degree[i]--
			e.queue.move(i, e.degree[i])
		}
	}
}

// mesh joins every two nodes of a star whose middle was eliminated.
func (e *elimination) mesh(star []int32) {
	switch {
	case len(star) == e.remaining:
		// The node of least degree touched all others, so all are joined already.
	case len(star) <= 4:
		for a, i := range star {
			for _, j := range star[:a] {
				if !e.joined(i, j) {
					e.link(i, j)
				}
			}
		}
	default:
		e.meshMany(star)
	}
}

// joined looks for the edge in the shorter of the two lists. What is found moves to
// the front: between two hubs the same edge is asked for again and again.
func (e *elimination) joined(i, j int32) bool {
	if len(e.neighbours[j]) < len(e.neighbours[i]) {
		i, j = j, i
	}
	list := e.neighbours[i]
	for a, other := range list {
		if other == j {
			list[0], list[a] = list[a], list[0]
			return true
		}
	}
	return false
}

// meshMany marks the neighbours of one node at a time, the one with the longest list
// last, so that the list of a hub is never walked.
func (e *elimination) meshMany(star []int32) {
	longest := 0
	for a, i := range star {
		if len(e.neighbours[i]) > len(e.neighbours[star[longest]]) {
			longest = a
		}
	}
	last := len(star) - 1
	star[longest], star[last] = star[last], star[longest]
	for a, i := range star[:last] {
		e.markLiving(i)
		for _, j := range star[a+1:] {
			if e.mark[j] != e.stamp {
				e.link(i, j)
			}
		}
	}
}

func (e *elimination) markLiving(i int32) {
	e.nextStamp()
	kept := e.neighbours[i][:0]
	for _, j := range e.neighbours[i] {
		if !e.dead[j] {
			e.mark[j] = e.stamp
			kept = append(kept, j)
		}
	}
	e.neighbours[i] = kept
}

func (e *elimination) link(i, j int32) {
	e.enter(i, j)
	e.enter(j, i)
}

// enter puts j on the list of i, in place of a dead neighbour if the list is short:
// on a chain there is always one, and no list has to grow.
func (e *elimination) enter(i, j int32) {
	e.degree[i]++
	list := e.neighbours[i]
	if len(list) <= 8 {
		for a, other := range list {
			if e.dead[other] {
				list[a] = j
				return
			}
		}
	}
	e.neighbours[i] = append(list, j)
}

// parents is the elimination tree by positions in the order, -1 at a root: the
// parent of a column is its first row (Liu 1990).
func (e *elimination) parents(place []int32) []int32 {
	parent := make([]int32, len(e.order))
	for k := range parent {
		parent[k] = -1
		for _, v := range e.rows[e.start[k]:e.start[k+1]] {
			if up := place[v]; parent[k] < 0 || up < parent[k] {
				parent[k] = up
			}
		}
	}
	return parent
}

// queue holds nodes by degree, first in first out among equals.
type queue struct {
	head, tail []int32 // per degree, -1 when empty
	next, prev []int32 // per node, -1 at the ends
	bucket     []int32 // per node
	least      int32   // no bucket below holds anything
}

func newQueue(nodes int) queue {
	q := queue{
		head: make([]int32, nodes), tail: make([]int32, nodes),
		next: make([]int32, nodes), prev: make([]int32, nodes), bucket: make([]int32, nodes),
	}
	for i := range q.head {
		q.head[i], q.tail[i] = -1, -1
	}
	return q
}

func (q *queue) add(i, degree int32) {
	last := q.tail[degree]
	q.prev[i], q.next[i], q.bucket[i] = last, -1, degree
	if last < 0 {
		q.head[degree] = i
	} else {
		q.next[last] = i
	}
	q.tail[degree] = i
	q.least = min(q.least, degree)
}

func (q *queue) remove(i int32) {
	before, after, degree := q.prev[i], q.next[i], q.bucket[i]
	if before < 0 {
		q.head[degree] = after
	} else {
		q.next[before] = after
	}
	if after < 0 {
		q.tail[degree] = before
	} else {
		q.prev[after] = before
	}
}

// move puts a node at the end of a bucket, even of the one in which it stands.
func (q *queue) move(i, degree int32) {
	q.remove(i)
	q.add(i, degree)
}

// popLeast takes the oldest of the nodes of least degree. The queue must not be empty.
func (q *queue) popLeast() int32 {
	for q.head[q.least] < 0 {
		q.least++
	}
	i := q.head[q.least]
	q.remove(i)
	return i
}
