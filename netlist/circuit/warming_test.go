package circuit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The peaks of a body of one time constant that is heated in pulses, stepped through in time until it repeats. The current that warms it
// as much when it never stops is sqrt(peak), of a current of 1 while on.
func steppedPeak(duty, onTime, tau float64) float64 {
	warm, peak := 0.0, 0.0
	period := onTime / duty
	const steps = 2000
	for range int(20*tau/period) + 20 {
		for i := range steps {
			heat := 0.0
			if float64(i) < duty*steps {
				heat = 1
			}
			warm += (heat - warm) * period / steps / tau
			peak = math.Max(peak, warm)
		}
	}
	return peak
}

// Held against a plain integration in time, tolerance 1 % for its steps; and against the two ends: a pulse train that is fast warms by
// its duty (root mean square), one that is slow like a current that never stops.
func TestWarmingShare(t *testing.T) {
	for _, c := range [][3]float64{{0.5, 1, 45}, {0.5, 30, 45}, {0.25, 60, 90}, {0.1, 300, 90}, {0.8, 20, 600}} {
		assert.InEpsilon(t, steppedPeak(c[0], c[1], c[2]), WarmingShare(c[0], c[1], c[2]), 0.01, "%v", c)
	}
	assert.InEpsilon(t, 0.3, WarmingShare(0.3, 1e-3, 45), 1e-4)
	assert.InEpsilon(t, 1, WarmingShare(0.3, 3600, 45), 1e-4)
	assert.InDelta(t, 1, WarmingShare(0.3, math.Inf(1), 45), 0)
	assert.InDelta(t, 0.3, WarmingShare(0.3, 10, math.Inf(1)), 0, "hours count for a fuse")
}
