package sparse_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/circuit/sparse"
)

// twoIslands: nodes 0-1-2 held, 3-4 and 6-7-8 (a ring) not, 5 alone. Branch 2 is open.
func twoIslands() *circuit {
	c := newCircuit(9)
	c.hold(0, 12)
	c.join(0, 1, 1)
	c.join(1, 2, 1)
	c.join(2, 3, 0)
	c.join(3, 4, 1e-9)
	c.join(6, 7, 1e5)
	c.join(7, 8, 3)
	c.join(8, 6, 1)
	return c
}

func TestFloatingPartsAreNamed(t *testing.T) {
	c := twoIslands()
	assert.Equal(t, [][]int32{{3, 4}, {5}, {6, 7, 8}}, c.factor(t).Floating())
	s := c.solve(t)
	for v, volts := range s.Volts {
		assert.Equal(t, v >= 3, math.IsNaN(volts), "node %d", v)
	}
	assert.Equal(t, 12.0, s.Volts[2])
	assert.Empty(t, s.Stranded)
	assert.True(t, math.IsNaN(s.Difference(0, 3)))
	assert.True(t, math.IsNaN(s.Difference(3, 6)))
}

// A battery that nothing ties to the rest still drives its own circuit: 2 A between the
// ends of 3 S beside 1 S and 1e5 S in series.
func TestIslandWithItsOwnSource(t *testing.T) {
	c := twoIslands()
	c.amperes[7], c.amperes[8] = 2, -2
	s := c.solve(t)
	want := 2 / (3 + 1/(1+1e-5))
	assert.InEpsilon(t, want, s.Difference(7, 8), 1e-14)
	assert.InEpsilon(t, 3*want, s.Amperes[5], 1e-14)
	assert.True(t, math.IsNaN(s.Volts[7]))
	assert.Empty(t, s.Stranded)
}

// Current that enters an island and cannot leave has no solution and gets none.
func TestStrandedCurrent(t *testing.T) {
	c := twoIslands()
	c.amperes[7] = 2
	s := c.solve(t)
	assert.Equal(t, []int32{2}, s.Stranded)
	assert.True(t, math.IsNaN(s.Amperes[4]))
	assert.True(t, math.IsNaN(s.Difference(6, 7)))
	assert.Zero(t, s.Amperes[3], "the other island is unaffected")
	assert.Zero(t, s.ResidualAmperes)
}

// A shunt ties an island as a held node does, even one of 1e-15 S.
func TestTheSmallestShuntTies(t *testing.T) {
	c := twoIslands()
	c.shunt[8] = sparse.MinSiemens
	c.amperes[6] = 1e-15
	f := c.factor(t)
	assert.Equal(t, [][]int32{{3, 4}, {5}}, f.Floating())
	assert.InEpsilon(t, 1, c.solve(t).Volts[7], 1e-12)
}

// Long chains of the extreme conductances neither underflow to a false island nor overflow.
func TestExtremesAlternating(t *testing.T) {
	c := newCircuit(1)
	c.hold(0, 1)
	for i := range 2000 {
		next := c.node()
		c.join(int32(i), next, []float64{sparse.MinSiemens, sparse.MaxSiemens}[i%2])
		c.shunt[next] = []float64{0, sparse.MinSiemens, sparse.MaxSiemens}[i%3]
	}
	s := c.solve(t)
	assert.Empty(t, c.factor(t).Floating())
	for _, volts := range s.Volts {
		assert.True(t, volts >= 0 && volts <= 1)
	}
}

func TestEmptyAndTrivial(t *testing.T) {
	s := newCircuit(0).solve(t)
	assert.Empty(t, s.Volts)
	s = newCircuit(1).solve(t)
	assert.True(t, math.IsNaN(s.Volts[0]))
	c := newCircuit(2)
	c.hold(0, 3)
	c.hold(1, 1)
	c.join(0, 1, 2)
	c.join(1, 1, 7)
	s = c.solve(t)
	assert.Equal(t, []float64{3, 1}, s.Volts)
	assert.Equal(t, []float64{4, 0}, s.Amperes)
	assert.Equal(t, []float64{4, -4}, s.Delivered)
	assert.Zero(t, s.Condition)
}

func TestInputRefused(t *testing.T) {
	branches := []sparse.Branch{{A: 0, B: 1}}
	_, err := sparse.Analyze(2, []sparse.Branch{{A: 0, B: 1}, {A: 1, B: 2}})
	assert.ErrorContains(t, err, "branch 1: joins nodes 1 and 2, but the nodes are 0 to 1")
	_, err = sparse.Analyze(2, []sparse.Branch{{A: -1, B: 1}})
	assert.ErrorContains(t, err, "branch 0")
	_, err = sparse.Analyze(-1, nil)
	assert.ErrorContains(t, err, "no count of nodes")
	p, err := sparse.Analyze(2, branches)
	require.NoError(t, err)
	states := map[string]sparse.State{
		"conductance: 0 values given, 1 needed": {},
		"held: 1 values given, 2 needed":        {Siemens: []float64{1}, Held: []bool{true}},
		"shunt: 3 values given, 2 needed":       {Siemens: []float64{1}, Shunt: []float64{1, 1, 1}},
		"conductance 0: -1 S":                   {Siemens: []float64{-1}},
		"conductance 0: NaN S":                  {Siemens: []float64{math.NaN()}},
		"conductance 0: +Inf S":                 {Siemens: []float64{math.Inf(1)}},
		"conductance 0: 1e-16 S":                {Siemens: []float64{1e-16}},
		"shunt 1: 2e+12 S":                      {Siemens: []float64{1}, Shunt: []float64{0, 2e12}},
	}
	for want, state := range states {
		_, err := p.Factor(state)
		assert.ErrorContains(t, err, want)
		var input *sparse.InputError
		assert.True(t, errors.As(err, &input))
	}
}

func TestSourcesRefused(t *testing.T) {
	f := chain(2).factor(t)
	sources := map[string]sparse.Sources{
		"current: 1 values given, 2 needed":   {Amperes: []float64{1}},
		"potential: 3 values given, 2 needed": {Volts: []float64{1, 2, 3}},
		"current 1: NaN":                      {Amperes: []float64{1, math.NaN()}},
		"potential 0: -Inf":                   {Volts: []float64{math.Inf(-1), 0}},
	}
	for want, source := range sources {
		var s sparse.Solution
		assert.ErrorContains(t, f.Solve(&s, source), want)
	}
}

// A refused state leaves the factor as it was.
func TestRefusedRefactorKeepsTheFactor(t *testing.T) {
	c := chain(3)
	f := c.factor(t)
	require.Error(t, f.Refactor(sparse.State{Siemens: []float64{1, -1}}))
	var s sparse.Solution
	require.NoError(t, f.Solve(&s, c.sources()))
	assert.Equal(t, []float64{12, 12, 12}, s.Volts)
}
