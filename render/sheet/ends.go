package sheet

import (
	"cmp"
	"slices"
	"strings"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/render/layout"
)

// What stands at a terminal, in the words that tables and lists use. Pin-outs, terminal tables, the wire list and the
// CSV files all ask here, so that a wire reads the same wherever somebody meets it.

// A FarEnd is where a wire leads, seen from one of its ends.
type FarEnd struct {
	Ref     string        // the last terminal, "K2:85"; as written where the name leads nowhere
	Pin     model.PinID   // the same, or model.NoPin
	Title   string        // of what the terminal belongs to
	Through []model.PinID // the in-line cavities passed on the way, nearest first
}

// FarEnd follows a wire from the terminal from, and on through in-line connectors as long as exactly one wire goes on
// behind the mated cavity. It stops at devices, splices, and where the way parts or ends.
func (s *Set) FarEnd(w *model.Wire, from model.PinID) FarEnd {
	ref := otherEnd(w, from)
	var through []model.PinID
	for ref.ID != model.NoPin && len(through) < len(s.Netlist.Wires) {
		mated, ok := s.mated(ref.ID)
		if !ok {
			break
		}
		wires := s.Graph.WiresAt(mated)
		if len(wires) != 1 || wires[0] == w {
			break
		}
		through = append(through, ref.ID)
		w, ref = wires[0], otherEnd(wires[0], mated)
	}
	end := FarEnd{Ref: ref.Text, Pin: ref.ID, Through: through}
	if ref.ID != model.NoPin {
		pin := s.Netlist.Pin(ref.ID)
		end.Ref, end.Title = pin.String(), pin.Owner.Title()
	}
	return end
}

// otherEnd returns the end of the wire that is not the terminal. A wire from a terminal to itself has it at both ends.
func otherEnd(w *model.Wire, from model.PinID) model.PinRef {
	if w.From.ID == from {
		return w.To
	}
	return w.From
}

// mated returns the cavity that meets an in-line cavity.
func (s *Set) mated(id model.PinID) (model.PinID, bool) {
	pin := s.Netlist.Pin(id)
	if c := pin.Owner.Connector; c != nil && c.Mate != nil {
		return c.Mate.Owner.Pin(pin.Name)
	}
	return model.NoPin, false
}

// words writes the far end: "K2:85 Fuel pump relay, through X3P:4".
func (e FarEnd) words(n *model.Netlist) string {
	text := strings.TrimSpace(e.Ref + " " + e.Title)
	for i, id := range e.Through {
		separator := ", through "
		if i > 0 {
			separator = " and "
		}
		text += separator + n.Pin(id).String()
	}
	return text
}

// WiresAt returns the wires that end at a terminal in natural order. A wire from a terminal to itself, which joins
// nothing, is only in the wire list.
func (s *Set) WiresAt(id model.PinID) []*model.Wire {
	wires := s.Graph.WiresAt(id)
	slices.SortStableFunc(wires, func(a, b *model.Wire) int { return CompareNatural(a.Name.Text, b.Name.Text) })
	return wires
}

// SystemTitle returns the title of the system on whose diagram a wire is drawn, or its name, or nothing.
func (s *Set) SystemTitle(w *model.Wire) string {
	if s.systems == nil {
		s.systems = layout.WireSystems(s.Graph)
	}
	if system := s.systems[w]; system != nil {
		return cmp.Or(system.Title.Text, system.Name.Text)
	}
	return ""
}

// ColorText returns the colour of a wire as it is written, also where it is no colour of IEC 60757.
func ColorText(w *model.Wire) string { return cmp.Or(w.Color.String(), w.ColorText.Text) }

// MarksOf returns what sets a wire apart from one that is cut from a reel: "supplied", "sheathed".
func MarksOf(w *model.Wire) string {
	var marks []string
	if w.Supplied.On {
		marks = append(marks, "supplied")
	}
	if w.Sheathed.On {
		marks = append(marks, "sheathed")
	}
	return strings.Join(marks, ", ")
}

// Vacancy says why no wire ends at a terminal, in the words of the tables; empty where one does. A link or the bolt to
// the body counts as a conductor.
func (s *Set) Vacancy(id model.PinID) string {
	pin := s.Netlist.Pin(id)
	if len(s.WiresAt(id)) > 0 || len(s.barsAt(id)) > 0 {
		return ""
	}
	words := "no wire"
	switch {
	case pin.Unused.On:
		words = "not used"
	case pin.Spare.On || pin.Owner.Part != nil && pin.Owner.Part.Spare.On:
		words = "spare"
	}
	if c := pin.Owner.Connector; c != nil && c.Sealed.On {
		words += ": PLUG"
	}
	return words
}

// barsAt says which conductors other than wires end at a terminal: bus bars, factory jumpers, the bolt to the body.
func (s *Set) barsAt(id model.PinID) []string {
	var bars []string
	for _, edge := range s.Graph.At(id) {
		switch e := s.Graph.Edge(edge); e.Kind {
		case graph.Link:
			if text := s.barText(e.Link, id); !slices.Contains(bars, text) {
				bars = append(bars, text)
			}
		case graph.Bolted:
			if e.A == id && e.Part.Body != nil {
				bars = append(bars, "bolted to: "+cmp.Or(e.Part.Body.Title.Text, e.Part.Body.Name.Text))
			}
		}
	}
	for _, c := range s.Netlist.Cables {
		if slices.ContainsFunc(c.Screen, func(r model.PinRef) bool { return r.ID == id }) {
			bars = append(bars, "screen of cable "+c.Name.Text)
		}
	}
	return bars
}

// longBar is the number of terminals from which on a bar is named and its other ends are not listed.
const longBar = 5

// barText names a bar as it is met at one of its terminals: "bar P-F9 to F9:1".
func (s *Set) barText(l *model.Link, at model.PinID) string {
	text := strings.TrimSpace("bar " + l.Name.Text + " " + l.Title.Text)
	if len(l.Joins) >= longBar {
		return text
	}
	var others []string
	for _, ref := range l.Joins {
		if ref.ID != at && ref.ID != model.NoPin {
			others = append(others, s.Netlist.Pin(ref.ID).String())
		}
	}
	return text + " to " + strings.Join(others, ", ")
}
