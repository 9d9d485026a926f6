package render_test

import (
	"bytes"
	"crypto/md5"
	"encoding/csv"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/render"
	"ferrule/render/list"
	"ferrule/render/sheet"
)

func input(n *model.Netlist) render.Input {
	return render.Input{Graph: graph.New(n), Program: "Ferrule test"}
}

func example(t testing.TB, name string) render.Input {
	t.Helper()
	n, diags, err := netlist.Load(os.DirFS(filepath.Join("..", "examples", name)), name+".toml")
	require.NoError(t, err)
	require.False(t, diags.HasErrors())
	return input(n)
}

func parsed(t testing.TB, text string) render.Input {
	t.Helper()
	n, diags := netlist.Parse("harness.toml", []byte(text))
	for _, d := range diags.AtLeast(diag.Error) {
		require.Fail(t, d.Message, d.Help)
	}
	return input(n)
}

// hostile is a harness whose texts are formulas to a spreadsheet, and that needs every kind of quoting.
const hostile = `[harness]
title = "=cmd"
volts = 12
polarity = "negative-ground"
[part]
BAT1 = { kind = "battery", title = "=HYPERLINK(\"x\")", capacity = "60 Ah" }
F2 = { kind = "fuse", title = "+1, and \"more\"", rating = "7.5 A", family = "blade" }
F10 = { kind = "fuse", title = "-1", rating = "100 A", spare = true }
E1 = { kind = "lamp", title = "@SUM(A1)", load = "5 W" }
[connector]
X1B = { mates = "X1C", cavities = 3, sealed = true, spare = ["3"] }
X1C = { mates = "X1B", cavities = 3, sealed = true }
[wire]
1a = { from = "BAT1:+", to = "F2:1", size = "14 AWG", color = "RD", net = "PLUS", length = "0.15 m" }
2a = { from = "F2:2", to = "X1B:1", size = "2.5 mm2", color = "RD/WH", note = "two\nlines" }
2b = { from = "X1C:1", to = "E1:1", color = "RD/WH", supplied = true }
10 = { from = "E1:2", to = "BAT1:-", size = "16 AWG", color = "BK" }
`

// table reads a CSV file into one map a row, by the head line.
func table(t *testing.T, files []render.File, name string) []map[string]string {
	t.Helper()
	for _, f := range files {
		if f.Name != name {
			continue
		}
		records, err := csv.NewReader(bytes.NewReader(f.Data)).ReadAll()
		require.NoError(t, err, name)
		var rows []map[string]string
		for _, record := range records[1:] {
			row := map[string]string{}
			for i, cell := range record {
				row[records[0][i]] = cell
			}
			rows = append(rows, row)
		}
		return rows
	}
	require.Fail(t, "no file", name)
	return nil
}

func column(rows []map[string]string, name string) []string {
	var cells []string
	for _, r := range rows {
		cells = append(cells, r[name])
	}
	return cells
}

func TestBuildWritesTheSet(t *testing.T) {
	for _, name := range []string{"first", "pickup"} {
		files, err := render.Build(example(t, name))
		require.NoError(t, err)
		var names []string
		for _, f := range files {
			names = append(names, f.Name)
			assert.NotEmpty(t, f.Data, f.Name)
		}
		want := []string{"wall.pdf"}
		for _, l := range list.Lists() {
			want = append(want, l.Name+".csv")
		}
		want = append(want, "labels.pdf", "labels-a4.pdf", "labels-letter.pdf", "cards.pdf")
		assert.Equal(t, want, names)
		assert.Subset(t, names, []string{"wires.csv", "pins.csv", "connectors.csv", "fuses.csv"})
		assert.True(t, bytes.HasPrefix(files[0].Data, []byte("%PDF-")), name)
	}
}

func TestBuildIsDeterministic(t *testing.T) {
	first, err := render.Build(example(t, "pickup"))
	require.NoError(t, err)
	second, err := render.Build(example(t, "pickup"))
	require.NoError(t, err)
	require.Len(t, second, len(first))
	for i := range first {
		assert.True(t, bytes.Equal(first[i].Data, second[i].Data), first[i].Name)
	}
}

// TestThePDFCarriesItsSource: the netlist is inside the PDF, byte for byte; the independent reader takes it out.
func TestThePDFCarriesItsSource(t *testing.T) {
	in := example(t, "first")
	data, err := render.Draw(in, "cover", "pdf")
	require.NoError(t, err)
	f := in.Graph.Netlist.Files[0]
	assert.Contains(t, string(data), "/EmbeddedFiles")
	assert.Contains(t, string(data), fmt.Sprintf("/Size %d", len(f.Text)))
	assert.Contains(t, string(data), fmt.Sprintf("/CheckSum <%x>", md5.Sum(f.Text))) // ISO 32000-1, 7.11.4: MD5 of the file
}

// TestPrintedInPiecesAndGray: pieces make more pages, grey leaves no colour, and a paper that is none is refused.
func TestPrintedInPiecesAndGray(t *testing.T) {
	in := example(t, "first")
	whole, err := render.Draw(in, "cover", "pdf")
	require.NoError(t, err)
	in.Print.Tile = "a4"
	pieces, err := render.Draw(in, "cover", "pdf")
	require.NoError(t, err)
	assert.Greater(t, strings.Count(string(pieces), "/Type /Page\n"), strings.Count(string(whole), "/Type /Page\n"))
	in.Print.Tile = "a5"
	_, err = render.Draw(in, "cover", "pdf")
	assert.ErrorContains(t, err, "a4, letter")
	in.Print = render.Print{Gray: true}
	text, err := render.Draw(in, "wires", "svg")
	require.NoError(t, err)
	for _, m := range regexp.MustCompile(`#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})`).FindAllStringSubmatch(string(text), -1) {
		assert.True(t, m[1] == m[2] && m[2] == m[3], m[0])
	}
}

func TestListsAreComplete(t *testing.T) {
	for _, name := range []string{"first", "pickup"} {
		in := example(t, name)
		n := in.Graph.Netlist
		files, err := render.Build(in)
		require.NoError(t, err)
		wires := column(table(t, files, "wires.csv"), "wire")
		assert.Len(t, wires, len(n.Wires), name)
		pins := table(t, files, "pins.csv")
		ends := map[string]map[string]bool{} // terminal -> wires
		for _, r := range pins {
			if ends[r["terminal"]] == nil {
				ends[r["terminal"]] = map[string]bool{}
			}
			ends[r["terminal"]][r["wire"]] = true
		}
		for _, w := range n.Wires {
			assert.Contains(t, wires, w.Name.Text, name)
			assert.True(t, ends[n.Pin(w.From.ID).String()][w.Name.Text], "%s: from of %s", name, w.Name.Text)
			assert.True(t, ends[n.Pin(w.To.ID).String()][w.Name.Text], "%s: to of %s", name, w.Name.Text)
		}
		for i := range n.Pins {
			if n.Pins[i].Owner.Sort != model.BodyOwner {
				assert.Contains(t, ends, n.Pins[i].String(), name)
			}
		}
		assert.Len(t, table(t, files, "connectors.csv"), len(n.Connectors), name)
	}
}

func TestListsInDetail(t *testing.T) {
	files, err := render.Build(parsed(t, hostile))
	require.NoError(t, err)
	wires := table(t, files, "wires.csv")
	assert.Equal(t, []string{"1a", "2a", "2b", "10"}, column(wires, "wire"))
	// SAE cable of 14 AWG has at least 1.876 mm2 of copper, not the 2.08 mm2 of ASTM B258: testdata/reference/sae-conductor-area.csv.
	assert.Equal(t, []string{"1.876", "2.500", "", "1.184"}, column(wires, "area_mm2"))
	assert.Equal(t, []string{"0.150", "", "", ""}, column(wires, "length_m"))
	assert.Equal(t, []string{"BAT1:+", "F2:2", "X1C:1", "E1:2"}, column(wires, "from"))
	assert.Equal(t, "two\nlines", wires[1]["note"])
	assert.Equal(t, []string{"", "", "yes", ""}, column(wires, "supplied"))

	pins := table(t, files, "pins.csv")
	for _, r := range pins {
		switch r["terminal"] {
		case "F2:2":
			assert.Equal(t, []string{"E1:1", "X1B:1"}, []string{r["goes_to"], r["through"]})
		case "X1B:3", "X1C:3":
			assert.Equal(t, "spare: PLUG", r["empty"])
		case "X1B:2":
			assert.Equal(t, "no wire: PLUG", r["empty"])
		}
	}

	fuses := table(t, files, "fuses.csv")
	assert.Equal(t, []string{"F2", "F10"}, column(fuses, "fuse"))
	assert.Equal(t, []string{"7.5", "100"}, column(fuses, "rating_A"))
	assert.Equal(t, []string{"1a", ""}, column(fuses, "wires_1"))

	connectors := table(t, files, "connectors.csv")
	assert.Equal(t, []string{"3", "3"}, column(connectors, "cavities"))
	assert.Equal(t, []string{"2", "2"}, column(connectors, "plugs_needed"))
}

// No cell begins with what a spreadsheet takes for a formula (OWASP, "CSV Injection": = + - @, tab, carriage return).
func TestCellsAreNoFormulas(t *testing.T) {
	files, err := render.Build(parsed(t, hostile))
	require.NoError(t, err)
	guarded := 0
	for _, f := range files[1:] {
		if !strings.HasSuffix(f.Name, ".csv") {
			continue
		}
		records, err := csv.NewReader(bytes.NewReader(f.Data)).ReadAll()
		require.NoError(t, err)
		for _, record := range records {
			for _, cell := range record {
				_, err := strconv.ParseFloat(cell, 64) // a number below zero is no formula
				assert.False(t, err != nil && cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r"), "%s: %q", f.Name, cell)
				if strings.HasPrefix(cell, "'") {
					guarded++
				}
			}
		}
	}
	assert.Positive(t, guarded)
}

func TestSheetsAndDraw(t *testing.T) {
	in := example(t, "pickup")
	infos := render.Sheets(in)
	require.NotEmpty(t, infos)
	assert.Equal(t, render.SheetInfo{Name: "cover", Title: "Cover", Number: 1}, infos[0])
	names := map[string]bool{}
	for i, info := range infos {
		if own := strings.HasPrefix(info.Name, "labels") || info.Name == "cards"; own {
			assert.Zero(t, info.Number, info.Name)
		} else {
			assert.Equal(t, i+1, info.Number)
		}
		assert.False(t, names[info.Name], info.Name)
		names[info.Name] = true
	}
	for _, name := range []string{"pinout-XA", "terminals.2", "wires.2"} {
		require.True(t, names[name], name)
		data, err := render.Draw(in, name, "svg")
		require.NoError(t, err)
		assertWellFormed(t, data)
		data, err = render.Draw(in, name, "pdf")
		require.NoError(t, err)
		assert.True(t, bytes.HasPrefix(data, []byte("%PDF-")))
	}
}

// TestDrawAllOfAKind takes small examples: each kind is planned anew for every call. The boat starts no engine, the motorcycle
// has no connectors and no panels; together they have every kind.
func TestDrawAllOfAKind(t *testing.T) {
	boat, motorcycle := example(t, "boat"), example(t, "motorcycle")
	for _, m := range sheet.Makers() {
		in := boat
		if m.Name == "first-start" {
			in = motorcycle
		}
		_, err := render.Draw(in, m.Name, "pdf")
		assert.NoError(t, err, m.Name)
	}
}

func assertWellFormed(t *testing.T, data []byte) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return
		} else {
			require.NoError(t, err)
		}
	}
}

// TestListsOnTheirOwn: a list that is asked for alone is the one that a build writes, although no sheet is planned for it.
func TestListsOnTheirOwn(t *testing.T) {
	in := example(t, "pickup")
	files, err := render.Build(in)
	require.NoError(t, err)
	infos := render.Lists(in)
	require.Len(t, infos, len(files)-1-3-1, "one PDF with all sheets, three with labels and one with cards")
	for i, info := range infos {
		data, err := render.List(in, info.Name, "csv")
		require.NoError(t, err)
		assert.Equal(t, info.Name+".csv", files[i+1].Name)
		assert.True(t, bytes.Equal(files[i+1].Data, data), info.Name)
		assert.Len(t, table(t, files, files[i+1].Name), info.Rows)
	}
	_, err = render.List(in, "wire", "csv")
	assert.ErrorContains(t, err, "wires, pins")
	_, err = render.List(in, "wires", "xml")
	assert.ErrorContains(t, err, "text, block, csv, json")
}

func TestDrawSaysWhatIsWrong(t *testing.T) {
	in := example(t, "pickup")
	for _, test := range []struct{ name, format, want string }{
		{"pinout-XQ", "svg", `did you mean "pinout-X`},
		{"something else entirely", "svg", "--sheet ? lists the sheets"},
		{"", "pdf", "there is no sheet"},
		{"pinout", "svg", "an SVG holds one"},
		{"pinout-XA", "png", "write svg or pdf"},
	} {
		_, err := render.Draw(in, test.name, test.format)
		assert.ErrorContains(t, err, test.want, test.name)
	}
	_, err := render.Draw(parsed(t, "[harness]\ntitle = \"Empty\"\n"), "pinout", "pdf")
	assert.ErrorContains(t, err, "no sheets of the kind")
}

// A harness with nothing in it still gives a file.
func TestBuildOfAnEmptyHarness(t *testing.T) {
	files, err := render.Build(parsed(t, "[harness]\ntitle = \"Empty\"\n"))
	require.NoError(t, err)
	assert.Len(t, files, 1+len(list.Lists()))
	assert.Empty(t, table(t, files, "wires.csv"))
}

func TestHash(t *testing.T) {
	hash := func(text string) string { return render.Hash(parsed(t, text).Graph.Netlist) }
	assert.Regexp(t, "^[0-9a-f]{8}$", hash(hostile))
	assert.Equal(t, hash(hostile), hash(hostile))
	assert.NotEqual(t, hash(hostile), hash(hostile+"\n# a remark"))
}

func BenchmarkBuildPickup(b *testing.B) {
	in := example(b, "pickup")
	for b.Loop() {
		_, err := render.Build(in)
		require.NoError(b, err)
	}
}

// TestLabelsAreTrueToSize: the pages of labels have the size of their paper or the width of their tape, in points of 1/72 inch:
// A4 595.28 x 841.89, Letter 612 x 792, 12 mm 34.02; also when larger sheets are to be cut for another paper.
func TestLabelsAreTrueToSize(t *testing.T) {
	in := example(t, "boat")
	in.Print.Tile = "letter"
	files, err := render.Build(in)
	require.NoError(t, err)
	for name, want := range map[string]string{
		"labels.pdf": `/MediaBox \[0 0 [0-9.]+ 34\.02\]`, "labels-a4.pdf": `/MediaBox \[0 0 595\.28 841\.89\]`, "labels-letter.pdf": `/MediaBox \[0 0 612\.00 792\.00\]`,
	} {
		at := slices.IndexFunc(files, func(f render.File) bool { return f.Name == name })
		require.GreaterOrEqual(t, at, 0, name)
		assert.Regexp(t, want, string(files[at].Data), name)
		drawn, err := render.Draw(in, strings.TrimSuffix(name, ".pdf"), "pdf")
		require.NoError(t, err)
		assert.True(t, bytes.Equal(files[at].Data, drawn), name)
	}
	_, err = render.Draw(in, "labels-b5", "pdf")
	assert.ErrorContains(t, err, "there are: labels, labels-a4, labels-letter")
}
