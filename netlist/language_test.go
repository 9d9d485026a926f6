package netlist_test

import (
	"flag"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
	"ferrule/netlist/unit"
)

// The language reference, LANGUAGE.md, is written by hand but for what stands between markers:
//
//	<!-- begin keys wire -->
//	<!-- end -->
//
// What stands there is made from the tables that decode a netlist, so that the reference cannot differ from the program.
// Its examples are held against the program too, by the words behind the fence:
//
//	```toml            a whole netlist: it must be read without a diagnostic
//	```toml fragment   cannot stand alone (an include): only its notation is checked
//	```toml wrong      a netlist with mistakes: the next <!-- begin findings --> shows what is said of it
const (
	referenceFile = "LANGUAGE.md"
	updateCommand = "go test ./netlist -run TestLanguage -update"
)

var update = flag.Bool("update", false, "write the made parts of "+referenceFile+" anew")

var (
	madePart = regexp.MustCompile(`(?s)<!-- begin ([a-z ]+) -->\n.*?<!-- end -->`)
	fence    = regexp.MustCompile("(?ms)^```toml([a-z ]*)\n(.*?)^```$")
)

func readReference(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(referenceFile)
	require.NoError(t, err)
	return string(text)
}

// An example is a block of netlist text in the reference.
type example struct {
	sort string // "", "fragment" or "wrong"
	text string
	line int // of its first line of netlist text
	end  int // byte offset of its end in the reference
}

func examplesOf(text string) []example {
	var found []example
	for _, m := range fence.FindAllStringSubmatchIndex(text, -1) {
		found = append(found, example{
			sort: strings.TrimSpace(text[m[2]:m[3]]), text: text[m[4]:m[5]], line: 1 + strings.Count(text[:m[4]], "\n"), end: m[1],
		})
	}
	return found
}

func TestLanguageReference(t *testing.T) {
	was := readReference(t)
	now := madeAnew(t, was)
	if *update {
		require.NoError(t, os.WriteFile(referenceFile, []byte(now), 0o644))
		return
	}
	assert.Equal(t, now, was, "%s is stale: run %s", referenceFile, updateCommand)
}

// madeAnew fills all marked parts of the reference.
func madeAnew(t *testing.T, text string) string {
	t.Helper()
	makers := makersOf(t)
	var out strings.Builder
	at := 0
	for _, m := range madePart.FindAllStringSubmatchIndex(text, -1) {
		name := text[m[2]:m[3]]
		out.WriteString(text[at:m[0]])
		at = m[1]
		if name == "findings" {
			fmt.Fprintf(&out, "<!-- begin findings -->\n%s<!-- end -->", findingsOf(t, lastWrong(t, text, m[0])))
			continue
		}
		content, known := makers[name]
		require.True(t, known, "%s has a marker for %q, which nothing makes", referenceFile, name)
		fmt.Fprintf(&out, "<!-- begin %s -->\n%s<!-- end -->", name, content)
	}
	out.WriteString(text[at:])
	return out.String()
}

func lastWrong(t *testing.T, text string, before int) string {
	t.Helper()
	last := ""
	for _, e := range examplesOf(text) {
		if e.sort == "wrong" && e.end < before {
			last = e.text
		}
	}
	require.NotEmpty(t, last, "a marker for findings stands before any example with mistakes")
	return last
}

// TestLanguageReferenceIsComplete fails when a table of the program has no place in the reference.
func TestLanguageReferenceIsComplete(t *testing.T) {
	text := readReference(t)
	for name := range makersOf(t) {
		assert.Equal(t, 1, strings.Count(text, "<!-- begin "+name+" -->"), "places for %q", name)
	}
	for _, name := range model.SectionNames() {
		assert.Contains(t, text, "`"+name+"`", "section %q is not explained", name)
	}
}

func TestLanguageExamples(t *testing.T) {
	examples := examplesOf(readReference(t))
	require.GreaterOrEqual(t, len(examples), 20, "the examples of the reference are not found")
	for _, e := range examples {
		t.Run(fmt.Sprintf("line_%d", e.line), func(t *testing.T) {
			switch e.sort {
			case "":
				n, diags := netlist.Parse(referenceFile, []byte(e.text))
				assert.Empty(t, words(diags))
				assert.NotNil(t, n)
			case "fragment":
				_, diags := syntax.Parse(source.NewFile(referenceFile, []byte(e.text)))
				assert.Empty(t, words(diags))
			case "wrong":
				_, diags := netlist.Parse(referenceFile, []byte(e.text))
				assert.NotEmpty(t, diags)
			default:
				t.Errorf("line %d: an example cannot be %q", e.line, e.sort)
			}
		})
	}
}

// TestAddedCircuit builds what the how-to about adding a circuit tells a stranger to write: a circuit in a file of its own,
// a root that includes it beside the first example, and later an acceptance.
func TestAddedCircuit(t *testing.T) {
	page, err := os.ReadFile("../examples/README.md")
	require.NoError(t, err)
	blocks := examplesOf(string(page))
	require.Len(t, blocks, 3, "circuit, root and acceptance")
	first, err := os.ReadFile("../examples/first/first.toml")
	require.NoError(t, err)
	files := fstest.MapFS{
		"first.toml": {Data: first}, "horn.toml": {Data: []byte(blocks[0].text + blocks[2].text)}, "truck.toml": {Data: []byte(blocks[1].text)},
	}
	n, diags, err := netlist.Load(files, "truck.toml")
	require.NoError(t, err)
	assert.Empty(t, words(diags))
	assert.Len(t, n.Wires, 16, "as many as the how-to says")
	assert.Len(t, n.Accepts, 1)
}

// findingsOf writes what the program says of a netlist, in the order of the file.
func findingsOf(t *testing.T, text string) string {
	t.Helper()
	_, diags := netlist.Parse("truck.toml", []byte(text))
	require.NotEmpty(t, diags)
	return "```text\n" + strings.Join(words(diags), "\n") + "\n```\n"
}

func words(diags diag.List) []string {
	var lines []string
	for _, d := range diags {
		at := d.Span.Begin()
		lines = append(lines, fmt.Sprintf("%s:%d:%d: %s[%s]: %s", d.Span.File.Name, at.Line, at.Column, d.Severity, d.Rule, d.Message))
		if d.Help != "" {
			lines = append(lines, "  help: "+d.Help)
		}
	}
	return lines
}

// makersOf returns the content of every marked part but the findings, by the name of its marker.
func makersOf(t *testing.T) map[string]string {
	t.Helper()
	made := map[string]string{
		"sections": sectionList(), "roles": roleTable(t), "kinds": kindTable(), "stock": stockTable(t), "units": unitTable(), "colors": colorTable(),
	}
	for _, s := range model.Reference() {
		made["keys "+s.Name] = keyTable(s.Keys, false)
		if s.Name == "part" {
			made["keys part by kind"] = keyTable(s.Keys, true)
		}
	}
	return made
}

func sectionList() string {
	return "`" + strings.Join(model.SectionNames(), "`, `") + "`.\n"
}

// table writes a table of the reference. A stroke within a cell would end it, so it is escaped.
func table(heads []string, rows [][]string) string {
	var out strings.Builder
	line := func(cells []string) {
		for _, c := range cells {
			out.WriteString("| " + strings.ReplaceAll(c, "|", `\|`) + " ")
		}
		out.WriteString("|\n")
	}
	line(heads)
	out.WriteString(strings.Repeat("|---", len(heads)) + "|\n")
	for _, r := range rows {
		line(r)
	}
	return out.String()
}

func keyTable(keys []model.KeyDoc, byKind bool) string {
	var rows [][]string
	for _, k := range keys {
		if k.ByKind == byKind {
			rows = append(rows, []string{"`" + k.Key + "`", formText(k.Form), k.Doc})
		}
	}
	return table([]string{"key", "is written", "means"}, rows)
}

var quotedWord = regexp.MustCompile(`"[^"]*"`)

// formText sets what is to be typed as code, and leaves the words around it.
func formText(form string) string {
	if strings.ContainsAny(form, "{[") {
		return "`" + form + "`"
	}
	return quotedWord.ReplaceAllString(form, "`$0`")
}

// roleMeanings says in words for the reader what the comments at catalog.Roles say to the programmer.
var roleMeanings = map[catalog.Role]string{
	catalog.Supply:     "takes battery voltage",
	catalog.SupplyOut:  "delivers it: battery plus, generator B+",
	catalog.Cranking:   "takes the cranking current: starter 30",
	catalog.Ground:     "power ground",
	catalog.Return:     "sensor ground: ends at the module and meets no other ground outside",
	catalog.Reference:  "sensor supply, 5 V as a rule: out of a module, in to a sensor",
	catalog.Sink:       "low-side output: joins to ground when driven",
	catalog.Driver:     "high-side output: joins to supply when driven",
	catalog.HalfBridge: "output that joins to supply when driven, to ground when pulled",
	catalog.Output:     "logic level output",
	catalog.Input:      "takes a level and hardly any current",
	catalog.Signal:     "what a sensor says",
	catalog.Bus:        "one wire of a data bus",
	catalog.Screen:     "drain of a screened cable",
	catalog.Load:       "one end of something that uses current",
	catalog.Contact:    "one side of a switching contact",
	catalog.Coil:       "one end of a winding that works contacts",
	catalog.Passive:    "fuse, resistor, diode",
}

func roleTable(t *testing.T) string {
	t.Helper()
	require.Len(t, roleMeanings, len(catalog.Roles))
	var rows [][]string
	for _, role := range catalog.Roles {
		require.NotEmpty(t, roleMeanings[role], "role %q has no words in the reference", role)
		var bring []string
		for _, k := range catalog.Builtin().Kinds {
			if slices.ContainsFunc(k.Pins, func(p catalog.Pin) bool { return p.Role == role }) {
				bring = append(bring, k.Name)
			}
		}
		rows = append(rows, []string{"`" + string(role) + "`", roleMeanings[role], strings.Join(bring, ", ")})
	}
	return table([]string{"role", "means", "brought along by"}, rows)
}

func kindTable() string {
	var rows [][]string
	for _, k := range catalog.Builtin().Kinds {
		rows = append(rows, []string{"`" + k.Name + "`", k.Title, k.Letter, terminalsText(k), insideText(k), valuesText(k)})
	}
	return table([]string{"kind", "is", "letter", "terminals", "inside", "values"}, rows)
}

func terminalsText(k *catalog.Kind) string {
	var names []string
	for _, p := range k.Pins {
		name := "`" + p.Name + "` " + string(p.Role)
		if p.Optional {
			name = "(" + name + ")"
		}
		names = append(names, name)
	}
	if k.OpenPins {
		names = append(names, "any name")
	}
	if k.Case {
		names = append(names, "`case`")
	}
	if len(names) == 0 {
		return "your own"
	}
	return strings.Join(names, ", ")
}

func insideText(k *catalog.Kind) string {
	var parts []string
	if k.Joined {
		parts = append(parts, "one piece of metal")
	}
	add := func(word string, pairs [][]string, separator string) {
		for _, p := range pairs {
			parts = append(parts, word+" `"+strings.Join(p, separator)+"`")
		}
	}
	add("source", k.Sources, "-")
	add("fuse", k.Protects, "-")
	add("coil", k.Coil, "-")
	add("open contact", k.Open, "-")
	add("closed contact", k.Closed, "-")
	add("diode", k.Diodes, ">")
	add("load", k.Loads, "-")
	return strings.Join(parts, ", ")
}

func valuesText(k *catalog.Kind) string {
	var names []string
	for _, key := range k.Keys {
		name := "`" + key + "`"
		if slices.Contains(k.Need, key) {
			name = "**" + name + "**"
		}
		names = append(names, name)
	}
	return strings.Join(names, ", ")
}

func stockTable(t *testing.T) string {
	t.Helper()
	root, diags := syntax.Parse(source.NewFile("stock", []byte(catalog.StockText())))
	require.Empty(t, diags)
	all := root.Get("stock")
	require.NotNil(t, all)
	var rows [][]string
	for _, e := range all.Value.Table.Entries {
		kind, values := "", []string{}
		for _, v := range e.Value.Table.Entries {
			if v.Key == "kind" {
				kind = v.Value.Str
				continue
			}
			values = append(values, "`"+v.Key+" = "+v.Value.Span.Text()+"`")
		}
		rows = append(rows, []string{"`" + e.Key + "`", kind, strings.Join(values, ", ")})
	}
	return table([]string{"stock", "kind", "values"}, rows)
}

func unitTable() string {
	var rows [][]string
	for d := unit.Voltage; d <= unit.Share; d++ {
		rows = append(rows, []string{d.String(), "`" + strings.Join(d.Units(), "`, `") + "`", "`" + d.Example() + "`"})
	}
	return table([]string{"quantity", "units", "for example"}, rows)
}

func colorTable() string {
	var rows [][]string
	for _, c := range unit.ColorLetters {
		rows = append(rows, []string{"`" + c.Letters + "`", c.Name})
	}
	return table([]string{"letters", "colour"}, rows)
}
