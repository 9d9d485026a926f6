package conductor

import "ferrule/netlist/unit"

// The distances of 33 CFR 183.455(b): 7 in, and 40 in for a wire in a sheath or enclosure all the way. The inch is 25.4 mm; the
// allowance of some millimetres lets pass what people write for them, 180 mm and 1.02 m.
const (
	openReach     unit.Metre = 7*0.0254 + 0.0025
	sheathedReach unit.Metre = 40*0.0254 + 0.0045
)

// ProtectionReach returns how far from a source the first fuse or breaker may be, measured along the wire: 7 in, or 40 in where
// every wire on the way is sheathed or enclosed. The cable of a starter is exempt from it.
func ProtectionReach(sheathed bool) (unit.Metre, Source) {
	source := Source{"33 CFR 183.455(b), written for boats; common practice on the road too", true}
	if sheathed {
		return sheathedReach, source
	}
	return openReach, source
}
