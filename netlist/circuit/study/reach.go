package study

import (
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// unfused judges a fed wire with no fuse or breaker on the way to it. Somewhere between the battery and the first fuse there must
// be such a wire; what counts is how long it is, and that a fuse comes after it.
func (h *hunt) unfused(st *stage, short *Short, path []*graph.Edge) {
	short.Verdict = Unprotected
	if h.cranks(st)[short.Wire] {
		short.Verdict, short.Because = Exempt, "starter cable"
		return
	}
	if slices.Contains(h.s.taps, short.Wire.From.ID) && slices.Contains(h.s.taps, short.Wire.To.ID) {
		short.Verdict, short.Because = Exempt, "jumper between batteries in series"
		return
	}
	metres, sheathed := h.bareLength(short.Wire, short.Far, path)
	allowed, _ := conductor.ProtectionReach(sheathed)
	if metres <= float64(allowed) && !h.endsBare(short.Wire, short.Far) {
		short.Verdict = WithinReach
	}
}

// bareLength is the length of unprotected wire up to the far end, in metre, from the battery or from the stud of a starter, where
// it is counted anew; and whether all of that is sheathed.
func (h *hunt) bareLength(w *model.Wire, far model.PinID, path []*graph.Edge) (metres float64, sheathed bool) {
	sheathed = true
	add := func(w *model.Wire) {
		m, _ := h.s.routes.Length(w)
		metres += float64(m)
		sheathed = sheathed && w.Sheathed.On
	}
	if !slices.ContainsFunc(path, func(e *graph.Edge) bool { return e.Wire == w }) {
		add(w) // it is fed from both of its ends, and the way came over another
	}
	for at, i := far, 0; i < len(path); i++ {
		if i > 0 && h.s.netlist.Pin(at).Role == catalog.Cranking {
			break
		}
		if path[i].Wire != nil {
			add(path[i].Wire)
		}
		at = path[i].Other(at)
	}
	return metres, sheathed
}

// cranks are the wires on the way from the battery to starters with no fuse on it.
func (h *hunt) cranks(st *stage) map[*model.Wire]bool {
	if st.starters != nil {
		return st.starters
	}
	st.starters = map[*model.Wire]bool{}
	for i := range h.s.netlist.Pins {
		pin := &h.s.netlist.Pins[i]
		if pin.Role != catalog.Cranking || st.way.depth[pin.ID] < 0 {
			continue
		}
		path := st.way.path(pin.ID)
		if slices.ContainsFunc(path, func(e *graph.Edge) bool { return e.Kind == graph.Protect }) {
			continue
		}
		for _, e := range path {
			if e.Wire != nil {
				st.starters[e.Wire] = true
			}
		}
	}
	return st.starters
}

// endsBare reports whether something that takes current hangs on the far end of a wire with no fuse and no further wire between.
// Contacts count as closed: a switch is no fuse.
func (h *hunt) endsBare(w *model.Wire, far model.PinID) bool {
	s := h.s
	seen := map[model.PinID]bool{far: true}
	queue := []model.PinID{far}
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		fused, onward := false, false
		for _, id := range s.graph.At(pin) {
			e := s.graph.Edge(id)
			switch {
			case e.Wire == w:
			case e.Kind == graph.Protect:
				fused = true
			case circuit.Limits(e):
				return true
			case e.Kind == graph.Source || e.Kind == graph.Bolted:
			default:
				onward = true
				if next := e.Other(pin); e.Kind != graph.Wire && !seen[next] {
					seen[next] = true
					queue = append(queue, next)
				}
			}
		}
		if p := s.netlist.Pin(pin).Owner.Device(); p != nil && pin == far && !fused && !onward && !p.Kind.Joined && s.netlist.Pin(pin).Role != catalog.Cranking {
			return true // the supply pin of a device whose inside is not known
		}
	}
	return false
}
