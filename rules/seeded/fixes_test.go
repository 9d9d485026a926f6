package seeded_test

import (
	"fmt"
	"maps"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/edit"
	"ferrule/netlist/graph"
	"ferrule/netlist/source"
	"ferrule/rules"
)

// fixStep takes every so many mutants of an example for the sample of fixes; a prime, as sampleStep.
const fixStep = 131

// TestSafeFixes breaks the examples in some of the ways, makes every fix that calls itself safe, each alone, and looks at the outcome: it
// can be read, and no error has come that neither the clean example nor the broken one had.
func TestSafeFixes(t *testing.T) {
	made := 0
	for _, name := range broken {
		v := load(t, name)
		for i := 0; i < len(v.mutants); i += fixStep {
			made += v.fix(t, v.mutants[i])
		}
	}
	assert.Positive(t, made, "the sample offers no safe fix, so it shows nothing")
	t.Logf("%d safe fixes made", made)
}

// fix makes the safe fixes of a mutant, and returns how many.
func (v *victim) fix(t *testing.T, m mutant) (made int) {
	t.Helper()
	files, found := v.judged(t, v.files, m.edits)
	errors := maps.Clone(v.found)
	for _, d := range found {
		errors[identity(d)] = true
	}
	for _, d := range found {
		for _, f := range d.Fixes {
			if !f.Safe {
				continue
			}
			made++
			what := fmt.Sprintf("%s: %s: %s: %s: %s", v.name, m.class, m.what, d.Rule, f.Title)
			_, after := v.judged(t, files, f.Edits)
			for _, a := range after {
				assert.True(t, a.Severity < diag.Error || errors[identity(a)], "%s brings %s: %s", what, a.Rule, a.Message)
			}
		}
	}
	return made
}

// judged makes edits in the files of an example, and returns the files with what is found in them.
func (v *victim) judged(t *testing.T, files fstest.MapFS, edits []source.Edit) (fstest.MapFS, diag.List) {
	t.Helper()
	revised, err := edit.ApplyAll(edits)
	require.NoError(t, err)
	files = maps.Clone(files)
	for _, r := range revised {
		files[r.File.Name] = &fstest.MapFile{Data: r.Text}
	}
	n, found, err := netlist.Load(files, v.name+".toml")
	require.NoError(t, err)
	return files, append(found, rules.Check(graph.New(n)).Findings...)
}
