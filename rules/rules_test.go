package rules_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/rules"
	"ferrule/rules/rulestest"
)

// TestFixtures runs the netlists under testdata, which say themselves what is to be found in them. Files named silent hold
// the false positives that each rule must not give (list of design rules, common practice).
func TestFixtures(t *testing.T) {
	folders, err := os.ReadDir("testdata")
	require.NoError(t, err)
	for _, f := range folders {
		if !f.IsDir() || f.Name() == "fuzz" {
			continue
		}
		require.True(t, f.Name() == "check" || rules.Find(f.Name()) != nil, "testdata/%s belongs to no rule", f.Name())
		t.Run(f.Name(), func(t *testing.T) { rulestest.Dir(t, os.DirFS("testdata"), f.Name()) })
	}
}

// TestRulesAreComplete holds every rule to its shape: one word for name, file, testdata and configuration.
func TestRulesAreComplete(t *testing.T) {
	all := rules.All()
	require.NotEmpty(t, all)
	seen := map[string]bool{}
	for _, r := range all {
		t.Run(r.Name, func(t *testing.T) {
			assert.False(t, seen[r.Name], "the name repeats")
			seen[r.Name] = true
			assert.Regexp(t, `^[a-z]+(-[a-z]+)*$`, r.Name)
			assert.NotEqual(t, diag.Invalid, r.Severity)
			assert.NotEmpty(t, r.Since)
			assert.NotEmpty(t, r.Title)
			assert.Greater(t, len(r.Doc), 200, "the documentation says what goes wrong, when the rule is right, what to change")
			assert.NotEmpty(t, r.Sources)
			assert.NotNil(t, r.Run)
			assert.FileExists(t, strings.ReplaceAll(r.Name, "-", "_")+".go")
			assert.FileExists(t, filepath.Join("testdata", r.Name, "silent.toml"))
			cases, err := filepath.Glob(filepath.Join("testdata", r.Name, "*.toml"))
			require.NoError(t, err)
			assert.Greater(t, len(cases), 1, "a rule has cases that trip it and cases that do not")
		})
	}
}

func TestBadTripsItsRuleAloneAndGoodIsSilent(t *testing.T) {
	for _, r := range rules.All() {
		t.Run(r.Name, func(t *testing.T) {
			bad := rulestest.Find(r.Bad)
			require.NotEmpty(t, bad, "the bad example is not found")
			for _, d := range bad {
				assert.True(t, d.Rule == r.Name || d.Severity < diag.Error, "%s: %s", d.Rule, d.Message)
			}
			assert.Equal(t, r.Name, bad[0].Rule)
			assert.Empty(t, rulestest.Find(r.Good), "the good example is not silent")
		})
	}
}

// TestEveryFindingIsWhole holds what the fixtures find to the form that reports and acceptances rely on.
func TestEveryFindingIsWhole(t *testing.T) {
	cases, err := filepath.Glob("testdata/*/*.toml")
	require.NoError(t, err)
	count := 0
	for _, name := range cases {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, d := range rulestest.Find(string(text)) {
			count++
			assert.False(t, d.Span.IsZero(), "%s: %s has no place", name, d.Message)
			assert.NotEmpty(t, d.Help, "%s: %s says not what to do", name, d.Message)
			assert.False(t, strings.HasSuffix(d.Message, "."), "%s: %s", name, d.Message)
			if rules.Find(d.Rule) != nil {
				assert.NotEmpty(t, d.Refs, "%s: %s names no designator", name, d.Message)
			}
		}
	}
	assert.Greater(t, count, 50)
}

func check(t *testing.T, text string) rules.Result {
	t.Helper()
	n, problems := netlist.Parse("test.toml", []byte(text))
	require.Empty(t, problems)
	return rules.Check(graph.New(n))
}

const twoColors = `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", color = "RED" }
W2 = { from = "F1:2", to = "E1:1", color = "BLK" }
`

func TestAcceptedFindingsComeApartWithTheirReason(t *testing.T) {
	r := check(t, twoColors+`[[accept]]
rule = "color-clash"
at = "W1"
because = "as on the reel"
`)
	require.Len(t, r.Findings, 1)
	assert.Equal(t, "W2", r.Findings[0].Refs[0])
	require.Len(t, r.Accepted, 1)
	assert.Equal(t, "W1", r.Accepted[0].Finding.Refs[0])
	assert.Equal(t, "as on the reel", r.Accepted[0].Because)
}

func TestAcceptanceOfADesignatorCoversItsTerminals(t *testing.T) {
	text := `[part]
  F1 = { kind = "fuse", rating = "5 A", pin.2.note = "" }
`
	text = strings.Replace(text, `pin.2.note = ""`, `pin.2.does = "Lamp"`, 1) + `E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:1", to = "E1:1" }
[[accept]]
rule = "unterminated-pin"
at = "F1"
because = "the lamp is wired next week"
`
	r := check(t, text)
	assert.Empty(t, r.Findings)
	assert.Len(t, r.Accepted, 1)
}

func TestRevisionsOfAcceptances(t *testing.T) {
	for _, c := range []struct {
		revision, until string
		stands          bool // the acceptance still covers
	}{
		{"A", "B", true}, {"B", "B", false}, {"C", "B", false}, {"9", "10", true}, {"10", "9", false}, {"Z", "AA", true}, {"AA", "Z", false},
	} {
		r := check(t, "[harness]\nrevision = \""+c.revision+"\"\n"+twoColors+`[[accept]]
rule = "color-clash"
at = "W1"
because = "as on the reel"
until = "`+c.until+"\"\n")
		assert.Equal(t, c.stands, len(r.Accepted) == 1, "revision %s, until %s", c.revision, c.until)
	}
}

func TestARuleThatIsOffLeavesItsAcceptancesAlone(t *testing.T) {
	r := check(t, "[rules]\ncolor-clash = \"off\"\n"+twoColors+"[[accept]]\nrule = \"color-clash\"\nat = \"W1\"\nbecause = \"as on the reel\"\n")
	assert.Empty(t, r.Findings)
}

// TestSameTextSameFindings runs every case several times: nothing may hang on the order of a map.
func TestSameTextSameFindings(t *testing.T) {
	cases, err := filepath.Glob("testdata/*/*.toml")
	require.NoError(t, err)
	for _, name := range cases {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		first := messages(rulestest.Find(string(text)))
		for range 3 { // maps change their order from one run to the next
			assert.Equal(t, first, messages(rulestest.Find(string(text))), name)
		}
	}
}

func messages(list diag.List) []string {
	out := make([]string, len(list))
	for i, d := range list {
		out[i] = d.Message + " | " + d.Help + " | " + strings.Join(d.Refs, " ")
		for _, r := range d.Related {
			out[i] += " | " + r.Message
		}
	}
	return out
}
