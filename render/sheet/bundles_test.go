package sheet_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/canvas"
)

// TestBundlesToScale: in the section of the grommet's bundle every wire stands as a circle, at the scale that the headline
// says: 12.2 mm packed, 13.0 by the formula, 1.6 mm for a 22 AWG wire (thin wall, common practice), at 6 : 1.
func TestBundlesToScale(t *testing.T) {
	var radii []float64
	for _, page := range plans(t)["pickup"].of("bundles") {
		for _, op := range page.Ops {
			if op.Kind == canvas.OpCircle && op.In("section", "N0-G1R") {
				radii = append(radii, op.Radius.Mm())
			}
		}
	}
	require.Len(t, radii, 2+2*38, "the hole, the ring of practice, and insulation and core of each wire")
	assert.InDelta(t, 12.2*6/2, radii[0], 0.5)
	assert.InDelta(t, 13.03*6/2, radii[1], 0.2)
	assert.InDelta(t, 1.6*6/2, radii[len(radii)-2]+0.125, 0.01, "outlines lie inside")
}

// TestBundlesHasEveryPath: each path with wires has its line.
func TestBundlesHasEveryPath(t *testing.T) {
	for name, p := range plans(t) {
		listed := refsOn(p.of("bundles"), "path")
		fits := p.set.Fits()
		for i := range fits {
			if len(fits[i].Wires) > 0 {
				assert.Positive(t, listed[fits[i].Path.Name.Text], "%s: %s", name, fits[i].Path.Name.Text)
			}
		}
	}
}
