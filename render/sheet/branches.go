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
		if o.Splice != nil && laidAlong(o.Splice) {
			continue // it stands at its path
		}
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

// laidAlong reports whether a splice lies at a stated distance along a path.
func laidAlong(sp *model.Splice) bool {
	_, ok := sp.Lies()
	return ok && sp.Along != nil
}

// splicesAlong are the splices that lie along a path, in the order of the file.
func splicesAlong(s *Set, path *model.Path) []*model.Splice {
	return slices.DeleteFunc(slices.Clone(s.Netlist.Splices), func(sp *model.Splice) bool { return !laidAlong(sp) || sp.Along != path })
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
	aboveLine    = 6 * geom.MM  // for the name of the path; each line of words about it takes a pitch more
	belowLine    = 2 * geom.MM
	belowStation = 3 * geom.MM
	stationDot   = 1500 * geom.Micrometre
	tailLength   = 8 * geom.MM // of the line to a tail
	tailText     = 43 * geom.MM
	aroundTail   = 3 * geom.MM
	partGap      = 6 * geom.MM // between two parts of a harness on one sheet
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
		taken.take(column-1, -font.Height5/2-geom.MM, font.Height5/2+geom.Length(len(p.tailLines(st)))*pitch+aroundTail)
		return taken
	}
	if st.by != nil {
		taken.take(column-1, -aboveLine-geom.Length(len(p.pathLines(st.by)))*pitch, belowLine)
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

// tailLines are the words below the name of a tail.
func (p *treePlan) tailLines(st *station) []string {
	words := slices.Concat([]string{placeWords(st)}, pathWords(p.set, st.by), spliceWords(p.set, st.by.Path))
	if st.place.Hole.IsSet() {
		words = append(words, fmt.Sprintf("hole %.0f mm", st.place.Hole.Value*1000))
	}
	words = slices.DeleteFunc(words, func(w string) bool { return w == "" })
	return font.Wrap(font.Regular, font.Height2p5, strings.Join(words, ", "), tailText)
}

// pathLines are the words above the line of a path, below its name.
func (p *treePlan) pathLines(b *bundle.Bundle) []string {
	return font.Wrap(font.Regular, font.Height2p5, strings.Join(append(pathWords(p.set, b), spliceWords(p.set, b.Path)...), ", "), stationText)
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

// placeWords are the title of a place, whose name stands above, and what sits there; of a device that the place is named after
// only what it is.
func placeWords(st *station) string {
	words := slices.Clone(st.contents)
	for i, w := range words {
		if w == st.place.Name.Text {
			words[i] = ""
		} else if rest, ok := strings.CutPrefix(w, st.place.Name.Text+" "); ok && !strings.HasPrefix(rest, "(") {
			words[i] = rest
		}
	}
	words = slices.DeleteFunc(append([]string{st.place.Title.Text}, words...), func(w string) bool { return w == "" })
	return strings.Join(slices.Compact(words), ", ")
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

// spliceWords say which splices lie along a path, and how far from which of its ends.
func spliceWords(s *Set, path *model.Path) []string {
	var words []string
	for _, end := range []*model.Place{path.From, path.To} {
		head := "splices from " + end.Name.Text + ": "
		for _, sp := range splicesAlong(s, path) {
			if metres, _ := sp.Lies(); sp.Place == end {
				words = append(words, fmt.Sprintf("%s%s %.2f m (%d legs)", head, sp.Name.Text, metres, len(legsOf(s, sp.Owner))))
				head = ""
			}
		}
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
	var plans []*treePlan
	for _, part := range inTreeOrder(roots) {
		p := &treePlan{set: s, root: part}
		p.settle(p.lay(part, 0))
		plans = append(plans, p)
	}
	for _, group := range s.together(plans) {
		pages = append(pages, group.page(trees == 1 && len(pages) == 0, trees > 1 || len(plans) > len(group.plans), names))
	}
	return pages
}

// inTreeOrder puts each part of a tree behind the one that it was cut from.
func inTreeOrder(roots []*station) []*station {
	var out []*station
	var visit func(st *station)
	visit = func(st *station) {
		if st.cut {
			if i := slices.IndexFunc(roots, func(r *station) bool { return r.place == st.place }); i >= 0 {
				out = append(out, roots[i])
			}
		}
		for _, n := range st.next {
			visit(n)
		}
	}
	out = append(out, roots[0])
	for i := 0; i < len(out); i++ {
		visit(out[i])
	}
	return out
}

// A treeSheet is the trees that share a sheet, each with its place.
type treeSheet struct {
	set   *Set
	plans []*treePlan
	boxes []geom.Rect
	size  geom.Point
}

// together lets trees share sheets of wall paper, in their order: each goes on the first sheet that has room for it, where it needs
// least more of it.
func (s *Set) together(plans []*treePlan) []*treeSheet {
	var sheets []*treeSheet
	for _, p := range plans {
		if !slices.ContainsFunc(sheets, func(t *treeSheet) bool { return t.take(p) }) {
			sheets = append(sheets, &treeSheet{set: s, plans: []*treePlan{p}, boxes: []geom.Rect{{Max: p.size()}}, size: p.size()})
		}
	}
	return sheets
}

// take finds a place for a tree below or beside those on the sheet, and reports whether there is one.
func (t *treeSheet) take(p *treePlan) bool {
	places := []geom.Point{geom.Pt(0, t.size.Y+partGap), geom.Pt(t.size.X+partGap, 0)}
	for _, b := range t.boxes {
		places = append(places, geom.Pt(b.Min.X, b.Max.Y+partGap), geom.Pt(b.Max.X+partGap, b.Min.Y))
	}
	best, bestArea, bestSize := geom.Rect{}, 0.0, geom.Point{}
	for _, at := range places {
		box := geom.Rect{Min: at, Max: at.Add(p.size())}
		if slices.ContainsFunc(t.boxes, func(b geom.Rect) bool { return b.Inset(-partGap / 2).Overlaps(box.Inset(-partGap / 2)) }) {
			continue
		}
		size := geom.Pt(max(t.size.X, box.Max.X), max(t.size.Y, box.Max.Y))
		if area := size.X.Mm() * size.Y.Mm(); t.set.onWall(size) && (bestArea == 0 || area < bestArea) {
			best, bestArea, bestSize = box, area, size
		}
	}
	if bestArea == 0 {
		return false
	}
	t.plans, t.boxes, t.size = append(t.plans, p), append(t.boxes, best), bestSize
	return true
}

// width is what the columns take.
func (p *treePlan) width() geom.Length { return geom.Length(p.columns) * stationWidth }

func (p *treePlan) size() geom.Point { return geom.Pt(p.width(), p.height) }

// fitsWall reports whether a tree fits on wall paper, whichever way that is held.
func (s *Set) fitsWall(root *station) bool {
	p := &treePlan{set: s, root: root}
	p.settle(p.lay(root, 0))
	return s.onWall(p.size())
}

// onWall reports whether a drawing of a size fits on wall paper, whichever way that is held.
func (s *Set) onWall(size geom.Point) bool {
	paper := s.diagram(size.X+2*diagramMargin, size.Y+2*diagramMargin)
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

func (t *treeSheet) page(first, named bool, names pageNames) *Page {
	paper := t.set.diagram(t.size.X+2*diagramMargin, t.size.Y+2*diagramMargin)
	page := &Page{Title: "Harness layout", Paper: paper, Caution: branchCaution}
	var from []string
	for _, p := range t.plans {
		from = append(from, p.root.place.Name.Text)
		for _, st := range p.stations {
			page.Shows = append(page.Shows, Shown{"place", st.place.Name.Text})
			if !st.cut {
				page.Shows = append(page.Shows, Shown{"branches of", st.place.Name.Text})
			}
		}
	}
	if named {
		page.Title += " from " + strings.Join(from, ", ")
	}
	if page.Name = "branches"; !first {
		page.Name = names.take("branches", from[0])
	}
	page.Draw = func(c canvas.Canvas) {
		area := paper.Area()
		origin := geom.Pt(area.Min.X+(area.Width()-t.size.X)/2+2*geom.MM, area.Min.Y+diagramMargin)
		for i, p := range t.plans {
			p.draw(c, origin.Add(t.boxes[i].Min))
		}
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
		p.drawSplices(c, geom.Pt(from.X, to.Y), to, path)
		if tail {
			return // its words stand beside the dot
		}
		lines := p.pathLines(b)
		at := geom.Pt(from.X+3*geom.MM, to.Y-2*geom.MM)
		first := nameOf(path.Name, path.Title)
		c.Text(canvas.Text{At: geom.Pt(at.X, at.Y-geom.Length(len(lines))*font.LinePitch(font.Height2p5)), Height: font.Height2p5, Face: font.Bold, Color: canvas.Ink,
			String: font.Fit(font.Bold, font.Height2p5, first, stationText)})
		for i, line := range lines {
			at := geom.Pt(at.X, at.Y-geom.Length(len(lines)-1-i)*font.LinePitch(font.Height2p5))
			c.Text(canvas.Text{At: at, Height: font.Height2p5, Color: canvas.Ink, String: line})
		}
	})
}

// drawSplices draws a dot on the level part of a path for each splice that lies along it, as far from its end as the splice is of
// the length of the path. Where the length is not stated they stand in the words alone.
func (p *treePlan) drawSplices(c canvas.Canvas, from, to geom.Point, path *model.Path) {
	for _, sp := range splicesAlong(p.set, path) {
		metres, _ := sp.Lies()
		if !path.Length.IsSet() || path.Length.Value <= 0 {
			continue
		}
		share := min(1, metres/path.Length.Value)
		if p.comesFrom(path) != sp.Place {
			share = 1 - share
		}
		const margin = 3 * geom.MM // beside the dots of the places
		x := from.X + margin + geom.Length(share*float64(to.X-from.X-2*margin))
		canvas.InGroup(c, canvas.Group{Kind: "splice", Ref: sp.Name.Text, Title: sp.Title.Text}, func() {
			c.Circle(geom.Pt(x, to.Y), 1100*geom.Micrometre, canvas.Stroke{}, canvas.SolidFill(canvas.Ink))
		})
	}
}

// comesFrom is the place at the left end of a path.
func (p *treePlan) comesFrom(path *model.Path) *model.Place {
	for _, st := range p.stations {
		if st.by != nil && st.by.Path == path {
			return st.before
		}
	}
	return nil
}

func (p *treePlan) drawStation(c canvas.Canvas, at geom.Point, st *station) {
	place := st.place
	canvas.InGroup(c, canvas.Group{Kind: "place", Ref: place.Name.Text, Title: nameOf(place.Name, place.Title)}, func() {
		c.Anchor("place "+place.Name.Text, at)
		c.Circle(at, stationDot, canvas.Stroke{Width: canvas.Width0p5, Color: canvas.Ink}, canvas.SolidFill(canvas.White))
		if st.isTail() {
			name := at.Add(geom.Pt(3*geom.MM, font.Height5/2))
			c.Text(canvas.Text{At: name, Height: font.Height5, Face: font.Bold, Color: canvas.Ink, String: font.Fit(font.Bold, font.Height5, place.Name.Text, tailText)})
			for i, line := range p.tailLines(st) {
				c.Text(canvas.Text{At: name.Add(geom.Pt(0, geom.Length(i+1)*font.LinePitch(font.Height2p5))), Height: font.Height2p5, Color: canvas.Ink, String: line})
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
