package edit_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/edit"
	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
)

func TestApply(t *testing.T) {
	f := source.NewFile("a.toml", []byte("0123456789"))
	out, err := edit.Apply(f.Text, []edit.Edit{{Span: f.Span(7, 9), New: "X"}, {Span: f.Span(0, 0), New: "<"}, {Span: f.Span(2, 4), New: ""}, {Span: f.Span(10, 10), New: ">"}})
	require.NoError(t, err)
	assert.Equal(t, "<01456X9>", string(out))
	assert.Equal(t, "0123456789", string(f.Text), "the given text stays")
}

func TestApplyRefuses(t *testing.T) {
	f := source.NewFile("a.toml", []byte("0123456789"))
	for name, edits := range map[string][]edit.Edit{
		"overlap":        {{Span: f.Span(2, 5), New: "x"}, {Span: f.Span(4, 6), New: "y"}},
		"same span":      {{Span: f.Span(2, 5), New: "x"}, {Span: f.Span(2, 5), New: "x"}},
		"two insertions": {{Span: f.Span(3, 3), New: "x"}, {Span: f.Span(3, 3), New: "y"}},
		"insert inside":  {{Span: f.Span(2, 5), New: "x"}, {Span: f.Span(3, 3), New: "y"}},
		"outside":        {{Span: source.Span{File: f, Start: 5, End: 11}, New: "x"}},
		"backwards":      {{Span: source.Span{File: f, Start: 5, End: 4}, New: "x"}},
		"negative":       {{Span: source.Span{File: f, Start: -1, End: 4}, New: "x"}},
	} {
		_, err := edit.Apply(f.Text, edits)
		assert.Error(t, err, name)
	}
	_, err := edit.ApplyAll([]edit.Edit{{New: "x"}})
	assert.Error(t, err)
}

// TestSet changes and inserts in every form in which the language lets a wire be written.
func TestSet(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"replaced, comment and columns stay",
			"[wire]\n1a = { from = \"A:1\",  size = \"14 AWG\", to = \"B:1\" } # feed\n",
			"[wire]\n1a = { from = \"A:1\",  size = \"10 AWG\", to = \"B:1\" } # feed\n"},
		{"single quotes stay", "[wire]\n1a = { size = '14 AWG' }\n", "[wire]\n1a = { size = '10 AWG' }\n"},
		{"inserted into its column",
			"[wire]\n1a = { from = \"A:1\", to = \"B:1\",   color = \"RD\" }\n1b = { from = \"A:1\", to = \"B:12\",  size = \"6 AWG\",  color = \"RD\" }\n",
			"[wire]\n1a = { from = \"A:1\", to = \"B:1\",   size = \"10 AWG\", color = \"RD\" }\n1b = { from = \"A:1\", to = \"B:12\",  size = \"6 AWG\",  color = \"RD\" }\n"},
		{"inserted at the end of a one-line table", "[wire]\n1a = { from = \"A:1\", to = \"B:1\" }\n", "[wire]\n1a = { from = \"A:1\", to = \"B:1\", size = \"10 AWG\" }\n"},
		{"inserted under a header, spacing as its neighbour",
			"[wire.1a]\n  from   = \"A:1\"\n  to     = \"B:1\" # end\n  color  = \"RD\"\n",
			"[wire.1a]\n  from   = \"A:1\"\n  to     = \"B:1\" # end\n  size   = \"10 AWG\"\n  color  = \"RD\"\n"},
		{"dotted", "[wire]\n1a.from = \"A:1\"\n1a.to = \"B:1\"\n", "[wire]\n1a.from = \"A:1\"\n1a.to = \"B:1\"\n1a.size = \"10 AWG\"\n"},
		{"line ends of the other world", "[wire.1a]\r\nto = \"B:1\"\r\ncolor = \"RD\"\r\n", "[wire.1a]\r\nto = \"B:1\"\r\nsize = \"10 AWG\"\r\ncolor = \"RD\"\r\n"},
		{"no line end at the end", "[wire.1a]\nto = \"B:1\"", "[wire.1a]\nto = \"B:1\"\nsize = \"10 AWG\""},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := source.NewFile("a.toml", []byte(c.text))
			e, err := edit.Read([]*source.File{f}).Set("wire", "1a", "size", "10 AWG", "to", "from")
			require.NoError(t, err)
			out, err := edit.Apply(f.Text, []edit.Edit{e})
			require.NoError(t, err)
			assert.Equal(t, c.want, string(out))
			again := source.NewFile("a.toml", out)
			_, diags := syntax.Parse(again)
			assert.Empty(t, diags)
		})
	}
}

// TestSetAll changes and inserts several keys at once, in every form.
func TestSetAll(t *testing.T) {
	pairs := []edit.Pair{{Key: "stage", Value: "cut"}, {Key: "revision", Value: "B"}, {Key: "size", Value: "10 AWG"}, {Key: "to", Value: "B:1"}}
	for _, c := range []struct{ name, text, want string }{
		{"all there", "[wire]\n1a = { stage = \"x\", revision = \"A\", size = \"1 AWG\", to = \"C:1\" } # mine\n",
			"[wire]\n1a = { stage = \"cut\", revision = \"B\", size = \"10 AWG\", to = \"B:1\" } # mine\n"},
		{"two missing in the middle", "[wire]\n1a = { stage = \"x\", to = \"C:1\" }\n",
			"[wire]\n1a = { stage = \"cut\", revision = \"B\", size = \"10 AWG\", to = \"B:1\" }\n"},
		{"three missing at the end", "[wire]\n1a = { stage = \"x\" }\n",
			"[wire]\n1a = { stage = \"cut\", revision = \"B\", size = \"10 AWG\", to = \"B:1\" }\n"},
		{"none there but another", "[wire]\n1a = { note = \"x\" }\n",
			"[wire]\n1a = { note = \"x\", stage = \"cut\", revision = \"B\", size = \"10 AWG\", to = \"B:1\" }\n"},
		{"under a header", "[wire.1a]\nstage = \"x\"\nto = \"C:1\" # end\n",
			"[wire.1a]\nstage = \"cut\"\nrevision = \"B\"\nsize = \"10 AWG\"\nto = \"B:1\" # end\n"},
		{"no line end at the end", "[wire.1a]\nstage = \"x\"", "[wire.1a]\nstage = \"cut\"\nrevision = \"B\"\nsize = \"10 AWG\"\nto = \"B:1\""},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := source.NewFile("a.toml", []byte(c.text))
			edits, err := edit.Read([]*source.File{f}).SetAll("wire", "1a", pairs...)
			require.NoError(t, err)
			out, err := edit.Apply(f.Text, edits)
			require.NoError(t, err)
			assert.Equal(t, c.want, string(out))
		})
	}
	_, err := edit.Read([]*source.File{source.NewFile("a.toml", []byte("[wire]\n1a = {}\n"))}).SetAll("wire", "1a", pairs...)
	assert.Error(t, err, "an empty table has no place")
}

func TestReplace(t *testing.T) {
	f := source.NewFile("a.toml", []byte("[wire]\n1a = { stage = \"x\" } # mine\n[wire.1b]\nstage = \"x\"\n"))
	e, err := edit.Read([]*source.File{f}).Replace("wire", "1a", "{ to = 1 }")
	require.NoError(t, err)
	out, err := edit.Apply(f.Text, []edit.Edit{e})
	require.NoError(t, err)
	assert.Equal(t, "[wire]\n1a = { to = 1 } # mine\n[wire.1b]\nstage = \"x\"\n", string(out))
	for _, name := range []string{"1b", "1c"} {
		_, err = edit.Read([]*source.File{f}).Replace("wire", name, "{}")
		assert.Error(t, err, name)
	}
}

func TestSetFindsTheFile(t *testing.T) {
	one := source.NewFile("one.toml", []byte("[wire]\n1a = { to = \"B:1\" }\n"))
	two := source.NewFile("two.toml", []byte("[wire]\n1b = { to = \"B:1\" }\n"))
	doc := edit.Read([]*source.File{one, two})
	e, err := doc.Set("wire", "1b", "size", "10 AWG")
	require.NoError(t, err)
	assert.Same(t, two, e.Span.File)
	_, err = doc.Set("wire", "1c", "size", "10 AWG")
	assert.ErrorContains(t, err, "has no 1c")
	_, err = doc.Set("part", "1b", "size", "10 AWG")
	assert.Error(t, err)
}

// FuzzSet: whatever the text, an edit that Set gives changes no byte outside it, and never panics.
func FuzzSet(f *testing.F) {
	f.Add("[wire]\na = { to = \"B:1\", color = \"RD\" }\n")
	f.Add("[wire.a]\nto = 1\n")
	f.Add("wire = { a.to = 1, a.b = 2 }")
	f.Add("wire.a.to = [\n1,\n2]\r\n")
	f.Fuzz(func(t *testing.T, text string) {
		file := source.NewFile("a.toml", []byte(text))
		e, err := edit.Read([]*source.File{file}).Set("wire", "a", "size", "10 AWG", "to")
		if err != nil {
			return
		}
		out, err := edit.Apply(file.Text, []edit.Edit{e})
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(string(out), text[:e.Span.Start]))
		assert.True(t, strings.HasSuffix(string(out), text[e.Span.End:]))
	})
}
