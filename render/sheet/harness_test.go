package sheet_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/render/canvas"
	"ferrule/render/sheet"
)

// planned is a harness with its sheets planned and drawn.
type planned struct {
	set   *sheet.Set
	pages []*canvas.Page
}

// page returns the drawn page of a name.
func (p planned) page(t *testing.T, name string) *canvas.Page {
	t.Helper()
	for _, page := range p.pages {
		if page.Name == name {
			return page
		}
	}
	require.Fail(t, "no page", name)
	return nil
}

// of returns the pages whose name begins with one of the words: those of this folder's lists, and not the diagrams,
// whose layout has tests of its own.
func (p planned) of(kinds ...string) []*canvas.Page {
	var pages []*canvas.Page
	for _, page := range p.pages {
		for _, kind := range kinds {
			if page.Name == kind || strings.HasPrefix(page.Name, kind+"-") || strings.HasPrefix(page.Name, kind+".") {
				pages = append(pages, page)
			}
		}
	}
	return pages
}

var tabular = []string{"cover", "pinout", "terminals", "wires", "states", "feeds", "depends", "ground", "panel", "bundles", "space", "buy", "cut", "crimps", "continuity", "insulation", "first-power", "first-start", "commission"}

func plan(n *model.Netlist, findings diag.List, accepted []sheet.Accepted) planned {
	s := &sheet.Set{Graph: graph.New(n), Netlist: n, Routes: route.New(n), Findings: findings, Accepted: accepted, Hash: "0123abcd"}
	s.Plan()
	p := planned{set: s}
	for _, page := range s.Pages {
		p.pages = append(p.pages, s.Render(page))
	}
	return p
}

// parsed reads a harness that must be without mistakes of the language.
func parsed(t testing.TB, text string) *model.Netlist {
	t.Helper()
	n, diags := netlist.Parse("harness.toml", []byte(text))
	for _, d := range diags.AtLeast(diag.Error) {
		require.Fail(t, d.Message, "line %d: %s", d.Span.Begin().Line, d.Help)
	}
	return n
}

// harnesses are what every sheet is tested on: the examples, an empty harness, and one with too much of everything.
func harnesses(t testing.TB) map[string]*model.Netlist {
	t.Helper()
	all := map[string]*model.Netlist{
		"empty":   parsed(t, "[harness]\ntitle = \"Empty\"\n"),
		"crowded": parsed(t, crowded()),
	}
	for _, name := range []string{"first", "pickup"} {
		n, _, err := netlist.Load(os.DirFS(filepath.Join("..", "..", "examples", name)), name+".toml")
		require.NoError(t, err)
		all[name] = n
	}
	return all
}

var (
	drawOnce sync.Once
	drawn    map[string]planned
)

// plans returns all harnesses drawn once for all tests, which only read them.
func plans(t testing.TB) map[string]planned {
	t.Helper()
	drawOnce.Do(func() { drawn = drawAll(t) })
	require.NotNil(t, drawn)
	return drawn
}

func drawAll(t testing.TB) map[string]planned {
	t.Helper()
	all := map[string]planned{}
	for name, n := range harnesses(t) {
		findings, accepted := manyFindings(n)
		all[name] = plan(n, findings, accepted)
	}
	return all
}

// manyFindings makes findings of every severity about the wires, with short and endless messages, and accepts some.
func manyFindings(n *model.Netlist) (diag.List, []sheet.Accepted) {
	var findings diag.List
	var accepted []sheet.Accepted
	for i, w := range n.Wires {
		d := diag.Diagnostic{
			Rule: "net-short", Severity: diag.Severity(1 + i%3), Span: w.Name.Span, Refs: []string{w.Name.Text},
			Message: "wire " + w.Name.Text + " joins two nets" + strings.Repeat(" that must not meet", i%7), Help: "cut it",
		}
		if i == 3 {
			d.Message = strings.Repeat("Überlänge🔥gjpqy", 400) // one word, longer than a page
		}
		if i%5 == 4 {
			accepted = append(accepted, sheet.Accepted{Finding: d, Because: "somebody has looked at it"})
		} else {
			findings = append(findings, d)
		}
	}
	return findings, accepted
}

// crowded is a harness with all that a sheet must cope with: a controller with 24 and 121 cavities, a connector with one,
// connectors without view, without latch, with a latch at each side, with too many columns to draw; in-line pairs one
// behind the other; supplied wires; titles of 200 characters and of emoji; a cavity with many wires.
func crowded() string {
	var b strings.Builder
	long := string([]rune(strings.Repeat("Ångström gjpqy ", 14))[:200])
	fmt.Fprintf(&b, `[harness]
title = "%s"
vehicle = "🚗 %s"
revision = "B"
volts = 12
polarity = "positive-ground"
[body.frame]
title = "Frame"
[place]
bay = { title = "%s" }
dash = { title = "🔥🔥" }
[path]
p1 = { between = ["bay", "dash"], length = "1.5 m" }
[part]
BAT1 = { kind = "battery", title = "Battery 🔋", at = "bay", capacity = "60 Ah" }
GND1 = { kind = "ground point", title = "%s", at = "bay", body = "frame" }
F2 = { kind = "fuse", title = "%s", at = "bay", rating = "15 A" }
F10 = { kind = "fuse", title = "Ten", at = "bay", rating = "10 A", spare = true }
E1 = { kind = "lamp", title = "Lamp", at = "dash", load = "55 W" }
[part.ECU]
kind = "module"
title = "Controller"
at = "dash"
[connector]
XA = { of = "ECU", title = "%s", cavities = 24, grid = ["1-12", "13-24"], view = "wire side", latch = "left", sealed = true, spare = ["9"] }
XC = { of = "ECU", cavities = 1, grid = ["1"], view = "wire side", latch = "right" }
XD = { of = "ECU", cavities = 30 }
XE = { of = "ECU", cavities = 200, grid = ["1-200"], view = "wire side", latch = "top" }
XF = { of = "ECU", grid = ["A1 A2 _ A4", "_ B2 B3 B4"], view = "mating face" }
X1B = { title = "Bay half", mates = "X1C", cavities = 4, grid = ["1-4"], view = "wire side", latch = "right", at = "bay" }
X1C = { title = "Cabin half", mates = "X1B" }
X2C = { title = "Second", mates = "X2D", cavities = 4, at = "dash" }
X2D = { title = "Second, other half", mates = "X2C" }
[connector.XB]
of = "ECU"
title = "Big one"
cavities = 121
grid = [%s]
view = "mating face"
latch = "bottom"
note = "%s"
[splice.SP1]
title = "%s"
at = "bay"
[wire]
1a = { from = "BAT1:+", to = "F2:1", size = "10 AWG", color = "RD", net = "PLUS", length = "0.15 m" }
2a = { from = "F2:2", to = "X1B:1", size = "2.5 mm2", color = "RD/WH", net = "%s" }
10a = { from = "X1C:1", to = "X2C:1", size = "2.5 mm2", color = "RD/WH" }
10b = { from = "X2D:1", to = "XA:1", size = "2.5 mm2", color = "GNYE", supplied = true, sheathed = true, note = "%s" }
11 = { from = "BAT1:-", to = "GND1:1", color = "BK" }
12 = { from = "E1:1", to = "XC:1", size = "16 AWG", color = "WH" }
13 = { from = "E1:2", to = "SP1:1", size = "16 AWG", color = "BK/WH", supplied = true }
14 = { from = "SP1:2", to = "GND1:1", size = "16 AWG", color = "SR/GY" }
`, long, long, long, long, long, long, grid(11), long, long, strings.Repeat("LONG-NET-NAME-", 6), long)
	for i := 1; i <= 60; i++ {
		fmt.Fprintf(&b, "b%d = { from = \"XB:%d\", to = \"XD:%d\", size = \"20 AWG\", color = \"BU/YE\" }\n", i, 2*i, 1+i%30)
	}
	b.WriteString("[connector.XB.pin]\n")
	for i := 1; i <= 30; i++ {
		fmt.Fprintf(&b, "%d = { does = \"Output %d %s\", expect = \"%s\" }\n", i, i, strings.Repeat("very ", i), strings.Repeat("12 V ", 1+i%9))
	}
	return b.String()
}

// grid writes rows of consecutive cavities, as many rows as columns.
func grid(size int) string {
	var rows []string
	for i := range size {
		rows = append(rows, fmt.Sprintf("\"%d-%d\"", i*size+1, (i+1)*size))
	}
	return strings.Join(rows, ", ")
}
