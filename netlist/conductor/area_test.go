package conductor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/unit"
)

// TestAreaASTMB258 holds every area from 4/0 to 30 AWG against the formula's table, testdata/reference/awg.csv, and the resistance
// of solid annealed copper (IACS, 1/58) in ohm per metre and per 1000 ft against the same rows. The table has five digits.
func TestAreaASTMB258(t *testing.T) {
	rows := reference(t, "awg.csv")
	require.Len(t, rows, 34)
	resistivity, _ := Copper.Resistivity()
	for _, r := range rows {
		size := parsedSize(t, r["awg"]+" AWG")
		area, source := AreaMM2(size, "AWG")
		assert.InEpsilon(t, r.number("area_mm2"), area, 5e-5, size)
		assert.True(t, source.Verified)
		assert.InEpsilon(t, r.number("r20_solid_annealed_cu_mohm_per_m"), 1000*resistivity/area, 5e-5, size)
		assert.InEpsilon(t, r.number("r20_solid_annealed_cu_ohm_per_1000ft"), 304.8*resistivity/area, 5e-5, size)
		if printed := r["printed_diameter_in_check"]; printed != "" {
			// Printed diameters in inches, university lecture notes; half a digit of the print.
			assert.InDelta(t, float(t, printed), 2*math.Sqrt(area/math.Pi)/25.4, 5.1e-5, size)
		}
	}
}

// TestAreaSAE holds the areas of vehicle cable against testdata/reference/sae-conductor-area.csv (reprint); the circular mils are
// what was read, so the areas are worked out from them here.
func TestAreaSAE(t *testing.T) {
	const mm2PerCircularMil = math.Pi / 4 * 0.0254 * 0.0254
	resistivity, _ := Copper.Resistivity()
	for _, r := range reference(t, "sae-conductor-area.csv") {
		size := parsedSize(t, r["awg"]+" AWG")
		area, source := AreaMM2(size, "SAE")
		assert.InEpsilon(t, r.number("sae_min_area_cmil")*mm2PerCircularMil, area, 5e-4, size)
		assert.InEpsilon(t, r.number("ratio_to_exact_awg"), area/size.AreaMM2(), 1e-3, size)
		// Both the area and the resistance are rounded to four digits in the table.
		assert.InEpsilon(t, r.number("r20_of_that_area_mohm_per_m"), 1000*resistivity/area, 1e-3, size)
		assert.True(t, source.Verified, size)
		assert.GreaterOrEqual(t, area/size.AreaMM2(), leastSAEShare, size)
	}
	for text, want := range map[string]float64{"20 AWG": 0.508, "22 AWG": 0.324} { // SAE J1128, from memory
		area, source := AreaMM2(parsedSize(t, text), "SAE")
		assert.InDelta(t, want, area, 1e-12)
		assert.False(t, source.Verified, text)
	}
}

// TestAreaGrowsWithTheSize goes through every AWG number under every word: the thicker size has more metal, SAE never more
// than ASTM B258, and what is interpolated says so.
func TestAreaGrowsWithTheSize(t *testing.T) {
	for _, cable := range []string{"SAE", "AWG", "metric", ""} {
		previous := 0.0
		for number := thinnestAWG; number >= thickestAWG; number-- {
			area, source := AreaMM2(unit.AWG(number), cable)
			assert.Greater(t, area, previous, "%d AWG, %q", number, cable)
			assert.LessOrEqual(t, area, unit.AWG(number).AreaMM2(), "%d AWG, %q", number, cable)
			assert.True(t, source.IsSet())
			previous = area
		}
	}
	for _, number := range []int{3, 5, 9, 17, 21, 24, 30} {
		_, source := AreaMM2(unit.AWG(number), "SAE")
		assert.False(t, source.Verified, "%d AWG", number)
	}
	// A metric harness that names a size by AWG gets the smaller copper.
	metric, _ := AreaMM2(unit.AWG(14), "metric")
	sae, _ := AreaMM2(unit.AWG(14), "SAE")
	assert.InDelta(t, sae, metric, 0)
}

func TestAreaMetric(t *testing.T) {
	for _, cable := range []string{"SAE", "AWG", "metric"} {
		area, source := AreaMM2(unit.MM2(2.5), cable)
		assert.InDelta(t, 2.5, area, 0)
		assert.True(t, source.Verified)
	}
}

// noSizes are sizes that are not set or not made; each function gives 0 and no source for them.
var noSizes = []unit.Size{{}, unit.AWG(31), unit.AWG(-4), unit.AWG(math.MaxInt), unit.AWG(math.MinInt), unit.MM2(-2.5),
	unit.MM2(0.01), unit.MM2(301), unit.MM2(math.NaN()), unit.MM2(math.Inf(1)), unit.MM2(math.Inf(-1))}

func TestNoSize(t *testing.T) {
	for _, size := range noSizes {
		area, source := AreaMM2(size, "SAE")
		assert.Zero(t, area)
		assert.False(t, source.IsSet())
		ohm, source := Resistance20(size, "SAE", Copper)
		assert.Zero(t, ohm)
		assert.False(t, source.IsSet())
		amperes, source := Ampacity(size, 105)
		assert.Zero(t, amperes)
		assert.False(t, source.IsSet())
		mm, source := OutsideDiameter(size)
		assert.Zero(t, mm)
		assert.False(t, source.IsSet())
	}
}

// TestStandardSizes: every size is made and the next is thicker; every size of SAE and IEC 60228 in the reference is in the lists.
func TestStandardSizes(t *testing.T) {
	for _, byAWG := range []bool{true, false} {
		previous := 0.0
		for _, size := range StandardSizes(byAWG) {
			area, source := AreaMM2(size, "SAE")
			require.True(t, source.IsSet(), size)
			_, named := size.ByAWG()
			assert.Equal(t, byAWG, named, size)
			assert.Greater(t, area, previous, size)
			previous = area
		}
	}
	for _, r := range reference(t, "sae-conductor-area.csv") {
		assert.Contains(t, StandardSizes(true), parsedSize(t, r["awg"]+" AWG"))
	}
	for _, r := range reference(t, "metric-conductors.csv") {
		if size := unit.MM2(r.number("nominal_area_mm2")); r["standard"] == "IEC 60228 class 5" {
			assert.Contains(t, StandardSizes(false), size)
		}
	}
}

// TestOutsideDiameter: rows of testdata/reference/metric-conductors.csv (ISO 6722-1, from memory), the practice list by AWG
// (from memory), and that a thicker size is never thinner outside and always thicker than its metal.
func TestOutsideDiameter(t *testing.T) {
	for text, want := range map[string]float64{"0.35 mm2": 1.4, "1 mm2": 2.1, "25 mm2": 8.7, "35 mm2": 11.6, "120 mm2": 19.7,
		"300 mm2": 19.7 * math.Sqrt(300.0/120), // beyond the list, by the root of the area
		"22 AWG":  1.6, "18 AWG": 2.0, "10 AWG": 3.9} {
		mm, source := OutsideDiameter(parsedSize(t, text))
		assert.InDelta(t, want, mm, 1e-12, text)
		assert.False(t, source.Verified, text)
		assert.Contains(t, source.Title, "estimate", text)
	}
	previous := 0.0
	for number := thinnestAWG; number >= thickestAWG; number-- {
		previous = assertThicker(t, unit.AWG(number), previous)
	}
	previous = 0
	for area := thinnestMM2; area <= thickestMM2; area *= 1.03 {
		previous = assertThicker(t, unit.MM2(area), previous)
	}
}

func assertThicker(t *testing.T, size unit.Size, previous float64) float64 {
	t.Helper()
	mm, _ := OutsideDiameter(size)
	assert.GreaterOrEqual(t, mm, previous, size)
	assert.Greater(t, mm, 2*math.Sqrt(size.AreaMM2()/math.Pi), size)
	return mm
}
