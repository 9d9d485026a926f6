package rules

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/conductor"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
)

// The makers below build the fixes that several rules offer. A fix is safe when it is the one right change and can do no
// harm elsewhere: what has to be bought or chosen is for a person.

// Suited is the size to write for a wire that has to have at least the one asked for: the least that meets all its limits,
// where that is more. Where the fuse ahead asks for more than everything else together, the fuse may be what is wrong, and
// the size asked for stays.
func (f *Facts) Suited(w *model.Wire, asked unit.Size) unit.Size {
	size, _ := f.suited(w, asked)
	return size
}

// suited is Suited, and whether the size is known to meet all limits of the wire. Numbers that somebody has guessed do not hold it
// back: it grows from what the finding itself rests on, and thicker wire than needed does no harm. Where some fuse carries more than
// its rating, the currents are not those of the loads, and a wire that is too thin for them may be the sign of a wrong connection.
func (f *Facts) suited(w *model.Wire, asked unit.Size) (size unit.Size, sure bool) {
	s := f.solved.sized()[w]
	if s == nil || !s.Least.IsSet() {
		return asked, false
	}
	byFuse, byOthers := 0.0, asked.AreaMM2()
	for _, l := range s.Limits {
		switch area := l.Least.AreaMM2(); {
		case l.Beyond:
		case l.Rule == sizing.Fused:
			byFuse = max(byFuse, area)
		default:
			byOthers = max(byOthers, area)
		}
	}
	if byFuse > byOthers*(1+areaSlack) && !f.fuseStays(w) {
		return asked, false
	}
	if s.Least.AreaMM2() > asked.AreaMM2() {
		asked = s.Least
	}
	return asked, f.solved.plausible()
}

// fuseStays reports whether the fuse ahead cannot be smaller, because its loads ask for more than the wire bears.
func (f *Facts) fuseStays(w *model.Wire) bool {
	return slices.ContainsFunc(f.Sizing().Fuses, func(fuse *sizing.Fuse) bool {
		return fuse.LimitedBy == w && fuse.Verdict == sizing.NoneFits
	})
}

// areaSlack is the share by which two areas of one size may differ for the way in which they were worked out.
const areaSlack = 1e-3

// TooThinAnyhow reports whether a wire is too thin for something else than the fuse ahead, so that another fuse is not the
// whole cure.
func (f *Facts) TooThinAnyhow(w *model.Wire) bool {
	s := f.solved.sized()[w]
	return s != nil && slices.ContainsFunc(s.Limits, func(l sizing.Limit) bool {
		return !l.Met && !l.Beyond && l.Rule != sizing.Fused && l.Rule != sizing.Crimped
	})
}

// Resize is the change of a wire to a size, which Suited gives. It is safe where that meets every limit of the wire and the
// terminals at both ends take it.
func (f *Facts) Resize(w *model.Wire, size unit.Size) []diag.Fix {
	if !size.IsSet() {
		return nil
	}
	suited, sure := f.suited(w, size)
	safe := sure && suited == size && f.takes(w, w.From.ID, size) && f.takes(w, w.To.ID, size)
	return f.SetKey(fmt.Sprintf("make wire %s %s", w.Name.Text, size), safe, "wire", w.Name.Text, "size", size.String(), "to", "from")
}

// takes reports whether what is crimped on at one end of a wire takes a size: a splice's barrel or a terminal's, together with what
// else is in it, and the seal around. What states no range may take anything.
func (f *Facts) takes(w *model.Wire, end model.PinID, size unit.Size) bool {
	if end == model.NoPin {
		return true
	}
	pin := f.Netlist.Pin(end)
	if s := pin.Owner.Splice; s != nil {
		return !s.Barrel.IsSet() || f.together(w, size, s.Owner.Pins...) <= s.Barrel.AreaMM2()*(1+areaSlack)
	}
	t := f.terminalAt(end)
	if t == nil {
		return true
	}
	area := size.AreaMM2()
	if pin.DoubleCrimp.On || pin.Owner.Connector != nil { // rings on a stud are one each
		area = f.together(w, size, end)
	}
	if t.Wire[1].IsSet() && (area < t.Wire[0].AreaMM2()*(1-areaSlack) || area > t.Wire[1].AreaMM2()*(1+areaSlack)) {
		return false
	}
	mm, _ := conductor.OutsideDiameter(size)
	return !t.Seal[1].IsSet() || mm >= t.Seal[0].Value*1000 && mm <= t.Seal[1].Value*1000
}

// together is the metal of all wires at some terminals in mm2, with one of them in another size.
func (f *Facts) together(w *model.Wire, size unit.Size, pins ...model.PinID) float64 {
	area := size.AreaMM2()
	for _, pin := range pins {
		for _, other := range f.Graph.WiresAt(pin) {
			if other != w {
				area += other.Size.AreaMM2()
			}
		}
	}
	return area
}

// terminalAt is what is crimped on at a cavity. Halves of a pair that name nothing have what their mates have.
func (f *Facts) terminalAt(id model.PinID) *model.Terminal {
	pin := f.Netlist.Pin(id)
	c := pin.Owner.Connector
	if pin.Terminal != nil || c == nil || c.Mate == nil || c.Part != nil || c.Mate.Part != nil {
		return pin.Terminal
	}
	if other, meets := c.Mate.Owner.Pin(pin.Name); meets {
		return f.Netlist.Pin(other).Terminal
	}
	return nil
}

// Rerate is the change of a fuse to another rating.
func (f *Facts) Rerate(fuse *model.Part, rating unit.Ampere, safe bool) []diag.Fix {
	if rating <= 0 {
		return nil
	}
	text := unit.Current.InUnit(float64(rating))
	return f.SetKey(fmt.Sprintf("make fuse %s %s", fuse.Name.Text, text), safe, "part", fuse.Name.Text, "rating", text)
}

// SetList is SetKey for a list of texts. A list that is there already keeps its items; the new ones go behind the one whose
// words are given as last.
func (f *Facts) SetList(title string, safe bool, section, name, key string, items []string, last source.Span, after ...string) []diag.Fix {
	quoted := make([]string, len(items))
	for i, item := range items {
		quoted[i] = strconv.Quote(item)
	}
	list := strings.Join(quoted, ", ")
	if !last.IsZero() {
		end := int(last.End)
		return []diag.Fix{{Title: title, Safe: safe, Edits: []source.Edit{{Span: last.File.Span(end, end), New: ", " + list}}}}
	}
	list = "[" + list + "]"
	fixes := f.SetKey(title, safe, section, name, key, list, after...)
	for _, fix := range fixes {
		for i, e := range fix.Edits { // a text is set in quotes, and a list has none around it
			fix.Edits[i].New = strings.Replace(e.New, strconv.Quote(list), list, 1)
		}
	}
	return fixes
}

// OneWire reports whether just one wire leads from a terminal to another. With more of them on the way nobody knows at which
// of their joints two were crossed.
func (f *Facts) OneWire(from, to model.PinID) bool {
	wires := 0
	for _, h := range f.Graph.Path(from, to, func(e *graph.Edge) bool { return e.Kind.Outside() }) {
		if h.Edge.Kind == graph.Wire {
			wires++
		}
	}
	return wires == 1
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
