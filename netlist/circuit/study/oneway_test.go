package study

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestBackFedPanel: on the boat the bilge pump has two ways to plus, a float switch ahead of the isolator and a hand switch. With the
// hand switch fed from the panel, both closed feed the panel backwards over its fuse F7, past the open isolator.
func TestBackFedPanel(t *testing.T) {
	assert.Nil(t, findSneak(exampleOf(t, "boat").Sneaks(), "nothing out"))
	s := exampleOf(t, "boat", `20b = { from = "SP1:2",  to = "S2:1", `, `20b = { from = "F7:2", length = "0.8 m", to = "S2:1", `)
	r := s.Sneaks()
	stands := findSneak(r, "nothing out, as declared")
	require.NotNil(t, stands, "the state isolated itself")
	assert.Equal(t, []string{"isolated"}, stands.States)
	for _, what := range []string{"E1", "E2", "E4", "rail PANEL-FEED"} {
		e := effectOn(stands, what)
		require.NotNil(t, e, what)
		assert.Contains(t, e.How, "backwards over F7")
		assert.Greater(t, e.Volts, 11.5)
	}
	sounder := effectOn(findSneak(r, "S5 pressed"), "SND")
	require.NotNil(t, sounder)
	assert.Contains(t, sounder.How, "backwards over F7")
}

// twoSwitches is the least such harness: S1 isolates a bar that feeds F1 and F2; S2, ahead of it, joins the outlet of F2 to plus.
const twoSwitches = `
[harness]
volts = 12
polarity = "POLARITY"
[body.body]
[part]
G1 = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
FM = { kind = "fuse", rating = "40 A" }
FS = { kind = "fuse", rating = "10 A" }
F1 = { kind = "fuse", rating = "10 A" }
F2 = { kind = "fuse", rating = "10 A" }
S1 = { kind = "switch" }
S2 = { kind = "switch" }
H1 = { kind = "lamp", load = "21 W" }
H2 = { kind = "lamp", load = "5 W" }
X0 = { kind = "ground point", body = "body" }
X1 = { kind = "ground point", body = "body" }
[link.BAR]
joins = ["S1:2", "F1:1", "F2:1"]
[wire]
0 = { from = "G1:DEAD", to = "X0:1", size = "4 AWG", color = "BK", length = "0.5 m" }
1 = { from = "G1:LIVE", to = "FM:1", size = "10 AWG", color = "RD", length = "0.1 m" }
2 = { from = "FM:2", to = "S1:1", size = "10 AWG", color = "RD", length = "0.5 m" }
3 = { from = "FM:2", to = "FS:1", size = "10 AWG", color = "RD", length = "0.5 m" }
4 = { from = "FS:2", to = "S2:1", size = "14 AWG", color = "RD", length = "0.5 m" }
5 = { from = "S2:2", to = "F2:2", size = "14 AWG", color = "RD", length = "0.5 m" }
6 = { from = "F1:2", to = "H1:1", size = "16 AWG", color = "YE", length = "1 m" }
7 = { from = "F2:2", to = "H2:1", size = "16 AWG", color = "YE", length = "1 m" }
8 = { from = "H1:2", to = "X1:1", size = "16 AWG", color = "BK", length = "1 m" }
9 = { from = "H2:2", to = "X1:2", size = "16 AWG", color = "BK", length = "1 m" }
[state.off]
[state.on]
switches = { S1 = "on" }
`

// TestMovedSwitchFeedsBackwards: moving S2 lights H2, on the conductors from its own switch, which is no sneak; and H1, backwards over
// F2. Either pole may be the grounded one.
func TestMovedSwitchFeedsBackwards(t *testing.T) {
	for _, ends := range [][]string{{"negative-ground", "+", "-"}, {"positive-ground", "-", "+"}} {
		text := strings.NewReplacer("POLARITY", ends[0], "LIVE", ends[1], "DEAD", ends[2]).Replace(twoSwitches)
		r := parse(t, text).Sneaks()
		moved := findSneak(r, "S2 pressed")
		require.NotNil(t, moved, ends[0])
		e := effectOn(moved, "H1")
		require.NotNil(t, e, ends[0])
		assert.Equal(t, "fed backwards over F2", e.How)
		assert.Equal(t, "off", e.State)
		assert.Nil(t, effectOn(moved, "H2"), ends[0])
	}
}
