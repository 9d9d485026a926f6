package sparse_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"ferrule/netlist/circuit/sparse"
)

// circuit is a network with its numbers, as the tests build it.
type circuit struct {
	nodes    int
	branches []sparse.Branch
	siemens  []float64
	held     []bool
	shunt    []float64
	amperes  []float64
	volts    []float64
}

func newCircuit(nodes int) *circuit {
	c := &circuit{}
	for range nodes {
		c.node()
	}
	return c
}

func (c *circuit) node() int32 {
	c.held, c.shunt = append(c.held, false), append(c.shunt, 0)
	c.amperes, c.volts = append(c.amperes, 0), append(c.volts, 0)
	c.nodes++
	return int32(c.nodes - 1)
}

func (c *circuit) join(a, b int32, siemens float64) {
	c.branches = append(c.branches, sparse.Branch{A: a, B: b})
	c.siemens = append(c.siemens, siemens)
}

func (c *circuit) hold(node int32, volts float64) {
	c.held[node], c.volts[node] = true, volts
}

func (c *circuit) state() sparse.State {
	return sparse.State{Siemens: c.siemens, Held: c.held, Shunt: c.shunt}
}

func (c *circuit) sources() sparse.Sources {
	return sparse.Sources{Amperes: c.amperes, Volts: c.volts}
}

func (c *circuit) factor(t testing.TB) *sparse.Factor {
	t.Helper()
	p, err := sparse.Analyze(c.nodes, c.branches)
	require.NoError(t, err)
	f, err := p.Factor(c.state())
	require.NoError(t, err)
	return f
}

func (c *circuit) solve(t testing.TB) *sparse.Solution {
	t.Helper()
	var s sparse.Solution
	require.NoError(t, c.factor(t).Solve(&s, c.sources()))
	return &s
}

// resistance is that between two nodes, by one ampere from a to b. No node may be held.
func (c *circuit) resistance(t testing.TB, a, b int32) float64 {
	t.Helper()
	driven := *c
	driven.held, driven.amperes = make([]bool, c.nodes), make([]float64, c.nodes)
	driven.held[b] = true
	driven.amperes[a] = 1
	return driven.solve(t).Difference(a, b)
}

func newRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 20)) }

// logUniform draws between two magnitudes.
func logUniform(r *rand.Rand, low, high float64) float64 {
	return math.Exp(math.Log(low) + r.Float64()*(math.Log(high)-math.Log(low)))
}

// random is a connected network: a random tree and extra branches, parallels and
// self-joined nodes among them.
func random(r *rand.Rand, nodes, extra int, low, high float64) *circuit {
	c := newCircuit(nodes)
	for v := 1; v < nodes; v++ {
		c.join(int32(v), int32(r.IntN(v)), logUniform(r, low, high))
	}
	for range extra {
		c.join(int32(r.IntN(nodes)), int32(r.IntN(nodes)), logUniform(r, low, high))
	}
	c.hold(int32(r.IntN(nodes)), 12)
	c.hold(int32(r.IntN(nodes)), 0)
	for range nodes / 3 {
		c.amperes[r.IntN(nodes)] = r.Float64()*40 - 20
		c.shunt[r.IntN(nodes)] = logUniform(r, low, high)
	}
	return c
}

// harness is a network like a vehicle's: a battery between node 0 (held) and node 1,
// chains of crimps and wires that fork at splices, loads at their ends, each returning
// to the ground stud of its region, and every seventieth fork closed into a ring.
func harness(nodes int, seed uint64) *circuit {
	r := newRand(seed)
	c := newCircuit(2)
	c.hold(0, 0)
	c.join(0, 1, 100)
	c.amperes[1] = 1260
	forks := []int32{1}
	stud := c.stud(r)
	for lap := 0; c.nodes < nodes; lap++ {
		if lap%60 == 59 {
			stud = c.stud(r)
		}
		at := forks[len(forks)-1-r.IntN(min(len(forks), 40))]
		for range 2 + r.IntN(9) {
			next := c.node()
			c.join(at, next, logUniform(r, 20, 5e3))
			at = next
		}
		switch {
		case lap%70 == 69:
			c.join(at, forks[r.IntN(len(forks))], logUniform(r, 20, 5e3))
		case r.IntN(5) < 2:
			forks = append(forks, at)
		default:
			c.join(at, stud, logUniform(r, 1e-3, 3))
		}
	}
	return c
}

func (c *circuit) stud(r *rand.Rand) int32 {
	stud := c.node()
	c.join(stud, 0, logUniform(r, 200, 5e3))
	return stud
}

// permuted is the same network with nodes and branches renumbered.
func (c *circuit) permuted(r *rand.Rand) (*circuit, []int, []int) {
	nodes, branches := r.Perm(c.nodes), r.Perm(len(c.branches))
	q := newCircuit(c.nodes)
	q.branches, q.siemens = make([]sparse.Branch, len(branches)), make([]float64, len(branches))
	for v, to := range nodes {
		q.held[to], q.shunt[to], q.amperes[to], q.volts[to] = c.held[v], c.shunt[v], c.amperes[v], c.volts[v]
	}
	for e, to := range branches {
		b := c.branches[e]
		q.branches[to] = sparse.Branch{A: int32(nodes[b.A]), B: int32(nodes[b.B])}
		q.siemens[to] = c.siemens[e]
	}
	return q, nodes, branches
}
