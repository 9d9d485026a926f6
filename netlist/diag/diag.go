// Package diag holds what the program has to say about a harness: diagnostics, each tied to the exact words it is about.
//
// It takes spans from netlist/source and gives lists that are sorted and free of repeats. It prints nothing: terminal,
// JSON and sheets each render the same list in their own package.
package diag

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/source"
)

// Severity says how bad a finding is. Its zero value is invalid on purpose, so that a forgotten one shows.
type Severity uint8

// The severities, the worst last.
const (
	Invalid Severity = iota
	Note
	Warning
	Error
)

var severityNames = [...]string{"invalid", "note", "warning", "error"}

// String returns the word that the language and the reports use.
func (s Severity) String() string { return severityNames[min(int(s), len(severityNames)-1)] }

// ParseSeverity reads "error", "warning" or "note".
func ParseSeverity(word string) (Severity, bool) {
	for s := Note; s <= Error; s++ {
		if s.String() == word {
			return s, true
		}
	}
	return Invalid, false
}

// A Diagnostic is one thing that is wrong, at one place.
type Diagnostic struct {
	Rule     string      // the rule's name, or the language's own: "syntax", "unknown-key", ...
	Severity Severity    // how bad
	Span     source.Span // the exact words that are wrong
	Message  string      // what is wrong, one sentence, no full stop
	Help     string      // what to do about it; may be empty
	Related  []Related   // other places that had a part in it, in the order that explains it
	Refs     []string    // the designators involved, the main one first
	Fixes    []Fix       // changes of the text that would put it right, the best first
	After    string      // what Key gives of the finding that this one follows from; may be empty
}

// Key names a finding by its rule and what it is about.
func (d *Diagnostic) Key() string {
	if len(d.Refs) == 0 {
		return d.Rule
	}
	return d.Rule + " " + d.Refs[0]
}

// A Fix is a change of the text that puts a finding right. All its edits belong together.
type Fix struct {
	Title string // what it does: "remove this acceptance"
	Safe  bool   // it is the one right change and can be made without asking; otherwise somebody must choose
	Edits []source.Edit
}

// Related is a further place that explains a diagnostic. Its span may be zero (a fact without a line of its own).
type Related struct {
	Span    source.Span
	Message string
}

// A List is what one run has to say. Order is by place once Sort has been called.
type List []Diagnostic

// Errorf appends an error about the words at span.
func (l *List) Errorf(rule string, span source.Span, format string, args ...any) *Diagnostic {
	*l = append(*l, Diagnostic{Rule: rule, Severity: Error, Span: span, Message: fmt.Sprintf(format, args...)})
	return &(*l)[len(*l)-1]
}

// Sort orders the list by place, then severity (worst first), rule and message, and drops exact repeats.
func (l *List) Sort() {
	slices.SortStableFunc(*l, func(a, b Diagnostic) int {
		if a.Span != b.Span {
			if a.Span.Before(b.Span) {
				return -1
			}
			if b.Span.Before(a.Span) {
				return 1
			}
		}
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Message, b.Message))
	})
	*l = slices.CompactFunc(*l, func(a, b Diagnostic) bool {
		return a.Span == b.Span && a.Severity == b.Severity && a.Rule == b.Rule && a.Message == b.Message
	})
}

// HasErrors reports whether anything in the list is an error.
func (l List) HasErrors() bool { return l.Count(Error) > 0 }

// Count returns how many diagnostics have exactly the given severity.
func (l List) Count(s Severity) int {
	n := 0
	for i := range l {
		if l[i].Severity == s {
			n++
		}
	}
	return n
}

// AtLeast returns the diagnostics that are as bad as s or worse.
func (l List) AtLeast(s Severity) List {
	var out List
	for _, d := range l {
		if d.Severity >= s {
			out = append(out, d)
		}
	}
	return out
}

// Nearest returns the candidate that word was probably meant to be: the one with the smallest edit distance, if that is
// small against the length of the word. Case does not count. Among equals the first in sorted order wins.
func Nearest(word string, candidates []string) (string, bool) {
	limit := min(3, 1+len([]rune(word))/3)
	best, bestDistance := "", limit+1
	for _, c := range candidates {
		if c == word {
			continue
		}
		d := editDistance(strings.ToLower(word), strings.ToLower(c), bestDistance)
		if d < bestDistance || d == bestDistance && d <= limit && c < best {
			best, bestDistance = c, d
		}
	}
	return best, bestDistance <= limit
}

// editDistance counts insertions, deletions, replacements and swaps of neighbours (optimal string alignment); it gives
// up with a value above stop when the answer cannot be stop or less.
func editDistance(a, b string, stop int) int {
	x, y := []rune(a), []rune(b)
	if d := len(x) - len(y); d > stop || -d > stop {
		return stop + 1
	}
	before, prev, cur := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(x); i++ {
		cur[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				cur[j] = min(cur[j], before[j-2]+1)
			}
		}
		before, prev, cur = prev, cur, before
	}
	return prev[len(y)]
}
