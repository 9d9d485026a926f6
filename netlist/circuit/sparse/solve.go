package sparse

import "math"

// Sources drive a network.
type Sources struct {
	Amperes []float64 // injected per node, positive into the node; nil = none
	Volts   []float64 // potential per held node, others are ignored; nil = all 0 V
}

// Solution receives what Solve finds. Its memory is re-used by the next Solve; the zero value
// is ready. Potentials of floating nodes are NaN.
type Solution struct {
	Volts     []float64 // potential per node
	Amperes   []float64 // current per branch, positive from A to B
	Bridges   []float64 // current per Bridge change of a Variant, in their order, from A to B
	Delivered []float64 // per held node: amperes that its holder puts in to hold it; else 0
	Stranded  []int32   // islands (indices into Floating) whose injected currents do not sum to zero

	// ResidualAmperes is the largest sum of currents at a node, which Kirchhoff's law
	// says is zero; ResidualRelative is the same over the largest current anywhere, or
	// where that is less, over the current that one rounding of the potentials would
	// make: in a network at rest all currents are noise, and noise over noise says nothing.
	ResidualAmperes, ResidualRelative float64
	// Condition is that of the factor, see Factor.Condition.
	Condition float64

	place     []int32 // of the pattern: node -> position
	island    []int32 // of the factor, by position
	high, low []float64
	rest      []float64 // Kirchhoff sum by position: what flows in more than out
	injected  []float64
	greatest  float64 // largest current seen by the last call of settle, amperes
}

// network is what a solution is held against: a factor's own, or a variant's.
type network struct {
	factor     *Factor   // held nodes, shunts, islands
	siemens    []float64 // per branch, then per added branch
	from, to   []int32   // positions, likewise
	substitute func([]float64)
}

// Solve finds potentials and currents. It fails with an *InputError on sources of a
// wrong length or not finite. Currents injected into a floating island are solved
// for if they sum to zero there; otherwise the island is listed in dst.Stranded and its
// currents are NaN, since no potentials exist that would satisfy them.
func (f *Factor) Solve(dst *Solution, src Sources) error {
	if err := f.pattern.checkSources(src); err != nil {
		return err
	}
	f.network().solve(dst, src)
	dst.Bridges = dst.Bridges[:0]
	dst.Condition = f.Condition()
	return nil
}

// Approach is Solve for an iteration that goes on: potentials without the refinement, so that Difference can be asked,
// and neither currents nor residual nor condition.
func (f *Factor) Approach(dst *Solution, src Sources) error {
	if err := f.pattern.checkSources(src); err != nil {
		return err
	}
	w := f.network()
	dst.prepare(w)
	w.start(dst, src)
	w.settle(dst)
	w.correct(dst)
	return nil
}

func (f *Factor) network() *network {
	return &network{f, f.siemens, f.pattern.from, f.pattern.to, f.substitute}
}

// solve starts from the held potentials, solves for what Kirchhoff's law lacks, and
// refines once. The sum of start and both corrections is kept as high + low.
func (w *network) solve(s *Solution, src Sources) {
	s.prepare(w)
	w.start(s, src)
	for range 2 {
		w.settle(s)
		w.correct(s)
	}
	w.settle(s)
	w.strand(s)
	w.finish(s)
}

// correct solves for what Kirchhoff's law lacks.
func (w *network) correct(s *Solution) {
	for k := range s.rest {
		if w.factor.held[k] {
			s.rest[k] = 0
		}
	}
	w.substitute(s.rest)
	for k, correction := range s.rest {
		s.high[k], s.low[k] = addTo(s.high[k], s.low[k], correction)
	}
}

// addTo adds c to the unevaluated sum high+low, exactly up to the rounding of low
// (two-sum: Knuth, The Art of Computer Programming, volume 2, section 4.2.2).
func addTo(high, low, c float64) (float64, float64) {
	sum := high + c
	part := sum - high
	return sum, low + ((high - (sum - part)) + (c - part))
}

// prepare sizes the slices and remembers whose solution this is.
func (s *Solution) prepare(w *network) {
	p := w.factor.pattern
	n := len(p.node)
	s.place, s.island = p.place, w.factor.island
	s.Volts, s.Delivered = resize(s.Volts, n), resize(s.Delivered, n)
	s.Amperes = resize(s.Amperes, len(w.siemens))
	s.high, s.low = resize(s.high, n), resize(s.low, n)
	s.rest, s.injected = resize(s.rest, n), resize(s.injected, n)
	s.Stranded = s.Stranded[:0]
}

func resize(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n)
	}
	return s[:n]
}

// start sets the held potentials, all others to zero, and the injected currents.
func (w *network) start(s *Solution, src Sources) {
	clear(s.high)
	clear(s.low)
	clear(s.injected)
	for v, volts := range src.Volts {
		if k := s.place[v]; w.factor.held[k] {
			s.high[k] = volts
		}
	}
	for v, amperes := range src.Amperes {
		s.injected[s.place[v]] = amperes
	}
}

// settle computes the currents and the Kirchhoff sum of every node.
func (w *network) settle(s *Solution) {
	copy(s.rest, s.injected)
	greatest := 0.0
	for _, i := range s.injected {
		greatest = max(greatest, math.Abs(i))
	}
	for e, g := range w.siemens {
		if g == 0 {
			s.Amperes[e] = 0
			continue
		}
		a, b := w.from[e], w.to[e]
		i := g * ((s.high[a] - s.high[b]) + (s.low[a] - s.low[b]))
		s.Amperes[e] = i
		s.rest[a] -= i
		s.rest[b] += i
		greatest = max(greatest, math.Abs(i))
	}
	for k, g := range w.factor.shunt {
		if g != 0 {
			i := g * (s.high[k] + s.low[k])
			s.rest[k] -= i
			greatest = max(greatest, math.Abs(i))
		}
	}
	s.greatest = greatest
}

// strandedShare is what the currents injected into an island may miss zero by, of the largest
// of them: far above the rounding of a sum of n terms, far below a current that is meant.
const strandedShare = 1e-9

// strand lists the islands with a net injection. All of it shows at the last node of
// the island, whose potential was set to zero rather than solved for.
func (w *network) strand(s *Solution) {
	f := w.factor
	for i, k := range f.last {
		largest := 0.0
		for _, v := range f.floating[i] {
			largest = max(largest, math.Abs(s.injected[s.place[v]]))
		}
		if math.Abs(s.rest[k]) > strandedShare*largest {
			s.Stranded = append(s.Stranded, int32(i))
		}
		s.rest[k] = 0
	}
}

// finish takes the result out of elimination order.
func (w *network) finish(s *Solution) {
	s.ResidualAmperes, s.ResidualRelative = 0, 0
	for v := range s.Volts {
		k := s.place[v]
		s.Volts[v] = s.high[k] + s.low[k]
		s.Delivered[v] = 0
		switch {
		case w.factor.held[k]:
			s.Delivered[v] = -s.rest[k]
		case w.factor.floats(k):
			s.Volts[v] = math.NaN()
			fallthrough
		default:
			s.ResidualAmperes = max(s.ResidualAmperes, math.Abs(s.rest[k]))
		}
	}
	if s.ResidualAmperes > 0 {
		s.ResidualRelative = s.ResidualAmperes / max(s.greatest, w.noise(s))
	}
	if len(s.Stranded) == 0 {
		return
	}
	for e, g := range w.siemens {
		if g != 0 && s.stranded(w.from[e]) {
			s.Amperes[e] = math.NaN()
		}
	}
}

// noise is the largest current that a rounding of a potential makes in any branch or shunt, or in all branches of a node
// together, in amperes: many parallel branches add their noise up in Kirchhoff's sum.
func (w *network) noise(s *Solution) float64 {
	const rounding = 0x1p-52
	most := 0.0
	for e, g := range w.siemens {
		most = max(most, g*math.Abs(s.high[w.from[e]]), g*math.Abs(s.high[w.to[e]]))
	}
	for k, g := range w.factor.shunt {
		most = max(most, g*math.Abs(s.high[k]))
	}
	for k, g := range w.factor.rowSum {
		most = max(most, g*math.Abs(s.high[k]))
	}
	return most * rounding
}

func (s *Solution) stranded(k int32) bool {
	if s.island == nil || s.island[k] < 0 {
		return false
	}
	for _, i := range s.Stranded {
		if i == s.island[k] {
			return true
		}
	}
	return false
}

// Difference is the potential of node a over node b in volts, more precise than the
// difference of two entries of Volts. Within one floating island it is defined too;
// between an island and anything else, and in a stranded one, it is NaN.
func (s *Solution) Difference(a, b int32) float64 {
	j, k := s.place[a], s.place[b]
	if s.island != nil && s.island[j] != s.island[k] || s.stranded(j) {
		return math.NaN()
	}
	return (s.high[j] - s.high[k]) + (s.low[j] - s.low[k])
}
