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
