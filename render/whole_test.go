package render_test

import (
	"fmt"
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
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/netlisttest"
	"ferrule/render"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/sheet"
)

// A drawnSet is a harness with all its sheets drawn.
type drawnSet struct {
	t     *testing.T
	name  string
	set   *sheet.Set
	pages []*canvas.Page
	index []groupsOf // of each page, the groups by their kind
}

func drawSet(t *testing.T, name string, n *model.Netlist) *drawnSet {
	t.Helper()
	d := &drawnSet{t: t, name: name, set: render.Set(render.Input{Graph: graph.New(n), Program: "Ferrule test"})}
	d.pages = render.Pages(d.set)
	for _, p := range d.pages {
		d.index = append(d.index, groupsIn(p))
	}
	return d
}

// A drawnGroup is one appearance of a thing on a page: what is drawn between the beginning and the end of its group.
type drawnGroup struct {
	canvas.Group
	ops   []canvas.Op
	texts []string
	box   geom.Rect
}

type groupsOf map[string][]*drawnGroup

func groupsIn(p *canvas.Page) groupsOf {
	out := groupsOf{}
	var open []*drawnGroup
	for _, o := range p.Ops {
		switch o.Kind {
		case canvas.OpBegin:
			g := &drawnGroup{Group: o.Group()}
			open = append(open, g)
			out[g.Kind] = append(out[g.Kind], g)
		case canvas.OpEnd:
			open = open[:len(open)-1]
		default:
			for _, g := range open {
				g.add(o)
			}
		}
	}
	return out
}

func (g *drawnGroup) add(o canvas.Op) {
	if box, drawn := o.Bounds(); drawn {
		if len(g.ops) == 0 {
			g.box = box
		}
		g.box = geom.Rect{
			Min: geom.Pt(min(g.box.Min.X, box.Min.X), min(g.box.Min.Y, box.Min.Y)), Max: geom.Pt(max(g.box.Max.X, box.Max.X), max(g.box.Max.Y, box.Max.Y)),
		}
		g.ops = append(g.ops, o)
	}
	if o.Kind == canvas.OpText {
		g.texts = append(g.texts, o.Text.String)
	}
}

// isSound holds every page of a set against what all sheets promise, and the wires and terminals against the netlist.
func (d *drawnSet) isSound() {
	d.t.Helper()
	names := map[string]bool{}
	for _, p := range d.pages {
		names[p.Name] = true
		for _, o := range p.Ops {
			if o.Kind == canvas.OpAnchor {
				names[o.Target] = true
			}
		}
	}
	for i, p := range d.pages {
		where := d.name + ", " + p.Name
		assert.Empty(d.t, canvas.Overlaps(p), where)
		assert.Empty(d.t, canvas.StruckTexts(p), where)
		assert.Empty(d.t, canvas.SmallTexts(p, font.MinHeight), where)
		paper := d.set.Pages[i].Paper
		paper.Permille = 0 // what is drawn is enlarged already, and the area is that of the sheet
		area := paper.Area()
		for _, o := range p.Ops {
			if box, drawn := o.Bounds(); drawn && !o.In("frame", "") && !o.In("title-block", "") && !o.In("caution", "") {
				assert.True(d.t, area.ContainsRect(box), "%s: %s leaves the drawing area", where, o)
			}
			if o.Kind == canvas.OpLink {
				assert.True(d.t, names[o.Target], "%s: a link to %q, which no page has", where, o.Target)
			}
		}
		if strings.HasPrefix(p.Name, "schematic") {
			d.wiresMissSymbols(i)
		}
		d.pathsDoNotCross(i)
	}
	d.everyWireAndPin()
}

// wiresMissSymbols: no wire runs through the outline of a device or the circle of a symbol.
func (d *drawnSet) wiresMissSymbols(page int) {
	var lines []geom.Polyline
	for _, w := range d.index[page]["wire"] {
		for _, o := range w.ops {
			if o.Kind == canvas.OpLine {
				lines = append(lines, o.Points)
			}
		}
	}
	for _, part := range d.index[page]["part"] {
		for _, o := range part.ops {
			if o.Kind != canvas.OpRect && o.Kind != canvas.OpCircle || o.Kind == canvas.OpCircle && o.Radius < 2*geom.MM { // smaller ones are dots
				continue
			}
			box, _ := o.Bounds()
			for _, l := range lines {
				assert.False(d.t, l.Enters(box.Inset(o.Stroke.Width/2+geom.MM/10)), "%s, %s: a wire runs through %s", d.name, d.pages[page].Name, part.Ref)
			}
		}
	}
}

// pathsDoNotCross: the tree of the harness layout is drawn without crossings.
func (d *drawnSet) pathsDoNotCross(page int) {
	var segments []geom.Segment
	for _, path := range d.index[page]["path"] {
		for _, o := range path.ops {
			if o.Kind == canvas.OpLine {
				segments = append(segments, o.Points.Segments()...)
			}
		}
	}
	for i, s := range segments {
		for _, u := range segments[i+1:] {
			assert.False(d.t, s.Crosses(u), "%s, %s: two paths cross at %s", d.name, d.pages[page].Name, s.A)
		}
	}
}

// everyWireAndPin: each wire is on the diagrams once and in the wire list once, with its number; each terminal has its row, with
// the numbers of the wires at it.
func (d *drawnSet) everyWireAndPin() {
	drawn, listed, rows := map[string]int{}, map[string]int{}, map[string]string{}
	for i, p := range d.pages {
		word, _, _ := strings.Cut(strings.ReplaceAll(p.Name, ".", "-"), "-")
		for _, g := range d.index[i]["wire"] {
			switch word {
			case "schematic":
				drawn[g.Ref]++
				assert.Contains(d.t, strings.Join(g.texts, " "), font.Drawable(g.Ref)[:min(8, len(g.Ref))], d.name)
			case "wires":
				listed[g.Ref]++
			}
		}
		for _, g := range d.index[i]["pin"] {
			if word == "pinout" || word == "terminals" {
				rows[g.Ref] += " " + strings.Join(g.texts, " ") + " "
			}
		}
	}
	n := d.set.Netlist
	for _, w := range n.Wires {
		assert.Equal(d.t, 1, listed[w.Name.Text], "%s: wire %s in the wire list", d.name, w.Name.Text)
		if w.From.ID == model.NoPin || w.To.ID == model.NoPin {
			continue
		}
		assert.Equal(d.t, 1, drawn[w.Name.Text], "%s: wire %s on the diagrams", d.name, w.Name.Text)
		for _, end := range []model.PinRef{w.From, w.To} {
			row := strings.ReplaceAll(rows[n.Pin(end.ID).String()], ",", " ")
			if len(w.Name.Text) > 20 { // broken over lines
				row = strings.Join(strings.Fields(row), "") + " "
				assert.Contains(d.t, row, w.Name.Text, "%s: at %s", d.name, n.Pin(end.ID))
				continue
			}
			assert.Contains(d.t, strings.Join(strings.Fields(row), " ")+" ", w.Name.Text+" ", "%s: at %s", d.name, n.Pin(end.ID))
		}
	}
}

// A place is a sheet and a track, as a reference names it.
type place struct{ page, track int } // the index of the page

var (
	sheetAndTrack = regexp.MustCompile(`(\d+),? tr\. (\d+)`)
	trackHere     = regexp.MustCompile(`track (\d+)$`)
)

// places reads the references of a text that stands on a page.
func places(text string, page int) []place {
	var out []place
	for _, m := range sheetAndTrack.FindAllStringSubmatch(text, -1) {
		out = append(out, place{number(m[1]) - 1, number(m[2])})
	}
	if m := trackHere.FindStringSubmatch(text); m != nil {
		out = append(out, place{page, number(m[1])})
	}
	return out
}

func number(digits string) int {
	n, err := strconv.Atoi(digits)
	if err != nil {
		return -1
	}
	return n
}

// span is where a track lies on its page, by the number in the strip at the foot; false when the page or the track is not there.
func (d *drawnSet) span(at place) (left, right geom.Length, ok bool) {
	if at.page < 0 || at.page >= len(d.pages) {
		return 0, 0, false
	}
	for _, strip := range d.index[at.page]["index"] {
		for _, o := range strip.ops {
			if o.Kind == canvas.OpText && !o.Text.Upright() && o.Text.String == strconv.Itoa(at.track) {
				half := 7500 * geom.Micrometre
				if permille := d.set.Pages[at.page].Paper.Permille; permille != 0 {
					half = half * geom.Length(permille) / 1000
				}
				return o.Text.At.X - half, o.Text.At.X + half, true
			}
		}
	}
	return 0, 0, false
}

// shows reports whether a page has a thing of one of the names in a track: a device, a cavity, a splice, a bar, a terminal.
func (d *drawnSet) shows(at place, names ...string) bool {
	left, right, ok := d.span(at)
	if !ok {
		return false
	}
	for _, kind := range []string{"part", "connector", "splice", "link", "terminal", "ground", "rail"} {
		for _, g := range d.index[at.page][kind] {
			if g.box.Max.X < left || g.box.Min.X > right {
				continue
			}
			for _, name := range names {
				if g.Ref == name || slices.ContainsFunc(g.texts, func(text string) bool { return text == name || strings.HasPrefix(text, name+" ") }) {
					return true
				}
			}
		}
	}
	return false
}

// referencesResolve: every mark, every relay half, every bar and rail that names a sheet or track names one where the other end
// is, and the other end points back.
func (d *drawnSet) referencesResolve() (count int) {
	d.t.Helper()
	out, in := map[string][]place{}, map[string][]place{} // by wire: the pages on which it leaves by a mark, and those where it comes in
	for i, p := range d.pages {
		if !strings.HasPrefix(p.Name, "schematic-") {
			continue
		}
		for _, mark := range d.index[i]["mark"] {
			count += d.markResolves(i, mark, out, in)
		}
		for _, part := range d.index[i]["part"] {
			count += d.halvesMeet(i, part)
		}
		count += d.barsMeet(i)
	}
	for wire, from := range out {
		assert.Len(d.t, in[wire], len(from), "%s: marks at which wire %s comes in", d.name, wire)
	}
	for wire := range in {
		assert.Contains(d.t, out, wire, "%s: a mark names wire %s, which leaves nowhere", d.name, wire)
	}
	return count
}

// markResolves holds one mark against the place that it names.
func (d *drawnSet) markResolves(page int, mark *drawnGroup, out, in map[string][]place) int {
	where := fmt.Sprintf("%s, %s: the mark %q", d.name, d.pages[page].Name, mark.texts)
	if slices.Contains(mark.texts, "cable screen") {
		return 0
	}
	named := places(strings.Join(mark.texts[1:], " "), page)
	wire, terminal, comesIn := strings.Cut(mark.texts[0], " to ")
	if !comesIn || wire == "" {
		terminal = mark.texts[0]
	}
	if strings.HasPrefix(mark.texts[0], "to rail ") { // the circuit feeds a rail, which the diagrams that are named have on top
		for _, at := range named {
			_, _, ok := d.span(at)
			assert.True(d.t, ok, where)
		}
		return len(named)
	}
	if !assert.NotEmpty(d.t, named, where+" names no place") {
		return 0
	}
	for _, at := range named {
		owner, _, _ := strings.Cut(terminal, ":")
		if !strings.HasSuffix(terminal, "…") {
			wireBetweenMarks := comesIn && slices.ContainsFunc(d.index[at.page]["mark"], func(g *drawnGroup) bool { return g.texts[0] == terminal })
			assert.True(d.t, wireBetweenMarks || d.shows(at, terminal, owner), "%s: it is not in track %d of sheet %d", where, at.track, at.page+1)
		}
	}
	switch leaving := d.wireAt(page, mark); {
	case comesIn:
		in[wire] = append(in[wire], named[0])
		assert.Contains(d.t, refs(d.index[named[0].page]["wire"]), wire, where)
	case leaving != "":
		out[leaving] = append(out[leaving], named[0])
		assert.True(d.t, slices.ContainsFunc(d.index[named[0].page]["mark"], func(back *drawnGroup) bool {
			to, _ := strings.CutSuffix(back.texts[0], "…")
			return (strings.HasPrefix(to, leaving+" to ") || strings.HasPrefix(leaving, to)) && slices.ContainsFunc(places(strings.Join(back.texts[1:], " "), named[0].page), func(at place) bool { return at.page == page })
		}), "%s of wire %s: no mark there points back", where, leaving)
	}
	return len(named)
}

func refs(groups []*drawnGroup) []string {
	var out []string
	for _, g := range groups {
		out = append(out, g.Ref)
	}
	return out
}

// wireAt returns the wire whose line ends at a mark, or nothing where a stub or a link does.
func (d *drawnSet) wireAt(page int, mark *drawnGroup) string {
	var arrow geom.Rect
	for _, o := range mark.ops {
		if o.Kind == canvas.OpLine {
			arrow = geom.RectOf(o.Points[0], o.Points[len(o.Points)-1]).Inset(-geom.MM / 10)
		}
	}
	for _, w := range d.index[page]["wire"] {
		for _, o := range w.ops {
			if o.Kind == canvas.OpLine && (arrow.Contains(o.Points[0]) || arrow.Contains(o.Points[len(o.Points)-1])) {
				return w.Ref
			}
		}
	}
	return ""
}

// halvesMeet: the contact of a relay names where its coil is, and the coil where the contact is.
func (d *drawnSet) halvesMeet(page int, part *drawnGroup) (count int) {
	for _, half := range [][2]string{{"coil: ", "contact: "}, {"contact: ", "coil: "}} {
		for _, text := range part.texts {
			if !strings.HasPrefix(text, half[0]) || strings.HasSuffix(text, "not wired") {
				continue
			}
			where := fmt.Sprintf("%s, %s: %s, %q", d.name, d.pages[page].Name, part.Ref, text)
			named := places(text, page)
			if !assert.Len(d.t, named, 1, where) {
				continue
			}
			assert.True(d.t, d.shows(named[0], part.Ref), where)
			assert.True(d.t, slices.ContainsFunc(d.index[named[0].page]["part"], func(other *drawnGroup) bool {
				return other.Ref == part.Ref && slices.ContainsFunc(other.texts, func(back string) bool {
					to := places(back, named[0].page)
					return strings.HasPrefix(back, half[1]) && len(to) == 1 && to[0].page == page
				})
			}), "%s: the other half does not point back", where)
			count++
		}
	}
	return count
}

var sheetNumber = regexp.MustCompile(`\d+`)

// barsMeet: a rail or bar that says on which other sheets it is drawn is drawn there, and a rail there says where it is fed.
func (d *drawnSet) barsMeet(page int) (count int) {
	for _, kind := range []string{"rail", "part", "link"} {
		for _, g := range d.index[page][kind] {
			text := strings.Join(g.texts, " ")
			_, also, ok := strings.Cut(text, "also on ")
			if fed := places(text, page); kind == "rail" && strings.Contains(text, "fed: ") {
				where := fmt.Sprintf("%s, %s: rail %s %q", d.name, d.pages[page].Name, g.Ref, text)
				if assert.Len(d.t, fed, 1, where) {
					_, _, there := d.span(fed[0])
					assert.True(d.t, there, where)
					count++
				}
			}
			if !ok {
				continue
			}
			for _, digits := range sheetNumber.FindAllString(strings.TrimLeft(strings.TrimPrefix(strings.TrimPrefix(also, "sheets"), "sheet"), " "), -1) {
				other := number(digits) - 1
				where := fmt.Sprintf("%s, %s: %s %q", d.name, d.pages[page].Name, g.Ref, text)
				if assert.True(d.t, other >= 0 && other < len(d.pages), where) {
					assert.True(d.t, slices.Contains(slices.Concat(refs(d.index[other]["rail"]), refs(d.index[other]["link"]), refs(d.index[other]["part"])), g.Ref), where)
					count++
				}
			}
		}
	}
	return count
}

// layoutsGoOn: a branch of the harness layout that goes on elsewhere does so at the same place of the sheet that it names.
func (d *drawnSet) layoutsGoOn() {
	for i := range d.pages {
		for _, g := range d.index[i]["place"] {
			for _, text := range g.texts {
				rest, ok := strings.CutPrefix(text, "goes on: sheet ")
				if !ok {
					continue
				}
				other := number(rest) - 1
				if assert.True(d.t, other >= 0 && other < len(d.pages), "%s: %s %q", d.name, g.Ref, text) {
					assert.Contains(d.t, refs(d.index[other]["place"]), g.Ref, "%s: %q", d.name, text)
				}
			}
		}
	}
}

// TestWholeSetsOfTheExamples: every page of every example is sound, and all that it refers to is there.
func TestWholeSetsOfTheExamples(t *testing.T) {
	for name, least := range map[string]int{"first": 1, "broken": 1, "motorcycle": 10, "boat": 10, "camper": 20, "pickup": 100} {
		n, _, err := netlist.Load(os.DirFS(filepath.Join("..", "examples", name)), name+".toml")
		require.NoError(t, err)
		d := drawSet(t, name, n)
		if name != "broken" { // its wires are wrong on purpose
			d.isSound()
		}
		assert.GreaterOrEqual(t, d.referencesResolve(), least, name)
		d.layoutsGoOn()
	}
}

// TestWholeSetsOfGeneratedHarnesses draws whole sets of harnesses of many shapes.
func TestWholeSetsOfGeneratedHarnesses(t *testing.T) {
	count, step := 200, 1
	if testing.Short() {
		step = 10
	}
	total := 0
	for seed := 0; seed < count; seed += step {
		text := netlisttest.Varied(uint64(seed))
		n, _ := netlist.Parse("made.toml", []byte(text)) // the check may object; it is drawn all the same
		d := drawSet(t, fmt.Sprintf("seed %d", seed), n)
		d.isSound()
		total += d.referencesResolve()
		d.layoutsGoOn()
		if t.Failed() {
			t.Fatalf("the harness:\n%s", text)
		}
	}
	assert.Greater(t, total, count/step, "references that were followed")
}

// TestWholeSetsOfOddHarnesses: what nobody means to write is drawn all the same, and as soundly.
func TestWholeSetsOfOddHarnesses(t *testing.T) {
	head := "[harness]\ntitle = \"Odd\"\nvolts = 12\npolarity = \"negative-ground\"\n"
	group := regexp.MustCompile(`system = "group-\d+"`)
	var wide strings.Builder
	for i := range 121 {
		fmt.Fprintf(&wide, "w%d = { from = \"XA:%d\", to = \"XB:%d\", size = \"20 AWG\", color = \"WH/BK\" }\n", i, i+1, i+1)
	}
	long := strings.Repeat("extraordinarily-long-", 20)
	for name, text := range map[string]string{
		"nothing at all":            head,
		"one device, no wire":       head + "[part]\nE1 = { kind = \"lamp\", load = \"5 W\" }\n",
		"600 wires in one system":   group.ReplaceAllString(netlisttest.Harness(600), `system = "supply"`),
		"a connector with one pin":  head + "[part]\nM1 = { kind = \"module\" }\nE1 = { kind = \"lamp\" }\n[connector]\nX1 = { of = \"M1\", cavities = 1 }\n[wire]\n1 = { from = \"X1:1\", to = \"E1:1\" }\n",
		"connectors with 121 pins":  head + "[part]\nM1 = { kind = \"module\" }\nM2 = { kind = \"module\" }\n[connector]\nXA = { of = \"M1\", cavities = 121 }\nXB = { of = \"M2\", cavities = 121 }\n[wire]\n" + wide.String(),
		"from right to left, emoji": head + "[place]\nd = { title = \"\u05de\u05e0\u05d5\u05e8\u05d4\" }\n[part]\nE1 = { kind = \"lamp\", title = \"\u05de\u05e0\u05d5\u05e8\u05d4 \u0645\u0635\u0628\u0627\u062d\", at = \"d\", load = \"5 W\" }\nF1 = { kind = \"fuse\", title = \"\U0001F50B\U0001F468\u200D\U0001F527 fuse\", rating = \"5 A\" }\n[wire]\n1 = { from = \"F1:1\", to = \"E1:1\", color = \"RD\" }\n",
		"endless names": head + "[system]\ns = { title = \"" + long + "\" }\n[place]\n" + long[:40] + " = { title = \"" + long + "\" }\n[part]\n" + strings.ToUpper(long[:60]) + " = { kind = \"lamp\", title = \"" + long + "\", system = \"s\", at = \"" + long[:40] + "\", load = \"5 W\" }\nF1 = { kind = \"fuse\", title = \"" + long + "\", system = \"s\" }\n" +
			"[wire]\n" + long[:50] + " = { from = \"F1:1\", to = \"" + strings.ToUpper(long[:60]) + ":1\", size = \"14 AWG\", color = \"RD\", net = \"" + long + "\" }\n",
		"a wire of one system between parts of another": head + "[system]\na = {}\nb = {}\n[part]\nF1 = { kind = \"fuse\", system = \"a\", rating = \"5 A\" }\nE1 = { kind = \"lamp\", system = \"a\", load = \"5 W\" }\nE2 = { kind = \"lamp\", system = \"b\", load = \"5 W\" }\n[wire]\n1 = { from = \"F1:2\", to = \"E1:1\", system = \"b\" }\n2 = { from = \"E1:2\", to = \"E2:1\" }\n",
	} {
		n, _ := netlist.Parse("odd.toml", []byte(text)) // the check may object; it is drawn all the same
		d := drawSet(t, name, n)
		assert.NotEmpty(t, d.pages, name)
		d.isSound()
		d.referencesResolve()
		d.layoutsGoOn()
	}
}
