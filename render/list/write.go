package list

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/width"

	"ferrule/render/sheet"
)

// Formats are the words for Write.
func Formats() []string { return []string{"text", "block", "csv", "json"} }

// Screen is one more word for Write: as text where that is no wider than ScreenColumns, and else in blocks.
const Screen = "screen"

// Write makes the list of a set in one of the Formats. The error names a format that is none.
func (l *List) Write(s *sheet.Set, format string) ([]byte, error) {
	switch format {
	case "text":
		return l.Text(s), nil
	case "block":
		return l.Blocks(s), nil
	case Screen:
		text := l.Text(s)
		for line := range strings.SplitSeq(string(text), "\n") {
			if columns(line) > ScreenColumns {
				return l.Blocks(s), nil
			}
		}
		return text, nil
	case "csv":
		return l.CSV(s), nil
	case "json":
		return l.JSON(s), nil
	}
	return nil, fmt.Errorf("there is no format %q for a list; it can be: %s", format, strings.Join(Formats(), ", "))
}

func (l *List) head() []string {
	names := make([]string, len(l.Columns))
	for i, c := range l.Columns {
		names[i] = c.Name
	}
	return names
}

// CSV writes the list with comma-separated values (RFC 4180) under a head line. A spreadsheet takes a cell that begins with =, +, -
// or @, a tab or a carriage return for a formula, and a netlist from somebody else must not bring one along: such a cell
// gets an apostrophe before it, which spreadsheets hide. Terminals are written with their owner ("BAT1:+"), so that they
// need none, and a cell of a column of numbers that holds one is none.
func (l *List) CSV(s *sheet.Set) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.Write(l.head()) //nolint:errcheck // a bytes.Buffer takes everything
	for _, row := range l.Rows(s) {
		cells := make([]string, len(row))
		for i, cell := range row {
			if cells[i] = cell; !l.Columns[i].Number || !isNumber(cell) {
				cells[i] = guarded(cell)
			}
		}
		w.Write(cells) //nolint:errcheck // a bytes.Buffer takes everything
	}
	w.Flush()
	return out.Bytes()
}

func guarded(cell string) string {
	if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
		return "'" + cell
	}
	return cell
}

// isNumber reports whether a cell is a number as JSON writes it (RFC 8259, section 6).
func isNumber(cell string) bool {
	return cell != "" && (cell[0] == '-' || cell[0] >= '0' && cell[0] <= '9') && json.Valid([]byte(cell))
}

// JSON writes the list as an array of objects, one a row, with the columns for keys in their order. Numbers are numbers,
// an empty cell is null, everything else is a string.
func (l *List) JSON(s *sheet.Set) []byte {
	var out bytes.Buffer
	out.WriteString("[")
	for i, row := range l.Rows(s) {
		if i > 0 {
			out.WriteString(",")
		}
		out.WriteString("\n  {")
		for j, cell := range row {
			if j > 0 {
				out.WriteString(", ")
			}
			fmt.Fprintf(&out, "%s: %s", quoted(l.Columns[j].Name), l.Columns[j].value(cell))
		}
		out.WriteString("}")
	}
	if out.Len() > 1 {
		out.WriteString("\n")
	}
	out.WriteString("]\n")
	return out.Bytes()
}

// value is a cell in JSON.
func (c Column) value(cell string) string {
	switch {
	case cell == "":
		return "null"
	case c.Number && isNumber(cell):
		return cell
	}
	return quoted(cell)
}

func quoted(text string) string {
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	e.Encode(text) //nolint:errcheck // a string has a form in JSON, and a bytes.Buffer takes everything
	return strings.TrimSuffix(out.String(), "\n")
}

// Text writes the list in columns for a terminal: a head line, numbers to the right, two blanks between the columns and
// none at the end of a line. Characters that would steer the terminal become blanks.
func (l *List) Text(s *sheet.Set) []byte {
	rows := [][]string{l.head()}
	for _, row := range l.Rows(s) {
		cells := make([]string, len(row))
		for i, cell := range row {
			cells[i] = printable(cell)
		}
		rows = append(rows, cells)
	}
	widths := make([]int, len(l.Columns))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], columns(cell))
		}
	}
	var out bytes.Buffer
	for _, row := range rows {
		var line strings.Builder
		for i, cell := range row {
			pad := strings.Repeat(" ", widths[i]-columns(cell))
			if l.Columns[i].Number {
				line.WriteString(pad + cell + "  ")
			} else {
				line.WriteString(cell + pad + "  ")
			}
		}
		out.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
	return out.Bytes()
}

// printable puts a cell on one line without control characters and marks of direction, which a netlist of somebody else
// could use to show a terminal something that is not there.
func printable(cell string) string {
	return strings.Map(func(r rune) rune {
		if r == utf8.RuneError || unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			return ' '
		}
		return r
	}, cell)
}

// columns is how many columns of a terminal a text takes: none for marks that go over the character before, two for East
// Asian wide ones (Unicode Standard Annex 11).
func columns(text string) int {
	n := 0
	for _, r := range text {
		switch kind := width.LookupRune(r).Kind(); {
		case unicode.In(r, unicode.Mn, unicode.Me):
		case kind == width.EastAsianWide || kind == width.EastAsianFullwidth:
			n += 2
		default:
			n++
		}
	}
	return n
}
