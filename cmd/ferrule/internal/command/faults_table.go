package command

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"ferrule/netlist/circuit/study"
	"ferrule/netlist/unit"
)

// The flags of the studies.
var (
	flagStudyFormat = &option{name: "format", takes: "FORMAT", choices: []string{"text", "json", "csv"}, initial: "text",
		doc: "how the result is written: text is for people and shows the worst, json and csv hold everything"}
	flagState = &option{name: "state", takes: "NAME", doc: "the state of the file to look at"}
)

// A table is what a study prints: aligned for a terminal, or as CSV.
type table struct {
	columns []string
	rows    [][]string
}

func (t *table) add(cells ...string) { t.rows = append(t.rows, cells) }

// print aligns the columns; nothing stands behind the last cell of a row.
func (t *table) print(w io.Writer) {
	headed := &table{columns: t.columns, rows: append([][]string{t.columns}, t.rows...)}
	headed.printRows(w)
}

// printRows is print without the heads, of which there may be none.
func (t *table) printRows(w io.Writer) {
	all := t.rows
	columns := len(t.columns)
	for _, row := range all {
		columns = max(columns, len(row))
	}
	widths := make([]int, columns)
	for _, row := range all {
		for i, cell := range row {
			if i < len(row)-1 || i == columns-1 { // the last cell of a short row may run on
				widths[i] = max(widths[i], utf8.RuneCountInString(cell))
			}
		}
	}
	for _, row := range all {
		var line strings.Builder
		for i, cell := range row {
			line.WriteString(cell)
			line.WriteString(strings.Repeat(" ", max(widths[i]-utf8.RuneCountInString(cell), 0)+2))
		}
		fmt.Fprintln(w, strings.TrimRight(line.String(), " "))
	}
}

func (t *table) csv(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(t.columns); err != nil {
		return fmt.Errorf("writing CSV: %w", err)
	}
	for _, row := range t.rows {
		for len(row) < len(t.columns) {
			row = append(row, "")
		}
		if err := out.Write(row); err != nil {
			return fmt.Errorf("writing CSV: %w", err)
		}
	}
	out.Flush()
	return out.Error()
}

// studyObject is the frame of what a study gives other programs.
type studyObject struct {
	Results any             `json:"results"`
	Missing []missingObject `json:"missing"`
	Assumed []solvedAssumed `json:"assumed"`
	Note    string          `json:"note"`
}

type missingObject struct {
	Ref  string `json:"ref"`
	File string `json:"file"`
	Line int    `json:"line"`
	What string `json:"what"`
	Add  string `json:"add"`
}

// aidsNote stands on everything that is computed.
const aidsNote = "Computed values are aids; local codes and licensed practice govern, and the builder answers for the vehicle."

// printData writes a study as CSV or JSON.
func (inv *invocation) printData(t *table, results any, s *study.Study) error {
	if inv.value(flagStudyFormat) == "csv" {
		return t.csv(inv.out)
	}
	object := studyObject{Results: results, Missing: missingObjects(s.Circuit()), Assumed: assumedObjects(s.Circuit()), Note: aidsNote}
	encoder := json.NewEncoder(inv.out)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(object)
}

func (inv *invocation) printHead(line string) { fmt.Fprintf(inv.out, "%s\n\n", line) }

// printFoot explains the marks and says what is missing, and where.
func (inv *invocation) printFoot(s *study.Study) {
	fmt.Fprintf(inv.out, "~ rests on a guess in the file, or on a value that it leaves open and that was assumed\n")
	for _, m := range s.Circuit().Missing {
		where := ""
		if f := m.At.Span.File; f != nil {
			where = fmt.Sprintf("%s:%d: ", f.Name, m.At.Span.Begin().Line)
		}
		fmt.Fprintf(inv.out, "missing: %s%s has no %s and is left out; add %s\n", where, m.Ref, m.What, m.Add)
	}
	fmt.Fprintln(inv.out, aidsNote)
}

// number is a number of JSON, which has neither infinity nor not-a-number, to six digits: more would be noise that differs from
// machine to machine.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	if v != 0 {
		scale := math.Pow(10, 5-math.Floor(math.Log10(math.Abs(v))))
		v = math.Round(v*scale) / scale
	}
	return &v
}

func mark(assumed bool) string {
	if assumed {
		return "~"
	}
	return ""
}

// amps and volts print a value with its unit and mark. What is less than a bench instrument shows is nothing.
func amps(v float64, assumed bool) string {
	switch {
	case math.IsNaN(v):
		return ""
	case math.Abs(v) < 1e-5:
		v = 0
	}
	return unit.Ampere(v).String() + mark(assumed)
}

func volts(v float64, assumed bool) string {
	switch {
	case math.IsNaN(v):
		return "floats"
	case math.Abs(v) < 0.005:
		return "0 V" + mark(assumed)
	}
	return fmt.Sprintf("%.2f V%s", v, mark(assumed))
}
