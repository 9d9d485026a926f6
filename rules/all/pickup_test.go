package all_test

import (
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/rulestest"
)

// An edit replaces a text in a file of the pickup by another. The text must be there, once.
type edit struct{ file, old, new string }

// pickupFiles are the files of the demonstration pickup after some edits.
func pickupFiles(t *testing.T, edits ...edit) fstest.MapFS {
	t.Helper()
	files := fstest.MapFS{}
	real := os.DirFS("../../examples/pickup")
	names, err := fs.Glob(real, "*.toml")
	require.NoError(t, err)
	for _, name := range names {
		text, err := fs.ReadFile(real, name)
		require.NoError(t, err)
		files[name] = &fstest.MapFile{Data: text}
	}
	for _, e := range edits {
		text := string(files[e.file].Data)
		require.Equal(t, 1, strings.Count(text, e.old), "%s has %q", e.file, e.old)
		files[e.file].Data = []byte(strings.Replace(text, e.old, e.new, 1))
	}
	return files
}

func parsePickup(t *testing.T, edits ...edit) *model.Netlist {
	t.Helper()
	n, problems, err := netlist.Load(pickupFiles(t, edits...), "pickup.toml")
	require.NoError(t, err)
	require.Empty(t, problems)
	return n
}

// pickup checks the demonstration pickup after some edits.
func pickup(t *testing.T, edits ...edit) diag.List {
	t.Helper()
	return rules.Check(graph.New(parsePickup(t, edits...))).Findings.AtLeast(diag.Warning)
}

// tried are the cases that a test tries: all of them, or one in four with -short, for each is a check of the whole pickup.
func tried[T any](cases []T) []T {
	if !testing.Short() {
		return cases
	}
	var some []T
	for i := 0; i < len(cases); i += 4 {
		some = append(some, cases[i])
	}
	return some
}

// TestMistakesInThePickup makes one mistake at a time in a harness of 231 wires and looks at what is said of it: a finding
// by the right rule, at the right words, naming what is involved, and nothing else but what is listed. The mistakes are of
// the kinds that builders make (common practice); those about fuses, wires and the rest stand in the files by room.
func TestMistakesInThePickup(t *testing.T) {
	cases := []struct {
		name  string
		edits []edit
		rule  string // empty: nothing is found
		words string // that the finding points at
		refs  []string
		chain []string // texts that stand among the related places
		also  []string // rules that the same mistake trips too
	}{
		{name: "as it is"},
		{
			name:  "a piece from a sensor ground splice to the controller's ground bolt",
			edits: []edit{{"sensors.toml", "38k = {", "38m = { from = \"SP5:2\", to = \"G2:3\", size = \"20 AWG\", color = \"BN/WH\" }\n38k = {"}},
			rule:  "sensor-ground-tied", words: "38m", refs: []string{"XB:2", "38m"}, chain: []string{"wire 38f", "wire 38m"},
			also: []string{"overfull-splice"},
		},
		{
			name: "X2.3 and X2.4 swapped on the rear half",
			edits: []edit{
				{"lights.toml", `72g = { from = "X2R:3",`, `72g = { from = "X2R:4",`},
				{"lights.toml", `72l = { from = "X2R:4",`, `72l = { from = "X2R:3",`},
			},
			rule: "net-short", words: `"X2R:3"`, refs: []string{"72l", "72g", "X2R:3", "X2R:4"}, chain: []string{"X2C:3 meets X2R:3", "X2R:4"},
		},
		{
			name: "injectors 1 and 3 swapped at the controller",
			edits: []edit{
				{"engine.toml", `to = "XA:7", `, `to = "XA:99", `}, {"engine.toml", `to = "XA:9", `, `to = "XA:7", `}, {"engine.toml", `to = "XA:99", `, `to = "XA:9", `},
			},
			rule: "net-short", words: `"XA:9"`, refs: []string{"24a", "26a", "XA:7", "XA:9"},
		},
		{
			name:  "a spare cavity of X1 that is no longer marked",
			edits: []edit{{"connectors.toml", `spare = ["9", "12", "14"]`, `spare = ["12", "14"]`}},
			rule:  "unterminated-pin", words: "X1B", refs: []string{"X1B", "X1B:9"},
		},
		{
			name:  "the cabin half of the brake wire forgotten",
			edits: []edit{{"lights.toml", `74g = {`, `# 74g = {`}},
			rule:  "unterminated-pin", words: `"X4E:12"`, refs: []string{"74h", "X4E:12", "X4C:12"},
		},
		{
			name:  "the return of the coil pack moved to the body as well",
			edits: []edit{{"engine.toml", "\n# 14, 28, 29", "32b = { from = \"COIL1:2\", to = \"G9:5\", size = \"16 AWG\", color = \"BK\" }\n\n# 14, 28, 29"}},
			rule:  "ground-loop", words: `"G9:5"`, refs: []string{"COIL1", "G9", "G11", "32b"}, also: []string{"shared-cavity", "seal-range"},
		},
		{
			name:  "the crankshaft sensor's screen tied at the sensor too",
			edits: []edit{{"sensors.toml", `wires = ["34a", "35a"], screen = "SP7:1"`, `wires = ["34a", "35a"], screen = ["SP7:1", "CKP:3"]`}},
			rule:  "ground-loop", words: `"CKP:3"`, refs: []string{"CRANK"},
		},
		{
			name:  "the feed of the cabin box taken from the post, before its fuse",
			edits: []edit{{"power.toml", `5a  = { from = "MF3:2", `, `5a  = { from = "BAT1:+",`}, {"power.toml", `MF3 = { kind = "fuse",`, `MF3 = { spare = true, kind = "fuse",`}, {"power.toml", `net = "BOX-C-FEED"`, `net = "BATTERY-PLUS"`}},
			rule:  "unfused-feed", words: "5a", refs: []string{"5a", "BAT1:+"}, chain: []string{"wire 5a"},
		},
		{
			name: "the main relay on the wrong side of a switched lamp: headlamp feed to ground bolt",
			edits: []edit{{"lights.toml", `71e = { from = "HLL:31", `, `71e = { from = "HLL:56b",`}, {"lights.toml", `pins = ["56a", "56b", "31"]
loads = [
  { between = "56b-31", load = "55 W", title = "Low beam", function = "low beam" },
  { between = "56a-31", load = "60 W", title = "High beam", function = "high beam" },
]

[part.HLR]`, `pins = ["56a", "56b", "31"]
pin.31.unused = true
loads = [
  { between = "56b-31", load = "55 W", title = "Low beam", function = "low beam" },
  { between = "56a-31", load = "60 W", title = "High beam", function = "high beam" },
]

[part.HLR]`}},
			rule: "net-short", words: "71e", refs: []string{"71e", "HLL:56b", "G4:1"}, chain: []string{"wire 71a", "wire 71e"}, also: []string{"shared-cavity", "seal-range", "short-not-cleared"},
		},
		{
			name:  "a core of a switched feed bought in red",
			edits: []edit{{"body.toml", `color = "PK/OG"`, `color = "RD/OG"`}},
			rule:  "color-clash", words: `"RD/OG"`, refs: []string{"78a"},
		},
		{
			name:  "two colours alike in X1",
			edits: []edit{{"body.toml", `75d = { from = "X1C:3",   to = "S12:H",   size = "20 AWG", color = "GN/WH"`, `75d = { from = "X1C:3",   to = "S12:H",   size = "20 AWG", color = "WH/YE"`}, {"body.toml", `75c = { from = "K7:85",   to = "X1B:3",   size = "20 AWG", color = "GN/WH"`, `75c = { from = "K7:85",   to = "X1B:3",   size = "20 AWG", color = "WH/YE"`}},
			rule:  "color-clash", words: `"WH/YE"`, refs: []string{"75c", "70g", "X1B:3"},
		},
	}
	for _, c := range tried(cases) {
		t.Run(c.name, func(t *testing.T) {
			found := pickup(t, c.edits...)
			if c.rule == "" {
				assert.Empty(t, found)
				return
			}
			at := slices.IndexFunc(found, func(d diag.Diagnostic) bool { return d.Rule == c.rule })
			require.GreaterOrEqual(t, at, 0, "%v", rulestest.Messages(found))
			d := found[at]
			for i, other := range found {
				assert.True(t, i == at || slices.Contains(c.also, other.Rule), "%s: %s", other.Rule, other.Message)
			}
			assert.Equal(t, c.words, d.Span.Text(), d.Message)
			for _, ref := range c.refs {
				assert.Contains(t, d.Refs, ref, d.Message)
			}
			chain := ""
			for _, r := range d.Related {
				chain += r.Message + "\n"
			}
			for _, text := range c.chain {
				assert.Contains(t, chain, text, d.Message)
			}
		})
	}
}
