package rules

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
)

// What a check finds does not depend on which rules run first, and a rule that asks for the fault study runs last.
func TestLateRulesRunLast(t *testing.T) {
	n, diags := netlist.Parse("main.toml", []byte("[part]\nF1 = { kind = \"fuse\", rating = \"1 A\", spare = true }\n"))
	require.Empty(t, diags)
	before := registered
	defer func() { registered = before }()
	var ran []string
	note := func(p *Pass) {
		ran = append(ran, p.rule.Name)
		p.Report(n.Parts[0].Name.Span, nil, "found by %s", p.rule.Name)
	}
	registered = []*Rule{
		{Name: "a-late", Severity: diag.Note, Harm: Annoys, Late: true, Run: note},
		{Name: "b-early", Severity: diag.Note, Harm: Annoys, Run: note},
	}
	passes := runAll(newFacts(graph.New(n), ""), Options{}, nil)
	assert.Equal(t, []string{"b-early", "a-late"}, ran)
	assert.Equal(t, "a-late", passes[0].rule.Name)
}
