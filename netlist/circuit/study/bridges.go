package study

import (
	"ferrule/netlist/circuit/sparse"
	"ferrule/netlist/model"
)

// bridges says over which branches of a network nothing can flow, without solving it: those that alone join a part of it to the
// rest, where one of the two has neither source nor ground. Most fuses of a rail are such branches: what lies behind them are
// consumers, which a network of conductors leaves out. A solution costs as much as the network is large, and every wire of a rail
// would ask for one.
type bridges struct {
	over  []int32 // by node: the branch that the search came over; -1 at a root
	enter []int32 // by node: its number in the order of the search, from 1
	end   []int32 // by node: the last number among the nodes below it
	low   []int32 // by node: the lowest number that a branch from it or below it leads to
	tied  []int32 // by node: how many nodes below it, itself among them, have a source or a given potential
	root  []int32 // by node: the root of its part of the network

	branches []sparse.Branch
}

// findBridges searches the branches that conduct, depth first: Tarjan, "A note on finding the bridges of a graph", Information
// Processing Letters 2 (1974). tied marks the nodes that have a source or a given potential.
func findBridges(branches []sparse.Branch, siemens []float64, tied func(node int32) bool, nodes int) *bridges {
	b := &bridges{branches: branches, over: make([]int32, nodes), enter: make([]int32, nodes), end: make([]int32, nodes), low: make([]int32, nodes),
		tied: make([]int32, nodes), root: make([]int32, nodes)}
	first, at := incident(branches, siemens, nodes)
	next := make([]int32, nodes) // by node: the branch in at that is looked at next
	copy(next, first)
	number := int32(0)
	var stack []int32
	visit := func(v, root, over int32) {
		number++
		b.enter[v], b.low[v], b.root[v], b.over[v] = number, number, root, over
		if tied(v) {
			b.tied[v] = 1
		}
		stack = append(stack, v)
	}
	for root := range int32(nodes) {
		if b.enter[root] != 0 {
			continue
		}
		for visit(root, root, -1); len(stack) > 0; {
			v := stack[len(stack)-1]
			if next[v] == first[v+1] {
				stack = stack[:len(stack)-1]
				b.leave(v, number)
				continue
			}
			e := at[next[v]]
			next[v]++
			switch w := b.other(e, v); {
			case e == b.over[v]:
			case b.enter[w] != 0:
				b.low[v] = min(b.low[v], b.enter[w])
			default:
				visit(w, root, e)
			}
		}
	}
	return b
}

// incident lists the branches that conduct by node: those of node v are at[first[v]:first[v+1]].
func incident(branches []sparse.Branch, siemens []float64, nodes int) (first, at []int32) {
	first = make([]int32, nodes+1)
	each := func(do func(node, branch int32)) {
		for i, br := range branches {
			if siemens[i] > 0 && br.A != br.B {
				do(br.A, int32(i))
				do(br.B, int32(i))
			}
		}
	}
	each(func(node, _ int32) { first[node+1]++ })
	for v := range nodes {
		first[v+1] += first[v]
	}
	at = make([]int32, first[nodes])
	free := make([]int32, nodes)
	copy(free, first)
	each(func(node, branch int32) {
		at[free[node]] = branch
		free[node]++
	})
	return first, at
}

// leave hands what is known of a node on to the one that the search came from.
func (b *bridges) leave(v, number int32) {
	b.end[v] = number
	if b.over[v] >= 0 {
		up := b.other(b.over[v], v)
		b.low[up] = min(b.low[up], b.low[v])
		b.tied[up] += b.tied[v]
	}
}

func (b *bridges) other(branch, node int32) int32 {
	return b.branches[branch].A + b.branches[branch].B - node
}

// carries reports whether a current may flow over a branch when one is drawn from a terminal to a ground. False is certain.
func (b *bridges) carries(branch int, pin, ground model.PinID) bool {
	ends := b.branches[branch]
	below := ends.A
	if b.enter[ends.B] > b.enter[below] {
		below = ends.B
	}
	if b.over[below] != int32(branch) {
		// It does not conduct, or joins what other branches join too; the first is left to the solution.
		return true
	}
	if b.low[below] < b.enter[below] {
		return true // another branch leads around it
	}
	in := func(node model.PinID) bool { return b.enter[below] <= b.enter[node] && b.enter[node] <= b.end[below] }
	beyond := func(node model.PinID) bool { return b.root[node] == b.root[below] && !in(node) }
	dead := b.tied[below] == 0 && !in(pin) && !in(ground)
	deadBeyond := b.tied[b.root[below]] == b.tied[below] && !beyond(pin) && !beyond(ground)
	return !dead && !deadBeyond
}
