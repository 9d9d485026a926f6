package circuit_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/circuit"
	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

// Wires of 4/0 AWG and a centimetre, so that what is between the parts counts for little; tolerances say how little.
func parse(t testing.TB, parts, wires, states string) *circuit.Circuit {
	t.Helper()
	var b strings.Builder
	b.WriteString("[harness]\nvolts = 12\n[body.body]\n[part]\nBAT = { kind = \"battery\", capacity = \"60 Ah\", resistance = \"1 mohm\" }\n" + parts + "\n[wire]\n")
	for i, line := range strings.Split(strings.TrimSpace(wires), "\n") {
		ends := strings.Fields(line)
		fmt.Fprintf(&b, "w%d = { from = %q, to = %q, size = \"4/0 AWG\", color = \"RD\", length = \"0.01 m\" }\n", i, ends[0], ends[1])
	}
	b.WriteString(states)
	n, diags := netlist.Parse("test.toml", []byte(b.String()))
	require.False(t, diags.HasErrors(), "%v", diags)
	return circuit.New(graph.New(n), route.New(n))
}

func solved(t testing.TB, c *circuit.Circuit, o circuit.Options) []*circuit.Solution {
	t.Helper()
	var out []*circuit.Solution
	for _, cond := range c.Graph.Conditions() {
		s := c.Solve(cond, o)
		require.NoError(t, s.Err)
		requireKirchhoff(t, s)
		out = append(out, s)
	}
	return out
}

func at(t testing.TB, s *circuit.Solution, ref string) float64 {
	t.Helper()
	pin, ok := s.Circuit.Netlist.FindPin(ref)
	require.True(t, ok, ref)
	return s.Volts[pin]
}

// through is the current of a consumer or a source, by its first branch.
func through(t testing.TB, s *circuit.Solution, part string) float64 {
	t.Helper()
	for i := range s.Circuit.Branches {
		b := &s.Circuit.Branches[i]
		if b.Edge != nil && b.Edge.Kind >= graph.Diode && b.Part != nil && b.Part.Name.Text == part {
			return s.Amps[i]
		}
	}
	require.Fail(t, "no branch", part)
	return 0
}

// requireKirchhoff holds the sum of currents at every terminal, and the balance of power over all branches (Tellegen's
// theorem), against zero. Tolerance: 1e-9 of the largest current or of the power turned over, three digits above what
// the solver's own residual shows.
func requireKirchhoff(t testing.TB, s *circuit.Solution) {
	t.Helper()
	sums := make([]float64, len(s.Volts))
	largest, power, turned := 1e-3, 0.0, 1e-3
	for i := range s.Circuit.Branches {
		b, a := &s.Circuit.Branches[i], s.Amps[i]
		require.False(t, math.IsNaN(a) || math.IsInf(a, 0))
		sums[b.A] -= a
		sums[b.B] += a
		largest = max(largest, math.Abs(a))
		power += a * s.BranchVolts(i)
		turned += math.Abs(a * s.BranchVolts(i))
	}
	for pin, sum := range sums {
		require.InDelta(t, 0, sum, 1e-9*largest, "%s in %s", &s.Circuit.Netlist.Pins[pin], s.State)
	}
	require.InDelta(t, 0, power, 1e-9*turned, s.State)
}

// Ohm's law: 12.65 V over a divider of 3 and 1 ohm.
func TestDivider(t *testing.T) {
	c := parse(t, `R1 = { kind = "resistor", resistance = "3 ohm" }
R2 = { kind = "resistor", resistance = "1 ohm" }`, `BAT:+ R1:1
R1:2 R2:1
R2:2 BAT:-`, "")
	s := solved(t, c, circuit.Options{})[0]
	assert.InDelta(t, 12.65/4, at(t, s, "R2:1"), 0.03, "contacts of 17 mohm in all")
	assert.InDelta(t, 12.65/4, through(t, s, "R1"), 0.03)
	require.True(t, s.Settled)
}

// Two lamps side by side take twice the current of one; by the filament law I = P/12 (V/12)^0.55 (common practice).
func TestLampsInParallelAndInSeries(t *testing.T) {
	lamps := `E1 = { kind = "lamp", load = "21 W" }
E2 = { kind = "lamp", load = "21 W" }
`
	side := solved(t, parse(t, lamps, `BAT:+ E1:1
BAT:+ E2:1
E1:2 BAT:-
E2:2 BAT:-`, ""), circuit.Options{})[0]
	v := at(t, side, "E1:1") - at(t, side, "E1:2")
	assert.InDelta(t, 21.0/12*math.Pow(v/12, 0.55), through(t, side, "E1"), 1e-5)
	assert.InDelta(t, -2*through(t, side, "E1"), through(t, side, "BAT"), 1e-3)

	row := solved(t, parse(t, lamps+`K1 = { stock = "mini-relay-40a" }`, `BAT:+ K1:86
K1:85 BAT:-
BAT:+ K1:30
K1:87 E1:1
E1:2 E2:1
E2:2 BAT:-`, ""), circuit.Options{})[0]
	half := at(t, row, "E2:1") - at(t, row, "E2:2")
	assert.InDelta(t, 12.65/2, half, 0.03)
	assert.InDelta(t, 21.0/12*math.Pow(half/12, 0.55), through(t, row, "E1"), 1e-4, "more than half, since cold filaments conduct better")
	assert.True(t, row.Engaged(c0(row, "K1")))
}

func c0(s *circuit.Solution, part string) *model.Part { return s.Circuit.Netlist.Owner(part).Part }

// A silicon diode holds 0.7 V and 50 mohm forward (assume.go), and passes nothing backward.
func TestDiode(t *testing.T) {
	parts := `V1 = { kind = "diode" }
R1 = { kind = "resistor", resistance = "10 ohm" }`
	forward := solved(t, parse(t, parts, `BAT:+ V1:A
V1:K R1:1
R1:2 BAT:-`, ""), circuit.Options{})[0]
	assert.InDelta(t, (12.65-0.7)/10.05, through(t, forward, "R1"), 0.02)
	backward := parse(t, parts, `BAT:+ V1:K
V1:A R1:1
R1:2 BAT:-`, "")
	s := solved(t, backward, circuit.Options{})[0]
	assert.Zero(t, through(t, s, "R1"))
	assert.InDelta(t, 0, at(t, s, "V1:A"), 1e-9)
}

const charging = "\n[state.drive]\ncharging = true\nengine = \"running\"\n"

// A generator below its limit holds its voltage; at its limit it delivers that and the battery the rest.
func TestGeneratorAtItsLimit(t *testing.T) {
	for _, test := range []struct {
		name      string
		ohms      string
		idle      bool
		delivered func(float64) bool
	}{
		{"below", "1 ohm", false, func(a float64) bool { return a > 13.5 && a < 25 }},
		{"limited", "0.1 ohm", false, func(a float64) bool { return math.Abs(a-40) < 1e-3 }},
		{"idle", "0.1 ohm", true, func(a float64) bool { return math.Abs(a-20) < 1e-3 }},
	} {
		t.Run(test.name, func(t *testing.T) {
			c := parse(t, `ALT = { kind = "alternator", output = "40 A", idle-output = "20 A", regulated = "14 V", case = "body" }
G1 = { kind = "ground point", body = "body" }
R1 = { kind = "resistor", resistance = "`+test.ohms+`" }`, `BAT:+ ALT:B+
BAT:+ R1:1
R1:2 BAT:-
G1:1 BAT:-`, charging)
			s := solved(t, c, circuit.Options{Idle: test.idle})[0]
			require.True(t, s.Settled)
			assert.True(t, test.delivered(-through(t, s, "ALT")), "%v", through(t, s, "ALT"))
			load, battery := through(t, s, "R1"), -through(t, s, "BAT")
			assert.InDelta(t, load, battery-through(t, s, "ALT"), 1e-6)
			standing := c.Solve(c.Graph.Conditions()[0], circuit.Options{Engine: circuit.Standing})
			assert.Zero(t, through(t, standing, "ALT"))
		})
	}
}

// A winding behind its own break contact has no position to stay in. Common practice: that is how a buzzer works.
func TestChatteringRelayIsACycle(t *testing.T) {
	c := parse(t, `K1 = { stock = "changeover-relay-40a" }`, `BAT:+ K1:30
K1:87a K1:86
K1:85 BAT:-`, "")
	s := solved(t, c, circuit.Options{})[0]
	require.Len(t, s.Cycle, 1)
	assert.Equal(t, "K1", s.Cycle[0].Name.Text)
	assert.False(t, s.Settled)
	assert.Less(t, s.Rounds, 60)
}

// Two relays that lock each other out by their break contacts come to rest with one of them in; which is a race.
func TestInterlockIsARace(t *testing.T) {
	c := parse(t, `K1 = { stock = "changeover-relay-40a" }
K2 = { stock = "changeover-relay-40a" }`, `BAT:+ K1:30
BAT:+ K2:30
K1:87a K2:86
K2:87a K1:86
K1:85 BAT:-
K2:85 BAT:-`, "")
	s := solved(t, c, circuit.Options{})[0]
	assert.True(t, s.Settled)
	assert.Empty(t, s.Cycle)
	assert.Len(t, s.Race, 2)
	assert.NotEqual(t, s.Engaged(c0(s, "K1")), s.Engaged(c0(s, "K2")))
}

// A relay that holds itself stays in when the button is let go, and out when it was never pressed: what was before counts.
func TestSelfHoldingRelayRemembers(t *testing.T) {
	c := parse(t, `K1 = { stock = "mini-relay-40a" }
S1 = { kind = "momentary switch" }`, `BAT:+ S1:1
S1:2 K1:86
BAT:+ K1:30
K1:87 K1:86
K1:85 BAT:-`, "\n[state.rest]\nswitches = { S1 = \"released\" }\n[state.press]\nswitches = { S1 = \"pressed\" }\n")
	both := solved(t, c, circuit.Options{})
	assert.False(t, both[0].Engaged(c0(both[0], "K1")))
	assert.True(t, both[1].Engaged(c0(both[0], "K1")))
	after := c.Solve(c.Graph.Conditions()[0], circuit.Options{From: both[1]})
	assert.True(t, after.Engaged(c0(after, "K1")))
	assert.True(t, after.Settled)
}

// A relay pulls in at 8 V cold; at 85 C its copper asks for 8 (1 + 0.00393 62) = 9.95 V (ISO 7588 practice and job practice,
// "9.9 V at 85 C").
func TestHotRelayNeedsMoreVolts(t *testing.T) {
	for _, test := range []struct {
		ambient string
		volts   float64
		in      bool
	}{{"23 C", 8.1, true}, {"23 C", 7.8, false}, {"85 C", 9.8, false}, {"85 C", 10.1, true}} {
		c := parse(t, `K1 = { stock = "mini-relay-40a", at = "here" }
S1 = { kind = "switch" }`, `BAT:+ S1:1
S1:2 K1:86
K1:85 BAT:-`, "\n[zone.bay]\nambient = \""+test.ambient+"\"\n[place.here]\nzone = \"bay\"\n[state.off]\nswitches = { S1 = \"off\" }\n[state.on]\nswitches = { S1 = \"on\" }\n")
		off := c.Solve(c.Graph.Conditions()[0], circuit.Options{BatteryVolts: test.volts})
		on := c.Solve(c.Graph.Conditions()[1], circuit.Options{BatteryVolts: test.volts, From: off})
		assert.Equal(t, test.in, on.Engaged(c0(on, "K1")), "%s, %g V", test.ambient, test.volts)
	}
}

// Two 12 V batteries of a 24 V vehicle share its voltage.
func TestBatteriesInSeries(t *testing.T) {
	n, diags := netlist.Parse("test.toml", []byte(`[harness]
volts = 24
[body.body]
[part]
B1 = { kind = "battery", capacity = "100 Ah", resistance = "1 mohm" }
B2 = { kind = "battery", capacity = "100 Ah", resistance = "1 mohm" }
R1 = { kind = "resistor", resistance = "10 ohm" }
G1 = { kind = "ground point", body = "body" }
[wire]
a = { from = "B1:+", to = "B2:-", size = "2 AWG", color = "RD", length = "0.3 m" }
b = { from = "B2:+", to = "R1:1", size = "2 AWG", color = "RD", length = "0.3 m" }
c = { from = "R1:2", to = "G1:1", size = "2 AWG", color = "BK", length = "0.3 m" }
d = { from = "B1:-", to = "G1:2", size = "2 AWG", color = "BK", length = "0.3 m" }
`))
	require.False(t, diags.HasErrors(), "%v", diags)
	c := circuit.New(graph.New(n), route.New(n))
	s := c.Solve(c.Graph.Conditions()[0], circuit.Options{})
	requireKirchhoff(t, s)
	assert.InDelta(t, 25.3, at(t, s, "B2:+"), 0.01)
	assert.InDelta(t, 50, c.Balance(c.Graph.Conditions()[0], circuit.Options{}).Hours*2.53, 0.3, "100 Ah, not 200")
}

// Options: a wire taken out, a conductor put in, a battery half empty (12.24 V, common practice).
func TestOptions(t *testing.T) {
	c := parse(t, `R1 = { kind = "resistor", resistance = "12 ohm" }`, `BAT:+ R1:1
R1:2 BAT:-`, "")
	cond := c.Graph.Conditions()[0]
	open := c.Solve(cond, circuit.Options{Open: func(b *circuit.Branch) bool { return b.Wire != nil && b.Wire.Name.Text == "w0" }})
	assert.Zero(t, through(t, open, "R1"))
	r1, _ := c.Netlist.FindPin("R1:1")
	r2, _ := c.Netlist.FindPin("R1:2")
	short := c.Solve(cond, circuit.Options{Extra: []circuit.Extra{{A: r1, B: r2, Ohms: 12}}})
	require.Len(t, short.Extra, 1)
	assert.InDelta(t, through(t, short, "R1"), short.Extra[0], 1e-9)
	half := c.Solve(cond, circuit.Options{Charge: 0.5})
	assert.InDelta(t, 12.24/12, through(t, half, "R1"), 0.01)
	cold := unit.Celsius(-20)
	cranked := c.Solve(cond, circuit.Options{BatteryCelsius: &cold, Extra: []circuit.Extra{{A: r1, B: r2, Ohms: 0.1}}})
	warm := c.Solve(cond, circuit.Options{Extra: []circuit.Extra{{A: r1, B: r2, Ohms: 0.1}}})
	assert.Less(t, at(t, cranked, "BAT:+"), at(t, warm, "BAT:+"))
}

// What floats is named, and is no number in any sum.
func TestFloatingTerminals(t *testing.T) {
	c := parse(t, `S1 = { kind = "switch" }
R1 = { kind = "resistor", resistance = "12 ohm" }
R2 = { kind = "resistor", resistance = "12 ohm" }`, `BAT:+ S1:1
S1:2 R1:1
R1:2 R2:1`, "\n[state.off]\nswitches = { S1 = \"off\" }\n")
	s := solved(t, c, circuit.Options{})[0]
	var names []string
	for _, pin := range s.Floating() {
		names = append(names, c.Netlist.Pin(pin).String())
	}
	assert.ElementsMatch(t, []string{"S1:2", "R1:1", "R1:2", "R2:1"}, names)
	assert.True(t, s.Settled)
}

// Numbers that no conductor has are refused where they are written, so none reaches the network.
func TestImpossibleNumbersAreRefused(t *testing.T) {
	for _, value := range []string{"-3 ohm", "nan ohm", "inf ohm", "1e400 ohm"} {
		n, diags := netlist.Parse("test.toml", []byte("[body.body]\n[part]\nR1 = { kind = \"resistor\", resistance = \""+value+"\" }\n"))
		require.True(t, diags.HasErrors(), value)
		c := circuit.New(graph.New(n), route.New(n))
		for i := range c.Branches {
			assert.False(t, math.IsNaN(c.Branches[i].Ohms) || c.Branches[i].Ohms <= 0, value)
		}
	}
}

// A harness without a battery, and one that is empty, are solved without a panic: nothing flows.
func TestNothingToSolve(t *testing.T) {
	for _, text := range []string{"", "[body.body]\n", "[part]\nR1 = { kind = \"resistor\", resistance = \"3 ohm\" }\n"} {
		n, _ := netlist.Parse("test.toml", []byte(text))
		c := circuit.New(graph.New(n), route.New(n))
		r := c.Report(c.Graph.Conditions()[0], circuit.Options{})
		assert.NoError(t, r.Solution.Err)
		for _, a := range r.Solution.Amps {
			assert.Zero(t, a)
		}
	}
}

// The drop of a pump by hand: 8 A over two wires of 5 m 14 AWG, the hot resistance of the conductor tables on each, and
// 4.5 mohm of contacts: a blade and a ring each.
func TestDropByHand(t *testing.T) {
	n, diags := netlist.Parse("test.toml", []byte(`[harness]
volts = 12
insulation = "125 C"
[body.body]
[part]
BAT = { kind = "battery", capacity = "60 Ah", resistance = "1 mohm" }
M1 = { kind = "motor", title = "Pump", load = "8 A", budget = "pump" }
[wire]
a = { from = "BAT:+", to = "M1:1", size = "14 AWG", color = "RD", length = "5 m" }
b = { from = "M1:2", to = "BAT:-", size = "14 AWG", color = "BK", length = "5 m" }
`))
	require.False(t, diags.HasErrors(), "%v", diags)
	c := circuit.New(graph.New(n), route.New(n))
	r := c.Report(c.Graph.Conditions()[0], circuit.Options{})
	require.Len(t, r.Loads, 1)
	perMetre, _ := conductor.Resistance20(unit.AWG(14), "", conductor.Copper)
	base, _ := conductor.Ampacity(unit.AWG(14), 125)
	warm := conductor.Temperature(40, 125, 8, conductor.Derate(base, 125, 40))
	want := 8 * 2 * (conductor.ResistanceAt(perMetre*5, warm, conductor.Copper) + 0.0025 + 0.0005)
	l := r.Loads[0]
	assert.InDelta(t, want, l.Drop.Loop, 1e-4)
	assert.InDelta(t, want, l.Drop.Own, 1e-4, "nothing is shared")
	assert.Equal(t, "pump", l.Budget.Class)
	assert.Equal(t, circuit.AboveLimit, l.Verdict)
}

// RMS against the exact value of a square wave: sqrt(duty) I.
func TestRMS(t *testing.T) {
	assert.InDelta(t, 8*math.Sqrt(0.06), circuit.RMS(8, 0.48), 1e-12)
	assert.InDelta(t, 3, circuit.RMS(3, 3), 1e-12)
	assert.InDelta(t, 3, circuit.RMS(-3, 1), 1e-12)
	// 2 A steady and 4 A for a tenth of the time: exactly sqrt(0.9*4 + 0.1*36) = 2.68 A, and the bound lies above.
	assert.Greater(t, circuit.RMS(6, 2.4), math.Sqrt(0.9*4+0.1*36))
}
