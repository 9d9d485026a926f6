package study

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/model"
)

// unbodied is a boat's way to wire: a lamp with a return of its own, and no metal anywhere.
const unbodied = `
[harness]
volts = 12
cable = "AWG"
[part]
BAT = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
R1 = { kind = "resistor", resistance = "5 mohm" }
S1 = { kind = "switch", rating = "10 A" }
E1 = { kind = "lamp", load = "21 W" }
[wire]
1 = { from = "BAT:+", to = "F1:1", size = "10 AWG", length = "0.1 m" }
2 = { from = "F1:2", to = "R1:1", size = "14 AWG", length = "0.5 m" }
3 = { from = "R1:2", to = "S1:1", size = "14 AWG", length = "0.5 m" }
4 = { from = "S1:2", to = "E1:1", size = "14 AWG", length = "5 m" }
5 = { from = "E1:2", to = "BAT:-", size = "14 AWG", length = "5 m" }
[state.off]
[state.lit]
switches = { S1 = "on" }
`

func shortsOf(t *testing.T, text string) []Short {
	t.Helper()
	shorts, err := parse(t, text).Faults()
	require.NoError(t, err)
	return shorts
}

// TestReturnWithoutABody: where no metal lies about, the short leads back over the return of the load. By hand: 14 AWG has 2.081 mm2
// (ASTM B258), copper 0.0172 to 0.0185 ohm mm2/m at 20 C and 0.393 % more per kelvin; 4 m more of it at 40 C and up are 36 to 39 mohm.
func TestReturnWithoutABody(t *testing.T) {
	long := wireNamed(t, shortsOf(t, unbodied), "4")
	short := wireNamed(t, shortsOf(t, strings.Replace(unbodied, `to = "BAT:-", size = "14 AWG", length = "5 m"`, `to = "BAT:-", size = "14 AWG", length = "1 m"`, 1)), "4")
	assert.InDelta(t, 0.0375, long.Ohms-short.Ohms, 0.0025)
	assert.InEpsilon(t, 12.0, long.Amps*long.Ohms, 1e-9, "a weak battery has 12.0 V")
	n := parse(t, unbodied).netlist
	assert.Equal(t, "E1:2", n.Pin(long.To).String())
	assert.Equal(t, "E1:2", n.Pin(wireNamed(t, shortsOf(t, unbodied), "3").To).String(), "over the open switch to the load that it is for")
}

// TestShuntDoesNotLimit: a short behind the shunt of an ammeter is the fuse's to clear. Half an ohm limits by itself.
func TestShuntDoesNotLimit(t *testing.T) {
	s := wireNamed(t, shortsOf(t, unbodied), "3")
	assert.Equal(t, Cleared, s.Verdict, s.Because)
	require.NotNil(t, s.Device)
	assert.Equal(t, "F1", s.Device.Name.Text)
	limited := wireNamed(t, shortsOf(t, strings.Replace(unbodied, "5 mohm", "0.5 ohm", 1)), "3")
	assert.Equal(t, Limited, limited.Verdict)
}

// joined is a cable between two batteries with a fuse at either end.
const joined = `
[harness]
volts = 12
cable = "AWG"
[body.frame]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
BAT2 = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
F1 = { kind = "fuse", rating = "40 A", family = "bolt-in" }
F2 = { kind = "fuse", rating = "SECOND", family = "bolt-in" }
GND = { kind = "ground point", body = "frame" }
[wire]
1 = { from = "BAT1:+", to = "F1:1", size = "6 AWG", length = "0.1 m" }
2 = { from = "F1:2", to = "F2:2", size = "6 AWG", length = "LONG" }
3 = { from = "BAT2:+", to = "F2:1", size = "6 AWG", length = "0.1 m" }
4 = { from = "BAT1:-", to = "GND:1", size = "6 AWG", length = "0.2 m" }
5 = { from = "BAT2:-", to = "GND:2", size = "6 AWG", length = "0.2 m" }
[state.on]
`

// TestTwoFeeds: a short on a cable between two sources is fed from both sides, and each fuse has to clear its own share, which is less
// than the whole. By Kirchhoff's first law the shares make up the whole; by Ohm's law that of the near side is 12 V over the battery of
// 20 mohm and what lies before the short.
func TestTwoFeeds(t *testing.T) {
	text := strings.NewReplacer("SECOND", "40 A", "LONG", "2 m").Replace(joined)
	s := wireNamed(t, shortsOf(t, text), "2")
	require.Len(t, s.Feeds, 2)
	assert.InEpsilon(t, s.Amps, s.Feeds[0].Amps+s.Feeds[1].Amps, 1e-6)
	assert.Less(t, s.Feeds[0].Amps, s.Feeds[1].Amps, "the longer way has less")
	assert.InEpsilon(t, s.Feeds[0].Amps/40, s.Ratio, 1e-9, "told by the worse of them")
	assert.Less(t, s.Feeds[1].Amps, 12/0.020)
	assert.InEpsilon(t, s.Feeds[0].LetThrough+s.Feeds[1].LetThrough, s.LetThrough, 1e-9, "the cable feels both")
	one := wireNamed(t, shortsOf(t, strings.Replace(text, `from = "BAT2:+", to = "F2:1"`, `from = "GND:3", to = "F2:1"`, 1)), "2")
	assert.Nil(t, one.Feeds)

	slow := wireNamed(t, shortsOf(t, strings.NewReplacer("SECOND", "400 A", "LONG", "2 m").Replace(joined)), "2")
	assert.Equal(t, NotCleared, slow.Verdict, "the second fuse, 400 A, gets less than 1.6 times its rating")
	require.NotNil(t, slow.Device)
	assert.Equal(t, "F2", slow.Device.Name.Text)
	assert.Less(t, slow.Feeds[0].Ratio, BadRatio)
}

// tapped is a bank of two batteries with something on the point between them.
const tapped = `
[harness]
volts = 24
cable = "AWG"
[part]
BATX = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
BATY = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
E1 = { kind = "lamp", load = "21 W" }
E2 = { kind = "lamp", load = "10 W" }
[wire]
1 = { from = "LOWER:+", to = "UPPER:-", size = "6 AWG", length = "0.3 m" }
2 = { from = "UPPER:+", to = "F1:1", size = "10 AWG", length = "0.1 m" }
3 = { from = "F1:2", to = "E1:1", size = "14 AWG", length = "1 m" }
4 = { from = "E1:2", to = "LOWER:-", size = "14 AWG", length = "1 m" }
5 = { from = "LOWER:+", to = "E2:1", size = "14 AWG", length = "1 m" }
6 = { from = "E2:2", to = "LOWER:-", size = "14 AWG", length = "1 m" }
[state.on]
`

// TestTapAndBase: a wire from the middle of a bank is as live as any other, and needs a fuse; the cable between the batteries does not.
// Volts are counted from the minus of the bank, whichever battery the file names first.
func TestTapAndBase(t *testing.T) {
	for _, names := range [][2]string{{"BATX", "BATY"}, {"BATY", "BATX"}} {
		text := strings.NewReplacer("LOWER", names[0], "UPPER", names[1]).Replace(tapped)
		s := parse(t, text)
		assert.Equal(t, names[0]+":-", s.netlist.Pin(s.circuit.Base()).String())
		shorts, err := s.Faults()
		require.NoError(t, err)
		assert.Equal(t, Unprotected, wireNamed(t, shorts, "5").Verdict, "a tap with no fuse")
		assert.Equal(t, Exempt, wireNamed(t, shorts, "1").Verdict)
		main := wireNamed(t, shorts, "3")
		assert.Equal(t, Cleared, main.Verdict)
		assert.InEpsilon(t, 24.0, main.Amps*main.Ohms, 1e-9, "two weak batteries of 12.0 V")
		s.prepare()
		assert.InDelta(t, 25.3, s.bases[0].sol.Volts[mustPin(t, s, names[1]+":+")], 0.2, "above the minus of the bank")
		assert.False(t, math.IsNaN(wireNamed(t, shorts, "5").Amps))
	}
}

func mustPin(t *testing.T, s *Study, name string) model.PinID {
	t.Helper()
	pin, ok := s.netlist.FindPin(name)
	require.True(t, ok, name)
	return pin
}

// TestShortedAlready: what a wire joins to ground already cannot be judged by one more short; the ground cables that are fed over it even
// less.
func TestShortedAlready(t *testing.T) {
	text := strings.NewReplacer("SECOND", "40 A", "LONG", "2 m", "[state.on]", `6 = { from = "F1:2", to = "GND:3", size = "6 AWG", length = "0.1 m" }
[state.on]`).Replace(joined)
	shorts := shortsOf(t, text)
	for _, wire := range []string{"4", "5", "6"} {
		s := wireNamed(t, shorts, wire)
		assert.NotContains(t, []Verdict{NotCleared, SlowlyOpened, Cleared}, s.Verdict, wire)
	}
}
