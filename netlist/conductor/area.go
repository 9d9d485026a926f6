package conductor

import (
	"math"
	"sync"

	"ferrule/netlist/unit"
)

// The sizes that are made: 30 AWG to 4/0 AWG, 0.05 mm2 to 300 mm2, the same as the netlist language reads.
const (
	thinnestAWG, thickestAWG = 30, -3
	thinnestMM2, thickestMM2 = 0.05, 300
)

// isMade reports whether a size is set and made.
func isMade(size unit.Size) bool {
	if number, byAWG := size.ByAWG(); byAWG {
		return number >= thickestAWG && number <= thinnestAWG
	}
	area := size.AreaMM2()
	// A size made from a negative area or from no number does not give back what it was made from.
	return size == unit.MM2(area) && area >= thinnestMM2 && area <= thickestMM2
}

// saeAreas are the least areas of SAE vehicle cable in mm2 by AWG number, and whether they were read.
var saeAreas = sync.OnceValue(func() map[int]saeArea {
	// 20 and 22 AWG are not in the reprint: 0.508 and 0.324 mm2 are SAE J1128, from memory.
	areas := map[int]saeArea{20: {mm2: 0.508}, 22: {mm2: 0.324}}
	for _, r := range readTable("sae-conductor-area.csv") {
		areas[r.awg()] = saeArea{r.number("sae_min_area_mm2"), r["status"] == "verified"}
	}
	return areas
})

type saeArea struct {
	mm2      float64
	verified bool
}

// thinnestSAE is the thinnest size in saeAreas; leastSAEShare is the smallest ratio of an SAE area to that of its AWG name in
// the verified rows (12 AWG).
const (
	thinnestSAE   = 22
	leastSAEShare = 0.893
)

// AreaMM2 returns the metal in a conductor in mm2. cable is the harness's word for which copper a size means: "AWG" is ASTM
// B258, "SAE" the least area of SAE vehicle cable, which is up to 11 % less. It decides about sizes named by AWG only; a
// metric size has its nominal area whatever the word. An AWG name under any other word, "metric" among them, is taken as SAE,
// since that is the smaller of the two.
func AreaMM2(size unit.Size, cable string) (area float64, source Source) {
	if !isMade(size) {
		return 0, Source{}
	}
	number, byAWG := size.ByAWG()
	switch {
	case !byAWG:
		return size.AreaMM2(), Source{"nominal area, as IEC 60228 and ISO 6722-1 name sizes", true}
	case cable == "AWG":
		return size.AreaMM2(), sourceB258
	}
	return saeAreaMM2(number)
}

// saeAreaMM2 returns the SAE area of a made AWG number. Between two listed sizes the logarithm of the area is taken as linear
// in the number, as AWG itself is; thinner than all of them, the least share of the verified table is taken.
func saeAreaMM2(number int) (float64, Source) {
	areas := saeAreas()
	if a, listed := areas[number]; listed {
		if a.verified {
			return a.mm2, Source{"SAE minimum conductor area, as a catalogue reprints it", true}
		}
		return a.mm2, Source{"SAE J1128, from memory", false}
	}
	if number > thinnestSAE {
		return leastSAEShare * unit.AWG(number).AreaMM2(), Source{"ASTM B258 less the 11 % that SAE cable lacks at most: below the table", false}
	}
	thicker, thinner := areas[number-1], areas[number+1]
	return math.Sqrt(thicker.mm2 * thinner.mm2), Source{"SAE minimum conductor area, interpolated between two sizes", false}
}
