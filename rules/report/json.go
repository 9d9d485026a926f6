package report

import (
	"encoding/json"
	"io"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
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
	for i, d := range list {
		f := jsonFinding{
			Rule: d.Rule, Severity: d.Severity.String(), Message: d.Message, jsonPlace: placeOf(d.Span),
			Refs: append([]string{}, d.Refs...), Help: d.Help, Related: make([]jsonRelated, len(d.Related)),
		}
		for j, rel := range d.Related {
			f.Related[j] = jsonRelated{Message: rel.Message, jsonPlace: placeOf(rel.Span)}
		}
		r.Findings[i] = f
	}
	return encode(w, r)
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
