package study

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/circuit/sparse"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// TestBridges holds what is said of branches against two things that know nothing of depth first searches: the definition of a
// bridge, by taking each branch out in turn, and the currents of the solved network.
func TestBridges(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 7))
	idle, busy := 0, 0
	for range 300 {
		const nodes = 12
		branches := make([]sparse.Branch, 3+random.IntN(14))
		siemens := make([]float64, len(branches))
		for i := range branches {
			branches[i] = sparse.Branch{A: random.Int32N(nodes), B: random.Int32N(nodes)}
			if random.IntN(8) > 0 {
				siemens[i] = 1 + 9*random.Float64()
			}
		}
		held, injected := make([]bool, nodes), make([]float64, nodes)
		held[0], injected[0], injected[1] = true, -3, 3
		pin, ground := model.PinID(2+random.IntN(nodes-2)), model.PinID(0)
		tied := func(v int32) bool { return held[v] || injected[v] != 0 }
		b := findBridges(branches, siemens, tied, nodes)
		amps := drawnFrom(t, branches, siemens, held, injected, pin, ground)
		for i := range branches {
			if branches[i].A == branches[i].B || siemens[i] == 0 {
				continue
			}
			carries := b.carries(i, pin, ground)
			require.Equal(t, carriesByDefinition(branches, siemens, i, tied, pin, ground), carries, "branch %d of %v", i, branches)
			if carries {
				busy++
			} else {
				idle++
				assert.InDelta(t, 0, amps[i], 1e-9, "branch %d of %v", i, branches)
			}
		}
	}
	assert.Greater(t, idle, 300, "too few branches that carry nothing to have tried anything")
	assert.Greater(t, busy, 300)
}

// drawnFrom are the currents of the branches with one ampere drawn from a node. Stranded parts carry none.
func drawnFrom(t *testing.T, branches []sparse.Branch, siemens []float64, held []bool, injected []float64, pin, ground model.PinID) []float64 {
	pattern, err := sparse.Analyze(len(held), branches)
	require.NoError(t, err)
	factor, err := pattern.Factor(sparse.State{Siemens: siemens, Held: held})
	require.NoError(t, err)
	n := &shorts{factor: factor, injected: injected}
	amps, err := n.shares(pin, ground, 1)
	require.NoError(t, err)
	for i, a := range amps {
		if a != a {
			amps[i] = 0
		}
	}
	return amps
}

// carriesByDefinition takes a branch out and looks what is left on its two sides.
func carriesByDefinition(branches []sparse.Branch, siemens []float64, out int, tied func(int32) bool, pin, ground model.PinID) bool {
	const nodes = 12
	sets := graph.NewSets(nodes)
	for i, br := range branches {
		if i != out && siemens[i] > 0 {
			sets.Join(br.A, br.B)
		}
	}
	a, b := sets.Find(branches[out].A), sets.Find(branches[out].B)
	if a == b {
		return true
	}
	fed := func(side int32) bool {
		for v := range int32(nodes) {
			if sets.Find(v) == side && (tied(v) || v == int32(pin) || v == int32(ground)) {
				return true
			}
		}
		return false
	}
	return fed(a) && fed(b)
}
