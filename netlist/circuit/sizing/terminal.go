package sizing

import (
	"fmt"

	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// namesDiffer is how far the areas of two names for one size may lie apart, as 0.5 mm2 and 20 AWG do, for both to count as the same.
const namesDiffer = 0.04

// crimped are the limits that the terminals at the two ends of a wire set: the sizes that their barrels and seals take. Wires in one
// cavity share a terminal and count together; rings on a stud are one each.
func (st *study) crimped(w *model.Wire) []Limit {
	var out []Limit
	for _, end := range [...]model.PinID{w.From.ID, w.To.ID} {
		if end == model.NoPin {
			continue
		}
		pin := st.g.Netlist.Pin(end)
		t := pin.Terminal
		if t == nil {
			continue
		}
		beside, others := st.beside(pin, w)
		if l, known := sealed(pin, t); known && others == 0 { // a seal is made for one wire
			out = append(out, l)
		}
		if !t.Wire[0].IsSet() || !t.Wire[1].IsSet() {
			continue
		}
		least, most := t.Wire[0].AreaMM2()*(1-namesDiffer), t.Wire[1].AreaMM2()*(1+namesDiffer)
		l := Limit{Rule: Crimped, Source: terminalSource(t), Verified: t.KnownFrom.Text == "sheet" || t.KnownFrom.Text == "measured"}
		l.What = fmt.Sprintf("%s at %s takes %s to %s", t.Name.Text, pin, t.Wire[0], t.Wire[1])
		if beside > 0 {
			l.What += ", all wires in it together"
		}
		l.meets = func(size unit.Size) bool {
			area := size.AreaMM2() + beside
			return area >= least && area <= most
		}
		out = append(out, l)
	}
	return out
}

// beside is the area of the other wires in the terminal of a wire, and how many they are.
func (st *study) beside(pin *model.Pin, w *model.Wire) (areaMM2 float64, wires int) {
	shared := pin.DoubleCrimp.On || pin.Owner.Connector != nil // rings on a stud are one each
	for _, id := range st.g.At(pin.ID) {
		if e := st.g.Edge(id); shared && e.Kind == graph.Wire && st.original(e.Wire) != w {
			areaMM2, wires = areaMM2+e.Wire.Size.AreaMM2(), wires+1
		}
	}
	return areaMM2, wires
}

// insulationVaries is how far the insulation of a cable may be from the diameters that its size is taken to have, which are estimates.
const insulationVaries = 0.05

// sealed is the limit of the seal on a terminal: the insulation that it closes on.
func sealed(pin *model.Pin, t *model.Terminal) (Limit, bool) {
	low, high := t.Seal[0], t.Seal[1]
	if !low.IsSet() || !high.IsSet() {
		return Limit{}, false
	}
	_, source := conductor.OutsideDiameter(unit.AWG(16))
	return Limit{
		Rule: Crimped, Source: terminalSource(t) + "; diameters: " + source.Title,
		What: fmt.Sprintf("the seal of %s at %s takes %.2g to %.2g mm of insulation", t.Name.Text, pin, low.Value*1000, high.Value*1000),
		meets: func(size unit.Size) bool {
			mm, _ := conductor.OutsideDiameter(size)
			return mm >= low.Value*1000*(1-insulationVaries) && mm <= high.Value*1000*(1+insulationVaries)
		},
	}, true
}

// ratedShare is the part of the current of its data sheet that a terminal bears hot and for good; common practice.
const ratedShare = 0.6

// contacts holds what the contacts at the two ends of a wire carry for good against the current of their data sheets. A contact carries
// what the most loaded wire in its cavity does. No size of wire changes it.
func (st *study) contacts(branch int, w *model.Wire) []Limit {
	var out []Limit
	for _, end := range [...]model.PinID{w.From.ID, w.To.ID} {
		if end == model.NoPin {
			continue
		}
		pin := st.g.Netlist.Pin(end)
		t := pin.Terminal
		if t == nil || !t.Rating.IsSet() || t.Rating.Value <= 0 {
			continue
		}
		carries := st.burdens[branch]
		if pin.Owner.Connector != nil {
			for _, id := range st.g.At(end) {
				if e := st.g.Edge(id); e.Kind == graph.Wire {
					if other := st.burdens[st.branchOf[st.original(e.Wire)]]; other.rms > carries.rms {
						carries = other
					}
				}
			}
		}
		most := ratedShare * t.Rating.Value
		within := carries.rms <= most*(1+1e-9)
		out = append(out, Limit{
			Rule: Rated, State: carries.state, Beyond: !within, Source: "common practice: 0.6 of the current of the data sheet",
			What:  fmt.Sprintf("%s at %s carries %s for good; practice takes %s, 0.6 of its %s", t.Name.Text, pin, amps(carries.rms), amps(most), amps(t.Rating.Value)),
			meets: func(unit.Size) bool { return within },
		})
	}
	return out
}

// OverRated lists the terminals at the ends of a wire that carry more than they bear.
func (out *Wire) OverRated() []*Limit {
	var over []*Limit
	for i := range out.Limits {
		if l := &out.Limits[i]; l.Rule == Rated && l.Beyond {
			over = append(over, l)
		}
	}
	return over
}

// Barrel returns the limit of a terminal that keeps a wire from growing as its other limits ask; nil when none does.
func (out *Wire) Barrel() *Limit {
	if out.Least.IsSet() || out.Decides == nil {
		return nil
	}
	for i := range out.Limits {
		if l := &out.Limits[i]; l.Rule == Crimped && l != out.Decides && !l.meets(out.Decides.Least) {
			return l
		}
	}
	return nil
}

func terminalSource(t *model.Terminal) string {
	text := "terminal " + t.Name.Text + " of the file"
	if t.Title.IsSet() {
		text += " (" + t.Title.Text + ")"
	}
	if t.KnownFrom.IsSet() {
		text += ", known from " + t.KnownFrom.Text
	}
	return text
}
