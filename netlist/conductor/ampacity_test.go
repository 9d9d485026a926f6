package conductor

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/unit"
)

// table5 is the size and the column of each cell of 33 CFR 183.425 table 5.
func table5(t *testing.T, check func(size unit.Size, insulation unit.Celsius, want unit.Ampere)) {
	t.Helper()
	rows := reference(t, "ampacity-33cfr183.csv")
	require.Len(t, rows, 15)
	for _, r := range rows {
		for column, insulation := range map[string]unit.Celsius{"a_60c": 60, "a_75c": 75, "a_80c": 80, "a_90c": 90, "a_105c": 105, "a_125c": 125, "a_200c": 200} {
			check(parsedSize(t, r["awg"]+" AWG"), insulation, unit.Ampere(float(t, r[column])))
		}
	}
}

// TestAmpacityTable5 holds every cell of 33 CFR 183.425 table 5 (read in the regulation), and that an insulation up to the next
// column takes it too.
func TestAmpacityTable5(t *testing.T) {
	cells := 0
	table5(t, func(size unit.Size, insulation unit.Celsius, want unit.Ampere) {
		for _, i := range []unit.Celsius{insulation, insulation + 4} { // no two columns are closer than 5 C
			got, source := Ampacity(size, i)
			assert.InDelta(t, float64(want), float64(got), 0, "%s at %s", size, i)
			assert.True(t, source.Verified, size)
			assert.Contains(t, source.Title, size.String())
		}
		cells++
	})
	require.Equal(t, 15*7, cells)
}

// TestAmpacityRows: which row and column a size takes. 33 CFR 183.425 table 5 again; 20 and 22 AWG are common practice from memory
// at 125 C, in the proportion of 18 AWG (20/25 at 105 C, 15/25 at 80 C) otherwise.
func TestAmpacityRows(t *testing.T) {
	for _, c := range []struct {
		size       string
		insulation unit.Celsius
		want       float64
		verified   bool
	}{
		{"2.5 mm2", 105, 35, true}, // 14 AWG has 2.08 mm2, 12 AWG 3.31
		{"4 mm2", 105, 45, true},   // 12 AWG
		{"1 mm2", 85, 15, true},    // 18 AWG, 80 C column
		{"25 mm2", 150, 170, true}, // 4 AWG, 125 C column
		{"300 mm2", 105, 445, true},
		{"17 AWG", 105, 20, true}, {"5 AWG", 105, 120, true}, // the next thinner row
		{"20 AWG", 125, 17, false}, {"22 AWG", 125, 13, false},
		{"20 AWG", 105, 13.6, false}, {"20 AWG", 85, 10.2, false}, {"22 AWG", 105, 10.4, false},
		{"0.75 mm2", 125, 17, false}, {"0.5 mm2", 125, 13, false},
		{"24 AWG", 125, 8.176, false}, // 13 A x 0.20473/0.32553 (ASTM B258)
		{"14 AWG", 59.9, 0, false},
	} {
		got, source := Ampacity(parsedSize(t, c.size), c.insulation)
		assert.InDelta(t, c.want, float64(got), 1e-3, "%s at %s", c.size, c.insulation)
		assert.Equal(t, c.verified, source.Verified, "%s at %s", c.size, c.insulation)
		assert.True(t, source.IsSet())
	}
}

// TestAmpacityGrows with the area and with the insulation.
func TestAmpacityGrows(t *testing.T) {
	for insulation := unit.Celsius(60); insulation <= 250; insulation += 5 {
		previous := unit.Ampere(0)
		for area := thinnestMM2; area <= thickestMM2; area *= 1.02 {
			got, _ := Ampacity(unit.MM2(area), insulation)
			assert.GreaterOrEqual(t, got, previous, "%g mm2 at %s", area, insulation)
			cooler, _ := Ampacity(unit.MM2(area), insulation-5)
			assert.GreaterOrEqual(t, got, cooler, "%g mm2 at %s", area, insulation)
			previous = got
		}
	}
}

// TestAmpacityAgainstOthers: second opinions that this package must not exceed, and must not fall below.
func TestAmpacityAgainstOthers(t *testing.T) {
	// DIN VDE 0298-4, PVC of 70 C in air at 30 C (from memory): the 60 C column of the regulation stays below it.
	for _, r := range reference(t, "metric-ampacity.csv") {
		got, _ := Ampacity(unit.MM2(r.number("nominal_area_mm2")), 70)
		assert.Less(t, float64(got), r.number("continuous_a_at_30c"), r["nominal_area_mm2"])
		// Its two columns follow the law of Derate.
		assert.InEpsilon(t, r.number("ratio"), float64(Derate(1, 70, 50)), 0.007, r["nominal_area_mm2"])
	}
	// AC 43.13-1B table 11-3: no protective device that it allows is above the wire's ampacity with the 105 C insulation of
	// aircraft practice.
	for _, r := range reference(t, "wire-protector-ac4313.csv") {
		got, _ := Ampacity(parsedSize(t, r["wire_awg_copper"]+" AWG"), 105)
		assert.GreaterOrEqual(t, float64(got), max(r.number("circuit_breaker_max_a"), r.number("fuse_max_a")), r["wire_awg_copper"])
	}
}

// TestAmpacityAC4313Table119 compares with AC 43.13-1B table 11-9: 70 C ambient, bundles of 33 and more wires (9 for 8 AWG and
// thicker), which BundleFactor takes as 0.4 and 0.5. That table also assumes 60 000 ft and that only a fifth of the bundle's capacity is
// loaded, so it is no equal: this package must lie within -45 % and +10 % of the 105 C column, and not above the 150 and 200 C ones,
// where the regulation's columns (125, 200 C) are flatter, by more than that.
func TestAmpacityAC4313Table119(t *testing.T) {
	for _, r := range reference(t, "ac4313-table-11-9.csv") {
		size := parsedSize(t, r["awg"]+" AWG")
		factor := 0.4
		if number, _ := size.ByAWG(); number <= 8 {
			factor = 0.5
		}
		for column, insulation := range map[string]unit.Celsius{"a_105c_wire": 105, "a_150c_wire": 150, "a_200c_wire": 200} {
			base, _ := Ampacity(size, insulation)
			ratio := factor * float64(Derate(base, insulation, 70)) / r.number(column)
			assert.Less(t, ratio, 1.10, "%s, %s", size, insulation)
			if insulation == 105 {
				assert.Greater(t, ratio, 0.55, "%s, %s", size, insulation)
			}
		}
	}
}

// TestDerateNote1 holds the square-root law against note 1 of 33 CFR 183.425 table 5 (50 C in the engine space; 105 C read in
// reprints, the rest from memory), to the rounding of the factors. At 200 C the note as remembered gives no reduction at all: the
// law is below it, on the safe side, and is kept.
func TestDerateNote1(t *testing.T) {
	checked := 0
	for _, r := range reference(t, "ampacity-33cfr183-factors.csv") {
		if !strings.HasPrefix(r["note"], "note 1") {
			continue
		}
		insulation := unit.Celsius(float(t, strings.TrimSuffix(strings.TrimPrefix(r["applies_to"], "insulation "), " C")))
		got := float64(Derate(1, insulation, 50))
		assert.InDelta(t, r.number("sqrt_rule_check"), got, 5.1e-4, insulation)
		if insulation == 200 {
			assert.Less(t, got, r.number("factor"))
		} else {
			assert.InDelta(t, r.number("factor"), got, 0.0065, insulation)
		}
		checked++
	}
	require.Equal(t, 7, checked)
	// The engine-space column that reprints print for 105 C: whole amperes, from the factor 0.85 and not 0.856.
	for _, r := range reference(t, "ampacity-33cfr183.csv") {
		base, _ := Ampacity(parsedSize(t, r["awg"]+" AWG"), 105)
		assert.InDelta(t, r.number("a_105c_in_engine_space"), float64(Derate(base, 105, 50)), 0.5+0.0065*float64(base), r["awg"])
	}
}

func TestDerate(t *testing.T) {
	for _, c := range []struct{ insulation, ambient, want float64 }{
		{125, 30, 1}, {125, 85, math.Sqrt(40.0 / 95)}, {105, 105, 0}, {105, 104.9999, math.Sqrt(1e-4 / 75)}, {105, 150, 0},
		{105, 20, math.Sqrt(85.0 / 75)}, {30, 0, 0}, {20, 0, 0}, {math.NaN(), 30, 0}, {105, math.NaN(), 0},
	} {
		assert.InDelta(t, c.want, float64(Derate(1, unit.Celsius(c.insulation), unit.Celsius(c.ambient))), 1e-9, "%v", c)
	}
}

// TestBundleFactor holds note 2 of 33 CFR 183.425 table 5 (reprints); two conductors take the factor of three by practice.
func TestBundleFactor(t *testing.T) {
	for _, r := range reference(t, "ampacity-33cfr183-factors.csv") {
		for _, loaded := range map[string][]int{"3 current-carrying conductors": {3}, "4 to 6": {4, 5, 6}, "7 to 24": {7, 24}, "25 and more": {25, 1000}}[r["applies_to"]] {
			factor, source := BundleFactor(loaded)
			assert.InDelta(t, r.number("factor"), factor, 0, loaded)
			assert.True(t, source.Verified)
		}
	}
	for loaded, want := range map[int]float64{2: 0.7, 1: 1, 0: 1, -1: 1} {
		factor, source := BundleFactor(loaded)
		assert.InDelta(t, want, factor, 0, loaded)
		assert.Equal(t, loaded != 2, source.Verified)
	}
}

// TestTemperature: the square law in whole shares, the limits, and AC 43.13-1B's conservative form above it at every part load and
// below it at every overload, equal where both are at the insulation's temperature. Example 2 of the circular: 182 C there, 139 C by
// the square.
func TestTemperature(t *testing.T) {
	for _, c := range []struct{ ambient, insulation, current, most, want float64 }{
		{30, 105, 0, 20, 30}, {30, 105, 10, 20, 48.75}, {30, 105, 20, 20, 105}, {30, 105, -20, 20, 105}, {30, 105, 40, 20, 330},
		{50, 200, 20, 26, 138.76}, {130, 125, 1, 0, 130}, {30, 125, 1, 0, 125}, {130, 125, 0, 0, 130}, {130, 125, 5, 10, 130},
		{30, 105, 1e9, 1, 1083}, {30, 105, math.NaN(), 1, 1083}, {30, 105, math.Inf(1), 1, 1083},
	} {
		got := Temperature(unit.Celsius(c.ambient), unit.Celsius(c.insulation), unit.Ampere(c.current), unit.Ampere(c.most))
		assert.InDelta(t, c.want, float64(got), 5e-3, "%v", c)
	}
	for load := 0.05; load < 2; load += 0.05 {
		square, circular := float64(Temperature(50, 200, unit.Ampere(load), 1)), warmWire(50, 200, load, 1)
		switch {
		case math.Abs(load-1) < 1e-9:
			assert.InDelta(t, circular, square, 1e-6)
		case load < 1:
			assert.Less(t, square, circular, load)
		default:
			assert.Greater(t, square, circular, load)
		}
	}
	// At the derated ampacity of any ambient a wire has the temperature of its insulation.
	for ambient := unit.Celsius(30); ambient < 105; ambient += 5 {
		most := Derate(20, 105, ambient)
		assert.InDelta(t, 105, float64(Temperature(ambient, 105, most, most)), 1e-9)
		// And the same current warms it by the same kelvins at any ambient.
		rise := Temperature(ambient, 105, 5, most) - ambient
		assert.InDelta(t, 75*math.Pow(5.0/20, 2), float64(rise), 1e-9)
	}
}
