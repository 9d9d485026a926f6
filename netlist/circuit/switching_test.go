package circuit_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/circuit"
	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

// written makes the circuit of a whole netlist.
func written(t testing.TB, text string) *circuit.Circuit {
	t.Helper()
	n, diags := netlist.Parse("test.toml", []byte(text))
	require.False(t, diags.HasErrors(), "%v", diags)
	return circuit.New(graph.New(n), route.New(n))
}

func reported(t testing.TB, c *circuit.Circuit, state string) *circuit.Report {
	t.Helper()
	r := c.Report(condition(t, c, state), circuit.Options{})
	require.NoError(t, r.Solution.Err)
	require.True(t, r.Solution.Settled)
	requireKirchhoff(t, r.Solution)
	return r
}

// TestContactsAgainstRating: Kirchhoff's current law at the common terminal of a switch: it carries the sum of what its positions
// feed, 12.65 V over 2 ohm and over 4 ohm, and that is what its rating is held against.
func TestContactsAgainstRating(t *testing.T) {
	c := parse(t, `S1 = { kind = "switch", rating = "8 A", pins = ["30", "15", "75"], positions = { off = [], on = ["30-15-75"] }, rest = "off" }
K1 = { stock = "mini-relay-40a" }
R1 = { kind = "resistor", resistance = "2 ohm" }
R2 = { kind = "resistor", resistance = "4 ohm" }`, `BAT:+ S1:30
S1:15 R1:1
S1:75 R2:1
R1:2 BAT:-
R2:2 BAT:-
S1:75 K1:86
K1:85 BAT:-`, "\n[state.on]\nswitches = { S1 = \"on\" }\n")
	r := reported(t, c, "on")
	require.Len(t, r.Contacts, 1, "the relay's contact leads nowhere")
	k := r.Contacts[0]
	assert.Equal(t, "S1:30", c.Netlist.Pin(k.Terminal).String())
	assert.InDelta(t, 12.6/2+12.6/4+12.6/85, k.Amps, 0.1)
	assert.Equal(t, 8.0, k.Rating)
	assert.True(t, k.Over())
	assert.InDelta(t, k.RMS/8, k.Share(), 1e-12)
}

const halfBridge = `
[body.body]
[part]
BAT = { kind = "battery", capacity = "60 Ah", resistance = "1 mohm" }
R1 = { kind = "motor", load = "5 ohm" }
K1 = { stock = "mini-relay-40a-resistor" }
[part.A1]
kind = "module"
pins = ["1", "2", "3", "4", "5"]
[part.A1.pin]
1 = { role = "supply", load = "0.1 A" }
2 = { role = "ground" }
3 = { role = "half-bridge", resistance = "20 mohm", limit = "2 A" }
4 = { role = "half-bridge", resistance = "20 mohm", limit = "5 A" }
5 = { role = "sink", limit = "1 A", clamp-volts = "40 V" }
[wire]
1 = { from = "BAT:+", to = "A1:1", size = "2 AWG", color = "RD", length = "0.1 m" }
2 = { from = "A1:2", to = "BAT:-", size = "2 AWG", color = "BK", length = "0.1 m" }
3 = { from = "A1:3", to = "R1:1", size = "2 AWG", color = "WH", length = "0.1 m" }
4 = { from = "R1:2", to = "A1:4", size = "2 AWG", color = "WH", length = "0.1 m" }
5 = { from = "BAT:+", to = "K1:86", size = "2 AWG", color = "RD", length = "0.1 m" }
6 = { from = "K1:85", to = "A1:5", size = "2 AWG", color = "GY", length = "0.1 m" }
[state.forward]
driven = ["A1:3", "A1:5"]
pulled = ["A1:4"]
[state.back]
driven = ["A1:4"]
pulled = ["A1:3"]
[state.brake]
pulled = ["A1:3", "A1:4"]
[state.off]
`

// TestHalfBridges: two half bridges drive a motor forward and backward by which of them is driven and which pulled; with both pulled it
// is shorted, with none it floats. Each loses its on-resistance, and is held against its limit.
func TestHalfBridges(t *testing.T) {
	c := written(t, halfBridge)
	forward := reported(t, c, "forward")
	amps := through(t, forward.Solution, "R1")
	assert.InDelta(t, 12.65/(5+2*0.020), amps, 0.03)
	assert.InDelta(t, -amps, through(t, reported(t, c, "back").Solution, "R1"), 1e-3, "but for the coil, which is off then")
	assert.InDelta(t, 0, through(t, reported(t, c, "brake").Solution, "R1"), 1e-6)
	assert.InDelta(t, 0, through(t, reported(t, c, "off").Solution, "R1"), 1e-6)

	cond := condition(t, c, "forward")
	for ref, live := range map[string]bool{"A1:3": true, "A1:4": false} {
		pin, _ := c.Netlist.FindPin(ref)
		assert.Equal(t, []bool{live, !live}, []bool{cond.Live(pin), cond.Grounded(pin)}, "%s, as the graph sees it", ref)
	}
	_, diags := netlist.Parse("test.toml", []byte(strings.Replace(halfBridge, `pulled = ["A1:4"]`, `pulled = ["A1:3"]`, 1)))
	assert.True(t, diags.HasErrors(), "driven and pulled at once")

	require.Len(t, forward.Outputs, 3)
	high, low, coil := forward.Outputs[0], forward.Outputs[1], forward.Outputs[2]
	assert.Equal(t, []bool{false, true, true}, []bool{high.Pulls, low.Pulls, coil.Pulls})
	assert.InDelta(t, amps*0.020, high.Volts, 1e-6)
	assert.False(t, high.Estimated)
	assert.True(t, high.Over(), "2.5 A on 2 A")
	assert.False(t, low.Over())
	assert.Equal(t, "R1", low.Coil)
	assert.Empty(t, low.Clamp, "nothing is stated")
	assert.True(t, coil.Estimated)
	assert.Equal(t, "K1", coil.Coil)
	assert.Equal(t, "clamped in the output at 40 V", coil.Clamp)
}

// TestClampOfTheCoil: a resistor across the coil counts where the output states no clamp.
func TestClampOfTheCoil(t *testing.T) {
	for _, test := range []struct{ pin, stock, want string }{
		{`role = "sink"`, "mini-relay-40a-resistor", "resistor across the coil of K1"},
		{`role = "sink", clamp = "none"`, "mini-relay-40a", "nothing catches it"},
		{`role = "sink", clamp = "supply"`, "mini-relay-40a", "clamped to supply in the output"},
		{`role = "sink"`, "mini-relay-40a", ""},
	} {
		text := strings.NewReplacer(`role = "sink", limit = "1 A", clamp-volts = "40 V"`, test.pin, "mini-relay-40a-resistor", test.stock).Replace(halfBridge)
		outputs := reported(t, written(t, text), "forward").Outputs
		assert.Equal(t, test.want, outputs[len(outputs)-1].Clamp)
	}
}

const charged = `
[harness]
volts = 12
insulation = "125 C"
cable = "AWG"
[body.body]
[part]
BAT = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
ALT = { kind = "alternator", output = "OUT", case = "body" }
STM = { kind = "starter", case = "body", load = "12 A", crank = "200 A" }
S1 = { kind = "switch" }
MF = { kind = "fuse", rating = "150 A", family = "bolt-in" }
R1 = { kind = "resistor", resistance = "10 ohm" }
GB = { kind = "ground point", body = "body" }
[wire]
1 = { from = "ALT:B+", to = "BAT:+", size = "6 AWG", color = "RD", length = "2 m" }
2 = { from = "BAT:-", to = "GB:1", size = "GROUND", color = "BK", length = "0.4 m" }
3 = { from = "BAT:+", to = "STM:30", size = "2 AWG", color = "RD", length = "0.6 m" }
4 = { from = "BAT:+", to = "S1:1", size = "10 AWG", color = "RD", length = "0.6 m" }
5 = { from = "S1:2", to = "STM:50", size = "10 AWG", color = "RD", length = "0.6 m" }
6 = { from = "BAT:+", to = "MF:1", size = "2 AWG", color = "RD", length = "0.1 m" }
7 = { from = "MF:2", to = "R1:1", size = "2 AWG", color = "RD", length = "0.1 m" }
8 = { from = "R1:2", to = "GB:2", size = "2 AWG", color = "BK", length = "0.1 m" }
[state.off]
[state.run]
engine = "running"
[state.crank]
engine = "cranking"
switches = { S1 = "on" }
[state.lazy]
engine = "cranking"
[state.bump]
switches = { S1 = "on" }
`

func chargedWith(t testing.TB, output, ground string) *circuit.Circuit {
	return written(t, strings.NewReplacer("OUT", output, "GROUND", ground).Replace(charged))
}

// TestGeneratorLeads: what the B+ lead loses at the full output, by hand: the output times the resistance of 2 m 6 AWG, warm from it,
// and its two rings. Target 0.2 V and limit 0.3 V: common practice.
func TestGeneratorLeads(t *testing.T) {
	for _, test := range []struct {
		output string
		amps   float64
		want   circuit.Verdict
	}{{"40 A", 40, circuit.WithinTarget}, {"70 A", 70, circuit.AboveTarget}, {"90 A", 90, circuit.AboveLimit}} {
		r := reported(t, chargedWith(t, test.output, "2 AWG"), "run")
		require.Len(t, r.Leads, 2)
		lead := r.Leads[0]
		perMetre, _ := conductor.Resistance20(unit.AWG(6), "AWG", conductor.Copper)
		base, _ := conductor.Ampacity(unit.AWG(6), 125)
		warm := conductor.Temperature(40, 125, unit.Ampere(test.amps), conductor.Derate(base, 125, 40))
		assert.InDelta(t, test.amps*(conductor.ResistanceAt(2*perMetre, warm, conductor.Copper)+2*0.0001), lead.Volts, 0.002)
		assert.Equal(t, test.want, lead.Verdict, "%s: %.3f V", test.output, lead.Volts)
		assert.False(t, lead.Return)
		assert.True(t, r.Leads[1].Return)
	}
	assert.Empty(t, reported(t, chargedWith(t, "40 A", "2 AWG"), "off").Leads, "a generator that stands has no output")
}

// TestGroundCable: the ground of the battery bears the largest fuse and is no thinner than the thickest feed (common practice: else it is
// the fuse of the vehicle).
func TestGroundCable(t *testing.T) {
	for ground, want := range map[string]string{"2 AWG": "", "4 AWG": "thinner than feed 3 (2 AWG)", "1/0 AWG": ""} {
		grounds := chargedWith(t, "40 A", ground).GroundCables()
		require.Len(t, grounds, 1)
		assert.Equal(t, want, grounds[0].Thin(), ground)
		assert.Equal(t, "MF", grounds[0].Fuse.Name.Text)
	}
	weak := written(t, strings.NewReplacer("OUT", "40 A", "GROUND", "2 AWG", "150 A", "250 A").Replace(charged)).GroundCables()
	assert.Equal(t, "carries less than fuse MF lets pass (250 A)", weak[0].Thin(), "2 AWG bears 225 A at 30 C")
}

// TestEngine: an engine that runs turns its generator, one that cranks takes the starter's current from a battery that gives way to
// 10 V at its posts (9.5 to 10 V, job practice), unless the file knows its resistance.
func TestEngine(t *testing.T) {
	c := chargedWith(t, "40 A", "2 AWG")
	assert.True(t, reported(t, c, "run").Balance.Charging, "running, with charging left out")
	assert.Negative(t, through(t, reported(t, c, "run").Solution, "ALT"))
	posts := func(c *circuit.Circuit, state string) float64 {
		s := reported(t, c, state).Solution
		return at(t, s, "BAT:+") - at(t, s, "BAT:-")
	}
	stated := posts(c, "crank")
	assert.InDelta(t, 12.65-0.008*213, stated, 0.1, "the file states 8 mohm: 200 A of the motor, 12 A of the solenoid, 1 A of the resistor")
	guessed := written(t, strings.NewReplacer("OUT", "40 A", "GROUND", "2 AWG", `resistance = "8 mohm"`, `resistance = "8 mohm", known-from = "guess"`).Replace(charged))
	assert.InDelta(t, 10, posts(guessed, "crank"), 0.2)
	assert.Greater(t, posts(guessed, "bump"), 10.8, "at rest the guess counts")

	assert.Empty(t, reported(t, c, "crank").Notes)
	assert.Empty(t, reported(t, c, "off").Notes)
	require.Len(t, reported(t, c, "lazy").Notes, 1)
	assert.Contains(t, reported(t, c, "lazy").Notes[0], "starter STM does not turn")
	require.Len(t, reported(t, c, "bump").Notes, 1)
	assert.Contains(t, reported(t, c, "bump").Notes[0], "starter STM turns")
}

// TestChargesByStatement goes through what a state can say of charging and engine.
func TestChargesByStatement(t *testing.T) {
	for text, want := range map[string]bool{"": false, "engine = \"running\"": true, "charging = true": true, "engine = \"running\"\ncharging = false": false, "engine = \"cranking\"": false} {
		n, diags := netlist.Parse("test.toml", []byte("[body.body]\n[state.x]\n"+text+"\n"))
		require.False(t, diags.HasErrors(), "%v", diags)
		assert.Equal(t, want, circuit.Charges(n.States[0]), text)
	}
	assert.False(t, circuit.Charges(nil))
	for _, text := range []string{"engine = \"off\"\ncharging = true", "engine = \"cranking\"\ncharging = true"} {
		_, diags := netlist.Parse("test.toml", []byte("[body.body]\n[state.x]\n"+text+"\n"))
		assert.True(t, diags.HasErrors(), "%s contradicts itself", text)
	}
}

const guessedPath = `
[harness]
volts = 12
[body.body]
ZONE
[place]
a = { HOT }
b = { HOT }
[path]
ab = { between = ["a", "b"], length = "3 m" KNOWN }
[part]
BAT = { kind = "battery", at = "a", capacity = "60 Ah", resistance = "1 mohm" }
F1 = { kind = "fuse", at = "a", rating = "15 A", family = "blade" }
H1 = { kind = "lamp", at = "b", load = "55 W" }
[wire]
1 = { from = "BAT:+", to = "F1:1", size = "14 AWG", color = "RD", length = "0.1 m" }
2 = { from = "F1:2", to = "H1:1", size = "18 AWG", color = "WH" }
3 = { from = "H1:2", to = "BAT:-", size = "18 AWG", color = "BK", length = "3 m" }
`

// TestMarks: a wire that takes its length from a guessed path is guessed, one with a length of its own is not; an ambient that no zone
// states is assumed, and so is every contact, counted by kind.
func TestMarks(t *testing.T) {
	bare := strings.NewReplacer("ZONE", "", "HOT", "", "KNOWN", `, known-from = "guess"`).Replace(guessedPath)
	c := written(t, bare)
	r := c.Report(c.Graph.Conditions()[0], circuit.Options{})
	guessed := map[string]bool{}
	for _, w := range r.Wires {
		guessed[w.Wire.Name.Text] = w.Guessed
		assert.False(t, w.AmbientKnown)
		assert.InDelta(t, w.Amps*2*0.004, w.Estimated, w.Amps*0.006, "two ends of 4 or 2.5 mohm")
	}
	assert.Equal(t, map[string]bool{"1": false, "2": true, "3": false}, guessed)
	require.Len(t, r.Loads, 1)
	assert.True(t, r.Loads[0].Drop.Guessed)
	assert.True(t, r.Loads[0].Drop.LoopMarked())
	assert.False(t, r.Fuses[0].AmbientKnown)
	count := map[string]int{}
	for _, e := range c.Estimates {
		count[e.What] = e.Count
	}
	assert.Equal(t, 3, count["ambient of wires whose places and paths have no zone with a temperature"])
	assert.Equal(t, 1, count["ambient of fuses whose place has no zone with a temperature"])
	assert.Equal(t, 3, count["wire end in a small terminal"], "both ends at the lamp, and wire 2 at the fuse")

	known := strings.NewReplacer("ZONE", "[zone.z]\nambient = \"40 C\"", "HOT", `zone = "z"`, "KNOWN", `, known-from = "measured"`).Replace(guessedPath)
	c = written(t, known)
	r = c.Report(c.Graph.Conditions()[0], circuit.Options{})
	for _, w := range r.Wires {
		assert.False(t, w.Guessed)
		assert.True(t, w.AmbientKnown)
	}
	assert.True(t, r.Fuses[0].AmbientKnown)
	assert.False(t, r.Loads[0].Drop.Guessed)
	d := r.Loads[0].Drop
	assert.Equal(t, d.Estimated > 0.1*d.Loop, d.LoopMarked(), "estimated contacts take %.3f of %.3f V", d.Estimated, d.Loop)
}

// TestMetals: aluminium has 34.8 m/(ohm mm2) and copper 58 (handbook and IACS), so its wire 1.667 times the resistance at 20 C, and 0.78
// of the ampacity (ratio of NEC table 310.16); copper-clad aluminium 1/0.629 of it (ASTM B566).
func TestMetals(t *testing.T) {
	branch := func(metal string) *circuit.Branch {
		c := written(t, strings.Replace(strings.NewReplacer("ZONE", "", "HOT", "", "KNOWN", "").Replace(guessedPath), `length = "3 m" }`, `length = "3 m", metal = "`+metal+`" }`, 1))
		for i := range c.Branches {
			if w := c.Branches[i].Wire; w != nil && w.Name.Text == "3" {
				return &c.Branches[i]
			}
		}
		require.Fail(t, "no wire")
		return nil
	}
	copper := branch("copper")
	for metal, ratio := range map[string]float64{"aluminium": 58 / 34.8, "copper-clad aluminium": 1 / 0.629} {
		assert.InEpsilon(t, ratio, branch(metal).Ohms/copper.Ohms, 1e-3, metal)
	}
	hot, _ := branch("aluminium").ClosedOhms(60)
	cold, _ := branch("aluminium").ClosedOhms(20)
	assert.InEpsilon(t, 1+0.00403*40, (hot-float64(branch("aluminium").EndOhms()))/(cold-float64(branch("aluminium").EndOhms())), 1e-6)
	assert.False(t, math.IsNaN(hot))
}

// TestCircumstances: a lamp of 100 W at 12 V takes 8.3 A and more; its switch is off in the only state, and a fuse of 5 A in front of it
// only passes its limit in the circumstance that the switch is on.
func TestCircumstances(t *testing.T) {
	c := parse(t, `F1 = { kind = "fuse", rating = "5 A", family = "blade" }
S1 = { kind = "switch", title = "Lamp", rating = "30 A" }
E1 = { kind = "lamp", load = "100 W" }`, `BAT:+ F1:1
F1:2 S1:1
S1:2 E1:1
E1:2 BAT:-`, "\n[state.dark]\nswitches = { S1 = \"off\" }\n")
	conditions := c.Graph.Conditions()
	declared := []*circuit.Report{c.Report(conditions[0], circuit.Options{})}
	d := c.Circumstances(conditions, declared)
	assert.Equal(t, 1, d.Count)
	assert.Empty(t, d.Restless)
	require.NotEmpty(t, d.Excesses)
	worst := d.Excesses[0]
	assert.Equal(t, "fuse", worst.What)
	assert.Equal(t, "F1", worst.Ref)
	assert.Equal(t, "dark", worst.State)
	assert.Equal(t, "S1 in position pressed", worst.Circumstance)
	assert.True(t, worst.Over())
	assert.InEpsilon(t, 100.0/12, worst.Amps, 0.05)
	assert.Zero(t, worst.Declared)
	again := c.Circumstances(conditions, declared)
	assert.Equal(t, d, again, "the same twice")
	lit := []*circuit.Report{c.Report(conditions[0], circuit.Options{Positions: c.Derived(conditions[0], circuit.Options{})[0].Options.Positions})}
	assert.Empty(t, c.Circumstances(conditions, lit).Excesses, "nothing is nearer than what a state shows")
}

// TestHeavyContacts: a battery isolator for 300 A has far less resistance than a hand switch: 50 mV at its rating are 0.17 mohm; half a
// milliohm and less is common practice. At 100 A a hand switch of 10 mohm would lose 1 V.
func TestHeavyContacts(t *testing.T) {
	for rating, want := range map[string]float64{"300 A": 0.05 / 300, "60 A": 0.05 / 60, "30 A": 0.010} {
		c := parse(t, `S1 = { kind = "switch", rating = "`+rating+`" }
R1 = { kind = "resistor", resistance = "1 ohm" }`, `BAT:+ S1:1
S1:2 R1:1
R1:2 BAT:-`, "\n[state.on]\nswitches = { S1 = \"on\" }\n")
		s := reported(t, c, "on").Solution
		assert.InDelta(t, want*through(t, s, "R1"), at(t, s, "S1:1")-at(t, s, "S1:2"), 1e-6, rating)
	}
}
