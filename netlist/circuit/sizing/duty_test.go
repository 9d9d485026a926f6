package sizing

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/graph"
	"ferrule/netlist/route"
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
		assert.InEpsilon(t, steppedPeak(c[0], c[1], c[2]), warmingShare(c[0], c[1], c[2]), 0.01, "%v", c)
	}
	assert.InEpsilon(t, 0.3, warmingShare(0.3, 1e-3, 45), 1e-4)
	assert.InEpsilon(t, 1, warmingShare(0.3, 3600, 45), 1e-4)
	assert.InDelta(t, 1, warmingShare(0.3, math.Inf(1), 45), 0)
	assert.InDelta(t, 0.3, warmingShare(0.3, 10, math.Inf(1)), 0, "hours count for a fuse")
}

const dutied = head + `
M1 = { kind = "KIND", at = "b", load = { run = "10 A", duty = "25 %"MORE } }
[splice]
S1 = { at = "b" }
[wire]
0a = { from = "BAT1:-", to = "GND1:1", size = "4 AWG", length = "0.2 m" }
1a = { from = "BAT1:+", to = "F1:1", size = "10 AWG", length = "0.1 m" }
1b = { from = "F1:2", to = "M1:PIN1", size = "14 AWG", length = "0.5 m" }
1c = { from = "M1:PIN2", to = "GND2:1", size = "14 AWG", length = "0.3 m" }
[state.on]
`

// A fan of half an hour is not saved by standing still for the next: its wire is held against the whole current. What opens and closes
// with the engine is held against its effective current.
func TestSlowConsumersWarmFully(t *testing.T) {
	for _, c := range []struct {
		kind, more string
		amps       float64
	}{
		{"motor", "", 10},
		{"motor", `, on-time = "20 ms"`, 5},
		{"motor", `, on-time = "30 s"`, 10 * math.Sqrt(math.Expm1(-30.0/90)/math.Expm1(-120.0/90))}, // 14 AWG: 90 s
		{"injector", "", 5},
		{"injector", `, on-time = "1 h"`, 10},
		{"ignition coil", "", 5},
		{"lamp", "", 10},
	} {
		pins := []string{"1", "2"}
		if c.kind == "ignition coil" {
			pins = []string{"15", "1"}
		}
		n := read(t, strings.NewReplacer("KIND", c.kind, "MORE", c.more, "PIN1", pins[0], "PIN2", pins[1]).Replace(dutied))
		r := New(graph.New(n), route.New(n), Options{})
		require.NotEmpty(t, r.Wires)
		assert.InEpsilon(t, c.amps, float64(r.wire(t, "1b").Continue), 2e-3, "%s%s", c.kind, c.more)
	}
}
