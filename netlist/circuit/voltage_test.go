package circuit_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/circuit"
)

const sixVolts = `
[harness]
volts = 6
polarity = "positive-ground"
[body.frame]
[part]
BAT = { kind = "battery", capacity = "12 Ah", resistance = "20 mohm" }
S1 = { kind = "switch", rating = "10 A" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
E1 = { kind = "lamp", load = "35 W" }
K1 = { kind = "relay", coil-resistance = "20 ohm" }
D1 = { kind = "diode" }
R1 = { kind = "resistor", resistance = "10 ohm" }
GND = { kind = "ground point", body = "frame" }
[part.DYN]
kind = "dynamo"
case = "frame"
pins = ["D-"]
output = "10 A"
regulated = "7 V"
sources = [{ between = "case-D-" }]
[part.A1]
kind = "module"
pins = ["1", "2", "3"]
[part.A1.pin]
1 = { role = "supply", load = "0.1 A" }
2 = { role = "ground" }
3 = { role = "sink" }
[wire]
1 = { from = "BAT:+", to = "GND:1", size = "4 mm2", color = "BN", length = "0.2 m" }
2 = { from = "BAT:-", to = "F1:1", size = "4 mm2", color = "RD", length = "0.1 m" }
3 = { from = "F1:2", to = "S1:1", size = "2.5 mm2", color = "RD", length = "0.5 m" }
4 = { from = "S1:2", to = "E1:1", size = "2.5 mm2", color = "WH", length = "0.5 m" }
5 = { from = "E1:2", to = "GND:2", size = "2.5 mm2", color = "BN", length = "0.2 m" }
6 = { from = "DYN:D-", to = "F1:2", size = "2.5 mm2", color = "RD", length = "0.8 m" }
7 = { from = "F1:2", to = "A1:1", size = "1 mm2", color = "RD", length = "0.3 m" }
8 = { from = "A1:2", to = "GND:3", size = "1 mm2", color = "BN", length = "0.3 m" }
9 = { from = "F1:2", to = "K1:86", size = "1 mm2", color = "RD", length = "0.3 m" }
10 = { from = "K1:85", to = "A1:3", size = "1 mm2", color = "GY", length = "0.3 m" }
11 = { from = "F1:2", to = "DIODE", size = "1 mm2", color = "RD", length = "0.3 m" }
12 = { from = "OTHER", to = "R1:1", size = "1 mm2", color = "RD", length = "0.3 m" }
13 = { from = "R1:2", to = "GND:4", size = "1 mm2", color = "BN", length = "0.3 m" }
[state.off]
[state.lit]
switches = { S1 = "on" }
driven = ["A1:3"]
[state.running]
engine = "running"
switches = { S1 = "on" }
`

// TestSixVoltsPositiveGround: with plus on the frame the live side is below it. Nothing else is mirrored: a lamp takes its watts at 6 V, a
// diode conducts from the frame to the live side, a module is alive on the minus, and a dynamo whose plus is its case charges.
func TestSixVoltsPositiveGround(t *testing.T) {
	c := written(t, replaced(sixVolts, "DIODE", "D1:K", "OTHER", "D1:A"))
	off, lit, running := reported(t, c, "off"), reported(t, c, "lit"), reported(t, c, "running")
	frame := func(s *circuit.Solution, ref string) float64 { return at(t, s, ref) - at(t, s, "BAT:+") }
	assert.InDelta(t, -12.65/2, frame(off.Solution, "F1:1"), 0.02, "half of a 12 V battery, 12.65 V, below the frame")
	lamp := frame(lit.Solution, "E1:2") - frame(lit.Solution, "E1:1")
	assert.Greater(t, lamp, 5.5)
	assert.InEpsilon(t, 35.0/6, -through(t, lit.Solution, "E1"), 0.05)
	assert.True(t, lit.Solution.Engaged(c0(lit.Solution, "K1")), "driven by a module that lives on the minus")
	assert.False(t, off.Solution.Engaged(c0(off.Solution, "K1")))
	assert.InDelta(t, (12.65/2-0.7)/10.05, -through(t, lit.Solution, "R1"), 0.1, "a diode of 0.7 V that points to the live side")
	back := reported(t, written(t, replaced(sixVolts, "DIODE", "D1:A", "OTHER", "D1:K")), "lit")
	assert.InDelta(t, 0, through(t, back.Solution, "R1"), 1e-6)

	assert.InDelta(t, -7, frame(running.Solution, "DYN:D-"), 0.2)
	assert.Less(t, frame(running.Solution, "BAT:-"), -12.65/2, "the battery is charged")
	require.Len(t, running.Leads, 2)
	assert.True(t, running.Leads[0].Return, "the case comes first here, and it is the return")
	assert.InDelta(t, 0.15, running.Leads[1].Limit, 1e-9, "0.3 V at 12 V")
	assert.Empty(t, running.Notes)
	for _, r := range []*circuit.Report{lit, running} {
		for _, l := range r.Loads {
			if l.Ref == "E1" {
				assert.True(t, l.Fed)
				assert.InDelta(t, l.Drop.Source, l.Drop.Volts+l.Drop.Loop+l.Drop.Inside, 1e-9)
				assert.GreaterOrEqual(t, l.Drop.Loop, l.Drop.Own-1e-9)
			}
		}
	}
	grounds := c.GroundCables()
	require.Len(t, grounds, 1)
	assert.Equal(t, "1", grounds[0].Cables[0].Name.Text, "the cable from plus to the frame")
	assert.Equal(t, "2", grounds[0].Feed.Name.Text)
}

func replaced(text string, pairs ...string) string {
	for i := 0; i < len(pairs); i += 2 {
		text = strings.ReplaceAll(text, pairs[i], pairs[i+1])
	}
	return text
}

const twentyFour = `
[harness]
volts = 24
[body.body]
[part]
B1 = { kind = "battery", capacity = "100 Ah", resistance = "4 mohm" }
B2 = { kind = "battery", capacity = "100 Ah", resistance = "4 mohm" }
F1 = { kind = "fuse", rating = "30 A", family = "blade" }
F2 = { kind = "fuse", rating = "30 A", family = "blade" }
R1 = { kind = "resistor", resistance = "10 ohm" }
R2 = { kind = "resistor", resistance = "2 ohm" }
ALT = { kind = "alternator", output = "55 A", case = "body" }
G1 = { kind = "ground point", body = "body" }
[wire]
1 = { from = "B1:-", to = "G1:1", size = "35 mm2", color = "BK", length = "0.3 m" }
2 = { from = "B1:+", to = "B2:-", size = "35 mm2", color = "RD", length = "0.3 m" }
3 = { from = "B2:+", to = "F1:1", size = "6 mm2", color = "RD", length = "0.1 m" }
4 = { from = "F1:2", to = "R1:1", size = "6 mm2", color = "RD", length = "1 m" }
5 = { from = "R1:2", to = "G1:2", size = "6 mm2", color = "BK", length = "0.3 m" }
6 = { from = "B1:+", to = "F2:1", size = "6 mm2", color = "RD", length = "0.1 m" }
7 = { from = "F2:2", to = "R2:1", size = "6 mm2", color = "RD", length = "1 m" }
8 = { from = "R2:2", to = "G1:3", size = "6 mm2", color = "BK", length = "0.3 m" }
9 = { from = "ALT:B+", to = "B2:+", size = "16 mm2", color = "RD", length = "2 m" }
[state.off]
[state.running]
engine = "running"
`

// TestTwentyFourVoltsWithATap: two batteries share 25.3 V, and a tap between them has half of it. By hand: the upper one gives 2.5 A to
// 10 ohm, the lower one those and 6.3 A more to 2 ohm. Budgets of the generator's leads are twice those of 12 V.
func TestTwentyFourVoltsWithATap(t *testing.T) {
	c := written(t, twentyFour)
	off := reported(t, c, "off")
	assert.InDelta(t, 25.3, at(t, off.Solution, "B2:+"), 0.1)
	assert.InDelta(t, 12.65, at(t, off.Solution, "B1:+"), 0.05)
	assert.InDelta(t, 2.5, -through(t, off.Solution, "B2"), 0.1)
	assert.InDelta(t, 2.5+6.2, -through(t, off.Solution, "B1"), 0.2)
	running := reported(t, c, "running")
	assert.InDelta(t, 28.4, at(t, running.Solution, "ALT:B+"), 0.3, "14.2 V at 12 V")
	require.Len(t, running.Leads, 2)
	assert.InDelta(t, 0.6, running.Leads[0].Limit, 1e-9)
	assert.Less(t, running.Leads[0].Volts, 0.4, "2 m of 16 mm2 at 55 A: 0.13 V cold")
	assert.Greater(t, running.Leads[0].Volts, 0.13)
	grounds := c.GroundCables()
	require.Len(t, grounds, 1, "the upper battery has no ground of its own")
	assert.Equal(t, "B1", grounds[0].Battery.Name.Text)
	assert.InDelta(t, 100, running.Balance.Capacity, 1e-9)
}

// TestDynamoForPositiveGround: a dynamo that states no sources of its own has plus on its case where plus is on the frame; the other way
// round it would lie in series with the battery, a short over the frame.
func TestDynamoForPositiveGround(t *testing.T) {
	plain := replaced(sixVolts, "DIODE", "D1:K", "OTHER", "D1:A", `sources = [{ between = "case-D-" }]`, "", `pins = ["D-"]
output`, `output`, "DYN:D-", "DYN:B+")
	running := reported(t, written(t, plain), "running").Solution
	assert.InDelta(t, -7, at(t, running, "DYN:B+")-at(t, running, "BAT:+"), 0.2)
	assert.Less(t, at(t, running, "BAT:-")-at(t, running, "BAT:+"), -12.65/2, "the battery is charged")
}

// TestChargeLampHasNoLoop: a lamp between the battery and a generator that charges lies between two sources of one pole; what it has are
// the volts by which they differ, and no budget is held against them.
func TestChargeLampHasNoLoop(t *testing.T) {
	c := parse(t, `ALT = { kind = "alternator", output = "40 A", regulated = "14 V", case = "body", sources = [{ between = "B+-case" }, { between = "L-case", limit = "1 A" }] }
E1 = { kind = "lamp", load = "2 W" }
G1 = { kind = "ground point", body = "body" }
R1 = { kind = "resistor", resistance = "0.5 ohm" }
R2 = { kind = "resistor", resistance = "0.1 ohm" }`, `BAT:+ R2:1
R2:2 ALT:B+
BAT:+ R1:1
R1:2 BAT:-
BAT:+ E1:1
E1:2 ALT:L
G1:1 BAT:-`, charging)
	r := c.Report(c.Graph.Conditions()[0], circuit.Options{})
	require.True(t, r.Solution.Settled)
	found := false
	for _, l := range r.Loads {
		if l.Ref == "E1" {
			found = true
			assert.False(t, l.Fed)
			assert.Equal(t, circuit.NotJudged, l.Verdict)
		}
	}
	assert.True(t, found, "the lamp is lit by the volts that stay in a bad lead")
}
