package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/bundle"
	"ferrule/netlist/model"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

var _ = register(&Maker{
	Name: "branches", Title: "Harness layout", Order: 150,
	Doc: "Trunk and branches of the harness from its places and paths, not to scale: the length of every path, how many wires lie " +
		"along it and how thick they are together, its cover, and what sits at each place.",
	Plan: planBranches,
})

const branchCaution = "Not to scale. Lengths are those of the paths: no slack, no allowance for terminals, hinges or an engine that rocks. " +
	"Diameters are for bare bundles by the rule of practice; measure before you cut. Battery off before anything is moved."

// planBranches draws every group of places that paths join on a sheet of its own. A harness without paths has none.
func planBranches(s *Set) []*Page {
	trees := treesOf(s)
	names := pageNames{}
	var pages []*Page
	for _, tree := range trees {
		pages = append(pages, planTree(s, tree, len(trees), names))
	}
	return pages
}

// A station is a place in a tree of places: the way to it, what sits there, and where the harness goes on.
type station struct {
	place    *model.Place
	by       *bundle.Bundle // the path that leads here; nil at the root
	next     []*station     // the thickest first
	also     []*bundle.Bundle
	contents []string

	before      *model.Place // nil at the root
	straightOn  bool         // the first branch of its place, in the same row
	row, column int
}

// treesOf finds the trees, each from the place where most wire ends are, in the order of the file. A path that closes a ring
// is not drawn as a line, which would have to cross others; it stands at both of its ends in words.
func treesOf(s *Set) []*station {
	bundles := bundle.Of(s.Netlist, s.Routes)
	at := map[*model.Place][]*bundle.Bundle{}
	for i := range bundles {
		if p := bundles[i].Path; p.From != nil && p.To != nil && p.From != p.To {
			at[p.From] = append(at[p.From], &bundles[i])
			at[p.To] = append(at[p.To], &bundles[i])
		}
	}
	ends := wireEndsAt(s)
	order := slices.Clone(s.Netlist.Places)
	slices.SortStableFunc(order, func(a, b *model.Place) int { return cmp.Compare(ends[b], ends[a]) })
	g := &grower{set: s, at: at, seen: map[*model.Place]bool{}, used: map[*bundle.Bundle]bool{}, contents: contentsOf(s)}
	var trees []*station
	for _, p := range order {
		if !g.seen[p] && len(at[p]) > 0 {
			trees = append(trees, g.grow(p, nil))
		}
	}
	return trees
}

func wireEndsAt(s *Set) map[*model.Place]int {
	ends := map[*model.Place]int{}
	for _, w := range s.Netlist.Wires {
		for _, r := range []model.PinRef{w.From, w.To} {
			if p := s.Routes.PlaceOf(r.ID); p != nil {
				ends[p]++
			}
		}
	}
	return ends
}

type grower struct {
	set      *Set
	at       map[*model.Place][]*bundle.Bundle
	seen     map[*model.Place]bool
	used     map[*bundle.Bundle]bool
	contents map[*model.Place][]string
}

// grow makes the station of a place and of all that is reached from it. The thickest bundle goes straight on.
func (g *grower) grow(p *model.Place, by *bundle.Bundle) *station {
	g.seen[p] = true
	st := &station{place: p, by: by, contents: g.contents[p]}
	paths := slices.Clone(g.at[p])
	slices.SortStableFunc(paths, func(a, b *bundle.Bundle) int { return cmp.Compare(len(b.Wires), len(a.Wires)) })
	for _, b := range paths {
		to := b.Path.From
		if to == p {
			to = b.Path.To
		}
		switch {
		case b == by:
		case g.seen[to]:
			if !g.used[b] {
				st.also = append(st.also, b)
			}
		default:
			g.used[b] = true
			next := g.grow(to, b)
			next.before = p
			st.next = append(st.next, next)
		}
	}
	return st
}

// contentsOf lists what sits at each place, a line for each sort, by designator; what sits in a panel goes with it. A place
// with a single device says what that is.
func contentsOf(s *Set) map[*model.Place][]string {
	sorts := map[*model.Place][4][]*model.Owner{}
	owners := slices.Clone(s.Netlist.Owners)
	slices.SortStableFunc(owners, func(a, b *model.Owner) int { return CompareNatural(a.Name.Text, b.Name.Text) })
	for _, o := range owners {
		if place := o.Place(); place != nil && (o.Part == nil || o.Part.Panel == nil) {
			all := sorts[place]
			all[sortRank(o)] = append(all[sortRank(o)], o)
			sorts[place] = all
		}
	}
	contents := map[*model.Place][]string{}
	for place, all := range sorts {
		for rank, owners := range all {
			if len(owners) > 0 {
				contents[place] = append(contents[place], sortWords(s, rank, owners))
			}
		}
	}
	return contents
}

// The sorts of what sits at a place, in the order of their lines.
const (
	panelRank = iota
	plugRank
	spliceRank
	deviceRank
)

func sortRank(o *model.Owner) int {
	switch o.Sort {
	case model.PanelOwner:
		return panelRank
	case model.ConnectorOwner:
		return plugRank
	case model.SpliceOwner:
		return spliceRank
	}
	return deviceRank
}

func sortWords(s *Set, rank int, owners []*model.Owner) string {
	words := make([]string, len(owners))
	for i, o := range owners {
		words[i] = o.Name.Text
		switch {
		case rank == panelRank:
			words[i] += fmt.Sprintf(" (%d parts in it)", partsIn(s, o.Panel))
		case rank == plugRank && o.Connector.Latch.IsSet() && o.Connector.View.IsSet():
			words[i] += " (latch " + o.Connector.Latch.Text + " from the " + o.Connector.View.Text + ")"
		case rank == spliceRank:
			words[i] += fmt.Sprintf(" (%d legs)", len(legsOf(s, o)))
		case rank == deviceRank && len(owners) == 1 && o.Title() != "":
			words[i] += " " + o.Title()
		}
	}
	heads := [...]string{"panel ", "connector ", "splice ", ""}
	return heads[rank] + strings.Join(words, ", ")
}

func partsIn(s *Set, panel *model.Panel) int {
	count := 0
	for _, p := range s.Netlist.Parts {
		if p.Panel == panel {
			count++
		}
	}
	return count
}

func legsOf(s *Set, o *model.Owner) []*model.Wire {
	var wires []*model.Wire
	for _, id := range o.Pins {
		wires = append(wires, s.Graph.WiresAt(id)...)
	}
	return wires
}

// Measures of the drawing.
const (
	stationWidth = 62 * geom.MM // from one column of places to the next
	stationText  = 56 * geom.MM // what the texts of one place may take of it
	aboveLine    = 10 * geom.MM // for two lines about the path
	belowStation = 5 * geom.MM
	stationDot   = 1500 * geom.Micrometre
	tailLength   = 10 * geom.MM // of the line to a tail
	tailText     = 48 * geom.MM
	aroundTail   = 3 * geom.MM
)

// A treePlan is a tree with its rows and columns.
type treePlan struct {
	set      *Set
	root     *station
	stations []*station // in the order in which they are drawn
	rowAt    []geom.Length
	columns  int
	height   geom.Length
}

// lay gives each station its column, by its distance from the root, and its row: the first branch goes on in the row of its
// place, the others take rows below all that hangs on the branches before them. So no line meets another: below a place,
// up to the row of its last branch, nothing stands in its column or to the left of it.
func (p *treePlan) lay(st *station, column int, row int) (nextRow int) {
	st.row, st.column = row, column
	p.stations = append(p.stations, st)
	p.columns = max(p.columns, column+1) // a tail stands in the column of its place, and its words in the space of that
	nextRow = row + 1
	for i, n := range st.next {
		if i == 0 && !tailsOnly(st) {
			n.straightOn = true
			nextRow = max(nextRow, p.lay(n, column+1, row))
		} else {
			nextRow = p.lay(n, column+1, nextRow)
		}
	}
	return nextRow
}

// tailsOnly reports whether all branches of a place end without going on: they then stand below one another, like a list.
func tailsOnly(st *station) bool {
	return !slices.ContainsFunc(st.next, func(n *station) bool { return len(n.next) > 0 || len(n.also) > 0 })
}

// measure gives every row its place: the line with the words about the path above it and those about the places below.
func (p *treePlan) measure(rows int) {
	above, below := make([]geom.Length, rows), make([]geom.Length, rows)
	pitch := font.LinePitch(font.Height2p5)
	for _, st := range p.stations {
		if st.isTail() {
			above[st.row] = max(above[st.row], pitch)
			below[st.row] = max(below[st.row], geom.Length(len(p.tailLines(st))-1)*pitch+aroundTail)
			continue
		}
		above[st.row] = max(above[st.row], aboveLine)
		below[st.row] = max(below[st.row], geom.Length(len(p.linesOf(st)))*pitch+font.LinePitch(font.Height3p5)+belowStation)
	}
	y := geom.Length(0)
	for row := range rows {
		y += above[row]
		p.rowAt = append(p.rowAt, y)
		y += below[row]
	}
	p.height = y
}

// isTail reports whether a place is the end of a branch with little to say of it: it takes a line or two beside its dot.
// The first branch of a place goes on in that one's row and has its words above the line, like any other.
func (st *station) isTail() bool {
	return st.by != nil && len(st.next) == 0 && len(st.also) == 0 && !st.straightOn
}

// tailLines are the words beside the dot of a tail.
func (p *treePlan) tailLines(st *station) []string {
	words := append([]string{placeWords(st)}, pathWords(p.set, st.by)...)
	if st.place.Hole.IsSet() {
		words = append(words, fmt.Sprintf("hole %.0f mm", st.place.Hole.Value*1000))
	}
	return font.Wrap(font.Regular, font.Height2p5, strings.Join(words, ", "), tailText)
}

// placeWords names a place with what sits there; a place that is named after its one device is that device.
func placeWords(st *station) string {
	name := nameOf(st.place.Name, st.place.Title)
	rest := strings.Join(st.contents, ", ")
	if !st.place.Title.IsSet() && strings.HasPrefix(rest, name+" ") || rest == "" {
		return cmp.Or(rest, name)
	}
	return name + ": " + rest
}

// linesOf are the lines below the name of a place.
func (p *treePlan) linesOf(st *station) []string {
	var lines []string
	add := func(text string) {
		lines = append(lines, font.Wrap(font.Regular, font.Height2p5, text, stationText)...)
	}
	if z := st.place.Zone; z != nil && (st.before == nil || st.before.Zone != z) {
		words := cmp.Or(z.Title.Text, z.Name.Text)
		if z.Ambient.IsSet() {
			words += fmt.Sprintf(", %.0f °C", z.Ambient.Value)
		}
		if z.Wet.On {
			words += ", wet"
		}
		add(words)
	}
	if st.place.Hole.IsSet() {
		add(fmt.Sprintf("hole %.0f mm", st.place.Hole.Value*1000))
	}
	for _, c := range st.contents {
		add(c)
	}
	for _, b := range st.also {
		to := b.Path.To
		if to == st.place {
			to = b.Path.From
		}
		add("also to " + nameOf(to.Name, to.Title) + ": " + strings.Join(pathWords(p.set, b), ", "))
	}
	return lines
}

// nameOf is how a place or a path is called on the sheet.
func nameOf(name, title model.Name) string {
	if title.IsSet() {
		return title.Text + " (" + name.Text + ")"
	}
	return name.Text
}

// pathWords says of a path how long it is, and what lies along it.
func pathWords(s *Set, b *bundle.Bundle) []string {
	length := "length not stated"
	if b.Path.Length.IsSet() {
		length = fmt.Sprintf("%.2f m", b.Path.Length.Value)
		if b.Path.KnownFrom.Text == "guess" {
			length += " ~"
		}
	}
	words := []string{length}
	switch n := len(b.Wires); {
	case n == 0:
		words = append(words, "no wires")
	case b.Unsized > 0:
		words = append(words, fmt.Sprintf("%d wires, %d of them without size", n, b.Unsized))
	case n == 1:
		words = append(words, fmt.Sprintf("1 wire, Ø%.1f mm", b.DiameterMM))
	default:
		words = append(words, fmt.Sprintf("%d wires, Ø%.0f mm", n, b.DiameterMM))
	}
	if b.Path.Cover.IsSet() {
		words = append(words, b.Path.Cover.Text)
	}
	if b.Path.Flex.On {
		words = append(words, "bends in use")
	}
	return words
}

func planTree(s *Set, root *station, trees int, names pageNames) *Page {
	p := &treePlan{set: s, root: root}
	rows := p.lay(root, 0, 0)
	p.measure(rows)
	width := geom.Length(p.columns)*stationWidth + 2*diagramMargin
	paper := s.diagram(width, p.height+2*diagramMargin)
	title := "Harness layout"
	if trees > 1 {
		title += " from " + nameOf(root.place.Name, root.place.Title)
	}
	page := &Page{Name: names.take("branches", root.place.Name.Text), Title: title, Paper: paper, Caution: branchCaution}
	if trees == 1 {
		page.Name = "branches"
	}
	for _, st := range p.stations {
		page.Shows = append(page.Shows, Shown{"place", st.place.Name.Text})
	}
	page.Draw = func(c canvas.Canvas) {
		area := paper.Area()
		p.draw(c, geom.Pt(area.Min.X+(area.Width()-geom.Length(p.columns)*stationWidth)/2+2*geom.MM, area.Min.Y+diagramMargin))
	}
	return page
}

func (p *treePlan) at(origin geom.Point, st *station) geom.Point {
	x := geom.Length(st.column) * stationWidth
	if st.isTail() {
		x -= stationWidth - tailLength
	}
	return origin.Add(geom.Pt(x, p.rowAt[st.row]))
}

func (p *treePlan) draw(c canvas.Canvas, origin geom.Point) {
	for _, st := range p.stations {
		for _, n := range st.next {
			p.drawPath(c, p.at(origin, st), p.at(origin, n), n.by, n.isTail())
		}
	}
	for _, st := range p.stations {
		p.drawStation(c, p.at(origin, st), st)
	}
}

// drawPath draws the way from one place down and across to the next, thicker with the bundle, in three steps.
func (p *treePlan) drawPath(c canvas.Canvas, from, to geom.Point, b *bundle.Bundle, tail bool) {
	path := b.Path
	canvas.InGroup(c, canvas.Group{Kind: "path", Ref: path.Name.Text, Title: nameOf(path.Name, path.Title)}, func() {
		width := canvas.Width0p5
		switch {
		case b.DiameterMM > 15:
			width = canvas.Width1p4
		case b.DiameterMM > 6:
			width = canvas.Width1
		}
		line := geom.Polyline{from, to}
		if from.Y != to.Y {
			line = geom.Polyline{from, geom.Pt(from.X, to.Y), to}
		}
		c.Line(line, canvas.Stroke{Width: width, Color: canvas.Ink})
		if tail {
			return // its words stand beside the dot
		}
		words := pathWords(p.set, b)
		at := geom.Pt(from.X+3*geom.MM, to.Y-2*geom.MM)
		first := nameOf(path.Name, path.Title)
		c.Text(canvas.Text{At: geom.Pt(at.X, at.Y-font.LinePitch(font.Height2p5)), Height: font.Height2p5, Face: font.Bold, Color: canvas.Ink,
			String: font.Fit(font.Bold, font.Height2p5, first, stationText)})
		c.Text(canvas.Text{At: at, Height: font.Height2p5, Color: canvas.Ink, String: font.Fit(font.Regular, font.Height2p5, strings.Join(words, ", "), stationText)})
	})
}

func (p *treePlan) drawStation(c canvas.Canvas, at geom.Point, st *station) {
	place := st.place
	canvas.InGroup(c, canvas.Group{Kind: "place", Ref: place.Name.Text, Title: nameOf(place.Name, place.Title)}, func() {
		c.Anchor("place "+place.Name.Text, at)
		c.Circle(at, stationDot, canvas.Stroke{Width: canvas.Width0p5, Color: canvas.Ink}, canvas.SolidFill(canvas.White))
		if st.isTail() {
			for i, line := range p.tailLines(st) {
				c.Text(canvas.Text{At: at.Add(geom.Pt(3*geom.MM, font.Height2p5/2+geom.Length(i)*font.LinePitch(font.Height2p5))), Height: font.Height2p5, Color: canvas.Ink, String: line})
			}
			return
		}
		text := at.Add(geom.Pt(3*geom.MM, font.LinePitch(font.Height3p5)))
		c.Text(canvas.Text{At: text, Height: font.Height3p5, Face: font.Bold, Color: canvas.Ink,
			String: font.Fit(font.Bold, font.Height3p5, nameOf(place.Name, place.Title), stationText)})
		for i, line := range p.linesOf(st) {
			c.Text(canvas.Text{At: text.Add(geom.Pt(0, geom.Length(i+1)*font.LinePitch(font.Height2p5))), Height: font.Height2p5, Color: canvas.Ink, String: line})
		}
	})
}
