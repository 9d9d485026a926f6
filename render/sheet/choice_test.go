package sheet_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/graph"
	"ferrule/netlist/route"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/sheet"
)

// What every sheet promises holds on every paper: nothing off the sheet, no text on a text, nothing small, and no drawing
// reduced. Tables keep to the paper that is asked for.
func TestEveryPaper(t *testing.T) {
	if testing.Short() {
		t.Skip("geometry of many sets, all of it in the run without -short")
	}
	for name, n := range harnesses(t) {
		for _, word := range sheet.PaperWords() {
			if name == "pickup" && word != "a4" && word != "ansi-c" && word != "a0" {
				continue // the others differ in size alone
			}
			paper, ok := sheet.PaperByName(word)
			require.True(t, ok, word)
			s := &sheet.Set{Graph: graph.New(n), Netlist: n, Routes: route.New(n), Hash: "0123abcd", Paper: paper}
			s.Plan()
			p := planned{set: s}
			for _, page := range s.Pages {
				p.pages = append(p.pages, s.Render(page))
				where := name + " on " + word + " " + page.Name
				assert.True(t, page.Paper.Series == paper.Series, where)
				if page.Name == "cover" || page.Name == "states" || page.Name == "ground" {
					assert.False(t, page.Paper.Exceeds(paper), where)
				}
			}
			for _, page := range p.of(tabular...) {
				where := name + " on " + word + " " + page.Name
				assert.Empty(t, canvas.Overlaps(page), where)
				assert.Empty(t, canvas.StruckTexts(page), where)
				assert.Empty(t, canvas.SmallTexts(page, font.MinHeight), where)
				assertInside(t, p, page, where)
			}
		}
	}
}

// A larger paper is asked for to be read from afar: the same sheet has larger lettering on it, and no more pages.
func TestLargePaperIsReadFromAfar(t *testing.T) {
	if testing.Short() {
		t.Skip("geometry of many sets, all of it in the run without -short")
	}
	n := harnesses(t)["pickup"]
	least := func(word string) (height geom.Length, pages int) {
		paper, _ := sheet.PaperByName(word)
		s := &sheet.Set{Graph: graph.New(n), Netlist: n, Routes: route.New(n), Hash: "0123abcd", Paper: paper}
		s.Plan()
		for _, page := range s.Pages {
			if page.Name == "feeds" {
				for _, o := range s.Render(page).Ops {
					inFrame := o.In("frame", "") || o.In("title-block", "") || o.In("caution", "")
					if o.Kind == canvas.OpText && !inFrame && (height == 0 || o.Text.Height < height) {
						height = o.Text.Height
					}
				}
			}
		}
		return height, len(s.Pages)
	}
	usual, usualPages := least("a3")
	large, largePages := least("a1")
	assert.Equal(t, geom.Length(2500), usual)
	assert.Equal(t, geom.Length(5000), large) // A1 is twice A3 in both directions (ISO 216)
	assert.LessOrEqual(t, largePages, usualPages)
}
