package sizing

import (
	"fmt"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// namesDiffer is how far the areas of two names for one size may lie apart, as 0.5 mm2 and 20 AWG do, for both to count as the same.
const namesDiffer = 0.04

// crimped are the limits that the terminals at the two ends of a wire set: the sizes that their barrels take. Wires in one cavity
// share a terminal and count together; rings on a stud are one each.
func (st *study) crimped(w *model.Wire) []Limit {
	var out []Limit
	for _, end := range [...]model.PinID{w.From.ID, w.To.ID} {
		if end == model.NoPin {
			continue
		}
		pin := st.g.Netlist.Pin(end)
		t := pin.Terminal
		if t == nil || !t.Wire[0].IsSet() || !t.Wire[1].IsSet() {
			continue
		}
		beside := 0.0
		shared := pin.DoubleCrimp.On || pin.Owner.Connector != nil // rings on a stud are one each
		for _, id := range st.g.At(end) {
			if e := st.g.Edge(id); shared && e.Kind == graph.Wire && st.original(e.Wire) != w {
				beside += e.Wire.Size.AreaMM2()
			}
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
