package all_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/diag"
	"ferrule/rules/rulestest"
)

// A blunder is a mistake in the pickup and what one rule must say of it; other rules may speak as well.
type blunder struct {
	name     string
	edits    []edit
	rule     string
	severity diag.Severity
	words    []string // that the findings point at, in the order of the file
	texts    []string // that stand in the messages
	refs     []string // main designators
}

// blunders makes the mistakes one at a time.
func blunders(t *testing.T, cases []blunder) {
	for _, c := range tried(cases) {
		t.Run(c.name, func(t *testing.T) {
			all := pickup(t, c.edits...)
			found := slices.DeleteFunc(slices.Clone(all), func(d diag.Diagnostic) bool { return d.Rule != c.rule })
			require.Len(t, found, len(c.words), "%s", strings.Join(rulestest.Messages(all), "\n"))
			messages := strings.Join(rulestest.Messages(found), "\n")
			for i, d := range found {
				assert.Equal(t, c.severity, d.Severity, d.Message)
				assert.Equal(t, c.words[i], d.Span.Text(), d.Message)
				assert.Equal(t, c.refs[i], d.Refs[0], d.Message)
			}
			for _, text := range c.texts {
				assert.Contains(t, messages, text)
			}
		})
	}
}

// TestNetMistakesInThePickup: the mistakes are of the kinds that builders make (common practice).
func TestNetMistakesInThePickup(t *testing.T) {
	blunders(t, []blunder{
		{
			name: "two wires in a cavity of X2", rule: "shared-cavity", severity: diag.Error,
			edits: []edit{{"engine.toml", `to = "X2R:2",`, `to = "X2R:1",`}},
			words: []string{`"X2R:1"`}, refs: []string{"X2R:1"}, texts: []string{"wires 61a and 58b", "one cavity"},
		},
		{
			name: "pins on both halves of X3", rule: "cannot-mate", severity: diag.Error,
			edits: []edit{{"connectors.toml", "mates = \"X3E\"\ncavities = 12\ngrid = [\"1-6\", \"7-12\"]\nview = \"wire side\"\nlatch = \"top\"\nsealed = true\ncontacts = \"sockets\"", "mates = \"X3E\"\ncavities = 12\ngrid = [\"1-6\", \"7-12\"]\nview = \"wire side\"\nlatch = \"top\"\nsealed = true\ncontacts = \"pins\""}},
			words: []string{`"pins"`}, refs: []string{"X3P"}, texts: []string{"X3P and X3E both carry pins"},
		},
		{
			name: "plug B of the controller without its view", rule: "numbering-view", severity: diag.Error,
			edits: []edit{{"engine.toml", "view = \"wire side\"\nlatch = \"top\"\nnote = \"0.64 mm", "latch = \"top\"\nnote = \"0.64 mm"}},
			words: []string{"XB"}, refs: []string{"XB"}, texts: []string{"XB has 24 cavities"},
		},
		{
			name: "14 m for 1.4 m", rule: "length-outlier", severity: diag.Warning,
			edits: []edit{{"engine.toml", `to = "X1B:13",  size = "12 AWG",`, `to = "X1B:13",  length = "14 m", size = "12 AWG",`}},
			words: []string{`"14 m"`}, refs: []string{"60a"}, texts: []string{"60a is 14.00 m", "1.40 m"},
		},
		{
			name: "0.14 m for 1.4 m", rule: "length-outlier", severity: diag.Error,
			edits: []edit{{"engine.toml", `to = "X1B:13",  size = "12 AWG",`, `to = "X1B:13",  length = "0.14 m", size = "12 AWG",`}},
			words: []string{`"0.14 m"`}, refs: []string{"60a"}, texts: []string{"60a is 140 mm", "1.40 m"},
		},
		{
			name: "INJ1 and INJ3 swapped at the controller, and labelled so", rule: "crossed-over", severity: diag.Warning,
			edits: []edit{
				{"engine.toml", `to = "XA:7", `, `to = "XA:99", `}, {"engine.toml", `to = "XA:9", `, `to = "XA:7", `}, {"engine.toml", `to = "XA:99", `, `to = "XA:9", `},
				{"engine.toml", `net = "INJ1", limit`, `net = "INJ?", limit`}, {"engine.toml", `net = "INJ3", limit`, `net = "INJ1", limit`}, {"engine.toml", `net = "INJ?", limit`, `net = "INJ3", limit`},
			},
			words: []string{`"XA:9"`, `"XA:7"`}, refs: []string{"INJ1:2", "INJ3:2"}, texts: []string{"XA:9 serves cylinder 3, but it leads to INJ1:2, which serves cylinder 1", "XA:7 serves cylinder 1"},
		},
		{
			name: "an injector on the output for fan 1", rule: "role-mismatch", severity: diag.Error,
			edits: []edit{
				{"engine.toml", `to = "XA:7", `, `to = "XA:17", `},
				{"engine.toml", `net = "FAN-1-CONTROL", limit`, `limit`},
				{"engine.toml", `22a = {`, `# 22a = {`}, {"engine.toml", `22b = {`, `# 22b = {`},
			},
			words: []string{`"XA:17"`}, refs: []string{"INJ1:2"}, texts: []string{"XA:17 drives INJ1, an injector, but it is made for: relay"},
		},
		{
			name: "the pump's fuse joined to nothing behind it", rule: "never-live", severity: diag.Error,
			edits: []edit{{"power.toml", `P-F3     = {`, `# P-F3     = {`}},
			words: []string{"M1"}, refs: []string{"M1"}, texts: []string{"M1 (Pump) is never fed"},
		},
		{
			name: "the washer's wire ends on a stud", rule: "dangling-feed", severity: diag.Warning,
			edits: []edit{{"body.toml", `to = "M5:1", `, `to = "STD1:1", `}, {"body.toml", "[part]\nHRN", "[part]\nSTD1 = { kind = \"stud\" }\nHRN"}},
			words: []string{`"STD1:1"`}, refs: []string{"77i"}, texts: []string{"in state horn-wash"},
		},
		{
			name: "the ground of the fans ends on a stud", rule: "no-return", severity: diag.Error,
			edits: []edit{{"engine.toml", `62b = { from = "M2:2",    to = "G3:2", `, `62b = { from = "M2:2",    to = "STD1:1", `}, {"body.toml", "[part]\nHRN", "[part]\nSTD1 = { kind = \"stud\" }\nHRN"}},
			words: []string{"M2"}, refs: []string{"M2"}, texts: []string{"from M2:2 nothing leads back"},
		},
		{
			name: "two greys alike at the lamp switch", rule: "same-color-at-part", severity: diag.Warning,
			edits: []edit{{"lights.toml", `70b = { from = "S10:56",   to = "S11:56",  size = "18 AWG", color = "WH", `, `70b = { from = "S10:56",   to = "S11:56",  size = "18 AWG", color = "WH/BK", `}},
			words: []string{`"WH/BK"`}, refs: []string{"70b"}, texts: []string{"70a at S10:15X and 70b at S10:56"},
		},
		{
			name: "a green battery ground", rule: "off-plan-color", severity: diag.Warning,
			edits: []edit{{"power.toml", `to = "G3:1",    size = "4 AWG",  color = "BK"`, `to = "G3:1",    size = "4 AWG",  color = "GN"`}},
			words: []string{`"GN"`}, refs: []string{"2b"}, texts: []string{"the plan keeps BK"},
		},
		{
			name: "a radio guessed at 6 A on its 10 A fuse", rule: "rests-on-guess", severity: diag.Warning,
			edits: []edit{{"body.toml", `load = "5 A", title = "Radio"`, `load = "6.5 A", title = "Radio"`}},
			words: []string{`"guess"`}, refs: []string{"RAD"}, texts: []string{"F39", "6.5 A", "1.63 A more"},
		},
	})
}

// TestThePickupIsCleanOfNetFindings: a finding that somebody accepts stands in its files with the reason.
func TestThePickupIsCleanOfNetFindings(t *testing.T) {
	mine := []string{"shared-cavity", "cannot-mate", "numbering-view", "length-outlier", "crossed-over", "dangling-feed", "role-mismatch", "same-color-at-part",
		"off-plan-color", "never-live", "no-return", "rests-on-guess", "terminal-range", "terminal-current", "seal-range", "unsealed-in-wet", "open-cavity",
		"mixed-plating", "swappable-plugs", "live-pins", "no-spare-cavity", "no-expectation", "out-of-scope", "stale-accept"}
	for _, d := range pickup(t) {
		assert.NotContains(t, mine, d.Rule, d.Message)
	}
}
