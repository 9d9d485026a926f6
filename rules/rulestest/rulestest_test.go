package rulestest

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/rules"
	_ "ferrule/rules/nets"
)

// announced is a netlist with one finding and the comment that announces it.
const announced = `[part]
F1 = { kind = "fuse", rating = "5 A", protects = [], spare = true }
[wire]
  W1 = { from = "F1:1", to = "F1:2", color = "RED" }
#                                            ^^^^^ warning[color-clash]: not a colour
`

func TestHarnessSeesWhatIsNotAsAnnounced(t *testing.T) {
	cases := map[string]struct {
		old, new string
		want     []string
	}{
		"as announced":      {"", "", nil},
		"nothing announced": {"#          ", "# said nothing: ", []string{"unexpected"}},
		"other column":      {"#    ", "#   ", []string{"unexpected", "missing"}},
		"shorter carets":    {"^^^^^", "^^^^", []string{"unexpected", "missing"}},
		"other severity":    {"warning[", "error[", []string{"unexpected", "missing"}},
		"other rule":        {"color-clash", "net-short", []string{"unexpected", "missing"}},
		"other message":     {"not a colour", "not a number", []string{"unexpected", "missing"}},
		"finding gone":      {`"RED"`, `"RD" `, []string{"missing"}},
		"announced twice":   {"# ", "#                                            ^^^^^ warning[color-clash]: not a colour\n# ", []string{"missing"}},
		"line before":       {"[wire]\n", "[wire]\n#< error[net-short]: x\n", []string{"missing"}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			problems := Differences(strings.Replace(announced, c.old, c.new, 1))
			require.Len(t, problems, len(c.want), "%q", problems)
			for i, want := range c.want {
				assert.True(t, strings.HasPrefix(problems[i], want), problems[i])
			}
		})
	}
}

// TestExamplesMayHaveRemarks: a note that no comment announces passes in an example and fails in a fixture; one that is
// announced must be there in both, and so must a warning.
func TestExamplesMayHaveRemarks(t *testing.T) {
	const remark = "[rules]\ncolor-clash = \"note\"\n" + announced
	cases := map[string]struct {
		old, new         string
		fixture, example []string
	}{
		"a remark, announced":     {"warning[", "note[", nil, nil},
		"a remark, not announced": {"#          ", "# said nothing: ", []string{"unexpected"}, nil},
		"a remark that is gone":   {`"RED" }`, `"RD" }`, []string{"missing"}, []string{"missing"}},
		"a warning, announced":    {"color-clash = \"note\"\n", "", nil, nil},
		"a warning, as a remark":  {"warning[", "warning[", []string{"unexpected", "missing"}, []string{"missing"}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			n, found := netlist.Parse("test.toml", []byte(strings.Replace(remark, c.old, c.new, 1)))
			found = append(found, rules.Check(graph.New(n)).Findings...)
			beginWith(t, c.fixture, differences(n, found))
			beginWith(t, c.example, differences(n, withoutRemarks(n, found)))
		})
	}
	t.Run("a warning, not announced", func(t *testing.T) {
		n, found := netlist.Parse("test.toml", []byte(strings.Replace(announced, "#          ", "# said nothing: ", 1)))
		found = append(found, rules.Check(graph.New(n)).Findings...)
		beginWith(t, []string{"unexpected"}, differences(n, withoutRemarks(n, found)))
	})
}

func beginWith(t *testing.T, want, problems []string) {
	t.Helper()
	require.Len(t, problems, len(want), "%q", problems)
	for i, w := range want {
		assert.True(t, strings.HasPrefix(problems[i], w), problems[i])
	}
}

func TestExpectationsAreReadToTheColumn(t *testing.T) {
	text := "a\nbb = 1\n#< error[r]: first\n#    ^ note[s-2]: second\nc\n#error[r]: one character\nddd\n#<^ error[r]: three\n#^^ error[r]: from the second\n# a comment: error[r] is not one\n"
	assert.Equal(t, []Expectation{
		{File: "f", Line: 2, Column: 1, End: 3, Severity: "error", Rule: "r", Has: "first"},
		{File: "f", Line: 2, Column: 6, End: 7, Severity: "note", Rule: "s-2", Has: "second"},
		{File: "f", Line: 5, Column: 1, End: 2, Severity: "error", Rule: "r", Has: "one character"},
		{File: "f", Line: 7, Column: 1, End: 4, Severity: "error", Rule: "r", Has: "three"},
		{File: "f", Line: 7, Column: 2, End: 4, Severity: "error", Rule: "r", Has: "from the second"},
	}, Expectations("f", text))
}
