package panelspace_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/catalog"
	"ferrule/netlist/panelspace"
	"ferrule/netlist/route"
)

const box = `[place.A]
[place.B]
[path]
A-B = { between = ["A", "B"], length = "1 m" }
[panel.P]
at = "A"
inside = "100 x 50 mm"
positions = 6
terminals = ["BUS"]
[part]
F1 = { kind = "fuse", rating = "5 A", in = "P", family = "blade" }
F2 = { kind = "fuse", rating = "5 A", in = "P", family = "mini blade", spare = true }
K1 = { kind = "relay", in = "P", size = "28 x 28 mm" }
K2 = { stock = "micro-relay-20a", in = "P" }
U1 = { kind = "device", in = "P", pins = ["1"] }
E1 = { kind = "lamp", load = "5 W", at = "B" }
E2 = { kind = "lamp", load = "5 W", at = "A" }
E3 = { kind = "lamp", load = "5 W" }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG" }
W2 = { from = "E1:2", to = "K1:87", size = "18 AWG" }
W3 = { from = "F1:2", to = "K1:30", size = "18 AWG" }
W4 = { from = "K2:30", to = "E2:1", size = "18 AWG" }
W5 = { from = "K2:87", to = "E3:1" }
`

// TestSpace by hand. Modules: terminal 15 x 25, fuses 10 x 25 and 8 x 18, relays 28 x 28 as stated and 18 x 26 = 2021 mm2.
// Entries: two wires of 2.0 mm (thin wall) along the path, 4.0 mm together, hole 4.71; one from beside, hole 2.35; one whose
// way is not known, without size. Their strips run 100 mm: 706 mm2. W3 lies within, 2.0 mm over (100 + 50) / 2: 150 mm2.
// 2877 of 5000 mm2 are 57.5 %.
func TestSpace(t *testing.T) {
	n, problems := netlist.Parse("t.toml", []byte(box))
	require.False(t, problems.HasErrors(), problems)
	s := panelspace.Of(n, route.New(n))[0]
	assert.InDelta(t, 2021, s.ModuleMM2, 1e-6)
	require.Len(t, s.Entries, 3)
	assert.Equal(t, "A-B", s.Entries[0].Path.Name.Text)
	assert.InDelta(t, 4, s.Entries[0].ThickMM, 1e-9)
	assert.InDelta(t, 4.706, s.Entries[0].HoleMM, 1e-3)
	assert.True(t, s.Entries[1].Known)
	assert.Nil(t, s.Entries[1].Path)
	assert.False(t, s.Entries[2].Known)
	assert.Equal(t, 1, s.Unsized)
	require.Len(t, s.Inner, 1)
	assert.InDelta(t, 705.9+150, s.WireMM2, 0.1)
	assert.InDelta(t, 5000, s.InsideMM2, 1e-6)
	assert.InDelta(t, 0.5754, s.Fill(), 1e-3)
	assert.Equal(t, "U1", s.Unmeasured[0].Name.Text)
	assert.Equal(t, "F2", s.Spare[0].Name.Text)
	assert.Equal(t, 5, s.Seated())
	assert.Equal(t, 1, s.Empty)
	assert.True(t, s.Modules[3].Stated)
	assert.Contains(t, s.Modules[4].Source, "micro relay")
	width, height := s.LeastInside()
	assert.InDelta(t, 2, width/height, 0.2, "the shape that is stated, rounded up to 5 mm")
	assert.Less(t, width*height, 5000.0)
	assert.GreaterOrEqual(t, width*height, s.LeastMM2)
}

// TestLeastIsFull: a panel of the least size is filled to Full.
func TestLeastIsFull(t *testing.T) {
	n, _ := netlist.Parse("t.toml", []byte(box))
	n.Panels[0].Inside.Width, n.Panels[0].Inside.Height = 0, 0
	s := panelspace.Of(n, route.New(n))[0]
	assert.Zero(t, s.Fill())
	side, _ := s.LeastInside()
	n.Panels[0].Inside.Width, n.Panels[0].Inside.Height = side/1000, side/1000
	s = panelspace.Of(n, route.New(n))[0]
	assert.InDelta(t, panelspace.Full, s.Fill(), 0.1)
	assert.LessOrEqual(t, s.Fill(), panelspace.Full)
	assert.InDelta(t, s.LeastMM2, side*side, 5*2*side)
}

// TestPickupPanels: the boxes of the pickup hold what they feed, and every module in them has a size.
func TestPickupPanels(t *testing.T) {
	n, _, err := netlist.Load(os.DirFS("../../examples/pickup"), "pickup.toml")
	require.NoError(t, err)
	for _, s := range panelspace.Of(n, route.New(n)) {
		assert.Empty(t, s.Unmeasured, s.Panel.Name.Text)
		assert.Zero(t, s.Unsized)
		assert.Positive(t, s.ModuleMM2)
		assert.NotEmpty(t, s.Entries)
		t.Log(s.Panel.Name.Text, s.ModuleMM2, s.WireMM2, s.InsideMM2, s.Fill())
	}
}

// TestTableIsOfKinds: every row of the table is for a kind and a stock definition that the catalogue has.
func TestTableIsOfKinds(t *testing.T) {
	n, _ := netlist.Parse("t.toml", []byte("[panel.P]\n[part]\nK1 = { stock = \"micro-relay-20a\", in = \"P\" }\n"))
	require.Equal(t, "relay", n.Parts[0].Kind.Name)
	for _, kind := range []string{"fuse", "breaker", "fusible link", "relay", "changeover relay", "flasher", "diode", "resistor", "capacitor", "switch",
		"momentary switch", "lamp", "bus bar", "ground point"} {
		assert.NotNil(t, catalog.Builtin().Kind(kind), kind)
		m := panelspace.UsualModule(kind, "", "")
		assert.Positive(t, m.AreaMM2(), kind)
		assert.Contains(t, m.Source, "common practice", kind)
	}
	assert.Zero(t, panelspace.UsualModule("motor", "", "").AreaMM2())
}

// A grid that shows every part of a panel shows its empty positions too.
func TestPositionsFromTheGrid(t *testing.T) {
	const parts = `
F1 = { kind = "fuse", rating = "5 A", in = "P" }
K1 = { kind = "relay", in = "P" }
`
	for grid, want := range map[string][2]int{
		`grid = ["F1 _", "K1 _ _"]`:                {5, 3},
		`grid = ["F1", "K1"]`:                      {2, 0},
		`grid = ["F1 _ _"]`:                        {0, -1}, // K1 sits somewhere else in it
		"positions = 4\ngrid = [\"F1 _\", \"K1\"]": {4, 2},
		``: {0, -1},
	} {
		n, problems := netlist.Parse("t.toml", []byte("[panel.P]\n"+grid+"\n[part]"+parts))
		require.False(t, problems.HasErrors(), problems)
		s := panelspace.Of(n, route.New(n))[0]
		assert.Equal(t, want, [2]int{s.Positions, s.Empty}, grid)
	}
}
