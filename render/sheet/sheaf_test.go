package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// TestLowTitleBlock: a page that goes on keeps the fields that ISO 7200 asks for (testdata/reference/sheet-rules.csv: owner, identification
// number, date, sheet, title, approval, creator, type), the whole caution, and more room; nothing of it is small or runs into
// anything, with ordinary texts and with far too long ones.
func TestLowTitleBlock(t *testing.T) {
	caution := strings.Repeat("Battery off, grounded pole first. ", 7)
	long := strings.Repeat("Überlange Bezeichnung gjpqy ", 30)
	for name, block := range map[string]TitleBlock{
		"usual": {Vehicle: "Utility pickup", Title: "Cut list (2 of 9)", Hash: "3fa9c1d2", Revision: "B", Findings: FindingsText(0, 1, 2), Sheet: 2, Sheets: 14, Caution: caution},
		"crammed": {
			Vehicle: long, Title: long, Document: long, Kind: long, Revision: long, Hash: long, Findings: long, Owner: long, Date: long, Drawn: long,
			Approved: long, Sheet: 123456789, Sheets: 1234567890, Caution: caution,
		},
	} {
		for _, p := range Papers() {
			low := p.low(caution)
			assert.True(t, low.Low, p.Name)
			assert.True(t, low.CautionFits(caution), p.Name)
			assert.Greater(t, int64(low.Area().Height()-p.Area().Height()), int64(17*geom.MM), p.Name)
			r := canvas.NewRecorder("S", block.Title, low.Size())
			Frame(r, low, block)
			page, where := r.Page(), p.Name+" "+name
			assert.Empty(t, canvas.Overlaps(page), where)
			assert.Empty(t, canvas.StruckTexts(page), where)
			assert.Empty(t, canvas.SmallTexts(page, font.MinHeight), where)
			fields := map[string]bool{}
			free := low.Area().Inset(canvas.Width0p7 / 2)
			for _, o := range page.Ops {
				if o.Kind == canvas.OpBegin && o.Group().Kind == "field" {
					fields[o.Group().Ref] = true
				}
				if bounds, drawn := o.Bounds(); drawn && o.Kind == canvas.OpText {
					assert.False(t, bounds.Overlaps(free), "%s: %s stands in the drawing area", where, o)
				}
			}
			for _, field := range []string{"owner", "document", "date", "sheet", "title", "approved", "drawn", "kind", "revision", "hash", "findings", "as-built", "vehicle"} {
				assert.True(t, fields[field], "%s: %s", where, field)
			}
		}
	}
	full, _ := PaperByName("A3")
	assert.False(t, full.low(long+long).Low, "where a wide paper has no room for the caution beside a low block, it keeps the full one")
}

// TestBalancedWidths: the widths found make a table no higher than the even shares of before, and here a good deal lower.
func TestBalancedWidths(t *testing.T) {
	tab := table{heads: []string{"Item", "Ask for", "Need"}, height: font.MinHeight}
	tab.rows = append(tab.rows, row{cells: []cell{say("one item whose name alone is as long as two other names"), say("short"), say("1")}})
	for range 20 {
		tab.rows = append(tab.rows, row{cells: []cell{say("terminal"), say("one with a long description, for wire of three sizes, tin plated, of the sealed sort"), say("26")}})
	}
	laid := tab.lay(130 * geom.MM)
	lines := func(widths []geom.Length) int {
		b := balance{table: laid, counts: map[balanceKey][][]int{}}
		return b.lines(widths)
	}
	_, word, text := laid.columnNeeds()
	even := stretch(shareOut(word, text, laid.width), laid.width)
	assert.Less(t, lines(laid.widths), lines(even))
	assert.Equal(t, laid.width, sum(laid.widths))
	total := 0
	for _, r := range laid.rows {
		total += r.lines
	}
	assert.Equal(t, total, lines(laid.widths), "the count is that of the layout")
}
