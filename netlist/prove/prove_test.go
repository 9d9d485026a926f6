package prove_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/netlisttest"
	"ferrule/netlist/prove"
	"ferrule/netlist/route"
)

var examples = []string{"first", "broken", "pickup", "boat", "camper", "motorcycle"}

func example(t testing.TB, name string) *prove.Harness {
	t.Helper()
	n, _, err := netlist.Load(os.DirFS("../../examples"), name+"/"+name+".toml")
	require.NoError(t, err)
	return prove.New(circuit.New(graph.New(n), route.New(n)))
}

func written(t testing.TB, text string) *prove.Harness {
	t.Helper()
	n, diags := netlist.Parse("test.toml", []byte(text))
	require.False(t, diags.HasErrors(), "%v", diags)
	return prove.New(circuit.New(graph.New(n), route.New(n)))
}

func reports(h *prove.Harness) []*circuit.Report {
	var list []*circuit.Report
	for _, c := range h.Graph.Conditions() {
		list = append(list, h.Circuit.Report(c, circuit.Options{}))
	}
	return list
}

// everyHarness runs a test on all examples and on made-up harnesses.
func everyHarness(t *testing.T, test func(t *testing.T, h *prove.Harness)) {
	for _, name := range examples {
		t.Run(name, func(t *testing.T) { test(t, example(t, name)) })
	}
	for _, wires := range []int{27, 150, 700} {
		t.Run("generated", func(t *testing.T) { test(t, written(t, netlisttest.Harness(wires))) })
	}
}

// disjoint is a plain union-find structure of the test's own.
type disjoint []int

func newDisjoint(n int) disjoint {
	d := make(disjoint, n)
	for i := range d {
		d[i] = i
	}
	return d
}

func (d disjoint) find(i int) int {
	for d[i] != i {
		d[i] = d[d[i]]
		i = d[i]
	}
	return i
}

func (d disjoint) join(a, b int) { d[d.find(a)] = d.find(b) }

// metal joins what is one piece of conductor, straight from the netlist: wires, bus bars, mated cavities, splices and studs.
func metal(n *model.Netlist) disjoint {
	d := newDisjoint(len(n.Pins))
	for _, w := range n.Wires {
		if w.From.IsSet() && w.To.IsSet() && w.Wired() {
			d.join(int(w.From.ID), int(w.To.ID))
		}
	}
	for _, l := range n.Links {
		for _, r := range l.Joins {
			if r.ID != model.NoPin && l.Joins[0].ID != model.NoPin {
				d.join(int(l.Joins[0].ID), int(r.ID))
			}
		}
	}
	for _, o := range n.Owners {
		if o.Joined {
			for _, id := range o.Pins {
				d.join(int(o.Pins[0]), int(id))
			}
		}
	}
	for _, c := range n.Connectors {
		if c.Mate == nil {
			continue
		}
		for _, id := range c.Owner.Pins {
			if other, ok := c.Mate.Owner.Pin(n.Pins[id].Name); ok {
				d.join(int(id), int(other))
			}
		}
	}
	return d
}

func TestRingsAreTheNets(t *testing.T) {
	everyHarness(t, func(t *testing.T, h *prove.Harness) {
		sets := metal(h.Netlist)
		whole := map[int][]model.PinID{}
		for i := range h.Netlist.Pins {
			whole[sets.find(i)] = append(whole[sets.find(i)], model.PinID(i))
		}
		measured := map[int]int{}
		points := map[int]map[model.PinID]bool{}
		for _, g := range h.Continuity(nil).Groups {
			for _, row := range g.Rows {
				got := append(append([]model.PinID{row.Pin}, row.Rings...), row.Buried...)
				slices.Sort(got)
				set := sets.find(int(row.Pin))
				require.Equal(t, whole[set], got, "%s", h.Netlist.Pin(row.Pin))
				if points[set] == nil {
					points[set] = map[model.PinID]bool{}
				}
				if !row.Empty {
					points[set][row.Pin] = true
				}
				measured[set] += len(row.Lines)
				for _, not := range row.Not {
					assert.NotEqual(t, set, sets.find(int(not)), "%s and %s are one net", h.Netlist.Pin(row.Pin), h.Netlist.Pin(not))
				}
			}
		}
		for set, p := range points {
			assert.GreaterOrEqual(t, measured[set], len(p)-1, "every point of a net is reached by a measurement")
		}
	})
}

func TestEveryCavityAppearsOnce(t *testing.T) {
	everyHarness(t, func(t *testing.T, h *prove.Harness) {
		seen := map[model.PinID]int{}
		for _, g := range h.Continuity(nil).Groups {
			for _, row := range g.Rows {
				if len(row.Lugs) == 0 {
					seen[row.Pin]++
				}
				for _, lug := range row.Lugs {
					seen[lug]++
				}
			}
		}
		for i := range h.Netlist.Pins {
			pin := &h.Netlist.Pins[i]
			want := 0
			switch pin.Owner.Sort {
			case model.ConnectorOwner:
				want = 1
			case model.PartOwner, model.PanelOwner:
				if h.Graph.Reached(pin.ID) {
					want = 1
				}
			}
			assert.Equal(t, want, seen[pin.ID], "%s", pin)
		}
	})
}

func row(t *testing.T, h *prove.Harness, pin string) prove.Cavity {
	t.Helper()
	for _, g := range h.Continuity(nil).Groups {
		for _, r := range g.Rows {
			if h.Netlist.Pin(r.Pin).String() == pin {
				return r
			}
		}
	}
	require.Fail(t, "no row", pin)
	return prove.Cavity{}
}

func names(h *prove.Harness, pins []model.PinID) []string {
	list := make([]string, len(pins))
	for i, id := range pins {
		list[i] = h.Netlist.Pin(id).String()
	}
	return list
}

func TestPickupContinuity(t *testing.T) {
	h := example(t, "pickup")
	for _, test := range []struct {
		pin               string
		rings, not        []string
		ground, notGround bool
		notSupply         bool
	}{
		// X1 lies in two rows, 1 to 7 above 8 to 14 (job map, section 6): beside 4 lie 3 and 5, below it 11.
		{"X1B:4", []string{"X1C:4", "K8:86", "S4:2"}, []string{"X1B:3", "X1B:5", "X1B:11"}, false, true, true},
		{"X3P:1", []string{"X3E:1", "XA:5", "F1:2", "K1:86"}, []string{"X3P:2", "X3P:7"}, false, true, true},
		// Two power grounds side by side must ring, so neither is told of the other as one that must not.
		{"XA:1", []string{"XA:2", "XA:3", "G2:1"}, []string{"XA:13"}, true, false, true},
		// A screen rings along its drain, and not to the signal ground inside the controller.
		// The rows of XB are staggered: below 11 lie 22 and 23, half a pitch to either side.
		{"XB:11", nil, []string{"XB:10", "XB:12", "XB:22", "XB:23"}, false, true, true},
	} {
		r := row(t, h, test.pin)
		if test.rings != nil {
			assert.ElementsMatch(t, test.rings, names(h, r.Rings), test.pin)
		}
		assert.ElementsMatch(t, test.not, names(h, r.Not), test.pin)
		assert.Equal(t, test.ground, r.Ground, test.pin)
		assert.Equal(t, test.notGround, r.NotGround, test.pin)
		assert.Equal(t, test.notSupply, r.NotSupply, test.pin)
	}
	assert.Equal(t, []string{"BAT1:+", "P:BUS", "C:BUS"}, names(h, h.SupplyPoints()))
}

// The pieces 10a and 10b are 1.6 m of 20 AWG. ISO 6722-1 allows 37.1 mohm/m for 0.5 mm2 at 20 C (job map 2.1, from memory), that is
// 59 mohm; a few connections of 4 mohm each come to it.
func TestOhmsOfARun(t *testing.T) {
	h := example(t, "pickup")
	r := row(t, h, "X3E:1")
	if r.Base != r.Pin {
		r = row(t, h, h.Netlist.Pin(r.Base).String())
	}
	found := false
	for _, l := range r.Lines {
		if h.Netlist.Pin(l.To).String() == "F1:2" || h.Netlist.Pin(l.To).String() == "XA:5" {
			found = true
			require.True(t, l.Known)
			assert.Less(t, l.Ohms, 0.100)
			assert.Greater(t, l.Ohms, 0.005)
			assert.Equal(t, prove.RingOhms, l.Most())
		}
	}
	assert.True(t, found)
}

const run = `
[harness]
title = "run"
volts = 12
cable = "AWG"
[part]
A1 = { kind = "device", title = "one end", pins = ["1", "2"], loads = [] }
A2 = { kind = "device", title = "other end", pins = ["1", "2"], loads = [] }
[wire]
1 = { from = "A1:1", to = "A2:1", size = "22 AWG", color = "YE", length = "100 m" }
`

// A long thin wire against ASTM B258: 22 AWG is 0.3255 mm2, and copper of 100 % IACS 17.241 nohm m at 20 C: 100 m are 5.30 ohm.
func TestOhmsOfAWire(t *testing.T) {
	r := row(t, written(t, run), "A1:1")
	require.Len(t, r.Lines, 1)
	assert.InEpsilon(t, 5.30, r.Lines[0].Ohms, 0.08, "stranded wire resists a few per cent more than its metal")
	assert.False(t, r.Lines[0].Marked, "two connections are nothing beside it")
	assert.InDelta(t, 2*r.Lines[0].Ohms, r.Lines[0].Most(), 1e-9)
}

func TestUnknownLengthIsNotMadeUp(t *testing.T) {
	r := row(t, written(t, strings.Replace(run, `, length = "100 m"`, "", 1)), "A1:1")
	require.Len(t, r.Lines, 1)
	assert.False(t, r.Lines[0].Known)
}

const bus = `
[harness]
title = "bus"
volts = 12
[part]
R1 = { kind = "resistor", title = "Terminator", resistance = "120 ohm", STAYS }
R2 = { kind = "resistor", title = "Terminator", resistance = "120 ohm", STAYS }
[part.A1]
kind = "module"
pins = ["H", "L"]
[splice]
SP1 = {}
SP2 = {}
[wire]
1 = { from = "A1:H", to = "SP1:1", size = "22 AWG", color = "YE", length = "0.5 m" }
2 = { from = "A1:L", to = "SP2:1", size = "22 AWG", color = "GN", length = "0.5 m" }
3 = { from = "SP1:2", to = "R1:1", size = "22 AWG", color = "YE", length = "0.1 m" }
4 = { from = "SP2:2", to = "R1:2", size = "22 AWG", color = "GN", length = "0.1 m" }
5 = { from = "SP1:2", to = "R2:1", size = "22 AWG", color = "YE", length = "5 m" }
6 = { from = "SP2:2", to = "R2:2", size = "22 AWG", color = "GN", length = "5 m" }
[cable]
CAN = { kind = "twisted pair", wires = ["1", "2"] }
`

// Two terminators of 120 ohm side by side read 60 ohm (ISO 11898-2) when they cannot be unplugged, and nothing when they are.
func TestWhatStaysPluggedIsRead(t *testing.T) {
	h := written(t, strings.ReplaceAll(bus, "STAYS", "stays-plugged = true"))
	r := row(t, h, "A1:H")
	require.Len(t, r.Through, 1)
	assert.Equal(t, "A1:L", h.Netlist.Pin(r.Through[0].To).String())
	assert.InDelta(t, 60.2, r.Through[0].Ohms, 0.4)
	assert.Len(t, r.Through[0].By, 2)
	assert.Empty(t, r.Not, "the neighbour reads 60 ohm, which is no fault")
	assert.Len(t, h.Continuity(nil).Stays, 2)
	in := h.Insulation()
	for _, g := range in.Groups {
		for _, n := range g.Nets {
			assert.Empty(t, n.Partners, "nobody tests insulation across a resistor")
		}
	}

	h = written(t, strings.ReplaceAll(bus, "STAYS", "stays-plugged = false"))
	r = row(t, h, "A1:H")
	assert.Empty(t, r.Through)
	assert.Equal(t, []string{"A1:L"}, names(h, r.Not))
	partners := 0
	for _, g := range h.Insulation().Groups {
		for _, n := range g.Nets {
			partners += len(n.Partners)
		}
	}
	assert.Equal(t, 1, partners, "the two wires of a pair are tested against each other once")
}

func TestInsulationLeavesGroundOut(t *testing.T) {
	everyHarness(t, func(t *testing.T, h *prove.Harness) {
		in := h.Insulation()
		seen := map[graph.NetID]int{}
		for _, g := range in.Groups {
			for _, n := range g.Nets {
				seen[n.Net.ID]++
				assert.False(t, h.Ground(n.At), "%s", h.Netlist.Pin(n.At))
				assert.Equal(t, n.Net, h.Graph.NetOf(n.At))
			}
		}
		for _, w := range h.Netlist.Wires {
			if w.Wired() && !h.Ground(w.From.ID) && len(h.Netlist.Bodies) > 0 {
				assert.Equal(t, 1, seen[h.Graph.NetOf(w.From.ID).ID], "wire %s", w.Name.Text)
			}
		}
	})
}

// inputs tells the terminals that some battery reaches with a set of fuses in, whatever contacts and converters do: an upper bound
// that knows nothing of switches and relays.
func reached(h *prove.Harness, in func(*model.Part) bool) disjoint {
	d := newDisjoint(len(h.Netlist.Pins))
	for _, p := range h.Netlist.Parts {
		join := func(a, b model.PinID) {
			if a != model.NoPin && b != model.NoPin {
				d.join(int(a), int(b))
			}
		}
		for _, group := range p.Inside.Joins {
			for _, id := range group {
				join(group[0], id)
			}
		}
		for _, pairs := range [][]model.Pair{p.Inside.Open, p.Inside.Closed, p.Inside.Diodes} {
			for _, pair := range pairs {
				join(pair.A, pair.B)
			}
		}
		for _, position := range p.Inside.Positions {
			for _, group := range position.Joins {
				for _, id := range group {
					join(group[0], id)
				}
			}
		}
		for _, s := range p.Inside.Sources {
			for _, l := range p.Inside.Loads {
				if p.Kind.Symbol != "battery" && p.Kind.Symbol != "generator" {
					join(l.A, s.Plus)
				}
			}
		}
		for _, r := range p.Inside.Resistors {
			join(r.A, r.B)
		}
		if in(p) {
			for _, pair := range p.Inside.Protects {
				join(pair.A, pair.B)
			}
		}
	}
	m := metal(h.Netlist)
	for i := range h.Netlist.Pins {
		d.join(i, m.find(i))
	}
	return d
}

func fed(h *prove.Harness, d disjoint, pin model.PinID) bool {
	for _, p := range h.Netlist.Parts {
		if p.Kind.Symbol != "battery" {
			continue
		}
		for _, s := range p.Inside.Sources {
			live := s.Plus
			if h.Netlist.Harness.PositiveGround {
				live = s.Minus
			}
			if d.find(int(live)) == d.find(int(pin)) {
				return true
			}
		}
	}
	return false
}

func TestNoFuseBeforeItsUpstream(t *testing.T) {
	everyHarness(t, func(t *testing.T, h *prove.Harness) {
		p := h.FirstPower()
		place := map[*model.Part]int{}
		for i := range p.Steps {
			place[p.Steps[i].Fuse] = i
		}
		for i := range p.Steps {
			s := &p.Steps[i]
			before := reached(h, func(q *model.Part) bool { at, known := place[q]; return known && at < i })
			assert.True(t, fed(h, before, s.Input), "step %d: %s goes in before what feeds it", s.Number, s.Fuse.Name.Text)
			for _, a := range s.Ahead {
				assert.Less(t, place[a], i, "%s is ahead of %s", a.Name.Text, s.Fuse.Name.Text)
			}
			for _, other := range p.Steps { // what cannot be done without is in
				if len(p.Steps) > 60 {
					break // of a large harness the first two hold it well enough
				}
				d := reached(h, func(q *model.Part) bool { return q != other.Fuse })
				if other.Fuse != s.Fuse && !fed(h, d, s.Input) {
					assert.Less(t, place[other.Fuse], i, "%s is upstream of %s", other.Fuse.Name.Text, s.Fuse.Name.Text)
				}
			}
		}
	})
}

func TestEveryFuseIsTold(t *testing.T) {
	everyHarness(t, func(t *testing.T, h *prove.Harness) {
		p := h.FirstPower()
		seen := map[*model.Part]int{}
		for i := range p.Steps {
			seen[p.Steps[i].Fuse]++
			assert.Equal(t, i+1, p.Steps[i].Number)
			require.NotEmpty(t, p.Steps[i].Readings)
		}
		for _, list := range [][]*model.Part{p.Dead, p.Spare} {
			for _, f := range list {
				seen[f]++
			}
		}
		for _, part := range h.Netlist.Parts {
			if len(part.Inside.Protects) == 0 {
				continue
			}
			wired := false
			for _, id := range part.Terminals() {
				wired = wired || h.Graph.Reached(id)
			}
			if wired {
				assert.Equal(t, 1, seen[part], part.Name.Text)
			}
		}
	})
}

func setup(s *prove.Setup, n *model.Netlist) string {
	var words []string
	for _, w := range s.Switches {
		words = append(words, w.Part.Name.Text+" "+w.PositionName.Text)
	}
	for _, j := range s.Jumpers {
		words = append(words, "jumper "+n.Pin(j).String())
	}
	return strings.Join(words, ", ")
}

// The key positions are those of the job map, section 6 "Key states": 30 always, 75 from ACC, 15 and 15X from RUN, the bars behind
// K1 only once the controller pulls it in at A15, the start fuse in START. Lamps need their switch besides, as table "Circuits".
func TestPickupOrder(t *testing.T) {
	h := example(t, "pickup")
	var got []string
	at := map[string]string{}
	for _, s := range h.FirstPower().Steps {
		got = append(got, s.Fuse.Name.Text)
		at[s.Fuse.Name.Text] = setup(&s.Setup, h.Netlist)
	}
	assert.Equal(t, strings.Fields("MF1 MF2 MF3 F1 F2 F3 F9 F10 F15 F16 F21 F22 F23 F24 F25 F26 F27 F39 F40 F28 F36 F37 F31 F32 F33 F34 F11 F12 F13 F14 F5 F6 F7 F8 F35"), got)
	for want, fuses := range map[string]string{
		"":                           "MF1 MF2 MF3 F1 F2 F3 F9 F10 F15 F16 F21 F22 F23 F24 F25",
		"S10 park":                   "F26 F27",
		"S1 acc":                     "F39 F40",
		"S1 run":                     "F28 F36 F37 F31 F32 F33 F34",
		"S1 run, jumper XA:15":       "F5 F6 F7 F8",
		"S1 run, S10 head":           "F11 F12",
		"S1 run, S10 head, S11 high": "F13 F14",
		"S1 start":                   "F35",
	} {
		for _, f := range strings.Fields(fuses) {
			assert.Equal(t, want, at[f], f)
		}
	}
	assert.Equal(t, "F4", h.FirstPower().Spare[0].Name.Text)
	assert.Empty(t, h.FirstPower().Dead)
}

// A relay's coil feeds its contact: F1 holds K1, F28 holds K5 and K6.
func TestCoilsCountAsUpstream(t *testing.T) {
	h := example(t, "pickup")
	place := map[string]int{}
	for i, s := range h.FirstPower().Steps {
		place[s.Fuse.Name.Text] = i
	}
	for _, pair := range [][2]string{{"F1", "F5"}, {"F1", "F8"}, {"F28", "F11"}, {"F28", "F14"}, {"F24", "F36"}, {"F25", "F26"}} {
		assert.Less(t, place[pair[0]], place[pair[1]], "%v", pair)
	}
}

// The column KOEO of the job map's table of the controller, against battery minus. "off" is the key off, "run" the key on, "koeo" the
// key on with the main relay held, which the controller does and at first power a jumper.
func TestPickupControllerTable(t *testing.T) {
	h := example(t, "pickup")
	p := h.FirstPower()
	var columns []string
	for i := range p.Columns {
		columns = append(columns, setup(&p.Columns[i], h.Netlist))
	}
	require.Equal(t, []string{"", "S1 acc", "S1 run", "S1 start", "S1 run, jumper XA:15"}, columns)
	volts := map[string][]float64{}
	for _, plug := range p.Plugs {
		for i, id := range plug.Pins {
			volts[h.Netlist.Pin(id).String()] = plug.Rows[i]
		}
	}
	const dead, live, any = 0, 12, -1
	for pin, want := range map[string][5]float64{
		"XA:1":  {dead, dead, dead, dead, dead},
		"XA:3":  {dead, dead, dead, dead, dead},
		"XA:4":  {dead, dead, dead, dead, live}, // KOEO 12; off 0
		"XA:5":  {live, live, live, live, live}, // 12 always
		"XA:6":  {dead, dead, live, live, live}, // 12 RUN and CRANK, 0 OFF and ACC
		"XA:7":  {dead, dead, dead, dead, live}, // 12 KOEO
		"XA:10": {dead, dead, dead, dead, live},
		"XA:15": {live, live, live, live, dead}, // 12 OFF; below 1 in RUN
		"XA:16": {dead, dead, dead, dead, live}, // after the prime 12
		"XA:17": {dead, dead, dead, dead, live}, // 12 cold
		"XA:18": {dead, dead, dead, dead, live},
		"XA:19": {dead, dead, dead, dead, live}, // 12 KOEO
		"XA:21": {dead, dead, dead, dead, live}, // 12 KOEO
		"XB:21": {dead, dead, dead, dead, dead}, // 0, brake released
	} {
		require.Contains(t, volts, pin)
		for i, w := range want {
			v := volts[pin][i]
			if math.IsNaN(v) {
				v = 0 // a meter pulls what floats down
			}
			if w == live {
				assert.InDelta(t, 12.4, v, 0.5, "%s in %q", pin, columns[i])
			} else {
				assert.Less(t, v, 1.0, "%s in %q", pin, columns[i])
			}
		}
	}
	assert.NotContains(t, volts, "XB:3", "the 5 V references are made by the controller, which is unplugged")
	brake := reading(t, h, "F21", "S5 pressed")
	require.Len(t, brake.Live, 1)
	assert.Equal(t, "XB:21", h.Netlist.Pin(brake.Live[0].Pin).String()) // 12 pressed
	assert.InDelta(t, 12.4, brake.Live[0].Volts, 0.5)
}

func reading(t *testing.T, h *prove.Harness, fuse, in string) prove.Reading {
	t.Helper()
	for _, s := range h.FirstPower().Steps {
		for _, r := range s.Readings {
			if s.Fuse.Name.Text == fuse && setup(&r.Setup, h.Netlist) == in {
				return r
			}
		}
	}
	require.Fail(t, "no reading", "%s in %q", fuse, in)
	return prove.Reading{}
}

// Amperes that the job map states for the circuits, at a full battery: a filament takes a little more than at 12 V.
func TestPickupAmps(t *testing.T) {
	h := example(t, "pickup")
	for _, test := range []struct {
		fuse, setup string
		amps        float64
	}{
		{"F15", "S12 horn", 6},
		{"F21", "S5 pressed", 3.5},
		{"F22", "S13 on", 7},
		{"F26", "S10 park", 0.85},
		{"F33", "S1 run, S6 engaged", 3.5},
		{"F36", "S1 run, S14 fast", 5},
		{"F37", "S1 run, S15 high", 12},
		{"F11", "S1 run, S10 head", 4.5},
		{"F13", "S1 run, S10 head, S11 high", 5},
	} {
		r := reading(t, h, test.fuse, test.setup)
		assert.InEpsilon(t, test.amps, r.Amps, 0.05, test.fuse)
		assert.InDelta(t, r.Before+r.Amps, r.Supply, 0.05*r.Supply+0.02, "%s: what goes in shows at the supply", test.fuse)
		assert.InDelta(t, r.Supply+max(0.1, 0.25*r.Supply), r.Stop(), 1e-9)
		assert.Equal(t, r.Supply > 5, r.Beyond())
	}
	for _, s := range h.FirstPower().Steps {
		if len(s.Setup.Switches)+len(s.Setup.Jumpers) == 0 {
			assert.Less(t, s.Readings[0].Supply, 0.005, "%s: with everything off there is next to nothing", s.Fuse.Name.Text)
			assert.InDelta(t, 12.65, s.Readings[0].Volts, 0.01)
		}
	}
	relays := map[string]prove.RelayStep{}
	for _, r := range h.FirstPower().Relays {
		relays[h.Netlist.Pin(r.Pin).String()] = r
	}
	require.Len(t, relays, 3)
	for pin, amps := range map[string]float64{"XA:16": 7, "XA:17": 14, "XA:18": 14} { // pump 7 A, fans 14 A each
		r := relays[pin]
		assert.InEpsilon(t, amps+0.15, r.Reading.Supply-r.Reading.Before, 0.03, pin)
		assert.InDelta(t, 12.65/85, r.Coils-r.Reading.Before, 0.04, "the coil of 85 ohm alone")
	}
}

func TestUnplugged(t *testing.T) {
	var got []string
	for _, p := range example(t, "pickup").FirstPower().Unplugged {
		got = append(got, p.Name.Text)
	}
	assert.Equal(t, []string{"STM1", "ECU", "COIL1", "SKT", "RAD", "CLU", "DIAG"}, got)
	for _, r := range example(t, "pickup").FirstPower().Steps {
		for _, reading := range r.Readings {
			assert.NotContains(t, strings.Join(reading.Works, " "), "ECU")
		}
	}
}

func TestWhereToLook(t *testing.T) {
	h := example(t, "pickup")
	for _, s := range h.FirstPower().Steps {
		if s.Fuse.Name.Text != "F21" {
			continue
		}
		var got []string
		for _, x := range s.Look {
			if x.Wire != nil {
				got = append(got, x.Wire.Name.Text)
			} else {
				got = append(got, x.Part.Name.Text)
			}
		}
		assert.Equal(t, []string{"74a", "S5"}, got, "nearest first, and no farther than the open switch")
	}
}

func TestPickupCommission(t *testing.T) {
	h := example(t, "pickup")
	c := h.Commission(reports(h))
	require.NotNil(t, c.Sleep)
	assert.InDelta(t, 0.015, c.Sleep.Amps, 0.001, "5 controller + 8 radio + 2 regulator: job map, section 6, source")
	assert.InDelta(t, 50, c.Sleep.Days, 1)
	tests := map[string]prove.DropTest{}
	for _, d := range c.Drops {
		tests[strings.TrimSpace(d.Load.Ref+" "+d.Load.Title)] = d
		assert.InDelta(t, d.Load.Drop.Loop, d.Out+d.Back, 0.01, d.Load.Ref)
		assert.LessOrEqual(t, d.OutLimit+d.BackLimit, d.Limit*1.1+1e-9)
		if d.Drain != model.NoPin {
			assert.True(t, h.Graph.Reached(d.Drain), "%s can be probed", h.Netlist.Pin(d.Drain))
		}
		assert.True(t, h.Graph.Reached(d.Feed), "%s can be probed", h.Netlist.Pin(d.Feed))
	}
	// Budgets of the job map 2.11, limit on the loop.
	for name, limit := range map[string]float64{
		"M1 Fuel pump and level sender: Pump": 0.8, "HLL Head lamp left: Low beam": 0.7, "M2 Fan 1": 0.8, "HRN Horn": 1.2,
		"STM1 Starter motor: motor": 0.8, "COIL1 Coil pack: Coils": 0.75, "M6 Heater blower: Blower": 1.0,
	} {
		require.Contains(t, tests, name)
		assert.InDelta(t, limit, tests[name].Limit, 1e-9, name)
	}
	assert.Equal(t, "BAT1:+", h.Netlist.Pin(tests["M1 Fuel pump and level sender: Pump"].Post).String())
	assert.Equal(t, "M1:1", h.Netlist.Pin(tests["M1 Fuel pump and level sender: Pump"].Feed).String())
	assert.Equal(t, model.NoPin, tests["INJ1 Injector 1"].Drain, "its current goes back through the controller")
	assert.Equal(t, "XA:7", h.Netlist.Pin(tests["INJ1 Injector 1"].Through).String())
	require.NotEmpty(t, c.Charges)
	assert.InDelta(t, 13.8, c.Charges[0].Volts, 0.3, "regulated at 13.8 V, less what the lead loses")
	assert.True(t, c.Charges[len(c.Charges)-1].Most)
	var bolts []string
	for _, b := range c.Bolts {
		bolts = append(bolts, b.Ref)
	}
	for _, want := range []string{"BAT1:+", "BAT1:-", "STM1:30", "ALT1:B+", "G1", "G13", "MF2:1"} {
		assert.Contains(t, bolts, want)
	}
}

// What stays while cranking and what is shed: job map, key states and 2.28.
func TestPickupStart(t *testing.T) {
	h := example(t, "pickup")
	s := h.Start(reports(h))
	require.NotNil(t, s)
	require.NotNil(t, s.Crank)
	list := func(parts []*model.Part) string {
		var n []string
		for _, p := range parts {
			n = append(n, p.Name.Text)
		}
		return strings.Join(n, " ")
	}
	assert.Equal(t, "F28 F36 F37 F39 F40", list(s.Crank.Drop))
	for _, f := range strings.Fields("F1 F2 F21 F22 F23 F24 F25 F31 F32 F33 F34 F5 F6 F7 F8 F3") {
		assert.Contains(t, strings.Fields(list(s.Crank.Keep)), f)
	}
	assert.Empty(t, s.Crank.Missing)
	stays := ""
	for _, l := range s.Crank.Stay {
		stays += l.Name + "; "
		assert.Greater(t, l.Volts, 8.0, l.Name)
	}
	for _, want := range []string{"INJ1", "COIL1", "M1", "XA:4"} {
		assert.Contains(t, stays, want)
	}
	require.Len(t, s.KeepOut, 2, "injectors and coils have fuses of their own")
	assert.Equal(t, "F6: INJ1 INJ2 INJ3 INJ4", s.KeepOut[0].Fuse.Name.Text+": "+list(s.KeepOut[0].Feeds))
	assert.Equal(t, "F7: COIL1", s.KeepOut[1].Fuse.Name.Text+": "+list(s.KeepOut[1].Feeds))
	assert.Empty(t, s.Shared)
	require.Len(t, s.Pumps, 1)
	assert.InDelta(t, 7, s.Pumps[0].Amps, 0.1)
	require.Len(t, s.PumpPins, 1)
	assert.Equal(t, "XA:16", s.PumpPins[0].String())
	assert.Equal(t, "S3", list(s.Inertia))
	assert.Equal(t, "S4", list(s.Interlocks))
	assert.InDelta(t, 200, s.Crank.Amps, 5)
}

func TestOnlyWhatApplies(t *testing.T) {
	for _, name := range []string{"boat", "camper", "first"} {
		h := example(t, name)
		assert.Nil(t, h.Start(reports(h)), "%s has nothing that starts an engine", name)
	}
	h := example(t, "motorcycle")
	s := h.Start(reports(h))
	require.NotNil(t, s, "a coil is part of a start")
	assert.Empty(t, s.Pumps)
	assert.Empty(t, s.Controllers)
	assert.Nil(t, s.Crank, "no state cranks: it has a kick starter")
	assert.Nil(t, example(t, "first").Commission(reports(example(t, "first"))).Charges)
}

// Two banks of a 24 V vehicle, and a converter that feeds fuses of its own: they come behind the fuse of the converter.
func TestCamperOrder(t *testing.T) {
	h := example(t, "camper")
	p := h.FirstPower()
	assert.InDelta(t, 25.3, p.Volts, 0.01, "twice 12.65 V")
	place := map[string]int{}
	by := map[string]*model.Part{}
	for i, s := range p.Steps {
		place[s.Fuse.Name.Text] = i
		by[s.Fuse.Name.Text] = s.By
	}
	assert.Less(t, place["F17"], place["F31"])
	require.NotNil(t, by["F31"])
	assert.Equal(t, "U1", by["F31"].Name.Text)
	assert.Nil(t, by["F17"])
	assert.InDelta(t, 13.6, p.Steps[place["F31"]].Readings[0].Volts, 0.05, "what the converter holds")
	require.Len(t, p.Dead, 1)
	assert.Equal(t, "F10", p.Dead[0].Name.Text, "D+ has no volts while the engine stands")
	var others []string
	for _, s := range p.Others {
		others = append(others, s.Name.Text)
	}
	assert.Equal(t, []string{"PV1", "A1"}, others)
}

// The camper has a starter and a house bank, two batteries in series each. With the source on one the other is parted: nothing is live from
// it, the order is that of the banks, and the volts are those of the source.
func TestBanksComeUpOneByOne(t *testing.T) {
	h := example(t, "camper")
	p := h.FirstPower()
	var banks []string
	for _, b := range p.Banks {
		words := h.Netlist.Pin(b.Live).String() + " " + h.Netlist.Pin(b.Grounded).String()
		for _, battery := range b.Batteries {
			words += " " + battery.Name.Text
		}
		banks = append(banks, words)
		assert.InDelta(t, 25.3, b.Volts, 0.01)
	}
	assert.Equal(t, []string{"BAT2:+ BAT1:- BAT1 BAT2", "BAT4:+ BAT3:- BAT3 BAT4"}, banks)
	of, moved := map[string]int{}, 0
	for i, s := range p.Steps {
		of[s.Fuse.Name.Text] = s.Bank
		if s.Joined != nil {
			moved++
			assert.Positive(t, i)
			assert.Equal(t, 1, s.Bank)
		}
	}
	assert.Equal(t, 1, moved, "the source is moved once")
	for _, f := range strings.Fields("F9 F1") {
		assert.Equal(t, 0, of[f], f)
	}
	for _, f := range strings.Fields("F3 F2 F4 F5 F15 F11 F20 F31") {
		assert.Equal(t, 1, of[f], f)
	}
	assert.Len(t, example(t, "pickup").FirstPower().Banks, 1)
}

// One battery behind a fuse beside another: each is a source by itself, and what both reach comes up with the nearer one.
func TestBatteriesBehindFusesAreBanks(t *testing.T) {
	h := written(t, `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
BAT2 = { kind = "battery", capacity = "60 Ah" }
BAT3 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "30 A" }
F2 = { kind = "fuse", rating = "30 A" }
F3 = { kind = "fuse", rating = "5 A" }
STD1 = { kind = "stud" }
E1 = { kind = "lamp", load = "5 W" }
GND1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "8 AWG", length = "0.2 m" }
W2 = { from = "BAT1:+", to = "BAT2:+", size = "8 AWG", length = "0.2 m" }
W3 = { from = "BAT3:+", to = "F2:1", size = "8 AWG", length = "0.2 m" }
W4 = { from = "F1:2", to = "STD1:1", size = "8 AWG", length = "0.2 m" }
W5 = { from = "F2:2", to = "STD1:2", size = "8 AWG", length = "0.2 m" }
W6 = { from = "STD1:3", to = "F3:1", size = "16 AWG", length = "0.2 m" }
W7 = { from = "F3:2", to = "E1:1", size = "18 AWG", length = "2 m" }
W8 = { from = "E1:2", to = "GND1:1", size = "18 AWG", length = "0.2 m" }
W9 = { from = "BAT1:-", to = "GND1:2", size = "8 AWG", length = "0.2 m" }
W10 = { from = "BAT2:-", to = "GND1:3", size = "8 AWG", length = "0.2 m" }
W11 = { from = "BAT3:-", to = "GND1:4", size = "8 AWG", length = "0.2 m" }
`)
	p := h.FirstPower()
	require.Len(t, p.Banks, 2)
	assert.Len(t, p.Banks[0].Batteries, 2, "BAT1 and BAT2 are wired together")
	var order []string
	for _, s := range p.Steps {
		order = append(order, fmt.Sprintf("%s of bank %d", s.Fuse.Name.Text, s.Bank))
	}
	assert.Equal(t, []string{"F1 of bank 0", "F3 of bank 0", "F2 of bank 1"}, order)
	assert.InDelta(t, 0, p.Steps[0].Readings[0].Supply, 0.001)
	assert.InDelta(t, 0.43, p.Steps[1].Readings[0].Supply, 0.02, "5 W")
	assert.InDelta(t, 0.43, p.Steps[2].Readings[0].Supply, 0.02, "the lamp again, from BAT3 by itself")
	require.NotNil(t, p.Steps[2].Joined)
	assert.InDelta(t, 0, p.Steps[2].Joined.Supply, 0.001, "F2 is not in yet")
}

func TestPositiveGround(t *testing.T) {
	h := example(t, "motorcycle")
	p := h.FirstPower()
	require.Len(t, p.Steps, 1)
	assert.Equal(t, "BAT1:+", h.Netlist.Pin(h.GroundPole()).String())
	assert.InDelta(t, 6.3, p.Steps[0].Readings[0].Volts, 0.1)
	assert.True(t, h.Ground(h.GroundPole()))
}
