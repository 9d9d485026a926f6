package cut

import (
	"slices"

	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
)

// A Crimp is one terminal that takes several wires: a double crimp.
type Crimp struct {
	Pin      model.PinID
	Ref      string
	Wires    []*model.Wire // in the order of the file, also supplied ones
	Terminal *model.Terminal
	AreaMM2  float64 // of the wires whose size is stated, together
	Unsized  int     // wires without a size, which are missing in it
	Meant    bool    // the file says double-crimp = true
}

// A Splice is a splice with its legs.
type Splice struct {
	Splice  *model.Splice
	Legs    []Leg   // those of one side together, sides in the order of their first wire
	AreaMM2 float64 // of all legs whose size is stated, which the barrel takes together
	Unsized int     // legs without a size, which are missing in it
}

// A Leg is one wire at a splice.
type Leg struct {
	Wire *model.Wire
	Pin  model.PinID
	Side Side
}

// A Side is the direction in which a leg leaves a splice.
type Side struct {
	Path   *model.Path  // the first one on its way, see SideOf; nil where it stays at the place, or where no way is known
	Toward *model.Place // the other end of that path
	Known  bool
}

// findCrimps lists the terminals with several wires of which at least one is cut.
func (p *Plan) findCrimps() {
	for i := range p.Netlist.Pins {
		pin := &p.Netlist.Pins[i]
		wires := p.at[pin.ID]
		if len(wires) < 2 || !oneCrimp(pin) || !p.cutsOne(wires) {
			continue
		}
		c := &Crimp{Pin: pin.ID, Ref: pin.String(), Wires: wires, Terminal: pin.Terminal, Meant: pin.DoubleCrimp.On}
		c.AreaMM2, c.Unsized = p.area(wires)
		p.Crimps = append(p.Crimps, c)
	}
	slices.SortStableFunc(p.Crimps, func(a, b *Crimp) int { return model.CompareNatural(a.Ref, b.Ref) })
}

func (p *Plan) cutsOne(wires []*model.Wire) bool {
	return slices.ContainsFunc(wires, func(w *model.Wire) bool { return p.byWire[w] != nil })
}

// area adds up the metal of wires in mm2 and counts those without a size.
func (p *Plan) area(wires []*model.Wire) (sum float64, unsized int) {
	for _, w := range wires {
		if !w.Size.IsSet() {
			unsized++
			continue
		}
		area, _ := conductor.AreaMM2(w.Size, p.Netlist.Harness.Cable)
		sum += area
	}
	return sum, unsized
}

func (p *Plan) findSplices() {
	for _, sp := range p.Netlist.Splices {
		s := &Splice{Splice: sp}
		var wires []*model.Wire
		for _, id := range sp.Owner.Pins {
			for _, w := range p.at[id] {
				s.Legs = append(s.Legs, Leg{w, id, p.SideOf(w, id)})
				wires = append(wires, w)
			}
		}
		if len(wires) == 0 {
			continue
		}
		s.AreaMM2, s.Unsized = p.area(wires)
		s.bySide()
		p.Splices = append(p.Splices, s)
	}
	slices.SortStableFunc(p.Splices, func(a, b *Splice) int { return model.CompareNatural(a.Splice.Name.Text, b.Splice.Name.Text) })
}

// bySide brings the legs of one side together.
func (s *Splice) bySide() {
	var sides []Side
	for _, l := range s.Legs {
		if !slices.Contains(sides, l.Side) {
			sides = append(sides, l.Side)
		}
	}
	slices.SortStableFunc(s.Legs, func(a, b Leg) int { return slices.Index(sides, a.Side) - slices.Index(sides, b.Side) })
}

// toSplices lists what stated distances of splices make of a way.
func (p *Plan) toSplices(w *model.Wire, way []*model.Path) []Term {
	var terms []Term
	for _, shift := range p.routes.Shifts(w, way) {
		terms = append(terms, Term{"to splice", shift.Splice.Name.Text, shift.Metres})
	}
	return terms
}

// SideOf says into which path a wire leaves its splice, at whose terminal it ends. Where the file says how far along a path the splice
// lies, that is the path on both sides, and Side.Toward tells them apart; else it is the path that the wire leaves the place by.
func (p *Plan) SideOf(w *model.Wire, id model.PinID) Side {
	far := w.To.ID
	if far == id {
		far = w.From.ID
	}
	here, there := p.routes.PlaceOf(id), p.routes.PlaceOf(far)
	if here == nil || there == nil {
		return Side{}
	}
	_, paths, known := p.routes.Between(here, there)
	if s := p.routes.Laid(id); s != nil && known {
		out := len(paths) > 0 && paths[0] == s.Along
		if beside := p.routes.Laid(far); len(paths) == 0 && beside != nil && beside.Along == s.Along {
			out = beside.Distance.Value > s.Distance.Value
		}
		if out {
			return Side{Path: s.Along, Toward: s.Toward, Known: true}
		}
		return Side{Path: s.Along, Toward: s.Place, Known: true}
	}
	if !known || len(paths) == 0 {
		return Side{Known: known}
	}
	next := paths[0].To
	if next == here {
		next = paths[0].From
	}
	return Side{Path: paths[0], Toward: next, Known: true}
}
