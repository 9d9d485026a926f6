package conductor

import (
	"math"
	"testing"

	"ferrule/netlist/unit"
)

// FuzzFinite asks everything of any size, temperature and current: nothing panics, nothing is infinite, NaN or negative, and
// what has no source has no number.
func FuzzFinite(f *testing.F) {
	f.Add(20, 0.0, true, 105.0, 85.0, 10.0, uint8(0))
	f.Add(0, 2.5, false, 125.0, -40.0, 0.0, uint8(1))
	f.Add(31, -1.0, false, math.NaN(), math.Inf(1), math.Inf(-1), uint8(200))
	f.Add(math.MinInt, math.NaN(), true, 30.000000000000004, -273.15, 1e308, uint8(2))
	f.Add(24, 0.05, false, math.Inf(1), math.NaN(), math.NaN(), uint8(2))
	f.Add(1, 300.0, false, -1e308, -1e308, 1e-308, uint8(0))
	f.Fuzz(func(t *testing.T, awg int, mm2 float64, byAWG bool, insulation, ambient, current float64, metal uint8) {
		size := unit.MM2(mm2)
		if byAWG {
			size = unit.AWG(awg)
		}
		number := func(what string, value float64) {
			if math.IsNaN(value) || math.IsInf(value, 0) || value < 0 {
				t.Errorf("%s of AWG %d, %g mm2, insulation %g, ambient %g, current %g: %g", what, awg, mm2, insulation, ambient, current, value)
			}
		}
		sourced := func(what string, value float64, source Source) {
			number(what, value)
			if !source.IsSet() && value != 0 {
				t.Errorf("%s without a source: %g", what, value)
			}
		}
		tmax, ta, m := unit.Celsius(insulation), unit.Celsius(ambient), Metal(metal)
		area, source := AreaMM2(size, "SAE")
		sourced("area", area, source)
		ohm, source := Resistance20(size, "SAE", m)
		sourced("resistance", ohm, source)
		number("hot resistance", ResistanceAt(ohm, ta, m))
		base, source := Ampacity(size, tmax)
		sourced("ampacity", float64(base), source)
		derated := Derate(base, tmax, ta)
		number("derated ampacity", float64(derated))
		warm := Temperature(ta, tmax, unit.Ampere(current), derated)
		number("temperature above the coldest", float64(warm-coldest))
		end, _ := ShortCircuitLimit(tmax)
		k := AdiabaticK(m, float64(warm), float64(end))
		number("k", k)
		number("withstand", Withstand(area, k))
		number("Preece", float64(PreeceCurrent(m, area)))
		number("Onderdonk", float64(OnderdonkCurrent(area, 1, ta)))
		mm, source := OutsideDiameter(size)
		sourced("outside diameter", mm, source)
		_ = m.String()
	})
}
