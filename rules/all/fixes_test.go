package all_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	textedit "ferrule/netlist/edit"
	"ferrule/netlist/graph"
	"ferrule/rules"
)

// TestFixesInThePickup makes a mistake in the pickup, takes the fix that the finding carries, and looks again: the finding
// is gone, nothing new at warning or above has come, and the text is what it was before the mistake, or says the one thing
// that the fix is about.
func TestFixesInThePickup(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []edit
		rule  string
		title string
		safe  bool
		back  bool // the fix gives the text back that was there
	}{
		{
			name:  "a fuse above its wires",
			edits: []edit{{"power.toml", `title = "Actuators, pump and fan coils", system = "injection-ignition", in = "P", rating = "10 A"`, `title = "Actuators, pump and fan coils", system = "injection-ignition", in = "P", rating = "20 A"`}},
			rule:  "fuse-above-wire", title: "make fuse F8 10 A", safe: true, back: true,
		},
		{
			name:  "a colour in letters of another habit",
			edits: []edit{{"body.toml", `color = "PK/OG"`, `color = "pink/orange"`}},
			rule:  "color-clash", title: "write the colour of 78a as PK/OG", safe: true, back: true,
		},
		{
			name: "the crankshaft pair crossed",
			edits: []edit{
				{"sensors.toml", `from = "CKP:1"`, `from = "CKP:9"`}, {"sensors.toml", `from = "CKP:2"`, `from = "CKP:1"`}, {"sensors.toml", `from = "CKP:9"`, `from = "CKP:2"`},
			},
			rule: "crossed-pair", title: "exchange what is wired to CKP:1 and CKP:2", safe: true, back: true,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			n := parsePickup(t, c.edits...)
			var fix *diag.Fix
			for _, d := range rules.Check(graph.New(n)).Findings {
				if d.Rule == c.rule && len(d.Fixes) > 0 {
					fix = &d.Fixes[0]
				}
			}
			require.NotNil(t, fix, "the finding carries a fix")
			assert.Equal(t, c.title, fix.Title)
			assert.Equal(t, c.safe, fix.Safe)
			revised, err := textedit.ApplyAll(fix.Edits)
			require.NoError(t, err)
			files := pickupFiles(t, c.edits...)
			for _, r := range revised {
				files[r.File.Name].Data = r.Text
			}
			after, problems, err := netlist.Load(files, "pickup.toml")
			require.NoError(t, err)
			require.Empty(t, problems)
			assert.Empty(t, rules.Check(graph.New(after)).Findings.AtLeast(diag.Warning))
			if c.back {
				for name, f := range pickupFiles(t) {
					assert.Equal(t, strings.Split(string(f.Data), "\n"), strings.Split(string(files[name].Data), "\n"), name)
				}
			}
		})
	}
}
