package rulestest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/diag"
	"ferrule/rules"
)

// Room tests the rules of the package in whose folder the test runs: their shape, their bad and good examples, and the
// netlists under testdata/RULE, which say themselves what is to be found in them. A file silent.toml holds the false
// positives that the rule must not give. Only the rules of that package run: a room stands on its own.
func Room(t *testing.T) {
	here := rulesHere(t)
	for _, r := range here {
		t.Run(r.Name, func(t *testing.T) {
			t.Run("shape", func(t *testing.T) { shape(t, r) })
			t.Run("examples", func(t *testing.T) { badAndGood(t, r) })
			t.Run("cases", func(t *testing.T) { Dir(t, os.DirFS("testdata"), r.Name) })
			t.Run("whole", func(t *testing.T) { whole(t, r) })
		})
	}
	folders, err := os.ReadDir("testdata")
	require.NoError(t, err)
	for _, f := range folders {
		assert.True(t, !f.IsDir() || f.Name() == "fuzz" || rules.Find(f.Name()) != nil, "testdata/%s belongs to no rule", f.Name())
	}
}

// rulesHere returns the registered rules whose file lies in the folder of the test.
func rulesHere(t *testing.T) []*rules.Rule {
	t.Helper()
	var here []*rules.Rule
	for _, r := range rules.All() {
		if _, err := os.Stat(fileOf(r)); err == nil {
			here = append(here, r)
		}
	}
	require.NotEmpty(t, here, "no rules in this folder")
	return here
}

func fileOf(r *rules.Rule) string { return strings.ReplaceAll(r.Name, "-", "_") + ".go" }

// shape holds a rule to one word for name, file, testdata and configuration, and to a documentation that says something.
func shape(t *testing.T, r *rules.Rule) {
	assert.Regexp(t, `^[a-z]+(-[a-z]+)*$`, r.Name)
	assert.NotEqual(t, diag.Invalid, r.Severity)
	assert.NotZero(t, r.Harm)
	assert.NotEmpty(t, r.Since)
	assert.NotEmpty(t, r.Title)
	assert.Greater(t, len(r.Doc), 200, "the documentation says what goes wrong, when the rule is right, what to change")
	assert.NotEmpty(t, r.Sources)
	assert.NotNil(t, r.Run)
	for _, s := range r.Settings {
		assert.NotEmpty(t, s.Doc, "setting %s", s.Key)
		assert.NotZero(t, s.Dim, "setting %s", s.Key)
	}
	assert.FileExists(t, filepath.Join("testdata", r.Name, "silent.toml"))
	cases, err := filepath.Glob(filepath.Join("testdata", r.Name, "*.toml"))
	require.NoError(t, err)
	assert.Greater(t, len(cases), 1, "a rule has cases that trip it and cases that do not")
}

func badAndGood(t *testing.T, r *rules.Rule) {
	bad := seen(Find(r.Bad), r)
	require.NotEmpty(t, bad, "the bad example is not found")
	assert.Equal(t, r.Name, bad[0].Rule)
	for _, d := range bad {
		assert.True(t, d.Rule == r.Name || d.Severity < diag.Error, "%s: %s", d.Rule, d.Message)
	}
	for _, d := range seen(Find(r.Good), r) {
		assert.Fail(t, "the good example is not silent", "%s: %s", d.Rule, d.Message)
	}
}

// seen leaves out what no-data says: the examples of other rules state only what their own rule needs.
func seen(found diag.List, r *rules.Rule) diag.List {
	var out diag.List
	for _, d := range found {
		if d.Rule != noData || r.Name == noData {
			out = append(out, d)
		}
	}
	return out
}

const noData = "no-data"

// whole holds what the cases find to the form that reports and acceptances rely on, and to the same words in every run.
func whole(t *testing.T, r *rules.Rule) {
	cases, err := filepath.Glob(filepath.Join("testdata", r.Name, "*.toml"))
	require.NoError(t, err)
	for _, name := range cases {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		found := Find(string(text))
		for _, d := range found {
			assert.False(t, d.Span.IsZero(), "%s: %s has no place", name, d.Message)
			assert.NotEmpty(t, d.Help, "%s: %s says not what to do", name, d.Message)
			assert.False(t, strings.HasSuffix(d.Message, "."), "%s: %s", name, d.Message)
			if rules.Find(d.Rule) != nil {
				assert.NotEmpty(t, d.Refs, "%s: %s names no designator", name, d.Message)
			}
		}
		for range 3 { // maps change their order from one run to the next
			assert.Equal(t, Messages(found), Messages(Find(string(text))), name)
		}
	}
}

// Messages writes findings with all that hangs on them, one a line, to compare one run with another.
func Messages(list diag.List) []string {
	out := make([]string, len(list))
	for i, d := range list {
		out[i] = d.Message + " | " + d.Help + " | " + strings.Join(d.Refs, " ")
		for _, r := range d.Related {
			out[i] += " | " + r.Message
		}
	}
	return out
}
