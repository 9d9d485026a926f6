package study

import (
	"io/fs"
	"math"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
)

const examplesFolder = "../../../examples"

func studyOf(n *model.Netlist) *Study { return New(graph.New(n), route.New(n)) }

func parse(t testing.TB, text string) *Study {
	t.Helper()
	n, diags := netlist.Parse("test.toml", []byte(text))
	require.Empty(t, diags.AtLeast(diag.Error), "the netlist of the test is broken: %v", diags)
	return studyOf(n)
}

func pickup(t testing.TB, replace ...string) *Study { return exampleOf(t, "pickup", replace...) }

// exampleOf reads an example with lines of its files replaced: old and new in pairs. An old text that does not occur fails.
func exampleOf(t testing.TB, name string, replace ...string) *Study {
	t.Helper()
	folder := os.DirFS(examplesFolder + "/" + name)
	files := fstest.MapFS{}
	replaced := map[string]bool{}
	entries, err := fs.ReadDir(folder, ".")
	require.NoError(t, err)
	for _, e := range entries {
		text, err := fs.ReadFile(folder, e.Name())
		require.NoError(t, err)
		changed := string(text)
		for i := 0; i+1 < len(replace); i += 2 {
			if strings.Contains(changed, replace[i]) {
				replaced[replace[i]] = true
				changed = strings.ReplaceAll(changed, replace[i], replace[i+1])
			}
		}
		files[e.Name()] = &fstest.MapFile{Data: []byte(changed)}
	}
	for i := 0; i < len(replace); i += 2 {
		require.True(t, replaced[replace[i]], "%q does not occur in the example", replace[i])
	}
	n, diags, err := netlist.Load(files, name+".toml")
	require.NoError(t, err)
	require.Empty(t, diags.AtLeast(diag.Error))
	return studyOf(n)
}

func findSneak(r *Sneaks, text string) *Sneak {
	for i := range r.Found {
		if strings.HasPrefix(r.Found[i].Text, text) {
			return &r.Found[i]
		}
	}
	return nil
}

func effectOn(k *Sneak, what string) *Effect {
	if k == nil {
		return nil
	}
	for i := range k.Effects {
		if strings.HasPrefix(k.Effects[i].What, what) {
			return &k.Effects[i]
		}
	}
	return nil
}

const head = `
[harness]
title = "Test"
volts = 12
insulation = "105 C"
cable = "SAE"
[body.body]
title = "Body"
`

// runOn is a car whose ignition relay is fed through the key, with the warning lamp of the alternator between the key and L.
const runOn = head + `
[part]
G1 = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
S1 = { kind = "switch", positions = { off = [], on = ["1-2"] }, rest = "off" }
K1 = { stock = "mini-relay-40a-resistor" }
H1 = { kind = "lamp", load = "2 W" }
H2 = { kind = "lamp", load = "21 W", title = "Ignition stand-in" }
X1 = { kind = "ground point", body = "body" }
D1 = { kind = "diode" }
[part.G2]
kind = "alternator"
case = "body"
output = "60 A"
sources = [{ between = "B+-case" }, { between = "L-case", limit = "1 A" }]
[wire]
1 = { from = "G1:+", to = "F1:1", size = "10 AWG", color = "RD", length = "0.5 m" }
2 = { from = "F1:2", to = "S1:1", size = "16 AWG", color = "RD", length = "1 m" }
3 = { from = "S1:2", to = "K1:86", size = "16 AWG", color = "PK", length = "1 m" }
4 = { from = "K1:85", to = "X1:1", size = "16 AWG", color = "BK", length = "1 m" }
5 = { from = "F1:2", to = "K1:30", size = "14 AWG", color = "RD", length = "1 m" }
6 = { from = "K1:87", to = "H2:1", size = "14 AWG", color = "OG", length = "1 m" }
7 = { from = "H2:2", to = "X1:2", size = "14 AWG", color = "BK", length = "1 m" }
8 = { from = "K1:86", to = "FROM", size = "20 AWG", color = "VT", length = "1 m" }
9 = { from = "TO", to = "H1:1", size = "20 AWG", color = "VT", length = "1 m" }
10 = { from = "H1:2", to = "G2:L", size = "20 AWG", color = "VT", length = "1 m" }
11 = { from = "G2:B+", to = "G1:+", size = "6 AWG", color = "RD", length = "1 m" }
12 = { from = "G1:-", to = "X1:3", size = "4 AWG", color = "BK", length = "0.5 m" }
[state.off]
switches = { S1 = "off" }
[state.running]
switches = { S1 = "on" }
charging = true
`

// TestRunOn: with the key off, terminal L holds the ignition relay in through the warning lamp, unless a diode stands in the way
// (known fault of conversions with an exciter lamp; common practice).
func TestRunOn(t *testing.T) {
	for _, test := range []struct {
		name, from, to string
		runsOn         bool
	}{
		{"diode towards the lamp", "D1:A", "D1:K", false},
		{"diode reversed", "D1:K", "D1:A", true},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := parse(t, strings.NewReplacer("FROM", test.from, "TO", test.to).Replace(runOn))
			found := effectOn(findSneak(s.Sneaks(), "S1 moved to off"), "K1 coil")
			if !test.runsOn {
				assert.Nil(t, found)
				return
			}
			require.NotNil(t, found)
			assert.Equal(t, Fault, found.Severity)
			assert.Equal(t, "stays in over a sneak path", found.How)
			assert.Equal(t, "running", found.State)
			// By hand: coil 85 ohm at 40 C = 91.7 ohm; a lamp of 2 W at 12 V takes 0.167 A (V/12)^0.55; 14.2 V less 0.7 V of the diode
			// is shared: 8.9 V on the coil gives 0.097 A, 4.6 V on the lamp 0.098 A.
			assert.InDelta(t, 8.9, found.Volts, 0.3)
		})
	}
}

// TestRunOnPlainWire is the same without any diode: the lead goes straight through a splice.
func TestRunOnPlainWire(t *testing.T) {
	text := strings.Replace(runOn, `D1 = { kind = "diode" }`, "", 1)
	text = strings.Replace(text, "[wire]", "[splice]\nSP1 = {}\n[wire]", 1)
	s := parse(t, strings.NewReplacer("FROM", "SP1:1", "TO", "SP1:2").Replace(text))
	assert.NotNil(t, effectOn(findSneak(s.Sneaks(), "S1 moved to off"), "K1 coil"))
}

const twoLamps = head + `
[part]
G1 = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
F2 = { kind = "fuse", rating = "5 A", family = "blade" }
S1 = { kind = "switch", positions = { off = [], on = ["1-2"] }, rest = "off" }
S2 = { kind = "switch", positions = { off = [], on = ["1-2"] }, rest = "off" }
X0 = { kind = "ground point", body = "body" }
X1 = { kind = "ground point", body = "body" }
X2 = { kind = "ground point", body = "body" }
L = { kind = "lamp", pins = ["54", "58", "31"], loads = [{ between = "54-31", load = "21 W", title = "Stop" }, { between = "58-31", load = "5 W", title = "Tail" }] }
R = { kind = "lamp", pins = ["54", "58", "31"], loads = [{ between = "54-31", load = "21 W", title = "Stop" }, { between = "58-31", load = "5 W", title = "Tail" }] }
[splice]
SP1 = {}
SP2 = {}
[wire]
0 = { from = "G1:-", to = "X0:1", size = "4 AWG", color = "BK", length = "0.5 m" }
1 = { from = "G1:+", to = "F1:1", size = "10 AWG", color = "RD", length = "0.5 m" }
2 = { from = "G1:+", to = "F2:1", size = "10 AWG", color = "RD", length = "0.5 m" }
3 = { from = "F1:2", to = "S1:1", size = "16 AWG", color = "RD", length = "1 m" }
4 = { from = "F2:2", to = "S2:1", size = "16 AWG", color = "RD", length = "1 m" }
5 = { from = "S1:2", to = "SP1:1", size = "16 AWG", color = "YE", length = "3 m" }
6 = { from = "S2:2", to = "SP2:1", size = "16 AWG", color = "GY", length = "3 m" }
7 = { from = "SP1:2", to = "L:54", size = "18 AWG", color = "YE", length = "1 m" }
8 = { from = "SP1:2", to = "R:54", size = "18 AWG", color = "YE", length = "1 m" }
9 = { from = "SP2:2", to = "L:58", size = "18 AWG", color = "GY", length = "1 m" }
10 = { from = "SP2:2", to = "R:58", size = "18 AWG", color = "GY", length = "1 m" }
11 = { from = "L:31", to = "X1:1", size = "18 AWG", color = "BK", length = "1 m" }
12 = { from = "R:31", to = "X2:1", size = "18 AWG", color = "BK", length = "1 m" }
[state.off]
switches = { S1 = "off" }
[state.braking]
switches = { S1 = "on" }
`

// TestLiftedLampGround: the stop current of the lamp without ground returns through its own tail filament, over the tail net and
// through the tail filament of the other lamp. Common practice: the oldest fault of trailer lamps.
func TestLiftedLampGround(t *testing.T) {
	r := parse(t, twoLamps).Sneaks()
	k := findSneak(r, "X1 lifted")
	require.NotNil(t, k)
	assert.Equal(t, []string{"braking"}, k.States)
	// By hand: 12.6 V over 21 W + 5 W + 5 W in series, each filament by 0.55th power law above 4.5 V and as a resistance below: the
	// 21 W filament keeps 1.2 V, each 5 W filament 5.7 V.
	left, right := effectOn(k, "L Tail"), effectOn(k, "R Tail")
	require.NotNil(t, left)
	require.NotNil(t, right)
	assert.InDelta(t, 5.7, left.Volts, 0.5)
	assert.InDelta(t, 5.7, right.Volts, 0.5)
	assert.Equal(t, "backwards", left.How, "the current enters the filament at the ground end")
	assert.Equal(t, "fed from elsewhere", right.How)
	assert.InDelta(t, math.Abs(left.Amps), math.Abs(right.Amps), 1e-6, "in series")
}

func wireNamed(t *testing.T, shorts []Short, name string) Short {
	t.Helper()
	for _, f := range shorts {
		if f.Wire.Name.Text == name {
			return f
		}
	}
	require.Fail(t, "no wire "+name)
	return Short{}
}

const oneLamp = head + `
[part]
G1 = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
FM = { kind = "fuse", rating = "MAIN", family = "blade" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
S1 = { kind = "switch", positions = { off = [], on = ["1-2"] }, rest = "off" }
K1 = { stock = "mini-relay-40a" }
H1 = { kind = "lamp", load = "21 W" }
X0 = { kind = "ground point", body = "body" }
X1 = { kind = "ground point", body = "body" }
[wire]
0 = { from = "G1:-", to = "X0:1", size = "4 AWG", color = "BK", length = "0.5 m" }
1 = { from = "G1:+", to = "FM:1", size = "10 AWG", color = "RD", length = "0.5 m" }
2 = { from = "FM:2", to = "F1:1", size = "10 AWG", color = "RD", length = "0.5 m" }
3 = { from = "F1:2", to = "S1:1", size = "18 AWG", color = "RD", length = "1 m" }
4 = { from = "S1:2", to = "H1:1", size = "THIN", color = "YE", length = "LONG" }
5 = { from = "H1:2", to = "X1:1", size = "18 AWG", color = "BK", length = "1 m" }
6 = { from = "F1:2", to = "K1:86", size = "18 AWG", color = "RD", length = "1 m" }
7 = { from = "K1:85", to = "X1:2", size = "18 AWG", color = "BK", length = "1 m" }
[state.off]
switches = { S1 = "off" }
[state.on]
switches = { S1 = "on" }
`

func lampShorts(t *testing.T, main, size, length string) []Short {
	t.Helper()
	s := parse(t, strings.NewReplacer("MAIN", main, "THIN", size, "LONG", length).Replace(oneLamp))
	shorts, err := s.Faults()
	require.NoError(t, err)
	return shorts
}

// TestFarEndByHand adds the loop up: job-map 2.9, I = 12.0 V over battery, feeder, pieces, fuse, contacts and return.
func TestFarEndByHand(t *testing.T) {
	f := wireNamed(t, lampShorts(t, "40 A", "18 AWG", "5 m"), "4")
	const stranded = 0.0185                                   // ohm mm2/m at 20 C, common practice
	hot := 1 + 0.00393*(40-20)                                // room of 40 C; the lamp's 1.5 A hardly heats the wires
	wires := hot * stranded * (1/4.65 + (1+5)/0.76)           // 10 AWG two times 0.5 m, 18 AWG 6 m; SAE J1128 areas
	ground := hot * stranded * 0.5 / 18.3                     // 4 AWG
	contacts := 0.004*4 + 0.0025*4 + 0.0005*2 + 0.001         // small terminals of the 18 AWG, blades of the 10 AWG, rings, bolt
	fuses := 0.010 + (0.075/40 + 0.004)                       // stated; by the drop at rated current, with clips
	loop := 0.020 + wires + ground + contacts + fuses + 0.010 // and the hand switch
	assert.InEpsilon(t, 12.0/loop, f.Amps, 0.05)
	assert.InEpsilon(t, f.Amps/10, f.Ratio, 1e-9)
	assert.Equal(t, "F1", f.Device.Name.Text)
	assert.Equal(t, "FM", f.Upstream.Name.Text)
	assert.Equal(t, Cleared, f.Verdict)
	assert.Equal(t, "on", f.State)
}

// TestVerdicts goes through the kinds of answer. Limits 3.5, 2.5 and 1.6: job practice.
func TestVerdicts(t *testing.T) {
	for _, test := range []struct {
		name, size, length string
		want               Verdict
	}{
		{"short run", "18 AWG", "5 m", Cleared},
		{"long run", "16 AWG", "15 m", LittleMargin},
		{"longer", "16 AWG", "25 m", SlowlyOpened},
		{"too long to clear", "16 AWG", "38 m", NotCleared},
		{"opens, but too late for thin PVC", "22 AWG", "6 m", NotCleared}, // 0.324 mm2 at 88 A s^0.5/mm2 bears 800 A2s, 25 A for 1.7 s is 1100
	} {
		t.Run(test.name, func(t *testing.T) {
			f := wireNamed(t, lampShorts(t, "40 A", test.size, test.length), "4")
			assert.Equal(t, test.want, f.Verdict, "ratio %.2f", f.Ratio)
		})
	}
	shorts := lampShorts(t, "40 A", "18 AWG", "5 m")
	assert.Equal(t, Unprotected, wireNamed(t, shorts, "1").Verdict, "nothing is between battery and main fuse")
	assert.Equal(t, Grounded, wireNamed(t, shorts, "0").Verdict)
	assert.Equal(t, Grounded, wireNamed(t, shorts, "5").Verdict)
	assert.Equal(t, "1", shorts[0].Wire.Name.Text, "worst first")
}

// TestSelectivity: two to one within one family is selective, less is compared by energy (job-map 2.10).
func TestSelectivity(t *testing.T) {
	assert.True(t, wireNamed(t, lampShorts(t, "40 A", "18 AWG", "5 m"), "4").Selective)
	assert.False(t, wireNamed(t, lampShorts(t, "15 A", "18 AWG", "5 m"), "4").Selective)
}

// TestLimitedShort: behind a coil a short makes the coil pull and no more.
func TestLimitedShort(t *testing.T) {
	text := strings.NewReplacer("MAIN", "40 A", "THIN", "18 AWG", "LONG", "5 m").Replace(oneLamp)
	text = strings.Replace(text, `to = "X1:2"`, `to = "S2:1"`, 1)
	text = strings.Replace(text, "[wire]", `S2 = { kind = "switch" }
[wire]
8 = { from = "S2:2", to = "X1:2", size = "18 AWG", color = "BK", length = "1 m" }`, 1)
	shorts, err := parse(t, text).Faults()
	require.NoError(t, err)
	f := wireNamed(t, shorts, "7")
	assert.Equal(t, Limited, f.Verdict)
	assert.Equal(t, "coil of K1", f.Because)
	assert.InDelta(t, 13.5/85, f.Amps, 1e-9)
}

// TestPickupFaults holds the far-end shorts against job-map section 6: turn RR 35 A, 3.5 times 10 A; stop RR 5.5; pump 8.6. They
// were added up there by hand with the contacts of 2.12 alone. Here every piece has two terminals, each hand switch 10 mohm and
// each mated pair 4 mohm besides, which 2.12 does not list: on the way to LRR:R there are five closed contacts and some forty
// terminals. The pump has few of them and agrees to 10 %, the turn lamp has the most and comes to 2.6 instead of 3.5.
func TestPickupFaults(t *testing.T) {
	shorts, err := pickup(t).Faults()
	require.NoError(t, err)
	assert.InEpsilon(t, 8.6, wireNamed(t, shorts, "60c").Ratio, 0.10)
	assert.InEpsilon(t, 5.5, wireNamed(t, shorts, "74f").Ratio, 0.10)
	turn := wireNamed(t, shorts, "73s")
	assert.Less(t, turn.Ratio, 3.6)
	assert.Greater(t, turn.Ratio, 2.5, "still no finding by the limits of the job")
	for _, f := range shorts {
		if f.Verdict < Cleared && f.Device != nil {
			assert.GreaterOrEqual(t, f.Ratio, turn.Ratio*(1-1e-9), "%s: the turn lamp at the right rear is the weakest", f.Wire.Name.Text)
		}
		assert.False(t, f.Verdict == NotCleared || f.Verdict == SlowlyOpened, f.Wire.Name.Text)
	}
	assert.Equal(t, Exempt, wireNamed(t, shorts, "1a").Verdict, "the starter cable has no fuse, on purpose")
	assert.Equal(t, Limited, wireNamed(t, shorts, "24a").Verdict, "behind an injector")
}

// TestPickupSneaks holds the search against what job-map section 6 expects on the clean file.
func TestPickupSneaks(t *testing.T) {
	r := pickup(t).Sneaks()
	assert.Empty(t, r.Unquiet)
	g7 := findSneak(r, "G7 lifted")
	require.NotNil(t, g7, "stop current returns through tail and turn filaments")
	assert.NotNil(t, effectOn(g7, "LRR Tail"))
	assert.NotNil(t, effectOn(g7, "LRL Stop"))
	assert.LessOrEqual(t, g7.Severity, Odd)
	g10 := findSneak(r, "G10 lifted")
	require.NotNil(t, g10, "coils of K5, K6 and K8 in series over SP10")
	for _, coil := range []string{"K5 coil", "K6 coil", "K8 coil"} {
		e := effectOn(g10, coil)
		require.NotNil(t, e, coil)
		assert.NotEqual(t, "pulls in", e.How)
	}
	blower := effectOn(findSneak(r, "M6 turns unfed"), "rail 15X")
	require.NotNil(t, blower, "the coasting blower holds 15X after key-off")
	assert.Greater(t, blower.Volts, 1.0)
	assert.Less(t, blower.Volts, 6.0, "no more than it generates")
	for _, f := range r.Found {
		for _, e := range f.Effects {
			assert.False(t, e.Severity == Danger && (e.Part == "STM1" || e.Part == "M1"), "%s runs by %s", e.Part, f.Text)
		}
	}
}

// TestLostStrap: with cable 2a lifted the cranking current goes over the strap 2c; without that it has no way (job-map section 6).
func TestLostStrap(t *testing.T) {
	after := func(s *Study) (Change, float64) {
		c, ok := s.CaseOf("2a")
		require.True(t, ok)
		for _, l := range s.Without(c, "crank") {
			if strings.HasPrefix(l.What, "STM1 motor") {
				return l.Change, l.After
			}
		}
		return "", math.NaN()
	}
	change, volts := after(pickup(t))
	assert.NotEqual(t, Dead, change, "%.1f V", volts)
	change, _ = after(pickup(t, `2c  = { from = "G1:2",    to = "G9:1"`, `2c  = { from = "G5:6",    to = "G9:1"`))
	assert.Equal(t, Dead, change)
}

// TestReversedClusterDiode: the diode of the cluster keeps L from feeding the instruments; turned round, it does feed them.
func TestReversedClusterDiode(t *testing.T) {
	const what = "X5:1"
	has := func(s *Study) bool { return effectOn(findSneak(s.Sneaks(), "S1 moved to off"), what) != nil }
	assert.False(t, has(pickup(t)))
	assert.True(t, has(pickup(t, `"X5:1>D1"`, `"D1>X5:1"`)))
}

func TestTracePump(t *testing.T) {
	s := pickup(t)
	pin, ok := s.netlist.FindPin("M1:1")
	require.True(t, ok)
	chains := s.Trace(pin, "run")
	require.Len(t, chains, 2)
	var wires []string
	volts := math.Inf(1)
	for _, step := range chains[0].Steps {
		if step.Wire != "" {
			wires = append(wires, step.Wire)
		}
		assert.LessOrEqual(t, step.Volts, volts+1e-9, "volts fall along the way: %s", step.Pin)
		volts = step.Volts
	}
	assert.Equal(t, []string{"4a", "60a", "60b", "60c"}, wires)
	assert.Equal(t, "load M1 Pump", chains[1].Steps[1].Over)
	assert.Equal(t, "60d", chains[1].Steps[2].Wire)
}

func TestWithoutFuse(t *testing.T) {
	s := pickup(t)
	c, ok := s.CaseOf("F8")
	require.True(t, ok)
	dead := map[string]bool{}
	for _, l := range s.Without(c, "hot") {
		if l.Change == Dead {
			dead[l.Part] = true
		}
	}
	assert.Equal(t, map[string]bool{"K2": true, "K3": true, "K4": true, "M1": true, "M2": true, "M3": true, "IAC": true, "O2": true}, dead)
	_, ok = s.CaseOf("F99")
	assert.False(t, ok)
}

// TestSameTwice: states are searched side by side, and the result does not show it.
func TestSameTwice(t *testing.T) {
	a, b := pickup(t).Sneaks(), pickup(t).Sneaks()
	require.Equal(t, len(a.Found), len(b.Found))
	for i := range a.Found {
		assert.Equal(t, a.Found[i].Text, b.Found[i].Text)
		assert.Equal(t, a.Found[i].Effects, b.Found[i].Effects)
		assert.Equal(t, a.Found[i].States, b.Found[i].States)
	}
}

// TestExhaustive: every combination on the pickup is looked at. How long that takes is the benchmark's matter.
func TestExhaustive(t *testing.T) {
	assert.Greater(t, pickup(t).Sneaks().Cases, 1500)
}

func BenchmarkSneaksPickup(b *testing.B) {
	for b.Loop() {
		b.StopTimer()
		s := pickup(b)
		b.StartTimer()
		s.Sneaks()
	}
}

func BenchmarkFaultsPickup(b *testing.B) {
	for b.Loop() {
		b.StopTimer()
		s := pickup(b)
		b.StartTimer()
		if _, err := s.Faults(); err != nil {
			b.Fatal(err)
		}
	}
}
