package command

import (
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/model"
)

// A pick is a wire that a command line asks for. It is named when the line says it by its own name, and not by that of
// something that many wires belong to.
type pick struct {
	wire  *model.Wire
	named bool
}

// pickWires returns the wires that words mean: a wire, a range of wires as W101..W110 in natural order, or a cable, part,
// connector, splice, panel or system, which mean all their wires.
func pickWires(n *model.Netlist, words []string) ([]pick, error) {
	var picks []pick
	for _, word := range words {
		var wires []*model.Wire
		var err error
		w := n.Wire(word)
		switch from, to, isRange := strings.Cut(word, ".."); {
		case w != nil:
			picks = append(picks, pick{w, true})
			continue
		case isRange:
			wires, err = wiresBetween(n, from, to)
		default:
			wires, err = wiresOf(n, word)
		}
		if err != nil {
			return nil, err
		}
		for _, w := range wires {
			picks = append(picks, pick{w, false})
		}
	}
	return picks, nil
}

// wiresBetween returns the wires of a range in natural order.
func wiresBetween(n *model.Netlist, from, to string) ([]*model.Wire, error) {
	for _, end := range []string{from, to} {
		if n.Wire(end) == nil {
			return nil, unknownWord("wire", end, wireNames(n), "a range is written W101..W110, and both are wires of the netlist")
		}
	}
	if model.CompareNatural(from, to) > 0 {
		return nil, &usageError{fmt.Sprintf("the range %s..%s runs backwards", from, to), fmt.Sprintf("write %s..%s", to, from)}
	}
	var wires []*model.Wire
	for _, w := range n.Wires {
		if model.CompareNatural(from, w.Name.Text) <= 0 && model.CompareNatural(w.Name.Text, to) <= 0 {
			wires = append(wires, w)
		}
	}
	return wires, nil
}

// wiresOf returns the wires of a cable, of something with terminals, or of a system. A name that is more than one of these is
// refused, since somebody would mark wires without knowing it.
func wiresOf(n *model.Netlist, word string) ([]*model.Wire, error) {
	var sorts []string
	var wires []*model.Wire
	for _, c := range n.Cables {
		if c.Name.Text == word {
			sorts, wires = append(sorts, "cable"), c.Wires
		}
	}
	if o := n.Owner(word); o != nil {
		sorts = append(sorts, o.Sort.String())
		wires = wiresAt(n, o)
	}
	for _, s := range n.Systems {
		if s.Name.Text == word {
			sorts, wires = append(sorts, "system"), wiresIn(n, s)
		}
	}
	switch {
	case len(sorts) == 0:
		return nil, unknownWord("wire, cable, part, connector, splice, panel or system", word, wordsForWires(n), "give wires by their designators: W101, or W101..W110 for a range")
	case len(sorts) > 1:
		return nil, &usageError{fmt.Sprintf("%s is a %s", word, strings.Join(sorts, " and a ")), "give the wires by their designators"}
	case len(wires) == 0:
		return nil, &usageError{fmt.Sprintf("the %s %s has no wires", sorts[0], word), "give wires by their designators"}
	}
	return wires, nil
}

// wiresAt returns the wires that end at an owner: at its own terminals, and at those of the plugs of a part or of the parts
// in a panel.
func wiresAt(n *model.Netlist, o *model.Owner) []*model.Wire {
	at := func(ref model.PinRef) bool {
		if ref.ID == model.NoPin {
			return false
		}
		end := n.Pin(ref.ID).Owner
		device := end.Device()
		return end == o || o.Part != nil && device == o.Part || o.Panel != nil && device != nil && device.Panel == o.Panel
	}
	var wires []*model.Wire
	for _, w := range n.Wires {
		if at(w.From) || at(w.To) {
			wires = append(wires, w)
		}
	}
	return wires
}

// wiresIn returns the wires of a system: those that state it, and those that state none and end at a part of it.
func wiresIn(n *model.Netlist, s *model.System) []*model.Wire {
	at := func(ref model.PinRef) bool {
		if ref.ID == model.NoPin {
			return false
		}
		device := n.Pin(ref.ID).Owner.Device()
		return device != nil && device.System == s
	}
	var wires []*model.Wire
	for _, w := range n.Wires {
		if w.System == s || w.System == nil && (at(w.From) || at(w.To)) {
			wires = append(wires, w)
		}
	}
	return wires
}

func wireNames(n *model.Netlist) []string {
	var names []string
	for _, w := range n.Wires {
		names = append(names, w.Name.Text)
	}
	return names
}

// wordsForWires lists every word that means wires, for suggestions.
func wordsForWires(n *model.Netlist) []string {
	names := wireNames(n)
	for _, o := range n.Owners {
		names = append(names, o.Name.Text)
	}
	for _, c := range n.Cables {
		names = append(names, c.Name.Text)
	}
	for _, s := range n.Systems {
		names = append(names, s.Name.Text)
	}
	slices.Sort(names)
	return slices.Compact(names)
}
