package tile_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/canvas"
	"ferrule/render/geom"
	"ferrule/render/tile"
)

var a4 = geom.Pt(210*geom.MM, 297*geom.MM)

func page(width, height geom.Length) *canvas.Page {
	rec := canvas.NewRecorder("sheet", "A sheet", geom.Pt(width, height))
	rec.Line(geom.Polyline{geom.Pt(0, 0), geom.Pt(width, height)}, canvas.Stroke{Width: canvas.Width0p25})
	return rec.Page()
}

// seen is the part of the original page that a tile shows: its window, moved back by where the page's corner lies.
func seen(t *testing.T, tl tile.Tile) geom.Rect {
	t.Helper()
	corner := tl.Page.Ops[0].Points[0]
	return tl.Window.Move(geom.Pt(-corner.X, -corner.Y))
}

func TestASheetThatFitsStaysWhole(t *testing.T) {
	for _, p := range []*canvas.Page{page(a4.X, a4.Y), page(a4.Y, a4.X), page(100*geom.MM, 200*geom.MM)} {
		tiles := tile.Cut(p, a4)
		require.Len(t, tiles, 1)
		assert.Same(t, p, tiles[0].Page)
		assert.Equal(t, p.Bounds(), tiles[0].Window)
		assert.Empty(t, tiles[0].Marks.Ops)
	}
}

// TestPiecesCoverTheSheet: the windows reach from corner to corner, neighbours share the overlap, every piece fits on the
// paper with its margin, and no piece of none of the sheet is printed.
func TestPiecesCoverTheSheet(t *testing.T) {
	for _, p := range []*canvas.Page{page(420*geom.MM, 297*geom.MM), page(841*geom.MM, 594*geom.MM), page(1189*geom.MM, 841*geom.MM), page(211*geom.MM, 297*geom.MM)} {
		tiles := tile.Cut(p, a4)
		require.Greater(t, len(tiles), 1)
		var covered int64
		names := map[string]bool{}
		for i, tl := range tiles {
			names[tl.Page.Name] = true
			area := seen(t, tl)
			assert.True(t, area.Overlaps(p.Bounds()), "piece %d shows nothing", i)
			assert.Equal(t, tile.Margin, tl.Window.Min.X)
			assert.Equal(t, tl.Page.Size.Y-tile.Margin, tl.Window.Max.Y)
			covered = max(covered, int64(area.Max.X)*int64(area.Max.Y))
			if i > 0 {
				if before := seen(t, tiles[i-1]); before.Min.Y == area.Min.Y {
					assert.Equal(t, tile.Overlap, before.Max.X-area.Min.X)
				}
			}
			for _, o := range tl.Marks.Ops { // marks lie outside the window
				box, ok := o.Bounds()
				assert.True(t, ok && !box.Overlaps(tl.Window), "%v", o)
			}
		}
		assert.Len(t, names, len(tiles))
		last := seen(t, tiles[len(tiles)-1])
		assert.GreaterOrEqual(t, last.Max.X, p.Size.X)
		assert.GreaterOrEqual(t, last.Max.Y, p.Size.Y)
		assert.GreaterOrEqual(t, covered, int64(p.Size.X)*int64(p.Size.Y))
	}
}

// TestTheFewerPieces: the paper is held the way that takes fewer pieces, so that a sheet on its side takes as many.
func TestTheFewerPieces(t *testing.T) {
	upright, lying := tile.Cut(page(420*geom.MM, 270*geom.MM), a4), tile.Cut(page(270*geom.MM, 420*geom.MM), a4)
	assert.Len(t, upright, len(lying), "a sheet on its side takes as many")
}
