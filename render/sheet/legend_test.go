package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/symbol"
)

// The legend shows those symbols that pages say they show, and every one of the set reads in it.
func TestSymbolLegend(t *testing.T) {
	require.Empty(t, symbolTable([]*Page{{Shows: []Shown{{"part", "fuse"}}}}).rows)
	var shows []Shown
	for _, name := range symbol.Names() {
		shows = append(shows, Shown{"symbol", name})
	}
	area := wallPaper.Area().Inset(sheetMargin)
	columns := columnsOf(area, coverColumns(area))
	laid := symbolTable([]*Page{{Shows: shows}}).lay(columns[0].Width())
	require.Len(t, laid.rows, (len(shows)+1)/2)
	parts := flow{boxAt: func(i int) box { return box{i / coverColumns(area), columns[i%coverColumns(area)]} }}.place(laid)
	require.Equal(t, 1, pagesOf(parts))
	r := canvas.NewRecorder("legend", "", wallPaper.Size())
	(&Set{}).drawParts(r, parts)
	page := r.Page()
	assert.Empty(t, canvas.Overlaps(page))
	assert.Empty(t, canvas.StruckTexts(page))
	assert.Empty(t, canvas.SmallTexts(page, font.MinHeight))
	for _, o := range page.Ops {
		if bounds, drawn := o.Bounds(); drawn {
			assert.True(t, wallPaper.Area().ContainsRect(bounds), "%s", o)
		}
	}
}
