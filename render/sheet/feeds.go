package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

var _ = register(&Maker{
	Name: "feeds", Title: "Power tree", Order: 50,
	Doc: "What feeds what, from the source down: bars, fuses with rating, wire and share of the rating, what switches, and every consumer, " +
		"with the sum of the currents at each step while the engine runs and while it is cranked.",
	Plan: planFeeds,
})

const feedCaution = "Computed, not measured. Never up-rate a fuse: the wire behind it burns first. Every conductor is fused at its source end. Battery off, " +
	"grounded pole first, before anything is opened; a short near a battery is hundreds of amperes."

// A feedNode is one thing of the tree: a source, what lies on the way, or a consumer.
type feedNode struct {
	step     wayStep
	name     string
	title    string
	element  *feedElement // of a consumer or a coil
	again    bool         // the consumer stands elsewhere already; here is another of its ways
	parent   *feedNode
	children []*feedNode
	also     []string  // sources that feed it besides what stands above
	amps     []float64 // by chosen state: the sum of what is below
}

// A feedElement takes current: a consumer, or the coil of a relay.
type feedElement struct {
	name, title string
	branch      int
	consumer    *Consumer // nil of a coil
	guessed     bool
}

// A feedTree is the content of the sheet.
type feedTree struct {
	set    *Set
	solved *Solved
	states []int                      // that amperes are told for, at most two
	posts  map[*graph.Net]*model.Part // nets of the live poles of batteries
	roots  []*feedNode
	index  map[feedKey]*feedNode // the first node of every bar and fuse
	placed map[*feedElement]bool
	rest   []feedRest
}

// A feedRest is a consumer that no solved way leads to, with the reason.
type feedRest struct{ element, why string }

func planFeeds(s *Set) []*Page {
	t := newFeedTree(s)
	if len(t.roots) == 0 && len(t.rest) == 0 {
		return nil
	}
	return t.pages()
}

func newFeedTree(s *Set) *feedTree {
	v := s.Solved()
	t := &feedTree{set: s, solved: v, states: v.tellingStates(), placed: map[*feedElement]bool{}, posts: v.posts(), index: map[feedKey]*feedNode{}}
	elements := v.feedElements()
	// Ways while nothing charges come first, so that the tree hangs on the battery and not on the generator.
	var order []int
	for _, charging := range []bool{false, true} {
		for i, cond := range v.Conditions {
			if (cond.State != nil && circuit.Charges(cond.State)) == charging {
				order = append(order, i)
			}
		}
	}
	for _, state := range order {
		for i := range elements {
			t.insert(state, &elements[i])
		}
	}
	for _, r := range t.roots {
		r.sort()
	}
	t.findRest(elements)
	return t
}

// tellingStates are the state with the engine running and the one with it cranked in which most consumers work; without
// such states, that in which most work.
func (v *Solved) tellingStates() []int {
	best := func(wanted func(*model.State) bool) int {
		at := -1
		for i, cond := range v.Conditions {
			if wanted(cond.State) && (at < 0 || len(v.Reports[i].Loads) > len(v.Reports[at].Loads)) {
				at = i
			}
		}
		return at
	}
	running := best(func(s *model.State) bool { return s != nil && circuit.Charges(s) && s.Engine.Text != "cranking" })
	cranking := best(func(s *model.State) bool { return s != nil && s.Engine.Text == "cranking" })
	if running < 0 {
		running = best(func(s *model.State) bool { return s == nil || s.Engine.Text != "cranking" })
	}
	var states []int
	for _, i := range []int{running, cranking} {
		if i >= 0 {
			states = append(states, i)
		}
	}
	return states
}

func (v *Solved) feedElements() []feedElement {
	assumed := map[*model.Part]bool{}
	for _, a := range v.Circuit.Assumptions {
		assumed[a.Part] = true
	}
	guessed := func(p *model.Part) bool { return assumed[p] || p.KnownFrom.Text == "guess" }
	var out []feedElement
	for i := range v.Consumers {
		c := &v.Consumers[i]
		out = append(out, feedElement{name: c.Ref, title: c.Title, branch: c.Branch, consumer: c, guessed: guessed(c.Part)})
	}
	for i := range v.Circuit.Branches {
		if b := &v.Circuit.Branches[i]; b.IsCoil() {
			out = append(out, feedElement{name: b.Part.Name.Text, title: "coil", branch: i, guessed: guessed(b.Part)})
		}
	}
	return out
}

// leastFeedAmps is from where something counts as taking current.
const leastFeedAmps = 1e-3

// A feedKey tells bars and fuses apart.
type feedKey struct {
	part *model.Part
	link *model.Link
}

// insert adds the way of an element in a state to the tree, and its current in the states that are told. What comes only
// through other consumers is no feed, and is left out.
func (t *feedTree) insert(state int, e *feedElement) {
	if e.branch < 0 {
		return
	}
	sol := t.solved.Reports[state].Solution
	amps := math.Abs(sol.Amps[e.branch])
	drop, ok := sol.DropOf(e.branch)
	if !ok || amps < leastFeedAmps || math.Abs(sol.BranchVolts(e.branch)) < t.solved.onVolts() {
		return
	}
	root, sources, steps := t.way(sol, e.branch, &drop)
	if root == nil || t.passesConsumer(steps) {
		return
	}
	node := t.attach(root, sources, steps)
	i := slices.IndexFunc(node.children, func(n *feedNode) bool { return n.element == e })
	if i < 0 {
		i = len(node.children)
		node.children = append(node.children, &feedNode{
			name: e.name, title: e.title, element: e, parent: node, amps: make([]float64, len(t.states)),
		})
		t.placed[e] = true
	}
	if column := slices.Index(t.states, state); column >= 0 {
		for n := node.children[i]; n != nil; n = n.parent {
			n.amps[column] += amps
		}
	}
}

func (t *feedTree) passesConsumer(steps []wayStep) bool {
	return slices.ContainsFunc(steps, func(w wayStep) bool {
		b := &t.solved.Circuit.Branches[w.branch]
		return w.sort == seriesStep && (b.IsConsumer() || b.IsCoil())
	})
}

// attach finds or makes the node that the steps lead to. The bar or fuse nearest to the consumer that the tree has already
// holds them together: a second source is noted there and does not make a second tree of what both feed.
func (t *feedTree) attach(root *model.Part, sources []string, steps []wayStep) *feedNode {
	for i := len(steps) - 1; i >= 0; i-- {
		n := t.index[keyOf(steps[i])]
		if n == nil {
			continue
		}
		top := n
		for top.parent != nil {
			top = top.parent
		}
		if top.step.part != root {
			meet := n
			for k := i; k > 0 && meet.parent != nil && meet.parent.is(steps[k-1]); k-- {
				meet = meet.parent
			}
			meet.note(root.Name.Text)
		}
		n.noteAll(sources, top)
		for _, w := range steps[i+1:] {
			n = t.child(n, w)
		}
		return n
	}
	n := t.root(root)
	n.noteAll(sources, n)
	for _, w := range steps {
		n = t.child(n, w)
	}
	return n
}

// is reports whether the node is that of a step.
func (n *feedNode) is(w wayStep) bool {
	return n.element == nil && n.step.sort == w.sort && n.step.part == w.part && n.step.link == w.link && n.step.output == w.output
}

// keyOf is the key of a bar or fuse; of other steps one that no node has.
func keyOf(w wayStep) feedKey {
	switch w.sort {
	case busStep:
		return feedKey{link: w.link}
	case fuseStep:
		return feedKey{part: w.part}
	}
	return feedKey{}
}

func (n *feedNode) note(source string) {
	if !slices.Contains(n.also, source) {
		n.also = append(n.also, source)
	}
}

// noteAll notes at the root what feeds it further, such as the generator at the post of a battery.
func (n *feedNode) noteAll(sources []string, root *feedNode) {
	for _, source := range sources {
		root.note(source)
	}
}

// way is the live side of an element: what it comes from, what feeds that further, and what lies between. It is cut where
// it passes the post of a battery: what a generator adds there belongs to the post.
func (t *feedTree) way(sol *circuit.Solution, branch int, drop *circuit.Drop) (root *model.Part, further []string, steps []wayStep) {
	c := t.solved.Circuit
	b := &c.Branches[branch]
	from, live := b.A, drop.Supply
	backwards := sol.Amps[branch] < 0
	if t.set.Netlist.Harness.PositiveGround {
		live, backwards = drop.Return, !backwards
	}
	if backwards {
		from = b.B
	}
	at, cut := from, len(live)
	for i := 0; ; i++ {
		if p := t.posts[t.set.Graph.NetOf(at)]; p != nil && root == nil {
			root, cut = p, i
		}
		if i == len(live) {
			break
		}
		at = c.Branches[live[i]].A + c.Branches[live[i]].B - at
	}
	switch source := t.sourceAt(at); {
	case root == nil:
		root = source
	case source != nil && t.posts[t.set.Graph.NetOf(at)] == nil:
		further = []string{source.Name.Text}
	}
	return root, further, t.solved.steps(from, live[:cut])
}

// posts returns the nets of the poles of batteries that are not grounded.
func (v *Solved) posts() map[*graph.Net]*model.Part {
	posts := map[*graph.Net]*model.Part{}
	for i := range v.Circuit.Branches {
		b := &v.Circuit.Branches[i]
		pin := b.A
		if v.Circuit.Netlist.Harness.PositiveGround {
			pin = b.B
		}
		if net := v.Circuit.Graph.NetOf(pin); b.IsBattery() && posts[net] == nil {
			posts[net] = b.Part
		}
	}
	return posts
}

// sourceAt returns the part of a source that ends at a terminal, or nil.
func (t *feedTree) sourceAt(pin model.PinID) *model.Part {
	for i := range t.solved.Circuit.Branches {
		if b := &t.solved.Circuit.Branches[i]; b.Supplies() && (b.A == pin || b.B == pin) {
			return b.Part
		}
	}
	return nil
}

// root finds or makes the root of a source.
func (t *feedTree) root(p *model.Part) *feedNode {
	for _, r := range t.roots {
		if r.step.part == p {
			return r
		}
	}
	r := &feedNode{step: wayStep{sort: sourceStep, part: p}, name: p.Name.Text, title: p.Title.Text, amps: make([]float64, len(t.states))}
	t.roots = append(t.roots, r)
	return r
}

func (t *feedTree) child(n *feedNode, w wayStep) *feedNode {
	for _, c := range n.children {
		if c.is(w) {
			return c
		}
	}
	c := &feedNode{step: w, name: w.name(t.set.Netlist), parent: n, amps: make([]float64, len(t.states))}
	if key := keyOf(w); key != (feedKey{}) && t.index[key] == nil {
		t.index[key] = c
	}
	switch {
	case w.link != nil:
		c.title = w.link.Title.Text
		if w.link.Rail.IsSet() {
			c.title = strings.TrimSpace("rail " + w.link.Rail.Text + ", " + c.title)
		}
	case w.sort == outputStep:
		c.title = cmp.Or(t.set.Netlist.Pin(w.output).Does.Text, "output")
	default:
		c.title = w.part.Title.Text
	}
	n.children = append(n.children, c)
	return c
}

// sort puts what goes on before consumers, and each in natural order.
func (n *feedNode) sort() {
	slices.SortStableFunc(n.children, func(a, b *feedNode) int {
		if (a.element == nil) != (b.element == nil) {
			if a.element != nil {
				return -1
			}
			return 1
		}
		return CompareNatural(a.name, b.name)
	})
	for _, c := range n.children {
		c.sort()
	}
}

// findRest lists the consumers that stand nowhere in the tree.
func (t *feedTree) findRest(elements []feedElement) {
	for i := range elements {
		e := &elements[i]
		if t.placed[e] || e.consumer == nil {
			continue
		}
		why := "works in no state of the netlist, or only through other consumers"
		if e.branch < 0 {
			why = "its current is not stated"
		} else if t.fedSomewhere(e.consumer) {
			why = "the current on its way cannot be computed: a length, a size or another number is missing"
		}
		t.rest = append(t.rest, feedRest{strings.TrimSpace(e.name + " " + e.title), why})
	}
}

func (t *feedTree) fedSomewhere(c *Consumer) bool {
	for state := range t.solved.Conditions {
		if t.solved.relianceOf(state).feeds(c.A, c.B) {
			return true
		}
	}
	return false
}

// A feedRow is one line of the drawn tree.
type feedRow struct {
	node  *feedNode
	depth int
	last  []bool   // for every level above: whether the branch of that level has ended
	trail []string // the names above
}

func (t *feedTree) rows() []feedRow {
	var rows []feedRow
	seen := map[*feedElement]bool{}
	var walk func(n *feedNode, last []bool, trail []string)
	walk = func(n *feedNode, last []bool, trail []string) {
		rows = append(rows, feedRow{n, len(last), last, trail})
		if n.element != nil {
			n.again, seen[n.element] = seen[n.element], true
		}
		for i, c := range n.children {
			walk(c, append(slices.Clip(last), i == len(n.children)-1), append(slices.Clip(trail), n.name))
		}
	}
	for _, r := range t.roots {
		walk(r, nil, nil)
	}
	return rows
}

// Measures of the drawn tree.
const (
	feedPitch  = 6600 * geom.Micrometre // at the least; a tree that leaves room has its lines wider apart
	widePitch  = 8500 * geom.Micrometre // at the least where a title takes two lines
	mostPitch  = 10000 * geom.Micrometre
	feedIndent = 4 * geom.MM
	feedShape  = 1100 * geom.Micrometre // half the size of the shape at a node
	feedTrail  = feedPitch              // room for the names above, where a column goes on
)

// Columns of figures, from the right edge of a column of the tree leftward.
const (
	ratingRoom = 15 * geom.MM
	wireRoom   = 19 * geom.MM
	ampsRoom   = 23 * geom.MM // of each state: amperes and share
)

// A feedPaper is how the tree lies on the paper.
type feedPaper struct {
	paper   Paper
	columns int
	pitch   geom.Length // of the rows, at the least
	notes   *laidTable
	height  geom.Length // of the notes
}

func (t *feedTree) on(paper Paper, columns int, rows []feedRow) feedPaper {
	f := feedPaper{paper: paper, columns: columns, pitch: feedPitch, notes: t.notes().lay(paper.Area().Inset(sheetMargin).Width())}
	f.height = f.notes.titleHeight()
	for _, r := range f.notes.rows {
		f.height += f.notes.rowHeight(r.lines)
	}
	width := columnsOf(f.body(), columns)[0].Width()
	for i := range rows {
		if r := &rows[i]; t.titleWraps(r, feedName(r.depth), t.nameLimit(r, width)) {
			f.pitch = widePitch
		}
	}
	return f
}

// feedName is where the words of a row begin, from the left edge of its column.
func feedName(depth int) geom.Length {
	return 2*feedShape + geom.Length(depth)*feedIndent + 3*geom.MM/2
}

// nameLimit is where the words of a row end at the latest: only a fuse has a rating behind them.
func (t *feedTree) nameLimit(r *feedRow, edge geom.Length) geom.Length {
	limit := edge - geom.Length(len(t.states))*ampsRoom - wireRoom
	if n := r.node; n.element == nil && n.step.sort == fuseStep {
		limit -= ratingRoom
	}
	return limit
}

func (t *feedTree) titleWraps(r *feedRow, left, limit geom.Length) bool {
	at, height := r.designator(left, limit)
	room := limit - at - font.Width(r.face(), height, r.node.name) - 5*geom.MM/2
	return room > leastTitle && font.Width(font.Regular, font.MinHeight, r.node.words()) > room
}

// leastTitle is the narrowest place in which a title is written in two lines.
const leastTitle = 10 * geom.MM

const alsoWord = "also"

// designator returns where the name of a row begins and its height: it is read from two metres away, and a long one makes room
// for its title.
func (r *feedRow) designator(left, limit geom.Length) (at, height geom.Length) {
	if r.node.again {
		left += font.Width(font.Regular, font.MinHeight, alsoWord) + geom.MM
	}
	height = font.Height5
	for height > font.MinHeight && font.Width(r.face(), height, r.node.name) > (limit-left)/2 {
		height = map[geom.Length]geom.Length{font.Height5: font.Height3p5, font.Height3p5: font.MinHeight}[height]
	}
	return left, height
}

// face is bold for what lies on the way, and regular for consumers and coils.
func (r *feedRow) face() font.Face {
	if r.node.element == nil {
		return font.Bold
	}
	return font.Regular
}

// words are the title of a node, and what else feeds it.
func (n *feedNode) words() string {
	if len(n.also) == 0 {
		return n.title
	}
	return strings.TrimSpace(n.title + " (also fed by " + strings.Join(n.also, ", ") + ")")
}

func (f *feedPaper) body() geom.Rect {
	body := f.paper.Area().Inset(sheetMargin)
	body.Min.Y += headerRoom
	return body
}

// holds is how many rows a page has room for, with the notes or without.
func (f *feedPaper) holds(notes bool) int {
	room := f.body().Height() - 2*feedPitch - feedTrail
	if notes {
		room -= f.height + blockGap
	}
	return f.columns * max(0, int(room/f.pitch))
}

// pages spreads the tree evenly over as many pages as it takes. The notes stand below it on the last one, or on a page of
// their own where they are long.
func (t *feedTree) pages() []*Page {
	rows := t.rows()
	f := t.on(t.set.bench(), 1, rows)
	if len(rows) > f.holds(true) {
		f = t.on(t.set.wall(), wallColumns(t.set.wall()), rows)
	}
	full, apart := f.holds(false), f.height > f.body().Height()/2
	count := max(1, (len(rows)+full-1)/full)
	if !apart && len(rows) > count*min(full, f.holds(true)) {
		count = (len(rows) + f.holds(true) - 1) / f.holds(true)
	}
	perPage := (len(rows) + count - 1) / count
	at, first := f.body(), count
	if !apart {
		first = count - 1
		if len(rows) > 0 { // without a tree the notes are what there is, and stand on top
			at.Min.Y = at.Max.Y - f.height
		}
	}
	notes := flow{boxAt: func(i int) box { return box{first + i, at} }}.place(f.notes)
	total := pagesOf(notes)
	var pages []*Page
	for i := range total {
		page := &Page{Name: continuedName("feeds", i+1), Title: "Power tree", Paper: f.paper, Caution: feedCaution}
		chunk := rows[min(i*perPage, len(rows)):min((i+1)*perPage, len(rows))]
		page.Draw = func(c canvas.Canvas) {
			drawHeading(c, f.paper.Area().Inset(sheetMargin), "Power tree", "what feeds what, and how much", i > 0)
			t.drawPage(c, &f, chunk, i == count-1 && !apart)
			t.set.drawParts(c, onPage(notes, i))
		}
		if total > 1 {
			page.Title += fmt.Sprintf(" (%d of %d)", i+1, total)
		}
		pages = append(pages, page)
	}
	return pages
}

// drawPage draws rows in columns, as far apart as there is room.
func (t *feedTree) drawPage(c canvas.Canvas, f *feedPaper, rows []feedRow, notes bool) {
	if len(rows) == 0 {
		return
	}
	perColumn := (len(rows) + f.columns - 1) / f.columns
	room := f.body().Height() - 2*feedPitch - feedTrail
	if notes {
		room -= f.height + blockGap
	}
	pitch := max(f.pitch, min(mostPitch, room/geom.Length(perColumn)))
	for i, column := range columnsOf(f.body(), f.columns) {
		t.drawColumn(c, column, rows[min(i*perColumn, len(rows)):min((i+1)*perColumn, len(rows))], pitch)
	}
}

// notes say which states are told and what the shapes mean.
func (t *feedTree) notes() table {
	out := table{heads: []string{"", ""}}
	for i, state := range t.states {
		title := ""
		if st := t.solved.Conditions[state].State; st != nil {
			title = st.Title.Text
		}
		out.rows = append(out.rows, row{cells: []cell{sayBold("Column " + t.stateName(i)), say(strings.TrimSpace(title + ". Amperes with everything on at once that the state drives; sums are of what stands below, without what sensors and inputs take. Share: warming current of the rating."))}})
	}
	out.rows = append(out.rows,
		row{cells: []cell{sayBold("Shapes"), say("hollow box: fuse or breaker. ring: switch or relay contact. bar: bus bar. triangle: output of a module. dot: consumer or coil. \"also\": another way of a consumer that stands elsewhere.")}},
		row{cells: []cell{sayBold("Wire"), say("the thinnest that hangs directly on it. " + guessNote)}})
	if names := t.solved.leftOut(); names != "" {
		out.rows = append(out.rows, row{cells: []cell{sayBold("Left out"), say("solved without, because a number is missing: " + names)}})
	}
	for _, r := range t.rest {
		out.rows = append(out.rows, row{group: groupOf("unfed", r.element), cells: []cell{sayBold("Not in the tree"), say(r.element + ": " + r.why)}})
	}
	return out
}

func (t *feedTree) stateName(column int) string { return t.solved.Conditions[t.states[column]].Name() }

// drawColumn draws rows of the tree below one another, with the heads above and, where the rows begin within the tree, the
// names above the first.
func (t *feedTree) drawColumn(c canvas.Canvas, area geom.Rect, rows []feedRow, pitch geom.Length) {
	if len(rows) == 0 {
		return
	}
	edge := area.Max.X
	head := func(right geom.Length, width geom.Length, text string) {
		lines := font.Wrap(font.Bold, font.MinHeight, brokenName(text), width-geom.MM)
		if len(lines) > 2 {
			lines = []string{text}
		}
		for i, line := range lines {
			at := geom.Pt(right, area.Min.Y+feedPitch-geom.Length(len(lines)-1-i)*cellPitch)
			line = font.Fit(font.Bold, font.MinHeight, line, width-geom.MM)
			c.Text(canvas.Text{At: at, Anchor: canvas.End, Face: font.Bold, Height: font.MinHeight, String: line, Color: canvas.Ink})
		}
	}
	for i := len(t.states) - 1; i >= 0; i-- {
		head(edge, ampsRoom, t.stateName(i))
		edge -= ampsRoom
	}
	head(edge, wireRoom, "wire")
	head(edge-wireRoom, ratingRoom, "rating")
	y := area.Min.Y + feedPitch + feedPitch/2
	c.Line(geom.Polyline{geom.Pt(area.Min.X, y), geom.Pt(area.Max.X, y)}, canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink})
	if trail := rows[0].trail; len(trail) > 0 {
		y += feedTrail
		letterIn(c, geom.Pt(area.Min.X, y-feedPitch/4), area.Width(), font.Regular, font.MinHeight, "continued below "+strings.Join(trail, " > "))
	}
	for i := range rows {
		t.drawRow(c, geom.RectAt(geom.Pt(area.Min.X, y), area.Width(), pitch), &rows[i], edge)
		y += pitch
	}
}

// drawRow draws one line: the branches of the tree, the shape, the words, the figures.
func (t *feedTree) drawRow(c canvas.Canvas, line geom.Rect, r *feedRow, figures geom.Length) {
	n := r.node
	kind := "feed"
	if n.element != nil {
		kind = map[bool]string{true: "consumer-again", false: "consumer"}[n.again]
		if n.element.consumer == nil {
			kind = "coil"
		}
	}
	canvas.InGroup(c, canvas.Group{Kind: kind, Ref: n.name, Title: n.title}, func() {
		middle := (line.Min.Y + line.Max.Y) / 2
		x := func(depth int) geom.Length { return line.Min.X + feedShape + geom.Length(depth)*feedIndent }
		pen := canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}
		for depth := range r.depth {
			foot := line.Max.Y
			switch own := depth == r.depth-1; {
			case own && r.last[depth]:
				foot = middle
			case !own && r.last[depth]:
				continue
			}
			c.Line(geom.Polyline{geom.Pt(x(depth), line.Min.Y), geom.Pt(x(depth), foot)}, pen)
		}
		if r.depth > 0 {
			c.Line(geom.Polyline{geom.Pt(x(r.depth-1), middle), geom.Pt(x(r.depth), middle)}, pen)
		}
		if len(n.children) > 0 {
			c.Line(geom.Polyline{geom.Pt(x(r.depth), middle), geom.Pt(x(r.depth), line.Max.Y)}, pen)
		}
		n.drawShape(c, geom.Pt(x(r.depth), middle))
		t.letterRow(c, r, geom.Pt(line.Min.X+feedName(r.depth), middle+font.MinHeight/2), figures)
	})
}

func (n *feedNode) drawShape(c canvas.Canvas, at geom.Point) {
	pen := canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}
	box := geom.Rect{Min: at, Max: at}.Inset(-feedShape)
	white, ink := canvas.SolidFill(canvas.White), canvas.SolidFill(canvas.Ink)
	switch {
	case n.element != nil:
		c.Circle(at, feedShape*6/10, pen, ink)
	case n.step.sort == fuseStep:
		c.Rect(box, pen, white)
	case n.step.sort == contactStep:
		c.Circle(at, feedShape, pen, white)
	case n.step.sort == busStep:
		c.Rect(geom.Rect{Min: geom.Pt(box.Min.X, at.Y-feedShape/3), Max: geom.Pt(box.Max.X, at.Y+feedShape/3)}, pen, ink)
	case n.step.sort == outputStep:
		c.Polygon([]geom.Point{{X: box.Min.X, Y: box.Min.Y}, {X: box.Max.X, Y: at.Y}, {X: box.Min.X, Y: box.Max.Y}}, pen, white)
	default:
		c.Rect(box, pen, ink)
	}
}

// letterRow writes the words of a row from at on, and its figures in their columns, which end at the edge figures and
// right of it.
func (t *feedTree) letterRow(c canvas.Canvas, r *feedRow, at geom.Point, figures geom.Length) {
	n := r.node
	rating, wire, limit := "", t.wireText(n), figures-wireRoom-ratingRoom
	if n.element == nil && n.step.sort == fuseStep {
		if v := n.step.part.Value("rating"); v != nil && v.Quantity.IsSet() {
			rating = unit.Ampere(v.Quantity.Value).String() + guessMark(n.step.part.KnownFrom.Text == "guess")
		} else {
			rating = "not stated"
		}
	}
	right := func(edge, width geom.Length, text string, face font.Face) {
		c.Text(canvas.Text{At: geom.Pt(edge, at.Y), Anchor: canvas.End, Face: face, Height: font.MinHeight, String: font.Fit(face, font.MinHeight, text, width-geom.MM), Color: canvas.Ink})
	}
	right(limit+ratingRoom, ratingRoom+4*geom.MM, rating, font.Bold)
	if rating == "not stated" {
		limit -= 4 * geom.MM
	}
	right(figures, wireRoom, wire, font.Regular)
	for i := range t.states {
		right(figures+geom.Length(i+1)*ampsRoom, ampsRoom, t.ampsText(n, i), font.Regular)
	}
	if rating == "" {
		limit += ratingRoom
	}
	if n.again {
		c.Text(canvas.Text{At: at, Height: font.MinHeight, String: alsoWord, Color: canvas.Ink})
	}
	left, height := r.designator(at.X, limit)
	designator := canvas.Text{
		At: geom.Pt(left, at.Y+(height-font.MinHeight)/2), Face: r.face(), Height: height, String: font.Fit(r.face(), height, n.name, limit-left-geom.MM), Color: canvas.Ink,
	}
	c.Text(designator)
	t.set.linkPart(c, designator, n.owner(t.set.Netlist))
	if left += font.Width(r.face(), height, n.name) + 3*geom.MM/2; left < limit {
		letterTitle(c, geom.Pt(left, at.Y), limit-left-geom.MM, n.words())
	}
}

// titlePitch is from line to line of a title in two lines: with their signs above and below they stay within a row.
const titlePitch = 3900 * geom.Micrometre

// letterTitle writes a title on the line of its designator, or in two lines about it where one is too short.
func letterTitle(c canvas.Canvas, at geom.Point, width geom.Length, title string) {
	lines := font.Wrap(font.Regular, font.MinHeight, title, width)
	if len(lines) < 2 || width <= leastTitle {
		letterIn(c, at, width, font.Regular, font.MinHeight, title)
		return
	}
	letterIn(c, at.Add(geom.Pt(0, -titlePitch/2)), width, font.Regular, font.MinHeight, lines[0])
	letterIn(c, at.Add(geom.Pt(0, titlePitch/2)), width, font.Regular, font.MinHeight, strings.Join(lines[1:], " "))
}

// owner is the part that a node is of; nil for a bar.
func (n *feedNode) owner(net *model.Netlist) *model.Part {
	switch {
	case n.element != nil && n.element.consumer != nil:
		return n.element.consumer.Part
	case n.element != nil:
		return net.Owner(n.element.name).Part
	}
	return n.step.part
}

// linkPart makes a designator lead to the sheet that shows the part.
func (s *Set) linkPart(c canvas.Canvas, text canvas.Text, p *model.Part) {
	if p == nil || !text.Draws() {
		return
	}
	if page := s.PageOf("part", p.Name.Text); page != nil {
		c.Link(text.Bounds(), page.Name)
	}
}

// ampsText is the current of a node in one of the told states; of a fuse what flows through it and its share.
func (t *feedTree) ampsText(n *feedNode, column int) string {
	state := t.states[column]
	if n.element == nil && n.step.sort == fuseStep {
		for i := range t.solved.Reports[state].Fuses {
			f := &t.solved.Reports[state].Fuses[i]
			if f.Part != n.step.part {
				continue
			}
			if math.Abs(f.Amps) < leastFeedAmps {
				return "–"
			}
			text := ampsText(f.Amps, false)
			if f.Rating > 0 {
				text += " " + strconv.Itoa(int(math.Round(100*f.Share()))) + " %"
			}
			return text
		}
	}
	if n.amps[column] < leastFeedAmps {
		return "–"
	}
	return ampsText(n.amps[column], n.element != nil && n.element.guessed)
}

// wireText is the thinnest wire that hangs directly on the far side of a node, or at the live terminal of a consumer.
func (t *feedTree) wireText(n *feedNode) string {
	var wires []*model.Wire
	switch {
	case n.element != nil:
		b := &t.solved.Circuit.Branches[n.element.branch]
		pin := b.A
		if grounded := t.solved.Conditions[0].Grounded(pin); grounded {
			pin = b.B
		}
		wires = t.set.WiresAt(pin)
	case n.step.sort == fuseStep || n.step.sort == contactStep || n.step.sort == outputStep:
		wires = t.set.WiresAt(n.step.far)
	}
	thinnest, text := math.Inf(1), ""
	for _, w := range wires {
		if area, ok := t.set.AreaOf(w); ok && area < thinnest {
			thinnest, text = area, w.Size.String()
		}
	}
	return text
}
