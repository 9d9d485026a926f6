package syntax

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
)

const netlist = `# a harness
[harness]
title = "Utility pickup"
volts = 12    # nominal
spare = 0.5
checked = true
date = 1979-05-27
notes = """
first
second"""

[part.K1]
kind = "relay"
"at" = 'panel'
load = { run = "6 A", steps = [1, [2, 3], { a = "]" }] } # ]

[part]
count = 0x10

[connector.XA.pin]
1 = { does = "Battery, \"always\" live", load.run = "0.02 A" }

[ wire . "W 1" ]
from = "F7:2"
pin.30.color = "RD"
pin.30.size = "14 AWG"

[[accept]]
rule = "ground-loop" # waived
at = [
  "X4:9", # one ] here
  'X4:8',
]
[accept.more]
x = -1_000

[[ accept ]]
rule = "second"
`

// dump writes every entry with the text at its places, so that a test can hold the places against what they cover.
func dump(b *strings.Builder, path string, t *Table) {
	for _, e := range t.Entries {
		name := path + e.Key
		fmt.Fprintf(b, "%s | key %s | %s %s | entry %s\n", name, oneLine(e.KeySpan), e.Value.Kind, oneLine(e.Value.Span), oneLine(e.Span))
		dumpBelow(b, name, e.Value)
	}
}

func dumpBelow(b *strings.Builder, name string, v *Value) {
	if v.Table != nil {
		dump(b, name+".", v.Table)
	}
	for i, item := range v.Items {
		name := fmt.Sprintf("%s#%d", name, i)
		fmt.Fprintf(b, "%s | %s %s\n", name, item.Kind, oneLine(item.Span))
		dumpBelow(b, name, item)
	}
}

func oneLine(s source.Span) string { return strings.ReplaceAll(s.Text(), "\n", "~") }

func TestSpans(t *testing.T) {
	f := source.NewFile("a.toml", []byte(netlist))
	tree, list := Parse(f)
	require.Empty(t, list)
	assert.Equal(t, netlist, tree.Span.Text())
	var b strings.Builder
	dump(&b, "", tree)
	want := `harness | key harness | table [harness] | entry [harness]
harness.title | key title | string "Utility pickup" | entry title = "Utility pickup"
harness.volts | key volts | whole number 12 | entry volts = 12
harness.spare | key spare | number 0.5 | entry spare = 0.5
harness.checked | key checked | true or false true | entry checked = true
harness.date | key date | date 1979-05-27 | entry date = 1979-05-27
harness.notes | key notes | string """~first~second""" | entry notes = """~first~second"""
part | key part | table [part] | entry [part]
part.K1 | key K1 | table [part.K1] | entry [part.K1]
part.K1.kind | key kind | string "relay" | entry kind = "relay"
part.K1.at | key "at" | string 'panel' | entry "at" = 'panel'
part.K1.load | key load | table { run = "6 A", steps = [1, [2, 3], { a = "]" }] } | entry load = { run = "6 A", steps = [1, [2, 3], { a = "]" }] }
part.K1.load.run | key run | string "6 A" | entry run = "6 A"
part.K1.load.steps | key steps | list [1, [2, 3], { a = "]" }] | entry steps = [1, [2, 3], { a = "]" }]
part.K1.load.steps#0 | whole number 1
part.K1.load.steps#1 | list [2, 3]
part.K1.load.steps#1#0 | whole number 2
part.K1.load.steps#1#1 | whole number 3
part.K1.load.steps#2 | table { a = "]" }
part.K1.load.steps#2.a | key a | string "]" | entry a = "]"
part.count | key count | whole number 0x10 | entry count = 0x10
connector | key connector | table [connector.XA.pin] | entry [connector.XA.pin]
connector.XA | key XA | table [connector.XA.pin] | entry [connector.XA.pin]
connector.XA.pin | key pin | table [connector.XA.pin] | entry [connector.XA.pin]
connector.XA.pin.1 | key 1 | table { does = "Battery, \"always\" live", load.run = "0.02 A" } | entry 1 = { does = "Battery, \"always\" live", load.run = "0.02 A" }
connector.XA.pin.1.does | key does | string "Battery, \"always\" live" | entry does = "Battery, \"always\" live"
connector.XA.pin.1.load | key load | table load.run = "0.02 A" | entry load.run = "0.02 A"
connector.XA.pin.1.load.run | key run | string "0.02 A" | entry load.run = "0.02 A"
wire | key wire | table [ wire . "W 1" ] | entry [ wire . "W 1" ]
wire.W 1 | key "W 1" | table [ wire . "W 1" ] | entry [ wire . "W 1" ]
wire.W 1.from | key from | string "F7:2" | entry from = "F7:2"
wire.W 1.pin | key pin | table pin.30.color = "RD" | entry pin.30.color = "RD"
wire.W 1.pin.30 | key 30 | table pin.30.color = "RD" | entry pin.30.color = "RD"
wire.W 1.pin.30.color | key color | string "RD" | entry pin.30.color = "RD"
wire.W 1.pin.30.size | key size | string "14 AWG" | entry pin.30.size = "14 AWG"
accept | key accept | list [[accept]] | entry [[accept]]
accept#0 | table [[accept]]
accept#0.rule | key rule | string "ground-loop" | entry rule = "ground-loop"
accept#0.at | key at | list [~  "X4:9", # one ] here~  'X4:8',~] | entry at = [~  "X4:9", # one ] here~  'X4:8',~]
accept#0.at#0 | string "X4:9"
accept#0.at#1 | string 'X4:8'
accept#0.more | key more | table [accept.more] | entry [accept.more]
accept#0.more.x | key x | whole number -1_000 | entry x = -1_000
accept#1 | table [[ accept ]]
accept#1.rule | key rule | string "second" | entry rule = "second"
`
	assert.Equal(t, want, b.String())
	assert.Equal(t, `Battery, "always" live`, tree.Get("connector").Value.Table.Get("XA").Value.Table.Get("pin").Value.Table.Get("1").Value.Table.Get("does").Value.Str)
	assert.Equal(t, "first\nsecond", tree.Get("harness").Value.Table.Get("notes").Value.Str)
	assert.Equal(t, int64(16), tree.Get("part").Value.Table.Get("count").Value.Int)
	require.NoError(t, holdAgainstDecoders(netlist))
}

// seen is a diagnostic as the tests write it: line:column, the words it points at, and the message.
func seen(d diag.Diagnostic) string {
	at := d.Span.Begin()
	return fmt.Sprintf("%d:%d %q %s", at.Line, at.Column, d.Span.Text(), d.Message)
}

func seenAll(list diag.List) []string {
	var out []string
	for _, d := range list {
		out = append(out, seen(d))
	}
	return out
}

// TestRecovery has separate mistakes in one file: each costs one diagnostic, and the healthy rest is in the tree.
func TestRecovery(t *testing.T) {
	text := "[wire]\r\n" +
		"W1 = { from = \"F1:2\", to = \"X1:1\" }\r\n" +
		"W2 = { from = \"F1:2\", size = 14 AWG }\r\n" +
		"\r\n# fine\r\n" +
		"W3 = { from = \"F1:2\" }\r\n" +
		"W4 = { from = \"F1:2\", to = \"X1:1 }\r\n" +
		"  [part.K1\r\n" +
		"kind = \"relay\"\r\n" +
		"[part.K2]\r\n" +
		"list = [\r\n  \"a\",\r\n  b,\r\n  \"c\",\r\n]\r\n" +
		"kind = \"fuse\""
	tree, list := Parse(source.NewFile("a.toml", []byte(text)))
	assert.Equal(t, []string{
		`3:30 "14 AWG" 14 AWG is not a number, and text needs quotes`,
		`7:28 "\"X1:1 }" the closing quote " is missing`,
		`8:3 "[part.K1" the closing bracket ] of this header is missing`,
		`13:3 "b" b is not a number, and text needs quotes`,
	}, seenAll(list))
	wires := tree.Get("wire").Value.Table
	require.NotNil(t, wires.Get("W1"))
	require.NotNil(t, wires.Get("W3"))
	assert.Equal(t, "X1:1", wires.Get("W1").Value.Table.Get("to").Value.Str)
	assert.Nil(t, wires.Get("W2"))
	fuse := tree.Get("part").Value.Table.Get("K2").Value.Table
	require.NotNil(t, fuse.Get("kind"))
	assert.Equal(t, "fuse", fuse.Get("kind").Value.Str)
	assert.Nil(t, fuse.Get("list"))
}

// TestRecoveryResumes names for each way of going wrong over several lines what is still read.
func TestRecoveryResumes(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		keys string
		errs int
	}{
		"list not closed before a key":           {"a = [1, 2\nb = 3\nc = 4\n", "b c", 1},
		"list not closed before a header":        {"a = [1, 2\n[b]\nx = 1\n[c]\n", "b c", 1},
		"braces not closed":                      {"a = { x = 1\nb = { x = 2 }\nc = 3\n", "b c", 1},
		"braces not closed after a comma":        {"a = { x = 1,\nb = { x = 2 }\n[c]\n", "b c", 1},
		"braces over lines, a word in them":      {"a = {\n  x = 1,\n  y = z,\n}\nb = 1\n", "b", 1},
		"long text, then something":              {"a = \"\"\"\nx\n\"\"\" y\nb = 1\n", "b", 1},
		"long text with a bad escape":            {"a = \"\"\"\nx \\q\ny\n\"\"\"\nb = 1\n", "b", 1},
		"a bad comment":                          {"a = 1\n# \x01\nb = 1\n", "a b", 1},
		"a carriage return alone":                {"a = 1\n\rb = 1\nc = 1\n", "a c", 1},
		"a mistake on the last line without \\n": {"a = 1\nb = ", "a", 1},
		"a bad value of the right form":          {"a = 99999999999999999999\nb = [1, 2024-02-30, 3]\n", "b", 2},
	} {
		t.Run(name, func(t *testing.T) {
			tree, list := Parse(source.NewFile("a.toml", []byte(c.text)))
			var keys []string
			for _, e := range tree.Entries {
				keys = append(keys, e.Key)
			}
			assert.Equal(t, c.keys, strings.Join(keys, " "))
			assert.Len(t, list, c.errs, "%v", seenAll(list))
			assert.NoError(t, holdAgainstDecoders(c.text))
		})
	}
}

func TestTooManyMistakes(t *testing.T) {
	_, list := Parse(source.NewFile("a.toml", []byte(strings.Repeat("size = 14 AWG\n", 500))))
	require.Len(t, list, maxMistakes+1)
	assert.Equal(t, `21:1 "size = 14 AWG" there are too many mistakes; from here on the file was not read`, seen(list[maxMistakes]))
}

func TestEmptyTexts(t *testing.T) {
	for _, text := range []string{"", "\n", " ", "# only a comment", utf8BOM, utf8BOM + "\r\n"} {
		tree, list := Parse(source.NewFile("a.toml", []byte(text)))
		assert.Empty(t, list, "%q", text)
		assert.Empty(t, tree.Entries)
		assert.Equal(t, text, tree.Span.Text())
	}
	tree, list := Parse(source.NewFile("a.toml", []byte(utf8BOM+"a = 1")))
	require.Empty(t, list)
	assert.Equal(t, "a", tree.Get("a").KeySpan.Text())
}

// hostileTexts are texts that no person writes and a program must survive.
func hostileTexts() map[string]string {
	return map[string]string{
		"utf-16 little endian":     "\xff\xfea\x00=\x001\x00",
		"utf-16 mark only":         "\xff\xfea=1",
		"utf-16 without mark":      "a\x00=\x001\x00",
		"NUL":                      "a = 1\nbcdefgh = \"\x00\"\n",
		"latin-1":                  "a = \"caf\xe9\"\n",
		"bytes":                    "\x80\x81\xfe",
		"one line of 1 MB":         "a = \"" + strings.Repeat("x", 1<<20) + "\n",
		"one good line of 1 MB":    "a = \"" + strings.Repeat("\u00e9", 1<<19) + "\"\n",
		"list of 1 MB":             "a = [" + strings.Repeat("123456789012345678,", 1<<20/19) + "]\n",
		"a million [":              strings.Repeat("[", 1<<20),
		"lists in lists":           "a = " + strings.Repeat("[", 1<<20),
		"lists in lists, closed":   "a = " + strings.Repeat("[", 5000) + strings.Repeat("]", 5000) + "\nb = 1\n",
		"tables in tables":         strings.Repeat("a={", 1<<18),
		"tables in tables, closed": strings.Repeat("a={", 3000) + strings.Repeat("}", 3000),
		"a header of 100000 parts": "[a" + strings.Repeat(".a", 100_000) + "]\nb = 1",
		"a key of 100000 parts":    "a" + strings.Repeat(".a", 100_000) + " = 1\nb = 1",
		"many quotes":              strings.Repeat(`"`, 1<<16),
		"many backslashes":         "a = \"" + strings.Repeat(`\`, 1<<16),
		"many half strings":        strings.Repeat("a = \"\\n\n", 1<<16),
	}
}

// allocatedBy is how many bytes something allocates, on all goroutines.
func allocatedBy(do func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	do()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// TestHostileTexts holds what hostile texts make the reader allocate, byte by byte of text, against a plain netlist of 10,000 wires: work
// that grows with the square of the size would take thousands of times as much. How long they take is BenchmarkHostile's to show.
func TestHostileTexts(t *testing.T) {
	const few = 64 << 10 // bytes that a text of any size may take: diagnostics, and what the decoder sets up
	ordinary := wires(10_000)
	plain := float64(allocatedBy(func() { Parse(source.NewFile("plain.toml", []byte(ordinary))) })) / float64(len(ordinary))
	for name, text := range hostileTexts() {
		t.Run(name, func(t *testing.T) {
			var list diag.List
			allocated := allocatedBy(func() { _, list = Parse(source.NewFile("a.toml", []byte(text))) })
			assert.Less(t, float64(allocated), 3*plain*float64(len(text))+few, "more than three times what a plain netlist takes")
			assert.Equal(t, !strings.HasPrefix(name, "one good") && name != "list of 1 MB", len(list) > 0, "%v", len(list))
			assert.LessOrEqual(t, len(list), maxMistakes+1)
			assert.NoError(t, holdAgainstDecoders(text))
		})
	}
}

func TestNestingLimit(t *testing.T) {
	nested := func(levels int) string {
		return "[p]\nk = " + strings.Repeat("[", levels-2) + strings.Repeat("]", levels-2) + "\nz = 1\n"
	}
	_, list := Parse(source.NewFile("a.toml", []byte(nested(maxNesting))))
	assert.Empty(t, list)
	tree, list := Parse(source.NewFile("a.toml", []byte(nested(maxNesting+1))))
	assert.Equal(t, []string{`2:203 "[" this is nested more than 200 levels deep`}, seenAll(list))
	p := tree.Get("p").Value.Table
	assert.NotNil(t, p.Get("z"), "what follows is read")
}

// TestAuthority shows that what only the authority refuses is reported at its place.
func TestAuthority(t *testing.T) {
	r := newReader(source.NewFile("a.toml", []byte(utf8BOM+"a = 1\n")), utf8BOM+"a = 1\n")
	r.readAll()
	require.Empty(t, r.diags)
	r.addVerdict(askAuthority("a = 1\na = 2\n")) // a text that it refuses: its verdict is what is at test
	require.Len(t, r.diags, 1)
	assert.Contains(t, r.diags[0].Message, "the standard TOML reader refuses this: Key 'a' has already been defined.")
	r.addVerdict(askAuthority("a = 1\na = 2\n"))
	assert.Len(t, r.diags, 1, "a text with known mistakes gets no second opinion")
}

func TestKindNames(t *testing.T) {
	for k := Invalid; k <= TableValue; k++ {
		assert.NotEmpty(t, k.String())
	}
	assert.Equal(t, "table", Kind(200).String())
}
