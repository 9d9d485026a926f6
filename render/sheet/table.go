package sheet

import (
	"cmp"
	"slices"
	"strings"

	"ferrule/netlist/unit"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/symbol"
)

// A piece is one paragraph of a cell: a text that wraps, with a drawn sample of a wire or a mark before it.
type piece struct {
	text   string
	bold   bool
	lead   string         // bold words stand before the text, which begins leadRoom behind
	large  bool           // in lettering of 3.5 mm, as a first line of a row: what is read at arm's length
	color  unit.Color     // a sample of this core stands before the text
	width  geom.Length    // of that sample; sampleWidth when zero
	sample geom.Length    // its length; sampleLength when zero
	blank  geom.Length    // room for a pen: the least width of its column
	mark   mark           // a shape stands before the text
	drawn  *symbol.Symbol // a symbol of the circuit diagrams stands before the text
	line   *canvas.Stroke // a line of this stroke stands before the text
	share  *float64       // a bar that is full to this share stands before the text
	link   Shown          // the text leads to the page that shows this thing
	page   string         // the text leads to the page of this name
	shaded bool           // as the first piece of a cell: the cell is on a grey ground

	leadRoom geom.Length
	device   bool        // the name of a device: in capitals, and as large as the table has room for (table.devices)
	height   geom.Length // of such a name, once it is laid
}

// A cell is a list of pieces below one another. In a row where several cells have more than one piece, the first pieces
// stand on one line, and so on: the wires of a terminal with their sizes and colours.
type cell []piece

func say(text string) cell { return cell{{text: text}} }

func sayBold(text string) cell { return cell{{text: text, bold: true}} }

// A row is one line of a table, high enough for its longest cell.
type row struct {
	cells  []cell
	span   bool         // the only cell takes the whole width
	shaded bool         // on a grey ground
	ruled  bool         // under a heavy rule: the first row of something new
	keep   bool         // on one page with the row that follows
	group  canvas.Group // what the row shows; the zero Group for nothing in particular
}

// A table is a title, headed columns and rows. It is laid out to a width (lay), flows over pages (flow.place) with its
// title and heads repeated, and is drawn piece by piece.
type table struct {
	title   string
	heads   []string // empty strings throughout for a table without a head line
	rows    []row
	height  geom.Length // of the lettering; font.MinHeight when zero
	devices geom.Length // of the names of devices: 5 mm or 3.5 mm; as the other lettering when zero
	ruled   bool        // with thin lines between the columns
}

// Measures of tables, in the lettering height h where they grow with it.
const (
	cellPadding  = 1300 * geom.Micrometre // left and right of a text
	sampleLength = 12 * geom.MM           // of the drawn core before a colour: two beats of the tracer and the gap between
	sampleWidth  = 1200 * geom.Micrometre
	markSize     = 3 * geom.MM
	titleGap     = 2 * geom.MM // below the title of a table
)

// Distances above and below the capitals, in hundredths of their height. The tallest accents of the faces reach 55
// hundredths above a capital and their deepest signs 37 below the baseline; the rest is room for the rules. Two lines are
// a little farther apart than ISO 3098 asks (font.LinePitch), so that such letters do not touch.
const (
	paddingAbove = 65
	paddingBelow = 47
	pitchPercent = 195
)

func (t *table) linePitch() geom.Length { return t.height * pitchPercent / 100 }

func (t *table) above() geom.Length { return t.height * paddingAbove / 100 }

func (t *table) below() geom.Length { return t.height * paddingBelow / 100 }

// A laidTable is a table laid out to a width.
type laidTable struct {
	table
	width  geom.Length
	widths []geom.Length
	head   *laidRow // nil for none
	rows   []laidRow
	breaks bool // the width is so small that words are broken
}

// A laidRow is a row cut into lines: cells[column][line].
type laidRow struct {
	row   *row
	cells [][]laidLine
	lines int
	more  bool // the row goes on below: no rule, no gap
}

// A laidLine is one line of a cell; the zero laidLine is empty.
type laidLine struct {
	piece
	first bool // of its piece: the sample and the mark stand here
}

// lay breaks the texts of the table for a width.
func (t table) lay(width geom.Length) *laidTable {
	if t.height == 0 {
		t.height = font.MinHeight
	}
	l := &laidTable{table: t, width: width}
	l.widths = l.columnWidths()
	if strings.Join(t.heads, "") != "" {
		head := row{shaded: true, keep: true}
		for _, h := range t.heads {
			head.cells = append(head.cells, sayBold(h))
		}
		laid := l.layRow(&head)
		l.head = &laid
	}
	for i := range t.rows {
		l.rows = append(l.rows, l.layRow(&t.rows[i]))
	}
	return l
}

// indent is how far a text stands behind the left padding, to leave room for a sample or a mark.
func (p piece) indent() geom.Length {
	switch {
	case p.lead != "":
		return p.leadRoom
	case p.color.IsSet(), p.line != nil:
		return cmp.Or(p.sample, sampleLength) + cellPadding
	case p.share != nil:
		return barLength + cellPadding
	case p.mark != noMark:
		return markSize + cellPadding
	case p.drawn != nil:
		return 2*symbol.Half + cellPadding
	}
	return 0
}

// lettering is the height of a text in a table of some height.
func (p piece) lettering(height geom.Length) geom.Length {
	if p.large {
		return max(height, font.Height3p5)
	}
	return max(height, p.height)
}

func (p piece) face() font.Face {
	if p.bold {
		return font.Bold
	}
	return font.Regular
}

// columnWidths gives every column the width of its longest text if all fit. If they do not, the widest columns share
// what the narrow ones leave, so that short cells such as sizes and designators stay on one line, and then width moves to where it
// saves lines. Where not even the longest words fit, the columns with the longest ones break them.
func (l *laidTable) columnWidths() []geom.Length {
	letter, word, text := l.columnNeeds()
	switch {
	case sum(text) <= l.width:
		return stretch(text, l.width)
	case sum(word) <= l.width:
		return l.balanced(stretch(shareOut(word, text, l.width), l.width), word, text)
	}
	l.breaks = true
	return stretch(shareOut(letter, word, l.width), l.width)
}

// natural is the width at which no text of the table wraps, columns wider than most excepted.
func (t table) natural(most geom.Length) geom.Length {
	if t.height == 0 {
		t.height = font.MinHeight
	}
	_, word, text := (&laidTable{table: t}).columnNeeds()
	total := geom.Length(0)
	for i := range text {
		total += max(word[i], min(text[i], most))
	}
	return total
}

// shareOut gives every column its least width and, up to its most, as much as the greatest limit allows under which all fit.
// The limit is found by halving: widths grow with it.
func shareOut(least, most []geom.Length, total geom.Length) []geom.Length {
	limited := func(limit geom.Length) []geom.Length {
		widths := make([]geom.Length, len(least))
		for i := range widths {
			widths[i] = max(least[i], min(most[i], limit))
		}
		return widths
	}
	low, high := geom.Length(0), total
	for high-low > 1 {
		if middle := low + (high-low)/2; sum(limited(middle)) <= total {
			low = middle
		} else {
			high = middle
		}
	}
	return limited(low)
}

// widestWord is the longest word that a column is made wide for; a longer one is broken.
const widestWord = 40 * geom.MM

// keptWord is the longest word that is kept whole where the room allows; a longer one may go on behind a hyphen. It holds
// designators and colours.
const keptWord = 20 * geom.MM

// wordNeed returns the least width of a column that a word asks for.
func wordNeed(face font.Face, height geom.Length, word string) geom.Length {
	whole := font.Width(face, height, word)
	need := min(keptWord, whole)
	for _, part := range font.Joints(word) {
		need = max(need, font.Width(face, height, part))
	}
	return min(widestWord, need)
}

// columnNeeds returns for each column the width of a wide letter, of its longest word and of its longest text, each with
// what stands before and beside it.
func (l *laidTable) columnNeeds() (letter, word, text []geom.Length) {
	needs := make([][]geom.Length, 3)
	for i := range needs {
		needs[i] = make([]geom.Length, len(l.heads))
	}
	letter, word, text = needs[0], needs[1], needs[2]
	need := func(column int, p piece) {
		extra := p.indent() + 2*cellPadding
		letter[column] = max(letter[column], p.blank)
		if p.text == "" && extra > 2*cellPadding {
			extra -= cellPadding // there is nothing behind the mark
			letter[column], word[column], text[column] = max(letter[column], extra), max(word[column], extra), max(text[column], extra)
			return
		}
		letter[column] = max(letter[column], extra+font.Width(font.Bold, l.height, "W"))
		word[column] = max(word[column], letter[column])
		for line := range strings.SplitSeq(p.text, "\n") {
			text[column] = max(text[column], extra+font.Width(p.face(), p.lettering(l.height), line))
		}
		for w := range strings.FieldsSeq(p.text) {
			word[column] = max(word[column], extra+wordNeed(p.face(), p.lettering(l.height), w))
		}
		text[column] = max(text[column], word[column])
	}
	for i, h := range l.heads {
		need(i, piece{text: h, bold: true})
	}
	for _, r := range l.table.rows {
		for i, c := range r.cells {
			for _, p := range c {
				if !r.span {
					need(i, p)
				}
			}
		}
	}
	return letter, word, text
}

func sum(lengths []geom.Length) geom.Length {
	total := geom.Length(0)
	for _, l := range lengths {
		total += l
	}
	return total
}

// stretch scales the widths so that they fill the total exactly; what rounding leaves goes to the last column.
func stretch(widths []geom.Length, total geom.Length) []geom.Length {
	have := max(1, sum(widths))
	out := make([]geom.Length, len(widths))
	for i, w := range widths {
		out[i] = geom.Length(int64(w) * int64(total) / int64(have))
	}
	if len(out) > 0 {
		out[len(out)-1] += total - sum(out)
	}
	return out
}

// layRow breaks the pieces of a row into lines. Cells with several pieces keep them level with those of their
// neighbours; a cell with one piece runs down beside them all.
func (l *laidTable) layRow(r *row) laidRow {
	laid := laidRow{row: r, cells: make([][]laidLine, len(r.cells)), lines: 1}
	broken := make([][][]laidLine, len(r.cells))
	bands := 0
	for i, c := range r.cells {
		if len(c) == 1 && c[0].large {
			laid.lines = 2 // its baseline is lower than that of its neighbours
		}
		for _, p := range c {
			broken[i] = append(broken[i], l.layPiece(p, l.cellWidth(r, i)))
		}
		bands = max(bands, len(c))
	}
	for band := range bands {
		height := 0
		for i := range broken {
			if len(broken[i]) > 1 && band < len(broken[i]) {
				height = max(height, len(broken[i][band]))
			}
		}
		for i := range broken {
			if band < len(broken[i]) {
				lines := broken[i][band]
				if len(broken[i]) > 1 {
					lines = append(slices.Clip(lines), make([]laidLine, height-len(lines))...)
				}
				laid.cells[i] = append(laid.cells[i], lines...)
				laid.lines = max(laid.lines, len(laid.cells[i]))
			}
		}
	}
	return laid
}

func (l *laidTable) cellWidth(r *row, column int) geom.Length {
	if r.span {
		return l.width
	}
	return l.widths[column]
}

func (l *laidTable) layPiece(p piece, width geom.Length) []laidLine {
	if lines := l.layDevice(p, width-2*cellPadding-p.indent()); lines != nil {
		return lines
	}
	texts := font.Wrap(p.face(), p.lettering(l.height), p.text, width-2*cellPadding-p.indent())
	lines := make([]laidLine, 0, max(1, len(texts)))
	for i, text := range texts {
		line := laidLine{piece: p, first: i == 0}
		line.text = text
		lines = append(lines, line)
	}
	least := 1
	if p.drawn != nil {
		least = 3 // a symbol is as high as three lines
	}
	for len(lines) < least {
		line := laidLine{piece: p, first: len(lines) == 0}
		line.text = ""
		lines = append(lines, line)
	}
	return lines
}

// layDevice lays the name of a device on one line, which takes the room of two if it is of 5 mm; nil where it is none, or does not fit.
func (l *laidTable) layDevice(p piece, width geom.Length) []laidLine {
	if !p.device || l.devices == 0 || strings.Contains(p.text, "\n") {
		return nil
	}
	p.text = strings.ToUpper(p.text)
	p.height = fittingHeight(p.face(), l.devices, p.text, width)
	if p.height <= l.height || font.Width(p.face(), p.height, p.text) > width {
		return nil
	}
	if p.height > font.Height3p5 {
		return []laidLine{{piece: p, first: true}, {}}
	}
	return []laidLine{{piece: p, first: true}}
}

// rowHeight returns the height of a row of so many lines.
func (l *laidTable) rowHeight(lines int) geom.Length {
	return l.above() + l.height + l.below() + geom.Length(lines-1)*l.linePitch()
}

// linesIn returns how many lines of one row the height has room for.
func (l *laidTable) linesIn(height geom.Length) int {
	room := height - l.above() - l.height - l.below()
	if room < 0 {
		return 0
	}
	return 1 + int(room/l.linePitch())
}

// split cuts a row after so many lines.
func (r laidRow) split(lines int) (upper, lower laidRow) {
	upper, lower = laidRow{row: r.row, lines: lines, more: true}, laidRow{row: r.row, lines: r.lines - lines, more: r.more}
	for _, c := range r.cells {
		cut := min(lines, len(c))
		upper.cells = append(upper.cells, c[:cut])
		lower.cells = append(lower.cells, c[cut:])
	}
	return upper, lower
}

// titleHeight returns the height of the title and of the head line, as they stand above the rows on every page.
func (l *laidTable) titleHeight() geom.Length {
	height := geom.Length(0)
	if l.title != "" {
		height += l.titleLettering() + font.Descent(font.Bold, l.titleLettering()) + titleGap
	}
	if l.head != nil {
		height += l.rowHeight(l.head.lines)
	}
	return height
}

func (l *laidTable) titleLettering() geom.Length { return max(font.Height3p5, l.height) }

// mostStoreys is how many lines a cell may have before large lettering is worse to read than small.
const mostStoreys = 2

// towers reports whether some cell has one text that takes more lines than mostStoreys, or a head is cut.
func (l *laidTable) towers() bool {
	if l.head != nil && l.head.lines > 1 {
		return true
	}
	for _, r := range l.rows {
		for i, c := range r.row.cells {
			if len(c) == 1 && !r.row.span && len(r.cells[i]) > mostStoreys+strings.Count(c[0].text, "\n") {
				return true
			}
		}
	}
	return false
}
