package study

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const unfusedStart = head + `
[part]
G1 = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
STM = { kind = "starter", case = "body", load = "12 A", crank = "200 A" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
F2 = { kind = "fuse", rating = "10 A", family = "blade" }
H1 = { kind = "lamp", load = "21 W" }
H2 = { kind = "lamp", load = "21 W" }
X0 = { kind = "ground point", body = "body" }
X1 = { kind = "ground point", body = "body" }
[wire]
0 = { from = "G1:-", to = "X0:1", size = "4 AWG", color = "BK", length = "0.5 m" }
1 = { from = "G1:+", to = "STM:30", size = "2 AWG", color = "RD", length = "1.5 m" }
2 = { from = "G1:+", to = "F1:1", size = "10 AWG", color = "RD", length = "FIRST" SHEATH }
3 = { from = "F1:2", to = "H1:1", size = "16 AWG", color = "RD", length = "1 m" }
4 = { from = "H1:2", to = "X1:1", size = "16 AWG", color = "BK", length = "1 m" }
5 = { from = "STM:30", to = "F2:1", size = "10 AWG", color = "RD", length = "STUD" }
6 = { from = "F2:2", to = "END", size = "16 AWG", color = "RD", length = "1 m" }
7 = { from = "H2:2", to = "X1:2", size = "16 AWG", color = "BK", length = "1 m" }
`

// TestWithinReach: 33 CFR 183.455(b) asks for protection within 7 in of the source, 40 in where the wire is sheathed; the cable of
// a starter is exempt, and what leaves from its stud counts from there. A lamp straight on the battery has no fuse at any length.
func TestWithinReach(t *testing.T) {
	for _, test := range []struct {
		name, first, sheath, stud, wire string
		want                            Verdict
	}{
		{"7 in", "7 in", "", "0.1 m", "2", WithinReach},
		{"0.18 m", "0.18 m", "", "0.1 m", "2", WithinReach},
		{"a little longer", "0.19 m", "", "0.1 m", "2", Unprotected},
		{"sheathed", "1 m", `, sheathed = true`, "0.1 m", "2", WithinReach},
		{"sheathed and too long", "1.1 m", `, sheathed = true`, "0.1 m", "2", Unprotected},
		{"starter cable", "0.1 m", "", "0.1 m", "1", Exempt},
		{"from the stud, counted anew", "0.1 m", "", "0.15 m", "5", WithinReach},
		{"from the stud, too long", "0.1 m", "", "0.5 m", "5", Unprotected},
		{"behind the fuse", "0.1 m", "", "0.1 m", "6", Cleared},
	} {
		t.Run(test.name, func(t *testing.T) {
			text := strings.NewReplacer("FIRST", test.first, "SHEATH", test.sheath, "STUD", test.stud, "END", "H2:1").Replace(unfusedStart)
			shorts, err := parse(t, text).Faults()
			require.NoError(t, err)
			assert.Equal(t, test.want, wireNamed(t, shorts, test.wire).Verdict)
		})
	}
	bare := strings.NewReplacer("FIRST", "0.1 m", "SHEATH", "", "STUD", "0.1 m", "END", "H2:1", `to = "F1:1"`, `to = "H1:1"`, `from = "F1:2"`, `from = "X0:2"`).Replace(unfusedStart)
	shorts, err := parse(t, bare).Faults()
	require.NoError(t, err)
	assert.Equal(t, Unprotected, wireNamed(t, shorts, "2").Verdict, "a lamp hangs on it and no fuse follows")
}

// TestLetThroughIsBounded: beyond the last point of the table, 600 % of the rating, the slowest time stands still while the square
// of the current grows; the energy is bounded there by that of the last point and 5 ms of arc (estimate).
func TestLetThroughIsBounded(t *testing.T) {
	shorts := lampShorts(t, "40 A", "18 AWG", "1 m")
	f := wireNamed(t, shorts, "4")
	require.Greater(t, f.Ratio, 6.0)
	assert.True(t, f.Bounded)
	assert.InEpsilon(t, 60*60*0.1+f.Amps*f.Amps*0.005, f.LetThrough, 1e-6, "0.1 s at 600 % by ISO 8820-3")
	far := wireNamed(t, lampShorts(t, "40 A", "16 AWG", "15 m"), "4")
	require.Less(t, far.Ratio, 6.0)
	assert.False(t, far.Bounded)
}

// TestAluminiumSurvivesLess: IEC 60949 gives aluminium 148 and copper 226 A s^(1/2)/mm2 before the root, with 228 and 234.5 C in it; so of
// the same area, from 105 to 160 C, aluminium survives 0.43 of the energy.
func TestAluminiumSurvivesLess(t *testing.T) {
	shorts := func(metal string) Short {
		text := strings.NewReplacer("MAIN", "40 A", "THIN", "18 AWG", "LONG", `5 m", metal = "`+metal).Replace(oneLamp)
		all, err := parse(t, text).Faults()
		require.NoError(t, err)
		return wireNamed(t, all, "4")
	}
	copper, light := shorts("copper"), shorts("aluminium")
	root := func(offset float64) float64 { return math.Log((160 + offset) / (105 + offset)) }
	assert.InEpsilon(t, 148*148*root(228)/(226*226*root(234.5)), light.Withstand/copper.Withstand, 1e-6)
	assert.Less(t, light.Amps, copper.Amps, "and it lets less current flow")
	assert.Equal(t, "4", light.Weakest.Name.Text)
}
