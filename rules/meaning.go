package rules

import (
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A Meaning is what a terminal or a wire is meant to be, as far as the file shows.
type Meaning uint8

const (
	Unsaid     Meaning = iota // the file does not show it
	Named                     // a net with a name, and no more is said of it
	MeansLive                 // supply
	MeansEarth                // power ground
	MeansSense                // sensor ground
	MeansRef                  // sensor supply
)

var roleMeanings = map[catalog.Role]Meaning{
	catalog.Supply: MeansLive, catalog.SupplyOut: MeansLive, catalog.Cranking: MeansLive, catalog.Driver: MeansLive,
	catalog.Ground: MeansEarth, catalog.Sink: MeansEarth, catalog.Return: MeansSense, catalog.Reference: MeansRef,
}

var classMeanings = map[string]Meaning{
	"supply": MeansLive, "ground": MeansEarth, "return": MeansSense, "reference": MeansRef, "signal": Named,
}

// PinMeans reads a terminal's meaning from what it is on, its role and its stated net, in this order.
func (f *Facts) PinMeans(pin model.PinID) Meaning {
	p := f.Netlist.Pin(pin)
	switch {
	case f.IsGround(pin):
		return MeansEarth
	case f.IsLive(pin):
		return MeansLive
	}
	if m := roleMeanings[p.Role]; m != Unsaid {
		return m
	}
	return f.NetMeans(p.Net)
}

// NetMeans reads the meaning of a net's name from its class; a name without one is Named.
func (f *Facts) NetMeans(net model.Name) Meaning {
	if m := classMeanings[f.classes[net.Text]]; m != Unsaid {
		return m
	}
	if net.IsSet() {
		return Named
	}
	return Unsaid
}

// WireMeans reads a wire's meaning from the class of its stated net, its colour if that is reserved, or its name.
func (f *Facts) WireMeans(w *model.Wire) Meaning {
	m := f.NetMeans(w.Net)
	if m != Unsaid && m != Named {
		return m
	}
	switch {
	case w.Cable != nil: // the colours of cores are the cable's, not the plan's
	case Reserves(f.Netlist.Colors.Ground, w.Color.Base):
		return MeansEarth
	case Reserves(f.Netlist.Colors.Permanent, w.Color.Base):
		return MeansLive
	}
	return m
}

// Reserves reports whether a plan keeps a base colour.
func Reserves(plan []model.Name, base string) bool {
	return base != "" && slices.ContainsFunc(plan, func(n model.Name) bool { return n.Text == base })
}

// A Side tells which of two things a meaning speaks for: above zero for the one that a path begins at, below for the one
// that it ends at, zero for neither.
type Side func(Meaning) int

// SupplyOrGround parts supply from ground: a name of its own is no ground.
func SupplyOrGround(m Meaning) int {
	switch m {
	case MeansLive, Named, MeansRef:
		return +1
	case MeansEarth, MeansSense:
		return -1
	}
	return 0
}

// SenseOrGround parts sensor ground from power ground.
func SenseOrGround(m Meaning) int {
	switch m {
	case MeansSense:
		return +1
	case MeansEarth:
		return -1
	}
	return 0
}

// SupplyOrReference parts battery voltage from a sensor supply.
func SupplyOrReference(m Meaning) int {
	switch m {
	case MeansLive:
		return +1
	case MeansRef:
		return -1
	}
	return 0
}

// Seam returns the index of the hop that joins what must not meet: the hop with the path's beginning on its one side and
// the path's end on its other, and the least between it and the terminals that show so. A wire goes before a contact,
// since contacts are seldom what somebody has put in the wrong place. Where nothing shows it, it is the last wire.
func (f *Facts) Seam(path []graph.Hop, of Side) int {
	best, bestDistance := -1, len(path)*4+1
	for i, h := range path {
		if k := h.Edge.Kind; k != graph.Wire && k != graph.Link && k != graph.Mate && !k.Contact() {
			continue
		}
		before, up := f.meantBefore(path, i, of)
		after, down := f.meantAfter(path, i, of)
		if before <= 0 || after >= 0 {
			continue
		}
		distance := 2 * (up + down)
		if h.Edge.Kind != graph.Wire {
			distance++
		}
		if distance <= bestDistance {
			best, bestDistance = i, distance
		}
	}
	for i := len(path) - 1; best < 0 && i >= 0; i-- {
		if path[i].Edge.Kind == graph.Wire {
			best = i
		}
	}
	if best < 0 {
		best = len(path) - 1
	}
	return best
}

func (f *Facts) meantBefore(path []graph.Hop, i int, of Side) (meant, hops int) {
	without := path[i].Edge.Wire
	for j := i; j >= 0; j-- {
		if s := f.meantAt(path[j].From, without, of); s != 0 {
			return s, i - j
		}
		without = nil
	}
	return 0, 0
}

func (f *Facts) meantAfter(path []graph.Hop, i int, of Side) (meant, hops int) {
	without := path[i].Edge.Wire
	for j := i; j < len(path); j++ {
		if s := f.meantAt(path[j].To, without, of); s != 0 {
			return s, j - i
		}
		without = nil
	}
	return 0, 0
}

// meantAt asks the terminal, and where that shows nothing the wires at it apart from the one in question. Wires that
// contradict each other show nothing.
func (f *Facts) meantAt(pin model.PinID, without *model.Wire, of Side) int {
	if s := of(f.PinMeans(pin)); s != 0 {
		return s
	}
	sum, plain := 0, true
	for _, w := range f.Graph.WiresAt(pin) {
		s := of(f.WireMeans(w))
		if w == without || s == 0 {
			continue
		}
		plain = plain && sum*s >= 0
		sum = s
	}
	if !plain {
		return 0
	}
	return sum
}
