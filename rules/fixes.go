package rules

import (
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
)

// The makers below build the fixes that several rules offer. A fix is safe when it is the one right change and can do no
// harm elsewhere: what has to be bought or chosen is for a person.

// Resize is the change of a wire to another size; safe unless the terminal at one of its ends does not take that size.
func (f *Facts) Resize(w *model.Wire, size unit.Size) []diag.Fix {
	if !size.IsSet() {
		return nil
	}
	return f.SetKey(fmt.Sprintf("make wire %s %s", w.Name.Text, size), f.takes(w, size), "wire", w.Name.Text, "size", size.String(), "to", "from")
}

// takes reports whether the terminals at both ends of a wire take a size; one that states no range may take anything.
func (f *Facts) takes(w *model.Wire, size unit.Size) bool {
	for _, end := range []model.PinRef{w.From, w.To} {
		if end.ID == model.NoPin {
			continue
		}
		if t := f.Netlist.Pin(end.ID).Terminal; t != nil && t.Wire[1].IsSet() {
			if area := size.AreaMM2(); area < t.Wire[0].AreaMM2()*0.999 || area > t.Wire[1].AreaMM2()*1.001 {
				return false
			}
		}
	}
	return true
}

// Rerate is the change of a fuse to another rating.
func (f *Facts) Rerate(fuse *model.Part, rating unit.Ampere, safe bool) []diag.Fix {
	if rating <= 0 {
		return nil
	}
	text := unit.Current.InUnit(float64(rating))
	return f.SetKey(fmt.Sprintf("make fuse %s %s", fuse.Name.Text, text), safe, "part", fuse.Name.Text, "rating", text)
}

// Exchange is the change that swaps what is wired to two terminals; none unless exactly one wire ends at each. It is safe
// only where the rule knows that each then is where it belongs.
func (f *Facts) Exchange(a, b model.PinID, safe bool) []diag.Fix {
	first, ok := f.onlyEnd(a)
	second, too := f.onlyEnd(b)
	if !ok || !too {
		return nil
	}
	return []diag.Fix{{
		Title: fmt.Sprintf("exchange what is wired to %s and %s", f.Netlist.Pin(a), f.Netlist.Pin(b)), Safe: safe,
		Edits: []source.Edit{{Span: first, New: second.Text()}, {Span: second, New: first.Text()}},
	}}
}

// onlyEnd is the place where the one wire end at a terminal is written.
func (f *Facts) onlyEnd(pin model.PinID) (span source.Span, ok bool) {
	for _, w := range f.Graph.WiresAt(pin) {
		for _, end := range []model.PinRef{w.From, w.To} {
			if end.ID == pin {
				if ok {
					return span, false
				}
				span, ok = end.Span, true
			}
		}
	}
	return span, ok
}
