package conductor

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestProtectionReach holds the distances against 33 CFR 183.455(b): 7 and 40 inches, within the millimetres that rounding takes.
func TestProtectionReach(t *testing.T) {
	open, source := ProtectionReach(false)
	assert.InDelta(t, 7*0.0254, float64(open), 0.003)
	assert.GreaterOrEqual(t, float64(open), 0.18, "people write 180 mm for 7 in")
	assert.True(t, source.IsSet())
	sheathed, _ := ProtectionReach(true)
	assert.InDelta(t, 40*0.0254, float64(sheathed), 0.005)
	assert.GreaterOrEqual(t, float64(sheathed), 1.02, "people write 1.02 m for 40 in")
}
