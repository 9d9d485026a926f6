package study

import (
	"cmp"
	"slices"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A dim is what a declared state leaves unfed, in pieces: groups of terminals that what passes current in that state joins.
// It tells without a flood of the whole harness that moving a switch feeds nothing new, which is so for most of them.
type dim struct {
	s     *Study
	cond  *graph.Condition
	feed  *feed
	piece *graph.Sets
	holds []bool // by representative: a wire that nothing has fed yet, a winding or a terminal of a module is in the piece
}

func (h *hunt) dimOf(set setting) *dim {
	s := h.s
	d := &dim{s: s, cond: set.cond, feed: s.feedOf(set), piece: graph.NewSets(len(s.netlist.Pins)), holds: make([]bool, len(s.netlist.Pins))}
	for i := range s.graph.Edges {
		if e := &s.graph.Edges[i]; s.passes(d.feed, set, e) {
			d.piece.Join(int32(e.A), int32(e.B))
		}
	}
	hold := func(pin model.PinID) {
		if pin != model.NoPin {
			d.holds[d.piece.Find(int32(pin))] = true
		}
	}
	for _, w := range s.netlist.Wires {
		if h.best[w] == nil {
			hold(w.From.ID)
		}
	}
	for i := range s.graph.Edges {
		if e := &s.graph.Edges[i]; e.Kind == graph.Coil {
			hold(e.A)
			hold(e.B)
		}
	}
	for i := range s.modules {
		for _, pin := range s.modules[i].part.Terminals() {
			hold(pin)
		}
	}
	return d
}

// A moves is a state in which switches have been moved that feed separate pieces, so that one look does for all of them.
type moves struct {
	setting
	dim     *dim
	by      map[int32]string // the move that feeds a piece, by its representative
	settled bool             // relays that the moves pull in have been followed
}

// together puts moved switches into as few settings as can be: each switch once, each piece fed by one move. Moves that feed
// nothing new are left out. A move is looked at as if it were alone; that others stand elsewhere too changes what a short
// draws by nothing, since consumers are left out.
func (d *dim) together(cases []Case) []*moves {
	var all []*moves
	for _, k := range cases {
		alone := setting{cond: d.cond, positions: map[*model.Part]int{k.part: k.position}}
		pieces := d.fedBy(alone, k.part)
		if len(pieces) == 0 {
			continue
		}
		at := slices.IndexFunc(all, func(m *moves) bool { return m.takes(k.part, pieces) })
		if at < 0 {
			at = len(all)
			all = append(all, &moves{setting: setting{cond: d.cond, positions: map[*model.Part]int{}}, dim: d, by: map[int32]string{}})
		}
		all[at].positions[k.part] = k.position
		for _, piece := range pieces {
			all[at].by[piece] = k.Text
		}
	}
	return all
}

func (m *moves) takes(part *model.Part, pieces []int32) bool {
	if _, moved := m.positions[part]; moved {
		return false
	}
	return !slices.ContainsFunc(pieces, func(piece int32) bool { return m.by[piece] != "" })
}

// fedBy lists the pieces that a moved switch joins to something live, or grounded, if this could matter to them.
func (d *dim) fedBy(set setting, part *model.Part) []int32 {
	var pieces []int32
	add := func(mark []bool, a, b model.PinID) {
		if piece := d.piece.Find(int32(b)); mark[a] && !mark[b] && d.holds[piece] && !slices.Contains(pieces, piece) {
			pieces = append(pieces, piece)
		}
	}
	for _, id := range part.Terminals() {
		for _, at := range d.s.graph.At(id) {
			e := d.s.graph.Edge(at)
			if e.Part != part || !e.Kind.Contact() || !d.s.passes(d.feed, set, e) {
				continue
			}
			for _, mark := range [][]bool{d.feed.plus, d.feed.minus} {
				add(mark, e.A, e.B)
				add(mark, e.B, e.A)
			}
		}
	}
	return pieces
}

// behind names the move that feeds a wire; empty where none does. What a relay switches is fed by whatever moves its coil.
func (m *moves) behind(w *model.Wire, f *feed) string {
	if m.dim == nil {
		return ""
	}
	if !m.settled {
		m.follow(f)
	}
	return m.by[m.dim.piece.Find(int32(w.From.ID))]
}

// follow gives the pieces behind relays that have moved the move that their coils are fed by, relay by relay.
func (m *moves) follow(f *feed) {
	m.settled = true
	s := m.dim.s
	for changed := true; changed; {
		changed = false
		for i := range s.graph.Edges {
			e := &s.graph.Edges[i]
			if e.Kind != graph.Coil || f.engaged[e.Part] == m.dim.feed.engaged[e.Part] {
				continue
			}
			by := cmp.Or(m.by[m.dim.piece.Find(int32(e.A))], m.by[m.dim.piece.Find(int32(e.B))])
			for _, id := range e.Part.Terminals() {
				if piece := m.dim.piece.Find(int32(id)); by != "" && m.by[piece] == "" && !m.dim.feed.plus[id] && !m.dim.feed.minus[id] {
					m.by[piece], changed = by, true
				}
			}
		}
	}
}
