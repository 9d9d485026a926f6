package layout_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/netlisttest"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/layout"
	"ferrule/render/sheet"
)

// examples are the root files of the harnesses that come with the project.
var examples = []string{"first/first.toml", "pickup/pickup.toml", "boat/boat.toml", "camper/camper.toml", "motorcycle/motorcycle.toml", "broken/broken.toml"}

func load(t *testing.T, name string) *graph.Graph {
	t.Helper()
	path := filepath.Join("..", "..", "examples", name)
	n, diags, err := netlist.Load(os.DirFS(filepath.Dir(path)), filepath.Base(path))
	require.NoError(t, err)
	require.False(t, diags.HasErrors(), "%v", diags)
	return graph.New(n)
}

func diagrams(t *testing.T, g *graph.Graph) []*layout.Drawing {
	t.Helper()
	all, err := layout.Diagrams(g, sheet.DiagramRooms(sheet.ISO)...) // as they are printed
	require.NoError(t, err)
	require.NotEmpty(t, all)
	return all
}

func TestExamplesAreDrawnSoundly(t *testing.T) {
	for _, name := range examples {
		t.Run(name, func(t *testing.T) {
			g := load(t, name)
			checkAll(t, g, diagrams(t, g))
		})
	}
}

// TestGeneratedHarnessesAreDrawnSoundly tries shapes that no example has: two hundred harnesses from one wire to six
// hundred. A quarter is built as vehicles are; the rest joins random terminals of random parts, which no vehicle would do,
// and the drawing must stay sound all the same. With -short one in nine is tried, of both sorts.
func TestGeneratedHarnessesAreDrawnSoundly(t *testing.T) {
	const harnesses = 200
	for seed := range uint64(harnesses) {
		if testing.Short() && seed%9 > 0 {
			continue
		}
		name, text := fmt.Sprintf("tangle %d", seed), ""
		if seed%4 == 0 {
			wires := int(1 + seed*seed*600/((harnesses-4)*(harnesses-4)))
			name, text = fmt.Sprintf("%d wires", wires), netlisttest.Harness(wires)
		} else {
			text = tangle(seed)
		}
		t.Run(name, func(t *testing.T) {
			n, diags := netlist.Parse("generated.toml", []byte(text))
			require.False(t, diags.HasErrors(), "%v", diags)
			g := graph.New(n)
			checkAll(t, g, diagrams(t, g))
		})
	}
}

// tangle writes a harness of parts of all drawable kinds, with wires between terminals picked by a seeded generator.
func tangle(seed uint64) string {
	r := rand.New(rand.NewPCG(seed, 7))
	kinds := []string{"lamp", "fuse", "motor", "relay", "changeover relay", "switch", "diode", "three-wire sensor", "horn", "battery", "starter"}
	pins := map[string][]string{"relay": {"30", "87", "85", "86"}, "changeover relay": {"30", "87", "87a", "85", "86"}, "diode": {"A", "K"},
		"three-wire sensor": {"1", "2", "3"}, "battery": {"+", "-"}, "starter": {"30", "50"}}
	var w strings.Builder
	var terminals []string
	w.WriteString("[system]\na = { title = \"A\" }\nb = {}\n[body]\nmetal = {}\n[part]\n")
	for i := range 6 + r.IntN(20) {
		kind := kinds[r.IntN(len(kinds))]
		system := []string{"", ", system = \"a\"", ", system = \"b\""}[r.IntN(3)]
		fmt.Fprintf(&w, "P%d = { kind = %q, title = \"Part number %d of a tangle\"%s }\n", i, kind, i, system)
		names := pins[kind]
		if names == nil {
			names = []string{"1", "2"}
		}
		for _, name := range names {
			terminals = append(terminals, fmt.Sprintf("P%d:%s", i, name))
		}
	}
	w.WriteString("M1 = { kind = \"module\", title = \"Box\" }\nG1 = { kind = \"ground point\", body = \"metal\" }\n")
	w.WriteString("[connector]\nX1 = { of = \"M1\", cavities = 12 }\nX2 = { mates = \"X3\", cavities = 6 }\nX3 = { mates = \"X2\" }\n[splice]\nS1 = {}\nS2 = {}\n")
	for i := range 12 {
		terminals = append(terminals, fmt.Sprintf("X1:%d", i+1))
	}
	for i := range 6 {
		terminals = append(terminals, fmt.Sprintf("X2:%d", i+1), fmt.Sprintf("X3:%d", i+1))
	}
	terminals = append(terminals, "S1", "S1", "S2", "G1:1", "G1:2")
	fmt.Fprintf(&w, "[link]\nL1 = { joins = [%q, %q, %q], rail = \"30\" }\nL2 = { joins = [%q, %q, %q] }\n[wire]\n",
		terminals[r.IntN(len(terminals))], terminals[r.IntN(len(terminals))], terminals[r.IntN(len(terminals))],
		terminals[r.IntN(len(terminals))], terminals[r.IntN(len(terminals))], terminals[r.IntN(len(terminals))])
	for i := range 10 + r.IntN(70) {
		fmt.Fprintf(&w, "W%d = { from = %q, to = %q, size = \"14 AWG\", color = \"RD/BK\" }\n", i, terminals[r.IntN(len(terminals))], terminals[r.IntN(len(terminals))])
	}
	return w.String()
}

func checkAll(t *testing.T, g *graph.Graph, all []*layout.Drawing) {
	t.Helper()
	everyWireOnce(t, g.Netlist, all)
	everyPartSomewhere(t, g.Netlist, all)
	for _, d := range all {
		onPitch(t, d)
		nothingOverlaps(t, d)
		edgesKeepApart(t, d)
		edgesMissNodes(t, d)
		endsMeetPorts(t, d)
		leadsStayHome(t, d)
		twoTerminalsAreSymbols(t, d)
	}
	marksMatch(t, all)
}

func everyWireOnce(t *testing.T, n *model.Netlist, all []*layout.Drawing) {
	t.Helper()
	drawn := map[string]int{}
	for _, d := range all {
		for _, e := range d.Edges {
			if e.Wire != nil {
				drawn[e.Wire.Name.Text]++
			}
		}
	}
	for _, w := range n.Wires {
		if w.From.ID != model.NoPin && w.To.ID != model.NoPin {
			assert.Equal(t, 1, drawn[w.Name.Text], "wire %s is drawn", w.Name.Text)
		}
	}
}

func everyPartSomewhere(t *testing.T, n *model.Netlist, all []*layout.Drawing) {
	t.Helper()
	shown := map[string]bool{}
	for _, d := range all {
		for _, node := range d.Nodes {
			if node.Part != nil {
				shown[node.Part.Name.Text] = true
			}
		}
	}
	for _, p := range n.Parts {
		wired := slices.ContainsFunc(p.Terminals(), func(id model.PinID) bool {
			return slices.ContainsFunc(n.Wires, func(w *model.Wire) bool { return w.From.ID == id || w.To.ID == id })
		})
		if wired {
			assert.True(t, shown[p.Name.Text], "part %s is shown", p.Name.Text)
		}
	}
}

// onPitch holds every vertical piece of a wire against the columns, half a column for the cut runs.
func onPitch(t *testing.T, d *layout.Drawing) {
	t.Helper()
	for _, e := range d.Edges {
		assert.True(t, e.Line.Orthogonal(), "%s is drawn with level and plumb lines", edgeName(e))
		for _, s := range e.Line.Segments() {
			if s.Vertical() {
				assert.Zero(t, (s.A.X-e.Lower.At.X)%(layout.Pitch/2), "%s stands on a column", edgeName(e))
			}
		}
	}
}

func edgeName(e *layout.Edge) string {
	switch {
	case e.Wire != nil:
		return "wire " + e.Wire.Name.Text
	case e.Stub != nil:
		return "end of " + e.Stub.Name.Text
	case e.Screen != nil:
		return "screen of " + e.Screen.Name.Text
	}
	return "link " + e.Link.Name.Text
}

func nothingOverlaps(t *testing.T, d *layout.Drawing) {
	t.Helper()
	for i, n := range d.Nodes {
		for _, m := range d.Nodes[i+1:] {
			assert.False(t, n.Cell.Overlaps(m.Cell), "%s and %s share a place", n.Ref, m.Ref)
		}
		assert.True(t, n.Cell.Min.X >= 0 && n.Cell.Max.X <= d.Width && n.Cell.Max.Y <= d.Strip.Min.Y, "%s lies on the diagram", n.Ref)
	}
}

// edgesKeepApart: two edges may cross, but no piece of one lies on a piece of another, except where they meet a rail.
func edgesKeepApart(t *testing.T, d *layout.Drawing) {
	t.Helper()
	for i, e := range d.Edges {
		for _, f := range d.Edges[i+1:] {
			for _, s := range e.Line.Segments() {
				for _, u := range f.Line.Segments() {
					assert.False(t, s.Overlaps(u), "%s and %s run in one line", edgeName(e), edgeName(f))
				}
			}
		}
	}
}

// edgesMissNodes: an edge touches the cells of the two nodes that it joins and no other, and no lettering of a wire.
func edgesMissNodes(t *testing.T, d *layout.Drawing) {
	t.Helper()
	for _, e := range d.Edges {
		for _, n := range d.Nodes {
			if n == e.Lower.Node() || e.Upper != nil && n == e.Upper.Node() {
				continue
			}
			assert.False(t, e.Line.Enters(n.Cell), "%s runs through %s", edgeName(e), n.Ref)
		}
		for _, f := range d.Edges {
			if f.Wire != nil {
				box := font.Box(font.Regular, layout.TextHeight, f.Label.Text)
				label := geom.Rect{Min: geom.Pt(box.Min.Y, -box.Max.X), Max: geom.Pt(box.Max.Y, -box.Min.X)}.Move(f.Label.At)
				assert.False(t, e.Line.Enters(label), "%s runs through the lettering of %s", edgeName(e), edgeName(f))
			}
		}
	}
}

func endsMeetPorts(t *testing.T, d *layout.Drawing) {
	t.Helper()
	for _, e := range d.Edges {
		last := e.Line[len(e.Line)-1]
		assert.Equal(t, e.Lower.At, last, "%s ends at its port", edgeName(e))
		if e.Upper != nil {
			assert.Equal(t, e.Upper.At, e.Line[0], "%s begins at its port", edgeName(e))
		} else {
			assert.Equal(t, e.Rail.Y, e.Line[0].Y, "%s hangs from its rail", edgeName(e))
		}
	}
}

// leadsStayHome: what joins wires to a symbol stays within the symbol's cell, level and plumb, and misses its lettering.
func leadsStayHome(t *testing.T, d *layout.Drawing) {
	t.Helper()
	for _, n := range d.Nodes {
		for _, lead := range n.Leads {
			assert.True(t, lead.Orthogonal(), "%s: leads are level and plumb", n.Ref)
			assert.True(t, n.Cell.ContainsRect(lead.Bounds()), "%s: leads stay in its place", n.Ref)
		}
		if n.Form == layout.Inline && len(n.Lines) > 0 {
			text := geom.RectAt(geom.Pt(n.Side, n.Body.Min.Y+geom.MM), geom.MM, n.RefHeight()+geom.Length(len(n.Lines))*layout.LinePitch)
			for _, lead := range n.Leads {
				assert.False(t, lead.Enters(text), "%s: a lead runs through its lettering", n.Ref)
			}
		}
	}
}

// twoTerminalsAreSymbols: a fuse, battery, motor, lamp and so on with two wired terminals is its symbol, whichever side
// its wires come from, and never a box.
func twoTerminalsAreSymbols(t *testing.T, d *layout.Drawing) {
	t.Helper()
	always := []string{"battery", "fuse", "breaker", "diode", "resistor", "capacitor", "heater", "coil", "horn", "lamp", "motor", "switch"}
	for _, n := range d.Nodes {
		if n.Form != layout.Box || !slices.Contains(always, n.Symbol) {
			continue
		}
		pins := map[model.PinID]bool{}
		for _, p := range append(slices.Clone(n.Top), n.Bottom...) {
			pins[p.Pin] = true
		}
		if len(pins) < 2 {
			continue // one of several terminals: which other the symbol would join is not known
		}
		assert.True(t, len(pins) > 2 || n.Part.Body != nil && len(pins) == 2, "%s (%s) with %d wired terminals is a box", n.Ref, n.Symbol, len(pins))
	}
}

// marksMatch: a wire that leaves one diagram by a mark comes in by a mark on another.
func marksMatch(t *testing.T, all []*layout.Drawing) {
	t.Helper()
	out, in := map[string]int{}, map[string]int{}
	for _, d := range all {
		for _, e := range d.Edges {
			for _, p := range []*layout.Port{e.Upper, e.Lower} {
				if p == nil || p.Node().Form != layout.Mark {
					continue
				}
				if e.Wire != nil && e.Wire.From.ID != e.Wire.To.ID { // from a terminal to itself: it joins nothing and comes in nowhere
					out[e.Wire.Name.Text]++
				}
				if e.Stub != nil && e.Stub.From.ID != e.Stub.To.ID {
					in[e.Stub.Name.Text]++
				}
			}
		}
	}
	assert.Equal(t, out, in, "marks at which wires leave and come in")
}

func TestDiagramsAreTheSameEveryTime(t *testing.T) {
	text := func() string {
		out := ""
		for _, d := range diagrams(t, load(t, "pickup/pickup.toml")) {
			for _, e := range d.Edges {
				out += fmt.Sprintln(edgeName(e), e.Line)
			}
		}
		return out
	}
	assert.Equal(t, text(), text())
}
