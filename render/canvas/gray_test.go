package canvas_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ferrule/render/canvas"
	"ferrule/render/geom"
)

// TestGray: black and white stay, pure colours get the luma of ITU-R BT.601, and the page that was given stays as it is.
func TestGray(t *testing.T) {
	for _, c := range []struct {
		from canvas.Color
		want uint8
	}{
		{canvas.Color{}, 0}, {canvas.Color{R: 255, G: 255, B: 255}, 255},
		{canvas.Color{R: 255}, 76}, {canvas.Color{G: 255}, 150}, {canvas.Color{B: 255}, 29},
	} {
		assert.Equal(t, canvas.Color{R: c.want, G: c.want, B: c.want}, c.from.Gray())
	}
	rec := canvas.NewRecorder("a", "A", geom.Pt(10*geom.MM, 10*geom.MM))
	rec.Rect(geom.Rect{Max: geom.Pt(geom.MM, geom.MM)}, canvas.Stroke{}, canvas.SolidFill(canvas.Color{R: 255}))
	page := rec.Page()
	gray := canvas.Gray(page)
	assert.Equal(t, uint8(255), page.Ops[0].Fill.Color.R)
	assert.Equal(t, uint8(76), gray.Ops[0].Fill.Color.R)
	assert.Equal(t, page.Size, gray.Size)
}
