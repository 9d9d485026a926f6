package sizing

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/unit"
)

// banks is a 24 V harness of two banks with a cable between them that has a fuse at either end, an inverter, and a converter with a
// panel of its own. 30 C and 105 C insulation: table 5 of 33 CFR 183.425 holds undiminished, as it stands in
// testdata/reference/ampacity-33cfr183.csv.
const banks = `
[harness]
volts = 24
insulation = "105 C"
cable = "AWG"
[body.frame]
[zone.z]
ambient = "30 C"
[place]
a = { zone = "z" }
[part]
BAT1 = { kind = "battery", at = "a", capacity = "170 Ah" }
BAT2 = { kind = "battery", at = "a", capacity = "170 Ah" }
BAT3 = { kind = "battery", at = "a", capacity = "220 Ah" }
BAT4 = { kind = "battery", at = "a", capacity = "220 Ah" }
F1 = { kind = "fuse", at = "a", rating = "80 A", family = "bolt-in" }
F2 = { kind = "fuse", at = "a", rating = "100 A", family = "bolt-in" }
F3 = { kind = "fuse", at = "a", rating = "200 A", family = "bolt-in" }
F4 = { kind = "fuse", at = "a", rating = "125 A", family = "bolt-in" }
F5 = { kind = "fuse", at = "a", rating = "5 A", family = "blade" }
GND = { kind = "ground point", at = "a", body = "frame" }
A2 = { kind = "heater", at = "a", load = "20 A" }
E1 = { kind = "lamp", at = "a", load = "5 W" }
[part.U1]
kind = "device"
at = "a"
pins = ["IN", "31", "OUT"]
loads = [{ between = "IN-31", load = "3 A" }]
sources = [{ between = "OUT-31", limit = "20 A" }]
[wire]
1 = { from = "BAT1:+", to = "BAT2:-", size = "1 AWG", length = "0.2 m" }
2 = { from = "BAT1:-", to = "GND:1", size = "1 AWG", length = "0.2 m" }
3 = { from = "BAT2:+", to = "F1:1", size = "4 AWG", length = "0.1 m" }
4 = { from = "F1:2", to = "F2:2", size = "4 AWG", length = "2 m" }
5 = { from = "BAT3:+", to = "BAT4:-", size = "1 AWG", length = "0.2 m" }
6 = { from = "BAT3:-", to = "GND:2", size = "1 AWG", length = "0.2 m" }
7 = { from = "BAT4:+", to = "F3:1", size = "1 AWG", length = "0.1 m" }
8 = { from = "F3:2", to = "F2:1", size = "1 AWG", length = "0.1 m" }
9 = { from = "F2:1", to = "F4:1", size = "1 AWG", length = "0.1 m" }
10 = { from = "F4:2", to = "A2:1", size = "2 AWG", length = "0.5 m" }
11 = { from = "A2:2", to = "GND:3", size = "2 AWG", length = "0.5 m" }
12 = { from = "F4:1", to = "U1:IN", size = "2 AWG", length = "0.5 m" }
13 = { from = "U1:31", to = "GND:4", size = "12 AWG", length = "0.5 m" }
14 = { from = "U1:OUT", to = "F5:1", size = "12 AWG", length = "0.2 m" }
15 = { from = "F5:2", to = "E1:1", size = "16 AWG", length = "0.5 m" }
16 = { from = "E1:2", to = "GND:5", size = "16 AWG", length = "0.5 m" }
[state.on]
charging = true
`

// fusedLimit is the least size that the fuse, or what stands for it, asks of a wire.
func fusedLimit(t *testing.T, r *Report, wire string) Limit {
	t.Helper()
	for _, l := range r.wire(t, wire).Limits {
		if l.Rule == Fused {
			return l
		}
	}
	require.Fail(t, "no fuse holds wire "+wire)
	return Limit{}
}

// TestReturnsAndJumpers: what lies behind no fuse bears what the fuse lets pass whose fault flows in it (common practice: a return is as
// thick as its feed). Sizes: 33 CFR 183.425 table 5, 105 C.
func TestReturnsAndJumpers(t *testing.T) {
	r := report(t, banks, Options{})
	for _, c := range []struct {
		wire  string
		least int // AWG
		why   string
	}{
		{"11", 4, "the return of the inverter: F4 125 A; 6 AWG bears 120 A"},
		{"10", 4, "its feed, the same"},
		{"5", 2, "the jumper of the house bank: F3 200 A; 2 AWG bears 210 A, 4 AWG 160 A"},
		{"6", 2, "the only cable at its minus"},
		{"7", 2, "ahead of F3"},
		{"1", 8, "the jumper of the other bank: F1 80 A; 8 AWG bears 80 A"},
		{"14", 18, "a source that gives 20 A: 18 AWG bears 20 A"},
	} {
		l := fusedLimit(t, r, c.wire)
		assert.Equal(t, unit.AWG(c.least), l.Least, "%s: %s", c.why, l.What)
	}
}

// TestCableBetweenTwoSources: each fuse of a cable between two banks is limited by that cable, whichever bank it is seen from, and the
// cable is held against the larger of the two.
func TestCableBetweenTwoSources(t *testing.T) {
	r := report(t, banks, Options{})
	for _, fuse := range []string{"F1", "F2"} {
		f := r.fuse(t, fuse)
		require.NotNil(t, f.LimitedBy, fuse)
		assert.Equal(t, "4", f.LimitedBy.Name.Text, fuse)
		assert.InDelta(t, 160, float64(f.Most), 0.5, "4 AWG, table 5")
	}
	assert.Contains(t, fusedLimit(t, r, "4").What, "F2 100 A")
	thin := report(t, replaced(banks, `to = "F2:2", size = "4 AWG"`, `to = "F2:2", size = "8 AWG"`), Options{})
	assert.Equal(t, TooThin, thin.wire(t, "4").Verdict, "80 A on a fuse of 100 A")
	assert.Equal(t, TooLarge, thin.fuse(t, "F2").Verdict)
	assert.Equal(t, Fits, thin.fuse(t, "F1").Verdict)
}

// TestFuseBehindALimitedSource: the span of a fuse that no battery reaches ends where its wires do.
func TestFuseBehindALimitedSource(t *testing.T) {
	f := report(t, banks, Options{}).fuse(t, "F5")
	require.NotNil(t, f.LimitedBy)
	assert.Equal(t, "15", f.LimitedBy.Name.Text)
	assert.InDelta(t, 25, float64(f.Most), 0.1, "16 AWG, table 5")
}

// TestShuntIsNoConsumer: a fuse ahead of the shunt of an ammeter holds the wires behind it; one of 0.1 ohm and more limits by itself.
func TestShuntIsNoConsumer(t *testing.T) {
	shunted := func(ohms string) *Report {
		text := replaced(fill(simple, "5 A", `size = "20 AWG"`), `from = "F1:2", to = "E1:1"`, `from = "R1:2", to = "E1:1"`,
			"[wire]\n", "R1 = { kind = \"resistor\", at = \"a\", resistance = \""+ohms+"\" }\n[wire]\n1r = { from = \"F1:2\", to = \"R1:1\", size = \"12 AWG\", length = \"0.1 m\" }\n",
			`rating = "15 A"`, `rating = "30 A"`)
		return report(t, text, Options{})
	}
	r := shunted("5 mohm")
	assert.Equal(t, TooThin, r.wire(t, "1b").Verdict, "20 AWG bears 17 A at 30 C, F1 is 30 A")
	assert.Equal(t, "1b", r.fuse(t, "F1").LimitedBy.Name.Text)
	assert.NotEqual(t, "1b", shunted("0.5 ohm").fuse(t, "F1").LimitedBy.Name.Text)
}

// TestGeneratorsOwnFuse: 1.25 times the output is asked of a fuse that serves the generator alone; the fuse of the battery through which
// it charges has to carry its output and the loads.
func TestGeneratorsOwnFuse(t *testing.T) {
	charged := replaced(fill(simple, "2 A", `size = "10 AWG"`), "[wire]\n", `G1 = { kind = "alternator", at = "a", case = "body", output = "20 A", regulated = "14 V" }
[wire]
2a = { from = "G1:B+", to = "F1:2", size = "10 AWG", length = "0.5 m" }
`, `rating = "15 A"`, `rating = "25 A"`)
	shared := report(t, charged, Options{}).fuse(t, "F1")
	assert.InDelta(t, 20, float64(shared.Least), 1e-6, "the whole output may go into the battery: %s", shared.Why)
	own := report(t, replaced(charged, `from = "F1:2", to = "E1:1"`, `from = "BAT1:+", to = "E1:1"`), Options{}).fuse(t, "F1")
	assert.InDelta(t, 25, float64(own.Least), 1e-6, own.Why)
}
