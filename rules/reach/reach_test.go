package reach_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/reach"
)

// flow reads a netlist and lets supply and ground spread in it as asked.
func flow(t *testing.T, text string, ask reach.Ask) (live, ground func(ref string) bool) {
	t.Helper()
	n, problems := netlist.Parse("test.toml", []byte(text))
	require.Empty(t, problems.AtLeast(diag.Error))
	var f *reach.Flow
	probe := &rules.Rule{Name: "probe-of-reach", Run: func(p *rules.Pass) { f = reach.New(p.Facts).Flow(ask) }}
	if rules.Find(probe.Name) == nil {
		rules.Register(probe)
	} else {
		*rules.Find(probe.Name) = *probe
	}
	rules.CheckWith(graph.New(n), rules.Options{Only: []string{probe.Name}})
	pin := func(ref string) model.PinID {
		id, ok := n.FindPin(ref)
		require.True(t, ok, ref)
		return id
	}
	return func(ref string) bool { return f.Live(pin(ref)) }, func(ref string) bool { return f.Ground(pin(ref)) }
}

const head = `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
G1 = { kind = "ground point", body = "body" }
`

// TestOneSwitchStandsInOnePosition: two rails that a switch joins to one terminal in turn do not meet over it.
func TestOneSwitchStandsInOnePosition(t *testing.T) {
	text := head + `S1 = { kind = "switch", pins = ["15", "30", "49"], positions = { off = ["15-49"], on = ["30-49"] } }
[wire]
W1 = { from = "BAT1:+", to = "S1:30" }
W2 = { from = "BAT1:-", to = "G1:1" }
`
	live, _ := flow(t, text, reach.Ask{Free: reach.Any})
	assert.True(t, live("S1:49"))
	assert.False(t, live("S1:15"), "49 is on 15 or on 30, and never leads one to the other")
	live, _ = flow(t, text, reach.Ask{})
	assert.False(t, live("S1:49"), "at rest it is on 15")
}

// TestDiodesPassOneWay in both polarities: with plus on the body, what is live goes against the arrow.
func TestDiodesPassOneWay(t *testing.T) {
	text := `D1 = { kind = "diode" }
D2 = { kind = "diode" }
[wire]
`
	live, _ := flow(t, head+text+`W1 = { from = "BAT1:+", to = "D1:A" }
W2 = { from = "BAT1:+", to = "D2:K" }
W3 = { from = "BAT1:-", to = "G1:1" }
`, reach.Ask{})
	assert.True(t, live("D1:K"))
	assert.False(t, live("D2:A"))
	live, _ = flow(t, "[harness]\npolarity = \"positive-ground\"\n"+head+text+`W1 = { from = "BAT1:-", to = "D1:A" }
W2 = { from = "BAT1:-", to = "D2:K" }
W3 = { from = "BAT1:+", to = "G1:1" }
`, reach.Ask{})
	assert.False(t, live("D1:K"))
	assert.True(t, live("D2:A"))
}

// TestARelayPullsInBehindARelay whose coil an output grounds; without that output, or with the first relay out, neither does.
func TestARelayPullsInBehindARelay(t *testing.T) {
	text := head + `K1 = { kind = "relay" }
K2 = { kind = "relay" }
A1 = { kind = "module", pins = ["30", "OUT"], pin.30.role = "supply", pin.OUT.role = "sink" }
[wire]
W1 = { from = "BAT1:+", to = "K1:86" }
W2 = { from = "K1:85", to = "A1:OUT" }
W3 = { from = "BAT1:+", to = "K1:30" }
W4 = { from = "K1:87", to = "K2:86" }
W5 = { from = "K2:85", to = "G1:1" }
W6 = { from = "BAT1:+", to = "K2:30" }
W7 = { from = "BAT1:-", to = "G1:2" }
W8 = { from = "BAT1:+", to = "A1:30" }
`
	for name, c := range map[string]struct {
		ask  reach.Ask
		want bool
	}{
		"any output":         {reach.Ask{Outputs: reach.AnyOutput}, true},
		"no output":          {reach.Ask{Outputs: reach.NoOutput}, false},
		"first relay out":    {reach.Ask{Outputs: reach.AnyOutput, Out: func(p *model.Part) bool { return p.Name.Text == "K1" }}, false},
		"nothing said of it": {reach.Ask{}, false},
	} {
		live, ground := flow(t, text, c.ask)
		assert.Equal(t, c.want, live("K2:87"), name)
		assert.Equal(t, c.want, ground("A1:OUT") && live("K1:87"), name)
	}
}
