package rules_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
	"ferrule/rules"
)

// TestGrouped: what the text gets wrong comes first, then what a mistake does counts more than how sure the rule is, notes
// come last, and a finding hangs under an earlier one that is about its main designator.
func TestGrouped(t *testing.T) {
	file := source.NewFile("a.toml", []byte("0123456789"))
	finding := func(rule string, severity diag.Severity, at int, refs ...string) diag.Diagnostic {
		return diag.Diagnostic{Rule: rule, Severity: severity, Span: file.Span(at, at+1), Refs: refs}
	}
	list := diag.List{
		finding("no-data", diag.Note, 0, "W1"),
		finding("no-data", diag.Warning, 1, "W2"), // raised by the harness
		finding("unknown-key", diag.Error, 2, "W1"),
		finding("no-data", diag.Error, 3, "W3", "W2"),
		finding("no-data", diag.Note, 4, "W1"),
	}
	groups := rules.Grouped(list)
	require.Len(t, groups, 3)
	assert.Equal(t, rules.OfTheText, groups[0].Rank)
	assert.Empty(t, groups[0].Under, "what the rules lack is not the text's mistake")
	assert.Equal(t, rules.ThatAnnoys, groups[1].Rank)
	assert.Equal(t, "W3", groups[1].Head.Refs[0], "an error before a warning")
	require.Len(t, groups[1].Under, 1)
	assert.Equal(t, "W2", groups[1].Under[0].Refs[0])
	assert.Equal(t, rules.Remarks, groups[2].Rank)
	assert.Len(t, groups[2].Under, 1)
}

// TestGroupedByCause: what follows from a finding hangs under it wherever it stands, is it the worse one or the first; remarks do not.
func TestGroupedByCause(t *testing.T) {
	file := source.NewFile("a.toml", []byte("0123456789"))
	finding := func(rule string, severity diag.Severity, at int, after string, refs ...string) diag.Diagnostic {
		return diag.Diagnostic{Rule: rule, Severity: severity, Span: file.Span(at, at+1), Refs: refs, After: after}
	}
	groups := rules.Grouped(diag.List{
		finding("no-data", diag.Error, 0, "no-data W9", "F1"),
		finding("no-data", diag.Error, 1, "", "W2"),
		finding("no-data", diag.Warning, 2, "", "W9"),
		finding("no-data", diag.Warning, 3, "no-data W9", "E1"),
		finding("no-data", diag.Note, 4, "no-data W9", "E2"),
		finding("no-data", diag.Error, 5, "no-data W7", "E3"),
	})
	require.Len(t, groups, 4)
	assert.Equal(t, "W9", groups[0].Head.Refs[0])
	require.Len(t, groups[0].Under, 2)
	assert.Equal(t, "F1", groups[0].Under[0].Refs[0])
	assert.Equal(t, "W2", groups[1].Head.Refs[0])
	assert.Equal(t, "E3", groups[2].Head.Refs[0], "its cause is not in the list")
	assert.Equal(t, rules.Remarks, groups[3].Rank)
}
