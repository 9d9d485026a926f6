package study

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTraceDead: the way to a terminal that is dead in a state leads over what is open there, and not backwards over other consumers.
func TestTraceDead(t *testing.T) {
	s := pickup(t)
	pin, ok := s.netlist.FindPin("M1:1")
	require.True(t, ok)
	chains := s.Trace(pin, "off")
	require.Len(t, chains, 2)
	assert.Equal(t, "BAT1:+ (battery)", chains[0].From)
	assert.Equal(t, "frame (grounded body)", chains[1].To)
	var open []string
	for _, step := range chains[0].Steps {
		assert.NotContains(t, step.Over, "load")
		if step.Open {
			open = append(open, step.Over)
		}
	}
	assert.Equal(t, []string{"contact of K2"}, open)
}

// TestTracePositiveGround: a chain of a vehicle with positive ground begins at the minus, which is its live pole; amperes are not
// negative for that, and the chain says which way they flow. Volts rise from the battery's minus to the body.
func TestTracePositiveGround(t *testing.T) {
	s := exampleOf(t, "motorcycle")
	pin, ok := s.netlist.FindPin("E1:56a")
	require.True(t, ok)
	chains := s.Trace(pin, "high")
	require.Len(t, chains, 2)
	assert.Equal(t, "BAT1:- (battery, live pole)", chains[0].From)
	assert.Equal(t, "E1:56a", chains[0].To)
	volts := -1e-9
	for _, c := range chains {
		assert.True(t, c.Against)
		for _, step := range c.Steps {
			assert.GreaterOrEqual(t, step.Volts, volts-1e-9, step.Pin)
			volts = step.Volts
		}
	}
	lamp := chains[1].Steps[1]
	assert.Greater(t, lamp.Amps, 5.0, lamp.Over)
	assert.False(t, math.IsNaN(lamp.Amps))
}
