package sparse_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/circuit/sparse"
)

// changed is the circuit with the changes written into it.
type changed struct {
	*circuit
	changes []sparse.Change
}

func (c *circuit) change() *changed {
	q := *c
	q.branches, q.siemens = slices.Clone(c.branches), slices.Clone(c.siemens)
	return &changed{circuit: &q}
}

func (c *changed) set(branch int, siemens float64) {
	c.siemens[branch] = siemens
	c.changes = append(c.changes, sparse.SetBranch(int32(branch), siemens))
}

func (c *changed) bridge(a, b int32, siemens float64) {
	c.join(a, b, siemens)
	c.changes = append(c.changes, sparse.Bridge(a, b, siemens))
}

// requireSame solves the changes by update and written out, and returns the variant.
func (c *changed) requireSame(t *testing.T, base *sparse.Factor, tolerance float64) *sparse.Variant {
	t.Helper()
	v, err := base.With(c.changes)
	require.NoError(t, err)
	var got, want sparse.Solution
	require.NoError(t, v.Solve(&got, c.sources()))
	anew := c.factor(t)
	require.NoError(t, anew.Solve(&want, c.sources()))
	require.Equal(t, anew.Floating(), v.Floating())
	require.LessOrEqual(t, got.ResidualRelative, 1e-11)
	require.InEpsilon(t, want.Condition, got.Condition, 1e-6)
	span, largest := greatest(want.Volts), greatest(want.Amperes)
	for i := range want.Volts {
		requireClose(t, want.Volts[i], got.Volts[i], tolerance*span, "node %d", i)
	}
	all := append(slices.Clone(got.Amperes), got.Bridges...)
	require.Len(t, all, len(want.Amperes))
	for i := range want.Amperes {
		requireClose(t, want.Amperes[i], all[i], tolerance*largest, "branch %d", i)
	}
	return v
}

func requireClose(t *testing.T, want, got, tolerance float64, message string, args ...any) {
	t.Helper()
	if math.IsNaN(want) {
		require.True(t, math.IsNaN(got), message, args)
		return
	}
	require.InDelta(t, want, got, tolerance+1e-300, message, args)
}

func greatest(values []float64) float64 {
	largest := 0.0
	for _, x := range values {
		if !math.IsNaN(x) {
			largest = math.Max(largest, math.Abs(x))
		}
	}
	return largest
}

// Random changes of one to six branches and bridges against factorising anew.
func TestUpdateAgainstRefactorisation(t *testing.T) {
	updated := 0
	for seed := range uint64(120) {
		r := newRand(seed + 5000)
		c := random(r, 20+r.IntN(60), 10+r.IntN(40), 1e-2, 1e3)
		f := c.factor(t)
		q := c.change()
		for _, e := range r.Perm(len(c.branches))[:1+r.IntN(6)] {
			q.changeRandomly(r, e)
		}
		if !q.requireSame(t, f, 1e-10).Refactored() {
			updated++
		}
	}
	assert.Greater(t, updated, 90, "most changes need no factorisation")
}

func (c *changed) changeRandomly(r *rand.Rand, e int) {
	switch r.IntN(4) {
	case 0:
		c.set(e, 0)
	case 1:
		c.set(e, 1e5)
	case 2:
		c.set(e, logUniform(r, 1e-9, 1e5))
	default:
		c.bridge(int32(r.IntN(c.nodes)), int32(r.IntN(c.nodes)), logUniform(r, 1e-3, 1e5))
	}
}

// Every branch of a harness opened in turn, and every node shorted to ground.
func TestUpdateEveryBranchOfHarness(t *testing.T) {
	c := harness(300, 3)
	f := c.factor(t)
	for e := range c.branches {
		q := c.change()
		q.set(e, 0)
		q.requireSame(t, f, 1e-10)
	}
	for v := range int32(c.nodes) {
		q := c.change()
		q.bridge(v, 0, 1e4)
		assert.False(t, q.requireSame(t, f, 1e-10).Refactored(), "node %d", v)
	}
}

// chain is 12 V at node 0 and a row of nodes behind it, unit resistors between.
func chain(nodes int) *circuit {
	c := newCircuit(nodes)
	c.hold(0, 12)
	for v := range int32(nodes - 1) {
		c.join(v, v+1, 1)
	}
	return c
}

func TestOpeningTheOnlyWayFloats(t *testing.T) {
	c := chain(6)
	q := c.change()
	q.set(2, 0)
	v := q.requireSame(t, c.factor(t), 1e-12)
	assert.True(t, v.Refactored())
	assert.Equal(t, [][]int32{{3, 4, 5}}, v.Floating())
}

func TestOpeningAndBypassingDoesNotFloat(t *testing.T) {
	c := chain(6)
	q := c.change()
	q.set(2, 0)
	q.bridge(1, 4, 3)
	v := q.requireSame(t, c.factor(t), 1e-12)
	assert.False(t, v.Refactored(), "the two changes together leave every node tied")
	assert.Empty(t, v.Floating())
}

func TestLeavingALeakIsFactorisedAnew(t *testing.T) {
	c := chain(6)
	c.join(0, 5, 1e-9)
	q := c.change()
	q.set(2, 0)
	v := q.requireSame(t, c.factor(t), 1e-12)
	assert.True(t, v.Refactored(), "nine of the digits of an update would cancel")
	assert.Empty(t, v.Floating())
}

func TestClosingReconnectsAnIsland(t *testing.T) {
	c := chain(6)
	c.siemens[2] = 0
	q := c.change()
	q.set(2, 5)
	v := q.requireSame(t, c.factor(t), 1e-12)
	assert.True(t, v.Refactored())
	assert.Empty(t, v.Floating())
	q = c.change()
	q.bridge(0, 4, 5)
	assert.Empty(t, q.requireSame(t, c.factor(t), 1e-12).Floating())
}

func TestUpdateBeyondRankLimit(t *testing.T) {
	c := random(newRand(77), 60, 60, 1, 10)
	q := c.change()
	for e := range 40 {
		q.set(e, 2)
	}
	assert.True(t, q.requireSame(t, c.factor(t), 1e-11).Refactored())
}

func TestNoChange(t *testing.T) {
	c := random(newRand(78), 30, 20, 1, 10)
	q := c.change()
	q.set(3, c.siemens[3])
	q.bridge(4, 4, 10)
	q.bridge(5, 6, 0)
	assert.False(t, q.requireSame(t, c.factor(t), 1e-12).Refactored())
}

func TestVariantIsVoidAfterRefactor(t *testing.T) {
	c := chain(4)
	f := c.factor(t)
	v, err := f.With([]sparse.Change{sparse.SetBranch(1, 2)})
	require.NoError(t, err)
	require.NoError(t, f.Refactor(c.state()))
	var s sparse.Solution
	assert.ErrorContains(t, v.Solve(&s, c.sources()), "make the variant anew")
}

func TestChangesRefused(t *testing.T) {
	f := chain(4).factor(t)
	tests := map[string][]sparse.Change{
		"branch 3 does not exist, there are 3": {sparse.SetBranch(3, 1)},
		"branch -2 does not exist":             {sparse.SetBranch(-2, 1)},
		"branch 1 is changed twice":            {sparse.SetBranch(1, 1), sparse.SetBranch(1, 2)},
		"bridges nodes 0 and 4":                {sparse.Bridge(0, 4, 1)},
		"-1 S lies outside":                    {sparse.Bridge(0, 2, -1)},
		"NaN S lies outside":                   {sparse.SetBranch(0, math.NaN())},
	}
	for want, changes := range tests {
		_, err := f.With(changes)
		assert.ErrorContains(t, err, want)
	}
}
