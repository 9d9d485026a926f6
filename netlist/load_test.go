package netlist_test

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/rules"
	_ "ferrule/rules/all"
	"ferrule/rules/rulestest"
)

// TestLanguageErrors runs netlists that are wrong in every way that the language knows, and say so below each line.
func TestLanguageErrors(t *testing.T) {
	rulestest.Dir(t, os.DirFS("testdata"), "language")
}

// files makes a file system of names and texts.
func files(texts map[string]string) fs.FS {
	out := fstest.MapFS{}
	for name, text := range texts {
		out[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return out
}

// lines writes diagnostics one a line: place, rule, message, help.
func lines(list diag.List) []string {
	var out []string
	for _, d := range list {
		begin := d.Span.Begin()
		out = append(out, fmt.Sprintf("%s:%d:%d %s: %s (%s)", d.Span.File.Name, begin.Line, begin.Column, d.Rule, d.Message, d.Help))
	}
	return out
}

func TestIncludes(t *testing.T) {
	lamp := "[part]\nE1 = { kind = \"lamp\", load = \"5 W\" }\n"
	for _, c := range []struct {
		name  string
		texts map[string]string
		parts int
		want  []string
	}{
		{"two files", map[string]string{"h/root.toml": `include = ["lights.toml", "sub/more.toml"]`, "h/lights.toml": lamp, "h/sub/more.toml": "[part]\nE2 = { kind = \"lamp\", load = \"5 W\" }\n"}, 2, nil},
		{"a file that includes", map[string]string{"h/root.toml": `include = ["sub/a.toml"]`, "h/sub/a.toml": `include = ["b.toml"]`, "h/sub/b.toml": lamp}, 1, nil},
		{"back up within the folder", map[string]string{"h/root.toml": `include = ["sub/a.toml"]`, "h/sub/a.toml": `include = ["../b.toml"]`, "h/b.toml": lamp}, 1, nil},
		{"itself", map[string]string{"h/root.toml": `include = ["root.toml"]`}, 0,
			[]string{`h/root.toml:1:12 include: "root.toml" includes itself, directly or through others (remove one of the includes in the circle)`}},
		{"a circle", map[string]string{"h/root.toml": `include = ["a.toml"]`, "h/a.toml": `include = ["b.toml"]`, "h/b.toml": "\ninclude = [\"a.toml\"]"}, 0,
			[]string{`h/b.toml:2:12 include: "a.toml" includes itself, directly or through others (remove one of the includes in the circle)`}},
		{"twice", map[string]string{"h/root.toml": `include = ["a.toml", "a.toml"]`, "h/a.toml": lamp}, 1,
			[]string{`h/root.toml:1:22 include: "a.toml" is included already (remove one of the two)`}},
		{"outside", map[string]string{"h/root.toml": `include = ["../x.toml"]`, "x.toml": lamp}, 0,
			[]string{`h/root.toml:1:12 include: "../x.toml" lies outside the folder of the netlist (move the file into the folder of the root file and give its path from there, with /)`}},
		{"outside by another way", map[string]string{"h/root.toml": `include = ["sub/../../x.toml"]`, "x.toml": lamp}, 0,
			[]string{`h/root.toml:1:12 include: "sub/../../x.toml" lies outside the folder of the netlist (move the file into the folder of the root file and give its path from there, with /)`}},
		{"a folder of a longer name", map[string]string{"h/root.toml": `include = ["../hx/x.toml"]`, "hx/x.toml": lamp}, 0,
			[]string{`h/root.toml:1:12 include: "../hx/x.toml" lies outside the folder of the netlist (move the file into the folder of the root file and give its path from there, with /)`}},
		{"absolute", map[string]string{"h/root.toml": `include = ["/etc/passwd"]`}, 0,
			[]string{`h/root.toml:1:12 include: "/etc/passwd" lies outside the folder of the netlist (move the file into the folder of the root file and give its path from there, with /)`}},
		{"missing, one is near", map[string]string{"h/root.toml": `include = ["light.toml"]`, "h/lights.toml": lamp}, 0,
			[]string{`h/root.toml:1:12 include: cannot include "light.toml": there is no such file (did you mean "lights.toml"?)`}},
		{"missing, none is near", map[string]string{"h/root.toml": `include = ["wiring-of-the-doors.toml"]`}, 0,
			[]string{`h/root.toml:1:12 include: cannot include "wiring-of-the-doors.toml": there is no such file ()`}},
		{"no list", map[string]string{"h/root.toml": `include = "a.toml"`}, 0,
			[]string{`h/root.toml:1:11 wrong-type: include is a list of files (write include = ["lights.toml"])`}},
		{"no text", map[string]string{"h/root.toml": `include = [5]`}, 0,
			[]string{`h/root.toml:1:12 wrong-type: an included file is a text in quotes (write include = ["lights.toml"])`}},
		{"one designator in two files", map[string]string{"h/root.toml": "include = [\"a.toml\"]\n" + lamp, "h/a.toml": lamp}, 1,
			[]string{`h/a.toml:2:1 duplicate-name: part E1 is already defined (give one of the two another name, or remove one)`}},
		{"a part and a splice of one name", map[string]string{"h/root.toml": lamp + "[splice]\nE1 = {}\n"}, 1,
			[]string{`h/root.toml:4:1 duplicate-name: E1 is already defined (give one of the two another name, or remove one)`}},
		{"errors of all files in one run", map[string]string{"h/root.toml": "include = [\"a.toml\"]\n[wires]\n", "h/a.toml": "[part]\nE1 = { kind = \"lmap\" }\n"}, 1,
			[]string{
				`h/a.toml:2:15 unknown-name: there is no kind "lmap" (did you mean "lamp"?)`,
				`h/root.toml:2:2 unknown-key: a netlist has no section "wires" (did you mean "wire"?)`,
			}},
	} {
		t.Run(c.name, func(t *testing.T) {
			n, found, err := netlist.Load(files(c.texts), "h/root.toml")
			require.NoError(t, err)
			assert.Equal(t, c.want, lines(found))
			assert.Len(t, n.Parts, c.parts)
		})
	}
}

func TestADuplicateShowsTheFirst(t *testing.T) {
	_, found, err := netlist.Load(files(map[string]string{
		"root.toml": "include = [\"a.toml\"]\n[wire]\nW1 = {}\n", "a.toml": "[wire]\nW1 = {}\n",
	}), "root.toml")
	require.NoError(t, err)
	require.Len(t, found, 1)
	require.Len(t, found[0].Related, 1)
	assert.Equal(t, "root.toml", found[0].Related[0].Span.File.Name)
	assert.Equal(t, "W1", found[0].Related[0].Span.Text())
}

func TestARootThatCannotBeReadIsAnError(t *testing.T) {
	_, _, err := netlist.Load(files(nil), "root.toml")
	assert.ErrorIs(t, err, fs.ErrNotExist)
}

func TestATextAloneIncludesNothing(t *testing.T) {
	_, found := netlist.Parse("-", []byte(`include = ["a.toml"]`))
	assert.Equal(t, []string{`-:1:12 include: a text without a folder cannot include "a.toml" (give the file's name to the command instead of standard input)`}, lines(found))
}

// TestWhatCouldBeReadIsThere: a broken netlist still yields a model, and a wire without an end joins nothing.
func TestWhatCouldBeReadIsThere(t *testing.T) {
	n, found := netlist.Parse("x.toml", []byte(`[part]
E1 = { kind = "lamp", load = "5 W" }
E2 = { kind = "lamp, load = "5 W" }
[link]
L1 = { joins = [], rail = "30" }
[wire]
W1 = { to = "E1:2", net = "FEED" }
W2 = { net = "FEED" }
W3 = { from = "E1:2", to = "E9:1" }
`))
	require.NotEmpty(t, found)
	require.Len(t, n.Wires, 3)
	require.NotNil(t, n.Owner("E1"))
	g := graph.New(n)
	first := g.Nets[0]
	assert.False(t, first.Stated, "W1 has one end, so it states nothing of the first terminal of the file")
	for i := range g.Edges {
		assert.NotEqual(t, graph.Wire, g.Edges[i].Kind, "no wire has two ends that are there")
	}
}

// FuzzCheck holds everything that runs on a netlist to never panic, whatever the text, and to give findings with places
// within the text.
func FuzzCheck(f *testing.F) {
	seeds := []string{"testdata/language/*.toml", "../rules/testdata/*/*.toml", "../examples/*/*.toml"}
	for _, pattern := range seeds {
		names, err := filepath.Glob(pattern)
		require.NoError(f, err)
		require.NotEmpty(f, names, pattern)
		for _, name := range names {
			text, err := os.ReadFile(name)
			require.NoError(f, err)
			f.Add(text)
		}
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		n, found := netlist.Parse("x.toml", text)
		g := graph.New(n)
		found = append(found, rules.Check(g).Findings...)
		for _, d := range found {
			if d.Span.IsZero() || d.Span.File.Name != "x.toml" || int(d.Span.End) > len(text) || d.Span.Start > d.Span.End {
				t.Errorf("%s: %s has no place in the text", d.Rule, d.Message)
			}
			for _, r := range d.Related {
				if !r.Span.IsZero() && (r.Span.File.Name != "x.toml" || int(r.Span.End) > len(text)) {
					t.Errorf("%s: a related place of %s is not in the text", d.Rule, d.Message)
				}
			}
		}
	})
}
