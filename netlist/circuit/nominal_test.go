package circuit_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/route"
)

// A 24 V vehicle of two batteries, with a converter to 12 V behind a switch and a lamp on the tap between the batteries. Wires are so
// short and thick that they count for nothing within the tolerances.
const twoSystems = `
[harness]
volts = 24
cable = "AWG"
[body.body]
[part]
B1 = { kind = "battery", capacity = "100 Ah", resistance = "1 mohm" }
B2 = { kind = "battery", capacity = "100 Ah", resistance = "1 mohm" }
S1 = { kind = "switch", rating = "40 A" }
U1 = { kind = "device", title = "Converter", pins = ["IN", "31", "OUT"], sources = [{ between = "OUT-31", volts = "13.6 V", resistance = "20 mohm", limit = "20 A", from = "IN-31", efficiency = "80 %" }] }
E24 = { kind = "lamp", load = "24 W" }
E12 = { kind = "lamp", load = "24 W" }
ETAP = { kind = "lamp", load = "24 W" }
R12 = { kind = "resistor", resistance = "2 ohm" }
K12 = { kind = "relay" }
S2 = { kind = "switch", rating = "10 A" }


[wire]
1 = { from = "B1:+", to = "B2:-", size = "4/0 AWG", color = "RD", length = "0.01 m" }
2 = { from = "B2:+", to = "S1:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
3 = { from = "S1:2", to = "U1:IN", size = "4/0 AWG", color = "RD", length = "0.01 m" }
4 = { from = "U1:31", to = "B1:-", size = "4/0 AWG", color = "BK", length = "0.01 m" }
5 = { from = "S1:2", to = "E24:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
6 = { from = "E24:2", to = "B1:-", size = "4/0 AWG", color = "BK", length = "0.01 m" }
7 = { from = "U1:OUT", to = "S2:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
8 = { from = "S2:2", to = "E12:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
9 = { from = "E12:2", to = "U1:31", size = "4/0 AWG", color = "BK", length = "0.01 m" }
10 = { from = "S2:2", to = "R12:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
11 = { from = "R12:2", to = "U1:31", size = "4/0 AWG", color = "BK", length = "0.01 m" }
12 = { from = "B1:+", to = "ETAP:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
13 = { from = "ETAP:2", to = "B1:-", size = "4/0 AWG", color = "BK", length = "0.01 m" }
14 = { from = "S2:2", to = "K12:86", size = "4/0 AWG", color = "RD", length = "0.01 m" }
15 = { from = "K12:85", to = "U1:31", size = "4/0 AWG", color = "BK", length = "0.01 m" }
[state.off]
[state.idle]
switches = { S1 = "on" }
[state.on]
switches = { S1 = "on", S2 = "on" }
`

func twoSystemsCircuit(t *testing.T) *circuit.Circuit {
	t.Helper()
	n, diags := netlist.Parse("test.toml", []byte(twoSystems))
	require.False(t, diags.HasErrors(), "%v", diags)
	return circuit.New(graph.New(n), route.New(n))
}

func sourceOf(t *testing.T, r *circuit.Report, part string) circuit.SourceReport {
	t.Helper()
	for _, s := range r.Sources {
		if r.Solution.Circuit.Branches[s.Branch].Part.Name.Text == part {
			return s
		}
	}
	require.Fail(t, "no source", part)
	return circuit.SourceReport{}
}

func loadOf(t *testing.T, r *circuit.Report, ref string) circuit.LoadReport {
	t.Helper()
	for _, l := range r.Loads {
		if l.Ref == ref {
			return l
		}
	}
	require.Fail(t, "no load", ref)
	return circuit.LoadReport{}
}

// The energy of a converter: what it takes is what it gives over its efficiency. By hand, with the filament law for the lamp
// (24 W at 12 V are 2 A, times (V/12)^0.55): V = 13.6 - 0.02 I, I = V/2 + 2 (V/12)^0.55 + V/80.
func TestConverterTakesWhatItGives(t *testing.T) {
	c := twoSystemsCircuit(t)
	r := c.Report(c.Graph.Conditions()[2], circuit.Options{})
	require.True(t, r.Solution.Settled)
	requireKirchhoff(t, r.Solution)
	out, in := sourceOf(t, r, "U1"), loadOf(t, r, "U1")
	assert.InDelta(t, 13.6-0.02*out.Amps, out.Volts, 1e-6)
	assert.InEpsilon(t, 13.42/2+2*math.Pow(13.42/12, 0.55)+13.42/80, out.Amps, 0.01)
	assert.InEpsilon(t, out.Volts*out.Amps/0.8, in.Drop.Volts*in.Amps, 1e-6)
	assert.Zero(t, r.Balance.Others, "what it gives has been taken from the batteries")
}

// A converter works while it is fed, whatever the state says of charging, and gives nothing when it is not.
func TestConverterWorksWhileFed(t *testing.T) {
	c := twoSystemsCircuit(t)
	states := solved(t, c, circuit.Options{})
	assert.True(t, math.IsNaN(at(t, states[0], "U1:OUT")), "off: nothing joins it to anything")
	assert.InDelta(t, 13.6, at(t, states[1], "U1:OUT"), 1e-6, "idle")
	for _, s := range states {
		assert.True(t, s.Settled)
	}
}

// Budgets, watts and coils go by the system that they belong to: 24 V, 12 V behind the converter, 12 V on the tap.
func TestNominalVoltagePerSystem(t *testing.T) {
	c := twoSystemsCircuit(t)
	r := c.Report(c.Graph.Conditions()[2], circuit.Options{})
	for ref, target := range map[string]float64{"E24": 1.6, "E12": 0.8, "ETAP": 0.8} {
		assert.InDelta(t, target, float64(loadOf(t, r, ref).Budget.Target), 1e-9, ref)
	}
	for ref, amps := range map[string]float64{
		"E24":  1 * math.Pow(25.3/24, 0.55),
		"ETAP": 2 * math.Pow(12.65/12, 0.55),
	} {
		assert.InEpsilon(t, amps, loadOf(t, r, ref).Amps, 0.01, ref)
	}
	for i := range c.Branches {
		if b := &c.Branches[i]; b.IsCoil() {
			assert.InDelta(t, 80, b.Ohms, 1e-9, "0.15 A at 12 V")
			assert.InEpsilon(t, r.Solution.BranchVolts(i)/80/(1+0.00393*20), r.Solution.Amps[i], 1e-6)
			assert.True(t, r.Solution.Amps[i] > 0.1)
		}
	}
}

// What a converter cannot be without is asked for where it is missing.
func TestConverterAsksForItsNumbers(t *testing.T) {
	for written, wants := range map[string]string{
		`from = "IN-31"`:                    "does not say which",
		`efficiency = "90 %"`:               "does not say what it is fed from",
		`volts = "13.6 V", from = "IN-XX"`:  "\"xx\"",
		`volts = "-5 V"`:                    "out of range",
		`volts = "nan V"`:                   "nan",
		`resistance = "-1 ohm"`:             "out of range",
		`volts = "12 V", resistance = 1e99`: "no unit",
	} {
		text := `
[harness]
volts = 24
[part]
U1 = { kind = "device", pins = ["IN", "31", "OUT"], sources = [{ between = "OUT-31", ` + written + ` }] }
`
		_, diags := netlist.Parse("test.toml", []byte(text))
		require.NotEmpty(t, diags, written)
		assert.Contains(t, strings.ToLower(diags[0].Message), wants, written)
		assert.Equal(t, 5, diags[0].Span.Begin().Line)
	}
}

// A generator's own source has its poles where the harness has them: with its case on the metal, the case is the grounded pole.
func TestGeneratorSourceHasThePolarityOfTheHarness(t *testing.T) {
	for _, c := range []struct {
		polarity, between string
		right             bool
	}{
		{"negative-ground", "B-case", true}, {"negative-ground", "case-B", false},
		{"positive-ground", "case-B", true}, {"positive-ground", "B-case", false},
	} {
		text := "[harness]\npolarity = \"" + c.polarity + "\"\n[body.frame]\n[part.DYN]\nkind = \"dynamo\"\ncase = \"frame\"\npins = [\"B\"]\noutput = \"10 A\"\nsources = [{ between = \"" + c.between + "\" }]\n"
		_, diags := netlist.Parse("test.toml", []byte(text))
		assert.Equal(t, !c.right, diags.HasErrors(), "%s %s: %v", c.polarity, c.between, diags)
	}
}
