package built

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
)

// The columns of a list that somebody has filled in. Other columns are for people and are passed over.
const (
	wireColumn  = "wire"
	stageColumn = "stage"
)

// ticks are the columns with boxes to tick, as the cut list has them, and the stage that a tick stands for. A label is no
// stage, and a terminal that has been pulled at is crimped.
var ticks = map[string]Stage{"cut": Cut, "label": Planned, "crimp": Crimped, "pull": Crimped, "crimped": Crimped, "installed": Installed, "tested": Tested}

// Words that count as a tick, and those that count as an empty box.
var (
	tickWords  = []string{"x", "xx", "y", "yes", "ok", "done", "1", "true", "✓", "✔", "☑", "☒"}
	emptyWords = []string{"", "-", "n", "no", "0", "false", "☐", "□"}
)

// ReadFilled reads a list as CSV with a line for each wire: the column wire, and the column stage or columns to tick. It takes
// commas, semicolons or tabs, as spreadsheets write them. The list has an error, with line and column, for each row that cannot be
// understood; the orders are those of the others. rows is how many rows name a wire.
func ReadFilled(f *source.File, h *Harness) (orders []Order, rows int, diags diag.List) {
	l := &filled{file: f, harness: h, seen: map[string]source.Span{}}
	l.read()
	l.diags.Sort()
	return l.orders, l.rows, l.diags
}

type filled struct {
	file    *source.File
	harness *Harness
	columns []string // the heads, in small letters
	orders  []Order
	rows    int
	diags   diag.List
	seen    map[string]source.Span
	wires   []string // for suggestions
}

// byteOrderMark is what some spreadsheets write before the text.
var byteOrderMark = []byte("\xef\xbb\xbf")

func (l *filled) read() {
	text := bytes.TrimPrefix(l.file.Text, byteOrderMark)
	skipped := len(l.file.Text) - len(text)
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.LazyQuotes = comma(text), -1, true
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			var where *csv.ParseError
			line := 1
			if errors.As(err, &where) {
				line = where.Line
			}
			l.diags.Errorf("syntax", l.file.LineSpan(line), "this line is not CSV: %v", errors.Unwrap(err)).Help = "save the list as CSV from the spreadsheet again"
			return
		}
		spans := make([]source.Span, len(cells))
		for i := range cells {
			line, column := r.FieldPos(i)
			start := int(l.file.LineSpan(line).Start) + column - 1
			if line == 1 {
				start += skipped
			}
			spans[i] = l.file.Span(start, start+len(cells[i]))
		}
		if l.columns == nil {
			if !l.head(cells, spans) {
				return
			}
			continue
		}
		l.row(cells, spans)
	}
	if l.columns == nil {
		l.diags.Errorf("syntax", l.file.Span(0, 0), "this list is empty").Help = "its first line has to name the columns: wire and stage, or wire and boxes to tick"
	}
}

// comma is the sign between the columns: the most frequent one in the first line.
func comma(text []byte) rune {
	head, _, _ := bytes.Cut(text, []byte("\n"))
	best, most := ',', 0
	for _, sign := range []rune{',', ';', '\t'} {
		if n := bytes.Count(head, []byte(string(sign))); n > most {
			best, most = sign, n
		}
	}
	return best
}

// head reads the names of the columns.
func (l *filled) head(cells []string, spans []source.Span) bool {
	marks := false
	for i, c := range cells {
		name := strings.ToLower(strings.TrimSpace(c))
		_, tick := ticks[name]
		if (tick || name == stageColumn || name == wireColumn) && slices.Contains(l.columns, name) {
			l.diags.Errorf("duplicate-key", spans[i], "this list has the column %q twice", name).Help = "take one of the two out, since they may differ"
			return false
		}
		marks = marks || tick || name == stageColumn
		l.columns = append(l.columns, name)
	}
	const advice = "the first line names the columns: wire and stage, or wire and boxes to tick (cut, label, crimp, pull, installed, tested)"
	switch {
	case !slices.Contains(l.columns, wireColumn):
		d := l.diags.Errorf("missing-key", spans[0], "this list has no column %q", wireColumn)
		d.Help = advice
		if near, ok := diag.Nearest(wireColumn, l.columns); ok {
			d.Help = fmt.Sprintf("is it %q? %s", near, advice)
		}
		return false
	case !marks:
		l.diags.Errorf("missing-key", spans[0], "this list has no column that says how far a wire is").Help = advice
		return false
	}
	return true
}

// row reads one line. A line without a wire and without a tick is a title or a sum.
func (l *filled) row(cells []string, spans []source.Span) {
	name, at, stage, marked, good := "", source.Span{}, Planned, false, true
	byWord := false
	for i, cell := range cells {
		if i >= len(l.columns) {
			break
		}
		cell = strings.TrimSpace(cell)
		switch tick, isTick := ticks[l.columns[i]]; {
		case l.columns[i] == wireColumn && at.IsZero():
			name, at = unguarded(cell), spans[i]
		case l.columns[i] == stageColumn && cell != "":
			var ok bool
			if stage, ok = ParseStage(strings.ToLower(cell)); !ok {
				d := l.diags.Errorf("bad-value", spans[i], "%q is no stage", cell)
				d.Help = "the stages are: " + strings.Join(Stages(), ", ")
				if near, ok := diag.Nearest(cell, Stages()); ok {
					d.Help = fmt.Sprintf("did you mean %q?", near)
				}
				good = false
			}
			marked, byWord = true, true
		case isTick && !byWord:
			ticked, ok := l.ticked(l.columns[i], cell, spans[i])
			good = good && ok
			if ticked && tick > Planned {
				stage, marked = max(stage, tick), true
			}
		}
	}
	if name == "" && !marked || !good {
		return
	}
	l.take(name, at, stage, marked, byWord)
}

// unguarded takes off the apostrophe that a CSV has before a cell which a spreadsheet would take for a formula.
func unguarded(cell string) string {
	if len(cell) > 1 && cell[0] == '\'' && strings.ContainsRune("=+-@", rune(cell[1])) {
		return cell[1:]
	}
	return cell
}

// ticked reads a box. Into the box for the pull the force may be written.
func (l *filled) ticked(column, cell string, at source.Span) (ticked, ok bool) {
	word := strings.ToLower(cell)
	switch {
	case slices.Contains(emptyWords, word):
		return false, true
	case slices.Contains(tickWords, word), column == "pull" && '0' <= word[0] && word[0] <= '9':
		return true, true
	}
	l.diags.Errorf("bad-value", at, "%q is neither a tick nor an empty box", cell).Help = "write x, or leave it empty"
	return false, false
}

// take finds the wire of a row and notes the order.
func (l *filled) take(name string, at source.Span, stage Stage, marked, byWord bool) {
	if name == "" {
		l.diags.Errorf("missing-key", at, "this line has a mark and names no wire").Help = "write the wire into the column \"wire\", or take the mark out"
		return
	}
	l.rows++
	w := l.harness.Netlist.Wire(name)
	if w == nil {
		l.unknown(name, at)
		return
	}
	if first, twice := l.seen[name]; twice {
		l.diags.Errorf("duplicate-key", at, "%s stands in this list twice", name).Help = fmt.Sprintf("take one of the two lines out; the first is line %d", first.Begin().Line)
		return
	}
	l.seen[name] = at
	if marked {
		l.orders = append(l.orders, Order{Wire: w, Stage: stage, At: at, AtLeast: !byWord})
	}
}

func (l *filled) unknown(name string, at source.Span) {
	if l.wires == nil {
		for _, w := range l.harness.Netlist.Wires {
			l.wires = append(l.wires, w.Name.Text)
		}
	}
	d := l.diags.Errorf("unknown-name", at, "the netlist has no wire %q", name)
	d.Help = "look whether the list is that of this netlist, and of this revision"
	if near, ok := diag.Nearest(name, l.wires); ok && len(l.diags) <= maxSuggestions {
		d.Help = fmt.Sprintf("did you mean %q?", near)
	}
}
