package list_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/built"
	"ferrule/netlist/graph"
	"ferrule/netlist/route"
	"ferrule/netlist/source"
	"ferrule/render/list"
	"ferrule/render/sheet"
)

func example(t testing.TB, name string) *sheet.Set {
	t.Helper()
	n, diags, err := netlist.Load(os.DirFS(filepath.Join("..", "..", "examples", name)), name+".toml")
	require.NoError(t, err)
	require.False(t, diags.HasErrors())
	return &sheet.Set{Graph: graph.New(n), Netlist: n, Routes: route.New(n)}
}

var columnName = regexp.MustCompile(`^[a-z][a-z0-9]*(_[A-Za-z0-9]+)*$`)

// TestEveryListIsWhole: names, titles and columns are there, rows fill their columns, and a column of numbers holds numbers.
func TestEveryListIsWhole(t *testing.T) {
	names, orders := map[string]bool{}, map[int]bool{}
	for _, l := range list.Lists() {
		assert.Regexp(t, "^[a-z][a-z-]*$", l.Name)
		assert.False(t, names[l.Name] || orders[l.Order], l.Name)
		names[l.Name], orders[l.Order] = true, true
		assert.NotEmpty(t, l.Title, l.Name)
		assert.NotEmpty(t, l.Doc, l.Name)
		assert.Same(t, l, list.ByName(l.Name))
		heads := map[string]bool{}
		for _, c := range l.Columns {
			assert.Regexp(t, columnName, c.Name, l.Name)
			assert.False(t, heads[c.Name], "%s: %s", l.Name, c.Name)
			heads[c.Name] = true
		}
	}
	assert.Nil(t, list.ByName("nothing"))
	for _, name := range []string{"first", "pickup", "boat", "camper", "motorcycle"} {
		s := example(t, name)
		for _, l := range list.Lists() {
			for _, row := range l.Rows(s) {
				require.Len(t, row, len(l.Columns), "%s of %s", l.Name, name)
				for i, c := range l.Columns {
					if c.Number && row[i] != "" {
						assert.Regexp(t, `^-?[0-9]+(\.[0-9]+)?$`, row[i], "%s of %s: %s", l.Name, name, c.Name)
					}
				}
			}
		}
	}
}

// TestJSONAndCSVSayTheSame reads both back with independent readers and compares them cell by cell.
func TestJSONAndCSVSayTheSame(t *testing.T) {
	s := example(t, "pickup")
	for _, l := range list.Lists() {
		records, err := csv.NewReader(bytes.NewReader(l.CSV(s))).ReadAll()
		require.NoError(t, err, l.Name)
		var objects []map[string]any
		d := json.NewDecoder(bytes.NewReader(l.JSON(s)))
		d.UseNumber()
		require.NoError(t, d.Decode(&objects), l.Name)
		require.Len(t, records, len(objects)+1, l.Name)
		for i, record := range records[1:] {
			require.Len(t, objects[i], len(l.Columns))
			for j, c := range l.Columns {
				switch value := objects[i][c.Name].(type) {
				case nil:
					assert.Empty(t, record[j])
				case json.Number:
					assert.True(t, c.Number)
					assert.Equal(t, record[j], value.String())
				case string:
					assert.Equal(t, strings.TrimPrefix(record[j], "'"), strings.TrimPrefix(value, "'"))
				}
			}
		}
	}
}

// odd is a list with cells that need care in every format.
var odd = &list.List{
	Name: "odd", Columns: []list.Column{{Name: "name"}, {Name: "count", Number: true}, {Name: "note"}},
	Rows: func(*sheet.Set) [][]string {
		return [][]string{{"=1+1", "-2.5", "a\"b\\c<d>"}, {"\x1b[2Jtwo\nlines", "", "\u202eturned"}, {"日本", "1200", "="}, {"-", "007", ""}}
	},
}

func TestCellsThatNeedCare(t *testing.T) {
	assert.Equal(t, `name,count,note
'=1+1,-2.5,"a""b\c<d>"
"`+"\x1b"+`[2Jtwo
lines",,`+"\u202e"+`turned
日本,1200,'=
'-,007,
`, string(odd.CSV(nil)))
	assert.Equal(t, `[
  {"name": "=1+1", "count": -2.5, "note": "a\"b\\c<d>"},
  {"name": "\u001b[2Jtwo\nlines", "count": null, "note": "`+"\u202e"+`turned"},
  {"name": "日本", "count": 1200, "note": "="},
  {"name": "-", "count": "007", "note": null}
]
`, string(odd.JSON(nil)))
	assert.Equal(t, `name           count  note
=1+1            -2.5  a"b\c<d>
 [2Jtwo lines         `+" turned"+`
日本            1200  =
-                007
`, string(odd.Text(nil)))
	none := &list.List{Name: "none", Columns: odd.Columns, Rows: func(*sheet.Set) [][]string { return nil }}
	assert.Equal(t, "[]\n", string(none.JSON(nil)))
	assert.Equal(t, "name  count  note\n", string(none.Text(nil)))
	assert.Equal(t, "name,count,note\n", string(none.CSV(nil)))
}

var update = flag.Bool("update", false, "write the table of lists in ../SHEETS.md anew")

// TestSheetsPageNamesEveryList holds the table of SHEETS.md against the registry; with -update it writes it.
func TestSheetsPageNamesEveryList(t *testing.T) {
	page, err := os.ReadFile("../SHEETS.md")
	require.NoError(t, err)
	const head = "\n| list | printed on | a row for | numbers |\n|---|---|---|---|\n"
	before, lists, found := strings.Cut(string(page), head)
	require.True(t, found)
	rows, after, _ := strings.Cut(lists, "\n\n")
	want := strings.Join(tableRows(), "\n")
	if *update {
		require.NoError(t, os.WriteFile("../SHEETS.md", []byte(before+head+want+"\n\n"+after), 0o644))
		return
	}
	assert.Equal(t, want, rows, "run `go test ./render/list -run SheetsPage -update`")
}

func tableRows() []string {
	var rows []string
	for _, l := range list.Lists() {
		var numbers []string
		for _, c := range l.Columns {
			if c.Number {
				numbers = append(numbers, "`"+c.Name+"`")
			}
		}
		row := "| `" + l.Name + "` | `" + l.Sheet + "` | " + l.Doc + " | " + strings.Join(numbers, ", ") + " |"
		rows = append(rows, strings.ReplaceAll(row, "|  |", "| |"))
	}
	return rows
}

// TestEveryListIsPrinted: each list stands on a kind of sheet of the wall, or in labels.pdf; and every kind of sheet that is a list of
// the bench has at least one list, so that nothing that is printed is out of reach of a spreadsheet.
func TestEveryListIsPrinted(t *testing.T) {
	kinds, listed := map[string]bool{"labels": true}, map[string]bool{}
	for _, m := range sheet.Makers() {
		kinds[m.Name] = true
	}
	for _, l := range list.Lists() {
		assert.True(t, kinds[l.Sheet], "%s: %q", l.Name, l.Sheet)
		listed[l.Sheet] = true
	}
	for _, kind := range []string{"wires", "cut", "crimps", "buy", "bundles", "space", "ground", "continuity", "insulation", "first-power", "first-start", "commission", "labels"} {
		assert.True(t, listed[kind], kind)
	}
}

// TestFirstStartList: the list holds what the card holds, line by line, and has none where no engine starts.
func TestFirstStartList(t *testing.T) {
	rows := list.ByName("first-start").Rows(example(t, "pickup"))
	var pump, crank bool
	for _, r := range rows {
		pump = pump || strings.HasPrefix(r[3], "Pump M1") && strings.Contains(r[4], " V, ")
		crank = crank || strings.HasPrefix(r[1], "Cranking")
	}
	assert.True(t, pump && crank)
	assert.Empty(t, list.ByName("first-start").Rows(example(t, "first")))
}

// TestBlocks: no line is wider than a terminal, and every cell is there with the name of its column.
func TestBlocks(t *testing.T) {
	s := example(t, "pickup")
	for _, l := range list.Lists() {
		blocks := string(l.Blocks(s))
		said := strings.Join(strings.Fields(blocks), " ")
		for line := range strings.SplitSeq(blocks, "\n") {
			if strings.Contains(strings.TrimSpace(line), " ") { // one long word cannot be broken
				assert.LessOrEqual(t, utf8.RuneCountInString(line), list.ScreenColumns, "%s: %s", l.Name, line)
			}
		}
		for _, row := range l.Rows(s)[:min(5, len(l.Rows(s)))] {
			for i, cell := range row {
				if cell != "" {
					assert.Contains(t, said, strings.Join(strings.Fields(l.Columns[i].Name+": "+cell), " "), l.Name)
				}
			}
		}
	}
	assert.Equal(t, `name: =1+1  count: -2.5  note: a"b\c<d>
name: [2Jtwo lines  note: turned
name: 日本  count: 1200  note: =
name: -  count: 007
`, string(odd.Blocks(nil)))
	wide, err := list.ByName("cut").Write(s, list.Screen)
	require.NoError(t, err)
	assert.Equal(t, string(list.ByName("cut").Blocks(s)), string(wide))
	narrow, err := odd.Write(nil, list.Screen)
	require.NoError(t, err)
	assert.Equal(t, string(odd.Text(nil)), string(narrow))
}

// TestJSONOfTheDocuments: the example in SHEETS.md is what the program writes.
func TestJSONOfTheDocuments(t *testing.T) {
	page, err := os.ReadFile("../SHEETS.md")
	require.NoError(t, err)
	_, rest, found := strings.Cut(string(page), "\n```json\n")
	require.True(t, found)
	block, _, _ := strings.Cut(rest, "```")
	assert.Equal(t, string(list.ByName("fuses").JSON(example(t, "first"))), block)
}

// TestStatusList: what was made beside what the netlist says, and what is left to do.
func TestStatusList(t *testing.T) {
	n, _ := netlist.Parse("truck.toml", []byte("[harness]\nrevision = \"B\"\n[part]\nF1 = { kind = \"fuse\", rating = \"15 A\" }\n[wire]\n"+
		"10 = { from = \"F1:1\", to = \"F1:2\", size = \"12 AWG\", color = \"RD\", length = \"1 m\" }\n2 = { from = \"F1:1\", to = \"F1:2\", size = \"12 AWG\" }\n"))
	s := &sheet.Set{Graph: graph.New(n), Netlist: n, Routes: route.New(n)}
	status, diags := built.Read(source.NewFile("truck.built.toml", []byte("[built]\nof = \"truck.toml\"\n[wire]\n"+
		"10 = { stage = \"installed\", revision = \"A\", size = \"14 AWG\", color = \"RD\", from = \"F1:1\", to = \"F1:2\", length = \"1 m\" }\n"+
		"9 = { stage = \"cut\", revision = \"A\", from = \"F1:1\", to = \"F1:2\" }\n")), &built.Harness{Netlist: n, File: "truck.toml", Length: s.Cut().Length})
	require.Empty(t, diags)
	planned := list.ByName("status").Rows(s)
	assert.Equal(t, "planned", planned[0][1], "without a status file every wire is planned")
	s.Built = status
	var rows []string
	for _, row := range list.ByName("status").Rows(s) {
		rows = append(rows, strings.Join(row, "|"))
	}
	assert.Equal(t, []string{
		"2|planned|cut|||||||12 AWG|||F1:1|F1:2||",
		"10|installed||A|14 AWG|RD|1.000|F1:1|F1:2|12 AWG|RD|1.000|F1:1|F1:2|size|make it anew of 12 AWG",
		"9|cut||A||||F1:1|F1:2||||||removed|put the piece aside, then take its line out of the status file",
	}, rows)
}
