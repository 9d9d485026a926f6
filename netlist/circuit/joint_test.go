package circuit_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/route"
)

// A loop in which each contact has a resistance of its own, in powers of two so that none can be taken for another; the wires are
// short and thick. FROM stands for where the numbers come from.
const contactLoop = `
[harness]
volts = 12
cable = "AWG"
[body.body]
[terminal.SMALL]
title = "Small"
contact-resistance = "0.5 ohm"
known-from = "FROM"
[part]
BAT = { kind = "battery", capacity = "60 Ah", resistance = "1 mohm" }
F1 = { kind = "fuse", rating = "10 A", resistance = "1 ohm", known-from = "FROM" }
S1 = { kind = "switch", rating = "10 A", contact-resistance = "2 ohm", known-from = "FROM" }
K1 = { kind = "relay", rating = "40 A", coil-resistance = "90 ohm", contact-resistance = "4 ohm", known-from = "FROM" }
R1 = { kind = "resistor", resistance = "100 ohm", terminal = "SMALL" }
GND = { kind = "ground point", body = "body", contact-resistance = "8 ohm", known-from = "FROM" }
GND2 = { kind = "ground point", body = "body", contact-resistance = "0 ohm" }
[connector.X1]
mates = "X1B"
cavities = 1
contact-resistance = "16 ohm"
known-from = "FROM"
[connector.X1B]
cavities = 1
[splice.SP1]
contact-resistance = "32 ohm"
known-from = "FROM"
[wire]
1 = { from = "BAT:+", to = "F1:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
2 = { from = "F1:2", to = "S1:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
3 = { from = "S1:2", to = "K1:30", size = "4/0 AWG", color = "RD", length = "0.01 m" }
4 = { from = "K1:87", to = "X1:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
5 = { from = "X1B:1", to = "SP1:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
6 = { from = "SP1:2", to = "R1:1", size = "4/0 AWG", color = "RD", length = "0.01 m" }
7 = { from = "R1:2", to = "GND:1", size = "4/0 AWG", color = "BK", length = "0.01 m" }
8 = { from = "GND2:1", to = "BAT:-", size = "4/0 AWG", color = "BK", length = "0.01 m" }
9 = { from = "BAT:+", to = "K1:86", size = "4/0 AWG", color = "RD", length = "0.01 m" }
10 = { from = "K1:85", to = "BAT:-", size = "4/0 AWG", color = "BK", length = "0.01 m" }
[state.on]
switches = { S1 = "on" }
`

func contactCircuit(t *testing.T, from string) *circuit.Circuit {
	t.Helper()
	n, diags := netlist.Parse("test.toml", []byte(strings.ReplaceAll(contactLoop, "FROM", from)))
	require.Empty(t, diags, "%v", diags)
	return circuit.New(graph.New(n), route.New(n))
}

// Ohm's law for the loop: a fuse, a switch, a relay contact, a mated pair, two legs of a splice, two crimped ends at the resistor and
// a joint with the body, each as stated. Wires and battery together have less than 4 mohm, which the tolerance is for.
func TestStatedContactResistances(t *testing.T) {
	c := contactCircuit(t, "measured")
	s := solved(t, c, circuit.Options{})[0]
	const loop = 1 + 2 + 4 + 16 + 2*32 + 2*0.5 + 8 + 100
	assert.InEpsilon(t, 12.65/loop, through(t, s, "R1"), 1e-4)
	for _, e := range c.Estimates {
		assert.NotContains(t, []string{"splice, each leg", "mated pair of small terminals", "mated pair of blades", "contact of a switch",
			"contact of a relay, with its base", "wire end in a small terminal", "wire end in a blade", "stud in its metal"}, e.What)
	}
}

// A contact that somebody measured needs no mark; one that is a guess of the file rests on no more than an estimate does.
func TestStatedContactsAreMarkedOnlyWhenGuessed(t *testing.T) {
	for _, from := range []string{"measured", "sheet", "guess"} {
		c := contactCircuit(t, from)
		r := c.Report(c.Graph.Conditions()[0], circuit.Options{})
		require.Len(t, r.Loads, 1, from)
		d := r.Loads[0].Drop
		assert.Equal(t, from == "guess", d.LoopMarked(), from)
		for _, k := range r.Contacts {
			assert.Equal(t, map[string]float64{"S1": 2, "K1": 4}[k.Part.Name.Text], k.Ohms, from)
			assert.Equal(t, from == "guess", k.Estimated, from)
		}
	}
}
