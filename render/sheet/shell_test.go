package sheet_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/canvas"
	"ferrule/render/geom"
)

// A round shell of seven in three rows, which are staggered: the cavities of both views lie inside the shell, do not touch one another,
// and the second view is the first one seen in a mirror.
func TestRoundShellWithStaggeredRows(t *testing.T) {
	p := plan(parsed(t, `
[connector.X1]
mates = "X2"
view = "wire side"
latch = "top"
shell = "round"
grid = ["_ 1 _ 2 _", "3 _ 4 _ 5", "_ 6 _ 7 _"]
[connector.X2]
mates = "X1"
`), nil, nil)
	pages := p.of("pinout-X1")
	require.Len(t, pages, 1)
	type circle struct {
		center geom.Point
		radius geom.Length
	}
	var shells []circle
	var views []map[string]circle
	for _, o := range pages[0].Ops {
		if o.Kind != canvas.OpCircle {
			continue
		}
		at := circle{o.Points[0], o.Radius}
		switch {
		case o.Group().Kind == "face":
			shells, views = append(shells, at), append(views, map[string]circle{})
		case o.Group().Kind == "cavity":
			views[len(views)-1][o.Group().Ref] = at
		}
	}
	require.Len(t, shells, 2)
	apart := func(a, b geom.Point) float64 { return math.Hypot(float64(a.X-b.X), float64(a.Y-b.Y)) }
	for i, view := range views {
		require.Len(t, view, 7)
		for name, cavity := range view {
			assert.Less(t, apart(cavity.center, shells[i].center)+float64(cavity.radius), float64(shells[i].radius), name)
			for other, next := range view {
				if other != name {
					assert.Greater(t, apart(cavity.center, next.center), float64(cavity.radius+next.radius), "%s %s", name, other)
				}
			}
			// Mirrored to a thousandth of a millimetre: half a pitch may be rounded.
			mirrored := views[1-i][name].center
			assert.InDelta(t, float64(cavity.center.X-shells[i].center.X), float64(shells[1-i].center.X-mirrored.X), 2)
			assert.Equal(t, cavity.center.Y, mirrored.Y)
		}
		middle := (view["1"].center.X + view["2"].center.X) / 2
		assert.InDelta(t, float64(middle), float64(view["4"].center.X), 2, "the rows are half a place apart")
	}
	text := ""
	for _, o := range pages[0].Ops {
		if o.Kind == canvas.OpText {
			text += o.Text.String + "\n"
		}
	}
	assert.Contains(t, text, "KEY\n")
}
