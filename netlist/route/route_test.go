package route_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

func parse(t *testing.T, text string) *model.Netlist {
	t.Helper()
	n, problems := netlist.Parse("x.toml", []byte(text))
	require.Empty(t, problems)
	return n
}

const places = `[place]
A = {}
B = {}
C = {}
D = {}
FAR = {}
[path]
A-B = { between = ["A", "B"], length = "1 m" }
B-C = { between = ["C", "B"], length = "0.5 m" }
A-C = { between = ["A", "C"], length = "2 m" }
C-D = { between = ["C", "D"] }
[panel.P]
at = "C"
[part]
F1 = { kind = "fuse", rating = "5 A", in = "P" }
F2 = { kind = "fuse", rating = "5 A", in = "P" }
E1 = { kind = "lamp", load = "5 W", at = "A" }
E2 = { kind = "lamp", load = "5 W", at = "D" }
E3 = { kind = "lamp", load = "5 W" }
A1 = { kind = "module", at = "B" }
[connector.XA]
of = "A1"
cavities = 1
[connector.X1]
at = "B"
cavities = 1
[connector.X2]
mates = "X1"
[splice]
SP1 = { at = "FAR" }
[wire]
SHORTEST = { from = "E1:1", to = "F1:1" }
WRITTEN = { from = "E1:1", to = "F1:1", length = "3 m" }
PLUG = { from = "XA:1", to = "E1:1" }
MATE = { from = "X2:1", to = "E1:1" }
ONE-PLACE = { from = "F1:1", to = "F2:1" }
NO-LENGTH = { from = "F1:1", to = "E2:1" }
NO-PLACE = { from = "F1:1", to = "E3:1" }
NO-WAY = { from = "F1:1", to = "SP1:1" }
NO-END = { from = "F1:1" }
`

// within is for sums of a few lengths that have no exact binary form.
const within = 1e-9

func TestLength(t *testing.T) {
	n := parse(t, places)
	r := route.New(n)
	for _, c := range []struct {
		wire  string
		want  unit.Metre
		known bool
	}{
		{"SHORTEST", 1.5, true}, {"WRITTEN", 3, true}, {"PLUG", 1, true}, {"MATE", 1, true},
		{"ONE-PLACE", 0, false}, {"NO-LENGTH", 0, false}, {"NO-PLACE", 0, false}, {"NO-WAY", 0, false}, {"NO-END", 0, false},
	} {
		got, known := r.Length(n.Wire(c.wire))
		assert.Equal(t, c.known, known, c.wire)
		assert.InDelta(t, float64(c.want), float64(got), within, c.wire)
	}
}

func TestBetweenGivesThePathsInOrder(t *testing.T) {
	n := parse(t, places)
	r := route.New(n)
	a, c := n.Places[0], n.Places[2]
	m, paths, ok := r.Between(c, a)
	require.True(t, ok)
	assert.InDelta(t, 1.5, float64(m), within)
	require.Len(t, paths, 2)
	assert.Equal(t, "B-C", paths[0].Name.Text)
	assert.Equal(t, "A-B", paths[1].Name.Text)

	m, paths, ok = r.Between(a, a)
	assert.True(t, ok)
	assert.Empty(t, paths)
	assert.Zero(t, m)
	_, _, ok = r.Between(a, nil)
	assert.False(t, ok)
}

// TestPickupLengths compares the lengths of all pieces of the demonstration pickup with the list that was made with the
// vehicle (testdata/pickup/wires.csv), which rounds to 50 mm or better.
func TestPickupLengths(t *testing.T) {
	file, err := os.Open("../../testdata/pickup/wires.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	n, problems, err := netlist.Load(os.DirFS("../../examples/pickup"), "pickup.toml")
	require.NoError(t, err)
	require.Empty(t, problems)
	r := route.New(n)
	derived := 0
	for _, row := range rows[1:] {
		w := n.Wire(row[0])
		require.NotNil(t, w, row[0])
		want, err := strconv.ParseFloat(row[5], 64)
		require.NoError(t, err)
		got, known := r.Length(w)
		require.True(t, known, row[0])
		if !w.Length.IsSet() { // the list has its splices at the branch points
			_, way, _ := r.Way(w)
			for _, s := range r.Shifts(w, way) {
				got -= s.Metres
			}
		}
		assert.InDelta(t, want, float64(got), 0.005+within, row[0]) // the list gives two decimals
		if !w.Length.IsSet() {
			derived++
		}
	}
	assert.Len(t, rows, 232)
	assert.Greater(t, derived, 200, "most lengths follow from the paths")
}
