package model_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/catalog"
	"ferrule/netlist/model"
)

func parse(t *testing.T, text string) *model.Netlist {
	t.Helper()
	n, problems := netlist.Parse("x.toml", []byte(text))
	require.Empty(t, problems)
	return n
}

// faults are what is wrong with a text, in words.
func faults(t *testing.T, text string) string {
	t.Helper()
	_, problems := netlist.Parse("x.toml", []byte(text))
	var words []string
	for _, p := range problems {
		words = append(words, p.Message)
	}
	return strings.Join(words, "\n")
}

func terminals(n *model.Netlist, owner string) string {
	var names []string
	for _, id := range n.Owner(owner).Pins {
		names = append(names, n.Pin(id).Name)
	}
	return strings.Join(names, " ")
}

func pair(n *model.Netlist, p model.Pair) string {
	return n.Pin(p.A).String() + " " + n.Pin(p.B).String()
}

func TestTerminalsComeFromTheKindThePartAndThePlug(t *testing.T) {
	n := parse(t, `
[body.engine]
[part]
K1 = { stock = "mini-relay-40a" }
E1 = { kind = "lamp", pins = ["56a", "56b", "31"], load = "55 W" }
B1 = { kind = "gauge sender" }
S1 = { kind = "switch", case = "engine", pins = ["1"] }
G1 = { kind = "ground point", body = "engine" }
A1 = { kind = "module" }
[connector.XA]
of = "A1"
grid = ["1-3", "A2-A1", "_ 9 _"]
[connector.XB]
of = "A1"
[connector.XB.pin]
7 = { role = "sink" }
[connector.X1]
mates = "X2"
grid = ["1 2 _", "3-5"]
latch = "left"
spare = ["5"]
sealed = true
[connector.X2]
mates = "X1"
[splice.SP1]
[panel.P]
terminals = ["BUS"]
[wire]
W1 = { from = "SP1", to = "SP1:2" }
W2 = { from = "G1:7", to = "P:BUS" }
`)
	for owner, want := range map[string]string{
		"K1": "86 85 30 87", "E1": "56a 56b 31", "B1": "1 case", "S1": "1 case", "G1": "7", "A1": "", "XA": "1 2 3 A2 A1 9", "XB": "7",
		"X1": "1 2 3 4 5", "X2": "1 2 3 4 5", "SP1": " 2", "P": "BUS",
	} {
		assert.Equal(t, want, terminals(n, owner), owner)
	}
	a1 := n.Owner("A1").Part
	assert.Len(t, a1.Terminals(), 7)
	assert.Same(t, a1, n.Owner("XB").Device())
	assert.Nil(t, n.Owner("X1").Device())
	x2 := n.Owner("X2").Connector
	assert.Equal(t, [][]string{{"", "2", "1"}, {"5", "4", "3"}}, x2.Rows, "the other half is the mirror image")
	assert.Equal(t, "right", x2.Latch.Text)
	assert.True(t, x2.Sealed.On)
	for _, ref := range []string{"X1:5", "X2:5"} {
		id, ok := n.FindPin(ref)
		require.True(t, ok)
		assert.True(t, n.Pin(id).OnPurpose(), ref)
	}
	ground, _ := n.FindPin("G1:7")
	assert.Equal(t, catalog.Ground, n.Pin(ground).Role)
	_, ok := n.FindPin("K9:1")
	assert.False(t, ok)
}

func TestInsidesComeFromTheKindUnlessThePartWritesThem(t *testing.T) {
	n := parse(t, `
[stock.headlamp]
kind = "lamp"
load = "55 W"
title = "Head lamp"
[part]
K1 = { kind = "changeover relay" }
K2 = { kind = "relay", pins = ["1", "2", "3", "4"], coil = "1-2", open = ["3-4"] }
E1 = { stock = "headlamp" }
E2 = { stock = "headlamp", load = "60 W" }
E3 = { kind = "lamp", pins = ["+", "-"], loads = [{ between = "+--", load = "5 W" }] }
S1 = { kind = "switch", pins = ["30", "15", "50"], positions = { off = [], start = ["30-15-50"] }, rest = "start" }
BAT1 = { kind = "battery", capacity = "60 Ah" }
ALT1 = { kind = "alternator", output = "100 A" }
A1 = { kind = "module", load = "1 A", joins = ["XA:1-XA:2"], diodes = ["XA:3>XA:1"], resistors = [{ between = "XA:2-XA:3", value = "120 ohm" }] }
[connector.XA]
of = "A1"
cavities = 3
[connector.XA.pin]
3 = { role = "supply" }
1 = { role = "ground" }
`)
	part := func(name string) *model.Part { return n.Owner(name).Part }
	assert.Equal(t, "K1:86 K1:85", pair(n, part("K1").Inside.Coils[0]))
	assert.Equal(t, "K1:30 K1:87a", pair(n, part("K1").Inside.Closed[0]))
	assert.Equal(t, "K2:1 K2:2", pair(n, part("K2").Inside.Coils[0]))
	assert.Equal(t, "K2:3 K2:4", pair(n, part("K2").Inside.Open[0]))
	assert.InDelta(t, 55, part("E1").Inside.Loads[0].Spec.Run.Value, 0)
	assert.InDelta(t, 60, part("E2").Inside.Loads[0].Spec.Run.Value, 0)
	assert.Equal(t, "Head lamp", part("E2").Title.Text)
	assert.Equal(t, "E3:+ E3:-", pair(n, part("E3").Inside.Loads[0].Pair), "terminals named like the separator")
	s1 := part("S1")
	assert.Empty(t, s1.Inside.Open, "positions replace the kind's contact")
	assert.Len(t, s1.Inside.Positions[1].Joins[0], 3)
	assert.Equal(t, 1, s1.Inside.Rest)
	assert.Equal(t, -1, s1.Position("nowhere"))
	assert.Equal(t, 1, part("K1").Position("pulled"))
	assert.InDelta(t, 100, part("ALT1").Inside.Sources[0].Limit.Value, 0)
	assert.False(t, part("BAT1").Inside.Sources[0].Limit.IsSet())
	a1 := part("A1").Inside
	assert.Equal(t, "XA:3 XA:1", pair(n, a1.Diodes[0]), "anode first")
	assert.Equal(t, "XA:3 XA:1", pair(n, a1.Loads[0].Pair), "the load lies between supply and ground")
	assert.InDelta(t, 120, a1.Resistors[0].Ohms.Value, 0)
	assert.Len(t, a1.Joins[0], 2)
}

func TestDefaults(t *testing.T) {
	n := parse(t, "")
	assert.InDelta(t, 12, n.Harness.Volts, 0)
	assert.InDelta(t, 105, float64(n.Harness.Insulation), 0)
	assert.Equal(t, "SAE", n.Harness.Cable)
	assert.Equal(t, "BK", n.Colors.Ground[0].Text)
	assert.Equal(t, "RD", n.Colors.Permanent[0].Text)
}

func TestPlaces(t *testing.T) {
	n := parse(t, `
[place]
A = {}
B = {}
[panel.P]
at = "A"
[part]
F1 = { kind = "fuse", rating = "5 A", in = "P" }
A1 = { kind = "module", at = "B" }
E1 = { kind = "lamp", load = "5 W" }
[connector.XA]
of = "A1"
cavities = 1
[connector.X1]
mates = "X2"
cavities = 1
at = "A"
[connector.X2]
mates = "X1"
`)
	for owner, want := range map[string]string{"F1": "A", "P": "A", "XA": "B", "X2": "A"} {
		require.NotNil(t, n.Owner(owner).Place(), owner)
		assert.Equal(t, want, n.Owner(owner).Place().Name.Text, owner)
	}
	assert.Nil(t, n.Owner("E1").Place())
}

func TestPanelGrid(t *testing.T) {
	const parts = `
[part]
F1 = { kind = "fuse", rating = "5 A", in = "P" }
F2 = { kind = "fuse", rating = "5 A", in = "P" }
F3 = { kind = "fuse", rating = "5 A", in = "P" }
F9 = { kind = "fuse", rating = "5 A" }
`
	n := parse(t, "[panel.P]\nlid = \"90 x 60 mm\"\ngrid = [\"F1-F2\", \"_ F3\"]"+parts)
	p := n.Owner("P").Panel
	require.Len(t, p.Rows, 2)
	assert.Equal(t, "F2", p.Rows[0][1].Name.Text)
	assert.Nil(t, p.Rows[1][0])
	assert.Equal(t, "F3", p.Rows[1][1].Name.Text)
	assert.InDelta(t, 0.09, p.Lid.Width, 1e-9)
	for grid, want := range map[string]string{
		`["F1 F1"]`:  "F1 is twice in the grid of panel P",
		`["F9"]`:     "no part F9 sits in panel P",
		`["K1"]`:     "no part K1 sits in panel P",
		`["P"]`:      "no part P sits in panel P",
		`["F1-F"]`:   `"F1-F" is not a row of positions`,
		`["-", "1"]`: `"-" is not a row of positions`,
	} {
		assert.Contains(t, faults(t, "[panel.P]\ngrid = "+grid+parts), want, grid)
	}
}

func TestStaggeredAndRoundShells(t *testing.T) {
	for grid, want := range map[string]bool{
		`["1 _ 2 _ 3", "_ 4 _ 5 _"]`:          true,
		`["_ 1 _ 2", "3 _ 4 _ 5", "_ 6 _ 7"]`: true,
		`["1-3", "4-6"]`:                      false,
		`["1 _ 2", "3 _ 4"]`:                  false, // every second place left out, rows above one another
		`["1 _ 2", "_ _ _"]`:                  false,
		`["1 2 _", "_ 3 4"]`:                  false,
	} {
		n := parse(t, "[connector.X1]\nmates = \"X2\"\nview = \"mating face\"\nshell = \"round\"\ngrid = "+grid+"\n[connector.X2]\nmates = \"X1\"\n")
		for _, name := range []string{"X1", "X2"} {
			c := n.Owner(name).Connector
			assert.Equal(t, want, c.Staggered(), "%s %s", name, grid)
			assert.Equal(t, "round", c.Shell.Text, name)
		}
	}
}

func TestNeighbours(t *testing.T) {
	for grid, want := range map[string][]string{
		`["1-3", "4-6"]`:                 {"1", "3", "5"},
		`["1 2 _", "4 _ 6"]`:             {"1"},
		`["1 _ 2 _ 3 _", "_ 4 _ 5 _ 6"]`: {"1", "3", "4", "5"}, // half a place off
	} {
		n := parse(t, "[connector.X1]\nmates = \"X2\"\nview = \"mating face\"\ngrid = "+grid+"\n[connector.X2]\nmates = \"X1\"\n")
		c := n.Owner("X1").Connector
		var names []string
		for _, pin := range c.Neighbours("2") {
			names = append(names, n.Pin(pin).Name)
		}
		assert.Equal(t, want, names, grid)
		assert.Nil(t, c.Neighbours("9"), grid)
	}
}
