package graph_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

func build(t *testing.T, text string) *graph.Graph {
	t.Helper()
	n, problems := netlist.Parse("x.toml", []byte(text))
	require.Empty(t, problems)
	return graph.New(n)
}

func pin(t *testing.T, g *graph.Graph, ref string) model.PinID {
	t.Helper()
	id, ok := g.Netlist.FindPin(ref)
	require.True(t, ok, ref)
	return id
}

// netOf returns the name and the terminals of the net of a terminal.
func netOf(t *testing.T, g *graph.Graph, ref string) (string, string) {
	t.Helper()
	net := g.NetOf(pin(t, g, ref))
	names := make([]string, len(net.Pins))
	for i, id := range net.Pins {
		names[i] = g.Netlist.Pin(id).String()
	}
	return net.Name, strings.Join(names, " ")
}

const lampCircuit = `
[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "15 A" }
F2 = { kind = "fuse", rating = "15 A", pin.2.net = "SPARE-FEED" }
S1 = { kind = "switch" }
E1 = { kind = "lamp", load = "5 W" }
G1 = { kind = "ground point", body = "body" }
[connector.X1]
mates = "X2"
cavities = 2
[connector.X2]
mates = "X1"
[splice]
SP1 = {}
[link]
BAR = { joins = ["BAT1:+", "F1:1", "F2:1"], rail = "30" }
[wire]
W1 = { from = "F1:2", to = "X1:1", net = "FEED" }
W2 = { from = "X2:1", to = "SP1:1" }
W3 = { from = "SP1:2", to = "S1:1" }
W4 = { from = "S1:2", to = "E1:1" }
W5 = { from = "E1:2", to = "G1:1" }
W6 = { from = "BAT1:-", to = "G1:2" }
`

// TestNets: conductors outside parts make a net; fuses, switches and loads part nets. Its name is the one that the file
// states, on a wire before a terminal, else that of a rail or a ground point, else that of its first terminal.
func TestNets(t *testing.T) {
	g := build(t, lampCircuit)
	for _, c := range []struct{ at, name, pins string }{
		{"S1:1", "FEED", "F1:2 S1:1 X1:1 X2:1 SP1:1 SP1:2"},
		{"BAT1:+", "30 (BAR)", "BAT1:+ F1:1 F2:1"},
		{"F2:2", "SPARE-FEED", "F2:2"},
		{"E1:1", "S1:2", "S1:2 E1:1"},
		{"E1:2", "G1", "BAT1:- E1:2 G1:1 G1:2"},
		{"X1:2", "X1:2", "X1:2 X2:2"},
	} {
		name, pins := netOf(t, g, c.at)
		assert.Equal(t, c.name, name, c.at)
		assert.Equal(t, c.pins, pins, c.at)
	}
	assert.True(t, g.NetOf(pin(t, g, "SP1:2")).Stated)
	assert.False(t, g.NetOf(pin(t, g, "E1:1")).Stated)
}

func TestEveryTerminalIsOnOneNet(t *testing.T) {
	n, _, err := netlist.Load(os.DirFS("../../examples/pickup"), "pickup.toml")
	require.NoError(t, err)
	g := graph.New(n)
	seen := map[model.PinID]bool{}
	for i, net := range g.Nets {
		assert.Equal(t, graph.NetID(i), net.ID)
		for _, id := range net.Pins {
			assert.False(t, seen[id])
			seen[id] = true
			assert.Equal(t, net.ID, g.NetOf(id).ID)
		}
	}
	assert.Len(t, seen, len(n.Pins))
	for id := range n.Pins { // every edge is found from both its ends, and from no other
		for _, e := range g.At(model.PinID(id)) {
			assert.Contains(t, []model.PinID{g.Edge(e).A, g.Edge(e).B}, model.PinID(id))
		}
	}
}

func describe(g *graph.Graph, path []graph.Hop) []string {
	var out []string
	for _, h := range path {
		out = append(out, g.Describe(h)+" @"+g.Span(h).Text())
	}
	return out
}

func TestPathIsToldHopByHop(t *testing.T) {
	g := build(t, lampCircuit)
	conducting := func(e *graph.Edge) bool { return e.Kind.Conducts() || e.Kind == graph.Open || e.Kind == graph.Load }
	path := g.Path(pin(t, g, "BAT1:+"), g.Netlist.Bodies[0].Pin, conducting)
	assert.Equal(t, []string{
		"link BAR joins BAT1:+ and F1:1 @BAR", "through fuse F1 @F1", "wire W1 from F1:2 to X1:1 @W1", "X1:1 meets X2:1 @X1", "wire W2 from X2:1 to SP1:1 @W2",
		"SP1 joins its wires @SP1", "wire W3 from SP1:2 to S1:1 @W3", "contact of S1 from S1:1 to S1:2 @S1", "wire W4 from S1:2 to E1:1 @W4",
		"through E1 from E1:1 to E1:2 @E1", "wire W5 from E1:2 to G1:1 @W5", "G1 is bolted to the body @G1",
	}, describe(g, path))

	assert.Nil(t, g.Path(pin(t, g, "BAT1:+"), pin(t, g, "E1:1"), func(e *graph.Edge) bool { return e.Kind.Conducts() }), "the switch is open")
	assert.Equal(t, []graph.Hop{}, g.Path(pin(t, g, "E1:1"), pin(t, g, "E1:1"), conducting), "to itself: nothing to go over")
	nearest := g.PathFrom([]model.PinID{pin(t, g, "BAT1:+"), pin(t, g, "S1:2")}, func(id model.PinID) bool { return id == pin(t, g, "E1:2") }, conducting)
	assert.Equal(t, pin(t, g, "S1:2"), nearest[0].From, "the nearer of two beginnings")
}

// relays is a circuit in which a relay's contact feeds the coil of the next, so that states settle in steps.
const relays = `
[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", pins = ["30", "15", "50"], positions = { off = [], run = ["30-15"], start = ["30-15-50"] }, rest = "off" }
B1 = { kind = "momentary switch" }
K1 = { kind = "relay" }
K2 = { kind = "changeover relay" }
E1 = { kind = "lamp", load = "5 W" }
D1 = { kind = "diode" }
E2 = { kind = "lamp", load = "5 W" }
A1 = { kind = "module", pins = ["SINK", "DRIVE"], pin.SINK.role = "sink", pin.DRIVE.role = "driver" }
K3 = { kind = "relay" }
E3 = { kind = "lamp", load = "5 W" }
G1 = { kind = "ground point", body = "body" }
[link]
L30 = { joins = ["BAT1:+", "S1:30", "K1:30", "K2:30", "K3:86", "B1:1"] }
L15 = { joins = ["S1:15", "K1:86"] }
L31 = { joins = ["BAT1:-", "K1:85", "K2:85", "E1:2", "E2:2", "E3:2", "G1:1"] }
K1OUT = { joins = ["K1:87", "K2:86"] }
K2OUT = { joins = ["K2:87", "E1:1", "D1:A"] }
DOUT = { joins = ["D1:K", "E2:1"] }
SINK = { joins = ["A1:SINK", "K3:85"] }
DRIVE = { joins = ["A1:DRIVE", "E3:1"] }
B1OUT = { joins = ["B1:2", "K3:87"] }
[state.off]
[state.run]
switches = { S1 = "run" }
[state.driven]
switches = { B1 = "pressed" }
driven = ["A1:SINK", "A1:DRIVE"]
`

func TestStates(t *testing.T) {
	g := build(t, relays)
	conditions := g.Conditions()
	require.Len(t, conditions, 3)
	off, run, driven := conditions[0], conditions[1], conditions[2]
	for _, c := range []struct {
		at               string
		off, run, driven bool // live
	}{
		{"BAT1:+", true, true, true}, {"S1:15", false, true, false}, {"S1:50", false, false, false},
		{"K1:87", false, true, false},                               // K1 pulls in
		{"E1:1", false, true, false},                                // K2 pulls in after K1
		{"K2:87a", true, false, true},                               // and leaves its contact at rest
		{"E2:1", false, true, false},                                // through the diode, forward
		{"E3:1", false, false, true}, {"K3:87", false, false, true}, // the output drives the lamp; the button is pressed
		{"G1:1", false, false, false}, {"A1:SINK", false, false, false}, // ground is not live
	} {
		assert.Equal(t, c.off, off.Live(pin(t, g, c.at)), "%s off", c.at)
		assert.Equal(t, c.run, run.Live(pin(t, g, c.at)), "%s run", c.at)
		assert.Equal(t, c.driven, driven.Live(pin(t, g, c.at)), "%s driven", c.at)
	}
	assert.True(t, driven.Grounded(pin(t, g, "K3:85")), "the output joins the coil to ground")
	assert.False(t, off.Grounded(pin(t, g, "K3:85")))
	assert.Equal(t, "run", run.Name())
	for _, c := range conditions {
		assert.Empty(t, c.Chatters)
		for _, ref := range []string{"BAT1:+", "BAT1:-", "E1:1", "E2:1"} {
			assert.False(t, c.Shorted(pin(t, g, ref)), "%s in %s", ref, c.Name())
		}
	}
	s1 := g.Netlist.Owner("S1").Part
	assert.Equal(t, 1, run.PositionOf(s1))
	assert.Equal(t, 0, off.PositionOf(s1))
}

func TestADiodeDoesNotPassBackwards(t *testing.T) {
	g := build(t, `
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
D1 = { kind = "diode" }
D2 = { kind = "diode" }
[link]
L1 = { joins = ["BAT1:+", "D1:K", "D2:A"] }
`)
	c := g.Conditions()[0]
	assert.False(t, c.Live(pin(t, g, "D1:A")))
	assert.True(t, c.Live(pin(t, g, "D2:K")))
	all := func(*graph.Edge) bool { return true }
	assert.Nil(t, g.Path(pin(t, g, "D1:K"), pin(t, g, "D1:A"), all))
	assert.NotNil(t, g.Path(pin(t, g, "D2:A"), pin(t, g, "D2:K"), all))
}

// TestARelayThatWorksAgainstItself: its coil is fed through its own contact at rest, as in a buzzer.
func TestARelayThatWorksAgainstItself(t *testing.T) {
	g := build(t, `
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
K1 = { kind = "changeover relay" }
[link]
L1 = { joins = ["BAT1:+", "K1:30"] }
L2 = { joins = ["K1:87a", "K1:86"] }
L3 = { joins = ["BAT1:-", "K1:85"] }
`)
	c := g.Conditions()[0]
	require.Len(t, c.Chatters, 1)
	assert.Equal(t, "K1", c.Chatters[0].Name.Text)
}

func TestShortsByOneToggle(t *testing.T) {
	g := build(t, `
[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", pins = ["30", "15", "31"], positions = { off = [], run = ["30-15"], wrong = ["30-31"] } }
S2 = { kind = "switch" }
K1 = { kind = "relay" }
K2 = { kind = "changeover relay" }
G1 = { kind = "ground point", body = "body" }
[link]
PLUS = { joins = ["BAT1:+", "S1:30", "K1:30", "K2:87a"] }
MINUS = { joins = ["BAT1:-", "S1:31", "S2:2", "K1:87", "K2:87", "G1:1"] }
BETWEEN = { joins = ["S1:15", "S2:1"] }
[state.run]
switches = { S1 = "run" }
[state.off]
`)
	toggles := func(c *graph.Condition) []string {
		var out []string
		c.EachShort(func(to graph.Toggle, on model.PinID) {
			name := to.Part.Name.Text
			if to.Position >= 0 {
				name += "=" + to.Part.Inside.Positions[to.Position].Name.Text
			}
			assert.GreaterOrEqual(t, on, model.PinID(0))
			assert.False(t, c.Shorted(pin(t, g, "BAT1:+")), "it is no short without the toggle")
			out = append(out, name)
		})
		return out
	}
	conditions := g.Conditions()
	assert.Equal(t, []string{"S1=wrong", "S2", "K1"}, toggles(conditions[0]), "in run, S2 finishes what S1 began")
	assert.Equal(t, []string{"S1=wrong", "K1"}, toggles(conditions[1]))
}

// TestTogglesAgreeWithTryingEach compares the divided search with the plain one: a harness built anew for every toggle.
func TestTogglesAgreeWithTryingEach(t *testing.T) {
	const text = `
[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", pins = ["A", "B", "C"], positions = { one = ["A-B"], two = ["A-C"], three = ["B-C"], none = [] } }
S2 = { kind = "switch", pins = ["A", "B", "C"], positions = { one = ["A-B"], two = ["A-C"], three = ["B-C"], none = [] } }
S3 = { kind = "switch", pins = ["A", "B", "C"], positions = { one = ["A-B"], two = ["A-C"], three = ["B-C"], none = [] } }
G1 = { kind = "ground point", body = "body" }
[link]
L1 = { joins = ["BAT1:+", "S1:A", "S2:A"] }
L2 = { joins = ["S1:B", "S2:C", "S3:A"] }
L3 = { joins = ["S2:B", "S3:B"] }
L4 = { joins = ["BAT1:-", "S3:C", "G1:1"] }
`
	names := []string{"one", "two", "three", "none"}
	shorted := func(at [3]int) bool {
		g := build(t, text+"[state.x]\nswitches = { S1 = \""+names[at[0]]+"\", S2 = \""+names[at[1]]+"\", S3 = \""+names[at[2]]+"\" }\n")
		return g.Conditions()[0].Shorted(pin(t, g, "BAT1:+"))
	}
	for i := range 64 {
		at := [3]int{i % 4, i / 4 % 4, i / 16}
		if shorted(at) {
			continue
		}
		want := map[string]bool{}
		for s := range 3 {
			for p := range 4 {
				other := at
				if other[s] = p; p != at[s] && shorted(other) {
					want["S"+string(rune('1'+s))+names[p]] = true
				}
			}
		}
		g := build(t, text+"[state.x]\nswitches = { S1 = \""+names[at[0]]+"\", S2 = \""+names[at[1]]+"\", S3 = \""+names[at[2]]+"\" }\n")
		got := map[string]bool{}
		g.Conditions()[0].EachShort(func(to graph.Toggle, _ model.PinID) {
			got[to.Part.Name.Text+names[to.Position]] = true
		})
		assert.Equal(t, want, got, "from %v", at)
	}
}

// TestBatteriesInSeries: between two batteries of a 24 V vehicle lies neither supply nor ground.
func TestBatteriesInSeries(t *testing.T) {
	text := `
[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
BAT2 = { kind = "battery", capacity = "60 Ah" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:-", to = "BAT2:+" }
W2 = { from = "BAT2:-", to = "G1:1" }
`
	g := build(t, text)
	c := g.Conditions()[0]
	for ref, want := range map[string][2]bool{"BAT1:+": {true, false}, "BAT1:-": {false, false}, "BAT2:+": {false, false}, "BAT2:-": {false, true}} {
		assert.Equal(t, want[0], c.Live(pin(t, g, ref)), ref)
		assert.Equal(t, want[1], c.Grounded(pin(t, g, ref)), ref)
	}
	g = build(t, text+"W3 = { from = \"BAT2:+\", to = \"G1:2\" }\n")
	assert.True(t, g.Conditions()[0].Shorted(pin(t, g, "BAT2:+")), "joined to the body the middle is a short")
	g = build(t, text+"W3 = { from = \"BAT2:+\", to = \"BAT1:+\" }\n")
	assert.True(t, g.Conditions()[0].Shorted(pin(t, g, "BAT1:+")), "a battery that is joined to itself is a short")
}

func TestPositiveGround(t *testing.T) {
	g := build(t, `
[harness]
polarity = "positive-ground"
[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
A1 = { kind = "module", pins = ["S", "D"], pin.S.role = "sink", pin.D.role = "driver" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "G1:1" }
[state.on]
driven = ["A1:S", "A1:D"]
`)
	c := g.Conditions()[0]
	assert.True(t, c.Live(pin(t, g, "BAT1:-")))
	assert.True(t, c.Grounded(pin(t, g, "G1:1")))
	assert.True(t, c.Grounded(pin(t, g, "A1:S")))
	assert.True(t, c.Live(pin(t, g, "A1:D")))
	assert.False(t, c.Shorted(pin(t, g, "A1:D")))
}

func TestSetsCanBeTakenBack(t *testing.T) {
	s := graph.NewSets(6)
	s.Flag(0, 1)
	s.Flag(5, 2)
	s.Join(0, 1)
	mark := s.Mark()
	s.Join(1, 2)
	s.Join(4, 5)
	s.Join(2, 4)
	assert.Equal(t, s.Find(0), s.Find(5))
	assert.Equal(t, uint8(3), s.Flags(4))
	s.Undo(mark)
	assert.Equal(t, s.Find(0), s.Find(1))
	assert.NotEqual(t, s.Find(0), s.Find(2))
	assert.NotEqual(t, s.Find(4), s.Find(5))
	assert.Equal(t, uint8(1), s.Flags(1))
	assert.Equal(t, uint8(0), s.Flags(4))
}
