package model_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
)

// TestLabelTables: what can hold labels is kept with its margins, and what cannot is an error on the line that is wrong.
func TestLabelTables(t *testing.T) {
	const a4 = "[labels.s]\npaper = \"A4\"\ncolumns = 4\nrows = 16\n"
	for name, c := range map[string]struct {
		text string
		line int // of the error; 0 for none
		says string
	}{
		"sheet":      {a4 + "size = \"45 x 16 mm\"\npitch = \"48.5 x 16.9 mm\"\nleft = \"8 mm\"\ntop = \"0 mm\"\n", 0, ""},
		"centred":    {a4 + "size = \"45 x 16 mm\"\n", 0, ""},
		"tape":       {"[labels.t]\ntape = \"12 mm\"\nlongest = \"40 mm\"\ntext = \"7 pt\"\n", 0, ""},
		"neither":    {"[labels.t]\ntext = \"7 pt\"\n", 1, "neither a tape nor a sheet"},
		"both":       {"[labels.t]\npaper = \"A4\"\ntape = \"12 mm\"\n", 1, "or both"},
		"narrow":     {"[labels.t]\ntape = \"4 mm\"\n", 2, "does not hold a label"},
		"mixed":      {"[labels.t]\ntape = \"12 mm\"\ncolumns = 3\n", 3, "is of a sheet of labels"},
		"mixed too":  {a4 + "size = \"45 x 16 mm\"\nlongest = \"40 mm\"\n", 6, "is of a tape"},
		"plank":      {"[labels.t]\ntape = \"500 mm\"\n", 2, "110 mm at the most"},
		"short":      {"[labels.t]\ntape = \"12 mm\"\nlongest = \"5 mm\"\n", 3, "holds no designator"},
		"no size":    {a4, 1, "does not say enough"},
		"small":      {a4 + "size = \"10 x 5 mm\"\n", 5, "does not hold a label"},
		"overlap":    {a4 + "size = \"45 x 16 mm\"\npitch = \"40 x 16 mm\"\n", 6, "overlap"},
		"too wide":   {a4 + "size = \"60 x 16 mm\"\n", 3, "4 columns of labels with their margin end at 240 mm, and A4 is 210 mm wide"},
		"too high":   {a4 + "size = \"45 x 20 mm\"\n", 4, "16 rows of labels with their margin end at 320 mm"},
		"margin":     {a4 + "size = \"45 x 16 mm\"\nleft = \"40 mm\"\n", 6, "end at 220 mm"},
		"no columns": {"[labels.s]\npaper = \"A4\"\ncolumns = 0\nrows = 16\nsize = \"45 x 16 mm\"\n", 3, "1 to 100"},
		"paper":      {"[labels.s]\npaper = \"A9\"\n", 2, "not one of"},
		"file name":  {"[labels.\"../x\"]\ntape = \"12 mm\"\n", 1, "names a file"},
		"same file":  {"[labels.a]\ntape = \"12 mm\"\n[labels.A]\ntape = \"12 mm\"\n", 3, "already defined"},
	} {
		n, problems := netlist.Parse("t.toml", []byte(c.text))
		if c.line == 0 {
			assert.Empty(t, problems, name)
			require.Len(t, n.Labels, 1, name)
			continue
		}
		require.NotEmpty(t, problems, name)
		assert.Equal(t, c.line, problems[0].Span.Begin().Line, name)
		assert.Contains(t, problems[0].Message, c.says, name)
	}
	n, _ := netlist.Parse("t.toml", []byte(a4+"size = \"45 x 16 mm\"\n"))
	assert.InDelta(t, 0.015, n.Labels[0].Left.Value, 1e-9, "(210 - 4 x 45) / 2 mm")
	assert.InDelta(t, 0.0205, n.Labels[0].Top.Value, 1e-9, "(297 - 16 x 16) / 2 mm")
}
