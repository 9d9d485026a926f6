package conductor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"ferrule/netlist/unit"
)

// TestMetalFactor holds the share of copper's ampacity against rows of NEC table 310.16, 75 C, aluminium or copper-clad aluminium
// over copper (from memory), and against the root of the ratio of resistivities (equal heat, equal surface).
func TestMetalFactor(t *testing.T) {
	rows := [][2]float64{{50, 65}, {65, 85}, {90, 115}, {100, 130}, {120, 150}, {180, 230}} // 6, 4, 2, 1, 1/0, 4/0 AWG
	for _, metal := range []Metal{Aluminium, CopperClad} {
		factor, source := MetalFactor(metal)
		assert.True(t, source.IsSet())
		for _, r := range rows {
			assert.InDelta(t, r[0]/r[1], factor, 0.025)
		}
		copper, _ := Copper.Resistivity()
		light, _ := metal.Resistivity()
		assert.InDelta(t, math.Sqrt(copper/light), factor, 0.02)
	}
	one, _ := MetalFactor(Copper)
	assert.Equal(t, 1.0, one)
	of, _ := AmpacityOf(unit.AWG(2), 105, Aluminium)
	base, _ := Ampacity(unit.AWG(2), 105)
	assert.InDelta(t, 0.78*float64(base), float64(of), 1e-9)
}

// TestParseMetal goes through the words of the language.
func TestParseMetal(t *testing.T) {
	for word, want := range map[string]Metal{"": Copper, "copper": Copper, "aluminium": Aluminium, "copper-clad aluminium": CopperClad} {
		metal, known := ParseMetal(word)
		assert.True(t, known)
		assert.Equal(t, want, metal)
	}
	metal, known := ParseMetal("lead")
	assert.False(t, known)
	assert.Equal(t, CopperClad, metal)
}
