package built_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/built"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/source"
)

// wires of the harness that the tests work on: two lamps and a module that comes with a wire of its own.
const wiresA = `
60a = { from = "F1:2", to = "X2:1", size = "12 AWG", color = "OG/BK", length = "1.3 m" }
60b = { from = "X2:1", to = "M1:1", size = "12 AWG", color = "OG/BK", length = "3 m" }
60c = { from = "M1:2", to = "G1:1", size = "12 AWG", color = "BK" }
100 = { from = "A1:1", to = "X2:2", supplied = true }
9a = { from = "F1:1", to = "BAT1:+", size = "10 AWG", color = "RD", length = "0.2 m" }
`

func harness(t *testing.T, revision, wires string) *built.Harness {
	t.Helper()
	n, _ := netlist.Parse("truck.toml", []byte(`[harness]
revision = "`+revision+`"
[body.frame]
[part]
BAT1 = { kind = "battery" }
F1 = { kind = "fuse", rating = "15 A" }
M1 = { kind = "motor", load = "7 A" }
A1 = { kind = "module", pins = ["1"] }
G1 = { kind = "ground point", body = "frame" }
[connector.X2]
cavities = 4
[wire]
`+wires))
	require.NotEmpty(t, n.Wires)
	return &built.Harness{Netlist: n, File: "truck.toml", Length: route.New(n).Length}
}

func read(t *testing.T, h *built.Harness, text string) (*built.Status, []string) {
	t.Helper()
	s, diags := built.Read(source.NewFile("truck.built.toml", []byte(text)), h)
	return s, said(diags)
}

// said writes findings as "line:column rule: message (help)".
func said(diags diag.List) []string {
	out := []string{}
	for _, d := range diags {
		place := ""
		if !d.Span.IsZero() {
			begin := d.Span.Begin()
			place = fmt.Sprintf("%d:%d ", begin.Line, begin.Column)
		}
		out = append(out, fmt.Sprintf("%s%s: %s (%s)", place, d.Rule, d.Message, d.Help))
	}
	return out
}

const head = "[built]\nof = \"truck.toml\"\n\n[wire]\n"

func TestReadTellsWhatIsWrong(t *testing.T) {
	h := harness(t, "B", wiresA)
	for name, c := range map[string]struct {
		text string
		want []string
	}{
		"good": {head + "60a = { stage = \"installed\", revision = \"A\", size = \"12 AWG\", length = \"1.3 m\" }\n60b = { stage = \"planned\" }\n", []string{}},
		"a wire that was made and is gone from the netlist": {head + "61d = { stage = \"installed\", revision = \"A\", from = \"X2:4\", to = \"M1:1\" }\n", []string{}},
		"no such wire": {head + "60x = { stage = \"cut\", revision = \"A\" }\n",
			[]string{`5:1 unknown-name: the netlist has no wire "60x" (did you mean "60a"?)`}},
		"nothing near": {head + "lamp = { stage = \"cut\", revision = \"A\" }\n",
			[]string{`5:1 unknown-name: the netlist has no wire "lamp" (take the line out; a wire that was made and taken out of the netlist later has its ends here, from and to)`}},
		"unknown stage": {head + "60a = { stage = \"crimpd\", revision = \"A\" }\n",
			[]string{`5:17 bad-value: "crimpd" is no stage (did you mean "crimped"?)`}},
		"another unknown stage": {head + "60a = { stage = \"welded on\", revision = \"A\" }\n",
			[]string{`5:17 bad-value: "welded on" is no stage (the stages are: planned, cut, crimped, installed, tested)`}},
		"no stage": {head + "60a = { revision = \"A\" }\n",
			[]string{`5:1 missing-key: 60a has no stage (write stage = "cut"; the stages are: planned, cut, crimped, installed, tested)`}},
		"twice": {head + "60a = { stage = \"cut\", revision = \"A\" }\n60a = { stage = \"crimped\", revision = \"A\" }\n",
			[]string{`6:1 duplicate-key: 60a is already given (keep one of the two; of a wire, as a rule, the line with the later stage)`}},
		"no revision": {head + "60a = { stage = \"cut\" }\n",
			[]string{"5:1 missing-key: 60a is cut, and the line does not say at which revision (write revision = \"B\", or take the line out and use `ferrule mark`)"}},
		"a revision that the netlist has not reached": {head + "60a = { stage = \"cut\", revision = \"C\" }\n",
			[]string{`5:35 later-revision: 60a is marked at revision C, and the netlist is at B (if the revision is misspelt, correct it; otherwise this is an older copy of the netlist than the one that the car was built to)`}},
		"another harness": {"[built]\nof = \"boat.toml\"\n",
			[]string{`2:6 other-harness: this status file is that of boat.toml, and lies where that of truck.toml is looked for (if the netlist was renamed, write of = "truck.toml"; otherwise this file belongs beside boat.toml, as boat.built.toml)`}},
		"no head":       {"[wire]\n", []string{`1:1 missing-key: this status file does not say which netlist it belongs to (write [built] and below it of = "truck.toml")`}},
		"an empty file": {"", []string{`1:1 missing-key: this status file does not say which netlist it belongs to (write [built] and below it of = "truck.toml")`}},
		"an empty head": {"[built]\n", []string{`1:2 missing-key: [built] does not say which netlist it belongs to (write of = "truck.toml")`}},
		"a key of the head": {"[built]\nfor = \"truck.toml\"\n", []string{
			`1:2 missing-key: [built] does not say which netlist it belongs to (write of = "truck.toml")`, `2:1 unknown-key: [built] has no key "for" (did you mean "of"?)`}},
		"an unknown key": {head + "60a = { stage = \"cut\", revision = \"A\", colour = \"OG\" }\n",
			[]string{`5:40 unknown-key: a wire's status has no key "colour" (did you mean "color"?)`}},
		"an unknown section":  {head + "[wires]\n", []string{`5:2 unknown-key: a status file has no section "wires" (did you mean "wire"?)`}},
		"a netlist's section": {head + "[part]\n", []string{`5:2 unknown-key: a status file has no section "part" (it has [built] and [wire]; what belongs into the netlist goes into truck.toml)`}},
		"a wrong type":        {head + "60a = \"cut\"\n", []string{`5:7 wrong-type: 60a is a table (write 60a = { stage = "cut", revision = "A" })`}},
		"a number":            {head + "60a = { stage = 2 }\n", []string{`5:17 wrong-type: stage is a text in quotes, such as "cut" (write stage = "cut")`}},
		"a wrong size": {head + "60a = { stage = \"cut\", revision = \"A\", size = \"fat\" }\n",
			[]string{`5:47 bad-value: "fat" is not a conductor size: write "14 AWG" or "2.5 mm2" (write it as the netlist does: size = "12 AWG")`}},
		"a length beyond any vehicle": {head + "60a = { stage = \"cut\", revision = \"A\", length = \"1300 m\" }\n",
			[]string{`5:49 bad-value: "1300 m" is out of range: a wire of a vehicle is up to 100 m long (write it as the netlist does: length = "3 m")`}},
		"cut here though it comes with its device": {head + "100 = { stage = \"cut\", revision = \"A\" }\n",
			[]string{`5:17 bad-value: 100 comes with its device (supplied = true) and is not cut here (write installed when it is on the vehicle, or take the line out)`}},
		"an unfinished merge": {head + "<<<<<<< HEAD\n60a = { stage = \"cut\", revision = \"A\" }\n60b = { stage = \"cut\", revision = \"A\" }\n=======\n60a = { stage = \"crimped\", revision = \"A\" }\n>>>>>>> bench\n60c = { stage = \"cut\", revision = \"A\" }\n<<<<<<< HEAD\n=======\n9a = {}\n>>>>>>> bench\n",
			[]string{
				`5:1 merge-conflict: git could not merge what two people have marked: 60a, 60b (keep one line for each wire, as a rule the one with the later stage, and take out the lines with <<<<<<<, ======= and >>>>>>>)`,
				`12:1 merge-conflict: git could not merge what two people have marked: 9a (keep one line for each wire, as a rule the one with the later stage, and take out the lines with <<<<<<<, ======= and >>>>>>>)`,
			}},
		"the rest of a merge": {head + "60a = { stage = \"cut\", revision = \"A\" }\n>>>>>>> bench\n",
			[]string{`6:1 merge-conflict: git could not merge what two people have marked: a place (keep one line for each wire, as a rule the one with the later stage, and take out the lines with <<<<<<<, ======= and >>>>>>>)`}},
	} {
		t.Run(name, func(t *testing.T) {
			_, got := read(t, h, c.text)
			assert.Equal(t, c.want, got)
		})
	}
}

func TestOlder(t *testing.T) {
	for name, c := range map[string]struct{ line, says, do string }{
		"the same":                       {`60b = { stage = "installed", revision = "A", size = "12 AWG", color = "OG/BK", from = "X2:1", to = "M1:1", length = "3 m" }`, "", ""},
		"the ends the other way":         {`60b = { stage = "installed", revision = "A", size = "12 AWG", from = "M1:1", to = "X2:1" }`, "", ""},
		"a little short, a lot too long": {`60b = { stage = "cut", revision = "A", length = "2.99 m" }` + "\n" + `60a = { stage = "cut", revision = "A", length = "9 m" }`, "", ""},
		"planned":                        {`60b = { stage = "planned", size = "4 AWG" }`, "", ""},
		"the size": {`60b = { stage = "installed", revision = "A", size = "14 AWG", color = "OG/BK", from = "X2:1", to = "M1:1" }`,
			"60b is on the car since revision A as 14 AWG OG/BK X2:1 - M1:1; the netlist now says 12 AWG", "make it anew of 12 AWG"},
		"size and colour": {`60b = { stage = "tested", revision = "A", size = "14 AWG", color = "OG" }`,
			"60b is on the car, tested at revision A as 14 AWG OG; the netlist now says 12 AWG, OG/BK", "make it anew of 12 AWG"},
		"the colour": {`60b = { stage = "crimped", revision = "A", color = "OG" }`,
			"60b was crimped at revision A as OG; the netlist now says OG/BK", "make it anew in OG/BK, or write the colour that it has into the netlist"},
		"one end": {`60b = { stage = "installed", revision = "A", from = "X2:3", to = "M1:1" }`,
			"60b is on the car since revision A as X2:3 - M1:1; the netlist now says X2:1", "move its end at X2:3 to X2:1, and label it anew"},
		"one end, the other way": {`60b = { stage = "installed", revision = "A", from = "M1:1", to = "X2:3" }`,
			"60b is on the car since revision A as M1:1 - X2:3; the netlist now says X2:1", "move its end at X2:3 to X2:1, and label it anew"},
		"both ends": {`60b = { stage = "installed", revision = "A", from = "X2:3", to = "M1:2" }`,
			"60b is on the car since revision A as X2:3 - M1:2; the netlist now says X2:1 - M1:1", "move both ends to X2:1 - M1:1, and label it anew"},
		"too short": {`60b = { stage = "cut", revision = "A", length = "2.8 m" }`,
			"60b was cut at revision A as 2.8 m; the netlist now says 3 m", "it is 0.2 m too short: make it anew, or lengthen it at a splice of the netlist"},
	} {
		t.Run(name, func(t *testing.T) {
			s, diags := read(t, harness(t, "B", wiresA), head+c.line+"\n")
			require.Empty(t, diags)
			older := s.Older()
			if c.says == "" {
				assert.Empty(t, older)
				return
			}
			require.Len(t, older, 1)
			assert.Equal(t, c.says, older[0].Says())
			assert.Equal(t, c.do, older[0].Do())
		})
	}
}

func TestProgress(t *testing.T) {
	s, diags := read(t, harness(t, "B", wiresA), head+`9a = { stage = "tested", revision = "A" }
60a = { stage = "crimped", revision = "A", size = "14 AWG" }
61d = { stage = "installed", revision = "A", from = "X2:4", to = "M1:1" }
61c = { stage = "cut", revision = "A", from = "X2:4", to = "M1:1" }
100 = { stage = "installed", revision = "A" }
`)
	require.Empty(t, diags)
	p := s.Progress()
	assert.Equal(t, built.Progress{Wires: 5, Here: 4, Reached: [5]int{5, 2, 2, 2, 1}, Older: 1, Removed: 2}, p)
	assert.Equal(t, 4, p.Of(built.Cut))
	assert.Equal(t, 5, p.Of(built.Installed))
	var gone []string
	for _, r := range s.Removed() {
		gone = append(gone, r.Name.Text)
	}
	assert.Equal(t, []string{"61c", "61d"}, gone)
	next := map[string]string{}
	for _, w := range s.Harness.Netlist.Wires {
		if stage, open := s.Next(w); open {
			next[w.Name.Text] = stage.String()
		}
	}
	assert.Equal(t, map[string]string{"60a": "installed", "60b": "cut", "60c": "cut", "100": "tested"}, next)
	assert.Equal(t, built.Progress{Wires: 5, Here: 4, Reached: [5]int{5}}, ptr(built.None(harness(t, "B", wiresA)).Progress()))
}

func ptr(p built.Progress) built.Progress { return p }

// mark carries out orders written as "60a cut".
func mark(t *testing.T, s *built.Status, o built.Options, orders ...string) (*built.Plan, []string) {
	t.Helper()
	var list []built.Order
	for _, text := range orders {
		words := strings.Fields(text)
		stage, ok := built.ParseStage(words[1])
		require.True(t, ok)
		w := s.Harness.Netlist.Wire(words[0])
		require.NotNil(t, w, words[0])
		list = append(list, built.Order{Wire: w, Stage: stage, AtLeast: len(words) > 2})
	}
	plan, diags, err := s.Mark(list, o)
	require.NoError(t, err)
	return plan, said(diags)
}

func TestMarkWritesAFile(t *testing.T) {
	plan, refused := mark(t, built.None(harness(t, "B", wiresA)), built.Options{}, "60b cut", "100 installed", "9a crimped", "60a cut", "9a cut", "60c planned")
	require.Empty(t, refused)
	assert.Equal(t, 1, plan.Already)
	want := `# As-built status of truck.toml: how far each wire is, and what was made. "ferrule mark" writes it, and it may be edited by hand.
# One wire a line. The stage is planned, cut, crimped, installed or tested; a wire without a line is planned. The rest is what
# the netlist said at that revision, and so what was made: leave it as it is when the netlist changes later.

[built]
of = "truck.toml"

[wire]
9a  = { stage = "crimped",   revision = "B", size = "10 AWG", color = "RD",    from = "F1:1", to = "BAT1:+", length = "0.2 m" }
60a = { stage = "cut",       revision = "B", size = "12 AWG", color = "OG/BK", from = "F1:2", to = "X2:1",   length = "1.3 m" }
60b = { stage = "cut",       revision = "B", size = "12 AWG", color = "OG/BK", from = "X2:1", to = "M1:1",   length = "3 m" }
100 = { stage = "installed", revision = "B", from = "A1:1", to = "X2:2" }
`
	assert.Equal(t, want, string(plan.Text))
	s, diags := read(t, harness(t, "B", wiresA), want)
	assert.Empty(t, diags)
	assert.Empty(t, s.Older())
}

// TestMarkChangesNothingElse: comments, order, columns and line ends stay.
func TestMarkChangesNothingElse(t *testing.T) {
	for name, c := range map[string]struct{ before, after, order string }{
		"columns stay": {
			head + "60a = { stage = \"cut\",       revision = \"A\", size = \"12 AWG\", color = \"OG/BK\", from = \"F1:2\", to = \"X2:1\", length = \"1.3 m\" } # by J.\n# two\n",
			head + "60a = { stage = \"installed\", revision = \"B\", size = \"12 AWG\", color = \"OG/BK\", from = \"F1:2\", to = \"X2:1\", length = \"1.3 m\" } # by J.\n# two\n", "60a installed"},
		"what is missing is added": {
			head + "60a = { stage = \"cut\", revision = \"A\" } # by hand\n",
			head + "60a = { stage = \"crimped\", revision = \"B\", size = \"12 AWG\", color = \"OG/BK\", from = \"F1:2\", to = \"X2:1\", length = \"1.3 m\" } # by hand\n", "60a crimped"},
		"a new line in its place": {
			head + "# box 1\n9a = { stage = \"cut\", revision = \"A\" } # first\n# box 2\n60b = { stage = \"cut\", revision = \"A\" }\n",
			head + "# box 1\n9a = { stage = \"cut\", revision = \"A\" } # first\n60a = { stage = \"cut\",       revision = \"B\", size = \"12 AWG\", color = \"OG/BK\", from = \"F1:2\", to = \"X2:1\",   length = \"1.3 m\" }\n# box 2\n60b = { stage = \"cut\", revision = \"A\" }\n", "60a cut"},
		"before the first": {
			head + "60b = { stage = \"cut\", revision = \"A\" }",
			head + "60a = { stage = \"cut\",       revision = \"B\", size = \"12 AWG\", color = \"OG/BK\", from = \"F1:2\", to = \"X2:1\",   length = \"1.3 m\" }\n60b = { stage = \"cut\", revision = \"A\" }", "60a cut"},
		"behind a last line without an end": {
			head + "9a = { stage = \"cut\", revision = \"A\" }",
			head + "9a = { stage = \"cut\", revision = \"A\" }\n60a = { stage = \"cut\",       revision = \"B\", size = \"12 AWG\", color = \"OG/BK\", from = \"F1:2\", to = \"X2:1\",   length = \"1.3 m\" }\n", "60a cut"},
		"line ends of the other world": {
			"[built]\r\nof = \"truck.toml\"\r\n[wire]\r\n9a = { stage = \"cut\", revision = \"A\" }\r\n",
			"[built]\r\nof = \"truck.toml\"\r\n[wire]\r\n9a = { stage = \"cut\", revision = \"A\" }\r\n60a = { stage = \"cut\",       revision = \"B\", size = \"12 AWG\", color = \"OG/BK\", from = \"F1:2\", to = \"X2:1\",   length = \"1.3 m\" }\r\n", "60a cut"},
		"no section yet": {
			"[built]\nof = \"truck.toml\"",
			"[built]\nof = \"truck.toml\"\n\n[wire]\n60c = { stage = \"cut\",       revision = \"B\", size = \"12 AWG\", color = \"BK\",    from = \"M1:2\", to = \"G1:1\" }\n", "60c cut"},
		"tables under headers": {
			"[built]\nof = \"truck.toml\"\n[wire.60a]\nstage = \"cut\" # now\nrevision = \"A\"\n",
			"[built]\nof = \"truck.toml\"\n[wire.60a]\nstage = \"crimped\" # now\nrevision = \"B\"\nsize = \"12 AWG\"\ncolor = \"OG/BK\"\nfrom = \"F1:2\"\nto = \"X2:1\"\nlength = \"1.3 m\"\n", "60a crimped"},
		"a new wire beside tables under headers": {
			"[built]\nof = \"truck.toml\"\n[wire.60a]\nstage = \"cut\"\nrevision = \"A\"\n",
			"[built]\nof = \"truck.toml\"\n[wire.60a]\nstage = \"cut\"\nrevision = \"A\"\n\n[wire]\n60c = { stage = \"cut\",       revision = \"B\", size = \"12 AWG\", color = \"BK\",    from = \"M1:2\", to = \"G1:1\" }\n", "60c cut"},
		"nothing to do":         {head + "60a = { stage = \"cut\", revision = \"A\" }\n", head + "60a = { stage = \"cut\", revision = \"A\" }\n", "60a cut"},
		"a list from last week": {head + "60a = { stage = \"tested\", revision = \"A\" }\n", head + "60a = { stage = \"tested\", revision = \"A\" }\n", "60a cut at-least"},
	} {
		t.Run(name, func(t *testing.T) {
			s, diags := read(t, harness(t, "B", wiresA), c.before)
			require.Empty(t, diags)
			plan, refused := mark(t, s, built.Options{}, c.order)
			require.Empty(t, refused)
			assert.Equal(t, c.after, string(plan.Text))
		})
	}
}

func TestMarkHasToBeAsked(t *testing.T) {
	const old = `60b = { stage = "crimped", revision = "A", size = "14 AWG", color = "OG/BK", from = "X2:1", to = "M1:1", length = "3 m" } # J.` + "\n"
	for name, c := range map[string]struct {
		line, order string
		options     built.Options
		want        string // the line afterwards, or what speaks against it
	}{
		"a step back": {`60b = { stage = "tested", revision = "B" }` + "\n", "60b cut", built.Options{},
			`5:17 step-back: 60b is tested already; cut would be a step back (say --back if that is meant)`},
		"a step back that is meant": {`60b = { stage = "tested", revision = "B", size = "12 AWG", color = "OG/BK", from = "X2:1", to = "M1:1", length = "3 m" }` + "\n", "60b crimped", built.Options{Back: true},
			`60b = { stage = "crimped", revision = "B", size = "12 AWG", color = "OG/BK", from = "X2:1", to = "M1:1", length = "3 m" }` + "\n"},
		"back to nothing": {old, "60b planned", built.Options{Back: true}, `60b = { stage = "planned" } # J.` + "\n"},
		"older": {old, "60b installed", built.Options{},
			`5:17 older-piece: 60b was crimped at revision A as 14 AWG OG/BK X2:1 - M1:1, 3 m; the netlist now says 12 AWG (say --anew if it has been made anew as the netlist is now, --as-built if it is the old piece that is now installed)`},
		"older, as it is":             {old, "60b installed", built.Options{AsBuilt: true}, strings.Replace(old, "crimped", "installed", 1)},
		"older, made anew":            {old, "60b installed", built.Options{Anew: true}, strings.NewReplacer("crimped", "installed", "14 AWG", "12 AWG", `"A"`, `"B"`).Replace(old)},
		"older, begun anew":           {old, "60b cut", built.Options{Anew: true}, strings.NewReplacer(`"crimped",`, `"cut",    `, "14 AWG", "12 AWG", `"A"`, `"B"`).Replace(old)},
		"a new one as far as the old": {old, "60b crimped", built.Options{Anew: true}, strings.NewReplacer("14 AWG", "12 AWG", `"A"`, `"B"`).Replace(old)},
		"longer than asked for: it stays so": {strings.NewReplacer("14 AWG", "12 AWG", "3 m", "3.5 m").Replace(old), "60b installed", built.Options{},
			strings.NewReplacer("14 AWG", "12 AWG", "3 m", "3.5 m", "crimped", "installed", `"A"`, `"B"`).Replace(old)},
		"only too short: it moves on and stays so": {strings.NewReplacer("14 AWG", "12 AWG", "3 m", "2.5 m").Replace(old), "60b installed", built.Options{},
			strings.NewReplacer("14 AWG", "12 AWG", "3 m", "2.5 m", "crimped", "installed", `"A"`, `"B"`).Replace(old)},
		"comes with its device": {"", "100 crimped", built.Options{}, `not-cut-here: 100 comes with its device (supplied = true) and is not crimped here (mark it installed when it is on the vehicle)`},
	} {
		t.Run(name, func(t *testing.T) {
			s, diags := read(t, harness(t, "B", wiresA), head+c.line)
			require.Empty(t, diags)
			plan, refused := mark(t, s, c.options, c.order)
			if len(refused) > 0 {
				assert.Equal(t, []string{c.want}, refused)
				assert.Nil(t, plan)
				return
			}
			assert.Equal(t, head+c.want, string(plan.Text))
		})
	}
}

func TestMarkNeedsARevision(t *testing.T) {
	h := harness(t, "", wiresA)
	plan, refused := mark(t, built.None(h), built.Options{}, "60a cut")
	assert.Nil(t, plan)
	assert.Equal(t, []string{`1:1 missing-key: the netlist states no revision, and a mark says at which one a wire was built (write revision = "A" under [harness])`}, refused[len(refused)-1:])
}

// TestManyRefusalsAreCounted: a range of a hundred wires does not print a hundred findings.
func TestManyRefusalsAreCounted(t *testing.T) {
	var wires, lines, orders []string
	for i := range 30 {
		wires = append(wires, fmt.Sprintf("W%d = { from = \"M1:1\", to = \"G1:1\" }", i))
		lines = append(lines, fmt.Sprintf("W%d = { stage = \"tested\", revision = \"A\" }", i))
		orders = append(orders, fmt.Sprintf("W%d cut", i))
	}
	s, _ := read(t, harness(t, "B", strings.Join(wires, "\n")), head+strings.Join(lines, "\n"))
	_, refused := mark(t, s, built.Options{}, orders...)
	require.Len(t, refused, 10)
	assert.Contains(t, refused[9], "and 20 more wires like it")
}

// TestMarkRefusesWhatItCannotWrite: an error, and no half of a mark, where TOML leaves no place for a line.
func TestMarkRefusesWhatItCannotWrite(t *testing.T) {
	for _, text := range []string{
		"built = { of = \"truck.toml\" }\nwire = { 9a = { stage = \"cut\", revision = \"A\" } }\n",
		"built.of = \"truck.toml\"\nwire.9a.stage = \"cut\"\nwire.9a.revision = \"A\"\n",
	} {
		s, diags := read(t, harness(t, "B", wiresA), text)
		require.Empty(t, diags)
		_, refused, err := s.Mark([]built.Order{{Wire: s.Harness.Netlist.Wire("60a"), Stage: built.Cut}}, built.Options{})
		assert.Empty(t, refused)
		assert.ErrorContains(t, err, "write each wire on a line of its own", text)
	}
}

func TestReadFilled(t *testing.T) {
	h := harness(t, "B", wiresA)
	for name, c := range map[string]struct {
		text   string
		orders string
		rows   int
		wrong  []string
	}{
		"stages":          {"wire,stage\n60a,cut\n60b,Crimped\n60c,\n", "60a cut, 60b crimped", 3, []string{}},
		"ticks":           {"wire,size,cut,label,crimp,pull\n60a,12 AWG,x,,,\n60b,12 AWG,x,x,X,95 N\n60c,12 AWG,,x,,\n,,,,,\n", "60a cut+, 60b crimped+", 3, []string{}},
		"semicolons":      {"\ufeffWire;Note;Tested\r\n60a;\"long; with a sign\";yes\r\n", "60a tested+", 1, []string{}},
		"tabs":            {"wire\tstage\n60a\tcut\n", "60a cut", 1, []string{}},
		"a guarded name":  {"wire,stage\n'-9,cut\n", "", 1, []string{`2:1 unknown-name: the netlist has no wire "-9" (look whether the list is that of this netlist, and of this revision)`}},
		"an unknown wire": {"wire,stage\n60a,cut\n60x,cut\n", "60a cut", 2, []string{`3:1 unknown-name: the netlist has no wire "60x" (did you mean "60a"?)`}},
		"bad words": {"wire,stage,cut\n60a,cuts,\n60b,,maybe\n60c,cut,\n60c,cut,\n,tested,\n", "60c cut", 2, []string{
			`2:5 bad-value: "cuts" is no stage (did you mean "cut"?)`, `3:6 bad-value: "maybe" is neither a tick nor an empty box (write x, or leave it empty)`,
			`5:1 duplicate-key: 60c stands in this list twice (take one of the two lines out; the first is line 4)`,
			`6:1 missing-key: this line has a mark and names no wire (write the wire into the column "wire", or take the mark out)`}},
		"the column of the byte order mark": {"\ufeffwire,stage\n,cut\n", "", 0, []string{`2:1 missing-key: this line has a mark and names no wire (write the wire into the column "wire", or take the mark out)`}},
		"a column twice":                    {"wire,stage,wire\n60a,cut,60b\n", "", 0, []string{`1:12 duplicate-key: this list has the column "wire" twice (take one of the two out, since they may differ)`}},
		"no column wire":                    {"wires,stage\n60a,cut\n", "", 0, []string{`1:1 missing-key: this list has no column "wire" (is it "wires"? the first line names the columns: wire and stage, or wire and boxes to tick (cut, label, crimp, pull, installed, tested))`}},
		"nothing to tick":                   {"wire,size\n60a,12\n", "", 0, []string{`1:1 missing-key: this list has no column that says how far a wire is (the first line names the columns: wire and stage, or wire and boxes to tick (cut, label, crimp, pull, installed, tested))`}},
		"empty":                             {"", "", 0, []string{`1:1 syntax: this list is empty (its first line has to name the columns: wire and stage, or wire and boxes to tick)`}},
	} {
		t.Run(name, func(t *testing.T) {
			orders, rows, diags := built.ReadFilled(source.NewFile("list.csv", []byte(c.text)), h)
			assert.Equal(t, c.wrong, said(diags))
			assert.Equal(t, c.rows, rows)
			var got []string
			for _, o := range orders {
				text := o.Wire.Name.Text + " " + o.Stage.String()
				if o.AtLeast {
					text += "+"
				}
				got = append(got, text)
			}
			assert.Equal(t, c.orders, strings.Join(got, ", "))
		})
	}
}

// FuzzRead: whatever the text, reading does not panic; and where a mark can be put in, the mark is read back, every other
// wire stays as it is, and nothing but one stretch for each wire has changed.
func FuzzRead(f *testing.F) {
	f.Add(head + "60a = { stage = \"cut\", revision = \"A\", size = \"12 AWG\", to = \"X2:1\" } # c\n")
	f.Add("[built]\nof = 'truck.toml'\n[wire.60a]\nstage = 'cut'\nrevision = 'B'\n[wire]\n60b = {}\n")
	f.Add("<<<<<<< a\n=======\n>>>>>>> b\n")
	f.Add("wire.60a = { stage = \"cut\" }\nbuilt = {}\r\n")
	n, _ := netlist.Parse("truck.toml", []byte("[harness]\nrevision = \"B\"\n[part]\nM1 = { kind = \"motor\", load = \"7 A\" }\n[wire]"+wiresA))
	h := &built.Harness{Netlist: n, File: "truck.toml", Length: route.New(n).Length}
	f.Fuzz(func(t *testing.T, text string) {
		s, diags := built.Read(source.NewFile("truck.built.toml", []byte(text)), h)
		s.Progress()
		for _, d := range diags {
			d.Span.Begin()
		}
		if diags.HasErrors() {
			return
		}
		plan, refused, err := s.Mark([]built.Order{{Wire: n.Wire("60a"), Stage: built.Tested}, {Wire: n.Wire("9a"), Stage: built.Cut, AtLeast: true}}, built.Options{Anew: true})
		if err != nil || len(refused) > 0 {
			return
		}
		again, diags := built.Read(source.NewFile("truck.built.toml", plan.Text), h)
		require.False(t, diags.HasErrors(), "%s", plan.Text)
		assert.Equal(t, built.Tested, again.Stage(n.Wire("60a")))
		assert.GreaterOrEqual(t, again.Stage(n.Wire("9a")), built.Cut)
		for _, r := range s.Records {
			if r.Name.Text != "60a" && r.Name.Text != "9a" {
				now := again.Record(r.Name.Text)
				require.NotNil(t, now)
				assert.Equal(t, []any{r.Stage, r.Revision.Text, r.Made}, []any{now.Stage, now.Revision.Text, now.Made})
			}
		}
	})
}

func FuzzReadFilled(f *testing.F) {
	f.Add("wire,stage\n60a,cut\n")
	f.Add("\ufeffwire;cut;pull\r\n\"60a\";x;9\r\n")
	f.Add("wire\tcut\n\"60")
	n := &model.Netlist{}
	f.Fuzz(func(t *testing.T, text string) {
		_, _, diags := built.ReadFilled(source.NewFile("list.csv", []byte(text)), &built.Harness{Netlist: n, File: "truck.toml"})
		for _, d := range diags {
			d.Span.Begin()
		}
	})
}
