package report

import (
	"encoding/json"
	"io"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
	"ferrule/rules"
)

// jsonVersion is the version of the JSON form. A key that is added keeps it; one that changes or goes raises it.
const jsonVersion = 1

type jsonReport struct {
	Version  int           `json:"version"`
	Findings []jsonFinding `json:"findings"`
	Summary  jsonSummary   `json:"summary"`
}

// jsonPlace is where words stand: lines from 1, columns in characters from 1, the end just after the last one.
type jsonPlace struct {
	File      string `json:"file"`
	Line      int    `json:"line"`
	Column    int    `json:"column"`
	EndLine   int    `json:"end_line"`
	EndColumn int    `json:"end_column"`
}

type jsonFinding struct {
	Rule     string `json:"rule"`
	Severity string `json:"severity"`
	Message  string `json:"message"`
	jsonPlace
	Refs    []string      `json:"refs"`
	Help    string        `json:"help"`
	Related []jsonRelated `json:"related"`
	Harm    string        `json:"harm"`  // of the rule: burns, strands or annoys; empty for mistakes of the text
	Under   int           `json:"under"` // index of the finding of the same cause that this one hangs under; -1 for none
	Fixes   []jsonFix     `json:"fixes"`
}

type jsonFix struct {
	Title string     `json:"title"`
	Safe  bool       `json:"safe"`
	Edits []jsonEdit `json:"edits"`
}

type jsonEdit struct {
	jsonPlace
	New string `json:"new"`
}

type jsonRelated struct {
	Message string `json:"message"`
	jsonPlace
}

type jsonSummary struct {
	Errors   int `json:"errors"`
	Warnings int `json:"warnings"`
	Notes    int `json:"notes"`
}

// JSON writes one object with the findings and how many there are of each severity. Every key is always there: a finding
// without help has an empty text, one without place the line 0.
func JSON(w io.Writer, list diag.List) error {
	r := jsonReport{
		Version: jsonVersion, Findings: make([]jsonFinding, len(list)),
		Summary: jsonSummary{Errors: list.Count(diag.Error), Warnings: list.Count(diag.Warning), Notes: list.Count(diag.Note)},
	}
	under := heads(list)
	for i, d := range list {
		f := jsonFinding{
			Rule: d.Rule, Severity: d.Severity.String(), Message: d.Message, jsonPlace: placeOf(d.Span),
			Refs: append([]string{}, d.Refs...), Help: d.Help, Related: make([]jsonRelated, len(d.Related)),
			Under: under[i], Fixes: fixesOf(d.Fixes),
		}
		if rule := rules.Find(d.Rule); rule != nil {
			f.Harm = rule.Harm.String()
		}
		for j, rel := range d.Related {
			f.Related[j] = jsonRelated{Message: rel.Message, jsonPlace: placeOf(rel.Span)}
		}
		r.Findings[i] = f
	}
	return encode(w, r)
}

// heads gives for each finding the index of the one that it hangs under, or -1.
func heads(list diag.List) []int {
	under := make([]int, len(list))
	index := map[string][]int{} // a list may hold two findings alike but for their places
	key := func(d *diag.Diagnostic) string { return at(d.Span) + d.Rule + "\x00" + d.Message }
	for i := range list {
		under[i] = -1
		index[key(&list[i])] = append(index[key(&list[i])], i)
	}
	for _, g := range rules.Grouped(list) {
		for j := range g.Under {
			for _, i := range index[key(&g.Under[j])] {
				under[i] = index[key(&g.Head)][0]
			}
		}
	}
	return under
}

func fixesOf(fixes []diag.Fix) []jsonFix {
	out := make([]jsonFix, len(fixes))
	for i, f := range fixes {
		out[i] = jsonFix{Title: f.Title, Safe: f.Safe, Edits: make([]jsonEdit, len(f.Edits))}
		for j, e := range f.Edits {
			out[i].Edits[j] = jsonEdit{jsonPlace: placeOf(e.Span), New: e.New}
		}
	}
	return out
}

func placeOf(s source.Span) jsonPlace {
	if s.IsZero() {
		return jsonPlace{}
	}
	begin, end := s.Begin(), s.Finish()
	return jsonPlace{File: s.File.Name, Line: begin.Line, Column: begin.Column, EndLine: end.Line, EndColumn: end.Column}
}

// encode writes JSON as people read it: indented, and without escapes for < > and &, which only web pages need.
func encode(w io.Writer, value any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(value)
}
