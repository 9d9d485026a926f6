package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/rules"
)

// rulesPage is the reference of the rules, made from what the rules say of themselves.
const rulesPage = "../../rules/RULES.md"

// TestRulesPageIsCurrent compares the reference with the rules; with -update it writes it.
func TestRulesPageIsCurrent(t *testing.T) {
	want := rulesReference()
	if *update {
		require.NoError(t, os.WriteFile(rulesPage, []byte(want), 0o644))
	}
	got, err := os.ReadFile(rulesPage)
	require.NoError(t, err)
	assert.True(t, want == string(got), "the reference is out of date: run `go test ./cmd/ferrule -run RulesPage -update`")
}

func rulesReference() string {
	var b strings.Builder
	b.WriteString("# The rules\n\nMade from the rules themselves by `go test ./cmd/ferrule -run RulesPage -update`; do not edit.\n")
	b.WriteString("`ferrule explain RULE` prints the same. How severities are set and findings accepted: [../netlist/LANGUAGE.md](../netlist/LANGUAGE.md).\n\n")
	b.WriteString("| rule | severity | left alone, it | what it finds |\n|---|---|---|---|\n")
	for _, r := range rules.All() {
		fmt.Fprintf(&b, "| [%s](#%s) | %s | %s | %s |\n", r.Name, r.Name, r.Severity, r.Harm, r.Title)
	}
	for _, r := range rules.All() {
		fmt.Fprintf(&b, "\n## %s\n\n%s. Severity: %s, unless `[rules]` sets another. Left alone, it %s. Since version %s.\n\n%s\n\n", r.Name, capital(r.Title), r.Severity, r.Harm, r.Since, strings.TrimSpace(r.Doc))
		for _, set := range r.Settings {
			b.WriteString(r.Sets(set) + "\n\n")
		}
		b.WriteString("Sources:\n\n")
		for _, s := range r.Sources {
			fmt.Fprintf(&b, "- %s\n", s)
		}
		fmt.Fprintf(&b, "\nA harness that it finds fault with:\n\n```toml\n%s\n```\n\nThe same, repaired:\n\n```toml\n%s\n```\n", strings.Trim(r.Bad, "\n"), strings.Trim(r.Good, "\n"))
	}
	return b.String()
}

// capital begins a title with a capital letter; titles are plain English.
func capital(title string) string { return strings.ToUpper(title[:1]) + title[1:] }
