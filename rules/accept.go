package rules

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

// accept parts the findings that an `[[accept]]` covers from those that stand, and adds findings about acceptances that
// cover nothing, give no reason, or have run out. What a rule that is silent in this run would find, nobody knows.
func accept(n *model.Netlist, found diag.List, silent func(rule string) bool, r *Result) {
	var notes diag.List
	used := make([]bool, len(n.Accepts))
	usable := make([]bool, len(n.Accepts))
	for i, a := range n.Accepts {
		usable[i] = judge(n, a, &notes)
	}
	for _, d := range found {
		covered := false
		for i, a := range n.Accepts {
			if usable[i] && a.Rule.Text == d.Rule && covers(a.At.Text, d.Refs) {
				used[i] = true
				if !covered {
					r.Accepted = append(r.Accepted, Accepted{Finding: d, Because: a.Because.Text})
				}
				covered = true
			}
		}
		if !covered {
			r.Findings = append(r.Findings, d)
		}
	}
	for i, a := range n.Accepts {
		if usable[i] && !used[i] && !silent(a.Rule.Text) {
			notes = append(notes, stale(n, a, r.Findings))
		}
	}
	r.Findings = append(r.Findings, notes...)
}

// stale is the finding about an acceptance that covers nothing. Where nothing in the file has the name of its place, and the rule finds
// something at a place of nearly that name, the name is misspelt rather than the acceptance past: taking it out would lose the reason.
func stale(n *model.Netlist, a *model.Accept, standing diag.List) diag.Diagnostic {
	d := diag.Diagnostic{
		Rule: "stale-accept", Severity: diag.Warning, Span: a.Span, Refs: refsOf(a),
		Message: "nothing at " + a.At.Text + " is found by rule " + a.Rule.Text + " any more",
		Help:    "remove this acceptance, so that the next finding there is seen",
	}
	part, _, _ := strings.Cut(a.At.Text, ":")
	if n.Owner(part) == nil && n.Wire(part) == nil {
		var places []string
		for _, f := range standing {
			if f.Rule == a.Rule.Text {
				places = append(places, f.Refs...)
			}
		}
		if near, ok := diag.Nearest(a.At.Text, places); ok {
			d.Message = "there is no " + a.At.Text + " for rule " + a.Rule.Text + " to find anything at"
			d.Help = fmt.Sprintf("did you mean at = %q? If not, remove this acceptance", near)
			d.Fixes = []diag.Fix{{Title: "accept it at " + near, Edits: []source.Edit{{Span: a.At.Span, New: strconv.Quote(near)}}}}
			return d
		}
	}
	d.Fixes = without(a)
	return d
}

// without is the fix that takes an acceptance out, with the comment behind its last line; comments above it belong to
// whoever wrote them, and stay. Acceptances written as a list in one line have none.
func without(a *model.Accept) []diag.Fix {
	text, last := a.Span.File.Text, a.Span.End // the span is that of the header
	for _, n := range []model.Name{a.Rule, a.At, a.Because, a.Until} {
		last = max(last, n.Span.End)
	}
	if !bytes.HasPrefix(text[a.Span.Start:], []byte("[[")) {
		return nil
	}
	rest, _, _ := bytes.Cut(text[last:], []byte("\n"))
	if trimmed := bytes.TrimSpace(rest); len(trimmed) > 0 && trimmed[0] != '#' {
		return nil
	}
	end := min(int(last)+len(rest)+1, len(text))
	return []diag.Fix{{Title: "remove this acceptance", Safe: true, Edits: []source.Edit{{Span: a.Span.File.Span(int(a.Span.Start), end)}}}}
}

// covers reports whether a place names one of the designators of a finding; a designator covers its terminals.
func covers(at string, refs []string) bool {
	for _, ref := range refs {
		if ref == at || strings.HasPrefix(ref, at+":") {
			return true
		}
	}
	return false
}

func refsOf(a *model.Accept) []string {
	if !a.At.IsSet() {
		return nil
	}
	return []string{a.At.Text}
}

// judge reports what is wrong with an acceptance itself, and whether it may cover findings.
func judge(n *model.Netlist, a *model.Accept, notes *diag.List) bool {
	problem := func(message, help string) bool {
		*notes = append(*notes, diag.Diagnostic{Rule: "bad-accept", Severity: diag.Warning, Span: a.Span, Refs: refsOf(a), Message: message, Help: help})
		return false
	}
	switch {
	case !a.Rule.IsSet() || !a.At.IsSet():
		return problem("this acceptance does not say of which rule and where", `add rule = "ground-loop" and at = "X4:9"`)
	case Find(a.Rule.Text) == nil:
		unknownRule(notes, a.Rule)
		return false
	case Find(a.Rule.Text).Stops:
		return problem("no acceptance covers what "+a.Rule.Text+" finds", "take the circuit out of the netlist; where a word is taken wrongly, choose another title")
	case !a.Because.IsSet():
		return problem("this acceptance gives no reason", `add because = "...": the next reader must be able to judge it`)
	case a.Until.IsSet() && !n.Harness.Revision.IsSet():
		return problem("this acceptance runs until revision "+a.Until.Text+", and the harness states none", `add revision = "A" under [harness], and raise it when the wiring changes`)
	case a.Until.IsSet() && shape(a.Until.Text) != shape(n.Harness.Revision.Text):
		return problem("revisions of this harness are named like "+n.Harness.Revision.Text+", and until = "+strconv.Quote(a.Until.Text)+" never comes",
			"write the first revision in which it no longer counts, named as the harness names them")
	case a.Until.IsSet() && !earlier(n.Harness.Revision.Text, a.Until.Text):
		return problem("this acceptance ran until revision "+a.Until.Text+"; the harness is at "+n.Harness.Revision.Text, "repair what it covers, or look at it again and move the revision on")
	}
	return true
}

// shape is how a revision is named: each run of capitals, small letters or digits becomes one sign. Only revisions of one shape count up
// into each other.
func shape(revision string) string {
	var b strings.Builder
	last := rune(0)
	for _, r := range revision {
		switch {
		case unicode.IsDigit(r):
			r = '9'
		case unicode.IsUpper(r):
			r = 'A'
		case unicode.IsLower(r):
			r = 'a'
		}
		if r != last || r != '9' && r != 'A' && r != 'a' {
			b.WriteRune(r)
		}
		last = r
	}
	return b.String()
}

// earlier reports whether revision a comes before b. Letters and numbers both count up by getting longer: Z before AA, 9
// before 10.
func earlier(a, b string) bool {
	if len(a) != len(b) {
		return len(a) < len(b)
	}
	return a < b
}
