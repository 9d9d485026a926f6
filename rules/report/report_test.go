package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/source"
	"ferrule/rules"
	_ "ferrule/rules/all"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// golden compares a text with a file under testdata; with -update it writes the file.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got, "if this is meant, run: go test ./rules/report -update")
}

// brokenExample is what is found in the example with five mistakes: real findings, with chains and help.
func brokenExample(t *testing.T) diag.List {
	t.Helper()
	n, found, err := netlist.Load(os.DirFS("../../examples/broken"), "broken.toml")
	require.NoError(t, err)
	found = append(found, rules.CheckWith(graph.New(n), rules.Options{Only: shown}).Findings...)
	require.Len(t, found, 5)
	return found
}

// shown are the rules whose mistakes the example was written for; reports look the same for every rule.
var shown = []string{"color-clash", "ground-loop", "net-short", "unfused-feed", "unterminated-pin"}

// shownRules are these rules.
func shownRules() []*rules.Rule {
	var out []*rules.Rule
	for _, name := range shown {
		out = append(out, rules.Find(name))
	}
	return out
}

func render(t *testing.T, write func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b))
	return b.String()
}

func TestReportsOfTheBrokenExample(t *testing.T) {
	list := brokenExample(t)
	for name, write := range map[string]func(io.Writer) error{
		"broken.txt":       func(w io.Writer) error { return Text(w, list, Options{}) },
		"broken-color.txt": func(w io.Writer) error { return Text(w, list, Options{Color: true}) },
		"broken-80.txt":    func(w io.Writer) error { return Text(w, list, Options{Width: 80}) },
		"broken-lines.txt": func(w io.Writer) error { return Lines(w, list) },
		"broken.json":      func(w io.Writer) error { return JSON(w, list) },
		"broken.sarif":     func(w io.Writer) error { return SARIF(w, list, shownRules()) },
	} {
		t.Run(name, func(t *testing.T) { golden(t, name, render(t, write)) })
	}
}

// at makes a finding about the first words in a text.
func findingAt(text, words string) diag.Diagnostic {
	file := source.NewFile("odd name#1.toml", []byte(text))
	start := strings.Index(text, words)
	return diag.Diagnostic{Rule: "syntax", Severity: diag.Error, Span: file.Span(start, start+len(words)), Message: "wrong"}
}

// TestCaretsStandUnderTheWords: a terminal shows a tab as some columns, an East Asian wide character as two (Unicode
// Standard Annex 11) and a combining mark as none.
func TestCaretsStandUnderTheWords(t *testing.T) {
	for _, c := range []struct{ name, text, words, line, carets string }{
		{"plain", "a = wrong # b", "wrong", "a = wrong # b", "    ^^^^^"},
		{"first line", "wrong", "wrong", "wrong", "^^^^^"},
		{"tab before", "\ta\twrong", "wrong", "    a   wrong", "        ^^^^^"},
		{"tab within", "a\tb", "a\tb", "a   b", "^^^^^"},
		{"wide before", "\"配線\" wrong", "wrong", "\"配線\" wrong", "       ^^^^^"},
		{"wide within", "x 配線", "配線", "x 配線", "  ^^^^"},
		{"combining mark", "e\u0301 wrong", "wrong", "e\u0301 wrong", "  ^^^^^"},
		{"ohm and micro", "µΩ wrong", "wrong", "µΩ wrong", "   ^^^^^"},
		{"nothing", "a = ", "", "a =", "^"},
		{"over the line's end", "a = [\n1,\n]", "[\n1,\n]", "a = [", "    ^"},
		{"control character", "a\x01 wrong", "wrong", "a\uFFFD wrong", "   ^^^^^"},
		{"broken UTF-8", "\xff wrong", "wrong", "\uFFFD wrong", "  ^^^^^"},
		{"carriage return", "wrong\r\nnext", "wrong", "wrong", "^^^^^"},
	} {
		t.Run(c.name, func(t *testing.T) {
			list := diag.List{findingAt(c.text, c.words)}
			lines := strings.Split(render(t, func(w io.Writer) error { return Text(w, list, Options{}) }), "\n")
			require.GreaterOrEqual(t, len(lines), 3)
			assert.Equal(t, "    1 | "+c.line, lines[1])
			assert.Equal(t, "      | "+c.carets, lines[2])
		})
	}
}

func TestLongLinesAreCutAroundTheWords(t *testing.T) {
	long := strings.Repeat("abcde ", 30)
	for name, c := range map[string]struct{ text, words string }{
		"at the beginning": {"wrong " + long, "wrong"}, "in the middle": {long + "wrong " + long, "wrong"},
		"at the end": {long + "wrong", "wrong"}, "everything": {long, long},
	} {
		t.Run(name, func(t *testing.T) {
			list := diag.List{findingAt(c.text, c.words)}
			lines := strings.Split(render(t, func(w io.Writer) error { return Text(w, list, Options{Width: 60}) }), "\n")
			for _, line := range lines[1:3] {
				assert.LessOrEqual(t, columns(line), 60, line)
			}
			at := strings.Index(lines[2], "^")
			assert.True(t, strings.HasPrefix(lines[1][at:], c.words[:5]), "%s\n%s", lines[1], lines[2])
		})
	}
}

func TestLinesAreOneLineEach(t *testing.T) {
	list := diag.List{findingAt("a = wrong", "wrong"), {Rule: "net-short", Severity: diag.Note, Message: "a fact without place"}}
	assert.Equal(t, "odd name#1.toml:1:5: error: wrong [syntax]\nnote: a fact without place [net-short]\n", render(t, func(w io.Writer) error { return Lines(w, list) }))
}

func TestSummary(t *testing.T) {
	of := func(severities ...diag.Severity) diag.List {
		var list diag.List
		for _, s := range severities {
			list = append(list, diag.Diagnostic{Severity: s})
		}
		return list
	}
	assert.Equal(t, "no findings", Summary(nil))
	assert.Equal(t, "1 error", Summary(of(diag.Error)))
	assert.Equal(t, "2 errors, 1 warning", Summary(of(diag.Warning, diag.Error, diag.Error)))
	assert.Equal(t, "1 warning, 2 notes", Summary(of(diag.Note, diag.Warning, diag.Note)))
}

// TestNothingFound: no text, but whole JSON and SARIF, in which lists are lists and not null.
func TestNothingFound(t *testing.T) {
	assert.Empty(t, render(t, func(w io.Writer) error { return Text(w, nil, Options{Color: true}) }))
	assert.JSONEq(t, `{"version": 1, "findings": [], "summary": {"errors": 0, "warnings": 0, "notes": 0}}`, render(t, func(w io.Writer) error { return JSON(w, nil) }))
	assert.Contains(t, render(t, func(w io.Writer) error { return SARIF(w, nil, nil) }), `"results": []`)
}

func TestJSONOfAFindingWithoutPlace(t *testing.T) {
	list := diag.List{{Rule: "net-short", Severity: diag.Note, Message: "a < b & c", Related: []diag.Related{{Message: "why"}}}}
	text := render(t, func(w io.Writer) error { return JSON(w, list) })
	assert.Contains(t, text, "a < b & c", "no escapes for web pages")
	assert.JSONEq(t, `{"version": 1, "summary": {"errors": 0, "warnings": 0, "notes": 1}, "findings": [{
		"rule": "net-short", "severity": "note", "message": "a < b & c", "file": "", "line": 0, "column": 0, "end_line": 0, "end_column": 0,
		"refs": [], "help": "", "related": [{"message": "why", "file": "", "line": 0, "column": 0, "end_line": 0, "end_column": 0}],
		"harm": "burns", "under": -1, "fixes": []}]}`, text)
}

// TestSARIFIsWhatTheStandardAsks holds the log to rules of SARIF 2.1.0 (OASIS Standard, 27 March 2020), by section.
func TestSARIFIsWhatTheStandardAsks(t *testing.T) {
	list := append(brokenExample(t), findingAt("a = wrong", "wrong"), diag.Diagnostic{Rule: "syntax", Severity: diag.Warning, Message: "nowhere"})
	var log struct {
		Version string
		Runs    []struct {
			ColumnKind string
			Tool       struct {
				Driver struct {
					Name  string
					Rules []struct {
						ID                   string
						DefaultConfiguration struct{ Level string }
					}
				}
			}
			Results []struct {
				RuleID    string
				RuleIndex *int
				Level     string
				Message   struct{ Text string }
				Locations []struct {
					PhysicalLocation struct {
						ArtifactLocation struct{ URI string }
						Region           struct{ StartLine, StartColumn, EndLine, EndColumn int }
					}
				}
				RelatedLocations []struct{ ID int }
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(render(t, func(w io.Writer) error { return SARIF(w, list, rules.All()) })), &log))
	assert.Equal(t, "2.1.0", log.Version) // 3.13.2
	require.Len(t, log.Runs, 1)
	run := log.Runs[0]
	assert.Equal(t, "unicodeCodePoints", run.ColumnKind) // 3.14.17
	assert.NotEmpty(t, run.Tool.Driver.Name)             // 3.19.8
	require.Len(t, run.Results, len(list))
	for i, r := range run.Results {
		assert.Contains(t, []string{"error", "warning", "note"}, r.Level) // 3.27.10
		assert.NotEmpty(t, r.Message.Text)                                // 3.11
		if r.RuleIndex != nil {                                           // 3.27.6: the index leads to the descriptor of that ID
			assert.Equal(t, r.RuleID, run.Tool.Driver.Rules[*r.RuleIndex].ID)
		}
		assert.Equal(t, rules.Find(r.RuleID) != nil, r.RuleIndex != nil)
		for _, l := range r.Locations {
			region := l.PhysicalLocation.Region // 3.30.2: lines and columns count from 1
			assert.Positive(t, region.StartLine)
			assert.Positive(t, region.StartColumn)
			assert.True(t, region.EndLine > region.StartLine || region.EndColumn > region.StartColumn)
		}
		assert.Len(t, r.RelatedLocations, len(list[i].Related))
		for j, l := range r.RelatedLocations {
			assert.Equal(t, j+1, l.ID) // 3.28.2: unique within the result
		}
	}
	assert.Equal(t, "odd%20name%231.toml", run.Results[5].Locations[0].PhysicalLocation.ArtifactLocation.URI) // RFC 3986
	assert.Empty(t, run.Results[6].Locations)
}

// TestSARIFIsValid holds the log against the schema of the standard (OASIS, SARIF 2.1.0 with errata 01; the copy in testdata
// was taken from a public domain library that carries it, unchanged).
func TestSARIFIsValid(t *testing.T) {
	schema := jsonschema.NewCompiler()
	file, err := os.Open("testdata/sarif-schema-2.1.0.json")
	require.NoError(t, err)
	defer file.Close()
	text, err := jsonschema.UnmarshalJSON(file)
	require.NoError(t, err)
	require.NoError(t, schema.AddResource("sarif.json", text))
	compiled, err := schema.Compile("sarif.json")
	require.NoError(t, err)
	validate := func(log string) error {
		parsed, err := jsonschema.UnmarshalJSON(strings.NewReader(log))
		require.NoError(t, err)
		return compiled.Validate(parsed)
	}
	list := append(brokenExample(t), withFix(), diag.Diagnostic{Rule: "include", Severity: diag.Error, Message: "without a place"})
	log := render(t, func(w io.Writer) error { return SARIF(w, list, rules.All()) })
	require.NoError(t, validate(log))
	assert.Contains(t, log, "artifactChanges")
	assert.Error(t, validate(strings.Replace(log, `"level": "error"`, `"level": "severe"`, 1)), "the schema sees what is wrong")
}

// withFix is a finding that carries a change of two places.
func withFix() diag.Diagnostic {
	d := findingAt("a = wrong # b", "wrong")
	d.Fixes = []diag.Fix{{Title: "write it right", Safe: true, Edits: []source.Edit{
		{Span: d.Span, New: "right"}, {Span: d.Span.File.Span(9, 13)},
	}}}
	return d
}

func TestFixesInJSON(t *testing.T) {
	var out struct {
		Findings []struct {
			Harm  string
			Under int
			Fixes []struct {
				Title string
				Safe  bool
				Edits []struct {
					Line, Column int
					New          string
				}
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(render(t, func(w io.Writer) error { return JSON(w, diag.List{withFix()}) })), &out))
	require.Len(t, out.Findings, 1)
	f := out.Findings[0]
	assert.Equal(t, -1, f.Under)
	require.Len(t, f.Fixes, 1)
	require.Len(t, f.Fixes[0].Edits, 2)
	assert.Equal(t, "right", f.Fixes[0].Edits[0].New)
	assert.Equal(t, 10, f.Fixes[0].Edits[1].Column)
}

// TestOneCauseIsShownOnce: of two findings about one wire the worse is told in full, the other in a line below it.
func TestOneCauseIsShownOnce(t *testing.T) {
	file := source.NewFile("a.toml", []byte("W1 = 1\nW2 = 2\n"))
	list := diag.List{
		{Rule: "color-clash", Severity: diag.Warning, Span: file.Span(0, 2), Message: "the colour", Refs: []string{"W1"}, Help: "paint it"},
		{Rule: "unfused-feed", Severity: diag.Error, Span: file.Span(0, 2), Message: "the fuse", Refs: []string{"W1", "F1"}},
		{Rule: "color-clash", Severity: diag.Note, Span: file.Span(7, 9), Message: "a remark", Refs: []string{"W1"}},
	}
	text := render(t, func(w io.Writer) error { return Text(w, list, Options{}) })
	assert.Equal(t, `What burns

a.toml:1:1: error[unfused-feed]: the fuse
    1 | W1 = 1
      | ^^
  with it a.toml:1:1: warning[color-clash]: the colour

Worth knowing

a.toml:2:1: note[color-clash]: a remark
    2 | W2 = 2
      | ^^
`, text)
	assert.Contains(t, render(t, func(w io.Writer) error { return JSON(w, list) }), `"under": 1`)
}

// failing is a writer that takes nothing, as a closed pipe does.
type failing struct{}

var errClosed = errors.New("closed")

func (failing) Write([]byte) (int, error) { return 0, errClosed }

func TestErrorsOfTheWriterAreReturned(t *testing.T) {
	list := diag.List{findingAt("a = wrong", "wrong")}
	assert.ErrorIs(t, Text(failing{}, list, Options{}), errClosed)
	assert.ErrorIs(t, Lines(failing{}, list), errClosed)
	assert.ErrorIs(t, JSON(failing{}, list), errClosed)
	assert.ErrorIs(t, SARIF(failing{}, list, nil), errClosed)
}
