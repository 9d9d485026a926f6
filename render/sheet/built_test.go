package sheet_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/built"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/source"
	"ferrule/render/canvas"
	"ferrule/render/geom"
	"ferrule/render/sheet"
)

// marked plans the small harness with a status file.
func marked(t *testing.T, n *model.Netlist, status string) planned {
	t.Helper()
	s := &sheet.Set{Graph: graph.New(n), Netlist: n, Routes: route.New(n)}
	if status != "" {
		f := source.NewFile("harness.built.toml", []byte("[built]\nof = \"harness.toml\"\n[wire]\n"+status))
		b, diags := built.Read(f, &built.Harness{Netlist: n, File: "harness.toml", Length: s.Cut().Length})
		require.Empty(t, diags)
		s.Built = b
	}
	s.Plan()
	return planned{s, []*canvas.Page{s.Render(s.Pages[0])}}
}

const fourWires = `[harness]
revision = "A"
[part]
F1 = { kind = "fuse", rating = "15 A" }
[wire]
1a = { from = "F1:1", to = "F1:2", size = "12 AWG" }
1b = { from = "F1:1", to = "F1:2", size = "12 AWG" }
1c = { from = "F1:1", to = "F1:2", size = "12 AWG" }
1d = { from = "F1:1", to = "F1:2", supplied = true }
`

// TestCoverShowsHowFarTheWiresAre: a bar as long as the share, and the numbers beside it.
func TestCoverShowsHowFarTheWiresAre(t *testing.T) {
	p := marked(t, parsed(t, fourWires), `1a = { stage = "tested", revision = "A", size = "14 AWG" }
1b = { stage = "cut", revision = "A", size = "12 AWG" }
1d = { stage = "installed", revision = "A" }
9z = { stage = "installed", revision = "A", from = "F1:1", to = "F1:2" }
`)
	texts, bars := map[string][]string{}, map[string][]geom.Length{}
	for _, o := range p.pages[0].Ops {
		if g := o.Group(); g.Kind == "progress" {
			switch o.Kind {
			case canvas.OpText:
				texts[g.Ref] = append(texts[g.Ref], o.Text.String)
			case canvas.OpRect:
				bars[g.Ref] = append(bars[g.Ref], o.Area.Width())
			}
		}
	}
	for stage, want := range map[string]struct {
		text  string
		share float64
	}{"cut": {"2 of 3", 2. / 3}, "crimped": {"1 of 3", 1. / 3}, "installed": {"2 of 4", 2. / 4}, "tested": {"1 of 4", 1. / 4}} {
		assert.Contains(t, texts[stage], want.text)
		require.Len(t, bars[stage], 2, "%s: the frame and what is full of it", stage)
		assert.InDelta(t, want.share, float64(bars[stage][1])/float64(bars[stage][0]), 0.001, stage)
	}
	joined := strings.Join(slices.Concat(texts["older"], texts["removed"], texts["supplied"]), " ")
	for _, want := range []string{"1 wire made before the netlist was changed", "1 wire made and no longer in the netlist", "1 wire, supplied with devices"} {
		assert.Contains(t, joined, want)
	}
}

// TestCoverWithoutStatus: nothing is claimed where nobody has marked anything.
func TestCoverWithoutStatus(t *testing.T) {
	for _, o := range marked(t, parsed(t, fourWires), "").pages[0].Ops {
		if o.Kind == canvas.OpText {
			assert.NotContains(t, o.Text.String, "so far")
		}
		assert.NotEqual(t, "tested", o.Group().Ref)
	}
}

// TestPrintedListsShowTheStatus: what the status file says is done has a cross in its boxes of the cut list, and the wire list names stage and
// revision, and what is older than the netlist.
func TestPrintedListsShowTheStatus(t *testing.T) {
	p := marked(t, parsed(t, fourWires), `1a = { stage = "tested", revision = "A", size = "14 AWG" }
1b = { stage = "cut", revision = "A", size = "12 AWG" }
`)
	var pages []*canvas.Page
	for _, page := range p.set.Pages {
		if page.Name == "cut" || page.Name == "wires" {
			pages = append(pages, p.set.Render(page))
		}
	}
	require.Len(t, pages, 2)
	crosses := map[string]int{}
	cut, wires := pages[1], pages[0]
	if cut.Name != "cut" {
		cut, wires = wires, cut
	}
	for _, o := range cut.Ops {
		if o.Kind == canvas.OpLine && o.Group().Kind == "wire" && len(o.Points) == 2 && o.Points[0].X != o.Points[1].X && o.Points[0].Y != o.Points[1].Y {
			crosses[o.Group().Ref]++
		}
	}
	assert.Equal(t, map[string]int{"1a": 2 * 3, "1b": 2}, crosses, "1a is cut and both its ends crimped, 1b is cut")
	assert.Contains(t, textIn([]*canvas.Page{wires}, "wire", "1a"), "tested, rev. A, older than the netlist")
	assert.Contains(t, textIn([]*canvas.Page{wires}, "wire", "1b"), "cut, rev. A")
	assert.Contains(t, textIn([]*canvas.Page{wires}, "wire", "1c"), "planned")
}
