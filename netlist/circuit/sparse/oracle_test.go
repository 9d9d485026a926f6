package sparse_test

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"ferrule/netlist/circuit/sparse"
)

// Against gonum's dense LU. With conductances over three decades its condition
// number stays below 1e6, so it is itself good to 1e-10.
func TestAgainstDenseLU(t *testing.T) {
	for seed := range uint64(60) {
		r := newRand(seed)
		c := random(r, 2+r.IntN(120), r.IntN(80), 0.1, 100)
		want, got := denseVolts(t, c), c.solve(t)
		for v := range want {
			require.InDelta(t, want[v], got.Volts[v], 1e-9*(1+math.Abs(want[v])), "seed %d, node %d", seed, v)
		}
		requireKirchhoff(t, c, got)
	}
}

// exact solves with 400 bits by plain Gaussian elimination: an oracle for conductances
// over fourteen decades, where no method on float64 matrices is one.
func exact(c *circuit) []*big.Float {
	matrix, rhs, index := c.exactMatrix()
	n := len(rhs)
	for k := range n {
		for i := k + 1; i < n; i++ {
			q := number(0).Quo(matrix[i][k], matrix[k][k])
			for j := k; j < n; j++ {
				matrix[i][j].Sub(matrix[i][j], number(0).Mul(q, matrix[k][j]))
			}
			rhs[i].Sub(rhs[i], number(0).Mul(q, rhs[k]))
		}
	}
	for k := n - 1; k >= 0; k-- {
		for j := k + 1; j < n; j++ {
			rhs[k].Sub(rhs[k], number(0).Mul(matrix[k][j], rhs[j]))
		}
		rhs[k].Quo(rhs[k], matrix[k][k])
	}
	volts := make([]*big.Float, c.nodes)
	for v, i := range index {
		volts[v] = number(c.volts[v])
		if i >= 0 {
			volts[v] = rhs[i]
		}
	}
	return volts
}

func number(x float64) *big.Float { return new(big.Float).SetPrec(400).SetFloat64(x) }

// exactMatrix writes the network out without rounding.
func (c *circuit) exactMatrix() ([][]*big.Float, []*big.Float, []int) {
	index, n := c.free()
	matrix, rhs := make([][]*big.Float, n), make([]*big.Float, n)
	for i := range matrix {
		matrix[i], rhs[i] = make([]*big.Float, n), number(0)
		for j := range matrix[i] {
			matrix[i][j] = number(0)
		}
	}
	for v, i := range index {
		if i >= 0 {
			matrix[i][i].Add(matrix[i][i], number(c.shunt[v]))
			rhs[i].Add(rhs[i], number(c.amperes[v]))
		}
	}
	for e, b := range c.branches {
		g := number(c.siemens[e])
		for _, end := range [2]sparse.Branch{b, {A: b.B, B: b.A}} {
			i, j := index[end.A], index[end.B]
			if i < 0 || end.A == end.B {
				continue
			}
			matrix[i][i].Add(matrix[i][i], g)
			if j >= 0 {
				matrix[i][j].Sub(matrix[i][j], g)
			} else {
				rhs[i].Add(rhs[i], number(0).Mul(g, number(c.volts[end.B])))
			}
		}
	}
	return matrix, rhs, index
}

// The accuracy that the package comment states, for conductances from 1e-9 to 1e5 S.
func TestAccuracyOverFourteenDecades(t *testing.T) {
	worstVolts, worstAmperes, worstDrop := 0.0, 0.0, 0.0
	for seed := range uint64(30) {
		r := newRand(seed + 1000)
		c := random(r, 30+r.IntN(30), r.IntN(30), 1e-9, 1e5)
		want, got := exact(c), c.solve(t)
		span, largest := 0.0, 0.0
		currents := make([]float64, len(c.branches))
		for e, b := range c.branches {
			drop := number(0).Sub(want[b.A], want[b.B])
			currents[e], _ = drop.Mul(drop, number(c.siemens[e])).Float64()
			largest = math.Max(largest, math.Abs(currents[e]))
		}
		for v := range want {
			x, _ := want[v].Float64()
			span = math.Max(span, math.Abs(x))
		}
		for v := range want {
			x, _ := want[v].Float64()
			worstVolts = math.Max(worstVolts, math.Abs(got.Volts[v]-x)/span)
		}
		for e := range currents {
			worstAmperes = math.Max(worstAmperes, math.Abs(got.Amperes[e]-currents[e])/largest)
			b := c.branches[e]
			worstDrop = math.Max(worstDrop, math.Abs(got.Difference(b.A, b.B)-currents[e]/c.siemens[e])/span)
		}
		requireKirchhoff(t, c, got)
	}
	t.Logf("largest errors: potential %.1e of the span, current %.1e of the largest", worstVolts, worstAmperes)
	assert.Less(t, worstVolts, 1e-14)
	assert.Less(t, worstAmperes, 1e-14)
	assert.Less(t, worstDrop, 1e-14)
}

// A leak behind welds keeps its digits: 12 V over a weld of 1e5 S, a leak of 1e-9 S, a
// weld. A plain difference of potentials would lose the current through the welds to rounding,
// which at 12 V and 1e5 S is 1e-10 A.
func TestLeakBehindWelds(t *testing.T) {
	c := newCircuit(4)
	c.hold(0, 12)
	c.hold(3, 0)
	for i, g := range []float64{1e5, 1e-9, 1e5} {
		c.join(int32(i), int32(i+1), g)
	}
	s := c.solve(t)
	want := 12 / (1e-5 + 1e9 + 1e-5)
	for e := range c.branches {
		assert.InEpsilon(t, want, s.Amperes[e], 1e-9, "branch %d", e)
	}
}

// requireKirchhoff sums the currents at every node and balances the power, from what the
// solution says and nothing that the package keeps.
func requireKirchhoff(t testing.TB, c *circuit, s *sparse.Solution) {
	t.Helper()
	sum, largest := append([]float64(nil), c.amperes...), 0.0
	dissipated := 0.0
	for e, b := range c.branches {
		i := s.Amperes[e]
		sum[b.A] -= i
		sum[b.B] += i
		largest = math.Max(largest, math.Abs(i))
		dissipated += i * s.Difference(b.A, b.B)
	}
	delivered, span := 0.0, dissipated
	for v := range sum {
		i := c.shunt[v] * s.Volts[v]
		sum[v] += s.Delivered[v] - i
		largest = math.Max(largest, math.Max(math.Abs(i), math.Abs(c.amperes[v])))
		dissipated += i * s.Volts[v]
		power := (c.amperes[v] + s.Delivered[v]) * s.Volts[v]
		delivered += power
		span += math.Abs(power)
	}
	for v := range sum {
		require.InDelta(t, 0, sum[v], 1e-12*largest, "Kirchhoff sum of node %d in amperes", v)
	}
	require.InDelta(t, dissipated, delivered, 1e-11*span, "power in watts")
	require.LessOrEqual(t, s.ResidualRelative, 1e-13)
	require.InDelta(t, s.ResidualAmperes, s.ResidualRelative*largest, 1e-12*largest)
}

func TestKirchhoffOnHarness(t *testing.T) {
	c := harness(20_000, 5)
	s := c.solve(t)
	requireKirchhoff(t, c, s)
	assert.Greater(t, s.Delivered[0], -1e9)
	assert.InDelta(t, 1260, -s.Delivered[0], 1e-9, "all that enters at the battery leaves at its negative post")
}

// Conjugate gradients know nothing of elimination. They were run to a residual of 1e-13, which the
// condition number of 1e7 makes about 1e-6 of the potential.
func TestAgainstConjugateGradients(t *testing.T) {
	c := harness(1500, 9)
	want, _ := conjugateGradients(c, 1e-13)
	got := c.solve(t)
	for v := range want {
		require.InDelta(t, want[v], got.Volts[v], 1e-6*12.6)
	}
}

// The condition number against gonum's, which inverts nothing either but works on
// the matrix written out; and against the explicit inverse.
func TestCondition(t *testing.T) {
	for seed := range uint64(20) {
		c := random(newRand(seed+50), 50, 25, 0.1, 100)
		matrix, _, _ := c.dense()
		var inverse mat.Dense
		require.NoError(t, inverse.Inverse(matrix))
		want := mat.Norm(matrix, 1) * mat.Norm(&inverse, 1)
		s := c.solve(t)
		assert.InEpsilon(t, want, s.Condition, 1e-9)
		var lu mat.LU
		lu.Factorize(matrix)
		assert.InEpsilon(t, lu.Cond(), s.Condition, 2, "an estimate, within a factor of three")
	}
}

func TestWeakestPivotNamesTheLeak(t *testing.T) {
	c := newCircuit(5)
	c.hold(0, 12)
	c.join(0, 1, 1e-9)
	c.join(1, 2, 100)
	c.join(2, 3, 100)
	c.join(3, 4, 100)
	w := c.factor(t).Weakest()
	behind := float64(w.Node-1) / 100
	assert.InEpsilon(t, 1/(1e9+behind), w.Siemens, 1e-15, "the leak to full accuracy, beside 200 S")
	assert.Less(t, w.Share, 1e-10)
	assert.Equal(t, int32(-1), newCircuit(1).factor(t).Weakest().Node)
}

// Renumbering nodes and branches changes another elimination order, hence roundings, and nothing more.
func TestPermutation(t *testing.T) {
	for seed := range uint64(20) {
		r := newRand(seed + 300)
		c := random(r, 80, 40, 1e-3, 1e3)
		q, nodes, branches := c.permuted(r)
		s, other := c.solve(t), q.solve(t)
		largest := 0.0
		for _, i := range s.Amperes {
			largest = math.Max(largest, math.Abs(i))
		}
		for v, to := range nodes {
			require.InDelta(t, s.Volts[v], other.Volts[to], 1e-11*(1+math.Abs(s.Volts[v])))
		}
		for e, to := range branches {
			require.InDelta(t, s.Amperes[e], other.Amperes[to], 1e-11*largest)
		}
	}
}

func TestSameInputSameBits(t *testing.T) {
	first, second := harness(3000, 2).solve(t), harness(3000, 2).solve(t)
	assert.Equal(t, first.Volts, second.Volts)
	assert.Equal(t, first.Amperes, second.Amperes)
}

// One factor for many sources: the principle of superposition.
func TestSuperposition(t *testing.T) {
	c := random(newRand(11), 60, 30, 0.1, 100)
	f := c.factor(t)
	var both, currents, potentials sparse.Solution
	require.NoError(t, f.Solve(&both, c.sources()))
	require.NoError(t, f.Solve(&currents, sparse.Sources{Amperes: c.amperes}))
	require.NoError(t, f.Solve(&potentials, sparse.Sources{Volts: c.volts}))
	for v := range both.Volts {
		assert.InDelta(t, both.Volts[v], currents.Volts[v]+potentials.Volts[v], 1e-11)
	}
}

func TestRefactorEqualsFactor(t *testing.T) {
	r := newRand(12)
	c := random(r, 60, 30, 0.1, 100)
	f := c.factor(t)
	for range 5 {
		for e := range c.siemens {
			c.siemens[e] = logUniform(r, 1e-3, 1e3) * float64(r.IntN(2))
		}
		clear(c.held)
		c.hold(int32(r.IntN(60)), 5)
		require.NoError(t, f.Refactor(c.state()))
		var again sparse.Solution
		require.NoError(t, f.Solve(&again, c.sources()))
		fresh := c.factor(t)
		var want sparse.Solution
		require.NoError(t, fresh.Solve(&want, c.sources()))
		assert.Equal(t, fresh.Floating(), f.Floating())
		for v := range want.Volts {
			assert.Equal(t, math.Float64bits(want.Volts[v]), math.Float64bits(again.Volts[v]))
		}
	}
}
