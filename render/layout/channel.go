package layout

import (
	"cmp"
	"slices"
)

// A bend is what an edge does between two rows: it comes down in one column, runs sideways on a track of the channel and
// goes on down in another. A second run is only there where two edges would otherwise have to change places.
type bend struct {
	from, to int // columns, doubled: odd values lie between columns
	track    int // from the top of the channel; -1 when from equals to
	over     int // doubled column of the second run's start, when there is one
	second   int // its track; -1 when there is none
}

// run is one horizontal piece in a channel.
type run struct {
	from, to int // doubled columns: where it is entered from above, where it is left downwards
	edge     *Edge
	index    int // of the bend
	last     bool
	track    int
}

func (r *run) low() int  { return min(r.from, r.to) }
func (r *run) high() int { return max(r.from, r.to) }

// channel assigns the tracks of one gap and returns how many it needs.
//
// This is channel routing with one constraint: where a run is entered from above in a column in which another run is
// left downwards, the first must lie above the second, or their verticals would lie on each other. Constraints that go
// in a circle are cut by taking one run to a column between columns and on from there. Source: A. Hashimoto and
// J. Stevens, "Wire routing by optimizing channel assignment", DAC 1971; D. N. Deutsch, "A dogleg channel router", DAC
// 1976. Among the orders that the constraints leave, the run goes on top that crosses least there; each then lies as high
// as what it overlaps lets it.
func channel(steps []step, columnOf func(step) (from, to int)) int {
	var runs []*run
	for _, s := range steps {
		from, to := columnOf(s)
		b := bend{from: 2 * from, to: 2 * to, track: -1, second: -1}
		for len(s.edge.bends) <= s.index {
			s.edge.bends = append(s.edge.bends, bend{})
		}
		s.edge.bends[s.index] = b
		if from != to {
			runs = append(runs, &run{from: b.from, to: b.to, edge: s.edge, index: s.index, last: true})
		}
	}
	slices.SortStableFunc(runs, func(a, b *run) int { return cmp.Or(cmp.Compare(a.low(), b.low()), cmp.Compare(a.high(), b.high())) })
	taken := map[int]bool{} // spare columns in use
	var placed []*run
	tracks := 0
	for open := runs; len(open) > 0; {
		i := next(open)
		if i < 0 {
			whole := slices.IndexFunc(open, func(r *run) bool { return r.edge.bends[r.index].second != pending })
			open = append(open, cut(open[whole], taken))
			continue
		}
		r := open[i]
		open = slices.Delete(slices.Clone(open), i, i+1)
		r.track = 0
		for _, above := range placed {
			if r.low() < above.high()+2 && above.low() < r.high()+2 { // between two runs on a track one column stays free
				r.track = max(r.track, above.track+1)
			}
		}
		r.note()
		tracks = max(tracks, r.track+1)
		placed = append(placed, r)
	}
	return tracks
}

// next chooses which of the open runs lies above the others: of those that need no other above them the one that crosses
// least there, compared with lying below; -1 when each needs another.
func next(open []*run) int {
	best, bestCost := -1, 0
	for i, r := range open {
		cost, free := 0, true
		for _, other := range open {
			if other == r {
				continue
			}
			if other.from == r.to && other.edge != r.edge {
				free = false
				break
			}
			cost += crosses(r, other) - crosses(other, r)
		}
		if free && (best < 0 || cost < bestCost) {
			best, bestCost = i, cost
		}
	}
	return best
}

// crosses counts how often two runs cross when the first lies above: the second comes down through the first, and the
// first goes down through the second.
func crosses(above, below *run) int {
	count := 0
	if above.low() < below.from && below.from < above.high() {
		count++
	}
	if below.low() < above.to && above.to < below.high() {
		count++
	}
	return count
}

// note writes the track into the bend.
func (r *run) note() {
	b := &r.edge.bends[r.index]
	if r.last && b.second == pending {
		b.second = r.track
		return
	}
	b.track = r.track
}

// cut parts a run in two at a spare column between columns: the first part keeps its entry, the second, which is
// returned, its exit. The circle that it was part of is broken, for nothing is entered or left in a spare column but it.
func cut(r *run, taken map[int]bool) *run {
	over := r.low() + 1 // columns are even, so this lies between two
	for taken[over] {
		over += 2
	}
	taken[over] = true
	b := &r.edge.bends[r.index]
	b.over, b.second = over, pending
	second := &run{from: over, to: r.to, edge: r.edge, index: r.index, last: true}
	r.to, r.last = over, false
	return second
}

// pending is the track of a second run that has none yet.
const pending = -2
