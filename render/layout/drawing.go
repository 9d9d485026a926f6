package layout

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A Drawing is one circuit diagram with everything in its place. Its origin is the top left corner of what is drawn.
type Drawing struct {
	System *model.System // nil for what belongs to none
	Part   int           // from 1, when a system takes several diagrams
	Parts  int
	Nodes  []*Node
	Edges  []*Edge
	Rails  []*Rail
	Tracks []Track
	Strip  geom.Rect // the index strip at the foot: names above, track numbers in the last TrackRow
	Width  geom.Length
	Height geom.Length
	Wires  []*model.Wire // those drawn here
}

// TrackRow is the height of the row of track numbers at the foot of the index strip.
const TrackRow = trackRow

// A Track is a numbered column of the index strip.
type Track struct {
	Number      int
	Left, Right geom.Length
	Refs        []string // devices that begin in it
	Locations   []string // of each: the panel that it is in or the place that it is at, "" where that is not stated
}

// trackColumns is how many wire columns make a numbered track.
const trackColumns = 2

// Diagrams lays out the whole harness: a diagram or more for each system, in the order of the file. Rooms are the sizes of
// sheets that there are, from small to large, each with the ways in which it may be held; a diagram that would need a larger
// one for its height alone is folded. Without rooms nothing is.
func Diagrams(g *graph.Graph, rooms ...[]Room) ([]*Drawing, error) {
	a := assign(g, levels(g))
	sheets := a.sheets()
	a.findHomes(sheets)
	a.findBars(sheets)
	var out []*Drawing
	for _, s := range sheets {
		d, err := a.drawFor(s, rooms)
		if err != nil {
			return nil, fmt.Errorf("laying out the diagram of %s: %w", systemName(s.system), err)
		}
		out = append(out, d)
	}
	for _, d := range out {
		for _, other := range out {
			if other.System == d.System {
				if d.Parts++; other == d {
					d.Part = d.Parts
				}
			}
		}
	}
	return out, nil
}

// WireSystems returns the system that each wire is drawn with; a wire without one has no entry.
func WireSystems(g *graph.Graph) map[*model.Wire]*model.System { return assign(g, levels(g)).wire }

func systemName(s *model.System) string {
	if s == nil {
		return "the rest"
	}
	return s.Name.Text
}

// draw lays out a diagram; pieces that reach below the limit are folded, unless it is 0.
func (b *builder) draw(limit geom.Length) (*Drawing, error) {
	for _, n := range b.nodes {
		n.size(b.a.g.Netlist)
	}
	d := &Drawing{System: b.sheet.system, Rails: b.rails, Wires: b.sheet.wires}
	top := b.placeRails(d)
	foot := top
	if limit > 0 {
		limit -= stripGap + indexHeight + trackRow
	}
	var hung, free []*builder
	for _, piece := range b.pieces() {
		parts, err := piece.fold(top, limit)
		if err != nil {
			return nil, err
		}
		for _, part := range parts {
			foot = max(foot, part.foot())
			if part.hangs() {
				hung = append(hung, part)
			} else {
				free = append(free, part)
			}
		}
	}
	var nodes []*Node
	var taken []geom.Rect
	for _, part := range append(hung, free...) {
		y, shift := part.berth(taken, top, foot)
		for _, n := range part.nodes {
			n.col += shift
		}
		part.place(d, y)
		taken = append(taken, part.spaces()...)
		nodes = append(nodes, part.nodes...)
		d.Edges = append(d.Edges, part.edges...)
	}
	b.edges = d.Edges
	b.nodes = nodes
	b.strip(d, foot+stripGap)
	for _, n := range b.nodes {
		if n.Form != passing {
			d.Nodes = append(d.Nodes, n)
		}
	}
	return d, nil
}

// stripGap is from the lowest device to the index strip.
const stripGap = 1500 * geom.Micrometre

// pieces parts the diagram into what hangs together by edges, in the order of the first node. Each is laid out for
// itself, so that a tall one makes no room in a short one, and they stand side by side below the rails.
func (b *builder) pieces() []*builder {
	sets := graph.NewSets(len(b.nodes))
	for _, e := range b.edges {
		if e.Upper != nil {
			sets.Join(int32(e.Upper.node.index), int32(e.Lower.node.index))
		}
	}
	byRoot := map[int32]*builder{}
	var out []*builder
	for _, n := range b.nodes {
		root := sets.Find(int32(n.index))
		if byRoot[root] == nil {
			byRoot[root] = &builder{a: b.a, sheet: b.sheet}
			out = append(out, byRoot[root])
		}
		byRoot[root].nodes = append(byRoot[root].nodes, n)
	}
	for _, e := range b.edges {
		piece := byRoot[sets.Find(int32(e.Lower.node.index))]
		piece.edges = append(piece.edges, e)
	}
	for _, piece := range out {
		for i, n := range piece.nodes {
			n.index = i
		}
	}
	return out
}

// spaces are the rectangles that a piece needs for itself: the cells of its nodes, and along its wires a column.
func (b *builder) spaces() []geom.Rect {
	var out []geom.Rect
	for _, n := range b.nodes {
		if n.Form != passing {
			out = append(out, n.Cell)
		}
	}
	for _, e := range b.edges {
		for _, s := range e.Line.Segments() {
			r := geom.RectOf(s.A, s.B)
			out = append(out, geom.Rect{Min: r.Min.Add(geom.Pt(-Pitch/2, -TrackPitch/2)), Max: r.Max.Add(geom.Pt(Pitch/2, TrackPitch/2))})
		}
	}
	return out
}

// foot is the y below all rows of a piece as it was placed last.
func (b *builder) foot() geom.Length { return b.feet[len(b.feet)-1] }

// hangs reports whether a piece hangs from a rail, and so begins at the top.
func (b *builder) hangs() bool {
	return slices.ContainsFunc(b.edges, func(e *Edge) bool { return e.Rail != nil })
}

// berth finds the place of a piece beside those that have theirs: the y at which it begins and by how many columns it moves
// to the right. What hangs from no rail may stand below another piece where it ends above the foot; of the places the one is
// taken where it ends leftmost, and of equals the highest. The piece has been placed at the top.
func (b *builder) berth(taken []geom.Rect, top, foot geom.Length) (y geom.Length, shift int) {
	own := b.spaces()
	places := []geom.Length{top}
	if !b.hangs() {
		for _, t := range taken {
			if below := t.Max.Y + pieceGap; below+b.foot()-top <= foot {
				places = append(places, below)
			}
		}
	}
	slices.Sort(places)
	y, shift = top, columnsBeside(taken, own, 0)
	for _, place := range slices.Compact(places) {
		if columns := columnsBeside(taken, own, place-top); columns < shift {
			y, shift = place, columns
		}
	}
	return y, shift
}

// pieceGap is from the foot of a piece to another one below it.
const pieceGap = 4 * geom.MM

// columnsBeside returns by how many columns a piece that is moved down moves to the right to stand beside what is there: at
// no height do they overlap, and above a low part of one neighbour there may stand a high part of the other.
func columnsBeside(taken, piece []geom.Rect, down geom.Length) int {
	shift := geom.Length(0)
	for _, t := range taken {
		for _, r := range piece {
			if r.Min.Y+down < t.Max.Y && t.Min.Y < r.Max.Y+down {
				shift = max(shift, t.Max.X-r.Min.X)
			}
		}
	}
	return columnsFor(shift)
}

// arrange gives the nodes of a piece their rows and columns.
func (b *builder) arrange() error {
	b.layer()
	b.grid, b.steps = b.rows(), b.cut()
	if err := b.order(b.grid, b.steps); err != nil {
		return err
	}
	b.columns(b.grid, b.steps)
	b.sortPorts(func(n *Node) float64 { return float64(n.col) + float64(n.width)/2 })
	b.columns(b.grid, b.steps)
	b.closeGaps()
	b.untangle()
	return nil
}

// x is the place of a doubled column.
func x(doubled int) geom.Length { return railMargin + Pitch/2 + geom.Length(doubled)*Pitch/2 }

// place turns the rows and columns of a piece into micrometres, from y downwards: for each row its channel, its lettering
// zone and itself. It returns the y below all.
func (b *builder) place(d *Drawing, y geom.Length) geom.Length {
	rows := b.grid
	byRow := make([][]step, len(rows))
	for _, s := range b.steps {
		byRow[s.lower.row] = append(byRow[s.lower.row], s)
	}
	channelTop := make([]geom.Length, len(rows))
	rowFoot := make([]geom.Length, len(rows))
	for r, row := range rows {
		tracks := channel(byRow[r], func(s step) (int, int) {
			to := s.lower.col + offset(s.lowerPort)
			if s.upper == nil {
				return to, to
			}
			return s.upper.col + offset(s.upperPort), to
		})
		channelTop[r] = y
		if tracks > 0 {
			y += geom.Length(tracks+1) * TrackPitch
		}
		y += b.labelZone(byRow[r], y)
		height := geom.Length(0)
		for _, n := range row {
			height = max(height, n.height)
		}
		for _, n := range row {
			n.settle(y, height)
			d.Width = max(d.Width, n.Cell.Max.X)
		}
		y += height
		rowFoot[r] = y
	}
	b.feet = rowFoot
	for _, e := range b.edges {
		e.route(channelTop, rowFoot)
	}
	return y
}

// firstRail is the y of the uppermost rail: room for the words above it.
const firstRail = 3700 * geom.Micrometre

// placeRails stacks the rails, that of the permanent supply on top, and returns the y below them.
func (b *builder) placeRails(d *Drawing) geom.Length {
	slices.SortStableFunc(b.rails, func(p, q *Rail) int {
		return cmp.Or(cmp.Compare(liveness(p.Name), liveness(q.Name)), cmp.Compare(p.Name, q.Name))
	})
	y := firstRail
	for _, r := range b.rails {
		r.Y = y
		y += RailPitch
	}
	return y
}

// liveness orders supply rails as the trade draws them: what is live longest on top. Terminals of DIN 72552.
func liveness(name string) int {
	name, _, _ = strings.Cut(name, " ")
	for i, known := range []string{"30", "75", "15", "15X", "87", "58", "50"} {
		if name == known {
			return i
		}
	}
	return 9
}

// labelZone is the height of the zone in which the wires of a gap carry their lettering: all those that end in this row.
// Where a wire comes straight down from its upper end, the lettering may reach up beside it, as far as no run crosses.
func (b *builder) labelZone(steps []step, below geom.Length) geom.Length {
	zone := 3 * geom.MM
	for _, s := range steps {
		if s.lowerPort == nil || s.edge.Wire == nil {
			continue
		}
		s.edge.Label.Text = WireLabel(s.edge.Wire)
		need := font.Width(font.Regular, TextHeight, s.edge.Label.Text) + 2*labelGap
		zone = max(zone, need-s.straight(steps, below))
	}
	return zone
}

// straight is how much of the step lies above the lettering zone and is free of bends and crossing runs: from the upper
// end down to the given height.
func (s step) straight(steps []step, below geom.Length) geom.Length {
	own := s.edge.bends[s.index]
	if s.upper == nil || own.track >= 0 {
		return 0
	}
	for _, other := range steps {
		if b := other.edge.bends[other.index]; b.track >= 0 && min(b.from, b.to) <= own.to+1 && max(b.from, b.to) >= own.to-1 {
			return 0
		}
	}
	if s.upperPort == nil {
		return below - s.upper.Cell.Min.Y - geom.MM
	}
	return max(0, below-s.upperPort.At.Y-geom.MM)
}

// WireLabel is the lettering of a wire: number, size, colour letters.
func WireLabel(w *model.Wire) string {
	label := w.Name.Text
	if w.Size.IsSet() {
		label += "  " + w.Size.Short()
	}
	if w.ColorText.IsSet() {
		label += "  " + w.ColorText.Text
	}
	return font.Fit(font.Regular, TextHeight, label, 60*geom.MM)
}

// settle gives a node its cell in a row of the given top and height, and its ports their points on the cell's edges.
func (n *Node) settle(top, height geom.Length) {
	left := x(2*n.col) - Pitch/2
	n.Cell = geom.Rect{Min: geom.Pt(left, top), Max: geom.Pt(left+geom.Length(n.width)*Pitch, top+height)}
	n.Body = geom.Rect{Min: n.Cell.Min, Max: geom.Pt(n.Cell.Max.X, top+n.height)}
	head, foot := top, top+n.height // where wires from above and from below end
	switch n.Form {
	case Box:
		n.Body.Min = n.Body.Min.Add(geom.Pt(geom.Length(n.returns)*Pitch, n.gathering(true)))
		n.Body.Max.Y -= n.gathering(false)
		n.Body.Max.X -= Pitch - geom.MM // the lettering of the last port needs a little more
		head, foot = n.Body.Min.Y, n.Body.Max.Y
	case Joint:
		head = top + n.height/2
		foot = head
		span := max(1, len(n.Top), len(n.Bottom))
		n.Body = geom.Rect{Min: geom.Pt(x(2*n.col), head), Max: geom.Pt(x(2*(n.col+span-1)), head)}
	case Inline, Loose:
		axis := x(2 * (n.col + n.shape.core))
		n.Body.Min.Y += n.margin(true)
		n.Body = geom.Rect{Min: geom.Pt(axis-Pitch/2+SideGap/2, n.Body.Min.Y), Max: geom.Pt(axis+SymbolHalf, n.Body.Min.Y+n.SymbolHeight())}
		n.leads()
		return
	}
	if len(n.Top) == 0 && (n.Form == Mark || n.Form == Ground) {
		foot = top + height
	}
	for _, p := range n.Top {
		p.At = geom.Pt(x(2*(n.col+p.offset)), head)
	}
	for _, p := range n.Bottom {
		p.At = geom.Pt(x(2*(n.col+p.offset)), foot)
	}
	if n.Form == Box {
		n.leadBox()
	}
}

// route draws the edge's line from its upper to its lower end.
func (e *Edge) route(channelTop, rowFoot []geom.Length) {
	first := 0
	if e.Upper != nil {
		first = e.Upper.node.row + 1
	}
	var line geom.Polyline
	add := func(px, py geom.Length) {
		p := geom.Pt(px, py)
		if k := len(line); k >= 2 && line[k-1].X == px && line[k-2].X == px {
			line[k-1] = p // straight on
			return
		}
		line = append(line, p)
	}
	start := geom.Length(0)
	if e.Rail != nil {
		start = e.Rail.Y
	} else {
		start = e.Upper.At.Y
	}
	add(x(e.bends[0].from), start)
	for i, b := range e.bends {
		r := first + i
		at := x(b.from)
		if b.track >= 0 {
			y := channelTop[r] + geom.Length(b.track+1)*TrackPitch
			add(at, y)
			if b.second >= 0 {
				over := x(b.over)
				y2 := channelTop[r] + geom.Length(b.second+1)*TrackPitch
				add(over, y)
				add(over, y2)
				y = y2
			}
			at = x(b.to)
			add(at, y)
		}
		if i == len(e.bends)-1 {
			add(at, e.Lower.At.Y)
		} else {
			add(at, rowFoot[r])
		}
	}
	e.Line = line
	e.Label.At = geom.Pt(e.Lower.At.X-1300*geom.Micrometre, e.Lower.node.Cell.Min.Y-labelGap)
}

// strip numbers the tracks and lists the devices that begin in each.
func (b *builder) strip(d *Drawing, y geom.Length) {
	right := railMargin + Pitch
	for _, n := range b.nodes {
		right = max(right, railMargin+geom.Length(n.col+n.width)*Pitch)
	}
	width := trackColumns * Pitch
	count := int((right - railMargin + width - 1) / width)
	depth := geom.Length(0)
	for i := range count {
		left := railMargin + geom.Length(i)*width
		d.Tracks = append(d.Tracks, Track{Number: i + 1, Left: left, Right: left + width})
	}
	devices := slices.Clone(b.nodes)
	slices.SortStableFunc(devices, func(p, q *Node) int { return cmp.Compare(p.row, q.row) })
	for _, n := range devices {
		if n.Kind != "part" {
			continue
		}
		t := &d.Tracks[d.trackAt(n.Anchor())]
		if !slices.Contains(t.Refs, n.Ref) {
			t.Refs, t.Locations = append(t.Refs, n.Ref), append(t.Locations, location(n.Part))
		}
	}
	for i := range d.Tracks {
		length := geom.Length(0)
		t := &d.Tracks[i]
		for j := range t.Refs {
			length = max(length, t.IndexWidth(j)+2*geom.MM)
		}
		// Three devices stand side by side in a track; more stand above them.
		depth = max(depth, length*geom.Length((len(t.Refs)+indexLines-1)/indexLines))
	}
	depth = min(depth+2*geom.MM, indexHeight)
	d.Width = max(d.Width, railMargin+geom.Length(count)*width)
	d.Strip = geom.Rect{Min: geom.Pt(railMargin, y), Max: geom.Pt(railMargin+geom.Length(count)*width, y+depth+trackRow)}
	for _, r := range d.Rails {
		r.Left, r.Right = railMargin-2*geom.MM, d.Strip.Max.X
	}
	for _, r := range d.Rails {
		r.Words = b.railWords(r)
		d.Width = max(d.Width, r.Words.X)
	}
	d.Height = d.Strip.Max.Y
}

// indexLines is how many devices stand side by side in a track of the index strip.
const indexLines = 3

// location is where a device is to be looked for: the panel that it is in, the place that it is at, or where that has its
// name, the zone.
func location(p *model.Part) string {
	switch {
	case p == nil:
		return ""
	case p.Panel != nil:
		return p.Panel.Name.Text
	case p.Owner.Place() == nil:
		return ""
	case p.Owner.Place().Name.Text == p.Name.Text: // a place of its own says nothing; the zone does
		return p.Owner.Place().ZoneName.Text
	}
	return p.Owner.Place().Name.Text
}

// IndexWidth is the length of the lettering of a device in the index strip.
func (t *Track) IndexWidth(i int) geom.Length {
	width := font.Width(font.Bold, TextHeight, t.Refs[i])
	switch location := font.Width(font.Regular, TextHeight, t.Locations[i]); {
	case t.Locations[i] == "":
	case t.Beside():
		width = max(width, location)
	default:
		width += indexGap + location
	}
	return width
}

// Beside reports whether a track has room for the location of a device in a line of its own beside the device.
func (t *Track) Beside() bool { return len(t.Refs) <= 2 }

// indexGap is between a device and its location in the index strip.
const indexGap = 1500 * geom.Micrometre

// railWords finds the place for the words at a rail: above it as far right as no drop from a rail above passes, else beside
// its right end.
func (b *builder) railWords(r *Rail) geom.Point {
	r.Room = font.Width(font.Regular, TextHeight, "fed: sheet 888, tr. 88")
	if shown := len(b.a.linkOn[r.Link]); b.feeds(r) && shown > 1 {
		r.Room = max(r.Room, font.Width(font.Regular, TextHeight, RailText(slices.Repeat([]string{"88"}, shown-1))))
	}
	r.Room += 2 * geom.MM
	right := r.Right
	for right-r.Room > r.Left {
		struck := right
		for _, e := range b.edges {
			if e.Rail == nil || e.Rail.Y >= r.Y {
				continue
			}
			if at := e.Line[0].X; at > right-r.Room && at < right {
				struck = min(struck, at)
			}
		}
		if struck == right {
			return geom.Pt(right, r.Y-geom.MM)
		}
		right = struck - geom.MM
	}
	return geom.Pt(r.Right+geom.MM+r.Room, r.Y+TextHeight/2)
}

// feeds reports whether the terminal that feeds a rail is on this diagram.
func (b *builder) feeds(r *Rail) bool {
	for _, s := range b.a.linkOn[r.Link] {
		if s == b.sheet {
			return r.Feed != model.NoPin && b.shown(r.Feed) != nil
		}
	}
	return false
}

// Anchor is the x by which a node is found: its first port, or its middle.
func (n *Node) Anchor() geom.Length {
	if n.Form != Inline && n.Form != Box && len(n.Top) > 0 {
		return n.Top[0].At.X
	}
	if n.Form == Box {
		return n.Cell.Center().X
	}
	return x(2 * (n.col + n.shape.core))
}

func (d *Drawing) trackAt(at geom.Length) int {
	i := int((at - railMargin) / (trackColumns * Pitch))
	return min(max(i, 0), len(d.Tracks)-1)
}

// TrackOf returns the number of the track that a point lies in.
func (d *Drawing) TrackOf(at geom.Length) int {
	if len(d.Tracks) == 0 {
		return 0
	}
	return d.Tracks[d.trackAt(at)].Number
}
