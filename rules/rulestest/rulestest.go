// Package rulestest runs netlists that judge themselves: a comment below a line says which findings the line has, to the
// column. It takes files of netlist text, checks them and compares. It is imported by tests only and may import netlist
// and rules.
//
//	W1 = { from = "F1:2", to = "E1:1", color = "RED" }
//	#                                          ^^^^^ warning[color-clash]: not a colour
//
// The carets stand under the words of the finding; after them come its severity, its rule and a part of its message. Words
// that begin in the first column, where the number sign stands, are marked by "#<", with carets behind for the third
// character and on: "#<^ error[...]: ..."; a single character there by "#error[...]: ...".
// Several such comments below one line are as many findings. Findings that no comment announces fail the test, and so do
// comments that no finding matches.
package rulestest

import (
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

// comment is a comment that announces a finding.
var comment = regexp.MustCompile(`^#( *)(<?\^*) ?(error|warning|note)\[([a-z0-9-]+)\]: *(.*)$`)

// An Expectation is a finding that a comment announces. Columns count characters from 1; End is the column after the last.
type Expectation struct {
	File                string
	Line, Column, End   int
	Severity, Rule, Has string
}

// String writes the expectation as it would be looked for in a file.
func (e Expectation) String() string {
	return fmt.Sprintf("%s:%d:%d-%d: %s[%s]: %s", e.File, e.Line, e.Column, e.End, e.Severity, e.Rule, e.Has)
}

// Expectations reads the comments of a text.
func Expectations(name, text string) []Expectation {
	var found []Expectation
	line := 0 // the last line that is no such comment
	for i, row := range strings.Split(text, "\n") {
		m := comment.FindStringSubmatch(strings.TrimRight(row, "\r"))
		if m == nil {
			line = i + 1
			continue
		}
		e := Expectation{File: name, Line: line, Severity: m[3], Rule: m[4], Has: m[5]}
		e.Column = 2 + len(m[1])
		e.End = e.Column + len(m[2])
		if m[1] == "" && !strings.HasPrefix(m[2], "^") { // the number sign stands for the first column
			e.Column = 1
		}
		found = append(found, e)
	}
	return found
}

// Dir runs every file *.toml of a folder as a netlist of its own. A folder without any fails.
func Dir(t *testing.T, files fs.FS, dir string) {
	t.Helper()
	names, err := fs.Glob(files, path.Join(dir, "*.toml"))
	require.NoError(t, err)
	require.NotEmpty(t, names, "no cases in %s", dir)
	for _, name := range names {
		t.Run(path.Base(name), func(t *testing.T) { File(t, files, name) })
	}
}

// File runs one netlist with all that it includes.
func File(t *testing.T, files fs.FS, name string) {
	t.Helper()
	n, found := load(t, files, name)
	compare(t, n, found)
}

// Example is File for a harness that people start from. Its notes are remarks: those that no comment announces are passed
// over; warnings and errors are not.
func Example(t *testing.T, files fs.FS, name string) {
	t.Helper()
	n, found := load(t, files, name)
	compare(t, n, withoutRemarks(n, found))
}

// withoutRemarks leaves out the notes that no comment announces.
func withoutRemarks(n *model.Netlist, found diag.List) diag.List {
	wanted := expected(n)
	return slices.DeleteFunc(slices.Clone(found), func(d diag.Diagnostic) bool {
		return d.Severity == diag.Note && !slices.ContainsFunc(wanted, func(e Expectation) bool { return e.matches(d) })
	})
}

func load(t *testing.T, files fs.FS, name string) (*model.Netlist, diag.List) {
	t.Helper()
	n, found, err := netlist.Load(files, name)
	require.NoError(t, err)
	return n, append(found, rules.Check(graph.New(n)).Findings...)
}

// Text runs the text of a netlist.
func Text(t *testing.T, text string) {
	t.Helper()
	for _, problem := range Differences(text) {
		assert.Fail(t, problem)
	}
}

// Differences checks the text of a netlist and says in words where its findings are not those that it announces.
func Differences(text string) []string {
	n, found := netlist.Parse("test.toml", []byte(text))
	return differences(n, append(found, rules.Check(graph.New(n)).Findings...))
}

// Find returns everything that is found in a text, the language's diagnostics first.
func Find(text string) diag.List {
	n, found := netlist.Parse("test.toml", []byte(text))
	return append(found, rules.Check(graph.New(n)).Findings...)
}

func compare(t *testing.T, n *model.Netlist, found diag.List) {
	t.Helper()
	for _, problem := range differences(n, found) {
		assert.Fail(t, problem)
	}
}

// differences says in words what was found without being announced, and the other way round.
func differences(n *model.Netlist, found diag.List) []string {
	wanted := expected(n)
	var problems []string
	for _, d := range found {
		i := slices.IndexFunc(wanted, func(e Expectation) bool { return e.matches(d) })
		if i < 0 && d.Rule == noData {
			continue // what a netlist of a test does not state is its own matter, unless it asks
		}
		if i < 0 {
			problems = append(problems, "unexpected finding "+describe(d))
			continue
		}
		wanted = slices.Delete(wanted, i, i+1)
	}
	for _, e := range wanted {
		problems = append(problems, "missing finding "+e.String())
	}
	return problems
}

func expected(n *model.Netlist) []Expectation {
	var wanted []Expectation
	for _, f := range n.Files {
		wanted = append(wanted, Expectations(f.Name, string(f.Text))...)
	}
	return wanted
}

// describe writes a finding as the comment that would announce it.
func describe(d diag.Diagnostic) string {
	if d.Span.IsZero() {
		return d.Severity.String() + "[" + d.Rule + "]: " + d.Message + " (without a place)"
	}
	begin, end := place(d)
	return Expectation{File: d.Span.File.Name, Line: begin.Line, Column: begin.Column, End: end, Severity: d.Severity.String(), Rule: d.Rule, Has: d.Message}.String()
}

func (e Expectation) matches(d diag.Diagnostic) bool {
	if d.Span.IsZero() {
		return false
	}
	begin, end := place(d)
	return d.Span.File.Name == e.File && begin.Line == e.Line && begin.Column == e.Column && end == e.End &&
		d.Severity.String() == e.Severity && d.Rule == e.Rule && strings.Contains(d.Message, e.Has)
}

// place returns where a finding begins and the column after its last character on that line.
func place(d diag.Diagnostic) (begin struct{ Line, Column int }, end int) {
	from, to := d.Span.Begin(), d.Span.Finish()
	begin.Line, begin.Column = from.Line, from.Column
	if to.Line == from.Line {
		return begin, to.Column
	}
	return begin, utf8.RuneCountInString(d.Span.File.Line(from.Line)) + 1
}
