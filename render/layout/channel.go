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
// J. Stevens, "Wire routing by optimizing channel assignment", DAC 1971 (left edge); D. N. Deutsch, "A dogleg channel
// router", DAC 1976.
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
	tracks := 0
	taken := map[int]bool{} // spare columns in use
	for open := runs; len(open) > 0; {
		placed, rest := fill(open, tracks)
		if placed == 0 {
			rest = append(rest, cut(rest[0], taken))
			slices.SortStableFunc(rest, func(a, b *run) int { return cmp.Compare(a.low(), b.low()) })
		} else {
			tracks++
		}
		open = rest
	}
	return tracks
}

// fill puts as many of the open runs as fit onto a track, from the left; a run must wait while another open one has to
// lie above it. Between two runs on a track one column stays free.
func fill(open []*run, track int) (placed int, rest []*run) {
	enteredAt := map[int]*run{}
	for _, r := range open {
		enteredAt[r.from] = r
	}
	end := -1 << 30
	for _, r := range open {
		above := enteredAt[r.to]
		if r.low() < end+2 || above != nil && above.edge != r.edge {
			rest = append(rest, r)
			continue
		}
		r.track = track
		r.note()
		end = r.high()
		placed++
	}
	return placed, rest
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
