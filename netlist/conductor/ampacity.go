package conductor

import (
	"fmt"
	"math"
	"sort"
	"sync"

	"ferrule/netlist/unit"
)

// baseAmbient is the ambient temperature of 33 CFR 183.425 table 5.
const baseAmbient unit.Celsius = 30

// columns are the insulation temperatures of the table, from the lowest.
var columns = [...]struct {
	insulation unit.Celsius
	name       string
}{{60, "a_60c"}, {75, "a_75c"}, {80, "a_80c"}, {90, "a_90c"}, {105, "a_105c"}, {125, "a_125c"}, {200, "a_200c"}}

// column125 is the index of the 125 C column, in which practice states the sizes below the table.
const column125 = 5

// An ampacityRow is one size of the table.
type ampacityRow struct {
	size    unit.Size
	areaMM2 float64
	amperes [len(columns)]float64
	sources [len(columns)]Source
}

// ampacityTable is table 5 from the thinnest size to the thickest, below it the two sizes that practice adds.
var ampacityTable = sync.OnceValue(func() []ampacityRow {
	var rows []ampacityRow
	for _, r := range readTable("ampacity-33cfr183.csv") {
		size := unit.AWG(r.awg())
		next := ampacityRow{size: size, areaMM2: size.AreaMM2()}
		for i, c := range columns {
			next.amperes[i] = r.number(c.name)
			title := fmt.Sprintf("33 CFR 183.425 table 5 (2001 to current): %s, %s, at 30 C", size, c.insulation)
			next.sources[i] = Source{title, r["status"] == "verified"}
		}
		rows = append(rows, next)
	}
	sort.Slice(rows, func(i, j int) bool { return rows[i].areaMM2 < rows[j].areaMM2 })
	return append(belowTable(rows[0]), rows...)
})

// belowTable gives 22 and 20 AWG: 13 A and 17 A with 125 C insulation, extrapolated in practice and from memory, and the other
// insulations in the proportion of the first row of the table.
func belowTable(first ampacityRow) []ampacityRow {
	rows := []ampacityRow{{size: unit.AWG(22)}, {size: unit.AWG(20)}}
	for i, at125 := range []float64{13, 17} {
		rows[i].areaMM2 = rows[i].size.AreaMM2()
		for c, amperes := range first.amperes {
			rows[i].amperes[c] = at125 * amperes / first.amperes[column125]
			rows[i].sources[c] = Source{fmt.Sprintf("common practice below 33 CFR 183.425 table 5, extrapolated, from memory: %s", rows[i].size), false}
		}
	}
	return rows
}

// Ampacity returns the current that a copper conductor may carry continuously at 30 C ambient, by 33 CFR 183.425 table 5. The
// insulation takes the column of the next lower listed temperature (85 C takes 80 C), the size the row of its AWG name or of
// the next smaller area of ASTM B258 (2.5 mm2 takes 14 AWG). 20 and 22 AWG are extrapolated by practice; thinner sizes take 22
// AWG's current in proportion to the area, which falls faster than the heating does. It is for copper; other
// metals take MetalFactor of it.
//
// Insulation below 60 C has no column, and 0 A is returned with a Source that says so.
func Ampacity(size unit.Size, insulation unit.Celsius) (unit.Ampere, Source) {
	if !isMade(size) {
		return 0, Source{}
	}
	column := len(columns) - 1
	for column >= 0 && !(insulation >= columns[column].insulation) {
		column--
	}
	if column < 0 {
		return 0, Source{"33 CFR 183.425 table 5 has no insulation below 60 C", false}
	}
	table, area := ampacityTable(), size.AreaMM2()
	at := len(table) - 1
	for at > 0 && table[at].areaMM2 > area {
		at--
	}
	r := table[at]
	amperes := unit.Ampere(r.amperes[column])
	if r.areaMM2 > area {
		return amperes * unit.Ampere(area/r.areaMM2), Source{"extrapolated from 22 AWG in proportion to the area", false}
	}
	return amperes, r.sources[column]
}

// lightShare is what aluminium and copper-clad aluminium may carry of what copper of the same size may. NEC table 310.16 (from
// memory) has both in one column: 90 A of 115 A at 2 AWG and 75 C, 0.76 to 0.86 over all its sizes. The heat of the same current
// goes with the resistance, so the physics is the root of copper's resistivity over theirs: 0.775 and 0.793.
const lightShare = 0.78

// MetalFactor returns the share of a copper conductor's ampacity that a conductor of the same size and another metal may carry.
func MetalFactor(metal Metal) (float64, Source) {
	if metal == Copper {
		return 1, Source{"copper", true}
	}
	return lightShare, Source{metal.String() + ": 0.78 of copper, ratio of NEC table 310.16 from memory", false}
}

// AmpacityOf returns Ampacity for a conductor of a metal: copper's, times MetalFactor.
func AmpacityOf(size unit.Size, insulation unit.Celsius, metal Metal) (unit.Ampere, Source) {
	amperes, source := Ampacity(size, insulation)
	factor, light := MetalFactor(metal)
	if metal == Copper || !source.IsSet() {
		return amperes, source
	}
	return amperes * unit.Ampere(factor), Source{source.Title + "; " + light.Title, false}
}

// Derate takes an ampacity at 30 C to another ambient: base sqrt((Tmax - Ta)/(Tmax - 30)), the law that the note 1 factors of 33
// CFR 183.425 follow. It is 0 at and above the insulation's temperature, and for insulation that is not above 30 C. Below 30 C
// ambient it gives more than base, as the law does; a caller who wants no credit for the cold passes 30 C at least.
func Derate(base unit.Ampere, insulation, ambient unit.Celsius) unit.Ampere {
	ambient = held(ambient)
	if !(insulation > baseAmbient) || !(ambient < insulation) {
		return 0
	}
	insulation = min(insulation, melting)
	return base * unit.Ampere(math.Sqrt(float64((insulation-ambient)/(insulation-baseAmbient))))
}

// bundles are the factors by the least number of loaded conductors, most first.
var bundles = [...]struct {
	least  int
	factor float64
	source Source
}{
	{25, 0.4, sourceNote2}, {7, 0.5, sourceNote2}, {4, 0.6, sourceNote2}, {3, 0.7, sourceNote2},
	{2, 0.7, Source{"common practice: two loaded conductors are taken like three", false}},
}

var sourceNote2 = Source{"33 CFR 183.425 table 5 note 2 (asked for from 50 V; the heating is the same below)", true}

// BundleFactor returns the factor on the ampacity of a conductor that lies in a bundle with others. loaded counts the
// conductors of the bundle that carry more than a quarter of their own ampacity at the same time, this one among them.
func BundleFactor(loaded int) (float64, Source) {
	for _, b := range bundles {
		if loaded >= b.least {
			return b.factor, b.source
		}
	}
	return 1, Source{"a single loaded conductor", true}
}

// Temperature returns how warm a conductor is under a steady current: Ta + (Tmax - Ta) (I/Imax)^2, where Imax is the ampacity at
// this ambient, that is the current that brings it to the temperature of its insulation. The heat is the square of the current.
//
// AC 43.13-1B writes sqrt(I/Imax) instead of the square. That gives a warmer wire at part load (182 C for 139 C in its example 2)
// and errs to the safe side; it is not used here because it would also say that an overloaded wire is cooler than it is: above
// Imax the square is the larger. Both agree at Imax.
//
// Without an ampacity (ambient at or above the insulation) a current leads to the warmer of ambient and insulation, the least
// that it can be. Nothing above 1083 C is returned.
func Temperature(ambient, insulation unit.Celsius, current, ampacityAtAmbient unit.Ampere) unit.Celsius {
	ambient, insulation = held(ambient), held(insulation)
	switch {
	case current == 0:
		return ambient
	case !(ampacityAtAmbient > 0):
		return max(ambient, insulation)
	}
	load := float64(current / ampacityAtAmbient)
	return held(ambient + max(insulation-ambient, 0)*unit.Celsius(load*load))
}
