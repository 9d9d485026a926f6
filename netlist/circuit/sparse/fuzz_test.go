package sparse_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"ferrule/netlist/circuit/sparse"
)

// fuzzed reads a network from bytes: the first is the number of nodes, then three a
// branch (ends and a conductance of 1e-9 to 1e5 S, or open).
func fuzzed(data []byte) *circuit {
	if len(data) == 0 {
		return newCircuit(0)
	}
	c := newCircuit(1 + int(data[0])%64)
	node := func(b byte) int32 { return int32(int(b) % c.nodes) }
	for data = data[1:]; len(data) >= 3; data = data[3:] {
		switch kind := data[2]; {
		case kind < 8:
			c.join(node(data[0]), node(data[1]), 0)
		case kind < 16:
			c.hold(node(data[0]), float64(data[1])/8)
		case kind < 24:
			c.amperes[node(data[0])] = float64(data[1]) - 128
		default:
			c.join(node(data[0]), node(data[1]), math.Pow(10, -9+14*float64(kind-24)/231))
		}
	}
	return c
}

// reached marks the nodes that conducting branches join to a held one, by plain search.
func (c *circuit) reached() []bool {
	tied := append([]bool(nil), c.held...)
	for again := true; again; {
		again = false
		for e, b := range c.branches {
			if c.siemens[e] > 0 && tied[b.A] != tied[b.B] {
				tied[b.A], tied[b.B], again = true, true, true
			}
		}
	}
	return tied
}

// FuzzSolve holds that exactly the unreached nodes float, that Kirchhoff's law is kept at all
// others, and that opening any branch by update agrees.
func FuzzSolve(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{1})
	f.Add([]byte{4, 0, 100, 8, 0, 1, 200, 1, 2, 100, 2, 3, 30, 3, 0, 90, 2, 200, 16})
	f.Add([]byte{5, 0, 1, 255, 1, 2, 255, 2, 0, 24, 3, 4, 255, 3, 9, 17, 0, 8, 8, 0, 1, 7})
	f.Add([]byte{63, 1, 1, 200, 0, 1, 99, 1, 0, 98, 0, 2, 97, 2, 3, 24, 0, 0, 9})
	f.Fuzz(func(t *testing.T, data []byte) {
		c := fuzzed(data)
		s := c.solve(t)
		for v, tied := range c.reached() {
			require.Equal(t, !tied, math.IsNaN(s.Volts[v]), "node %d", v)
		}
		require.LessOrEqual(t, s.ResidualRelative, 1e-12)
		if len(c.branches) == 0 {
			return
		}
		q := c.change()
		q.set(len(data)%len(c.branches), 0)
		v, err := c.factor(t).With(q.changes)
		require.NoError(t, err)
		var open sparse.Solution
		require.NoError(t, v.Solve(&open, q.sources()))
		for v, tied := range q.reached() {
			require.Equal(t, !tied, math.IsNaN(open.Volts[v]), "node %d, branch opened", v)
		}
		require.LessOrEqual(t, open.ResidualRelative, 1e-11)
	})
}
