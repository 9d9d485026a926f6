package conductor

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/unit"
)

// reference reads a table of testdata/reference; the sources of its rows stand in sources.csv there.
func reference(t *testing.T, name string) []row {
	t.Helper()
	file, err := os.Open("../../testdata/reference/" + name)
	require.NoError(t, err)
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var rows []row
	for _, record := range records[1:] {
		r := make(row, len(record))
		for i, column := range records[0] {
			r[column] = record[i]
		}
		rows = append(rows, r)
	}
	require.NotEmpty(t, rows, name)
	return rows
}

// parsedSize reads a size of the language.
func parsedSize(t *testing.T, text string) unit.Size {
	t.Helper()
	size, err := unit.ParseSize(text)
	require.NoError(t, err)
	return size
}

// float reads a cell of a reference table that must hold a number.
func float(t *testing.T, cell string) float64 {
	t.Helper()
	value, err := strconv.ParseFloat(cell, 64)
	require.NoError(t, err)
	return value
}

// TestTablesAreTheReference holds every cell of the embedded tables against the tables with the sources, row by row.
func TestTablesAreTheReference(t *testing.T) {
	entries, err := tables.ReadDir("tables")
	require.NoError(t, err)
	require.Len(t, entries, 4)
	for _, e := range entries {
		want, got := reference(t, e.Name()), readTable(e.Name())
		require.Len(t, got, len(want), e.Name())
		for i, r := range got {
			assert.NotEmpty(t, r["source_key"], "%s row %d has no source", e.Name(), i+1)
			for column, cell := range r {
				assert.Equal(t, want[i][column], cell, "%s row %d column %s: copy the columns again from testdata/reference", e.Name(), i+1, column)
			}
			status := r["status"] + r["status_resistance"]
			assert.Contains(t, []string{"verified", "memory", "computed"}, status, "%s row %d", e.Name(), i+1)
		}
	}
}

// TestMetalsAreTheReference holds the constants of the metals against testdata/reference/temperature.csv and preece-constants.csv.
func TestMetalsAreTheReference(t *testing.T) {
	want := map[string]float64{}
	for _, r := range reference(t, "temperature.csv") {
		value, err := strconv.ParseFloat(r["value"], 64)
		if err == nil {
			want[r["item"]+": "+r["quantity"]] = value
		}
	}
	// The tolerance is half a digit of the printed resistivities.
	for metal, item := range map[Metal]string{Copper: "copper, annealed", Aluminium: "aluminium", CopperClad: "copper-clad aluminium 10 % Cu by volume"} {
		resistivity, source := metal.Resistivity()
		assert.InDelta(t, want[item+": resistivity at 20 C"], resistivity, 5e-7, item)
		assert.True(t, source.Verified, item)
		coefficient, _ := metal.Coefficient()
		assert.InDelta(t, want[strings.TrimSuffix(item, " 10 % Cu by volume")+": temperature coefficient at 20 C"], coefficient, 1e-12, item)
	}
	assert.InDelta(t, want["copper: melting point"], float64(melting), 1e-12)
	for _, r := range reference(t, "preece-constants.csv") {
		switch r["metal"] {
		case "copper":
			assert.InDelta(t, float(t, r["a_inch_a_per_in1.5"]), metals[Copper].preece, 0)
		case "aluminium":
			assert.InDelta(t, float(t, r["a_inch_a_per_in1.5"]), metals[Aluminium].preece, 0)
		}
	}
}
