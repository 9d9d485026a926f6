package sheet_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/model"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/sheet"
)

// What every page promises: no text on another, no line through a text, nothing small,
// nothing off the page, nothing but the frame outside the drawing area.
func TestTabularSheetsAreLegible(t *testing.T) {
	for name, p := range plans(t) {
		for _, page := range p.of(tabular...) {
			where := name + " " + page.Name
			assert.Empty(t, canvas.Overlaps(page), where)
			assert.Empty(t, canvas.StruckTexts(page), where)
			assert.Empty(t, canvas.SmallTexts(page, font.MinHeight), where)
			assertInside(t, p, page, where)
		}
	}
}

func assertInside(t *testing.T, p planned, page *canvas.Page, where string) {
	t.Helper()
	i := slices.IndexFunc(p.set.Pages, func(q *sheet.Page) bool { return q.Name == page.Name })
	area := p.set.Pages[i].Paper.Area()
	if permille := p.set.Pages[i].Paper.Permille; permille != 0 {
		enlarged := func(l geom.Length) geom.Length { return geom.Length(int64(l) * int64(permille) / 1000) }
		area = geom.Rect{Min: geom.Pt(enlarged(area.Min.X), enlarged(area.Min.Y)), Max: geom.Pt(enlarged(area.Max.X), enlarged(area.Max.Y))}
	}
	for _, o := range page.Ops {
		if o.In("frame", "") || o.In("title-block", "") || o.In("caution", "") {
			continue
		}
		if bounds, drawn := o.Bounds(); drawn {
			assert.True(t, area.ContainsRect(bounds), "%s: %s at %s leaves the drawing area %s", where, o, bounds, area)
		}
	}
	assert.True(t, p.set.Pages[i].Paper.CautionFits(p.set.Pages[i].Caution), where)
}

// refsOn returns the designators of the groups of a kind on the pages.
func refsOn(pages []*canvas.Page, kind string) map[string]int {
	refs := map[string]int{}
	for _, page := range pages {
		for _, o := range page.Ops {
			if o.Kind == canvas.OpBegin && o.Group().Kind == kind {
				refs[o.Group().Ref]++
			}
		}
	}
	return refs
}

// textIn returns the text of a group, its lines joined by spaces.
func textIn(pages []*canvas.Page, kind, ref string) string {
	var lines []string
	for _, page := range pages {
		for _, o := range page.Ops {
			if o.Kind == canvas.OpText && o.In(kind, ref) {
				lines = append(lines, o.Text.String)
			}
		}
	}
	return strings.Join(lines, " ")
}

func TestWireListHasEveryWire(t *testing.T) {
	for name, p := range plans(t) {
		pages := p.of("wires")
		rows := refsOn(pages, "wire")
		assert.Len(t, rows, len(p.set.Netlist.Wires), name)
		for _, w := range p.set.Netlist.Wires {
			text := textIn(pages, "wire", w.Name.Text)
			assert.Contains(t, text, w.Name.Text, name)
			if w.Color.IsSet() {
				assert.Contains(t, text, w.Color.String(), "%s %s", name, w.Name.Text)
			}
		}
	}
}

func TestWireListIsInNaturalOrder(t *testing.T) {
	var order []string
	for _, page := range plan(parsed(t, crowded()), nil, nil).of("wires") {
		for _, o := range page.Ops {
			if o.Kind == canvas.OpBegin && o.Group().Kind == "wire" {
				order = append(order, o.Group().Ref)
			}
		}
	}
	require.Greater(t, len(order), 60)
	assert.Equal(t, []string{"1a", "2a", "10a", "10b", "11", "12", "13", "14", "b1", "b2", "b3"}, order[:11])
	assert.Equal(t, "b60", order[len(order)-1])
}

func TestPinoutHasEveryCavity(t *testing.T) {
	for name, p := range plans(t) {
		for _, c := range p.set.Netlist.Connectors {
			pages := pinoutOf(p, c)
			require.NotEmpty(t, pages, "%s %s", name, c.Name.Text)
			rows := refsOn(pages, "pin")
			assert.Len(t, rows, len(c.Owner.Pins), "%s %s", name, c.Name.Text)
			for _, id := range c.Owner.Pins {
				assert.Contains(t, rows, p.set.Netlist.Pin(id).String(), "%s %s", name, c.Name.Text)
			}
			assert.Contains(t, textIn(pages, "field", "title"), c.Name.Text)
		}
	}
}

// pinoutOf returns the pages that show a connector.
func pinoutOf(p planned, c *model.Connector) []*canvas.Page {
	var pages []*canvas.Page
	for i, page := range p.set.Pages {
		if strings.HasPrefix(page.Name, "pinout-") && slices.Contains(page.Shows, sheet.Shown{Kind: "connector", Ref: c.Name.Text}) {
			pages = append(pages, p.pages[i])
		}
	}
	return pages
}

// Every end of every wire stands in the row of its terminal, with the wire's number.
func TestEveryWireEndIsOnASheet(t *testing.T) {
	for name, p := range plans(t) {
		texts := pinTexts(p.of("pinout", "terminals"))
		for _, w := range p.set.Netlist.Wires {
			for _, end := range []model.PinRef{w.From, w.To} {
				require.NotEqual(t, model.NoPin, end.ID, "%s %s", name, w.Name.Text)
				ref := p.set.Netlist.Pin(end.ID).String()
				assert.Contains(t, strings.Fields(strings.ReplaceAll(texts[ref], ",", " ")), w.Name.Text, "%s: wire %s at %s", name, w.Name.Text, ref)
			}
		}
	}
}

// pinTexts returns the text of every row of a terminal.
func pinTexts(pages []*canvas.Page) map[string]string {
	texts := map[string]string{}
	for _, page := range pages {
		for _, o := range page.Ops {
			if group := o.Group(); o.Kind == canvas.OpText && group.Kind == "pin" {
				texts[group.Ref] += o.Text.String + " "
			}
		}
	}
	return texts
}

// Every sheet is in the index once: alone, or in the range of those that are one thing cut in pieces.
func TestIndexListsAndLinksEveryPage(t *testing.T) {
	for name, p := range plans(t) {
		cover := p.of("cover")
		require.NotEmpty(t, cover, name)
		require.Equal(t, "cover", p.pages[0].Name, name)
		links := map[string]bool{}
		for _, page := range cover {
			for _, o := range page.Ops {
				if o.Kind == canvas.OpLink && o.In("index", "") {
					links[o.Target] = true
				}
			}
		}
		next := 1
		for _, page := range p.set.Pages {
			if page.Number < next {
				continue // in the range of the one before
			}
			assert.True(t, links[page.Name], "%s %s", name, page.Name)
			text := textIn(cover, "index", page.Name)
			numbers, _, _ := strings.Cut(text, " ")
			from, to, several := strings.Cut(numbers, "–")
			assert.Equal(t, fmt.Sprint(next), from, "%s %s", name, page.Name)
			last := next
			if several {
				last, _ = strconv.Atoi(to)
				require.Greater(t, last, next, text)
				assert.Contains(t, text, fmt.Sprintf("%d sheets", last-next+1), name)
			}
			for _, q := range p.set.Pages[next-1 : last] {
				assert.Contains(t, q.Title, strings.Split(page.Title, " (")[0], "%s %s", name, q.Name)
			}
			next = last + 1
		}
		assert.Equal(t, len(p.set.Pages)+1, next, name)
	}
}

// Nothing of a finding is cut off: its text, put together again, is the message, the help, the rule and the place.
func TestFindingsStandInFull(t *testing.T) {
	n := parsed(t, crowded())
	findings, accepted := manyFindings(n)
	cover := plan(n, findings, accepted).of("cover")
	require.Greater(t, len(cover), 1, "so many findings need more than a page")
	for _, d := range findings {
		text := squeezed(textIn(cover, "finding", d.Refs[0]))
		assert.Contains(t, text, squeezed(font.Drawable(d.Message)))
		assert.Contains(t, text, squeezed("Do: "+d.Help))
		begin := d.Span.Begin()
		assert.Contains(t, text, squeezed(fmt.Sprintf("net-short, harness.toml:%d:%d", begin.Line, begin.Column)))
		assert.Contains(t, text, d.Severity.String())
	}
	for _, a := range accepted {
		assert.Contains(t, squeezed(textIn(cover, "finding", a.Finding.Refs[0])), squeezed("Accepted because: "+a.Because))
	}
	titles := textIn(cover, "table", "")
	assert.Contains(t, titles, "Findings, continued")
}

// squeezed drops spaces, so that it does not matter where lines were broken.
func squeezed(text string) string { return strings.Join(strings.Fields(text), "") }

// The scope of the sheets stands on every page of the cover, with the voltage and polarity of the harness.
func TestCoverCarriesTheScope(t *testing.T) {
	n := parsed(t, crowded())
	p := plan(n, nil, nil)
	const note = " \uFFFD stands for a character that the lettering lacks: see the netlist."
	for i, page := range p.of("cover") {
		text := textIn([]*canvas.Page{page}, "caution", "")
		assert.Contains(t, text, "12 V positive-ground DC wiring only.")
		assert.Contains(t, text, "No airbag/SRS")
		scope, _, found := strings.Cut(text, note)
		assert.True(t, strings.HasSuffix(scope, "licensed practice govern."), text)
		undrawn := slices.ContainsFunc(page.Ops, func(o canvas.Op) bool {
			return !o.In("caution", "") && strings.ContainsRune(o.Text.String, utf8.RuneError)
		})
		fits := p.set.Pages[i].Paper.CautionFits(scope + note)
		assert.Equal(t, undrawn && fits, found, "%s: %v", page.Name, fits)
		assert.True(t, fits || i > 0, "the first page says it")
	}
	cover := p.of("cover")
	for _, topic := range []string{"Battery", "First power", "Fuel", "Fire", "Ignition", "SRS"} {
		assert.NotEmpty(t, textIn(cover, "hazard", topic), topic)
	}
}

// cavityPlaces returns the names of the cavities of one face, row by row from the top and from left to right.
func cavityPlaces(t *testing.T, page *canvas.Page, heading string) []string {
	t.Helper()
	var cavities []canvas.Op
	for _, o := range page.Ops {
		if o.Kind != canvas.OpText || o.Group().Kind != "cavity" {
			continue
		}
		if face := o.Groups[len(o.Groups)-2]; face.Kind == "face" && face.Title == heading {
			cavities = append(cavities, o)
		}
	}
	slices.SortFunc(cavities, func(a, b canvas.Op) int {
		if a.Text.At.Y != b.Text.At.Y {
			return int(a.Text.At.Y - b.Text.At.Y)
		}
		return int(a.Text.At.X - b.Text.At.X)
	})
	var names []string
	for _, o := range cavities {
		names = append(names, o.Text.String)
	}
	return names
}

func TestFacesAreMirrorImages(t *testing.T) {
	p := plan(parsed(t, crowded()), nil, nil)
	const wires, mating = "LOOKING AT THE WIRES GOING IN", "LOOKING AT THE MATING FACE"
	for _, test := range []struct {
		page, heading string
		want          string
	}{
		{"pinout-XA", wires, "1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24"},
		{"pinout-XA", mating, "12 11 10 9 8 7 6 5 4 3 2 1 24 23 22 21 20 19 18 17 16 15 14 13"},
		{"pinout-XF", mating, "A1 A2 A4 B2 B3 B4"},
		{"pinout-XF", wires, "A4 A2 A1 B4 B3 B2"},
		{"pinout-X1B", wires, "1 2 3 4"},
		{"pinout-X1C", wires, "4 3 2 1"}, // the other half, from its own wire side
		{"pinout-XC", mating, "1"},
	} {
		page := p.page(t, test.page)
		assert.Equal(t, test.want, strings.Join(cavityPlaces(t, page, test.heading), " "), "%s %s", test.page, test.heading)
	}
	assert.Len(t, cavityPlaces(t, p.page(t, "pinout-XB"), wires), 121)
}

// A latch at the left of one view is at the right of the other.
func TestLatchIsMirrored(t *testing.T) {
	page := plan(parsed(t, crowded()), nil, nil).page(t, "pinout-XA")
	side := func(heading string) (latch, housing int) {
		for _, o := range page.Ops {
			if len(o.Groups) == 0 || o.Group().Title != heading {
				continue
			}
			if o.Kind == canvas.OpText && o.Text.String == "LATCH" {
				latch = int(o.Text.At.X)
			}
			if o.Kind == canvas.OpRect && housing == 0 {
				housing = int(o.Area.Center().X)
			}
		}
		require.NotZero(t, latch, heading)
		return latch, housing
	}
	latch, housing := side("LOOKING AT THE WIRES GOING IN")
	assert.Less(t, latch, housing)
	latch, housing = side("LOOKING AT THE MATING FACE")
	assert.Greater(t, latch, housing)
}

func TestNoFaceIsGuessed(t *testing.T) {
	p := plan(parsed(t, crowded()), nil, nil)
	for page, notice := range map[string]string{
		"pinout-XD":  "Numbering view not stated: confirm by the numbers moulded in the housing",
		"pinout-X2C": "Numbering view not stated: confirm by the numbers moulded in the housing",
		"pinout-XE":  "too many cavities to be drawn legibly",
		"pinout-XF":  "Side of the latch not stated",
	} {
		drawn := p.page(t, page)
		var texts []string
		for _, o := range drawn.Ops {
			if o.Kind == canvas.OpText {
				texts = append(texts, o.Text.String)
			}
		}
		assert.Contains(t, strings.Join(texts, " "), notice, page)
		if page != "pinout-XF" {
			assert.Empty(t, refsOn([]*canvas.Page{drawn}, "face"), page)
		}
	}
}

// A wire is followed through in-line connectors to the device, and the cavities on the way are named.
func TestFarEnd(t *testing.T) {
	p := plan(parsed(t, crowded()), nil, nil)
	assert.Contains(t, textIn(p.of("pinout"), "pin", "XA:1"), "F2:2")
	assert.Contains(t, squeezed(textIn(p.of("pinout"), "pin", "XA:1")), squeezed("through X2D:1 and X1C:1"))
	assert.Contains(t, squeezed(textIn(p.of("terminals"), "pin", "F2:2")), squeezed("through X1B:1 and X2C:1"))
	assert.Contains(t, textIn(p.of("terminals"), "pin", "E1:2"), "SP1:1", "the way ends at a splice")
}

func TestEmptyCavitiesAreMarked(t *testing.T) {
	p := plan(parsed(t, crowded()), nil, nil)
	for ref, want := range map[string]string{"XA:9": "spare: PLUG", "XA:10": "no wire: PLUG", "XB:121": "no wire"} {
		text := textIn(p.of("pinout"), "pin", ref)
		assert.True(t, strings.Contains(squeezed(text), squeezed(want)), "%s: %s", ref, text)
		assert.Equal(t, strings.Contains(want, "PLUG"), strings.Contains(text, "PLUG"), ref)
	}
	assert.Contains(t, textIn(p.of("terminals"), "pin", "F10:1"), "spare")
}

func TestTerminalsAreInNaturalOrder(t *testing.T) {
	var order []string
	for _, page := range plan(parsed(t, crowded()), nil, nil).of("terminals") {
		for _, o := range page.Ops {
			if o.Kind == canvas.OpBegin && (o.Group().Kind == "part" || o.Group().Kind == "splice") {
				order = append(order, o.Group().Ref)
			}
		}
	}
	assert.Equal(t, []string{"BAT1", "E1", "F2", "F10", "GND1", "SP1"}, order)
}

func TestCompareNatural(t *testing.T) {
	sorted := []string{"", "1a", "2a", "2b", "02c", "10a", "10b", "A1", "F2", "F10", "F10b", "X99999999999999999999998", "X99999999999999999999999"}
	for i, a := range sorted {
		for j, b := range sorted {
			got := sheet.CompareNatural(a, b)
			assert.Equal(t, i < j, got < 0, "%q %q", a, b)
			assert.Equal(t, i == j, got == 0, "%q %q", a, b)
		}
	}
	assert.Negative(t, sheet.CompareNatural("01", "1"))
	assert.Positive(t, sheet.CompareNatural("1", "01"))
}

// Two runs over the same text give the same pages to the last digit.
func TestSheetsAreDeterministic(t *testing.T) {
	first, second := plans(t), drawAll(t)
	for name := range first {
		for i := range first[name].pages {
			assert.Equal(t, dump(t, first[name].pages[i]), dump(t, second[name].pages[i]), "%s %s", name, first[name].pages[i].Name)
		}
	}
}

func dump(t *testing.T, page *canvas.Page) string {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, page.Dump(&out))
	return out.String()
}

// small is a harness of which every sheet is one small page, for the golden files.
const small = `[harness]
title = "One lamp"
revision = "A"
volts = 12
polarity = "negative-ground"
[part]
BAT1 = { kind = "battery", title = "Battery", capacity = "60 Ah" }
E1 = { kind = "lamp", title = "Lamp", load = "5 W" }
[connector]
X1B = { title = "Lamp lead, battery half", mates = "X1C", cavities = 2, grid = ["1-2"], view = "wire side", latch = "top", sealed = true }
X1C = { title = "Lamp lead, lamp half", mates = "X1B" }
[wire]
1a = { from = "BAT1:+", to = "X1B:1", size = "18 AWG", color = "RD/WH", net = "LAMP", length = "0.5 m" }
1b = { from = "X1C:1", to = "E1:1", size = "18 AWG", color = "RD/WH", supplied = true }
2a = { from = "E1:2", to = "BAT1:-", size = "18 AWG", color = "BK" }
`

func TestGolden(t *testing.T) {
	n := parsed(t, small)
	findings, accepted := manyFindings(n)
	p := plan(n, findings, accepted)
	for _, name := range []string{"cover", "pinout-X1B", "terminals", "wires"} {
		file := filepath.Join("testdata", name+".golden")
		got := withoutFrame(dump(t, p.page(t, name)))
		if *update {
			require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
		}
		want, err := os.ReadFile(file)
		require.NoError(t, err)
		assert.Equal(t, string(want), got, name)
	}
}

// withoutFrame drops the frame and the title block, which have golden files of their own.
func withoutFrame(dump string) string {
	var kept []string
	dropping := false
	for line := range strings.Lines(dump) {
		if strings.HasPrefix(line, "  group frame ") || strings.HasPrefix(line, "  group title-block ") {
			dropping = true
		}
		if !dropping {
			kept = append(kept, line)
		}
		if line == "  end\n" {
			dropping = false
		}
	}
	return strings.Join(kept, "")
}
