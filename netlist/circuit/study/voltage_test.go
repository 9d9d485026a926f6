package study

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const positive = `
[harness]
volts = 6
polarity = "positive-ground"
[body.frame]
[part]
BAT = { kind = "battery", capacity = "12 Ah", resistance = "20 mohm" }
S1 = { kind = "switch" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
E1 = { kind = "lamp", title = "Head lamp", load = "21 W" }
E2 = { kind = "lamp", title = "Tail lamp", load = "5 W" }
K1 = { kind = "relay", coil-resistance = "20 ohm" }
D1 = { kind = "diode" }
G1 = { kind = "ground point", body = "frame" }
G2 = { kind = "ground point", body = "frame" }
[part.A1]
kind = "module"
pins = ["1", "2", "3"]
[part.A1.pin]
1 = { role = "supply", load = "0.1 A" }
2 = { role = "ground" }
3 = { role = "sink" }
[wire]
1 = { from = "BAT:+", to = "G1:1", size = "4 mm2", color = "BN", length = "0.2 m" }
2 = { from = "BAT:-", to = "F1:1", size = "4 mm2", color = "RD", length = "0.1 m" }
3 = { from = "F1:2", to = "S1:1", size = "1.5 mm2", color = "RD", length = "0.5 m" }
4 = { from = "S1:2", to = "D1:K", size = "1.5 mm2", color = "WH", length = "0.5 m" }
5 = { from = "D1:A", to = "E1:1", size = "1.5 mm2", color = "WH", length = "0.5 m" }
6 = { from = "E1:2", to = "G2:1", size = "1.5 mm2", color = "BN", length = "0.2 m" }
7 = { from = "E1:2", to = "E2:2", size = "1.5 mm2", color = "BN", length = "0.2 m" }
8 = { from = "F1:2", to = "A1:1", size = "1 mm2", color = "RD", length = "0.3 m" }
9 = { from = "A1:2", to = "G1:2", size = "1 mm2", color = "BN", length = "0.3 m" }
10 = { from = "F1:2", to = "K1:86", size = "1 mm2", color = "RD", length = "0.3 m" }
11 = { from = "K1:85", to = "A1:3", size = "1 mm2", color = "GY", length = "0.3 m" }
12 = { from = "F1:2", to = "K1:30", size = "1 mm2", color = "RD", length = "0.3 m" }
13 = { from = "K1:87", to = "E2:1", size = "1 mm2", color = "WH", length = "0.3 m" }
[state.off]
[state.lit]
switches = { S1 = "on" }
driven = ["A1:3"]
`

// TestPositiveGroundFaults: with plus on the frame the live wires hang on minus, the diode points towards them, the module lives on minus
// and pulls its relay to plus. What a dead short does is the same as in a mirrored vehicle: 6 V over the loop.
func TestPositiveGroundFaults(t *testing.T) {
	s := parse(t, positive)
	shorts, err := s.Faults()
	require.NoError(t, err)
	assert.Equal(t, WithinReach, wireNamed(t, shorts, "2").Verdict)
	assert.Equal(t, Grounded, wireNamed(t, shorts, "1").Verdict)
	assert.Equal(t, Grounded, wireNamed(t, shorts, "6").Verdict)
	lamp := wireNamed(t, shorts, "5")
	assert.Equal(t, Cleared, lamp.Verdict, "through the diode, %.0f A", lamp.Amps)
	assert.Equal(t, "F1", lamp.Device.Name.Text)
	relay := wireNamed(t, shorts, "13")
	assert.Equal(t, Cleared, relay.Verdict, "the module pulls the relay")
	assert.Equal(t, "lit", relay.State)
	assert.InEpsilon(t, 12.65/2*12/12.65, relay.Amps*relay.Ohms, 1e-9, "6.0 V of a weak battery")
}

// TestPositiveGroundSneak: without their common ground the lamps are in series, as anywhere else, and with it nothing is.
func TestPositiveGroundSneak(t *testing.T) {
	r := parse(t, positive).Sneaks()
	assert.Empty(t, r.Unquiet)
	assert.Nil(t, findSneak(r, "S1 moved"), "the two lamps have feeds of their own")
	apart := strings.Replace(positive, `13 = { from = "K1:87", to = "E2:1",`, `13 = { from = "G1:3", to = "E2:1",`, 1)
	lifted := findSneak(parse(t, apart).Sneaks(), "G2 lifted")
	require.NotNil(t, lifted, "the head lamp finds its way over the tail lamp")
	assert.NotNil(t, effectOn(lifted, "E2 Tail lamp"))
}

const series24 = `
[harness]
volts = 24
[body.body]
[part]
B1 = { kind = "battery", capacity = "100 Ah", resistance = "4 mohm" }
B2 = { kind = "battery", capacity = "100 Ah", resistance = "4 mohm" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
F2 = { kind = "fuse", rating = "10 A", family = "blade" }
R1 = { kind = "resistor", resistance = "10 ohm" }
R2 = { kind = "resistor", resistance = "10 ohm" }
G1 = { kind = "ground point", body = "body" }
[wire]
1 = { from = "B1:-", to = "G1:1", size = "35 mm2", color = "BK", length = "0.3 m" }
2 = { from = "B1:+", to = "B2:-", size = "35 mm2", color = "RD", length = "0.3 m" }
3 = { from = "B2:+", to = "F1:1", size = "6 mm2", color = "RD", length = "0.1 m" }
4 = { from = "F1:2", to = "R1:1", size = "2.5 mm2", color = "RD", length = "3 m" }
5 = { from = "R1:2", to = "G1:2", size = "2.5 mm2", color = "BK", length = "0.3 m" }
6 = { from = "B1:+", to = "F2:1", size = "6 mm2", color = "RD", length = "0.1 m" }
7 = { from = "F2:2", to = "R2:1", size = "2.5 mm2", color = "RD", length = "3 m" }
8 = { from = "R2:2", to = "G1:3", size = "2.5 mm2", color = "BK", length = "0.3 m" }
`

// TestTwentyFourVoltsFaults: a short behind the upper battery has 24 V of two weak batteries in series, one behind the tap 12 V of one.
func TestTwentyFourVoltsFaults(t *testing.T) {
	shorts, err := parse(t, series24).Faults()
	require.NoError(t, err)
	full, tap := wireNamed(t, shorts, "4"), wireNamed(t, shorts, "7")
	assert.InEpsilon(t, 24.0, full.Amps*full.Ohms, 1e-6)
	assert.Equal(t, Cleared, full.Verdict)
	assert.Equal(t, "F1", full.Device.Name.Text)
	require.NotNil(t, tap.Device, "the point between the batteries is a source: %s, %s", tap.Verdict, tap.Because)
	assert.InEpsilon(t, 12.0, tap.Amps*tap.Ohms, 1e-6)
	assert.Equal(t, "F2", tap.Device.Name.Text)
	assert.Equal(t, WithinReach, wireNamed(t, shorts, "6").Verdict)
	assert.Equal(t, Exempt, wireNamed(t, shorts, "2").Verdict)
	assert.Empty(t, parse(t, series24).Sneaks().Unquiet)
}

// TestHalfBridgeFeeds: a pulled half bridge grounds what hangs on it and a driven one feeds it; neither is a sneak path.
func TestHalfBridgeFeeds(t *testing.T) {
	s := parse(t, `
[body.body]
[part]
G1 = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
M1 = { kind = "motor", load = "5 A" }
[part.A1]
kind = "module"
pins = ["1", "2", "3", "4"]
[part.A1.pin]
1 = { role = "supply", load = "0.1 A" }
2 = { role = "ground" }
3 = { role = "half-bridge" }
4 = { role = "half-bridge" }
[wire]
1 = { from = "G1:+", to = "F1:1", size = "10 AWG", color = "RD", length = "0.1 m" }
2 = { from = "F1:2", to = "A1:1", size = "14 AWG", color = "RD", length = "0.5 m" }
3 = { from = "A1:2", to = "G1:-", size = "14 AWG", color = "BK", length = "0.5 m" }
4 = { from = "A1:3", to = "M1:1", size = "14 AWG", color = "WH", length = "0.5 m" }
5 = { from = "M1:2", to = "A1:4", size = "14 AWG", color = "GY", length = "0.5 m" }
[state.up]
driven = ["A1:3"]
pulled = ["A1:4"]
[state.down]
driven = ["A1:4"]
pulled = ["A1:3"]
`)
	r := s.Sneaks()
	assert.Empty(t, r.Series)
	assert.Empty(t, r.Found)
	for _, cond := range s.conds {
		f := s.feedOf(setting{cond: cond})
		motor, _ := s.netlist.FindPin("M1:1")
		other, _ := s.netlist.FindPin("M1:2")
		assert.True(t, f.proper(motor, other), cond.Name())
	}
}
