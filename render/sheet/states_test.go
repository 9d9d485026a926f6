package sheet_test

import (
	"encoding/csv"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/model"
	"ferrule/netlist/netlisttest"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/sheet"
)

// powered are the kinds of sheets that rest on the solved circuit, or lie beside them.
var powered = []string{"states", "feeds", "depends", "ground", "panel"}

func exampleOf(t testing.TB, name string) *model.Netlist {
	t.Helper()
	n, _, err := netlist.Load(os.DirFS(filepath.Join("..", "..", "examples", name)), name+".toml")
	require.NoError(t, err)
	return n
}

// busy has more states, fuses, rings and legs than a page holds, with names and titles too long for their places, parts
// without ratings and sizes, and signs that no face has.
func busy() string {
	var b strings.Builder
	long := strings.Repeat("Überlange Bezeichnung gjpqy ", 8)
	fmt.Fprintf(&b, `[harness]
title = "Busy"
polarity = "positive-ground"
[body.body]
title = "%s"
[place]
a = { title = "%s" }
b = {}
[path]
ab = { between = ["a", "b"], length = "1 m" }
[panel.P]
title = "%s"
at = "a"
terminals = ["IN", "A-VERY-LONG-TERMINAL-NAME-WITHOUT-A-SPACE-IN-IT"]
[panel.cards]
title = "Cards"
[part]
BAT1 = { kind = "battery", capacity = "60 Ah", at = "a" }
G1 = { kind = "ground point", title = "%s", body = "body", at = "b" }
MF1 = { kind = "fuse", title = "%s", in = "cards" }
S1 = { kind = "switch", title = "%s", function = "key", pins = ["30"%s], positions = { off = []%s }, rest = "off", at = "a" }
`, long, long, long, long, long, long, repeated(40, `, "o%d"`), repeated(40, `, a-position-with-a-very-long-name-%d = ["30-o%d"]`))
	for i := range 40 {
		rating := ""
		if i%3 > 0 {
			rating = fmt.Sprintf(`, rating = "%d A", family = "blade"`, 5*(i%8+1))
		}
		fmt.Fprintf(&b, "F%d = { kind = \"fuse\", title = \"🔥 %s\", in = \"P\"%s }\n", i, string([]rune(long)[:10+i*4]), rating)
		fmt.Fprintf(&b, "K%d = { kind = \"relay\", title = \"%s\", in = \"P\" }\n", i, long)
		fmt.Fprintf(&b, "E%d = { kind = \"lamp\", title = \"%s %d\", load = \"%d W\", at = \"b\" }\n", i, long, i, i+1)
	}
	b.WriteString("[splice]\nSP1 = { title = \"" + long + "\", at = \"a\", barrel = \"6 mm2\" }\nSP2 = { spare = true }\n[wire]\n")
	b.WriteString("1 = { from = \"BAT1:-\", to = \"MF1:1\", size = \"10 AWG\", length = \"1 m\" }\n2 = { from = \"BAT1:+\", to = \"G1:0\", length = \"1 m\" }\n")
	b.WriteString("3 = { from = \"MF1:2\", to = \"SP1:1\", size = \"10 AWG\", length = \"1 m\" }\n4 = { from = \"SP1:2\", to = \"S1:30\", size = \"10 AWG\", length = \"1 m\" }\n")
	for i := range 40 {
		fmt.Fprintf(&b, "f%d = { from = \"SP1:2\", to = \"F%d:1\", size = \"16 AWG\", length = \"1 m\", net = \"NET-WITH-A-LONG-NAME-%d\" }\n", i, i, i)
		fmt.Fprintf(&b, "k%d = { from = \"F%d:2\", to = \"K%d:30\", size = \"16 AWG\", length = \"1 m\" }\n", i, i, i)
		fmt.Fprintf(&b, "e%d = { from = \"K%d:87\", to = \"E%d:1\", size = \"16 AWG\", length = \"1 m\" }\n", i, i, i)
		fmt.Fprintf(&b, "g%d = { from = \"E%d:2\", to = \"G1:L%d\", size = \"%d AWG\", length = \"1 m\" }\n", i, i, i, 10+2*(i%4))
		fmt.Fprintf(&b, "s%d = { from = \"S1:o%d\", to = \"K%d:86\", size = \"20 AWG\", length = \"1 m\" }\n", i, i, i)
		fmt.Fprintf(&b, "c%d = { from = \"K%d:85\", to = \"G1:L%d\", size = \"20 AWG\", length = \"1 m\" }\n", i, i, i)
	}
	b.WriteString("[state]\n")
	for i := range 40 {
		fmt.Fprintf(&b, "state-with-a-long-name-%d = { title = \"%s\", switches = { S1 = \"a-position-with-a-very-long-name-%d\" } }\n", i, long, i)
	}
	return b.String()
}

func repeated(count int, format string) string {
	var b strings.Builder
	for i := range count {
		fmt.Fprint(&b, strings.ReplaceAll(format, "%d", strconv.Itoa(i)))
	}
	return b.String()
}

var poweredPlans = func() func(testing.TB) map[string]planned {
	var all map[string]planned
	return func(t testing.TB) map[string]planned {
		if all == nil {
			all = map[string]planned{}
			for _, name := range []string{"first", "pickup", "boat", "camper", "motorcycle"} {
				all[name] = plan(exampleOf(t, name), nil, nil)
			}
			all["busy"] = plan(parsed(t, busy()), nil, nil)
			all["made up"] = plan(parsed(t, netlisttest.Harness(300)), nil, nil)
		}
		return all
	}
}()

func TestPoweredSheetsAreLegible(t *testing.T) {
	if testing.Short() {
		t.Skip("geometry of many sets, all of it in the run without -short")
	}
	for name, p := range poweredPlans(t) {
		for _, page := range p.of(powered...) {
			where := name + " " + page.Name
			assert.Empty(t, canvas.Overlaps(page), where)
			assert.Empty(t, canvas.StruckTexts(page), where)
			assert.Empty(t, canvas.SmallTexts(page, font.MinHeight), where)
			assertInside(t, p, page, where)
		}
	}
}

// rowTexts returns what stands in the groups of a kind, reference and title, text by text in the order of drawing.
func rowTexts(pages []*canvas.Page, kind, ref, title string) (rows [][]string) {
	for _, page := range pages {
		for _, o := range page.Ops {
			switch {
			case o.Kind == canvas.OpBegin && o.Group() == (canvas.Group{Kind: kind, Ref: ref, Title: title}):
				rows = append(rows, nil)
			case o.Kind == canvas.OpText && o.Group() == (canvas.Group{Kind: kind, Ref: ref, Title: title}):
				rows[len(rows)-1] = append(rows[len(rows)-1], o.Text.String)
			}
		}
	}
	return rows
}

// Every consumer has one row, with the volts of the solved state in every column, and off where it is not at work.
func TestStatesHaveEveryConsumer(t *testing.T) {
	for _, name := range []string{"first", "pickup", "boat", "camper", "motorcycle"} {
		p := poweredPlans(t)[name]
		v := p.set.Solved()
		live := 0
		for i := range v.Consumers {
			c := &v.Consumers[i]
			rows := rowTexts(p.of("states"), "consumer", c.Ref, c.Title)
			require.Len(t, rows, 1, "%s %s", name, c.Name())
			cells := cellsBehind(rows[0], len(v.Conditions))
			for state := range v.Conditions {
				got, _, _ := strings.Cut(cells[state], " ")
				want := "off"
				if l := v.At(state, c); l != nil {
					live++
					want = strconv.FormatFloat(l.Drop.Volts, 'f', 1, 64)
				}
				if c.Branch >= 0 {
					assert.Equal(t, want, strings.TrimSuffix(got, "~"), "%s %s in %s", name, c.Name(), v.Conditions[state].Name())
				}
			}
		}
		assert.Positive(t, live, name)
	}
}

// cellsBehind returns the last texts of a row, one for each state.
func cellsBehind(texts []string, states int) []string { return texts[len(texts)-states:] }

// Read by eye from examples/pickup: the pump runs through F3 and K2, its net is live while it primes and runs, and dead with
// the key off; the turn lamps have one way from the key and one from the hazard switch.
func TestStatesOfThePickup(t *testing.T) {
	p := poweredPlans(t)["pickup"]
	pages := p.of("states")
	pump := rowTexts(pages, "consumer", "M1", "Fuel pump and level sender: Pump")
	require.Len(t, pump, 1)
	assert.Contains(t, pump[0], "F3 K2")
	assert.Equal(t, "off", cellsBehind(pump[0], len(p.set.Netlist.States))[0])
	turn := strings.Join(rowTexts(pages, "consumer", "FL", "Front lamp left: Turn")[0], " ")
	assert.Contains(t, turn, "a S1 F32 S13 U2 S13 S12")
	assert.Contains(t, turn, "b F22 S13 U2 S13")
	for i, st := range p.set.Netlist.States {
		for _, pin := range []string{"XA:15", "XA:17"} {
			id, ok := p.set.Netlist.FindPin(pin)
			require.True(t, ok)
			want := "off"
			if slices.ContainsFunc(st.Driven, func(r model.PinRef) bool { return r.ID == id }) {
				want = "driven"
			}
			var row []string
			for title := range map[string]bool{p.set.Netlist.Pin(id).Does.Text: true} {
				row = rowTexts(pages, "output", pin, title)[0]
			}
			assert.Equal(t, want, cellsBehind(row, len(p.set.Netlist.States))[i], "%s in %s", pin, st.Name.Text)
		}
		assert.Len(t, rowTexts(pages, "state", st.Name.Text, st.Title.Text), 1)
	}
}

// No harness without states has the matrix, and none without panels the chart.
func TestNothingToShowPlansNoPage(t *testing.T) {
	p := plan(parsed(t, "[harness]\ntitle = \"Empty\"\n"), nil, nil)
	assert.Empty(t, p.of(powered...))
	assert.Empty(t, poweredPlans(t)["motorcycle"].of("panel"))
}

// Every part in a panel has one place in its picture and one line on its card: in the order of the grid, or of the file
// where there is none.
func TestPanelsHaveEveryPart(t *testing.T) {
	for name, p := range poweredPlans(t) {
		var want []string
		for _, panel := range p.set.Netlist.Panels {
			stated := slices.DeleteFunc(slices.Concat(panel.Rows...), func(part *model.Part) bool { return part == nil })
			for _, part := range stated {
				want = append(want, part.Name.Text)
			}
			for _, part := range p.set.Netlist.Parts {
				if part.Panel == panel && !slices.Contains(stated, part) {
					want = append(want, part.Name.Text)
				}
			}
		}
		for _, kind := range []string{"position", "lid-position"} {
			var got []string
			for _, page := range p.of("panel") {
				for _, o := range page.Ops {
					if o.Kind == canvas.OpBegin && o.Group().Kind == kind && (len(got) == 0 || got[len(got)-1] != o.Group().Ref) {
						got = append(got, o.Group().Ref)
					}
				}
			}
			assert.Equal(t, want, got, "%s %s", name, kind)
		}
	}
}

// By examples/pickup: F31 hangs on 15, so it is live with the key at run and start and dead at off and accessories; F1 is
// always live. 5 A is light brown, 15 A blue, 30 A green.
func TestPanelOfThePickup(t *testing.T) {
	pages := poweredPlans(t)["pickup"].of("panel")
	assert.Contains(t, textIn(pages, "position", "F31"), "off– acc– run● start●")
	assert.Contains(t, textIn(pages, "position", "F1"), "off● acc● run● start●")
	assert.Contains(t, textIn(pages, "position", "F1"), "5 A light brown")
	assert.Contains(t, textIn(pages, "position", "K2"), "FUEL PUMP RELAY")
	assert.Contains(t, textIn(pages, "position", "F3"), "15 A blue")
	assert.Contains(t, textIn(pages, "position", "F24"), "then F31 F32 F33 F39 F40")
	sizes := map[string]string{"MFB1": "110 x 60", "P": "200 x 140", "C": "100 x 160"} // C states none
	for name, size := range sizes {
		text := textIn(pages, "lid-card", name)
		assert.Contains(t, text, "Cut along the broken line: "+size+" mm")
		assert.Contains(t, text, "Do not up-rate.")
		assert.Contains(t, text, "Check the order against the box.")
	}
	for _, page := range poweredPlans(t)["pickup"].of("panel-cards") {
		for _, o := range page.Ops {
			if o.Kind == canvas.OpRect && len(o.Stroke.Dash) > 0 {
				cut := o.Area.Max.Sub(o.Area.Min)
				assert.Contains(t, slices.Collect(maps.Values(sizes)), fmt.Sprintf("%s x %s", cut.X, cut.Y))
			}
		}
	}
}

// The positions lie as the grid says: equal rows at one height, columns at one distance, an empty position drawn as such.
func TestPanelGridIsThePicture(t *testing.T) {
	p := plan(parsed(t, `
[panel.P]
grid = ["F2 _ F1", "K1 F3 F4"]
[part]
F1 = { kind = "fuse", title = "Right", rating = "5 A", family = "blade", in = "P" }
F2 = { kind = "fuse", title = "Left", rating = "5 A", family = "blade", in = "P" }
F3 = { kind = "fuse", title = "Middle", rating = "5 A", family = "blade", in = "P" }
F4 = { kind = "fuse", title = "Below", rating = "5 A", family = "blade", in = "P" }
K1 = { kind = "relay", title = "Fuel pump relay", in = "P" }
F9 = { kind = "fuse", title = "Somewhere", rating = "5 A", family = "blade", in = "P" }
`), nil, nil)
	at := map[string]geom.Point{}
	words := ""
	for _, page := range p.of("panel-P") {
		for _, o := range page.Ops {
			if o.Kind == canvas.OpRect && o.Group().Kind == "position" {
				at[o.Group().Ref] = o.Area.Min
			}
			if o.Kind == canvas.OpText {
				words += o.Text.String + "\n"
			}
		}
	}
	require.Len(t, at, 6)
	for _, row := range [][]string{{"F2", "F1"}, {"K1", "F3", "F4"}} {
		for _, name := range row[1:] {
			assert.Equal(t, at[row[0]].Y, at[name].Y, name)
			assert.Greater(t, at[name].X, at[row[0]].X, name)
		}
	}
	assert.Equal(t, at["F1"].X, at["F4"].X, "the empty position keeps its place")
	assert.Greater(t, at["K1"].Y, at["F2"].Y)
	assert.Greater(t, at["F9"].Y, at["K1"].Y)
	assert.Contains(t, words, "empty\n")
	assert.Contains(t, words, "Position not stated, drawn last: F9.")
}

// ISO 8820-3 and DIN 72581-3 by testdata/reference/fuse-colours.csv.
func TestFuseColors(t *testing.T) {
	file, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "fuse-colours.csv"))
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	families := map[string][]string{"C and F (standard, mini)": {"blade", "mini blade"}, "E (high-current)": {"high-current blade"}}
	for _, row := range rows[1:] {
		rating, err := strconv.ParseFloat(row[1], 64)
		require.NoError(t, err)
		require.Contains(t, families, row[0])
		for _, family := range families[row[0]] {
			color, ok := sheet.FuseColor(family, rating)
			assert.True(t, ok, "%s %s A", family, row[1])
			assert.Contains(t, row[2], color, "%s %s A", family, row[1])
		}
	}
	for _, unknown := range []string{"", "bolt-in"} {
		_, ok := sheet.FuseColor(unknown, 10)
		assert.False(t, ok, unknown)
	}
}

// Every wire at a ground point, stud or bar has one line, and every leg of a splice.
func TestGroundChartHasEveryWire(t *testing.T) {
	for name, p := range poweredPlans(t) {
		pages := p.of("ground")
		for _, part := range p.set.Netlist.Parts {
			for _, id := range part.Owner.Pins {
				if !slices.Contains([]string{"ground point", "stud", "bus bar"}, part.Kind.Name) {
					continue
				}
				text := strings.Fields(textIn(pages, "pin", p.set.Netlist.Pin(id).String()))
				for _, w := range p.set.Graph.WiresAt(id) {
					assert.Equal(t, 1, count(text, w.Name.Text), "%s %s", name, w.Name.Text)
				}
			}
		}
		legs := refsOn(pages, "leg")
		want := 0
		for _, sp := range p.set.Netlist.Splices {
			for _, id := range sp.Owner.Pins {
				for _, w := range p.set.Graph.WiresAt(id) {
					want++
					assert.Equal(t, 1, legs[sp.Name.Text+" "+w.Name.Text], "%s %s", name, w.Name.Text)
				}
			}
		}
		assert.Len(t, legs, want, name)
	}
}

func count(words []string, word string) int {
	n := 0
	for _, w := range words {
		if w == word {
			n++
		}
	}
	return n
}

// The sum at G3 of the pickup, by testdata/reference/sae-conductor-area.csv: 4 AWG 18.93, twice 10 AWG 4.734 mm2.
func TestAreaSum(t *testing.T) {
	var texts []string
	for _, page := range poweredPlans(t)["pickup"].of("ground") {
		for _, o := range page.Ops {
			if o.Kind == canvas.OpText && o.Text.String != "" {
				texts = append(texts, o.Text.String)
			}
		}
	}
	at := slices.IndexFunc(texts, func(s string) bool { return strings.HasPrefix(s, "G3 ") })
	require.Positive(t, at)
	sum := slices.Index(texts[at:], "Sum")
	require.Positive(t, sum)
	assert.Equal(t, "3 wires", texts[at+sum+1])
	area, err := strconv.ParseFloat(texts[at+sum+2], 64)
	require.NoError(t, err)
	assert.InDelta(t, 18.93+2*4.734, area, 0.01)
}

// A row for every fuse and relay, a column for every consumer that works in some state.
func TestDependsHasEveryFuse(t *testing.T) {
	for name, p := range poweredPlans(t) {
		gates := refsOn(p.of("depends"), "gate")
		for _, part := range p.set.Netlist.Parts {
			if len(gates) > 0 && (len(part.Inside.Protects) > 0 || len(part.Inside.Coils) > 0) {
				assert.Positive(t, gates[part.Name.Text], "%s %s", name, part.Name.Text)
			}
		}
	}
	pump := refsOn(poweredPlans(t)["pickup"].of("depends"), "mark")
	for _, gate := range []string{"F3", "K2", "F8", "K1", "F1", "MF2"} {
		assert.Equal(t, 1, pump[gate+" M1 Fuel pump and level sender: Pump"], gate)
	}
	assert.Zero(t, pump["F9 M1 Fuel pump and level sender: Pump"])
}
