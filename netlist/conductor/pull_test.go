package conductor_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ferrule/netlist/conductor"
	"ferrule/netlist/unit"
)

// TestCrimpPull holds the forces against the printed rows of UL 486A-486B (a reprint, testdata/reference/crimp-pull-force.csv); a
// metric size lies between the rows of its neighbours.
func TestCrimpPull(t *testing.T) {
	for number, want := range map[int]float64{26: 13.4, 22: 35.6, 20: 57.9, 18: 89, 16: 133.5, 14: 222.5, 12: 311.5, 10: 356, 8: 400.5, 6: 445, 4: 623, 2: 801, 0: 1112.5} {
		newtons, source := conductor.CrimpPull(unit.AWG(number))
		assert.InDelta(t, want, newtons, 1e-9, "%d AWG", number)
		assert.True(t, source.Verified)
	}
	// 300 lbf are printed for 2/0 AWG beside 1235 N; a pound-force is 4.4482 N.
	newtons, _ := conductor.CrimpPull(unit.AWG(-1))
	assert.InDelta(t, 1334.5, newtons, 0.05)

	// 2.5 mm2 lies between 14 AWG (2.0809 mm2, 222.5 N) and 12 AWG (3.3088 mm2, 311.5 N): 222.5 + 0.4191/1.2279 x 89 = 252.9 N.
	newtons, source := conductor.CrimpPull(unit.MM2(2.5))
	assert.InDelta(t, 252.88, newtons, 0.05)
	assert.False(t, source.Verified)
	newtons, _ = conductor.CrimpPull(unit.AWG(1)) // between 2 AWG and 1/0 AWG
	assert.Greater(t, newtons, 801.0)
	assert.Less(t, newtons, 1112.5)

	for _, size := range []unit.Size{{}, unit.AWG(30), unit.AWG(-3), unit.MM2(120), unit.MM2(0.05), unit.MM2(1000)} {
		newtons, source := conductor.CrimpPull(size)
		assert.Zero(t, newtons, size.String())
		assert.False(t, source.IsSet(), size.String())
	}
}
