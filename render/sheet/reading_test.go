package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
)

// The states were picked by reading the example files.
func TestMeterStates(t *testing.T) {
	for example, want := range map[string][]string{
		"pickup":     {"Key on run", "Running running"},
		"boat":       {"Engine off day-sail", "Running day-motor"},
		"motorcycle": {"Key on starting", "Running day"},
		"camper":     {"Engine off step-in", "Running driving"},
		"first":      {"On on"},
	} {
		v := exampleSet(t, example).Solved()
		var got []string
		for _, st := range v.meterStates() {
			got = append(got, st.head+" "+v.Conditions[st.condition].Name())
		}
		assert.Equal(t, want, got, example)
	}
	n, _ := netlist.Parse("harness.toml", []byte("[harness]\ntitle = \"Empty\"\n"))
	assert.Empty(t, setOf(n).Solved().meterStates())
}

func TestExpectations(t *testing.T) {
	inf := math.Inf(1)
	for text, want := range map[string][]expectation{
		"12 V always":                  {{least: 12, most: 12, text: "12", where: " always"}},
		"below 100 mV to pin 1":        {{least: -inf, most: 0.1, text: "<0.1", where: " to pin 1"}},
		"4.9 to 5.1 V, key on":         {{least: 4.9, most: 5.1, text: "4.9-5.1", where: ", key on"}},
		"above 9 V while cranking":     {{least: 9, most: inf, text: ">9", where: " while cranking"}},
		"6 V mean running":             {{least: 6, most: 6, text: "6", where: " mean running", mean: true}},
		"12 V in RUN, 0 V in OFF":      {{least: 12, most: 12, text: "12", where: " in run"}, {least: 0, most: 0, text: "0", where: " in off"}},
		"12 V off; below 1 V in RUN":   {{least: 12, most: 12, text: "12", where: " off"}, {least: -inf, most: 1, text: "<1", where: " in run"}},
		"below 1 V on, then 12 V":      {{least: -inf, most: 1, text: "<1", where: " on"}, {least: 12, most: 12, text: "12", where: "then"}},
		"pulses; 3 ohm; -;;":           nil,
		"12 Volts":                     nil,
		"":                             nil,
		"12 V with key on, engine off": {{least: 12, most: 12, text: "12", where: " with key on, engine off"}},
	} {
		assert.Equal(t, want, expectations(text), text)
	}
}

func FuzzExpectations(f *testing.F) {
	for _, seed := range []string{"12 V always", "below 1 V, then 12 V;;", ",,1 V,1 V,", "9999999999999999999999999 V", "Ü 1 V\xff"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, e := range expectations(text) {
			require.NotEmpty(t, e.text)
			require.False(t, math.IsNaN(e.least) || math.IsNaN(e.most))
		}
	})
}

// What is written wins; what is computed stands below it where the two are more than a tenth apart.
func TestWrittenReadings(t *testing.T) {
	const text = `[harness]
title = "A lamp and a controller"
volts = 12
polarity = "negative-ground"
[part]
BAT1 = { kind = "battery", title = "Battery", capacity = "60 Ah", resistance = "10 mohm" }
S1 = { kind = "switch", title = "Switch", rating = "10 A", function = "key" }
A1 = { kind = "module", title = "Controller" }
[connector.XA]
of = "A1"
title = "Plug"
cavities = 5
[connector.XA.pin]
1 = { does = "Supply", role = "supply", load = "1 A", expect = "12 V always" }
2 = { does = "Ground", role = "ground" }
3 = { does = "Battery", role = "supply", load = "5 mA", expect = "10 V with key on, engine off" }
4 = { does = "Sense", role = "input", expect = "3 V mean in ON" }
5 = { does = "Something", role = "supply", load = "5 mA", expect = "12 V cold" }
[wire]
1 = { from = "BAT1:+", to = "S1:1", size = "16 AWG", color = "RD", length = "1 m" }
2 = { from = "S1:2", to = "XA:1", size = "16 AWG", color = "WH", length = "1 m" }
3 = { from = "XA:2", to = "BAT1:-", size = "16 AWG", color = "BK", length = "1 m" }
4 = { from = "BAT1:+", to = "XA:3", size = "16 AWG", color = "RD", length = "1 m" }
5 = { from = "S1:2", to = "XA:4", size = "16 AWG", color = "WH", length = "1 m" }
6 = { from = "BAT1:+", to = "XA:5", size = "16 AWG", color = "RD", length = "1 m" }
[state.off]
switches = { S1 = "off" }
[state.on]
switches = { S1 = "on" }
`
	s := textSet(t, text)
	n := s.Netlist
	states := s.Solved().meterStates()
	require.Len(t, states, 1)
	for ref, want := range map[string][]string{
		"XA:1": {"12"},
		"XA:2": {"0.0"},
		"XA:3": {"10", "12.6"}, // 12.65 V at rest, less 1 A through 10 mohm
		"XA:4": {"3 mean"},
		"XA:5": {"12.6"}, // no sheet knows how warm it is, so what is computed stands
	} {
		id, ok := n.FindPin(ref)
		require.True(t, ok)
		var got []string
		for _, p := range s.voltsCell(states[0], n.Pin(id)) {
			got = append(got, p.text)
		}
		assert.Equal(t, want, got, ref)
	}
}

// The readings that pulse while the engine runs are no volts; with the key on the same terminals are at the supply.
func TestPulses(t *testing.T) {
	s := exampleSet(t, "pickup")
	v := s.Solved()
	states := v.meterStates()
	require.Len(t, states, 2)
	id, ok := s.Netlist.FindPin("INJ1:2")
	require.True(t, ok)
	assert.Equal(t, "pulses", v.readingAt(states[1], id).String())
	resting := v.readingAt(states[0], id)
	assert.Empty(t, resting.words)
	assert.InDelta(t, 12.3, resting.volts, 0.4)
}

func TestNetNames(t *testing.T) {
	for _, test := range []struct{ example, terminal, want string }{
		{"boat", "E1:2", "ground (GB1)"},
		{"camper", "A1:31", "ground (XN1)"},
		{"camper", "X31:2", "ground (XN3)"},
		{"pickup", "K5:85", "ground (G10)"},
		{"pickup", "F9:2", "unnamed (F9:2)"},
		{"pickup", "F28:1", "15X (C-15X)"},
		{"pickup", "XA:7", "INJ1"},
		{"motorcycle", "BAT1:+", "ground (GND1)"}, // its plus is grounded
	} {
		s := exampleSet(t, test.example)
		id, ok := s.Netlist.FindPin(test.terminal)
		require.True(t, ok, test.terminal)
		assert.Equal(t, test.want, s.NetName(s.Graph.NetOf(id)), test.example+" "+test.terminal)
	}
}

func TestFunctions(t *testing.T) {
	for _, test := range []struct{ example, terminal, want string }{
		{"pickup", "XA:7", "Injector 1"},
		{"pickup", "F9:1", "supply side"},
		{"pickup", "F9:2", "load side"},
		{"pickup", "K2:30", "to 87: pulled in"},
		{"pickup", "K2:85", "coil"},
		{"pickup", "X1B:3", "Turn and horn switch"}, // what is behind the other half
		{"pickup", "INJ1:2", "switched side"},
		{"motorcycle", "S3:1", "to 2: pressed"},
		{"boat", "HRN:2", "ground side"},
		{"boat", "S4:ROUND", "to IN: motor, anchor"},
		{"boat", "BAT1:-", "minus"},
	} {
		s := exampleSet(t, test.example)
		id, ok := s.Netlist.FindPin(test.terminal)
		require.True(t, ok, test.terminal)
		assert.Equal(t, test.want, s.Function(id), test.example+" "+test.terminal)
	}
}

// Every fuse and switch of the examples says something of its terminals, and no cavity repeats the name of its net while
// its wires lead to something with a title.
func TestFunctionsAreNotBlank(t *testing.T) {
	for _, example := range []string{"pickup", "boat", "camper", "motorcycle", "first"} {
		s := exampleSet(t, example)
		for i := range s.Netlist.Pins {
			pin := &s.Netlist.Pins[i]
			function := s.Function(pin.ID)
			if p := pin.Owner.Part; p != nil && (len(p.Inside.Protects) > 0 || p.Kind.Symbol == "switch") && s.Graph.Reached(pin.ID) {
				assert.NotEmpty(t, function, "%s %s", example, pin)
			}
			if pin.Owner.Connector != nil && !pin.Does.IsSet() && s.farTitles(pin.ID) != "" {
				assert.NotEqual(t, s.Graph.NetOf(pin.ID).Name, function, "%s %s", example, pin)
			}
		}
	}
}
