package bundle_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/bundle"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

// TestWaysAndDiameters: wires lie along the shortest way. Three 18 AWG wires of 2.0 mm (thin wall, common practice) make
// 1.2 x sqrt(3 x 4) = 4.157 mm by hand.
func TestWaysAndDiameters(t *testing.T) {
	n, problems := netlist.Parse("t.toml", []byte(`[place.a]
[place.b]
[place.c]
[path.ab]
between = ["a", "b"]
length = "1 m"
[path.bc]
between = ["b", "c"]
length = "1 m"
[path.ca]
between = ["c", "a"]
length = "3 m"
[part]
F1 = { kind = "fuse", rating = "5 A", at = "a" }
E1 = { kind = "lamp", load = "5 W", at = "c" }
E2 = { kind = "lamp", load = "5 W", at = "b" }
[wire]
W1 = { from = "F1:1", to = "E1:1", size = "18 AWG" }
W2 = { from = "F1:2", to = "E1:2", size = "18 AWG", length = "4 m" }
W3 = { from = "F1:2", to = "E2:1", size = "18 AWG" }
W4 = { from = "F1:2", to = "E2:2" }
`))
	require.Empty(t, problems)
	all := bundle.Of(n, route.New(n))
	require.Len(t, all, 3)
	assert.Len(t, all[0].Wires, 4)
	assert.Equal(t, 1, all[0].Unsized)
	assert.InDelta(t, 4.157, all[0].DiameterMM, 0.001)
	assert.Len(t, all[1].Wires, 2)
	assert.Empty(t, all[2].Wires)
	assert.Zero(t, all[2].DiameterMM)
}

// TestFormulaAgainstPackings holds the rule of practice against the densest known packings of equal circles
// (testdata/reference/circle-packing.csv, published): a hand-laid bundle is not thinner than the packing by more than a
// twentieth, and from seven wires on not thicker than it by more than a sixth.
func TestFormulaAgainstPackings(t *testing.T) {
	file, err := os.Open("../../testdata/reference/circle-packing.csv")
	require.NoError(t, err)
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	reader.FieldsPerRecord = -1
	rows, err := reader.ReadAll()
	require.NoError(t, err)
	held := 0
	for _, row := range rows[1:] {
		count, err := strconv.Atoi(row[0])
		if err != nil || count < 3 || count > 200 {
			continue
		}
		ratio, err := strconv.ParseFloat(row[1], 64)
		require.NoError(t, err)
		size, ok := unit.ParseSize("18 AWG")
		require.NoError(t, ok)
		sizes := make([]unit.Size, count)
		for i := range sizes {
			sizes[i] = size
		}
		practice := bundle.Diameter(sizes) / 2.0 // of wires of 2.0 mm
		held++
		assert.Greater(t, practice, ratio*0.95, "%d wires", count)
		if count >= 7 {
			assert.Less(t, practice, ratio*1.17, "%d wires", count)
		}
	}
	assert.Greater(t, held, 10)
	assert.InDelta(t, math.Sqrt(4), bundle.Diameter([]unit.Size{mustSize("18 AWG")}), 1e-9)
}

func mustSize(text string) unit.Size {
	s, err := unit.ParseSize(text)
	if err != nil {
		panic(err)
	}
	return s
}
