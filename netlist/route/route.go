// Package route finds how long wires are: along the paths between the places of their two ends.
//
// It takes a model.Netlist and gives lengths in metres and the paths on the way. It imports the model and the units and
// nothing above them. Shortest ways are worked out for one starting place at a time, when somebody asks, and kept.
//
// A terminal is where its owner is: a fuse in a panel is at the panel's place, a plug at its part's, a splice at its own.
// A place is a point, so the length of a wire within one place does not follow from the paths: it must be written.
package route

import (
	"container/heap"
	"math"
	"slices"
	"sync/atomic"

	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// Routes answers questions about lengths in one netlist. Several goroutines may ask at the same time.
type Routes struct {
	n  *model.Netlist
	at [][]*model.Path // paths at a place, by the place's index

	// Shortest ways from a place, by its index; nil until somebody asks. Two who ask at once find the same twice.
	from []atomic.Pointer[tree]
}

// A tree holds the shortest ways from one place to all others, by place index.
type tree struct {
	metres []float64     // +Inf where no way leads
	last   []*model.Path // the path over which the shortest way arrives
}

// New makes the routes of a netlist. Paths without length or with an end that is not a place lead nowhere.
func New(n *model.Netlist) *Routes {
	r := &Routes{n: n, at: make([][]*model.Path, len(n.Places)), from: make([]atomic.Pointer[tree], len(n.Places))}
	for _, p := range n.Paths {
		if p.From != nil && p.To != nil && p.Length.IsSet() {
			r.at[p.From.Index] = append(r.at[p.From.Index], p)
			r.at[p.To.Index] = append(r.at[p.To.Index], p)
		}
	}
	return r
}

// Length returns the length of a wire: as written, else along the paths and to where its splices lie; false when neither is known.
func (r *Routes) Length(w *model.Wire) (unit.Metre, bool) {
	if w.Length.IsSet() {
		return unit.Metre(w.Length.Value), true
	}
	m, _, ok := r.Way(w)
	return m, ok
}

// Way returns how far it is from one end of a wire to the other, and over which paths; false when that is not known, as within one
// place. A written length does not count here.
func (r *Routes) Way(w *model.Wire) (unit.Metre, []*model.Path, bool) {
	a, b := r.PlaceOf(w.From.ID), r.PlaceOf(w.To.ID)
	if a == nil || b == nil {
		return 0, nil, false
	}
	m, paths, ok := r.Between(a, b)
	shifts := r.Shifts(w, paths)
	for _, s := range shifts {
		m += s.Metres
	}
	return m, paths, ok && (a != b || len(shifts) > 0)
}

// Reaches reports whether a written length covers a way, in m: as people round, up to 2 % and 10 mm may be missing (common practice).
func Reaches(length, way float64) bool { return length >= way*0.98-0.01 }

// Along returns the paths that a wire lies along, from its beginning: those of its way, and none where its written length does not reach
// over them, since it then takes another way, as a ground lead that is bolted down beside its device does.
func (r *Routes) Along(w *model.Wire) []*model.Path {
	metres, paths, known := r.Way(w)
	if !known || w.Length.IsSet() && !Reaches(w.Length.Value, float64(metres)) {
		return nil
	}
	return paths
}

// A Shift is what a wire is longer than the way between the places of its ends, since a splice lies aside of its place; below zero where
// it is shorter.
type Shift struct {
	Splice *model.Splice
	Metres unit.Metre
}

// Shifts lists the shifts of a wire whose way leads over the given paths, of splices whose distance along a path is stated: shorter
// where it comes over that path, longer where it comes from the other side.
func (r *Routes) Shifts(w *model.Wire, way []*model.Path) []Shift {
	a, b := r.Laid(w.From.ID), r.Laid(w.To.ID)
	if a != nil && b != nil && len(way) == 0 && a.Along == b.Along {
		return []Shift{{b, unit.Metre(math.Abs(a.Distance.Value - b.Distance.Value))}}
	}
	var shifts []Shift
	for i, s := range [...]*model.Splice{a, b} {
		if s == nil {
			continue
		}
		metres := unit.Metre(s.Distance.Value)
		if len(way) > 0 && way[i*(len(way)-1)] == s.Along {
			metres = -metres
		}
		shifts = append(shifts, Shift{s, metres})
	}
	return shifts
}

// Laid is the splice at a terminal whose distance along a path is stated; nil for any other terminal.
func (r *Routes) Laid(pin model.PinID) *model.Splice {
	if pin == model.NoPin {
		return nil
	}
	if s := r.n.Pin(pin).Owner.Splice; s != nil {
		if _, ok := s.Lies(); ok {
			return s
		}
	}
	return nil
}

// PlaceOf returns the place of a terminal, or nil where it is not known.
func (r *Routes) PlaceOf(pin model.PinID) *model.Place {
	if pin == model.NoPin {
		return nil
	}
	return r.n.Pin(pin).Owner.Place()
}

// Between returns the shortest way between two places and its paths in order; false when none leads there. Between a
// place and itself lies nothing: no paths, 0 m, true.
func (r *Routes) Between(a, b *model.Place) (unit.Metre, []*model.Path, bool) {
	if a == nil || b == nil {
		return 0, nil, false
	}
	t := r.from[a.Index].Load()
	if t == nil {
		t = r.shortest(a)
		r.from[a.Index].Store(t)
	}
	if math.IsInf(t.metres[b.Index], 1) {
		return 0, nil, false
	}
	var paths []*model.Path
	for at := b; at != a; {
		p := t.last[at.Index]
		paths = append(paths, p)
		at = other(p, at)
	}
	slices.Reverse(paths)
	return unit.Metre(t.metres[b.Index]), paths, true
}

func other(p *model.Path, end *model.Place) *model.Place {
	if p.From == end {
		return p.To
	}
	return p.From
}

// shortest is Dijkstra's algorithm (E. W. Dijkstra, "A note on two problems in connexion with graphs", Numerische
// Mathematik 1, 1959). Of equally long ways the one that is found first stays, so the answer follows the file's order.
func (r *Routes) shortest(start *model.Place) *tree {
	t := &tree{metres: make([]float64, len(r.at)), last: make([]*model.Path, len(r.at))}
	for i := range t.metres {
		t.metres[i] = math.Inf(1)
	}
	t.metres[start.Index] = 0
	open := &frontier{{place: start}}
	for open.Len() > 0 {
		s := heap.Pop(open).(step)
		if s.metres > t.metres[s.place.Index] {
			continue // a shorter way was found after this one was put on the heap
		}
		for _, p := range r.at[s.place.Index] {
			next := other(p, s.place)
			if m := s.metres + p.Length.Value; m < t.metres[next.Index] {
				t.metres[next.Index], t.last[next.Index] = m, p
				heap.Push(open, step{place: next, metres: m})
			}
		}
	}
	return t
}

// A step is a place on the frontier of the search and how far it is.
type step struct {
	place  *model.Place
	metres float64
}

// frontier is a heap of steps, the nearest first, among equals the one earlier in the file.
type frontier []step

// Len, Less, Swap, Push and Pop make the frontier a heap.Interface.
func (f frontier) Len() int { return len(f) }

// Less orders by distance, then by the order of the places in the file.
func (f frontier) Less(i, j int) bool {
	if f[i].metres != f[j].metres {
		return f[i].metres < f[j].metres
	}
	return f[i].place.Index < f[j].place.Index
}

// Swap exchanges two steps.
func (f frontier) Swap(i, j int) { f[i], f[j] = f[j], f[i] }

// Push adds a step at the end, for container/heap.
func (f *frontier) Push(x any) { *f = append(*f, x.(step)) }

// Pop takes the last step away, for container/heap.
func (f *frontier) Pop() any {
	old := *f
	last := old[len(old)-1]
	*f = old[:len(old)-1]
	return last
}
