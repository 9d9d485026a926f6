package layout_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/netlist/netlisttest"
	"ferrule/render"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/layout"
)

var update = flag.Bool("update", false, "write LAYOUT.md anew")

// A figure is what is measured of one diagram or of the sum of several.
type figure struct {
	sheets, wires              int
	crossings, bends, onOther  int
	length, paper, ink         float64 // mm, mm2, mm2
	labels                     int
	labelDistance              float64 // mm, summed
	overlaps, through, offGrid int
	reference                  reference
}

// reference is the same graph laid out by Graphviz's dot with orthogonal lines.
type reference struct {
	crossings, bends, onOther, through int
	length, paper, ink                 float64
}

func (f *figure) add(g figure) {
	f.sheets += g.sheets
	f.wires += g.wires
	f.crossings += g.crossings
	f.bends += g.bends
	f.onOther += g.onOther
	f.length += g.length
	f.paper += g.paper
	f.ink += g.ink
	f.labels += g.labels
	f.labelDistance += g.labelDistance
	f.overlaps += g.overlaps
	f.through += g.through
	f.offGrid += g.offGrid
	r, s := &f.reference, g.reference
	r.crossings += s.crossings
	r.bends += s.bends
	r.onOther += s.onOther
	r.through += s.through
	r.length += s.length
	r.paper += s.paper
	r.ink += s.ink
}

const lineInk = 1.0 // mm that a drawn wire takes across

// measureAll measures every diagram of a harness, on the pages as they are printed where texts are concerned.
func measureAll(t *testing.T, g *graph.Graph) (names []string, figures []figure) {
	t.Helper()
	set := render.Set(render.Input{Graph: g})
	drawings := diagrams(t, g)
	i := 0
	for _, p := range set.Pages {
		if !strings.HasPrefix(p.Name, "schematic-") {
			continue
		}
		require.Less(t, i, len(drawings))
		f := measureDrawing(drawings[i])
		page := set.Render(p)
		f.overlaps = len(canvas.Overlaps(page))
		f.through += len(canvas.StruckTexts(page))
		f.reference = measureReference(t, drawings[i])
		names, figures = append(names, p.Name), append(figures, f)
		i++
	}
	require.Equal(t, len(drawings), i, "a page for every diagram")
	return names, figures
}

func measureDrawing(d *layout.Drawing) figure {
	f := figure{sheets: 1, wires: len(d.Wires), paper: area(geom.Rect{Max: geom.Pt(d.Width, d.Height)})}
	lines, whose := linesOf(d)
	for i, l := range lines {
		f.length += length(l)
		f.bends += max(0, len(l)-2)
		for j, m := range lines[i+1:] {
			f.crossings += l.Crossings(m)
			if whose[i] != nil || whose[i+1+j] != nil { // leads of one symbol meet each other
				f.onOther += overlaps(l, m)
			}
		}
		for _, s := range l.Segments() {
			if s.Vertical() && whose[i] != nil && (s.A.X-whose[i].Lower.At.X)%(layout.Pitch/2) != 0 {
				f.offGrid++
			}
		}
	}
	for _, n := range d.Nodes {
		f.ink += area(n.Cell)
		for _, e := range d.Edges {
			own := n == e.Lower.Node() || e.Upper != nil && n == e.Upper.Node()
			if !own && e.Line.Enters(n.Cell) {
				f.through++
			}
		}
	}
	for _, e := range d.Edges {
		if e.Wire != nil {
			f.labels++
			box := labelBox(e)
			f.ink += area(box)
			f.labelDistance += (e.Lower.At.X - box.Max.X).Mm()
		}
	}
	f.ink += f.length * lineInk
	return f
}

// linesOf returns all lines of a diagram, and of those that are wires or links whose they are.
func linesOf(d *layout.Drawing) (lines []geom.Polyline, whose []*layout.Edge) {
	for _, e := range d.Edges {
		lines, whose = append(lines, e.Line), append(whose, e)
	}
	for _, n := range d.Nodes {
		for _, l := range n.Leads {
			lines, whose = append(lines, l), append(whose, nil)
		}
	}
	return lines, whose
}

func labelBox(e *layout.Edge) geom.Rect {
	box := font.Box(font.Regular, layout.TextHeight, e.Label.Text)
	return geom.Rect{Min: geom.Pt(box.Min.Y, -box.Max.X), Max: geom.Pt(box.Max.Y, -box.Min.X)}.Move(e.Label.At)
}

func area(r geom.Rect) float64 { return r.Width().Mm() * r.Height().Mm() }

func length(l geom.Polyline) float64 {
	sum := 0.0
	for _, s := range l.Segments() {
		sum += math.Hypot((s.A.X - s.B.X).Mm(), (s.A.Y - s.B.Y).Mm())
	}
	return sum
}

func overlaps(l, m geom.Polyline) int {
	count := 0
	for _, s := range l.Segments() {
		for _, u := range m.Segments() {
			if s.Overlaps(u) {
				count++
			}
		}
	}
	return count
}

// measureReference has dot lay out the same nodes, in their sizes, with the same edges, and reads its lines. Rails are
// nodes there. Graphviz places no lettering beside orthogonal lines, so nothing is said about it.
func measureReference(t *testing.T, d *layout.Drawing) reference {
	t.Helper()
	names := map[*layout.Node]string{}
	rails := map[*layout.Rail]string{}
	var w strings.Builder
	w.WriteString("digraph { splines=ortho; ranksep=0.6; nodesep=0.3; node [shape=box,fixedsize=true,label=\"\"]; edge [arrowhead=none];\n")
	for i, n := range d.Nodes {
		names[n] = fmt.Sprintf("n%d", i)
		fmt.Fprintf(&w, "n%d [width=%.3f,height=%.3f];\n", i, inch(n.Cell.Width()), inch(max(n.Cell.Height(), geom.MM)))
	}
	for i, r := range d.Rails {
		rails[r] = fmt.Sprintf("r%d", i)
		fmt.Fprintf(&w, "r%d [width=%.3f,height=0.05];\n", i, inch(d.Width/2))
	}
	for _, e := range d.Edges {
		from := rails[e.Rail]
		if e.Upper != nil {
			from = names[e.Upper.Node()]
		}
		fmt.Fprintf(&w, "%s -> %s;\n", from, names[e.Lower.Node()])
	}
	w.WriteString("}\n")
	plain, err := layout.RunEngine(w.String())
	require.NoError(t, err)
	return readReference(t, plain)
}

func inch(l geom.Length) float64 { return l.Mm() / 25.4 }

func readReference(t *testing.T, plain string) reference {
	t.Helper()
	var r reference
	boxes := map[string]geom.Rect{}
	type line struct {
		points   geom.Polyline
		from, to string
	}
	var lines []line
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return v * 25.4
	}
	point := func(x, y string) geom.Point { return geom.Pt(geom.Mm(number(x)), geom.Mm(number(y))) }
	for text := range strings.Lines(plain) {
		f := strings.Fields(text)
		switch {
		case len(f) >= 4 && f[0] == "graph":
			r.paper = number(f[2]) * number(f[3])
		case len(f) >= 6 && f[0] == "node":
			at, half := point(f[2], f[3]), point(f[4], f[5])
			boxes[f[1]] = geom.RectOf(geom.Pt(at.X-half.X/2, at.Y-half.Y/2), geom.Pt(at.X+half.X/2, at.Y+half.Y/2))
			r.ink += area(boxes[f[1]])
		case len(f) >= 4 && f[0] == "edge":
			count, err := strconv.Atoi(f[3])
			require.NoError(t, err)
			var points geom.Polyline
			for i := range count {
				if i%3 == 0 { // the others are control points of a straight Bezier curve
					points = append(points, point(f[4+2*i], f[5+2*i]))
				}
			}
			lines = append(lines, line{straightened(points), f[1], f[2]})
		}
	}
	for i, l := range lines {
		r.length += length(l.points)
		r.bends += max(0, len(l.points)-2)
		for _, m := range lines[i+1:] {
			r.crossings += l.points.Crossings(m.points)
			r.onOther += overlaps(l.points, m.points)
		}
		for name, box := range boxes {
			if name != l.from && name != l.to && l.points.Enters(box.Inset(geom.MM/2)) {
				r.through++
			}
		}
	}
	r.ink += r.length * lineInk
	return r
}

// straightened puts points on one line in the hundredth of a millimetre that rounding costs, and drops those in between.
func straightened(l geom.Polyline) geom.Polyline {
	const slack = 100 * geom.Micrometre
	near := func(a, b geom.Length) bool { return a-b < slack && b-a < slack }
	var out geom.Polyline
	for _, p := range l {
		if k := len(out); k > 0 {
			if near(out[k-1].X, p.X) {
				p.X = out[k-1].X
			}
			if near(out[k-1].Y, p.Y) {
				p.Y = out[k-1].Y
			}
			if p == out[k-1] {
				continue
			}
			if k > 1 && (out[k-1].X == p.X && out[k-2].X == p.X || out[k-1].Y == p.Y && out[k-2].Y == p.Y) {
				out[k-1] = p
				continue
			}
		}
		out = append(out, p)
	}
	return out
}

// generatedSizes are the wires of twenty generated harnesses, built as vehicles are.
var generatedSizes = []int{26, 30, 35, 40, 50, 60, 75, 90, 110, 130, 150, 175, 200, 230, 260, 300, 350, 420, 500, 600}

// tangles is how many harnesses of terminals joined at random are measured besides.
const tangles = 10

// TestMeasure holds the diagrams against plain Graphviz on the same graphs and writes, with -update, the table of
// LAYOUT.md. What is promised there must hold whatever the examples are. The tangles are measured and stated; the promise
// about crossings is not made for them.
func TestMeasure(t *testing.T) {
	if testing.Short() {
		t.Skip("counts crossings and bends of many harnesses, all of it in the run without -short")
	}
	var rows []string
	var fromExamples, generated, tangled, total figure
	for _, example := range examples {
		names, figures := measureAll(t, load(t, example))
		for i, f := range figures {
			rows = append(rows, f.row(filepath.Dir(example)+", "+strings.TrimPrefix(names[i], "schematic-")))
			fromExamples.add(f)
		}
	}
	measure := func(name, text string) figure {
		n, diags := netlist.Parse("generated.toml", []byte(text))
		require.False(t, diags.HasErrors(), "%v", diags)
		var sum figure
		_, figures := measureAll(t, graph.New(n))
		for _, f := range figures {
			sum.add(f)
		}
		rows = append(rows, sum.row(name))
		return sum
	}
	for _, wires := range generatedSizes {
		generated.add(measure(fmt.Sprintf("generated, %d wires", wires), netlisttest.Harness(wires)))
	}
	for seed := range uint64(tangles) {
		tangled.add(measure(fmt.Sprintf("tangle %d", seed), tangle(seed)))
	}
	vehicles := fromExamples
	vehicles.add(generated)
	total = vehicles
	total.add(tangled)
	rows = append(rows, fromExamples.row("**examples**"), generated.row("**generated**"), vehicles.row("**examples and generated**"),
		tangled.row("**tangles**"), total.row("**all**"))
	if *update {
		require.NoError(t, os.WriteFile("../LAYOUT.md", []byte(layoutHead+strings.Join(rows, "\n")+"\n"), 0o644))
	}
	for name, f := range map[string]figure{"examples": fromExamples, "generated": generated, "both": vehicles} {
		assert.LessOrEqual(t, 2*f.crossings, f.reference.crossings, "crossings, ours and Graphviz's: "+name)
	}
	assert.Zero(t, total.overlaps, "texts on texts")
	assert.Zero(t, total.through, "lines through symbols and texts")
	assert.Zero(t, total.onOther, "wires on wires")
	assert.Zero(t, total.offGrid, "wires off the pitch")
	compareWithTable(t, rows, total)
}

// compareWithTable fails when the table lacks a diagram or states fewer crossings than there are.
func compareWithTable(t *testing.T, rows []string, total figure) {
	t.Helper()
	table, err := os.ReadFile("../LAYOUT.md")
	require.NoError(t, err, "write it: go test ./render/layout -run Measure -update")
	for _, row := range rows {
		name, _, _ := strings.Cut(strings.TrimPrefix(row, "| "), " |")
		assert.Contains(t, string(table), "\n| "+name+" |", "LAYOUT.md is stale: go test ./render/layout -run Measure -update")
	}
	stated := regexp.MustCompile(`\| \*\*all\*\* \| \d+ \| \d+ \| (\d+) /`).FindStringSubmatch(string(table))
	require.NotNil(t, stated, "the line of sums in LAYOUT.md")
	crossings, err := strconv.Atoi(stated[1])
	require.NoError(t, err)
	assert.LessOrEqual(t, total.crossings, crossings, "more crossings than LAYOUT.md states: if that is meant, go test ./render/layout -run Measure -update")
}

func (f figure) row(name string) string {
	white := func(ink, paper float64) string { return fmt.Sprintf("%.0f", 100*(1-ink/max(1, paper))) }
	distance := "-"
	if f.labels > 0 {
		distance = fmt.Sprintf("%.1f", f.labelDistance/float64(f.labels))
	}
	r := f.reference
	return fmt.Sprintf("| %s | %d | %d | %d / %d | %d / %d | %.1f / %.1f | %s / %s | %s | %d / %d | %d | %d / %d | %d |", name, f.sheets, f.wires,
		f.crossings, r.crossings, f.bends, r.bends, f.length/1000, r.length/1000, white(f.ink, f.paper), white(r.ink, r.paper), distance,
		f.onOther, r.onOther, f.overlaps, f.through, r.through, f.offGrid)
}

const layoutHead = `# How good the circuit diagrams are

Written by ` + "`go test ./render/layout -run Measure -update`" + `; without ` + "`-update`" + ` the same test measures again and fails when a
promise is broken, when a diagram is missing here, or when there are more crossings than stated.

Every circuit diagram of the examples and of twenty generated harnesses is measured, and beside it the same graph as plain
Graphviz lays it out: the same symbols in the same sizes, the same wires, ` + "`dot`" + ` with ` + "`splines=ortho`" + `, in the same run. Two
numbers with a stroke are ours / Graphviz's. Graphviz puts no lettering beside orthogonal lines, so what concerns lettering is ours
alone. Its lines end at the middle of a node or where it likes, ours at the terminal that they belong to.

Promised: on the examples and on the generated harnesses, at most half as many crossings as Graphviz; on all diagrams, no text
on a text, no line through a symbol or a text, no wire on another, every wire on the pitch (half a column for the cut runs).

What the numbers do not hide: Graphviz needs fewer bends and half the wire, and on the tangles (terminals joined at random, which no
vehicle would do) it crosses far less than we do. It may end a line on any side of a symbol; ours ends at its terminal, comes from
supply above and goes to ground below. On the small sheets of the examples both cross a handful of times.

The diagrams are measured as they are printed, folded where they would need larger paper for their height alone; Graphviz gets
the same folded graph, whose marks spare it the same long lines.

- **Crossings**: places where two lines cross, leads inside a symbol's place included in ours.
- **Bends**: corners of all lines. **Length**: of all lines, in metres on paper.
- **White**: the share of the drawing without symbols, lettering or lines, in per cent (a line counts as 1 mm wide; of ours a symbol's
  place counts as full, so the true share is higher).
- **Label**: from the lettering of a wire to the wire, on average, in millimetres.
- **On wires**: pieces of two lines that lie on each other. **Texts**: texts that overlap. **Through**: lines through a symbol's place or
  a text. **Off pitch**: pieces of wires that stand on no column.

| diagram | sheets | wires | crossings | bends | length, m | white, % | label, mm | on wires | texts | through | off pitch |
|---|---|---|---|---|---|---|---|---|---|---|---|
`
