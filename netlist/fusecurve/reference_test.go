package fusecurve

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// records reads a CSV text as maps by the name of the column.
func records(t *testing.T, text string) []map[string]string {
	t.Helper()
	lines, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, line := range lines[1:] {
		r := map[string]string{}
		for i, column := range lines[0] {
			r[column] = line[i]
		}
		out = append(out, r)
	}
	require.NotEmpty(t, out)
	return out
}

// reference reads a table of testdata/reference; the sources of its rows stand in sources.csv there.
func reference(t *testing.T, name string) []map[string]string {
	t.Helper()
	text, err := os.ReadFile("../../testdata/reference/" + name)
	require.NoError(t, err)
	return records(t, string(text))
}

// TestTableIsTheReference holds every cell of the embedded table against the table with the sources.
func TestTableIsTheReference(t *testing.T) {
	want, got := reference(t, "fuse-time-current.csv"), records(t, timeCurrentText)
	require.Len(t, got, len(want))
	for i, r := range got {
		assert.Contains(t, []string{"verified", "memory"}, r["status"], i)
		assert.NotEmpty(t, r["source_key"], i)
		for column, cell := range r {
			assert.Equal(t, want[i][column], cell, "row %d column %s: copy the columns again from testdata/reference", i+1, column)
		}
	}
}
