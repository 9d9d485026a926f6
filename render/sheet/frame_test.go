package sheet_test

import (
	"bytes"
	"encoding/csv"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/sheet"
)

var update = flag.Bool("update", false, "write the golden files anew")

func framed(p sheet.Paper, t sheet.TitleBlock) *canvas.Page {
	r := canvas.NewRecorder("S1", t.Title, p.Size())
	sheet.Frame(r, p, t)
	return r.Page()
}

func paper(t *testing.T, name string) sheet.Paper {
	t.Helper()
	p, ok := sheet.PaperByName(name)
	require.True(t, ok, name)
	return p
}

// block is a title block as a build fills it.
func block() sheet.TitleBlock {
	return sheet.TitleBlock{
		Vehicle: "Utility pickup, port injection", Title: "Fuel pump and injectors", Document: "FP-001", Kind: "Circuit diagram",
		Revision: "B", Hash: "3fa9c1d200be", Findings: sheet.FindingsText(0, 1, 2), Sheet: 2, Sheets: 14,
		Caution: "12 V negative-ground DC wiring only. Battery negative off first, on last. Local codes and licensed practice govern.",
	}
}

// crammed is a title block with more in every field than it can hold, and with what no face can draw.
func crammed() sheet.TitleBlock {
	long := strings.Repeat("Überlange Ångström-Bezeichnung 🔥 gjpqy ", 40)
	return sheet.TitleBlock{
		Vehicle: long, Title: long, Document: long, Kind: long, Revision: long, Hash: long, Scale: long, Findings: long,
		Owner: long, Date: long, Drawn: long, Approved: long, Sheet: 123456789, Sheets: 1234567890, Caution: long,
	}
}

func TestFrameIsLegible(t *testing.T) {
	for name, title := range map[string]sheet.TitleBlock{"empty": {}, "usual": block(), "crammed": crammed()} {
		for _, p := range sheet.Papers() {
			page := framed(p, title)
			assert.Empty(t, canvas.Overlaps(page), "%s %s", p.Name, name)
			assert.Empty(t, canvas.StruckTexts(page), "%s %s", p.Name, name)
			assert.Empty(t, canvas.SmallTexts(page, font.MinHeight), "%s %s", p.Name, name)
		}
	}
}

// Every field stays inside its own box, and nothing of the frame reaches into the drawing area but half a frame line.
func TestFrameKeepsToItsPlaces(t *testing.T) {
	for _, p := range sheet.Papers() {
		var box geom.Rect
		free := p.Area().Inset(canvas.Width0p7 / 2)
		fields := 0
		for _, o := range framed(p, crammed()).Ops {
			bounds, drawn := o.Bounds()
			if o.Kind == canvas.OpRect && o.In("field", "") {
				box = o.Area
				fields++
			}
			if o.Kind == canvas.OpText && o.In("field", "") {
				assert.True(t, box.ContainsRect(bounds), "%s: %s leaves its box %s", p.Name, o, box)
			}
			switch {
			case o.Kind == canvas.OpLine:
				assert.False(t, o.Points.Enters(free), "%s: %s runs through the drawing area", p.Name, o)
			case drawn && (o.Kind != canvas.OpRect || o.In("title-block", "")):
				assert.False(t, bounds.Overlaps(free), "%s: %s stands in the drawing area", p.Name, o)
			}
		}
		assert.Equal(t, 14, fields, p.Name)
	}
}

func TestFrameGolden(t *testing.T) {
	for _, name := range []string{"A4", "A3", "ANSI B"} {
		path := filepath.Join("testdata", "frame-"+strings.ToLower(strings.ReplaceAll(name, " ", "-"))+".golden")
		var got bytes.Buffer
		require.NoError(t, framed(paper(t, name), block()).Dump(&got))
		if *update {
			require.NoError(t, os.WriteFile(path, got.Bytes(), 0o644))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, string(want), got.String(), name)
	}
}

func reference(t *testing.T, name string) [][]string {
	t.Helper()
	file, err := os.Open(filepath.Join("..", "..", "testdata", "reference", name))
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

func millimetres(t *testing.T, text string) float64 {
	t.Helper()
	value, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return value
}

// Sources: ISO 216, ISO 5457 and ANSI/ASME Y14.1 as printed in testdata/reference/sheet-sizes.csv. The drawing spaces and
// the numbers of fields stand there from memory.
func TestPapersAgainstTheStandards(t *testing.T) {
	rows := reference(t, "sheet-sizes.csv")
	require.Len(t, rows, len(sheet.Papers()))
	for _, row := range rows {
		name := row[1]
		if strings.HasPrefix(row[0], "ANSI") {
			name = "ANSI " + name
		}
		p := paper(t, name)
		// Half a millimetre: the inch sizes are rounded to it in the table.
		assert.InDelta(t, millimetres(t, row[2]), min(p.Width, p.Height).Mm(), 0.5, name)
		assert.InDelta(t, millimetres(t, row[3]), max(p.Width, p.Height).Mm(), 0.5, name)
		if row[4] != "" {
			assert.Equal(t, geom.Inches(millimetres(t, row[4])), min(p.Width, p.Height), name)
			assert.Equal(t, geom.Inches(millimetres(t, row[5])), max(p.Width, p.Height), name)
			continue
		}
		frame := p.Frame()
		assert.Equal(t, row[7], fmt.Sprintf("%s x %s", frame.Width(), frame.Height()), name)
		columns, letters := fieldNames(framed(p, block()))
		assert.Equal(t, row[8], fmt.Sprintf("%d x %d", len(columns), len(letters)), name)
	}
}

// fieldNames returns the different names of the grid along each side.
func fieldNames(page *canvas.Page) (numbers, letters map[string]bool) {
	numbers, letters = map[string]bool{}, map[string]bool{}
	for _, o := range page.Ops {
		if o.Kind != canvas.OpText || !o.In("frame", "") {
			continue
		}
		if _, err := strconv.Atoi(o.Text.String); err == nil {
			numbers[o.Text.String] = true
		} else {
			letters[o.Text.String] = true
		}
	}
	return numbers, letters
}

// ISO 5457 by testdata/reference/sheet-rules.csv (from memory): letters I and O not used, 3.5 mm high, letters downwards
// and numbers to the right, A4 only at top and right.
func TestGrid(t *testing.T) {
	for _, p := range sheet.Papers() {
		last := map[string]geom.Point{}
		sides := map[string]bool{}
		for _, o := range framed(p, block()).Ops {
			if o.Kind != canvas.OpText || !o.In("frame", "") {
				continue
			}
			assert.NotContains(t, []string{"I", "O"}, o.Text.String)
			assert.Equal(t, font.Height3p5, o.Text.Height)
			side := map[bool]string{true: "top", false: "bottom"}[o.Text.At.Y < p.Height/2]
			position := o.Text.At.X
			if o.Text.String >= "A" {
				side = map[bool]string{true: "left", false: "right"}[o.Text.At.X < p.Width/2]
				position = o.Text.At.Y
			}
			before, seen := last[side]
			assert.True(t, !seen || before.X < position, "%s %s %s", p.Name, side, o.Text.String)
			last[side] = geom.Pt(position, 0)
			sides[side] = true
		}
		small := p.Name == "A4" || p.Name == "Letter"
		assert.Len(t, sides, map[bool]int{true: 2, false: 4}[small], p.Name)
	}
}

// The width of the title block in ISO 7200 is 180 mm; on A4 that is the whole frame.
func TestTitleBlockIsBottomRight(t *testing.T) {
	for _, p := range sheet.Papers() {
		var title geom.Rect
		for _, o := range framed(p, block()).Ops {
			if o.Kind == canvas.OpRect && o.Group().Kind == "title-block" {
				title = o.Area
			}
		}
		assert.Equal(t, p.Frame().Max, title.Max, p.Name)
		if p.Name == "Letter" {
			assert.Equal(t, p.Frame().Width(), title.Width(), "the whole foot: 6 mm beside the block are of no use")
		} else {
			assert.Equal(t, 180*geom.MM, title.Width(), p.Name)
		}
		assert.LessOrEqual(t, p.Area().Max.Y, title.Min.Y, p.Name)
	}
}

func TestTitleBlockSays(t *testing.T) {
	texts := func(title sheet.TitleBlock) map[string]string {
		said := map[string]string{}
		for _, o := range framed(paper(t, "A3"), title).Ops {
			if o.Kind == canvas.OpText && o.In("field", "") {
				said[o.Group().Ref] = o.Text.String
			}
		}
		return said
	}
	said := texts(block())
	assert.Equal(t, "2 of 14", said["sheet"])
	assert.Equal(t, "0 errors / 1 warning / 2 accepted", said["findings"])
	assert.Equal(t, "Not to scale", said["scale"])
	assert.Equal(t, "Fuel pump and injectors", said["title"])
	assert.Equal(t, "7", texts(sheet.TitleBlock{Sheet: 7})["sheet"])
	assert.Equal(t, "1:1", texts(sheet.TitleBlock{Scale: "1:1"})["scale"])
	long := texts(crammed())["title"]
	assert.True(t, strings.HasSuffix(long, "…"), "%q shows that it was cut", long)
}

func TestPaperByName(t *testing.T) {
	for name, want := range map[string]string{"a3": "A3", "ANSI-B": "ANSI B", "ansi b": "ANSI B", "letter": "Letter", "ANSI A": "Letter"} {
		assert.Equal(t, want, paper(t, name).Name)
	}
	for _, name := range []string{"", "A7", "B"} {
		_, ok := sheet.PaperByName(name)
		assert.False(t, ok, name)
	}
}

func TestSmallestFor(t *testing.T) {
	a4 := paper(t, "A4").Area()
	for _, test := range []struct {
		series        sheet.Series
		width, height geom.Length
		want          string
		ok            bool
	}{
		{sheet.ISO, a4.Width(), a4.Height(), "A4", true},
		{sheet.ISO, a4.Width() + 1, a4.Height(), "A3", true},
		{sheet.ISO, 600 * geom.MM, 300 * geom.MM, "A1", true},
		{sheet.ANSI, 180 * geom.MM, 200 * geom.MM, "Letter", true},
		{sheet.ANSI, 300 * geom.MM, 200 * geom.MM, "ANSI B", true},
		{sheet.ISO, 2000 * geom.MM, 100 * geom.MM, "A0", false},
		{sheet.ANSI, 100 * geom.MM, 2000 * geom.MM, "ANSI E", false},
	} {
		p, ok := sheet.SmallestFor(test.series, test.width, test.height)
		assert.Equal(t, test.want, p.Name)
		assert.Equal(t, test.ok, ok, test.want)
	}
}

func TestCaution(t *testing.T) {
	for _, p := range sheet.Papers() {
		assert.True(t, p.CautionFits(block().Caution), p.Name)
		assert.True(t, p.CautionFits(""), p.Name)
		assert.False(t, p.CautionFits(crammed().Caution+crammed().Caution+crammed().Caution), p.Name)
		fitting := cautionText(framed(p, block()))
		assert.Equal(t, block().Caution, fitting, p.Name)
	}
	assert.True(t, strings.HasSuffix(cautionText(framed(paper(t, "A4"), crammed())), "…"), "a cut caution shows it")
	for _, o := range framed(paper(t, "A4"), sheet.TitleBlock{}).Ops {
		assert.False(t, o.In("caution", ""))
	}
}

func cautionText(page *canvas.Page) string {
	var lines []string
	for _, o := range page.Ops {
		if o.Kind == canvas.OpText && o.In("caution", "") {
			lines = append(lines, o.Text.String)
		}
	}
	return strings.Join(lines, " ")
}
