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
		pages = append(pages, planTree(s, tree, len(trees), names)...)
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

	before     *model.Place   // nil at the root
	straightOn bool           // the first branch of its place, in the same line
	cut        bool           // its branches are on another sheet
	from       *bundle.Bundle // of the root of a sheet that another one leads to: the path from there
	column     int
	down, y    geom.Length // of its line: below that of the place before it, and on the drawing
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
	stationWidth = 55 * geom.MM // from one column of places to the next
	stationText  = 49 * geom.MM // what the texts of one place may take of it
	aboveLine    = 10 * geom.MM // for two lines about the path
	belowLine    = 2 * geom.MM
	belowStation = 3 * geom.MM
	stationDot   = 1500 * geom.Micrometre
	tailLength   = 8 * geom.MM // of the line to a tail
	tailText     = 43 * geom.MM
	aroundTail   = 3 * geom.MM
)

// A treePlan is a tree with its places.
type treePlan struct {
	set      *Set
	root     *station
	stations []*station // in the order in which they are drawn
	columns  int
	height   geom.Length
}

// An extent is what is taken of a column, by a station and all that hangs on it, above and below its line.
type extent struct {
	top, bottom geom.Length
	used        bool
}

// An outline is what is taken of each column.
type outline []extent

// take adds a piece of a column.
func (o *outline) take(column int, top, bottom geom.Length) {
	for len(*o) <= column {
		*o = append(*o, extent{})
	}
	e := &(*o)[column]
	if !e.used {
		*e = extent{top, bottom, true}
	}
	e.top, e.bottom = min(e.top, top), max(e.bottom, bottom)
}

// below returns how far down another outline has to move to lie below this one in every column.
func (o outline) below(other outline) geom.Length {
	down := geom.Length(0)
	for i := range min(len(o), len(other)) {
		if o[i].used && other[i].used {
			down = max(down, o[i].bottom-other[i].top)
		}
	}
	return down
}

// lay gives each station its column, by its distance from the root, and its distance down from the place before it: the first
// branch goes straight on, tails stand like a list below the words of their place, and every other branch takes the first
// line below what stands in the columns that it needs. So no line meets another: below a place, down to its last branch,
// nothing else stands at the left edge of its column, where that line runs.
func (p *treePlan) lay(st *station, column int) outline {
	st.column = column
	p.stations = append(p.stations, st)
	p.columns = max(p.columns, column+1) // a tail stands in the column of its place, and its words in the space of that
	var taken outline
	pitch := font.LinePitch(font.Height2p5)
	if st.isTail() {
		taken.take(column-1, -pitch, geom.Length(len(p.tailLines(st))-1)*pitch+aroundTail)
		return taken
	}
	if st.by != nil {
		taken.take(column-1, -aboveLine, belowLine)
	}
	taken.take(column, -stationDot, p.headDepth(st)+geom.Length(len(p.linesOf(st)))*pitch+belowStation)
	last := geom.Length(0)
	st.inOrder()
	for i, n := range st.next {
		n.straightOn = i == 0 && !tailsOnly(st)
		branch := p.lay(n, column+1)
		if !n.straightOn {
			n.down = max(last, taken.below(branch))
		}
		last = n.down
		for c, e := range branch {
			if e.used {
				taken.take(c, e.top+n.down, e.bottom+n.down)
			}
		}
	}
	taken.take(column, 0, last+belowLine)
	return taken
}

// inOrder puts the tails behind the first branch, before those that go on.
func (st *station) inOrder() {
	first := min(1, len(st.next))
	slices.SortStableFunc(st.next[first:], func(a, b *station) int {
		return cmp.Compare(len(a.next)+len(a.also), 0) - cmp.Compare(len(b.next)+len(b.also), 0)
	})
}

// tailsOnly reports whether all branches of a place end without going on: they then stand below one another, like a list.
func tailsOnly(st *station) bool {
	return !slices.ContainsFunc(st.next, func(n *station) bool { return len(n.next) > 0 || len(n.also) > 0 || n.cut })
}

// settle gives every station its y, and the plan its height.
func (p *treePlan) settle(taken outline) {
	top, bottom := geom.Length(0), geom.Length(0)
	for _, e := range taken {
		top, bottom = min(top, e.top), max(bottom, e.bottom)
	}
	p.height = bottom - top
	p.root.y = -top
	for _, st := range p.stations { // a place comes before its branches
		for _, n := range st.next {
			n.y = st.y + n.down
		}
	}
}

// isTail reports whether a place is the end of a branch with little to say of it: it takes a line or two beside its dot.
// The first branch of a place goes on in that one's row and has its words above the line, like any other.
func (st *station) isTail() bool {
	return st.by != nil && len(st.next) == 0 && len(st.also) == 0 && !st.straightOn && !st.cut
}

// tailLines are the words beside the dot of a tail.
func (p *treePlan) tailLines(st *station) []string {
	words := append([]string{placeWords(st)}, pathWords(p.set, st.by)...)
	if st.place.Hole.IsSet() {
		words = append(words, fmt.Sprintf("hole %.0f mm", st.place.Hole.Value*1000))
	}
	return font.Wrap(font.Regular, font.Height2p5, strings.Join(words, ", "), tailText)
}

// titleLines breaks the title of a place: its first line stands behind the name, which is large, the others below. The first
// is empty where nothing of it fits there.
func titleLines(place *model.Place) []string {
	if !place.Title.IsSet() {
		return nil
	}
	name := font.Box(font.Bold, font.Height5, font.Fit(font.Bold, font.Height5, place.Name.Text, stationText)).Max.X
	room := stationText - name - 2*geom.MM
	if font.Width(font.Regular, font.Height3p5, place.Title.Text) <= room {
		return []string{place.Title.Text}
	}
	return append([]string{""}, font.Wrap(font.Regular, font.Height3p5, place.Title.Text, stationText)...)
}

// headDepth is from the line of a place to below its name and title.
func (p *treePlan) headDepth(st *station) geom.Length {
	return 2*geom.MM + font.Height5 + geom.Length(max(0, len(titleLines(st.place))-1))*font.LinePitch(font.Height3p5) + 2*geom.MM
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
	if st.cut {
		add(goesOn)
	}
	if st.from != nil {
		add("from " + nameOf(st.before.Name, st.before.Title) + ": " + strings.Join(pathWords(p.set, st.from), ", "))
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

// planTree draws a tree on a sheet, or where it would need more than the usual wall paper, on several: a branch is cut at a place,
// which then stands on both.
func planTree(s *Set, root *station, trees int, names pageNames) []*Page {
	var pages []*Page
	roots := []*station{root}
	for i := 0; i < len(roots); i++ {
		for !s.fitsWall(roots[i]) {
			cut := s.cutPlace(roots[i])
			if cut == nil {
				break
			}
			roots = append(roots, cut)
		}
	}
	for _, part := range roots {
		p := &treePlan{set: s, root: part}
		p.settle(p.lay(part, 0))
		pages = append(pages, p.page(trees == 1 && len(pages) == 0, trees > 1 || len(roots) > 1, names))
	}
	return pages
}

// width is what the columns take.
func (p *treePlan) width() geom.Length { return geom.Length(p.columns) * stationWidth }

// fitsWall reports whether a tree fits on wall paper, whichever way that is held.
func (s *Set) fitsWall(root *station) bool {
	p := &treePlan{set: s, root: root}
	p.settle(p.lay(root, 0))
	paper := s.diagram(p.width()+2*diagramMargin, p.height+2*diagramMargin)
	return !paper.Exceeds(s.table()) || s.Paper.Name != "" && !paper.Exceeds(s.Paper)
}

// cutPlace cuts off the largest branch that fits on wall paper, or failing that the smallest there is, and returns it as a tree of
// its own. Where two halves of a connector meet comes before other places, for there the harness comes apart. Nil where there
// is no branch to cut.
func (s *Set) cutPlace(root *station) *station {
	var best *station
	bestSize, bestFits := 0, false
	var visit func(st *station) int
	visit = func(st *station) int {
		size := 1
		for _, n := range st.next {
			size += visit(n)
		}
		if st == root || size < leastBranch {
			return size
		}
		part := st.asRoot()
		fits, weight := s.fitsWall(part), size
		if slices.ContainsFunc(st.contents, func(line string) bool { return strings.Contains(line, matedWord) }) {
			weight += size / 2
		}
		if best == nil || fits && !bestFits || fits == bestFits && fits == (weight > bestSize) && weight != bestSize {
			best, bestSize, bestFits = st, weight, fits
		}
		return size
	}
	visit(root)
	if best == nil {
		return nil
	}
	part := best.asRoot()
	best.next, best.cut = nil, true
	return part
}

// leastBranch is how many places a branch has at the least that gets a sheet of its own.
const leastBranch = 4

// matedWord begins the words about a connector; a place with one is where a harness may come apart.
const matedWord = "connector "

// asRoot is a copy of the station that begins a sheet.
func (st *station) asRoot() *station {
	return &station{place: st.place, next: st.next, also: st.also, contents: st.contents, before: st.before, from: st.by}
}

func (p *treePlan) page(first, named bool, names pageNames) *Page {
	paper := p.set.diagram(p.width()+2*diagramMargin, p.height+2*diagramMargin)
	place := p.root.place
	page := &Page{Title: "Harness layout", Paper: paper, Caution: branchCaution}
	if named {
		page.Title += " from " + nameOf(place.Name, place.Title)
	}
	if page.Name = "branches"; !first {
		page.Name = names.take("branches", place.Name.Text)
	}
	for _, st := range p.stations {
		page.Shows = append(page.Shows, Shown{"place", st.place.Name.Text})
		if !st.cut {
			page.Shows = append(page.Shows, Shown{"branches of", st.place.Name.Text})
		}
	}
	page.Draw = func(c canvas.Canvas) {
		area := paper.Area()
		p.draw(c, geom.Pt(area.Min.X+(area.Width()-p.width())/2+2*geom.MM, area.Min.Y+diagramMargin))
	}
	return page
}

func (p *treePlan) at(origin geom.Point, st *station) geom.Point {
	x := geom.Length(st.column) * stationWidth
	if st.isTail() {
		x -= stationWidth - tailLength
	}
	return origin.Add(geom.Pt(x, st.y))
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
		text := at.Add(geom.Pt(3*geom.MM, 2*geom.MM+font.Height5))
		name := canvas.Text{At: text, Height: font.Height5, Face: font.Bold, Color: canvas.Ink, String: font.Fit(font.Bold, font.Height5, place.Name.Text, stationText)}
		c.Text(name)
		for i, line := range titleLines(place) {
			at := geom.Pt(name.Bounds().Max.X+2*geom.MM, text.Y)
			if i > 0 {
				at = text.Add(geom.Pt(0, geom.Length(i)*font.LinePitch(font.Height3p5)))
			}
			c.Text(canvas.Text{At: at, Height: font.Height3p5, Color: canvas.Ink, String: line})
		}
		text.Y = at.Y + p.headDepth(st) - font.LinePitch(font.Height2p5) + font.Height2p5
		for i, line := range p.linesOf(st) {
			if line == goesOn {
				p.drawGoesOn(c, text.Add(geom.Pt(0, geom.Length(i+1)*font.LinePitch(font.Height2p5))), place)
				continue
			}
			c.Text(canvas.Text{At: text.Add(geom.Pt(0, geom.Length(i+1)*font.LinePitch(font.Height2p5))), Height: font.Height2p5, Color: canvas.Ink, String: line})
		}
	})
}

// goesOn stands in the lines of a place whose branches are on another sheet.
const goesOn = "goes on: sheet"

// drawGoesOn letters on which sheet the branches of a place are, as a link.
func (p *treePlan) drawGoesOn(c canvas.Canvas, at geom.Point, place *model.Place) {
	page := p.set.PageOf("branches of", place.Name.Text)
	if page == nil {
		return
	}
	text := canvas.Text{At: at, Face: font.Bold, Height: font.Height2p5, Color: canvas.Ink, String: fmt.Sprintf("%s %d", goesOn, page.Number)}
	c.Text(text)
	c.Link(text.Bounds(), page.Name)
}
