package conductor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/unit"
)

// TestAdiabaticKTabulated holds k against the values that IEC 60364-4-43 table 43A tabulates after IEC 60949 (115 and 143 read). It
// prints whole numbers, and 94 for 94.5.
func TestAdiabaticKTabulated(t *testing.T) {
	for _, c := range []struct {
		metal      Metal
		start, end float64
		printed    float64
	}{
		{Copper, 70, 160, 115}, {Copper, 90, 250, 143}, {Copper, 60, 200, 141}, {Copper, 70, 140, 103},
		{Aluminium, 70, 160, 76}, {Aluminium, 90, 250, 94},
	} {
		assert.InDelta(t, c.printed, AdiabaticK(c.metal, c.start, c.end), 0.51, "%v", c)
	}
}

// TestAdiabaticKReference holds every row of testdata/reference/adiabatic-k.csv; one decimal is printed. The practice values 88
// (PVC, 105 to 160 C) and 123 (cross-linked, 125 to 250 C) are among them.
func TestAdiabaticKReference(t *testing.T) {
	rows := reference(t, "adiabatic-k.csv")
	require.Len(t, rows, 35)
	for _, r := range rows {
		metal := Copper
		if r["conductor"] == "aluminium" {
			metal = Aluminium
		}
		got := AdiabaticK(metal, r.number("start_c"), r.number("end_c"))
		assert.InDelta(t, r.number("k_a_sqrt_s_per_mm2"), got, 0.051, "%v", r)
	}
	assert.InDelta(t, 88, AdiabaticK(Copper, 105, 160), 0.5)
	assert.InDelta(t, 123, AdiabaticK(Copper, 125, 250), 0.6)
}

// TestAdiabaticKMetals: k is below copper's for the others, and 0 where nothing can be heated.
func TestAdiabaticKMetals(t *testing.T) {
	assert.Less(t, AdiabaticK(Aluminium, 20, 160), AdiabaticK(Copper, 20, 160))
	// Copper-clad wire has between the heat capacities (2.50 and 3.45 mJ/(K mm3), IEC 60949 from memory) 2.595 at a tenth of copper;
	// sqrt(2.595e-3 x 250/27.41e-6) = 153.8 stands before its root, so aluminium's 148 is below the truth.
	assert.InDelta(t, AdiabaticK(Aluminium, 20, 160), AdiabaticK(CopperClad, 20, 160), 0)
	assert.Less(t, metals[CopperClad].adiabatic, math.Sqrt(2.595e-3*250/27.41e-6))
	for _, c := range [][2]float64{{160, 160}, {200, 160}, {math.NaN(), 160}, {20, math.NaN()}, {math.Inf(1), 160}, {20, math.Inf(-1)}} {
		assert.Zero(t, AdiabaticK(Copper, c[0], c[1]), "%v", c)
	}
}

// TestWithstand: 20 AWG cross-linked, 125 to 250 C, survives some 3900 A2s (practice, k = 123 and 0.508 mm2).
func TestWithstand(t *testing.T) {
	area, _ := AreaMM2(unit.AWG(20), "SAE")
	assert.InEpsilon(t, 3900, Withstand(area, AdiabaticK(Copper, 125, 250)), 0.02)
	// S = I sqrt(t)/k solved for S: 1 s at 1000 A with k = 115 asks for 8.70 mm2.
	assert.InEpsilon(t, 1000*1000.0, Withstand(1000.0/115, 115), 1e-12)
}

func TestShortCircuitLimit(t *testing.T) {
	for insulation, want := range map[unit.Celsius]unit.Celsius{60: 160, 85: 160, 105: 160, 120: 160, 125: 250, 150: 250, 250: 250} {
		got, source := ShortCircuitLimit(insulation)
		assert.Equal(t, want, got, insulation)
		assert.True(t, source.IsSet())
		assert.False(t, source.Verified)
	}
	got, _ := ShortCircuitLimit(unit.Celsius(math.NaN()))
	assert.Equal(t, unit.Celsius(160), got)
}

// TestFusingCurrents holds Preece (1888) and Onderdonk at 25 C against every row of testdata/reference/fusing-currents.csv, four
// digits, and Preece's constant in the millimetre form that is printed apart, 80.0 and 59.2 A/mm^1.5.
func TestFusingCurrents(t *testing.T) {
	rows := reference(t, "fusing-currents.csv")
	require.Len(t, rows, 21)
	for _, r := range rows {
		area, _ := AreaMM2(parsedSize(t, r["awg"]+" AWG"), "AWG")
		assert.InEpsilon(t, r.number("preece_copper_a"), float64(PreeceCurrent(Copper, area)), 6e-4, r["awg"])
		for column, seconds := range map[string]unit.Second{"onderdonk_0.1s_a": 0.1, "onderdonk_1s_a": 1, "onderdonk_5s_a": 5, "onderdonk_10s_a": 10} {
			assert.InEpsilon(t, r.number(column), float64(OnderdonkCurrent(area, seconds, 25)), 6e-4, "%s %s", r["awg"], column)
		}
	}
	oneMM := math.Pi / 4
	assert.InDelta(t, 80.0, float64(PreeceCurrent(Copper, oneMM)), 0.05)
	assert.InDelta(t, 59.2, float64(PreeceCurrent(Aluminium, oneMM)), 0.1)
	// The page that prints Onderdonk's equation works 16 AWG, 2581 circular mils, 25 C, 5 s to 178 A, with about 210 in place
	// of 234 + 25; the equation itself gives 168.9 A (reference README, disagreement 10).
	assert.InDelta(t, 168.9, float64(OnderdonkCurrent(2581*5.06707e-4, 5, 25)), 0.05)
	for _, none := range []float64{0, -1, math.NaN()} {
		assert.Zero(t, PreeceCurrent(Copper, none))
		assert.Zero(t, OnderdonkCurrent(none, 1, 25))
		assert.Zero(t, OnderdonkCurrent(1, unit.Second(none), 25))
	}
}

// TestLimitsAreInOrder: for every standard size, what it carries is below what melts it in free air, and what its insulation survives
// is below what melts the metal in the same second (Onderdonk).
func TestLimitsAreInOrder(t *testing.T) {
	for _, byAWG := range []bool{true, false} {
		for _, size := range StandardSizes(byAWG) {
			area, _ := AreaMM2(size, "SAE")
			carried, _ := Ampacity(size, 200)
			assert.Less(t, carried, PreeceCurrent(Copper, area), size)
			survived := math.Sqrt(Withstand(area, AdiabaticK(Copper, 25, 250)))
			assert.Less(t, survived, float64(OnderdonkCurrent(area, 1, 25)), size)
		}
	}
}
