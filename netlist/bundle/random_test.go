package bundle

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The first numbers for seed 1234567, as the reference implementation of SplitMix64 gives them (from memory of a published
// list of test values).
func TestGeneratorAgainstPublishedValues(t *testing.T) {
	g := generator(1234567)
	for _, want := range []uint64{6457827717110365317, 3203168211198807973, 9817491932198370423} {
		assert.Equal(t, want, g.next())
	}
}

func TestGeneratorStaysInRange(t *testing.T) {
	g := generator(1)
	seen := map[int]int{}
	for range 3000 {
		f, n := g.Float64(), g.IntN(3)
		assert.True(t, f >= 0 && f < 1)
		seen[n]++
	}
	assert.Len(t, seen, 3)
	for n, times := range seen {
		assert.InDelta(t, 1000, times, 150, "%d", n)
	}
}
