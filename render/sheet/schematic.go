package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"ferrule/netlist/model"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/layout"
	"ferrule/render/symbol"
)

// The circuit diagrams: current-track style (the tradition of DIN 40719), a sheet or more for each system.
var _ = register(&Maker{
	Name:  "schematic",
	Title: "Circuit diagrams",
	Doc:   "Every wire of the harness by system: supply rails on top, ground below, current flowing down. Switches and relays are drawn at rest.",
	Order: 100,
	Plan:  planSchematics,
})

// schematicCaution stands on every circuit diagram: it is what somebody holds while he works on live wiring.
const schematicCaution = "Drawn at rest, battery connected. Isolate the battery before you work; never bridge or up-rate a fuse. Values are aids: check against the vehicle; local rules govern."

func planSchematics(s *Set) []*Page {
	drawings, err := layout.Diagrams(s.Graph, DiagramRooms(s.bench().Series)...)
	if err != nil {
		return []*Page{failedPage(err)}
	}
	refs := crossReferences(drawings)
	var pages []*Page
	for i, d := range drawings {
		pages = append(pages, planSchematic(s, d, drawings, i, refs))
	}
	return pages
}

// failedPage says on paper that the diagrams could not be laid out, so that nobody takes the set for complete.
func failedPage(err error) *Page {
	paper, _ := PaperByName("A4")
	return &Page{Name: "schematic", Title: "Circuit diagrams: not drawn", Paper: paper, Draw: func(c canvas.Canvas) {
		at := paper.Area().Min.Add(geom.Pt(5*geom.MM, 15*geom.MM))
		for i, line := range font.Wrap(font.Regular, font.Height3p5, err.Error(), paper.Area().Width()-10*geom.MM) {
			c.Text(canvas.Text{At: at.Add(geom.Pt(0, geom.Length(i)*7*geom.MM)), Height: font.Height3p5, String: line, Color: canvas.Ink})
		}
	}}
}

// diagramMargin is the least distance of a diagram from the edge of the drawing space.
const diagramMargin = 3500 * geom.Micrometre

func planSchematic(s *Set, d *layout.Drawing, all []*layout.Drawing, index int, refs references) *Page {
	paper := s.diagram(d.Width+2*diagramMargin, d.Height+2*diagramMargin)
	page := &Page{Name: diagramName(d), Title: diagramTitle(d), Paper: paper, Caution: schematicCaution}
	for _, w := range d.Wires {
		page.Shows = append(page.Shows, Shown{"wire", w.Name.Text})
	}
	for _, n := range d.Nodes {
		if n.Kind == "part" {
			page.Shows = append(page.Shows, Shown{"part", n.Ref})
		}
		for _, name := range symbolsOf(n) {
			page.Shows = append(page.Shows, Shown{"symbol", name})
		}
	}
	page.Draw = func(c canvas.Canvas) {
		area := paper.Area()
		origin := geom.Pt(area.Min.X+(area.Width()-d.Width)/2, area.Min.Y+diagramMargin)
		drawDiagram(canvasAt{c, origin}, d, finder{s, refs, all, index})
	}
	return page
}

// symbolsOf names the symbols that a node is drawn with, for the legend; plain boxes explain themselves.
func symbolsOf(n *layout.Node) []string {
	switch n.Form {
	case layout.Inline, layout.Loose:
		name := n.Symbol
		if symbol.Find(name) == nil {
			name = "device"
		}
		if n.Case {
			return []string{name, "case"}
		}
		return []string{name}
	case layout.Box:
		if n.Pictured() {
			return []string{n.Symbol}
		}
	case layout.Joint:
		return []string{"joint"}
	case layout.Ground:
		if len(n.Top) == 0 {
			return []string{"ground above"}
		}
		return []string{"ground"}
	case layout.Mark:
		if n.Other.Screen == nil {
			return []string{"goes on"}
		}
	}
	return nil
}

func diagramName(d *layout.Drawing) string {
	name := "rest"
	if d.System != nil {
		name = d.System.Name.Text
	}
	if d.Parts > 1 {
		name += "-" + strconv.Itoa(d.Part)
	}
	return "schematic-" + name
}

func diagramTitle(d *layout.Drawing) string {
	title := "Circuit diagram"
	if d.System != nil {
		title = d.System.Title.Text
		if title == "" {
			title = d.System.Name.Text
		}
	}
	if d.Parts > 1 {
		title += fmt.Sprintf(" (%d of %d)", d.Part, d.Parts)
	}
	return title
}

// references says where on the diagrams things are, so that a mark can name sheet and track.
type references struct {
	ends map[end]spot // the end of a wire at a terminal, where that is drawn
	outs map[end]spot // the end of a wire that goes on to a terminal by a mark, where the wire itself is drawn
	pins map[model.PinID]spot
	half map[string]spot        // relays: "K1 coil", "K1 contact"
	bars map[string][]spot      // bus bars and studs: where each is shown, once a diagram
	link map[*model.Link][]spot // links: likewise
}

// end is one end of a wire as a mark shows it: the wire at that terminal.
type end struct {
	wire *model.Wire
	pin  model.PinID
}

type spot struct {
	drawing int
	track   int
}

// crossReferences notes every terminal with its diagram and track, and for every wire that is drawn on one diagram and
// ends on another, the place of its other end.
func crossReferences(all []*layout.Drawing) references {
	r := references{ends: map[end]spot{}, outs: map[end]spot{}, pins: map[model.PinID]spot{}, half: map[string]spot{},
		bars: map[string][]spot{}, link: map[*model.Link][]spot{}}
	for i, d := range all {
		for _, n := range d.Nodes {
			if n.Form == layout.Joint && n.Part != nil {
				r.bars[n.Ref] = append(r.bars[n.Ref], spot{i, d.TrackOf(n.Anchor())})
			}
			if half, ok := map[string]string{"coil": "contact", "contact": "coil"}[n.Partner]; ok {
				r.half[n.Ref+" "+half] = spot{i, d.TrackOf(n.Anchor())}
			}
		}
		for _, e := range d.Edges {
			for _, p := range []*layout.Port{e.Upper, e.Lower} {
				if p == nil {
					continue
				}
				at := spot{i, d.TrackOf(p.At.X)}
				if n := p.Node(); n.Form == layout.Mark {
					if e.Wire != nil {
						r.outs[end{e.Wire, n.Other.Pin}] = at
					}
					continue
				}
				if known := r.link[e.Link]; e.Link != nil && (len(known) == 0 || known[len(known)-1].drawing != i) {
					r.link[e.Link] = append(known, at)
				}
				if e.Wire != nil {
					r.ends[end{e.Wire, p.Pin}] = at
				}
				if e.Stub != nil {
					r.ends[end{e.Stub, p.Pin}] = at
				}
				if _, known := r.pins[p.Pin]; !known && p.Node().Kind != "link" { // a bar shows terminals that are elsewhere
					r.pins[p.Pin] = at
				}
			}
		}
	}
	return r
}

// finder words where things are, for the marks of one diagram.
type finder struct {
	set  *Set
	refs references
	all  []*layout.Drawing
	here int
}

// target returns the place at which a wire or a link goes on, in words, and the page of it; empty when it has none.
func (f finder) target(t *layout.Target) (where, page string) {
	at, known := f.refs.ends[end{t.Wire, t.Pin}]
	if out, both := f.refs.outs[end{t.Wire, t.Pin}]; t.Drawn && both {
		at, known = out, true // the wire is drawn between two marks, and this one leads to the wire
	}
	if !known {
		at, known = f.refs.pins[t.Pin]
	}
	return f.words(at, known)
}

// places returns where else a bar or rail is shown, "5 tr. 4" each, and the first page of them.
func (f finder) places(spots []spot) (places []string, page string) {
	for _, at := range spots {
		if at.drawing == f.here {
			continue
		}
		name := diagramName(f.all[at.drawing])
		for _, p := range f.set.Pages {
			if p.Name == name {
				places = append(places, fmt.Sprintf("%d tr. %d", p.Number, at.track))
			}
		}
		if page == "" {
			page = name
		}
	}
	return places, page
}

// railPlaces says at the end of a rail where it is fed, or on the diagram that feeds it, where else it is drawn.
func (f finder) railPlaces(r *layout.Rail) string {
	at, known := f.refs.pins[r.Feed]
	if known && at.drawing != f.here {
		where, _ := f.words(at, known)
		return "fed: " + where
	}
	places, _ := f.places(f.refs.link[r.Link])
	for i, p := range places {
		places[i], _, _ = strings.Cut(p, " ")
	}
	if len(places) == 0 {
		return ""
	}
	return layout.RailText(places)
}

// alsoOn fills in the other sheets on which a bar is shown again.
func (f finder) alsoOn(n *layout.Node) {
	places, _ := f.places(f.refs.bars[n.Ref])
	for i, p := range places {
		places[i], _, _ = strings.Cut(p, " ")
	}
	kept := n.Lines[n.PartnerLine : n.PartnerLine+n.AlsoLines]
	clear(kept)
	if len(places) > 0 {
		copy(kept, layout.AlsoText(len(places), places))
	}
}

// partner returns where the other half of a relay is drawn.
func (f finder) partner(n *layout.Node) string {
	at, known := f.refs.half[n.Ref+" "+n.Partner]
	where, _ := f.words(at, known)
	if where == "" {
		where = "not wired"
	}
	return layout.PartnerText(n.Partner, where)
}

func (f finder) words(at spot, known bool) (where, page string) {
	if !known {
		return "", ""
	}
	name := diagramName(f.all[at.drawing])
	if at.drawing == f.here {
		return fmt.Sprintf("track %d", at.track), name
	}
	for _, p := range f.set.Pages {
		if p.Name == name {
			return fmt.Sprintf("sheet %d, tr. %d", p.Number, at.track), name
		}
	}
	return "", name
}

// canvasAt draws with the origin of the diagram moved to its place on the sheet.
type canvasAt struct {
	canvas.Canvas
	origin geom.Point
}

func (c canvasAt) pt(p geom.Point) geom.Point { return p.Add(c.origin) }

func (c canvasAt) path(l geom.Polyline) geom.Polyline {
	out := make(geom.Polyline, len(l))
	for i, p := range l {
		out[i] = c.pt(p)
	}
	return out
}

func (c canvasAt) text(at geom.Point, face font.Face, height geom.Length, s string) {
	c.Text(canvas.Text{At: c.pt(at), Face: face, Height: height, String: s, Color: canvas.Ink})
}

// upward writes a line that reads upwards, its baseline beginning at the lower end.
func (c canvasAt) upward(at geom.Point, face font.Face, s string) {
	c.Text(canvas.Text{At: c.pt(at), Face: face, Height: layout.TextHeight, Angle: 90, String: s, Color: canvas.Ink})
}

var (
	symbolLine = canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}
	railLine   = canvas.Stroke{Width: canvas.Width0p7, Color: canvas.Ink}
	barLine    = canvas.Stroke{Width: canvas.Width1p4, Color: canvas.Ink}
	linkLine   = canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}
	screenLine = canvas.Stroke{Width: canvas.Width0p5, Color: canvas.Ink, Dash: []geom.Length{2 * geom.MM, 1 * geom.MM}}
	gridLines  = canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Faint}
)

func drawDiagram(c canvasAt, d *layout.Drawing, find finder) {
	for _, r := range d.Rails {
		drawRail(c, r, find.railPlaces(r))
	}
	for _, e := range d.Edges {
		drawEdge(c, e)
	}
	for _, n := range d.Nodes {
		canvas.InGroup(c, canvas.Group{Kind: n.Kind, Ref: n.Ref, Title: n.Title}, func() { drawNode(c, n, find) })
	}
	drawStrip(c, d)
}

func drawRail(c canvasAt, r *layout.Rail, places string) {
	canvas.InGroup(c, canvas.Group{Kind: "rail", Ref: r.Link.Name.Text, Title: r.Link.Title.Text}, func() {
		c.Line(geom.Polyline{c.pt(geom.Pt(r.Left, r.Y)), c.pt(geom.Pt(r.Right, r.Y))}, railLine)
		c.Text(canvas.Text{At: c.pt(geom.Pt(r.Left-1500, r.Y+1750)), Face: font.Bold, Height: layout.JointHeight, Anchor: canvas.End, String: r.NameText(), Color: canvas.Ink})
		c.Text(canvas.Text{At: c.pt(r.Words), Height: layout.TextHeight, Anchor: canvas.End, String: font.Fit(font.Regular, layout.TextHeight, places, r.Room), Color: canvas.Ink})
	})
}

func drawEdge(c canvasAt, e *layout.Edge) {
	line := c.path(e.Line)
	switch {
	case e.Wire != nil:
		w := e.Wire
		canvas.InGroup(c, canvas.Group{Kind: "wire", Ref: w.Name.Text, Title: w.Net.Text}, func() {
			canvas.WireLine(c, line, w.Color.Base, w.Color.Tracer, wireWidth(w))
			c.upward(e.Label.At, font.Regular, e.Label.Text)
		})
	case e.Stub != nil:
		c.Line(line, symbolLine)
	case e.Screen != nil:
		canvas.InGroup(c, canvas.Group{Kind: "screen", Ref: e.Screen.Name.Text, Title: e.Screen.Title.Text}, func() { c.Line(line, screenLine) })
	default:
		canvas.InGroup(c, canvas.Group{Kind: "link", Ref: e.Link.Name.Text, Title: e.Link.Title.Text}, func() {
			c.Line(line, linkLine)
			if e.Rail != nil {
				c.Circle(line[0], 700*geom.Micrometre, canvas.Stroke{}, canvas.SolidFill(canvas.Ink))
			}
		})
	}
}

// wireWidth draws thicker wire thicker, in three steps, so that a power feed shows from a distance.
func wireWidth(w *model.Wire) geom.Length { return widthOfArea(w.Size.AreaMM2()) }

func widthOfArea(area float64) geom.Length {
	switch {
	case area >= 5:
		return 1000 * geom.Micrometre
	case area >= 1.5:
		return 750 * geom.Micrometre
	}
	return 500 * geom.Micrometre
}

func drawNode(c canvasAt, n *layout.Node, find finder) {
	if n.Partner != "" {
		n.Lines[n.PartnerLine] = find.partner(n)
	}
	if n.Also > 0 {
		find.alsoOn(n)
	}
	switch n.Form {
	case layout.Inline, layout.Loose:
		drawInline(c, n)
	case layout.Box:
		drawBox(c, n)
	case layout.Joint:
		drawJoint(c, n)
	case layout.Ground:
		drawGround(c, n)
	case layout.Mark:
		drawMark(c, n, find)
	}
}

// drawGround draws the symbol below its wire; at the upper end of a strap between two ground points, above it.
func drawGround(c canvasAt, n *layout.Node) {
	if len(n.Top) > 0 {
		symbol.Find("ground").Draw(c, c.pt(n.Top[0].At), 8*geom.MM)
		c.text(geom.Pt(n.Cell.Min.X+layout.SideGap, n.Cell.Min.Y+10*geom.MM), font.Regular, layout.TextHeight, n.Ref)
		return
	}
	foot := n.Bottom[0].At
	symbol.Find("ground above").Draw(c, c.pt(foot.Add(geom.Pt(0, -7*geom.MM))), 7*geom.MM)
	c.text(geom.Pt(n.Cell.Min.X+layout.SideGap, foot.Y-8*geom.MM), font.Regular, layout.TextHeight, n.Ref)
}

// drawInline draws a symbol with the leads to its wires and with its lettering to the right.
func drawInline(c canvasAt, n *layout.Node) {
	name := n.Symbol
	if n.Swapped {
		name += " swapped"
	}
	s := symbol.Find(name)
	if s == nil {
		s = symbol.Find("device")
	}
	s.Draw(c, c.pt(geom.Pt(n.Axis, n.Body.Min.Y)), n.Body.Height())
	if n.Case {
		symbol.Find("case").Draw(c, c.pt(geom.Pt(n.Axis, n.Body.Max.Y)), caseHeight)
	}
	drawLeads(c, n)
	for _, name := range n.Names {
		anchor := canvas.Start
		if name.Left {
			anchor = canvas.End
		}
		c.Text(canvas.Text{At: c.pt(name.At), Height: layout.TextHeight, Anchor: anchor, String: name.Text, Color: canvas.Ink})
	}
	lettering(c, n, geom.Pt(n.Side, n.Body.Min.Y+geom.MM))
}

const caseHeight = 3 * geom.MM

// drawLeads draws what joins the wires to the terminals of a symbol or box.
func drawLeads(c canvasAt, n *layout.Node) {
	for _, lead := range n.Leads {
		c.Line(c.path(lead), linkLine)
	}
	for _, dot := range n.Dots {
		c.Circle(c.pt(dot), 700*geom.Micrometre, canvas.Stroke{}, canvas.SolidFill(canvas.Ink))
	}
}

// lettering writes the designator and the lines below it.
func lettering(c canvasAt, n *layout.Node, at geom.Point) {
	letterLines(c, n, at, at.Y+n.RefHeight(), at.Y+n.RefHeight())
}

func letterLines(c canvasAt, n *layout.Node, at geom.Point, baseline, y geom.Length) {
	c.text(geom.Pt(at.X, baseline), font.Bold, n.RefHeight(), n.RefText())
	if n.Pictured() {
		at.X = n.Body.Min.X + layout.SideGap
	}
	for _, line := range n.Lines {
		y += layout.LinePitch
		c.text(geom.Pt(at.X, y), font.Regular, layout.TextHeight, line)
	}
}

// drawBox draws a device with several terminals: their names inside at the edges, the device's own in the middle, with
// its symbol where it has one.
func drawBox(c canvasAt, n *layout.Node) {
	body := geom.Rect{Min: c.pt(n.Body.Min), Max: c.pt(n.Body.Max)}
	c.Rect(body, symbolLine, canvas.SolidFill(canvas.White))
	drawLeads(c, n)
	for _, p := range n.Top {
		drawPort(c, p, true, n.Body.Min.Y)
	}
	for _, p := range n.Bottom {
		drawPort(c, p, false, n.Body.Max.Y)
	}
	at := geom.Pt(n.Body.Min.X+layout.SideGap, n.Body.Min.Y+n.HeadDepth()+layout.SideGap)
	if !n.Pictured() {
		lettering(c, n, at)
		return
	}
	symbol.Find(n.Symbol).Draw(c, c.pt(geom.Pt(at.X+symbol.Half, at.Y)), layout.PictureHeight-geom.MM)
	letterLines(c, n, at.Add(geom.Pt(layout.PictureWidth, 0)), at.Y+layout.PictureHeight/2+layout.RefHeight/2, at.Y+layout.PictureHeight)
}

// namePitch is from line to line of a terminal's lettering: two lines fit into a column.
const namePitch = 3500 * geom.Micrometre

func drawPort(c canvasAt, p *layout.Port, above bool, edge geom.Length) {
	if !p.First() {
		return
	}
	canvas.InGroup(c, canvas.Group{Kind: "pin", Ref: p.Name}, func() {
		x := p.At.X + layout.TextHeight/2 - 50*geom.Micrometre - geom.Length(len(p.Lines)-1)*namePitch/2
		for i, line := range p.Lines {
			y := edge - layout.SideGap
			if above {
				y = edge + layout.SideGap + font.Width(font.Regular, layout.TextHeight, line)
			}
			c.upward(geom.Pt(x+geom.Length(i)*namePitch, y), font.Regular, line)
		}
	})
}

// drawJoint draws a bar with a dot at every wire.
func drawJoint(c canvasAt, n *layout.Node) {
	y := n.Body.Min.Y
	if n.Body.Width() > 0 {
		c.Line(geom.Polyline{c.pt(n.Body.Min), c.pt(n.Body.Max)}, barLine)
	}
	for _, side := range [][]*layout.Port{n.Top, n.Bottom} {
		for _, p := range side {
			c.Circle(c.pt(geom.Pt(p.At.X, y)), 900*geom.Micrometre, canvas.Stroke{}, canvas.SolidFill(canvas.Ink))
		}
	}
	lettering(c, n, geom.Pt(n.Body.Max.X+2*geom.MM, n.Cell.Min.Y))
}

// drawMark draws an arrow away from the wire and where the wire goes on; of the screen of a cable, only its name.
func drawMark(c canvasAt, n *layout.Node, find finder) {
	x := n.Cell.Min.X + layout.Pitch/2
	lines, page := find.mark(n)
	length := geom.Length(0)
	for i, line := range lines {
		lines[i] = font.Fit(markFace(i), layout.TextHeight, line, layout.MarkLength-geom.MM)
		length = max(length, font.Width(markFace(i), layout.TextHeight, lines[i]))
	}
	base, tip, stem, ports := geom.Length(1200), geom.Length(3500), geom.Length(1200), n.Top
	if len(ports) == 0 {
		base, tip, stem, ports = -3500, -1200, -1200, n.Bottom
	}
	at := ports[0].At
	if n.Other.Screen == nil {
		c.Polygon([]geom.Point{c.pt(at.Add(geom.Pt(-1200, base))), c.pt(at.Add(geom.Pt(1200, base))), c.pt(at.Add(geom.Pt(0, tip)))}, canvas.Stroke{}, canvas.SolidFill(canvas.Ink))
		c.Line(geom.Polyline{c.pt(at), c.pt(at.Add(geom.Pt(0, stem)))}, symbolLine)
	}
	foot := at.Y - layout.MarkArrow
	if len(n.Top) > 0 {
		foot = at.Y + layout.MarkArrow + length
	}
	for i, line := range lines {
		c.upward(geom.Pt(x-900*geom.Micrometre+geom.Length(i)*layout.MarkPitch, foot), markFace(i), line)
	}
	if page != "" {
		c.Link(geom.Rect{Min: c.pt(geom.Pt(n.Cell.Min.X, foot-layout.MarkLength)), Max: c.pt(geom.Pt(n.Cell.Max.X, foot))}, page)
	}
}

// markFace is bold for the first line of a mark, which names the terminal.
func markFace(line int) font.Face {
	if line == 0 {
		return font.Bold
	}
	return font.Regular
}

// mark returns the lines of a mark and the page that it leads to: the terminal or bar, then where it is.
func (f finder) mark(n *layout.Node) (lines []string, page string) {
	t := n.Other
	switch {
	case t.Screen != nil:
		return []string{t.Screen.Name.Text, "cable screen"}, ""
	case t.Others > 0:
		places, page := f.places(f.refs.link[t.Link])
		lines := []string{n.Ref}
		if len(places) > 0 {
			lines = append(lines, layout.MarkLines(len(places), places)...)
		}
		return lines[:min(len(lines), 1+t.Lines)], page
	}
	where, page := f.target(t)
	if t.Drawn {
		return []string{t.Wire.Name.Text + " to " + n.Ref, where}, page
	}
	return []string{n.Ref, where}, page
}

// drawStrip draws the index at the foot: the devices that begin in each track, and the track's number.
func drawStrip(c canvasAt, d *layout.Drawing) {
	foot := d.Strip.Max.Y
	numbers := foot - layout.TrackRow
	canvas.InGroup(c, canvas.Group{Kind: "index"}, func() {
		c.Rect(geom.Rect{Min: c.pt(d.Strip.Min), Max: c.pt(d.Strip.Max)}, gridLines, canvas.Fill{})
		c.Line(geom.Polyline{c.pt(geom.Pt(d.Strip.Min.X, numbers)), c.pt(geom.Pt(d.Strip.Max.X, numbers))}, gridLines)
		for _, t := range d.Tracks {
			if t.Number > 1 {
				c.Line(geom.Polyline{c.pt(geom.Pt(t.Left, d.Strip.Min.Y)), c.pt(geom.Pt(t.Left, foot))}, gridLines)
			}
			c.Text(canvas.Text{At: c.pt(geom.Pt((t.Left+t.Right)/2, foot-1250)), Height: layout.TextHeight, Anchor: canvas.Middle, String: strconv.Itoa(t.Number), Color: canvas.Ink})
			drawTrackRefs(c, t, numbers-geom.MM, numbers-d.Strip.Min.Y-2*geom.MM)
		}
	})
}

// indexPitch is from line to line in a track of the index strip.
const indexPitch = 3500 * geom.Micrometre

// drawTrackRefs writes the devices of a track upwards, each with its location beside or behind it, in as many lines as the track
// is wide; what has no room is counted.
func drawTrackRefs(c canvasAt, t layout.Track, foot, depth geom.Length) {
	const lines = 4
	x, used, line := t.Left+3200*geom.Micrometre, geom.Length(0), 0
	for i, ref := range t.Refs {
		width := t.IndexWidth(i)
		if t.Beside() {
			c.upward(geom.Pt(x, foot), font.Bold, font.Fit(font.Bold, layout.TextHeight, ref, depth))
			c.upward(geom.Pt(x+indexPitch, foot), font.Regular, font.Fit(font.Regular, layout.TextHeight, t.Locations[i], depth))
			x += 2 * indexPitch
			continue
		}
		full := used > 0 && used+width > depth
		if line == lines-1 && used > 0 && (full || i < len(t.Refs)-1) {
			c.upward(geom.Pt(x, foot-used), font.Regular, fmt.Sprintf("+%d", len(t.Refs)-i))
			return
		}
		if full {
			x, used, line = x+indexPitch, 0, line+1
		}
		depth := depth
		if line == lines-1 && i < len(t.Refs)-1 {
			depth -= 7 * geom.MM // room for the count of what follows
		}
		c.upward(geom.Pt(x, foot-used), font.Bold, font.Fit(font.Bold, layout.TextHeight, ref, depth))
		if location := t.Locations[i]; location != "" && width <= depth {
			c.upward(geom.Pt(x, foot-used-width+font.Width(font.Regular, layout.TextHeight, location)), font.Regular, location)
		}
		used += min(width, depth) + 2*geom.MM
	}
}
