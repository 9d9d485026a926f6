package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
)

var noData = Register(&Rule{
	Name: "no-data", Severity: diag.Note, Harm: Annoys, Since: "0.2",
	Title: "a check could not be made, because the file does not say enough",
	Doc: `A harness without findings is not fine where nothing could be looked at: a wire without size and length has no voltage
drop, a connector without terminals fits everything. This rule says which data is missing, once for each cause, with the
designators that lack it and the rules that would have used it; the summary counts the checks that were not made.

Add what is known. What is not known today can wait: notes are shown with --at-least note, and an acceptance with a reason
puts a cause aside.`,
	Sources: []string{"common practice: what was not measured is not passed"},
	Bad: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
`,
	Run: func(p *Pass) {
		for _, w := range p.Netlist.Wires {
			if !w.Size.IsSet() {
				p.Lacks(noSize.what, noSize.help, w.Name.Span, w.Name.Text)
			}
			if _, known := p.Routes.Length(w); !known {
				p.Lacks(noLength.what, noLength.help, w.Name.Span, w.Name.Text)
			}
		}
		if len(p.Netlist.States) == 0 {
			for _, part := range p.Netlist.Parts { // all is looked at as it rests: what a switch or a relay feeds is dead then
				if len(part.Inside.Coils)+len(part.Inside.Open)+len(part.Inside.Positions) > 0 && !part.Spare.On {
					p.Lacks("state", `add [state.run] with switches = { S1 = "run" }, and one for each way in which the vehicle is used`, part.Name.Span, part.Name.Text)
					break
				}
			}
		}
		for _, m := range p.Circuit().Missing {
			if l := lackOf(&m); l.what != noSize.what && l.what != noLength.what {
				p.Lacks(l.what, l.help, m.At.Span, m.Ref)
			}
		}
	},
})

// What a wire may lack.
var (
	noSize   = lack{what: "size", help: `add size = "16 AWG" to each`}
	noLength = lack{what: "length, and no paths that give one,", help: `add length = "1.2 m", or places and paths between the ends`}
)

// lackOf is what the circuit misses, in the words of this rule.
func lackOf(m *circuit.Missing) lack {
	l := lack{what: m.What, help: "add " + m.Add, span: m.At.Span, ref: m.Ref}
	switch m.What {
	case "size":
		l.what, l.help = noSize.what, noSize.help
	case "length":
		l.what, l.help = noLength.what, noLength.help
	}
	return l
}

// unsolved is what a rule that asks for the solved circuit could not look at: for each cause one check that was not made as it should.
func unsolved(f *Facts, rule string) []lack {
	var lacks []lack
	for _, m := range f.Circuit().Missing {
		l := lackOf(&m)
		if !slices.ContainsFunc(lacks, func(other lack) bool { return other.what == l.what }) {
			l.rule = rule
			lacks = append(lacks, l)
		}
	}
	return lacks
}

// fewRules is how many rules a note names before it counts the rest.
const fewRules = 6

// missing turns what passes lacked into notes, one for each cause, and counts the checks that were not made.
func missing(lacks []lack) (diag.List, int) {
	byCause := map[string][]lack{}
	var causes []string
	for _, l := range lacks {
		if byCause[l.what] == nil {
			causes = append(causes, l.what)
		}
		byCause[l.what] = append(byCause[l.what], l)
	}
	var notes diag.List
	for _, cause := range causes {
		notes = append(notes, missingOne(cause, byCause[cause]))
	}
	return notes, len(lacks)
}

func missingOne(cause string, all []lack) diag.Diagnostic {
	slices.SortStableFunc(all, func(a, b lack) int {
		switch {
		case a.span.Before(b.span):
			return -1
		case b.span.Before(a.span):
			return 1
		}
		return cmp.Compare(a.rule, b.rule)
	})
	var refs, rules []string
	met := map[string]bool{}
	for _, l := range all {
		if !met[l.ref] {
			met[l.ref] = true
			refs = append(refs, l.ref)
		}
		if !slices.Contains(rules, l.rule) && l.rule != noData.Name {
			rules = append(rules, l.rule)
		}
	}
	slices.Sort(rules)
	message := fmt.Sprintf("no %s stated for %s", cause, Few(refs))
	if len(rules) > 0 {
		names := strings.Join(rules, ", ")
		if len(rules) > fewRules {
			names = Few(rules)
		}
		message += fmt.Sprintf(": %d %s of %s not made", len(all), Plural(len(all), "check", "checks"), names)
	}
	return diag.Diagnostic{Rule: noData.Name, Severity: diag.Note, Span: all[0].span, Refs: refs, Message: message, Help: all[0].help}
}
