// Package rules holds what a good auto-electrician sees when he looks over a harness: one rule a file, all of one shape.
//
// It takes a graph and gives findings as a diag.List; it prints nothing and reads nothing but the graph. It may import
// netlist and its sub-packages. Severities under `[rules]` and acceptances under `[[accept]]` are applied here, so that
// every rule can say what it sees and no rule needs to know what somebody has decided about it.
package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

// A Rule is one kind of mistake that the program can see.
type Rule struct {
	Name     string        // the word in findings, in `[rules]` and in `[[accept]]`; also the file's name
	Severity diag.Severity // unless the harness sets another
	Since    string        // version of the program that brought it
	Title    string        // the mistake, one line
	Doc      string        // what goes wrong in the vehicle, when the rule is right to fire, what to change
	Sources  []string      // standard or handbook with table or paragraph, or "common practice"
	Bad      string        // the smallest netlist that trips the rule
	Good     string        // the same, repaired
	Run      func(p *Pass)
}

var all []*Rule

// register adds a rule to the catalogue; the files of the rules call it once each.
func register(r *Rule) *Rule {
	all = append(all, r)
	return r
}

// All returns the rules sorted by name.
func All() []*Rule {
	rules := slices.Clone(all)
	slices.SortFunc(rules, func(a, b *Rule) int { return cmp.Compare(a.Name, b.Name) })
	return rules
}

// Find returns the rule of a name, or nil.
func Find(name string) *Rule {
	for _, r := range all {
		if r.Name == name {
			return r
		}
	}
	return nil
}

// Names returns the names of all rules, sorted.
func Names() []string {
	var names []string
	for _, r := range All() {
		names = append(names, r.Name)
	}
	return names
}

// A Pass is one run of one rule over one harness.
type Pass struct {
	*Facts
	rule  *Rule
	found diag.List
}

// Report adds a finding at the words of span, about the designators refs, the main one first. The diagnostic that it
// returns can be given help and related places until the next call.
func (p *Pass) Report(span source.Span, refs []string, format string, args ...any) *diag.Diagnostic {
	p.found = append(p.found, diag.Diagnostic{
		Rule: p.rule.Name, Severity: p.rule.Severity, Span: span, Refs: refs, Message: fmt.Sprintf(format, args...),
	})
	return &p.found[len(p.found)-1]
}

// Hops turns a path into related places, hop by hop, so that a reader can follow it in the file.
func (p *Pass) Hops(path []graph.Hop) []diag.Related {
	related := make([]diag.Related, len(path))
	for i, h := range path {
		related[i] = diag.Related{Span: p.Graph.Span(h), Message: p.Graph.Describe(h)}
	}
	return related
}

// A Result is what a check of a harness found.
type Result struct {
	Findings diag.List // what stands
	Accepted []Accepted
}

// Accepted is a finding that somebody has looked at, with the reason.
type Accepted struct {
	Finding diag.Diagnostic
	Because string
}

// Check runs the rules over a graph. Findings come sorted by place; accepted ones come apart, with their reasons.
func Check(g *graph.Graph) Result {
	facts := newFacts(g)
	severities, problems := configuration(g.Netlist)
	var found diag.List
	for _, r := range All() {
		severity, set := severities[r.Name]
		if set && severity == diag.Invalid {
			continue // switched off
		}
		pass := &Pass{Facts: facts, rule: r}
		r.Run(pass)
		for _, d := range pass.found {
			if set {
				d.Severity = severity
			}
			found = append(found, d)
		}
	}
	found.Sort()
	result := accept(g.Netlist, found, severities)
	result.Findings = append(result.Findings, problems...)
	result.Findings.Sort()
	return result
}

// configuration reads `[rules]`: a severity for each rule that has one set, diag.Invalid for "off".
func configuration(n *model.Netlist) (map[string]diag.Severity, diag.List) {
	severities := map[string]diag.Severity{}
	var problems diag.List
	for _, s := range n.Severities {
		if Find(s.Rule.Text) == nil {
			unknownRule(&problems, s.Rule)
			continue
		}
		severity, _ := diag.ParseSeverity(s.Severity.Text)
		severities[s.Rule.Text] = severity
	}
	return severities, problems
}

func unknownRule(problems *diag.List, name model.Name) {
	d := problems.Errorf("unknown-name", name.Span, "there is no rule %q", name.Text)
	d.Help = "the rules are: " + strings.Join(Names(), ", ")
	if near, ok := diag.Nearest(name.Text, Names()); ok {
		d.Help = fmt.Sprintf("did you mean %q?", near)
	}
}
