package fusecurve

import (
	"math"

	"ferrule/netlist/unit"
)

// The two tests of selectivity, common practice.
const (
	selectiveRatio = 2.0  // upstream rating over downstream, within one family
	energyMargin   = 0.75 // most let-through of the downstream fuse over least pre-arcing energy of the upstream one
)

// Selective reports whether the downstream fuse opens alone at a short-circuit current through both. Common practice: within one
// family the upstream rating is at least twice the downstream one; else the most that the downstream fuse lets through, I2t at its
// slowest time, must stay below 0.75 of the least that the upstream fuse needs, I2t at its fastest. The comparison of the bands is
// strict, since they are wide: false means that it cannot be promised. Compare near the box, where the current is largest.
//
// A current at which the upstream fuse holds is selective whatever the downstream one does. It is not for a fuse that is not
// known (a curve that never opens): then neither is promised.
func Selective(up, down *Curve, current unit.Ampere) (bool, Source) {
	if up == nil || down == nil || !isRating(up.Rating) || !isRating(down.Rating) {
		return false, Source{}
	}
	if up.Family == down.Family && up.Rating >= selectiveRatio*down.Rating {
		return true, Source{"common practice: two to one within one family", false}
	}
	source := Source{"common practice: slowest let-through below 0.75 of the fastest pre-arcing energy upstream", false}
	fastest, _ := up.Times(current)
	_, slowest := down.Times(current)
	if math.IsInf(float64(fastest), 1) {
		return true, source
	}
	// Both carry the same current, so the energies compare as the times do.
	return slowest < energyMargin*fastest, source
}
