package sheet

import (
	"strings"

	"ferrule/render/font"
	"ferrule/render/geom"
)

// A balance looks for the widths of columns with which a table is lowest: from the widths that it is given it moves width from one
// column to another as long as that saves lines.
type balance struct {
	table       *laidTable
	least, most []geom.Length // of each column
	counts      map[balanceKey][][]int
}

type balanceKey struct {
	column int
	width  geom.Length
}

// balanceSteps are the widths that are moved, the wide ones first: one line less often takes a whole word.
var balanceSteps = []geom.Length{12 * geom.MM, 6 * geom.MM, 3 * geom.MM, 1500 * geom.Micrometre}

// balanced returns the widths with which the table is lowest, of those that are found.
func (l *laidTable) balanced(widths, least, most []geom.Length) []geom.Length {
	b := balance{table: l, least: least, most: most, counts: map[balanceKey][][]int{}}
	lines := b.lines(widths)
	for _, step := range balanceSteps {
		for {
			better, fewer := b.move(widths, step, lines)
			if fewer >= lines {
				break
			}
			widths, lines = better, fewer
		}
	}
	return widths
}

// move tries to move a step of width between every two columns and returns the best widths with their lines.
func (b *balance) move(widths []geom.Length, step geom.Length, lines int) (best []geom.Length, fewest int) {
	best, fewest = widths, lines
	for from := range widths {
		if widths[from]-step < b.least[from] {
			continue
		}
		for to := range widths {
			if to == from || widths[to] >= b.most[to] {
				continue
			}
			moved := append([]geom.Length(nil), widths...)
			moved[from], moved[to] = moved[from]-step, moved[to]+step
			if n := b.lines(moved); n < fewest {
				best, fewest = moved, n
			}
		}
	}
	return best, fewest
}

// lines is how many lines the rows of the table have, with columns of these widths.
func (b *balance) lines(widths []geom.Length) int {
	columns := make([][][]int, len(widths))
	for i, width := range widths {
		columns[i] = b.count(i, width)
	}
	total := 0
	for r := range b.table.table.rows {
		total += rowLines(columns, r)
	}
	return total
}

// rowLines is how many lines a row has: pieces of cells with several stand level, as layRow lays them.
func rowLines(columns [][][]int, r int) int {
	lines, level := 1, 0
	for band := 0; ; band++ {
		height, more := 0, false
		for _, rows := range columns {
			if pieces := rows[r]; len(pieces) > 1 && band < len(pieces) {
				height, more = max(height, pieces[band]), true
			}
		}
		if !more {
			break
		}
		level += height
	}
	for _, rows := range columns {
		if pieces := rows[r]; len(pieces) == 1 {
			lines = max(lines, pieces[0])
		}
	}
	return max(lines, level)
}

// count is how many lines every piece of a column has at a width, row by row; nothing for a row that takes the whole width.
func (b *balance) count(column int, width geom.Length) [][]int {
	key := balanceKey{column, width}
	if counts, ok := b.counts[key]; ok {
		return counts
	}
	counts := make([][]int, len(b.table.table.rows))
	for i := range b.table.table.rows {
		r := &b.table.table.rows[i]
		if r.span || column >= len(r.cells) {
			continue
		}
		for _, p := range r.cells[column] {
			counts[i] = append(counts[i], b.table.pieceLines(p, width))
		}
	}
	b.counts[key] = counts
	return counts
}

// pieceLines is how many lines a piece takes in a column of a width.
func (l *laidTable) pieceLines(p piece, width geom.Length) int {
	room := width - 2*cellPadding - p.indent()
	if !strings.Contains(p.text, "\n") && font.Width(p.face(), p.lettering(l.height), p.text) <= room {
		return 1
	}
	return max(1, len(font.Wrap(p.face(), p.lettering(l.height), p.text, room)))
}
