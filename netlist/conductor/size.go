package conductor

import (
	"math"
	"slices"
	"sort"
	"sync"

	"ferrule/netlist/unit"
)

// StandardSizes returns the sizes in which vehicle cable is sold, from the thinnest to the thickest: those of SAE J1128 and J1127
// by AWG, or those of ISO 6722-1 in mm2 (both lists from memory). All callers get one slice and leave it as it is: every limit of every wire asks.
func StandardSizes(byAWG bool) []unit.Size {
	sizes := standardSizes()
	if byAWG {
		return slices.Clip(sizes.awg)
	}
	return slices.Clip(sizes.metric)
}

var standardSizes = sync.OnceValue(func() (s struct{ awg, metric []unit.Size }) {
	for _, number := range []int{22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3} {
		s.awg = append(s.awg, unit.AWG(number))
	}
	for _, area := range []float64{0.35, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 10, 16, 25, 35, 50, 70, 95, 120} {
		s.metric = append(s.metric, unit.MM2(area))
	}
	return s
})

// A diameterRow is the outside diameter of insulated cable of a nominal area, both in mm and mm2.
type diameterRow struct{ areaMM2, outsideMM float64 }

// diameterTables are the outside diameters from the thinnest size up. Metric: ISO 6722-1, thin wall up to 25 mm2 and thick wall
// above, from memory. AWG: thin-wall cable as practice has it, 22 to 10 AWG.
var diameterTables = sync.OnceValue(func() (t struct{ metric, awg []diameterRow }) {
	for _, r := range readTable("metric-conductors.csv") {
		od := r.number("od_max_thin_wall_mm")
		if od == 0 {
			od = r.number("od_max_thick_wall_mm")
		}
		if od > 0 {
			t.metric = append(t.metric, diameterRow{r.number("nominal_area_mm2"), od})
		}
	}
	sort.Slice(t.metric, func(i, j int) bool { return t.metric[i].areaMM2 < t.metric[j].areaMM2 })
	for i, od := range []float64{1.6, 1.8, 2.0, 2.3, 2.7, 3.2, 3.9} {
		t.awg = append(t.awg, diameterRow{unit.AWG(22 - 2*i).AreaMM2(), od})
	}
	return t
})

// OutsideDiameter returns the outside diameter of a single insulated wire in mm. It is an estimate for every size, and its Source
// says so: from memory for the listed ones, interpolated by the root of the area between them. Sizes named by AWG that are
// thinner than 22 AWG or thicker than 10 AWG are taken by their area from the metric list.
func OutsideDiameter(size unit.Size) (mm float64, source Source) {
	if !isMade(size) {
		return 0, Source{}
	}
	table, title := diameterTables().metric, "estimate after ISO 6722-1:2011, from memory"
	area, awg := size.AreaMM2(), diameterTables().awg
	if _, byAWG := size.ByAWG(); byAWG && area >= awg[0].areaMM2 && area <= awg[len(awg)-1].areaMM2 {
		table, title = awg, "estimate: thin-wall cable, common practice"
	}
	return diameterAt(table, area), Source{title, false}
}

// diameterAt interpolates in the root of the area. Below the table the wall stays and the first diameter is kept, which is too
// large rather than too small for a bundle; above it the diameter grows with the root of the area.
func diameterAt(table []diameterRow, areaMM2 float64) float64 {
	at := sort.Search(len(table), func(i int) bool { return table[i].areaMM2 >= areaMM2 })
	switch last := table[len(table)-1]; {
	case at == 0:
		return table[0].outsideMM
	case at == len(table):
		return last.outsideMM * math.Sqrt(areaMM2/last.areaMM2)
	}
	below, above := table[at-1], table[at]
	share := (math.Sqrt(areaMM2) - math.Sqrt(below.areaMM2)) / (math.Sqrt(above.areaMM2) - math.Sqrt(below.areaMM2))
	return below.outsideMM + share*(above.outsideMM-below.outsideMM)
}
