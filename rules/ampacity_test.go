package rules

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/unit"
)

// TestAmpacityIsTheReferenceTable holds the embedded copy to the sourced one.
func TestAmpacityIsTheReferenceTable(t *testing.T) {
	want, err := os.ReadFile("../testdata/reference/ampacity-33cfr183.csv")
	require.NoError(t, err)
	assert.Equal(t, string(want), ampacityText, "copy testdata/reference/ampacity-33cfr183.csv into rules")
}

func TestAmpacity(t *testing.T) {
	// 33 CFR 183.425 Table 5, column 105 C. The metric areas lie between the AWG areas of ASTM B258: 2.5 mm2 is more than
	// 14 AWG (2.08 mm2) and less than 12 AWG (3.31 mm2).
	for _, c := range []struct {
		size string
		want unit.Ampere
	}{
		{"18 AWG", 20}, {"16 AWG", 25}, {"14 AWG", 35}, {"2 AWG", 210}, {"4/0 AWG", 445},
		{"2.5 mm2", 35}, {"1 mm2", 20}, {"25 mm2", 160}, {"300 mm2", 445},
	} {
		size, err := unit.ParseSize(c.size)
		require.NoError(t, err)
		assert.InDelta(t, float64(c.want), float64(ampacityOf(size)), 1e-9, c.size)
	}
	// Below the table: the share of the area. 20 AWG has 0.518 mm2, 18 AWG 0.823 mm2 (ASTM B258); 20 A x 0.518/0.823.
	assert.InDelta(t, 12.58, float64(ampacityOf(unit.AWG(20))), 0.02) // the areas are given to three digits
}
