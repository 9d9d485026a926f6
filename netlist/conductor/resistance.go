package conductor

import (
	"slices"
	"sync"

	"ferrule/netlist/unit"
)

// strandedOhmMM2PerMetre is the resistance of stranded copper vehicle cable times its area at 20 C: lay, tinning and drawing
// add some 7 % to the 0.017241 of solid annealed copper. Common practice.
const strandedOhmMM2PerMetre = 0.0185

// A metricRow is the maximum resistance of a nominal area.
type metricRow struct {
	areaMM2, ohmPerMetre float64
	verified             bool
}

// metricTable holds the rows of IEC 60228 class 5, and apart from them those of ISO 6722-1, both from the thinnest up.
var metricTable = sync.OnceValue(func() (t struct{ iec, iso []metricRow }) {
	for _, r := range readTable("metric-conductors.csv") {
		m := metricRow{r.number("nominal_area_mm2"), r.number("r20_max_plain_mohm_per_m") / 1000, r["status_resistance"] == "verified"}
		if r["standard"] == "IEC 60228 class 5" {
			t.iec = append(t.iec, m)
		} else {
			t.iso = append(t.iso, m)
		}
	}
	return t
})

// Resistance20 returns the resistance of a stranded conductor at 20 C in ohm per metre.
//
// Sizes named by AWG: 18.5 mohm mm2/m, common practice for stranded vehicle cable, over the area of AreaMM2. Metric sizes: the
// maximum of IEC 60228 class 5, plain copper. A metric size that it does not list lies between two that it lists and is
// interpolated there, the conductance linear in the area; below 0.5 mm2 the ISO 6722-1 value is taken where there is one (0.22
// and 0.35 mm2, from memory), and beyond either end of the table the end row's product of resistance and area.
//
// Other metals: the copper value times the ratio of the resistivities; that is not verified, since class 5 is copper only.
func Resistance20(size unit.Size, cable string, metal Metal) (ohmPerMetre float64, source Source) {
	area, areaSource := AreaMM2(size, cable)
	if !areaSource.IsSet() {
		return 0, Source{}
	}
	if _, byAWG := size.ByAWG(); byAWG {
		ohmPerMetre, source = strandedOhmMM2PerMetre/area, Source{sourceStranded.Title + "; area: " + areaSource.Title, false}
	} else {
		ohmPerMetre, source = metricResistance(area)
	}
	if metal == Copper {
		return ohmPerMetre, source
	}
	ratio := metal.data().resistivity / Copper.data().resistivity
	return ohmPerMetre * ratio, Source{source.Title + "; times the resistivity of " + metal.String() + " over copper's", false}
}

// metricResistance returns the resistance of a nominal area in ohm per metre.
func metricResistance(areaMM2 float64) (float64, Source) {
	iec := metricTable().iec
	at, listed := find(iec, areaMM2)
	if listed {
		return iec[at].ohmPerMetre, Source{"IEC 60228:2004 class 5, plain copper, maximum at 20 C", iec[at].verified}
	}
	if at == 0 {
		if i, known := find(metricTable().iso, areaMM2); known {
			return metricTable().iso[i].ohmPerMetre, Source{"ISO 6722-1:2011, maximum at 20 C, from memory", false}
		}
	}
	if at == 0 || at == len(iec) {
		end := iec[min(at, len(iec)-1)]
		return end.ohmPerMetre * end.areaMM2 / areaMM2, Source{"IEC 60228:2004 class 5: resistance times area of the last size of the table", false}
	}
	below, above := iec[at-1], iec[at]
	share := (areaMM2 - below.areaMM2) / (above.areaMM2 - below.areaMM2)
	siemens := (1-share)/below.ohmPerMetre + share/above.ohmPerMetre
	return 1 / siemens, Source{"IEC 60228:2004 class 5, interpolated by area between two sizes", false}
}

// find looks an area up in rows from the thinnest up: the index of its row, or of the next thicker one.
func find(rows []metricRow, areaMM2 float64) (int, bool) {
	return slices.BinarySearchFunc(rows, areaMM2, func(r metricRow, area float64) int {
		switch {
		case r.areaMM2 < area:
			return -1
		case r.areaMM2 > area:
			return 1
		}
		return 0
	})
}
