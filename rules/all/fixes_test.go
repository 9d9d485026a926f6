package all_test

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	textedit "ferrule/netlist/edit"
	"ferrule/netlist/graph"
	"ferrule/rules"
	"ferrule/rules/rulestest"
)

// TestFixesInThePickup makes a mistake in the pickup, takes the fix that the finding carries, and looks again: the finding
// is gone, nothing new at warning or above has come, and the text is what it was before the mistake, or says the one thing
// that the fix is about.
func TestFixesInThePickup(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []edit
		rule  string
		title string
		safe  bool
		back  bool // the fix gives the text back that was there
	}{
		{
			name:  "a fuse above its wires",
			edits: []edit{{"power.toml", `title = "Actuators, pump and fan coils", system = "injection-ignition", in = "P", rating = "10 A"`, `title = "Actuators, pump and fan coils", system = "injection-ignition", in = "P", rating = "20 A"`}},
			rule:  "fuse-above-wire", title: "make fuse F8 10 A", safe: true, back: true,
		},
		{
			name:  "a colour in letters of another habit",
			edits: []edit{{"body.toml", `color = "PK/OG"`, `color = "pink/orange"`}},
			rule:  "color-clash", title: "write the colour of 78a as PK/OG", safe: true, back: true,
		},
		{
			name: "the crankshaft pair crossed",
			edits: []edit{
				{"sensors.toml", `from = "CKP:1"`, `from = "CKP:9"`}, {"sensors.toml", `from = "CKP:2"`, `from = "CKP:1"`}, {"sensors.toml", `from = "CKP:9"`, `from = "CKP:2"`},
			},
			rule: "crossed-pair", title: "exchange what is wired to CKP:1 and CKP:2", safe: true, back: true,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			n := parsePickup(t, c.edits...)
			var fix *diag.Fix
			for _, d := range rules.Check(graph.New(n)).Findings {
				if d.Rule == c.rule && len(d.Fixes) > 0 {
					fix = &d.Fixes[0]
				}
			}
			require.NotNil(t, fix, "the finding carries a fix")
			assert.Equal(t, c.title, fix.Title)
			assert.Equal(t, c.safe, fix.Safe)
			revised, err := textedit.ApplyAll(fix.Edits)
			require.NoError(t, err)
			files := pickupFiles(t, c.edits...)
			for _, r := range revised {
				files[r.File.Name].Data = r.Text
			}
			after, problems, err := netlist.Load(files, "pickup.toml")
			require.NoError(t, err)
			require.Empty(t, problems)
			assert.Empty(t, rules.Check(graph.New(after)).Findings.AtLeast(diag.Warning))
			if c.back {
				for name, f := range pickupFiles(t) {
					assert.Equal(t, strings.Split(string(f.Data), "\n"), strings.Split(string(files[name].Data), "\n"), name)
				}
			}
		})
	}
}

// lampOnBattery is a harness in which every number is stated, so that a fix can be sure. Nothing is wrong with it.
const lampOnBattery = `[harness]
title = "One lamp"
insulation = "105 C"
[body.body]
[zone.bay]
ambient = "40 C"
[place]
a = { zone = "bay" }
b = { zone = "bay" }
[path]
p = { between = ["a", "b"], length = "2 m", cover = "split loom" }
[part]
BAT1 = { kind = "battery", at = "a", capacity = "60 Ah", resistance = "8 mohm" }
G1 = { kind = "ground point", at = "a", body = "body" }
G2 = { kind = "ground point", at = "b", body = "body" }
F1 = { kind = "fuse", at = "a", rating = "15 A", family = "blade" } # for the lamp
E1 = { kind = "lamp", at = "b", load = "55 W", works-off = true }
[wire]
1 = { from = "BAT1:+", to = "F1:1", size = "8 AWG",  length = "0.1 m" }
2 = { from = "F1:2",   to = "E1:1", size = "16 AWG" }   # feed
3 = { from = "E1:2",   to = "G2:1", size = '16 AWG', length = "0.3 m" } # ground
4 = { from = "BAT1:-", to = "G1:1", size = "8 AWG",  length = "0.2 m" }
[state.on]
engine = "running"
`

// controller is a module between injectors and sensors, with what each of its terminals is for.
const controller = `[part.A1]
kind = "module"
spare = true
pins = ["1", "2", "3", "4", "5"]
pin.1 = { role = "sink", drives = "injector", cylinder = "1" }
pin.2 = { role = "sink", drives = "injector", cylinder = "2" }
pin.3 = { role = "signal" }
pin.4 = { role = "signal", polarity = "+" }
pin.5 = { role = "signal", polarity = "-" }
[part.INJ1]
kind = "injector"
load = "12 ohm"
spare = true
cylinder = "1"
[part.INJ2]
kind = "injector"
load = "12 ohm"
spare = true
cylinder = "2"
[part.B1]
kind = "two-wire sensor"
spare = true
pin.1 = { role = "signal" }
[part.B2]
kind = "inductive sensor"
spare = true
pin.1 = { polarity = "+" }
pin.2 = { polarity = "-" }
[wire]
# injectors
10 = { from = "INJ1:2", to = "A1:1" }
11 = { from = "INJ2:2", to = "A1:2" }
12 = { from = "B1:1",   to = "A1:3" } # temperature
13 = { from = "B2:1",   to = "A1:4" }
14 = { from = "B2:2",   to = "A1:5" }
`

// plugs are two wires of two nets through a sealed pair of plugs.
const plugs = `[part]
F1 = { kind = "fuse", rating = "5 A", family = "blade", spare = true }
F2 = { kind = "fuse", rating = "5 A", family = "blade", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
E2 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
grid = ["1-4"]
view = "wire side"
mates = "X2"
sealed = true
spare = ["3", "4"]
plugged = ["3", "4"] # with plugs
[connector.X2]
[wire]
20 = { from = "F1:2", to = "X1:1", net = "LEFT" }
21 = { from = "F2:2", to = "X1:2", net = "RIGHT" }
22 = { from = "X2:1", to = "E1:1", net = "LEFT" }
23 = { from = "X2:2", to = "E2:1", net = "RIGHT" }
`

// outlet is an outlet on a battery.
const outlet = `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "7.5 A", family = "blade" }
XS1 = { kind = "socket outlet", load = "5 A" }
[link]
BAR = { joins = ["BAT1:+", "F1:1"] }
[wire]
1 = { from = "F1:2",   to = "XS1:1", size = "14 AWG", length = "0.1 m" } # plus
2 = { from = "BAT1:-", to = "XS1:2", size = "14 AWG", length = "0.1 m" }
`

// speeds is a switch of two speeds, a stop and tail lamp by the numbers of DIN 72552, and a fan that a relay changes over between
// its feed and ground, so that it stops at once.
const speeds = `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "60 A" }
F2 = { kind = "fuse", rating = "10 A", family = "blade" } # of the fan
S1 = { kind = "switch", pins = ["1", "2", "3"], positions = { off = [], slow = ["1-2"], fast = ["1-3"] }, rest = "off" }
S2 = { kind = "switch", pins = ["30", "54", "58"], positions = { off = [], tail = ["30-58"], stop = ["30-54"] }, rest = "off" }
S3 = { kind = "switch" }
M1 = { kind = "motor", load = "2 A" }
M2 = { kind = "motor", load = "4 A" }
M3 = { kind = "motor", load = "4 A" }
E1 = { kind = "lamp", pins = ["54", "58", "31"], loads = [{ between = "58-31", load = "5 W" }, { between = "54-31", load = "21 W" }] }
K1 = { kind = "changeover relay" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "4 AWG", length = "0.1 m" } # lead
W2 = { from = "F1:2", to = "S1:1" }
W3 = { from = "S1:2", to = "M1:1" } # slow
W4 = { from = "S1:3", to = "M2:1" }
W5 = { from = "M1:2", to = "G1:1" }
W6 = { from = "M2:2", to = "G1:2" }
W7 = { from = "F1:2", to = "S2:30" }
W8 = { from = "S2:54", to = "E1:54" } # stop
W9 = { from = "S2:58", to = "E1:58" } # tail
W10 = { from = "E1:31", to = "G1:3" }
W11 = { from = "F1:2", to = "F2:1" }
W12 = { from = "F2:2", to = "K1:87" } # feed of the fan
W13 = { from = "K1:87a", to = "G1:4" }
W14 = { from = "K1:30", to = "M3:1" }
W15 = { from = "M3:2", to = "G1:5" }
W16 = { from = "F1:2", to = "S3:1" }
W17 = { from = "S3:2", to = "K1:86" }
W18 = { from = "K1:85", to = "G1:6" }
W19 = { from = "BAT1:-", to = "G1:7", size = "4 AWG", length = "0.1 m" }
[drawer]
"fuse blade 10 A" = 4 # from the last one
`

// A change replaces words that a text has once.
type change struct{ old, new string }

func changed(t *testing.T, text string, changes ...change) string {
	t.Helper()
	for _, c := range changes {
		require.Equal(t, 1, strings.Count(text, c.old), "the text has %q", c.old)
		text = strings.Replace(text, c.old, c.new, 1)
	}
	return text
}

// swapped exchanges two references that a text has once each.
func swapped(a, b string) []change { return []change{{a, "~"}, {b, a}, {"~", b}} }

// A fixCase is a harness with a mistake and the fix that its finding carries.
type fixCase struct {
	name   string
	text   string
	broken []change
	rule   string
	title  string
	safe   bool
	fixed  []change // against the broken text; none gives the text back that was there before
	brings string   // the rule that speaks after it, which is why it is not safe
}

var fixCases = []fixCase{
	{
		name: "a fuse that the wire does not bear", text: lampOnBattery, broken: []change{{`"15 A"`, `"30 A"`}},
		rule: "fuse-above-wire", title: "make fuse F1 20 A", safe: true, fixed: []change{{`"30 A"`, `"20 A"`}},
	},
	{
		name: "the same with the family left open", text: lampOnBattery, broken: []change{{`"15 A", family = "blade"`, `"30 A"`}},
		rule: "fuse-above-wire", title: "make fuse F1 20 A", fixed: []change{{`"30 A"`, `"20 A"`}},
	},
	{
		name: "a fuse and a wire that is too thin besides", text: lampOnBattery, broken: []change{{`"15 A"`, `"30 A"`}, {`"2 m"`, `"15 m"`}},
		rule: "fuse-above-wire", title: "make fuse F1 20 A", fixed: []change{{`"30 A"`, `"20 A"`}},
	},
	{
		name: "a wire that carries too much", text: lampOnBattery,
		broken: []change{{`"55 W"`, `"300 W"`}, {`"15 A"`, `"40 A"`}, {`"16 AWG" }`, `"18 AWG" }`}, {`"2 m"`, `"0.3 m"`}, {`'16 AWG'`, `'10 AWG'`}},
		rule:   "wire-overload", title: "make wire 2 12 AWG", safe: true, fixed: []change{{`"18 AWG"`, `"12 AWG"`}},
	},
	{
		name: "a wire that loses too much", text: lampOnBattery, broken: []change{{`"2 m"`, `"15 m"`}},
		rule: "voltage-drop", title: "make wire 2 10 AWG", safe: true, fixed: []change{{`"16 AWG" }`, `"10 AWG" }`}},
	},
	{
		name: "a wire that breaks", text: lampOnBattery, broken: []change{{`"55 W"`, `"5 W"`}, {`"15 A"`, `"3 A"`}, {`"16 AWG" }`, `"24 AWG" }`}},
		rule: "fragile-wire", title: "make wire 2 22 AWG", safe: true, fixed: []change{{`"24 AWG"`, `"22 AWG"`}},
	},
	{
		name: "a ground wire thinner than its feed", text: lampOnBattery, broken: []change{{`'16 AWG'`, `'20 AWG'`}},
		rule: "thin-ground", title: "make wire 3 16 AWG", safe: true,
	},
	{
		name: "the same where the terminal does not take the size", text: lampOnBattery,
		broken: []change{{`'16 AWG'`, `'20 AWG'`}, {"[wire]\n", "[terminal.small]\nwire = [\"22 AWG\", \"18 AWG\"]\n[wire]\n"}, {`works-off = true }`, `works-off = true, pin.2.terminal = "small" }`}},
		rule:   "thin-ground", title: "make wire 3 16 AWG", fixed: []change{{`'20 AWG'`, `'16 AWG'`}},
		brings: "terminal-range",
	},
	{
		name: "the same where the seal does not take the size", text: lampOnBattery,
		broken: []change{{`'16 AWG'`, `'20 AWG'`}, {"[wire]\n", "[terminal.small]\nwire = [\"22 AWG\", \"14 AWG\"]\nseal = [\"1.2 mm\", \"2.0 mm\"]\n[wire]\n"}, {`works-off = true }`, `works-off = true, sealed = true, pin.2.terminal = "small" }`}},
		rule:   "thin-ground", title: "make wire 3 16 AWG", fixed: []change{{`'20 AWG'`, `'16 AWG'`}},
		brings: "seal-range",
	},
	{
		name: "a short that the fuse does not see", text: lampOnBattery, broken: []change{{`"2 m"`, `"35 m"`}, {`"55 W"`, `"21 W"`}},
		rule: "short-not-cleared", title: "make fuse F1 7.5 A", fixed: []change{{`"15 A"`, `"7.5 A"`}},
	},
	{
		name: "a pair crossed", text: controller, broken: swapped(`"B2:1"`, `"B2:2"`),
		rule: "crossed-pair", title: "exchange what is wired to B2:2 and B2:1", safe: true,
	},
	{
		name: "two cylinders crossed over", text: controller, broken: swapped(`"A1:1"`, `"A1:2"`),
		rule: "crossed-over", title: "exchange what is wired to A1:2 and A1:1", safe: true,
	},
	{
		name: "the same with a splice on the way, where it may have happened too", text: controller,
		broken: append(swapped(`"A1:1"`, `"A1:2"`), change{`to = "A1:2" }`, `to = "SP1:1" }
10b = { from = "SP1:2", to = "A1:2" }`}, change{"[wire]\n", "[splice.SP1]\n[wire]\n"}),
		rule: "crossed-over", title: "exchange what is wired to A1:2 and A1:1",
		fixed: []change{{`10b = { from = "SP1:2", to = "A1:2" }
11 = { from = "INJ2:2", to = "A1:1" }`, `10b = { from = "SP1:2", to = "A1:1" }
11 = { from = "INJ2:2", to = "A1:2" }`}},
	},
	{
		name: "an injector and a sensor exchanged", text: controller, broken: swapped(`"A1:1"`, `"A1:3"`),
		rule: "role-mismatch", title: "exchange what is wired to A1:3 and A1:1", safe: true,
	},
	{
		name: "two cavities crossed", text: plugs, broken: swapped(`"X2:1"`, `"X2:2"`),
		rule: "net-short", title: "exchange what is wired to X2:1 and X2:2", safe: true,
	},
	{
		name: "a colour in words", text: plugs, broken: []change{{`net = "LEFT" }
21`, `net = "LEFT", color = 'red' }
21`}},
		rule: "color-clash", title: "write the colour of 20 as RD", safe: true, fixed: []change{{`'red'`, `'RD'`}},
	},
	{
		name: "one plug forgotten", text: plugs, broken: []change{{`plugged = ["3", "4"]`, `plugged = ["3"]`}},
		rule: "open-cavity", title: "list the plugs of X1, once they are in",
	},
	{
		name: "all plugs forgotten", text: plugs, broken: []change{{"plugged = [\"3\", \"4\"] # with plugs\n", ""}},
		rule: "open-cavity", title: "list the plugs of X1, once they are in", fixed: []change{{"spare = [\"3\", \"4\"]\n", "spare = [\"3\", \"4\"]\nplugged = [\"3\", \"4\"]\n"}},
	},
	{
		name: "no view", text: plugs, broken: []change{{"view = \"wire side\"\n", ""}},
		rule: "numbering-view", title: "say that X1 is seen from the wire side",
	},
	{
		name: "a fuse that is not made", text: plugs, broken: []change{{`F1 = { kind = "fuse", rating = "5 A"`, `F1 = { kind = "fuse", rating = "6 A"`}},
		rule: "rating-not-made", title: "make fuse F1 5 A",
	},
	{
		name: "an outlet the wrong way round", text: outlet, broken: swapped(`"XS1:1"`, `"XS1:2"`),
		rule: "reversed-supply", title: "exchange what is wired to XS1:1 and XS1:2",
	},
	{
		name: "an acceptance of nothing", text: lampOnBattery, broken: []change{{"[state.on]\n", "[[accept]]\nrule = \"ground-loop\"\nat = \"E1\"\nbecause = \"the frame\"\n[state.on]\n"}},
		rule: "stale-accept", title: "remove this acceptance", safe: true,
	},
	{
		name: "a switch fed at one of its throws", text: speeds, broken: swapped(`"S1:1"`, `"S1:2"`),
		rule: "fed-at-throw", title: "exchange what is wired to S1:2 and S1:1",
	},
	{
		name: "stop and tail exchanged", text: speeds, broken: swapped(`"E1:54"`, `"E1:58"`),
		rule: "unlike-terminals", title: "exchange what is wired to S2:54 and S2:58", fixed: swapped(`"S2:54"`, `"S2:58"`),
	},
	{
		name: "tail and ground exchanged", text: speeds, broken: swapped(`"E1:31"`, `"E1:58"`),
		rule: "unlike-terminals", title: "exchange what is wired to E1:31 and E1:58",
	},
	{
		name: "a relay that feeds at rest", text: speeds, broken: swapped(`"K1:87"`, `"K1:87a"`),
		rule: "miswired-relay", title: "exchange what is wired to K1:87 and K1:87a",
	},
	{
		name: "a lead that bears less than its fuse", text: speeds, broken: []change{{`size = "4 AWG", length = "0.1 m" } # lead`, `size = "10 AWG", length = "0.1 m" } # lead`}},
		rule: "thin-lead", title: "make wire W1 8 AWG", safe: true, fixed: []change{{`size = "10 AWG", length = "0.1 m" } # lead`, `size = "8 AWG", length = "0.1 m" } # lead`}},
	},
	{
		name: "a name that the buy list does not know", text: speeds, broken: []change{{`"fuse blade 10 A"`, `"fuse blade 11 A"`}},
		rule: "idle-drawer", title: "call it fuse blade 10 A",
	},
	{
		name: "a common ground wire thinner than the fuse asks for", text: lampOnBattery,
		broken: []change{{`to = "G2:1", size = '16 AWG'`, `to = "SP1:1", size = '16 AWG'`}, {"[state.on]\n", "3b = { from = \"SP1:2\", to = \"G2:1\", size = \"20 AWG\", length = \"0.1 m\" } # common\n[splice.SP1]\nat = \"b\"\n[state.on]\n"}},
		rule:   "thin-ground", title: "make wire 3b 16 AWG", safe: true, fixed: []change{{`"20 AWG", length = "0.1 m" } # common`, `"16 AWG", length = "0.1 m" } # common`}},
	},
	{
		name: "a slip in a key", text: lampOnBattery, broken: []change{{`length = "0.3 m" } # ground`, `lenght = "0.3 m" } # ground`}},
		rule: "unknown-key", title: "write length", safe: true,
	},
	{
		name: "a slip in a word", text: plugs, broken: []change{{`"wire side"`, `"wire sid"`}},
		rule: "bad-value", title: "write wire side",
	},
}

// TestFixes breaks a harness in one way for each rule whose findings carry a fix, takes the first fix of the finding, and looks again:
// the words that the case names have changed and no others, the text can be read, the finding is gone, and nothing has come at
// warning or above that was not there in the broken text.
func TestFixes(t *testing.T) {
	for _, c := range fixCases {
		t.Run(c.name, func(t *testing.T) {
			broken := changed(t, c.text, c.broken...)
			want := c.text
			if c.fixed != nil {
				want = changed(t, broken, c.fixed...)
			}
			before := rulestest.Find(broken)
			d := findingOf(before, c.rule)
			require.NotNil(t, d, "%v", rulestest.Messages(before))
			require.NotEmpty(t, d.Fixes, d.Message)
			assert.Equal(t, c.title, d.Fixes[0].Title)
			assert.Equal(t, c.safe, d.Fixes[0].Safe)
			revised, err := textedit.ApplyAll(d.Fixes[0].Edits)
			require.NoError(t, err)
			require.Len(t, revised, 1)
			assert.Equal(t, want, string(revised[0].Text))
			after := rulestest.Find(string(revised[0].Text))
			had := map[string]bool{}
			for _, d := range before {
				had[aboutWhat(d)] = true
			}
			for _, a := range after {
				assert.NotEqual(t, aboutWhat(*d), aboutWhat(a), a.Message)
				assert.True(t, a.Severity < diag.Warning || had[aboutWhat(a)] || a.Rule == c.brings, "%s: %s", a.Rule, a.Message)
			}
			if c.brings != "" {
				require.False(t, c.safe)
				assert.NotNil(t, findingOf(after, c.brings), "what makes the fix unsafe is not seen")
			}
		})
	}
}

// setsFix is where a rule's source gives a finding a fix.
var setsFix = regexp.MustCompile(`\.Fixes\s*=|Fixes:`)

// TestEveryFixIsTried: the file of each rule that sets a fix is known by the name of the rule, and the rule has a case.
func TestEveryFixIsTried(t *testing.T) {
	files, err := filepath.Glob("../*/*.go")
	require.NoError(t, err)
	carry := 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		name := strings.ReplaceAll(strings.TrimSuffix(filepath.Base(file), ".go"), "_", "-")
		if strings.HasSuffix(file, "_test.go") || filepath.Base(filepath.Dir(file)) == "report" || !setsFix.Match(text) {
			continue
		}
		carry++
		require.NotNil(t, rules.Find(name), "%s sets a fix and is not the file of a rule", file)
		assert.True(t, slices.ContainsFunc(fixCases, func(c fixCase) bool { return c.rule == name }), "no case tries the fix of %s", name)
	}
	assert.Positive(t, carry)
}

// findingOf is the first finding of a rule that carries a fix, else its first.
func findingOf(found diag.List, rule string) *diag.Diagnostic {
	var first *diag.Diagnostic
	for i := range found {
		if d := &found[i]; d.Rule == rule {
			if len(d.Fixes) > 0 {
				return d
			}
			if first == nil {
				first = d
			}
		}
	}
	return first
}

// aboutWhat is what makes a finding the same one before and after a change: its rule and its main designator.
func aboutWhat(d diag.Diagnostic) string {
	return d.Rule + " " + strings.Join(d.Refs[:min(1, len(d.Refs))], "")
}

// TestNoFixes has mistakes for which there is no exchange of two wires: three that are rotated, and two that end in one cavity.
func TestNoFixes(t *testing.T) {
	three := changed(t, plugs, change{`spare = ["3", "4"]`, `spare = ["4"]`}, change{`plugged = ["3", "4"]`, `plugged = ["4"]`},
		change{"[wire]\n", "[wire]\n24 = { from = \"F3:2\", to = \"X1:3\", net = \"MIDDLE\" }\n25 = { from = \"X2:3\", to = \"E3:1\", net = \"MIDDLE\" }\n"},
		change{"[part]\n", "[part]\nF3 = { kind = \"fuse\", rating = \"5 A\", spare = true }\nE3 = { kind = \"lamp\", load = \"5 W\", spare = true }\n"})
	for _, c := range []struct {
		name, text, rule string
	}{
		{"rotated", changed(t, three, change{`"X2:1"`, `"~"`}, change{`"X2:2"`, `"X2:1"`}, change{`"X2:3"`, `"X2:2"`}, change{`"~"`, `"X2:3"`}), "net-short"},
		{"in one cavity", changed(t, plugs, change{`"X2:2"`, `"X2:1"`}), "net-short"},
	} {
		d := findingOf(rulestest.Find(c.text), c.rule)
		require.NotNil(t, d, c.name)
		assert.Empty(t, d.Fixes, c.name)
	}
}
