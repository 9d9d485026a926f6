package sparse_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/circuit/sparse"
)

// closedForm is the relative tolerance against formulas: some thousand roundings of
// 1.1e-16, none of them amplified.
const closedForm = 1e-13

func TestTwoNodes(t *testing.T) {
	tests := map[string]struct {
		siemens []float64
		want    float64
	}{
		"one":                 {[]float64{4}, 0.25},
		"parallel":            {[]float64{1, 1.0 / 2, 1.0 / 3}, 6.0 / 11},
		"one of two open":     {[]float64{5, 0}, 0.2},
		"weld beside a leak":  {[]float64{1e5, 1e-9}, 1 / (1e5 + 1e-9)},
		"leak only":           {[]float64{1e-9}, 1e9},
		"smallest admissible": {[]float64{sparse.MinSiemens}, 1 / sparse.MinSiemens},
		"largest admissible":  {[]float64{sparse.MaxSiemens}, 1 / sparse.MaxSiemens},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			c := newCircuit(2)
			for _, g := range test.siemens {
				c.join(0, 1, g)
			}
			assert.InEpsilon(t, test.want, c.resistance(t, 0, 1), closedForm)
			assert.InEpsilon(t, test.want, c.resistance(t, 1, 0), closedForm)
		})
	}
}

func TestSeriesChain(t *testing.T) {
	c := newCircuit(1)
	ohms := 0.0
	for i := range 5000 {
		r := 0.001 * float64(1+i%7)
		c.join(int32(i), c.node(), 1/r)
		ohms += r
	}
	assert.InEpsilon(t, ohms, c.resistance(t, 0, 5000), 1e-12, "5000 terms summed in another order")
}

// A ladder of unit series and unit shunt resistors has the resistance of a quotient
// of Fibonacci numbers, F(2n+1)/F(2n), and the golden ratio in the limit
// (standard result: Feynman, Lectures, volume II, section 22-6 for the method).
func TestLadderTendsToGoldenRatio(t *testing.T) {
	for _, rungs := range []int{1, 2, 5, 30, 400} {
		c := newCircuit(1)
		bottom, at := int32(0), c.node()
		top := at
		for range rungs {
			next := c.node()
			c.join(at, next, 1)
			c.join(next, bottom, 1)
			at = next
		}
		want := 2.0
		for range rungs - 1 {
			want = 1 + 1/(1+1/want)
		}
		assert.InEpsilon(t, want, c.resistance(t, top, bottom), closedForm, "%d rungs", rungs)
		if rungs >= 30 {
			assert.InEpsilon(t, math.Phi, c.resistance(t, top, bottom), closedForm)
		}
	}
}

// The bridge of Wheatstone (Christie 1833): arms r1, r2 from the source, r3, r4 to the return, r5
// between. Expected values by the two mesh determinants written out.
func TestWheatstone(t *testing.T) {
	tests := map[string][5]float64{
		"balanced":          {100, 200, 50, 100, 10},
		"balanced and weld": {100, 200, 50, 100, 1e-5},
		"unbalanced":        {100, 200, 50, 101, 10},
		"badly unbalanced":  {1, 1000, 1000, 1, 7},
	}
	for name, r := range tests {
		t.Run(name, func(t *testing.T) {
			c := newCircuit(4)
			c.hold(0, 12)
			c.hold(3, 0)
			for i, b := range []sparse.Branch{{A: 0, B: 1}, {A: 0, B: 2}, {A: 1, B: 3}, {A: 2, B: 3}, {A: 1, B: 2}} {
				c.join(b.A, b.B, 1/r[i])
			}
			s := c.solve(t)
			// Thevenin: open-circuit voltage of the bridge over the resistance behind it.
			behind := r[0]*r[2]/(r[0]+r[2]) + r[1]*r[3]/(r[1]+r[3])
			want := 12 * (r[2]*r[1] - r[3]*r[0]) / ((r[0] + r[2]) * (r[1] + r[3])) / (behind + r[4])
			assert.InDelta(t, want, s.Amperes[4], closedForm, "in amperes, of about 0.1 A in the arms")
			assert.InEpsilon(t, s.Delivered[0], -s.Delivered[3], closedForm)
		})
	}
}

// Resistances of a cube of equal resistors: 7/12, 3/4 and 5/6 R over an edge, a face
// diagonal and the space diagonal (standard result; e.g. Van Steenwijk, American Journal of Physics 66, 1998).
func TestCube(t *testing.T) {
	c := newCircuit(8)
	for v := range int32(8) {
		for bit := int32(1); bit < 8; bit <<= 1 {
			if v&bit == 0 {
				c.join(v, v|bit, 2)
			}
		}
	}
	assert.InEpsilon(t, 7.0/24, c.resistance(t, 0, 1), closedForm)
	assert.InEpsilon(t, 3.0/8, c.resistance(t, 0, 3), closedForm)
	assert.InEpsilon(t, 5.0/12, c.resistance(t, 0, 7), closedForm)
}

// Any two nodes of the complete graph of n unit resistors are 2/n apart; on a ring of
// n, k(n-k)/n (both from symmetry).
func TestCompleteGraphAndRing(t *testing.T) {
	const n = 40
	complete, ring := newCircuit(n), newCircuit(n)
	for a := range int32(n) {
		ring.join(a, (a+1)%n, 1)
		for b := range a {
			complete.join(a, b, 1)
		}
	}
	for _, k := range []int32{1, 7, 20} {
		assert.InEpsilon(t, 2.0/n, complete.resistance(t, 3, 3+k), closedForm)
		assert.InEpsilon(t, float64(k)*(n-float64(k))/n, ring.resistance(t, 3, 3+k), closedForm)
	}
}

// torus is a square lattice of unit resistors, closed in both directions.
func torus(size int) *circuit {
	c := newCircuit(size * size)
	for y := range size {
		for x := range size {
			at := int32(y*size + x)
			c.join(at, int32(y*size+(x+1)%size), 1)
			c.join(at, int32((y+1)%size*size+x), 1)
		}
	}
	return c
}

// On the infinite square lattice neighbours are R/2 apart and diagonal neighbours 2R/pi
// (Atkinson & van Steenwijk, American Journal of Physics 67, 1999; Cserti, ibid. 68, 2000). A
// lattice closed to a torus of n by n has no edge, its neighbours are exactly (1-1/n²)/2
// apart by Foster's theorem, and its diagonal differs from the limit by a series in 1/n², so two
// sizes extrapolate the first term away; what is left is of order n⁻⁴, 1e-6 at n = 32.
func TestSquareLattice(t *testing.T) {
	small, large := torus(32), torus(64)
	assert.InEpsilon(t, (1-1.0/(32*32))/2, small.resistance(t, 0, 1), 1e-12)
	assert.InEpsilon(t, (1-1.0/(64*64))/2, large.resistance(t, 0, 64), 1e-12)
	limit := func(a, b int32) float64 {
		return (4*large.resistance(t, 0, b) - small.resistance(t, 0, a)) / 3
	}
	assert.InDelta(t, 1.0/2, limit(1, 1), 1e-12)
	assert.InDelta(t, 2/math.Pi, limit(33, 65), 1e-6)
	assert.InDelta(t, 2-4/math.Pi, limit(2, 2), 1e-6, "two steps along a row, same sources")
}

// An open sheet of the lattice tends to the same values in its middle.
func TestOpenSheetTendsToLattice(t *testing.T) {
	sheet := func(half int) float64 {
		size := 2*half + 1
		c := newCircuit(size * size)
		for y := range size {
			for x := range size {
				at := int32(y*size + x)
				if x+1 < size {
					c.join(at, at+1, 1)
				}
				if y+1 < size {
					c.join(at, at+int32(size), 1)
				}
			}
		}
		middle := int32(half*size + half)
		return c.resistance(t, middle, middle+int32(size)+1)
	}
	near, far := sheet(16), sheet(32)
	assert.Greater(t, near, far)
	assert.Greater(t, far, 2/math.Pi)
	assert.InDelta(t, 2/math.Pi, (4*far-near)/3, 2e-4, "the edge is not quite of second order in 1/n")
}

// Foster's theorem (1949): over the branches of a connected network of n nodes, conductance
// times resistance between the ends sums to n-1.
func TestFoster(t *testing.T) {
	r := newRand(7)
	c := random(r, 60, 40, 1e-3, 1e3)
	clear(c.held)
	clear(c.shunt)
	sum := 0.0
	for e, b := range c.branches {
		if b.A != b.B {
			sum += c.siemens[e] * c.resistance(t, b.A, b.B)
		}
	}
	assert.InEpsilon(t, 59, sum, 1e-12)
}

// A star is peeled without fill, whatever the number of its points.
func TestTreesMakeNoFill(t *testing.T) {
	trees := map[string]*circuit{"star": newCircuit(1), "chain": newCircuit(1), "random": random(newRand(3), 5000, 0, 1, 10)}
	for i := range int32(20_000) {
		trees["star"].join(0, trees["star"].node(), 1)
		trees["chain"].join(i, trees["chain"].node(), 1)
	}
	for name, c := range trees {
		p, err := sparse.Analyze(c.nodes, c.branches)
		require.NoError(t, err)
		assert.Equal(t, c.nodes-1, p.Entries(), name)
	}
}

// A ring costs one entry of fill for every node but three.
func TestRingFill(t *testing.T) {
	c := newCircuit(1000)
	for i := range int32(1000) {
		c.join(i, (i+1)%1000, 1)
	}
	p, err := sparse.Analyze(c.nodes, c.branches)
	require.NoError(t, err)
	assert.Equal(t, 1000+997, p.Entries())
}

// On harnesses the factor grows with the number of nodes and hardly faster: memory is linear.
func TestFillOfHarnessIsLinear(t *testing.T) {
	for _, nodes := range []int{1000, 10_000, 100_000} {
		c := harness(nodes, 1)
		p, err := sparse.Analyze(c.nodes, c.branches)
		require.NoError(t, err)
		assert.Equal(t, c.nodes, p.Nodes())
		assert.Equal(t, len(c.branches), p.Branches())
		assert.Less(t, float64(p.Entries())/float64(nodes), 3.0, "%d nodes", nodes)
	}
}
