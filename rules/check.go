package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// Options narrow a check. The zero value runs every rule in every state.
type Options struct {
	Only   []string // names of the rules to run; all when empty
	Except []string // names of rules not to run
	State  string   // the one state to look at; all when empty
}

func (o *Options) runs(name string) bool {
	return (len(o.Only) == 0 || slices.Contains(o.Only, name)) && !slices.Contains(o.Except, name)
}

// A Result is what a check of a harness found.
type Result struct {
	Findings diag.List // what stands
	Accepted []Accepted
	NoData   int // checks that were not made because the file does not say enough
}

// Accepted is a finding that somebody has looked at, with the reason.
type Accepted struct {
	Finding diag.Diagnostic
	Because string
}

// Check runs all rules over a graph. Findings come sorted by place; accepted ones come apart, with their reasons.
func Check(g *graph.Graph) Result { return CheckWith(g, Options{}) }

// CheckWith is Check with some rules, or in one state. Names that are none, in Only or Except, choose nothing.
func CheckWith(g *graph.Graph, o Options) Result {
	facts := newFacts(g, o.State)
	if len(o.Only) == 0 {
		facts.prepare()
	}
	configured, problems := configuration(g.Netlist)
	var found diag.List
	var lacks []lack
	solving, upset := map[string]bool{}, ""
	for _, pass := range runAll(facts, o, configured) {
		set := configured[pass.rule.Name]
		lacks = append(lacks, pass.lacks...)
		found = append(found, set.apply(pass.found)...)
		upset = cmp.Or(upset, pass.upset)
		if pass.follows {
			solving[pass.rule.Name] = true
		}
		if pass.solves.Load() {
			lacks = append(lacks, unsolved(facts, pass.rule.Name)...)
			solving[pass.rule.Name] = true
		}
	}
	followUp(found, solving, upset)
	var result Result
	var notes diag.List
	notes, result.NoData = missing(lacks)
	if set := configured[noData.Name]; !set.off && o.runs(noData.Name) {
		found = append(found, set.apply(notes)...)
	}
	found.Sort()
	accept(g.Netlist, found, func(rule string) bool { return configured[rule].off || !o.runs(rule) || o.State != "" }, &result)
	result.Findings = append(result.Findings, problems...)
	result.Findings.Sort()
	return result
}

// runAll runs the rules that are wanted and returns what they found, in the order of their names. Those that ask for the fault
// study run last: it takes longest to work out, and the others need not wait for it.
func runAll(facts *Facts, o Options, configured map[string]setup) []*Pass {
	var passes []*Pass
	for _, r := range All() {
		if set := configured[r.Name]; !set.off && o.runs(r.Name) {
			passes = append(passes, &Pass{Facts: facts, rule: r, settings: set.values})
		}
	}
	for _, late := range []bool{false, true} {
		for _, pass := range passes {
			if pass.rule.Late == late {
				pass.rule.Run(pass)
			}
		}
	}
	return passes
}

// followUp lets what rules found in the solved circuit, or by what is live in a state, follow from the finding that upsets it, if there is one.
func followUp(found diag.List, solving map[string]bool, upset string) {
	for i := range found {
		if d := &found[i]; upset != "" && solving[d.Rule] && d.Key() != upset {
			d.After = upset
		}
	}
}

// A setup is what a harness says of one rule.
type setup struct {
	severity diag.Severity // diag.Invalid when it sets none
	off      bool
	values   map[string]float64
}

// apply sets the severity of findings, if the harness has one set.
func (s *setup) apply(found diag.List) diag.List {
	if s.severity != diag.Invalid {
		for i := range found {
			found[i].Severity = s.severity
		}
	}
	return found
}

// configuration reads `[rules]`.
func configuration(n *model.Netlist) (map[string]setup, diag.List) {
	configured := map[string]setup{}
	var problems diag.List
	for _, s := range n.Severities {
		rule := Find(s.Rule.Text)
		if rule == nil {
			unknownRule(&problems, s.Rule)
			continue
		}
		set := setup{off: s.Severity.Text == "off", values: map[string]float64{}}
		set.severity, _ = diag.ParseSeverity(s.Severity.Text)
		if rule.Stops && (set.off || set.severity != diag.Invalid && set.severity < rule.Severity) {
			problems.Errorf("bad-value", s.Rule.Span, "rule %s cannot be switched off or made milder", rule.Name).Help = "take the line out"
			continue
		}
		for _, setting := range s.Settings {
			set.read(rule, setting, &problems)
		}
		configured[rule.Name] = set
	}
	return configured, problems
}

func (s *setup) read(rule *Rule, given model.RuleSetting, problems *diag.List) {
	known := rule.setting(given.Key.Text)
	if known == nil {
		d := problems.Errorf("unknown-key", given.Key.Span, "rule %s has no setting %q", rule.Name, given.Key.Text)
		names := []string{"severity"}
		for _, k := range rule.Settings {
			names = append(names, k.Key)
		}
		d.Help = "it has: " + strings.Join(names, ", ")
		return
	}
	value, _, err := unit.Parse(given.Value.Text, known.Dim)
	if err != nil {
		problems.Errorf("bad-value", given.Value.Span, "%v", err).Help = known.Doc
		return
	}
	s.values[known.Key] = value
}

func unknownRule(problems *diag.List, name model.Name) {
	d := problems.Errorf("unknown-name", name.Span, "there is no rule %q", name.Text)
	d.Help = "`ferrule explain` lists the rules"
	if near, ok := diag.Nearest(name.Text, Names()); ok {
		d.Help = fmt.Sprintf("did you mean %q?", near)
	}
}
