package list

import (
	"bytes"
	"strings"

	"ferrule/render/sheet"
)

// ScreenColumns is how wide a terminal is taken to be: blocks are no wider.
const ScreenColumns = 80

// blockIndent stands before every line of a block but the first.
const blockIndent = "    "

// Blocks writes each row on lines of its own that are no wider than ScreenColumns, with the name of each column before its cell and
// without empty cells: for a list with more columns than a terminal shows side by side. A cell that is longer than a line goes on
// below itself.
func (l *List) Blocks(s *sheet.Set) []byte {
	var out bytes.Buffer
	for _, row := range l.Rows(s) {
		line := ""
		flush := func() {
			if line != "" {
				out.WriteString(strings.TrimRight(line, " ") + "\n")
			}
			line = blockIndent
		}
		first := true
		for i, cell := range row {
			if cell == "" {
				continue
			}
			words := strings.Fields(l.Columns[i].Name + ": " + printable(cell))
			if whole := strings.Join(words, " "); !first && columns(line)+2+columns(whole) > ScreenColumns {
				flush()
			} else if !first {
				line += "  "
			}
			first = false
			for n, word := range words {
				switch {
				case n == 0:
				case columns(line)+1+columns(word) > ScreenColumns:
					flush()
					line += blockIndent
				default:
					line += " "
				}
				line += word
			}
		}
		flush()
	}
	return out.Bytes()
}
