package layout

import (
	"slices"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// An assignment says which system (nil for none) every part and wire is drawn in.
type assignment struct {
	g     *graph.Graph
	level []float64 // of pins, see level.go
	wire  map[*model.Wire]*model.System
	part  map[*model.Part]*model.System
	home  map[string]*sheet // of splices, cavities and panel terminals, by jointKey

	// ordered keeps what the layout engine has said, by what it was asked: a diagram that is tried in several ways has most of
	// its pieces in common.
	ordered map[string]string

	// linkOn and barOn are the sheets that show a link, and a bus bar or stud, in the order of the sheets.
	linkOn map[*model.Link][]*sheet
	barOn  map[*model.Part][]*sheet
}

// assign finds the systems. A part says its own; a wire belongs where its ends do, and where these disagree, with the
// one that lies nearer to ground, because that is what the wire feeds. What is drawn on every sheet where it is needed
// (modules, ground points, bus bars, in-line cavities) has no say; a wire between such takes the system of the wire that
// it goes on as.
func assign(g *graph.Graph, level []float64) *assignment {
	a := &assignment{g: g, level: level, wire: map[*model.Wire]*model.System{}, part: map[*model.Part]*model.System{}, ordered: map[string]string{}}
	for _, p := range g.Netlist.Parts {
		a.part[p] = p.System
	}
	var open []*model.Wire
	for _, w := range g.Netlist.Wires {
		if s := a.byEnds(w); s != nil {
			a.wire[w] = s
		} else {
			open = append(open, w)
		}
	}
	a.spread(open)
	a.leftOvers()
	a.withTheirParts()
	return a
}

func (a *assignment) byEnds(w *model.Wire) *model.System {
	if w.System != nil {
		return w.System
	}
	from, to := a.homeOf(w.From.ID), a.homeOf(w.To.ID)
	switch {
	case from == nil:
		return to
	case to == nil || from == to:
		return from
	case a.level[w.From.ID] > a.level[w.To.ID]:
		return from
	}
	return to
}

// homeOf returns the system of the part that a terminal belongs to, unless the part is drawn wherever it is needed.
func (a *assignment) homeOf(pin model.PinID) *model.System {
	if pin == model.NoPin {
		return nil
	}
	p := a.g.Netlist.Pin(pin).Owner.Device()
	if p == nil || everywhere(p) {
		return nil
	}
	return p.System
}

// ends returns the terminals of a wire that are known: two, as a rule.
func ends(w *model.Wire) []model.PinID {
	var pins []model.PinID
	for _, r := range []model.PinRef{w.From, w.To} {
		if r.ID != model.NoPin {
			pins = append(pins, r.ID)
		}
	}
	return pins
}

// everywhere reports whether a part is drawn on every sheet that has wires to it, showing the terminals used there.
func everywhere(p *model.Part) bool { return p.Kind.OpenPins || p.Kind.Symbol == "module" }

// spread hands systems on from wire to wire through splices and mated cavities, nearest first.
func (a *assignment) spread(open []*model.Wire) {
	for len(open) > 0 {
		var still []*model.Wire
		found := map[*model.Wire]*model.System{}
		for _, w := range open {
			if s := a.nextTo(w); s != nil {
				found[w] = s
			} else {
				still = append(still, w)
			}
		}
		if len(found) == 0 {
			break
		}
		for w, s := range found {
			a.wire[w] = s
		}
		open = still
	}
	for _, w := range open { // between modules and grounds only: the module's own sheet
		for _, pin := range ends(w) {
			if p := a.g.Netlist.Pin(pin).Owner.Device(); p != nil && p.System != nil && a.wire[w] == nil {
				a.wire[w] = p.System
			}
		}
	}
}

// nextTo returns the system of the first wire, in the order of the file, that w goes on as.
func (a *assignment) nextTo(w *model.Wire) *model.System {
	best := -1
	var system *model.System
	for _, pin := range ends(w) {
		owner := a.g.Netlist.Pin(pin).Owner
		if p := owner.Device(); p != nil && everywhere(p) {
			continue
		}
		for _, other := range a.beyond(pin) {
			if s := a.wire[other]; s != nil && (best < 0 || other.Index < best) {
				best, system = other.Index, s
			}
		}
	}
	return system
}

// beyond returns the wires at a terminal, at the terminals that are one metal with it, and at the cavity that it meets.
func (a *assignment) beyond(pin model.PinID) []*model.Wire {
	wires := a.g.WiresAt(pin)
	for _, id := range a.g.At(pin) {
		switch e := a.g.Edge(id); e.Kind {
		case graph.Mate, graph.Link, graph.Protect:
			wires = append(wires, a.g.WiresAt(e.Other(pin))...)
		}
	}
	if owner := a.g.Netlist.Pin(pin).Owner; owner.Sort == model.SpliceOwner {
		for _, other := range owner.Pins {
			wires = append(wires, a.g.WiresAt(other)...)
		}
	}
	return wires
}

// leftOvers gives parts without a system that of most of their wires; one without wires, such as a spare fuse, goes
// with the first part of its panel that has one.
func (a *assignment) leftOvers() {
	for _, p := range a.g.Netlist.Parts {
		if a.part[p] == nil {
			a.part[p] = a.most(p.Terminals())
		}
	}
	for _, p := range a.g.Netlist.Parts {
		for _, neighbour := range a.g.Netlist.Parts {
			if a.part[p] == nil && p.Panel != nil && neighbour.Panel == p.Panel {
				a.part[p] = a.part[neighbour]
			}
		}
	}
}

// withTheirParts gives wires without a system that of a part at one of their ends that has got one by now, so that they are not
// drawn alone on a sheet of their own between two marks.
func (a *assignment) withTheirParts() {
	for _, w := range a.g.Netlist.Wires {
		for _, pin := range ends(w) {
			if p := a.g.Netlist.Pin(pin).Owner.Device(); a.wire[w] == nil && p != nil && !everywhere(p) {
				a.wire[w] = a.part[p]
			}
		}
	}
}

// most returns the system of most wires at the terminals; among equals, the first in the file.
func (a *assignment) most(pins []model.PinID) *model.System {
	counts := map[*model.System]int{}
	for _, pin := range pins {
		for _, w := range a.g.WiresAt(pin) {
			counts[a.wire[w]]++
		}
	}
	var best *model.System
	for _, s := range a.g.Netlist.Systems {
		if counts[s] > counts[best] || best == nil && counts[s] > 0 {
			best = s
		}
	}
	return best
}

// A sheet is what one diagram shows: parts that are at home there and wires.
type sheet struct {
	system *model.System
	parts  []*model.Part
	wires  []*model.Wire
}

// mostWires is what a sheet of A2 takes without crowding.
const mostWires = 34

// sheets parts the harness by system and, where a system has too many wires for a sheet, by space.
func (a *assignment) sheets() []*sheet {
	var out []*sheet
	for _, system := range append(slices.Clone(a.g.Netlist.Systems), nil) {
		whole := &sheet{system: system}
		for _, w := range a.g.Netlist.Wires {
			if a.wire[w] == system && (w.From.ID != model.NoPin || w.To.ID != model.NoPin) {
				whole.wires = append(whole.wires, w)
			}
		}
		for _, p := range a.g.Netlist.Parts {
			if a.part[p] == system && !everywhere(p) {
				whole.parts = append(whole.parts, p)
			}
		}
		if len(whole.wires)+len(whole.parts) > 0 {
			out = append(out, a.divide(whole)...)
		}
	}
	return out
}

// divide fills sheets with whole groups of connected parts and wires as they come in the file; a group that is too
// large for a sheet of its own is cut, and its wires go on by marks.
func (a *assignment) divide(s *sheet) []*sheet {
	if len(s.wires) <= mostWires {
		return []*sheet{s}
	}
	var out []*sheet
	current := &sheet{system: s.system}
	flush := func() {
		if len(current.wires)+len(current.parts) > 0 {
			out = append(out, current)
			current = &sheet{system: s.system}
		}
	}
	for _, group := range a.groups(s) {
		if len(current.wires)+len(group.wires) > mostWires+mostWires/4 {
			flush()
		}
		for len(group.wires) > mostWires+mostWires/4 {
			out = append(out, &sheet{system: s.system, wires: group.wires[:mostWires]})
			group.wires = group.wires[mostWires:]
		}
		current.wires = append(current.wires, group.wires...)
		current.parts = append(current.parts, group.parts...)
	}
	flush()
	a.rehome(out)
	return out
}

// rehome puts each part on the first of the sheets that has a wire to it, so that a cut group keeps its parts near.
func (a *assignment) rehome(sheets []*sheet) {
	at := map[*model.Part]*sheet{}
	for _, s := range sheets {
		for _, w := range s.wires {
			for _, pin := range ends(w) {
				if p := a.g.Netlist.Pin(pin).Owner.Device(); p != nil && at[p] == nil {
					at[p] = s
				}
			}
		}
	}
	for _, s := range sheets {
		var stay []*model.Part
		for _, p := range s.parts {
			if to := at[p]; to != nil && to != s {
				to.parts = append(to.parts, p)
			} else {
				stay = append(stay, p)
			}
		}
		s.parts = stay
	}
}

// groups returns the connected groups of a sheet, in the order of their first wire. Modules, grounds and bus bars do not
// connect here: they are repeated where needed.
func (a *assignment) groups(s *sheet) []*sheet {
	index := map[*model.Owner]int32{}
	number := func(o *model.Owner) int32 {
		if p := o.Device(); p != nil {
			o = p.Owner
		} else if c := o.Connector; c != nil && c.Mate != nil && c.Mate.Name.Text < c.Name.Text {
			o = c.Mate.Owner
		}
		if _, known := index[o]; !known {
			index[o] = int32(len(index))
		}
		return index[o]
	}
	sets := graph.NewSets(2*len(s.wires) + len(s.parts) + 1)
	ofWire := make([]int32, len(s.wires))
	for i, w := range s.wires {
		first := int32(-1)
		for _, pin := range ends(w) {
			if a.repeated(pin) {
				continue
			}
			n := number(a.g.Netlist.Pin(pin).Owner)
			if first >= 0 {
				sets.Join(first, n)
			}
			first = n
		}
		if first < 0 {
			first = number(&model.Owner{})
		}
		ofWire[i] = first
	}
	byRoot := map[int32]*sheet{}
	var out []*sheet
	group := func(n int32) *sheet {
		root := sets.Find(n)
		if byRoot[root] == nil {
			byRoot[root] = &sheet{system: s.system}
			out = append(out, byRoot[root])
		}
		return byRoot[root]
	}
	for i, w := range s.wires {
		to := group(ofWire[i])
		to.wires = append(to.wires, w)
	}
	for _, p := range s.parts {
		to := group(number(p.Owner))
		to.parts = append(to.parts, p)
	}
	return out
}

// repeated reports whether what owns the terminal is drawn anew wherever it is needed.
func (a *assignment) repeated(pin model.PinID) bool {
	o := a.g.Netlist.Pin(pin).Owner
	if p := o.Device(); p != nil {
		return everywhere(p)
	}
	return o.Sort == model.PanelOwner || o.Sort == model.ConnectorOwner
}

// jointKey names what a terminal that is no part's is drawn as: the splice, the place where two cavities meet, or the
// terminal of a panel.
func jointKey(p *model.Pin) string {
	switch c := p.Owner.Connector; {
	case p.Owner.Sort == model.SpliceOwner:
		return "splice " + p.Owner.Name.Text
	case c != nil && c.Mate != nil && c.Mate.Name.Text < c.Name.Text:
		return "terminal " + c.Mate.Name.Text + ":" + p.Name
	}
	return "terminal " + p.String()
}

// findHomes gives every joint the sheet that has most of its wires, the first among equals: it is drawn there, and
// elsewhere its wires go on by marks.
func (a *assignment) findHomes(sheets []*sheet) {
	a.home = map[string]*sheet{}
	most := map[string]int{}
	for _, s := range sheets {
		counts := map[string]int{}
		for _, w := range s.wires {
			for _, pin := range ends(w) {
				if p := a.g.Netlist.Pin(pin); p.Owner.Device() == nil {
					key := jointKey(p)
					if counts[key]++; counts[key] > most[key] {
						most[key], a.home[key] = counts[key], s
					}
				}
			}
		}
	}
}

// findBars notes which sheets show each bus bar, stud and link.
func (a *assignment) findBars(sheets []*sheet) {
	a.linkOn, a.barOn = map[*model.Link][]*sheet{}, map[*model.Part][]*sheet{}
	atHome := map[*model.Part]*sheet{}
	for _, s := range sheets {
		for _, p := range s.parts {
			atHome[p] = s
		}
		for _, w := range s.wires {
			for _, pin := range ends(w) {
				if p := a.g.Netlist.Pin(pin).Owner.Device(); p != nil && p.Kind.OpenPins && p.Kind.Symbol != "ground" && !slices.Contains(a.barOn[p], s) {
					a.barOn[p] = append(a.barOn[p], s)
				}
			}
		}
	}
	for _, l := range a.g.Netlist.Links {
		for _, s := range sheets {
			if slices.ContainsFunc(l.Joins, func(r model.PinRef) bool { return r.ID != model.NoPin && a.showsPin(s, atHome, r.ID) }) {
				a.linkOn[l] = append(a.linkOn[l], s)
			}
		}
	}
}

func (a *assignment) showsPin(s *sheet, atHome map[*model.Part]*sheet, pin model.PinID) bool {
	p := a.g.Netlist.Pin(pin)
	part := p.Owner.Device()
	switch {
	case part == nil:
		return a.home[jointKey(p)] == s
	case part.Kind.OpenPins:
		return slices.Contains(a.barOn[part], s)
	}
	return atHome[part] == s
}
