package syntax

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/source"
)

// duplicateCases are texts that give something twice; want is the diagnostic and first the place it refers back to.
var duplicateCases = []struct{ text, want, first string }{
	{"W1 = 1\nW1 = 2\n", `2:1 "W1" W1 is already given`, `1:1 "W1"`},
	{"W1 = 1\n\"W1\" = 2\n", `2:1 "\"W1\"" W1 is already given`, `1:1 "W1"`},
	{"W = { a = 1, a = 2 }\n", `1:14 "a" a is already given`, `1:7 "a"`},
	{"[part.K1]\na = 1\n[part.K1]\n", `3:1 "[part.K1]" [part.K1] is already given`, `1:7 "K1"`},
	{"[a]\n[a.b]\n[a]\n", `3:1 "[a]" [a] is already given`, `1:2 "a"`},
	{"[a.b]\n[a]\n[a]\n", `3:1 "[a]" [a] is already given`, `2:2 "a"`},
	{"a.b = 1\n[a]\n", `2:1 "[a]" [a] is already given`, `1:1 "a"`},
	{"a = 1\n[a.b]\n", `2:2 "a" a already has a value (whole number), so nothing can stand below it`, `1:1 "a"`},
	{"a = [1]\n[a.b]\n", `2:2 "a" a already has a value (list), so nothing can stand below it`, `1:1 "a"`},
	{"a = \"x\"\na.b = 1\n", `2:1 "a" a already has a value (string), so nothing can stand below it`, `1:1 "a"`},
	{"a.b = 1\na.b.c = 2\n", `2:3 "b" b already has a value (whole number), so nothing can stand below it`, `1:3 "b"`},
	{"a = { b = 1 }\na.c = 2\n", `2:1 "a" a is already given as a table of its own, so nothing can be added to it from here`, `1:1 "a"`},
	{"a = { b = 1 }\n[a.c]\n", `2:2 "a" a is already given as a table of its own, so nothing can be added to it from here`, `1:1 "a"`},
	{"a = { b = 1 }\n[a]\n", `2:1 "[a]" [a] is already given`, `1:1 "a"`},
	{"a = { b = {}, b.c = 1 }\n", `1:15 "b" b is already given as a table of its own, so nothing can be added to it from here`, `1:7 "b"`},
	{"[x.a]\n[x]\na.b = 1\n", `3:1 "a" a is already given as a table of its own, so nothing can be added to it from here`, `1:4 "a"`},
	{"[a]\n[[a]]\n", `2:1 "[[a]]" a is already given (table), so [[a]] cannot add to it`, `1:2 "a"`},
	{"a = [1]\n[[a]]\n", `2:1 "[[a]]" a is already given (list), so [[a]] cannot add to it`, `1:1 "a"`},
	{"[[a]]\n[a]\n", `2:1 "[a]" [a] is already given`, `1:3 "a"`},
	{"[[a]]\nb = 1\nb = 2\n[[a]]\nb = 1\n", `3:1 "b" b is already given`, `2:1 "b"`},
}

func TestDuplicates(t *testing.T) {
	for _, c := range duplicateCases {
		t.Run(c.text, func(t *testing.T) {
			_, list := Parse(source.NewFile("a.toml", []byte(c.text)))
			require.Equal(t, []string{c.want}, seenAll(list))
			d := list[0]
			assert.Equal(t, "duplicate-key", d.Rule)
			require.Len(t, d.Related, 1)
			at := d.Related[0].Span
			assert.Equal(t, c.first, fmt.Sprintf("%d:%d %q", at.Begin().Line, at.Begin().Column, at.Text()))
			assert.NoError(t, holdAgainstDecoders(c.text))
		})
	}
}

// TestNotDuplicates has texts that look like repeats and are none: TOML 1.0, sections "Keys" and "Table".
func TestNotDuplicates(t *testing.T) {
	for _, text := range []string{
		"[a.b]\n[a]\n", "[a]\n[a.b]\n", "a.b = 1\na.c = 2\n", "a.b.c = 1\na.b.d = 2\na.e = 3\n",
		"a = { b.c = 1, b.d = 2 }\n", "[[a]]\n[a.b]\n[[a]]\n[a.b]\n", "[a]\nb.c = 1\n[a.b.d]\nx = 1\n",
		"[[a]]\n[[a.b]]\nx = 1\n[[a.b]]\nx = 1\n",
	} {
		_, list := Parse(source.NewFile("a.toml", []byte(text)))
		assert.Empty(t, list, "%q", text)
		assert.NoError(t, holdAgainstDecoders(text))
	}
}

// TestRepeatedHeader: what stands below a header that is given twice is taken in where it is new, and its repeats are
// not reported one by one.
func TestRepeatedHeader(t *testing.T) {
	text := "[wire]\nW1 = 1\n[part]\n[wire]\nW1 = 2\nW2 = 3\nW1.a = 4\n"
	tree, list := Parse(source.NewFile("a.toml", []byte(text)))
	assert.Equal(t, []string{`4:1 "[wire]" [wire] is already given`}, seenAll(list))
	wires := tree.Get("wire").Value.Table
	assert.Equal(t, int64(1), wires.Get("W1").Value.Int, "the first wins")
	require.NotNil(t, wires.Get("W2"))
}

// TestRefusedHeader: what stands below a header that cannot be is read and checked, but is not in the tree.
func TestRefusedHeader(t *testing.T) {
	tree, list := Parse(source.NewFile("a.toml", []byte("a = 1\n[a.b]\nx = y\nz = 1\n[c]\nx = 1\n")))
	assert.Len(t, list, 2, "%v", seenAll(list))
	require.Len(t, tree.Entries, 2)
	assert.NotNil(t, tree.Get("c").Value.Table.Get("x"))
}

// TestManyKeys passes the size at which a table gets an index.
func TestManyKeys(t *testing.T) {
	text := ""
	for i := range 3 * indexAbove {
		text += fmt.Sprintf("W%d = %d\n", i, i)
	}
	tree, list := Parse(source.NewFile("a.toml", []byte(text+"W3 = 0\nW20 = 0\n")))
	assert.Len(t, list, 2)
	for i := range 3 * indexAbove {
		assert.Equal(t, int64(i), tree.Get(fmt.Sprintf("W%d", i)).Value.Int)
	}
	assert.Nil(t, tree.Get("W99"))
	assert.Nil(t, (*Table)(nil).Get("W1"))
}
