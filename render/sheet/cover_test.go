package sheet_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/render/canvas"
)

func example(t *testing.T, name string) *model.Netlist {
	t.Helper()
	n, _, err := netlist.Load(os.DirFS(filepath.Join("..", "..", "examples", name)), name+".toml")
	require.NoError(t, err)
	return n
}

// The cautions of a sheet are those of what is built: nobody looks for an airbag in a dinghy.
func TestCautionsFitTheVehicle(t *testing.T) {
	for name, test := range map[string]struct{ has, lacks []string }{
		"pickup":     {[]string{"SRS", "inertia switch", "500 miles", "plug leads", "Fans can start", "wheels chocked"}, []string{"propeller", "Bilge", "bilge", "sources feed"}},
		"boat":       {[]string{"7 inches", "each season", "Bilge", "ignition protected", "Shore power"}, []string{"Airbag", "airbag", "inertia", "miles", "chocked", "plug leads", "Fans can"}},
		"motorcycle": {[]string{"(positive) comes off first", "plug leads", "500 miles", "chain"}, []string{"Airbags", "inertia", "propeller", "Fans can", "unplugged", "fuel-rated"}},
		"camper":     {[]string{"sources feed", "SRS"}, []string{"inertia", "plug leads", "propeller"}},
	} {
		cover := plan(example(t, name), nil, nil).of("cover")
		text := textIn(cover, "hazard", "") + " " + textIn(cover, "caution", "")
		for _, word := range test.has {
			assert.Contains(t, text, word, name)
		}
		for _, word := range test.lacks {
			assert.NotContains(t, text, word, name)
		}
		for _, topic := range []string{"Battery", "First power", "Fire", "Measuring", "Sheets"} {
			assert.NotEmpty(t, textIn(cover, "hazard", topic), "%s %s", name, topic)
		}
	}
}

// The budgets are those of the solved circuit. The pickup's were worked out by hand too: 3 A left of 55 at idle (with a fan
// that comes and goes counted whole), 15 mA and 50 days with the key off.
func TestBudgetsOnTheCover(t *testing.T) {
	p := plan(example(t, "pickup"), nil, nil)
	cover := p.of("cover")
	idle := textIn(cover, "budget", "At idle")
	assert.Regexp(t, `[23](\.\d)? A~? left of 55 A, in state night-rain`, idle)
	assert.Regexp(t, `15 mA~? in state off: (49|50) days`, textIn(cover, "budget", "Parked"))
	for i, r := range p.set.Solved().Reports {
		if b := r.Balance; b.Charging && b.IdleKnown {
			var spare float64
			_, err := fmt.Sscanf(strings.TrimPrefix(idle, "At idle "), "%f", &spare)
			require.NoError(t, err)
			assert.GreaterOrEqual(t, b.IdleSpare, spare-0.06, p.set.Netlist.States[i].Name.Text)
		}
	}
	boat := plan(example(t, "boat"), nil, nil).of("cover")
	assert.Contains(t, textIn(boat, "budget", "At idle"), "too little of 1.5 A")
	first := plan(example(t, "first"), nil, nil).of("cover")
	assert.Empty(t, textIn(first, "budget", "At idle"), "nothing charges there")
	assert.Empty(t, textIn(plan(parsed(t, "[harness]\ntitle = \"Empty\"\n"), nil, nil).of("cover"), "budget", ""))
}

func TestFindingsAreRanked(t *testing.T) {
	n := parsed(t, small)
	finding := func(rule string, severity diag.Severity, ref string) diag.Diagnostic {
		return diag.Diagnostic{Rule: rule, Severity: severity, Message: "about " + ref, Refs: []string{ref}}
	}
	findings := diag.List{
		finding("rests-on-guess", diag.Note, "n1"), finding("b", diag.Note, "n2"), finding("b", diag.Warning, "w1"),
		finding("a", diag.Warning, "w2"), finding("b", diag.Error, "e1"), finding("b", diag.Warning, "w3"), finding("a", diag.Note, "n3"),
	}
	var order []string
	for _, page := range plan(n, findings, nil).of("cover") {
		for _, o := range page.Ops {
			if o.Kind == canvas.OpBegin && o.Group().Kind == "finding" {
				order = append(order, o.Group().Ref)
			}
		}
	}
	assert.Equal(t, []string{"e1", "w1", "w3", "w2", "n2", "n3", "n1"}, order)
}

func TestLegendHasTheLinesInUse(t *testing.T) {
	cover := plan(example(t, "pickup"), nil, nil).of("cover")
	text := textIn(cover, "table", "")
	for _, line := range []string{"wire below 1.5", "wire of 5 mm", "tracer", "supply rail", "factory jumper", "screen of a cable"} {
		assert.Contains(t, text, line)
	}
	text = textIn(plan(parsed(t, small), nil, nil).of("cover"), "table", "")
	assert.Contains(t, text, "tracer")
	for _, line := range []string{"wire of 5 mm", "supply rail", "screen of a cable"} {
		assert.NotContains(t, text, line, "the harness has none")
	}
}

func TestProgressIsForAPen(t *testing.T) {
	cover := plan(parsed(t, small), nil, nil).of("cover")
	assert.Equal(t, "Valid for as-built revision", textIn(cover, "progress", "Valid for as-built revision"))
}

// The sheet in the order of functions holds every cavity of its plug once, power before grounds before outputs.
func TestPinoutByFunction(t *testing.T) {
	p := plan(example(t, "pickup"), nil, nil)
	for _, c := range p.set.Netlist.Connectors {
		pages := p.of("pinout-" + c.Name.Text + "-by-function")
		controller := c.Part != nil && c.Part.Name.Text == "ECU"
		require.Equal(t, controller, len(pages) > 0, c.Name.Text)
		if !controller {
			continue
		}
		rows := refsOn(pages, "pin")
		assert.Len(t, rows, len(c.Owner.Pins), c.Name.Text)
		for ref, count := range rows {
			assert.Equal(t, 1, count, ref)
		}
	}
	var order []string
	for _, page := range p.of("pinout-XA-by-function") {
		for _, o := range page.Ops {
			if o.Kind == canvas.OpBegin && o.Group().Kind == "pin" {
				order = append(order, o.Group().Ref)
			}
		}
	}
	assert.Equal(t, []string{"XA:4", "XA:5", "XA:1", "XA:2", "XA:3", "XA:7", "XA:8"}, order[:7])
	assert.Equal(t, []string{"XA:13", "XA:14", "XA:22", "XA:24"}, order[len(order)-4:])
}

const housings = `[harness]
title = "Housings"
volts = 12
polarity = "negative-ground"
[terminal]
big = { title = "6.3 mm", wire = ["14 AWG", "10 AWG"], seal = ["2.5 mm", "4.2 mm"], strip = "7 mm" }
small = { title = "1.5 mm", wire = ["22 AWG", "16 AWG"], known-from = "guess", seal = ["1.4 mm", "2.4 mm"] }
[part]
D1 = { kind = "device", title = "Round" }
D2 = { kind = "device", title = "Mixed" }
D3 = { kind = "device", title = "Full" }
[connector]
X1 = { of = "D1", grid = ["_ 1 2 _", "3 4 5 6", "_ 7 8 _"], view = "wire side", latch = "top", sealed = true, plugged = ["7", "8"], family = "round, 8 way", key = "B" }
X2 = { of = "D2", grid = ["1 _ 2 _", "_ 3 _ 4"], view = "wire side", latch = "top", sealed = true, terminal = "small", pin.1.terminal = "big" }
X3 = { of = "D3", cavities = 2, sealed = true, terminal = "small" }
[wire]
1 = { from = "X1:1", to = "X2:1", size = "12 AWG", color = "RD" }
2 = { from = "X1:2", to = "X2:2", size = "18 AWG", color = "BK" }
3 = { from = "X2:3", to = "X3:1", size = "18 AWG", color = "BU" }
4 = { from = "X2:4", to = "X3:2", size = "18 AWG", color = "GN" }
`

func TestHousings(t *testing.T) {
	n, _ := netlist.Parse("harness.toml", []byte(housings))
	p := plan(n, nil, nil)
	text := func(page string) string {
		var all []string
		for _, o := range p.page(t, page).Ops {
			if o.Kind == canvas.OpText {
				all = append(all, o.Text.String)
			}
		}
		return strings.Join(all, " ")
	}
	round := text("pinout-X1")
	assert.Contains(t, round, "round, 8 way")
	assert.Contains(t, round, "every empty cavity takes a PLUG (6, of which the netlist names 2)")
	mixed := text("pinout-X2")
	assert.Contains(t, textIn(p.of("pinout-X2"), "pin", "X2:1"), "big 2.5-4.2 mm")
	assert.Contains(t, textIn(p.of("pinout-X2"), "pin", "X2:2"), "small 1.4-2.4 mm~")
	assert.Contains(t, mixed, "Terminal big: 6.3 mm, for 14 AWG to 10 AWG, strip 7 mm")
	full := text("pinout-X3")
	assert.NotContains(t, full, "PLUG", "no cavity is empty")
	assert.Contains(t, full, "small: 1.5 mm, for 22 AWG to 16 AWG~", "the same in all cavities: in the head")
	assert.NotContains(t, textIn(p.of("pinout-X3"), "pin", "X3:1"), "small")
}

// Staggered and round housings are drawn as the grid says: each cavity in its row and column, and nothing where there is
// none.
func TestCavitiesStandWhereTheGridSays(t *testing.T) {
	n, _ := netlist.Parse("harness.toml", []byte(housings))
	p := plan(n, nil, nil)
	at := map[string]canvas.Text{}
	for _, o := range p.page(t, "pinout-X2").Ops {
		if o.Kind == canvas.OpText && o.Group().Kind == "cavity" && o.Groups[len(o.Groups)-2].Title == "LOOKING AT THE WIRES GOING IN" {
			at[o.Text.String] = o.Text
		}
	}
	require.Len(t, at, 4)
	pitch := at["3"].At.X - at["1"].At.X
	assert.Positive(t, pitch)
	assert.Equal(t, at["1"].At.X+2*pitch, at["2"].At.X)
	assert.Equal(t, at["1"].At.X+3*pitch, at["4"].At.X)
	assert.Equal(t, at["1"].At.Y, at["2"].At.Y)
	assert.Equal(t, at["3"].At.Y, at["4"].At.Y)
	assert.Equal(t, 2*pitch, at["3"].At.Y-at["1"].At.Y, "the rows are staggered, so a cavity is two places wide")
}

// A few devices do not take a wall sheet, and a wall sheet is not half bare.
func TestFewTerminalsTakeBenchPaper(t *testing.T) {
	for _, page := range plan(parsed(t, small), nil, nil).set.Pages {
		if strings.HasPrefix(page.Name, "terminals") {
			assert.Equal(t, "A4", page.Paper.Name)
		}
	}
	for _, name := range []string{"pickup", "boat", "camper", "motorcycle", "first"} {
		p := plan(example(t, name), nil, nil)
		for i, page := range p.set.Pages {
			if !strings.HasPrefix(page.Name, "terminals") || page.Paper.Name == "A4" {
				continue
			}
			middle, right := page.Paper.Area().Center().X, 0
			for _, o := range p.pages[i].Ops {
				if o.Kind == canvas.OpText && o.Group().Kind == "pin" && o.Text.At.X > middle {
					right++
				}
			}
			assert.Positive(t, right, "%s %s", name, page.Name)
		}
	}
}
