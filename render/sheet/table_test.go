package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// boxes are pages of one column of the height.
func boxes(width, height geom.Length) flow {
	return flow{gap: blockGap, boxAt: func(i int) box {
		return box{i, geom.RectAt(geom.Pt(20*geom.MM, 20*geom.MM), width, height)}
	}}
}

func drawTable(t *testing.T, parts []placed, page int, size geom.Point) *canvas.Page {
	t.Helper()
	r := canvas.NewRecorder("table", "", size)
	(&Set{}).drawParts(r, onPage(parts, page))
	return r.Page()
}

// textOf puts the texts of a column together again, without the spaces at which lines may have been broken.
func textOf(rows []laidRow, column int) string {
	var text strings.Builder
	for _, r := range rows {
		for _, line := range r.cells[column] {
			text.WriteString(strings.Join(strings.Fields(line.text), ""))
		}
	}
	return text.String()
}

// Whatever the texts, a table ends, keeps to its boxes, lays nothing on anything else and loses no character.
func FuzzTable(f *testing.F) {
	f.Add("F2", "Fuel pump", int16(60), int16(40))
	f.Add("", " \n\t ", int16(0), int16(0))
	f.Add(strings.Repeat("W", 300), strings.Repeat("two words ", 90), int16(25), int16(30))
	f.Add("🔥שלום", "a\r\nb\x00\xff", int16(90), int16(5))
	f.Fuzz(func(t *testing.T, first, second string, wide, high int16) {
		if len(first)+len(second) > 3000 {
			t.Skip("long texts only repeat what short ones show")
		}
		width := geom.Length(40+max(0, int(wide)%300)) * geom.MM // the narrowest that a mark and a letter stand in
		height := geom.Length(40+max(0, int(high)%200)) * geom.MM
		tab := table{title: "T", heads: []string{"A", "B"}}
		for i := range 3 {
			tab.rows = append(tab.rows, row{keep: i == 0, cells: []cell{{{text: first, mark: errorMark}}, {{text: second}, {text: first}}}})
		}
		laid := tab.lay(width)
		parts := boxes(width, height).place(laid)
		require.NotEmpty(t, parts)
		var rows []laidRow
		for _, p := range parts {
			rows = append(rows, p.rows...)
		}
		want := strings.Repeat(strings.Join(strings.Fields(font.Drawable(first)), ""), 3)
		assert.Equal(t, want, textOf(rows, 0))
		size := geom.Pt(width+40*geom.MM, height+40*geom.MM)
		for page := range pagesOf(parts) {
			drawn := drawTable(t, parts, page, size)
			assert.Empty(t, canvas.Overlaps(drawn))
			assert.Empty(t, canvas.StruckTexts(drawn))
			assert.LessOrEqual(t, bottom(onPage(parts, page), 0), 20*geom.MM+height)
		}
	})
}

func TestColumnWidths(t *testing.T) {
	long := strings.Repeat("many words ", 60)
	for _, test := range []struct {
		name  string
		cells []string
		width geom.Length
		whole []int // the columns whose text stays on one line
	}{
		{"all fit", []string{"F2", "Fuel pump", "15 A"}, 180 * geom.MM, []int{0, 1, 2}},
		{"one is long", []string{"F2", long, "15 A"}, 180 * geom.MM, []int{0, 2}},
		{"two are long", []string{long, "20 AWG", long}, 180 * geom.MM, []int{1}},
	} {
		heads := make([]string, len(test.cells))
		r := row{}
		for _, text := range test.cells {
			r.cells = append(r.cells, say(text))
		}
		laid := table{heads: heads, rows: []row{r}}.lay(test.width)
		assert.Equal(t, test.width, sum(laid.widths), test.name)
		for _, column := range test.whole {
			assert.Len(t, laid.rows[0].cells[column], 1, "%s: column %d", test.name, column)
		}
	}
}

// Several pieces of neighbouring cells stay level; a cell of one piece runs down beside them.
func TestPiecesStayLevel(t *testing.T) {
	laid := table{heads: []string{"", "", ""}, rows: []row{{cells: []cell{
		say(strings.Repeat("long ", 20)),
		{{text: strings.Repeat("first ", 20)}, {text: "second"}},
		{{text: "1"}, {text: "2"}},
	}}}}.lay(90 * geom.MM)
	cells := laid.rows[0].cells
	level := func(column int, text string) int {
		for i, line := range cells[column] {
			if line.text == text {
				return i
			}
		}
		return -1
	}
	assert.Equal(t, level(1, "second"), level(2, "2"))
	assert.Greater(t, level(2, "2"), 1)
}

func TestRowsKeepTogether(t *testing.T) {
	tab := table{title: "Devices", heads: []string{"Terminal"}}
	for range 12 {
		tab.rows = append(tab.rows, row{keep: true, cells: []cell{say("device")}}, row{keep: true, cells: []cell{say("1")}}, row{cells: []cell{say("2")}})
	}
	parts := boxes(60*geom.MM, 60*geom.MM).place(tab.lay(60 * geom.MM))
	require.Greater(t, len(parts), 2)
	for i, p := range parts {
		assert.Equal(t, "device", p.rows[0].cells[0][0].text)
		assert.Zero(t, len(p.rows)%3)
		assert.Equal(t, i > 0, p.continued)
	}
}

func FuzzCompareNatural(f *testing.F) {
	f.Add("F2", "F10", "F10a")
	f.Add("01", "1", "")
	f.Add("X9a", "X09a", "X9b")
	f.Fuzz(func(t *testing.T, a, b, c string) {
		assert.Equal(t, a == b, CompareNatural(a, b) == 0)
		assert.Equal(t, CompareNatural(a, b) < 0, CompareNatural(b, a) > 0)
		if CompareNatural(a, b) <= 0 && CompareNatural(b, c) <= 0 {
			assert.LessOrEqual(t, CompareNatural(a, c), 0)
		}
	})
}

func TestPageNames(t *testing.T) {
	names := pageNames{}
	for _, test := range []struct{ ref, want string }{
		{"XA", "pinout-XA"}, {"X A", "pinout-X_A"}, {"X/A", "pinout-X_A~2"}, {"XA.2", "pinout-XA_2"}, {"Ä+1", "pinout-Ä+1"}, {"🔥", "pinout-_"},
	} {
		assert.Equal(t, test.want, names.take("pinout", test.ref), test.ref)
	}
	assert.Equal(t, "pinout-XA.2", continuedName("pinout-XA", 2))
	assert.Equal(t, "pinout-XA", continuedName("pinout-XA", 1))
}
