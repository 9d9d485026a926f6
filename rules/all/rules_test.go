package all_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/rules"
	"ferrule/rules/rulestest"

	_ "ferrule/rules/all"
)

func check(t *testing.T, text string) rules.Result {
	t.Helper()
	n, problems := netlist.Parse("test.toml", []byte(text))
	require.Empty(t, problems)
	r := rules.Check(graph.New(n))
	r.Findings = r.Findings.AtLeast(diag.Warning) // not what no-data lacks here
	return r
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

// TestCases runs the netlists under testdata/check with all rules: they are about acceptances and settings.
func TestCases(t *testing.T) { rulestest.Dir(t, os.DirFS("testdata"), "check") }
