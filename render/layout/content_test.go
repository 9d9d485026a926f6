package layout_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/render"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/layout"
)

// nodesOf returns the appearances of a designator on all diagrams.
func nodesOf(all []*layout.Drawing, ref string) []*layout.Node {
	var nodes []*layout.Node
	for _, d := range all {
		for _, n := range d.Nodes {
			if n.Ref == ref && n.Form != layout.Mark {
				nodes = append(nodes, n)
			}
		}
	}
	return nodes
}

func parse(t *testing.T, text string) *graph.Graph {
	t.Helper()
	n, diags := netlist.Parse("harness.toml", []byte(text))
	require.False(t, diags.HasErrors(), "%v", diags)
	return graph.New(n)
}

// schematicText returns the text of the page of a diagram, one text a line.
func schematicText(g *graph.Graph, name string) string {
	set := render.Set(render.Input{Graph: g})
	var lines []string
	for _, p := range set.Pages {
		if p.Name == name {
			for _, o := range set.Render(p).Ops {
				if o.Kind == canvas.OpText {
					lines = append(lines, o.Text.String)
				}
			}
		}
	}
	return strings.Join(lines, "\n")
}

func TestSymbolsOfTheExamples(t *testing.T) {
	boat, camper, motorcycle := load(t, "boat/boat.toml"), load(t, "camper/camper.toml"), load(t, "motorcycle/motorcycle.toml")
	for _, test := range []struct {
		g           *graph.Graph
		ref, symbol string
	}{
		{boat, "MF3", "fuse"}, {boat, "BAT1", "battery"},
		{camper, "F1", "fuse"}, {camper, "F2", "fuse"}, {camper, "F6", "fuse"}, {camper, "BAT2", "battery"}, {camper, "M6", "motor"}, {camper, "M3", "motor"},
		{motorcycle, "F1", "fuse"}, {motorcycle, "BAT1", "battery minus up"}, {motorcycle, "S2", "switch changeover down"},
		{motorcycle, "S5", "switch"}, {motorcycle, "C1", "capacitor"},
	} {
		nodes := nodesOf(diagrams(t, test.g), test.ref)
		require.Len(t, nodes, 1, test.ref)
		assert.Equal(t, layout.Inline, nodes[0].Form, test.ref)
		assert.Equal(t, test.symbol, nodes[0].Symbol, test.ref)
	}
	for _, ref := range []string{"K2", "K3"} {
		nodes := nodesOf(diagrams(t, camper), ref)
		require.Len(t, nodes, 2, ref)
		assert.ElementsMatch(t, []string{"relay coil", "relay changeover"}, []string{nodes[0].Symbol, nodes[1].Symbol}, ref)
	}
	// A dynamo works against its case: a third terminal, so it is a box, with its symbol in it.
	dynamo := nodesOf(diagrams(t, motorcycle), "G1")
	require.Len(t, dynamo, 1)
	assert.True(t, dynamo[0].Pictured())
}

// The contact breaker and its capacitor lie side by side: both wires meet at the one terminal, at a dot.
func TestCapacitorIsNotInSeries(t *testing.T) {
	n := nodesOf(diagrams(t, load(t, "motorcycle/motorcycle.toml")), "S5")[0]
	require.Len(t, n.Top, 1)
	require.Len(t, n.Bottom, 1)
	assert.Equal(t, n.Top[0].Pin, n.Bottom[0].Pin)
	assert.Len(t, n.Dots, 1)
	assert.True(t, n.Case)
	assert.NotEqual(t, n.Axis, n.Bottom[0].At.X, "the wire to the capacitor goes round the contact")
}

// A bar names every other sheet that hangs on it, and every sheet that hangs on it names where it is fed.
func TestBarsNameAllTheirSheets(t *testing.T) {
	for _, test := range []struct{ file, link, feed string }{
		{"boat/boat.toml", "PNL-BUS", "PNL:BUS"}, {"camper/camper.toml", "P-BUS", "P:BUS"}, {"camper/camper.toml", "M-BAR", "M:IN"},
	} {
		shown, named, pointers := 0, -1, 0
		for _, d := range diagrams(t, load(t, test.file)) {
			here := false
			for _, e := range d.Edges {
				here = here || e.Link != nil && e.Link.Name.Text == test.link
			}
			if here {
				shown++
			}
			for _, n := range d.Nodes {
				if n.Form != layout.Mark || n.Other.Link == nil || n.Other.Link.Name.Text != test.link {
					continue
				}
				if n.Other.Others > 0 {
					named = n.Other.Others
				} else {
					assert.Equal(t, test.feed, n.Ref)
					pointers++
				}
			}
		}
		assert.Greater(t, shown, 2, test.link)
		assert.Equal(t, shown-1, named, "%s: sheets named where it is fed", test.link)
		assert.Equal(t, shown-1, pointers, "%s: sheets that name where it is fed", test.link)
	}
}

func TestPagesSayWhereBarsGoOn(t *testing.T) {
	boat := load(t, "boat/boat.toml")
	text := schematicText(boat, "schematic-supply")
	assert.Regexp(t, `PNL-BUS\nsheets \d+ tr\. \d+`, text)
	assert.Regexp(t, `also on sheets \d+, \d+`, text, "the ground bars")
	assert.Regexp(t, `\nalso on \d+, \d+\n`, "\n"+text+"\n", "the rail")
	assert.Regexp(t, `fed: sheet \d+, tr\. \d+`, schematicText(boat, "schematic-charging"))
}

// The rails of the pickup are on many sheets: each is named where the rail is fed, and none is lost to an ellipsis.
func TestRailsNameAllTheirSheets(t *testing.T) {
	g := load(t, "pickup/pickup.toml")
	set := render.Set(render.Input{Graph: g})
	sheets := 0
	for _, d := range diagrams(t, g) {
		for _, r := range d.Rails {
			if r.Name == "30 P" {
				sheets++
			}
		}
	}
	require.Greater(t, sheets, 4)
	longest := 0
	for _, p := range set.Pages {
		if !strings.HasPrefix(p.Name, "schematic-") {
			continue
		}
		for _, o := range set.Render(p).Ops {
			if o.Kind == canvas.OpText && strings.HasPrefix(o.Text.String, "also on ") {
				assert.NotContains(t, o.Text.String, "…", p.Name)
				longest = max(longest, 1+strings.Count(o.Text.String, ","))
			}
		}
	}
	assert.Equal(t, sheets-1, longest)
}

func TestScreensAreDrawn(t *testing.T) {
	boat := load(t, "boat/boat.toml")
	found := 0
	for _, d := range diagrams(t, boat) {
		for _, e := range d.Edges {
			if e.Screen != nil {
				found++
				assert.Equal(t, "SOUNDER", e.Screen.Name.Text)
				assert.Equal(t, "SND:SCR", boat.Netlist.Pin(e.Lower.Pin).String())
			}
		}
	}
	assert.Equal(t, 1, found)
	assert.Contains(t, schematicText(boat, "schematic-electronics"), "cable screen")
}

func TestLinesBesideASymbol(t *testing.T) {
	g := load(t, "motorcycle/motorcycle.toml")
	all := diagrams(t, g)
	assert.Equal(t, []string{"Dip switch", "10 A", "low: 56-56b", "high: 56-56a"}, nodesOf(all, "S2")[0].Lines, "the title follows the designator")
	lamp := strings.Join(nodesOf(all, "E1")[0].Lines, " ")
	for _, load := range []string{"56b-31: 35 W Low beam", "56a-31: 35 W High beam", "57-31: 4 W Parking lamp"} {
		assert.Contains(t, lamp, load)
	}
}

// Current flows down in a positive-ground harness as well: minus is live there, the key switch stands above what it feeds.
func TestPositiveGroundFlowsDown(t *testing.T) {
	g := load(t, "motorcycle/motorcycle.toml")
	s1 := nodesOf(diagrams(t, g), "S1")[0]
	var above []string
	for _, p := range s1.Top {
		above = append(above, p.Name)
	}
	assert.Equal(t, []string{"30"}, above)
}

// No track range stands empty on a diagram: every column has a node or a wire that goes through it.
func TestNoEmptyColumns(t *testing.T) {
	for _, example := range examples {
		for _, d := range diagrams(t, load(t, example)) {
			for _, track := range d.Tracks {
				used := false
				for _, n := range d.Nodes {
					used = used || n.Cell.Min.X < track.Right && n.Cell.Max.X > track.Left
				}
				for _, e := range d.Edges {
					used = used || e.Line.Bounds().Min.X < track.Right && e.Line.Bounds().Max.X > track.Left
				}
				assert.True(t, used, "%s: track %d", example, track.Number)
			}
		}
	}
}

// odd are harnesses that nobody means to write, and that have to be drawn all the same.
func odd() map[string]string {
	head := "[harness]\ntitle = \"Odd\"\nvolts = 12\npolarity = \"negative-ground\"\n"
	long := strings.Repeat("extraordinarily-long-", 20)
	var wide strings.Builder
	for i := range 121 {
		wide.WriteString("w" + strings.Repeat("x", i%3) + string(rune('a'+i%26)) + strings.Repeat("1", i/26+1) + " = { from = \"XA:" + itoa(i+1) + "\", to = \"XB:" + itoa(i+1) + "\" }\n")
	}
	return map[string]string{
		"a connector with one pin": head + "[part]\nM1 = { kind = \"module\" }\nE1 = { kind = \"lamp\" }\n[connector]\nX1 = { of = \"M1\", cavities = 1 }\n[wire]\n1 = { from = \"X1:1\", to = \"E1:1\" }\n",
		"121 pins":                 head + "[part]\nM1 = { kind = \"module\" }\nM2 = { kind = \"module\" }\n[connector]\nXA = { of = \"M1\", cavities = 121 }\nXB = { of = \"M2\", cavities = 121 }\n[wire]\n" + wide.String(),
		"long texts": head + "[system]\ns = { title = \"" + long + "\" }\n[part]\n" + strings.ToUpper(long[:60]) + " = { kind = \"lamp\", title = \"" + long + "\", system = \"s\" }\nF1 = { kind = \"fuse\", title = \"" + long + "\", system = \"s\" }\n" +
			"S1 = { kind = \"switch\", pins = [\"" + long[:50] + "\", \"b\", \"c\"], positions = { \"" + long[:50] + "\" = [\"b-c\"], two = [\"" + "b" + "-c\"] } }\n[wire]\n" + long[:50] + " = { from = \"F1:1\", to = \"" + strings.ToUpper(long[:60]) + ":1\", size = \"14 AWG\", color = \"RD\", net = \"" + long + "\" }\n2 = { from = \"F1:2\", to = \"S1:b\" }\n",
		"right to left and emoji":      head + "[part]\nE1 = { kind = \"lamp\", title = \"\u05de\u05e0\u05d5\u05e8\u05d4 \u0645\u0635\u0628\u0627\u062d\" }\nF1 = { kind = \"fuse\", title = \"\U0001F50B\U0001F468\u200D\U0001F527 fuse\" }\n[wire]\n1 = { from = \"F1:1\", to = \"E1:1\", color = \"RD\" }\n",
		"a wire from a part to itself": head + "[part]\nK1 = { kind = \"relay\" }\n[wire]\n1 = { from = \"K1:30\", to = \"K1:86\" }\n",
	}
}

func itoa(i int) string {
	digits := ""
	for ; i > 0; i /= 10 {
		digits = string(rune('0'+i%10)) + digits
	}
	return digits
}

func TestOddInputIsDrawn(t *testing.T) {
	for name, text := range odd() {
		t.Run(name, func(t *testing.T) {
			n, _ := netlist.Parse("odd.toml", []byte(text)) // the check may object; it is drawn all the same
			require.NotEmpty(t, n.Wires)
			g := graph.New(n)
			checkAll(t, g, diagrams(t, g))
			set := render.Set(render.Input{Graph: g})
			for _, p := range set.Pages {
				if strings.HasPrefix(p.Name, "schematic-") {
					page := set.Render(p)
					assert.Empty(t, canvas.Overlaps(page), p.Name)
					assert.Empty(t, canvas.StruckTexts(page), p.Name)
					assert.Empty(t, canvas.SmallTexts(page, font.MinHeight), p.Name)
				}
			}
		})
	}
}

func TestEmptyHarnessHasNoDiagram(t *testing.T) {
	all, err := layout.Diagrams(parse(t, "[harness]\ntitle = \"Empty\"\n"))
	require.NoError(t, err)
	assert.Empty(t, all)
}

// every wire of the examples stands on the page of its diagram with its number.
func TestWireNumbersAreOnThePages(t *testing.T) {
	g := load(t, "camper/camper.toml")
	for _, d := range diagrams(t, g) {
		text := schematicText(g, pageName(d))
		for _, w := range d.Wires {
			if w.From.ID != model.NoPin && w.To.ID != model.NoPin {
				assert.Contains(t, text, w.Name.Text+"  ", "%s", w.Name.Text)
			}
		}
	}
}

func pageName(d *layout.Drawing) string {
	name := "schematic-rest"
	if d.System != nil {
		name = "schematic-" + d.System.Name.Text
	}
	if d.Parts > 1 {
		name += "-" + itoa(d.Part)
	}
	return name
}
