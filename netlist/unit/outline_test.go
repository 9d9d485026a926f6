package unit_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/unit"
)

func TestParseOutline(t *testing.T) {
	for text, want := range map[string]unit.Outline{
		"28 x 28 mm":       {Width: 0.028, Height: 0.028},
		"20x12 cm":         {Width: 0.2, Height: 0.12},
		"200 × 120 × 6 mm": {Width: 0.2, Height: 0.12, Depth: 0.006},
		"1 in x 2 in":      {Width: 0.0254, Height: 0.0508},
		"1.5 x 2 m":        {Width: 1.5, Height: 2},
	} {
		got, err := unit.ParseOutline(text)
		require.NoError(t, err, text)
		assert.InDelta(t, want.Width, got.Width, 1e-12, text)
		assert.InDelta(t, want.Height, got.Height, 1e-12, text)
		assert.InDelta(t, want.Depth, got.Depth, 1e-12, text)
		again, err := unit.ParseOutline(got.String())
		require.NoError(t, err, got.String())
		assert.InDelta(t, got.Width, again.Width, 1e-4, text)
	}
	for _, text := range []string{"", "28 mm", "28 x 28", "x 28 mm", "28 x 28 A", "28 x 28 x 3 x 4 mm", "28 mm x 2 in", "-1 x 2 mm", "0 x 2 mm", "20 x 11 m", "1e400 x 2 mm"} {
		_, err := unit.ParseOutline(text)
		assert.Error(t, err, text)
	}
	assert.InDelta(t, 784, unit.Outline{Width: 0.028, Height: 0.028}.AreaMM2(), 1e-9)
}

func FuzzParseOutline(f *testing.F) {
	for _, text := range []string{"28 x 28 mm", "200 × 120 × 6 mm", "x", "1 in x 2 in"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		o, err := unit.ParseOutline(text)
		if err == nil && !o.IsSet() {
			t.Fatalf("%q is read and not set", text)
		}
	})
}
