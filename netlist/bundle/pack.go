package bundle

import (
	"cmp"
	"math"
	"slices"
)

// A Packing is a set of circles laid into the smallest round hole that was found for them: no two overlap, none reaches
// beyond the hole. It is a real arrangement, so the hole of the tightest one is never larger than this.
type Packing struct {
	DiameterMM float64
	Circles    []Circle // in the order of the diameters that were given
}

// A Circle lies in the hole. X and Y are of its centre, from the centre of the hole; all in mm.
type Circle struct{ X, Y, DiameterMM float64 }

// The search is bounded by its work, so that a bundle takes the same few milliseconds everywhere and always comes out the
// same: searchWork pairs of circles are looked at, of which many circles use more a step and get fewer steps.
const (
	searchWork  = 3_000_000
	hopsACircle = 6
	fewestHops  = 12
	stepsARelax = 60 // about what a relaxation takes, for sharing out the work
)

// Pack lays circles of these diameters in mm into a round hole as small as it finds: from a few regular and loose first
// arrangements, the circles and the hole are relaxed together, then single circles are moved or changed for others and the
// whole is relaxed again, and what is smaller is kept. The same diameters give the same packing. Diameters that are not
// above zero take no room.
func Pack(diameters []float64) Packing {
	p := Packing{Circles: make([]Circle, len(diameters))}
	var radii []float64
	var index []int
	largest := 0.0
	for i, d := range diameters {
		p.Circles[i].DiameterMM = max(d, 0)
		if d > 0 && !math.IsInf(d, 1) {
			radii, index = append(radii, d/2), append(index, i)
			largest = max(largest, d/2)
		}
	}
	if len(radii) == 0 {
		return p
	}
	for i := range radii {
		radii[i] /= largest // the search is the same in every unit
	}
	best := search(radii)
	p.DiameterMM = 2 * best.hole * largest
	for k, i := range index {
		p.Circles[i].X, p.Circles[i].Y = best.x[k]*largest, best.y[k]*largest
	}
	return p
}

// A layout is where circles lie, and the radius of the hole that holds them.
type layout struct {
	x, y []float64
	hole float64
}

func (l layout) clone() layout { return layout{slices.Clone(l.x), slices.Clone(l.y), l.hole} }

// search finds a small hole for circles of these radii.
func search(radii []float64) layout {
	n := len(radii)
	switch n {
	case 1:
		return layout{[]float64{0}, []float64{0}, radii[0]}
	case 2:
		hole := radii[0] + radii[1]
		return layout{[]float64{radii[0] - hole, hole - radii[1]}, []float64{0, 0}, hole}
	}
	r := newRelaxer(radii)
	seed := generator(n) // a fixed one: the search is part of the result
	random := &seed
	var best layout
	for i, start := range starts(radii, random) {
		if l := r.relax(start, coarse...); i == 0 || l.hole < best.hole {
			best = l
		}
	}
	current, finest := best, r.relax(best, fine...)
	for range min(hopsACircle*n, max(fewestHops, searchWork/(stepsARelax*n*n))) {
		l := r.relax(r.disturbed(current, random), coarse[len(coarse)-1])
		if l.hole < current.hole*(1+1e-3) { // a little worse is let through, to come out of dead ends
			current = l
		}
		if l.hole < best.hole {
			best = l
		}
	}
	if l := r.relax(best, fine...); l.hole < finest.hole {
		return l
	}
	return finest
}

// starts are the first arrangements: hexagonal lattices about a circle, a gap and a touching point, the large circles
// inside and outside, and loose ones.
func starts(radii []float64, random *generator) []layout {
	falling := order(radii, func(a, b float64) int { return cmp.Compare(b, a) })
	rising := order(radii, func(a, b float64) int { return cmp.Compare(a, b) })
	pitch := 0.0
	for _, r := range radii {
		pitch += 4 * r * r
	}
	pitch = math.Sqrt(pitch / float64(len(radii)))
	var list []layout
	for _, centre := range [][2]float64{{0, 0}, {0.5, math.Sqrt(3) / 6}, {0.5, 0}} {
		list = append(list, lattice(falling, pitch, centre))
		if radii[falling[0]] != radii[rising[0]] {
			list = append(list, lattice(rising, pitch, centre))
		}
	}
	for inmost := 1; inmost <= min(5, len(radii)-1); inmost++ {
		list = append(list, rings(falling, pitch, inmost))
	}
	for range 2 {
		l := layout{x: make([]float64, len(radii)), y: make([]float64, len(radii))}
		l.hole = pitch * math.Sqrt(float64(len(radii))) / 2
		for i := range radii {
			l.x[i], l.y[i] = within(l.hole, random)
		}
		list = append(list, l)
	}
	return list
}

func order(radii []float64, compare func(a, b float64) int) []int {
	indices := make([]int, len(radii))
	for i := range indices {
		indices[i] = i
	}
	slices.SortStableFunc(indices, func(a, b int) int { return compare(radii[a], radii[b]) })
	return indices
}

// lattice puts the circles on the points of a hexagonal lattice, in their order from the middle outwards.
func lattice(order []int, pitch float64, centre [2]float64) layout {
	n := len(order)
	type point struct{ x, y, far float64 }
	var points []point
	reach := 2 + int(math.Sqrt(float64(n)))
	for i := -reach; i <= reach; i++ {
		for j := -reach; j <= reach; j++ {
			x, y := float64(i)+float64(j)/2-centre[0], float64(j)*math.Sqrt(3)/2-centre[1]
			points = append(points, point{x * pitch, y * pitch, x*x + y*y})
		}
	}
	slices.SortStableFunc(points, func(a, b point) int {
		if math.Abs(a.far-b.far) > 1e-9 {
			return cmp.Compare(a.far, b.far)
		}
		return cmp.Compare(math.Atan2(a.y, a.x), math.Atan2(b.y, b.x))
	})
	l := layout{x: make([]float64, n), y: make([]float64, n)}
	for k, i := range order {
		l.x[i], l.y[i] = points[k].x, points[k].y
	}
	l.hole = math.Sqrt(points[n-1].far)*pitch + pitch/2
	return l
}

// rings puts the circles on rings, from the middle outwards: inmost on the first and six more on each that follows.
func rings(order []int, pitch float64, inmost int) layout {
	l := layout{x: make([]float64, len(order)), y: make([]float64, len(order))}
	radius := 0.0
	if inmost > 1 {
		radius = pitch / 2 / math.Sin(math.Pi/float64(inmost))
	}
	for k, count := 0, inmost; k < len(order); count += 6 {
		if radius == 0 {
			count = 1
		}
		on := min(count, len(order)-k)
		for i := range on {
			angle := 2 * math.Pi * (float64(i) + float64(count%12)/12) / float64(on)
			l.x[order[k+i]], l.y[order[k+i]] = radius*math.Cos(angle), radius*math.Sin(angle)
		}
		if k, radius = k+on, radius+pitch; radius == pitch {
			count = 0
		}
	}
	l.hole = radius - pitch/2
	return l
}

// within is a point spread evenly over a circle.
func within(radius float64, random *generator) (x, y float64) {
	far, angle := radius*math.Sqrt(random.Float64()), 2*math.Pi*random.Float64()
	return far * math.Cos(angle), far * math.Sin(angle)
}

// disturbed moves one to three circles elsewhere or, where there are several sizes, changes two of them.
func (r *relaxer) disturbed(l layout, random *generator) layout {
	l = l.clone()
	n := len(l.x)
	if r.sizes > 1 && random.IntN(2) == 0 {
		for range 1 + random.IntN(2) {
			i, j := random.IntN(n), random.IntN(n)
			for tries := 0; r.radii[i] == r.radii[j] && tries < 8; tries++ {
				j = random.IntN(n)
			}
			l.x[i], l.x[j], l.y[i], l.y[j] = l.x[j], l.x[i], l.y[j], l.y[i]
		}
		return l
	}
	for range 1 + random.IntN(2) {
		i := random.IntN(n)
		if random.IntN(2) == 0 {
			i = r.tightest(l)
		}
		l.x[i], l.y[i] = r.roomiest(l, i, random)
	}
	return l
}

// tightest is the circle on which the others press most.
func (r *relaxer) tightest(l layout) int {
	worst, at := -1.0, 0
	for i := range l.x {
		if p := r.pressed(l, i, l.x[i], l.y[i]); p > worst {
			worst, at = p, i
		}
	}
	return at
}

// roomiest is, of a few points in the hole, the one where circle i would overlap least.
func (r *relaxer) roomiest(l layout, i int, random *generator) (x, y float64) {
	least := math.Inf(1)
	for range 40 {
		a, b := within(max(0, l.hole-r.radii[i]), random)
		if p := r.pressed(l, i, a, b); p < least {
			least, x, y = p, a, b
		}
	}
	return x, y
}

// pressed is how deep the others would overlap circle i at a point: the sum of the squares.
func (r *relaxer) pressed(l layout, i int, x, y float64) float64 {
	total := 0.0
	for j := range l.x {
		if deep := r.radii[i] + r.radii[j] - math.Hypot(l.x[j]-x, l.y[j]-y); j != i && deep > 0 {
			total += deep * deep
		}
	}
	return total
}
