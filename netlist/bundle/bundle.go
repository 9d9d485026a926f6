// Package bundle says what lies along each path of a harness: which wires, how thick they are together, and what covers
// and holds them.
//
// It takes a netlist with its routes and gives bundles in the order of the paths (Of), and what each needs to be covered,
// held, bent and led through holes, with its section as circles packed into the smallest round hole found (Fits). It may import the model, netlist/route
// and netlist/conductor (diameters of insulated wires).
package bundle

import (
	"cmp"
	"math"
	"slices"

	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

// A Bundle is what lies along one path.
type Bundle struct {
	Path       *model.Path
	Wires      []*model.Wire // in the order of the file
	DiameterMM float64       // over all wires whose size is stated, without a cover; 0 for none
	Unsized    int           // wires without a size: the bundle is thicker than DiameterMM says
}

// Of returns the bundle of every path, in the order of the file, also of those along which no wire lies. A wire lies along
// the shortest way between the places of its two ends, also where its length is written; a length that does not reach over that way is
// that of a wire which lies elsewhere.
func Of(n *model.Netlist, routes *route.Routes) []Bundle {
	at := make(map[*model.Path]int, len(n.Paths))
	bundles := make([]Bundle, len(n.Paths))
	for i, p := range n.Paths {
		at[p], bundles[i].Path = i, p
	}
	for _, w := range n.Wires {
		for _, p := range routes.Along(w) {
			bundles[at[p]].Wires = append(bundles[at[p]].Wires, w)
		}
	}
	for i := range bundles {
		bundles[i].measure()
	}
	return bundles
}

func (b *Bundle) measure() {
	var sizes []unit.Size
	for _, w := range b.Wires {
		if w.Size.IsSet() {
			sizes = append(sizes, w.Size)
		} else {
			b.Unsized++
		}
	}
	b.DiameterMM = Diameter(sizes)
}

// Diameter is the diameter in mm of wires laid together: 1.2 times the root of the sum of the squares of their outside
// diameters (common practice), and for one wire its own.
func Diameter(sizes []unit.Size) float64 {
	sum := 0.0
	for _, s := range sizes {
		d, _ := conductor.OutsideDiameter(s)
		sum += d * d
	}
	if len(sizes) == 1 {
		return math.Sqrt(sum)
	}
	return 1.2 * math.Sqrt(sum)
}

// HoleFill is the share of a grommet's or sleeve's opening that a bundle may take across (common practice: the hole is at
// least the bundle's diameter over 0.85).
const HoleFill = 0.85

// Across is how thick wires are together, in mm, without a search: by the formula of practice and, since that is short for
// two, at least the two thickest side by side. Wires without a size count nowhere.
func Across(wires []*model.Wire) float64 {
	var sizes []unit.Size
	first, second := 0.0, 0.0
	for _, w := range wires {
		d, _ := conductor.OutsideDiameter(w.Size)
		if d == 0 {
			continue
		}
		sizes = append(sizes, w.Size)
		if second = max(second, min(first, d)); d > first {
			first = d
		}
	}
	return max(Diameter(sizes), first+second)
}

// closeKnit is the number of equal circles from which on the formula of practice is thicker than their best packing: seven
// take a hole of 3 diameters, and the formula says 3.17.
const closeKnit = 7

// roundAll is the hole, in diameters of the thickest, that takes any closeKnit circles: six of them around a seventh. What is at
// least that thick needs no search for their packing.
const roundAll = 3

// Thick is how thick wires are together, in mm: Across, and no less than the round hole that their seven thickest were packed
// into. It is what Fits says to a few per cent, without the search that many wires take. Wires without a size count nowhere.
func Thick(wires []*model.Wire) float64 {
	var diameters []float64
	for _, w := range wires {
		if d, _ := conductor.OutsideDiameter(w.Size); d > 0 {
			diameters = append(diameters, d)
		}
	}
	slices.SortFunc(diameters, func(a, b float64) int { return cmp.Compare(b, a) })
	across := Across(wires)
	if len(diameters) < 3 {
		return across // which lays two side by side
	}
	if across >= roundAll*diameters[0] {
		return across
	}
	return max(across, Pack(diameters[:min(len(diameters), closeKnit)]).DiameterMM)
}
