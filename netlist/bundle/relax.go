package bundle

import (
	"math"
	"slices"
)

// A relaxer lets overlapping circles push each other apart while the hole around them shrinks. It minimises the radius of
// the hole plus a weight times the squares of all overlaps, by the method of Broyden, Fletcher, Goldfarb and Shanno with
// limited memory (J. Nocedal, Mathematics of Computation 35, 1980; from memory). The weight grows in stages; what overlap is
// left in the end is taken out by spreading the centres.
type relaxer struct {
	radii  []float64
	sizes  int
	weight float64
	now    []float64 // x of all circles, y of all circles, radius of the hole
	slope  []float64
	trial  []float64
	next   []float64 // slope at the trial
	memory []correction
	turns  []float64
}

// A correction is one step of the search and how the slope changed over it.
type correction struct {
	step, change []float64
	over         float64 // 1 / (step . change)
}

const (
	remembered = 7
	mostSteps  = 60 // a stage
)

// Weights of the stages, for circles of radius 1 at the most: the coarse ones while searching, the fine ones for what was
// found. At the last, overlaps are some 1e-6 of that radius.
var (
	coarse = []float64{2, 8}
	fine   = []float64{8, 240, 10_000, 1_000_000}
)

func newRelaxer(radii []float64) *relaxer {
	m := 2*len(radii) + 1
	different := slices.Compact(slices.Sorted(slices.Values(radii)))
	r := &relaxer{radii: radii, sizes: len(different)}
	for _, v := range []*[]float64{&r.now, &r.slope, &r.trial, &r.next} {
		*v = make([]float64, m)
	}
	return r
}

// relax gives the arrangement into which the circles settle from a start.
//
// At coarse weights the hole of the arrangement is the energy: what the hole would be if the overlaps that are left were
// paid for. At the last fine weight the overlaps are taken out and the hole is a real one.
func (r *relaxer) relax(start layout, weights ...float64) layout {
	n := len(r.radii)
	copy(r.now, start.x)
	copy(r.now[n:], start.y)
	r.now[2*n] = start.hole
	energy := 0.0
	for _, r.weight = range weights {
		energy = r.descend()
	}
	if r.weight == fine[len(fine)-1] {
		return r.spread()
	}
	return layout{slices.Clone(r.now[:n]), slices.Clone(r.now[n : 2*n]), energy}
}

// spread takes what overlap is left out of the arrangement: all centres move outwards from the middle by one factor, and
// the hole is what then holds all circles.
func (r *relaxer) spread() layout {
	n := len(r.radii)
	x, y, factor := r.now[:n], r.now[n:2*n], 1.0
	for i := range x {
		for j := range i {
			apart := math.Hypot(x[i]-x[j], y[i]-y[j])
			factor = max(factor, (r.radii[i]+r.radii[j])/max(apart, 1e-9))
		}
	}
	l := layout{x: make([]float64, n), y: make([]float64, n)}
	for i := range x {
		l.x[i], l.y[i] = x[i]*factor, y[i]*factor
		l.hole = max(l.hole, math.Hypot(l.x[i], l.y[i])+r.radii[i])
	}
	return l
}

// descend minimises the energy at the present weight, from r.now.
func (r *relaxer) descend() float64 {
	r.memory = r.memory[:0]
	energy := r.energy(r.now, r.slope)
	for range mostSteps {
		direction := r.direction()
		down := dot(direction, r.slope)
		if !(down < -1e-14) {
			return energy
		}
		length := 1.0
		if len(r.memory) == 0 {
			length = min(1, 0.1/math.Sqrt(dot(direction, direction))) // nothing is known of the scale yet
		}
		found := false
		for range 20 {
			for k := range r.trial {
				r.trial[k] = r.now[k] + length*direction[k]
			}
			if e := r.energy(r.trial, r.next); e <= energy+1e-4*length*down {
				found = energy-e > 1e-13
				energy = e
				break
			}
			length /= 2
		}
		if !found {
			return energy
		}
		r.remember()
		r.now, r.trial = r.trial, r.now
		r.slope, r.next = r.next, r.slope
	}
	return energy
}

// remember keeps the step from r.now to r.trial.
func (r *relaxer) remember() {
	var c correction
	if len(r.memory) == remembered {
		c = r.memory[0]
		copy(r.memory, r.memory[1:])
		r.memory = r.memory[:remembered-1]
	} else {
		c.step, c.change = make([]float64, len(r.now)), make([]float64, len(r.now))
	}
	for k := range r.now {
		c.step[k], c.change[k] = r.trial[k]-r.now[k], r.next[k]-r.slope[k]
	}
	if curve := dot(c.step, c.change); curve > 1e-18 {
		c.over = 1 / curve
		r.memory = append(r.memory, c)
	}
}

// direction is the two-loop recursion of the method: the slope, turned by what the last steps told of the curvature.
func (r *relaxer) direction() []float64 {
	d := r.turned()
	for k := range d {
		d[k] = -r.slope[k]
	}
	var alpha [remembered]float64
	for i := len(r.memory) - 1; i >= 0; i-- {
		c := r.memory[i]
		alpha[i] = c.over * dot(c.step, d)
		add(d, -alpha[i], c.change)
	}
	if n := len(r.memory); n > 0 {
		last := r.memory[n-1]
		scale := 1 / (last.over * dot(last.change, last.change))
		for k := range d {
			d[k] *= scale
		}
	}
	for i, c := range r.memory {
		add(d, alpha[i]-c.over*dot(c.change, d), c.step)
	}
	return d
}

func (r *relaxer) turned() []float64 {
	if r.turns == nil {
		r.turns = make([]float64, len(r.now))
	}
	return r.turns
}

// energy is what is minimised, at v; its slope goes into slope.
func (r *relaxer) energy(v, slope []float64) float64 {
	n := len(r.radii)
	x, y, hole := v[:n], v[n:2*n], v[2*n]
	sx, sy := slope[:n], slope[n:2*n]
	clear(slope)
	energy, out := 0.0, 0.0
	for i := range n {
		xi, yi, ri := x[i], y[i], r.radii[i]
		for j := range i {
			dx, dy, reach := xi-x[j], yi-y[j], ri+r.radii[j]
			if square := dx*dx + dy*dy; square < reach*reach {
				apart := max(math.Sqrt(square), 1e-9)
				deep := reach - apart
				energy += deep * deep
				push := -2 * deep / apart
				sx[i] += push * dx
				sy[i] += push * dy
				sx[j] -= push * dx
				sy[j] -= push * dy
			}
		}
		far := math.Sqrt(xi*xi + yi*yi)
		if deep := far + ri - hole; deep > 0 {
			energy += deep * deep
			push := 2 * deep / max(far, 1e-9)
			sx[i] += push * xi
			sy[i] += push * yi
			out += 2 * deep
		}
	}
	for k := range 2 * n {
		slope[k] *= r.weight
	}
	slope[2*n] = 1 - r.weight*out
	return hole + r.weight*energy
}

func dot(a, b []float64) float64 {
	total := 0.0
	for i := range a {
		total += a[i] * b[i]
	}
	return total
}

func add(to []float64, factor float64, v []float64) {
	for i := range to {
		to[i] += factor * v[i]
	}
}
