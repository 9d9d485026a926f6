package circuit_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/circuit"
	"ferrule/netlist/model"
)

// turnedMotor is a motor of 14 A that generates 6 V, turned by others and fed over a resistance from a battery of a voltage.
func turnedMotor(t *testing.T, stall, ohms string, volts float64) *circuit.Solution {
	t.Helper()
	c := parse(t, `R1 = { kind = "resistor", resistance = "`+ohms+`" }
M1 = { kind = "motor", generates = "6 V", load = { run = "14 A"`+stall+` } }`, `BAT:+ R1:1
R1:2 M1:1
M1:2 BAT:-`, "")
	s := c.Solve(c.Graph.Conditions()[0], circuit.Options{BatteryVolts: volts, Turning: func(*model.Part) bool { return true }})
	require.NoError(t, s.Err)
	requireKirchhoff(t, s)
	return s
}

// TestTurnedMotorSettles: a turned motor is its voltage behind the resistance of its winding (any text on direct current machines:
// U = E + I R), whatever feeds it; fed below what it generates it delivers current, above it takes some, and never more than it runs
// on. The current through it never falls as the feed rises.
func TestTurnedMotorSettles(t *testing.T) {
	for _, stall := range []string{"", `, stall = "55 A"`} {
		winding := 13.5 / 55 // ohm, by the stall current at the running voltage
		if stall == "" {
			winding = 0.8 * 13.5 / 14 // no stall stated: by the run current, from where it falls in proportion
		}
		for _, ohms := range []string{"0.01 ohm", "0.1 ohm", "1 ohm", "10 ohm"} {
			before := math.Inf(-1)
			for volts := 0.5; volts <= 14; volts += 0.25 {
				s := turnedMotor(t, stall, ohms, volts)
				name := fmt.Sprintf("%s %s %.2f V", stall, ohms, volts)
				require.True(t, s.Settled, name)
				assert.Less(t, s.Rounds, 60, name)
				amps := through(t, s, "M1")
				across := at(t, s, "M1:1") - at(t, s, "M1:2")
				want := (across - 6) / winding
				if want > 0 {
					want = min(want, 14*min(1, across/10.8))
				}
				assert.InDelta(t, want, amps, 1e-4, name)
				assert.GreaterOrEqual(t, amps, before-1e-6, name)
				before = amps
			}
		}
	}
}

// TestMotorStopsGenerating: what a motor did while it turned does not cling to a solution that starts from there.
func TestMotorStopsGenerating(t *testing.T) {
	turned := turnedMotor(t, "", "1 ohm", 5)
	require.Negative(t, through(t, turned, "M1"))
	c := turned.Circuit
	fresh := c.Solve(c.Graph.Conditions()[0], circuit.Options{BatteryVolts: 5})
	after := c.Solve(c.Graph.Conditions()[0], circuit.Options{BatteryVolts: 5, From: turned})
	require.True(t, after.Settled)
	assert.InDelta(t, through(t, fresh, "M1"), through(t, after, "M1"), 1e-5)
}
