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
}

// trackColumns is how many wire columns make a numbered track.
const trackColumns = 2

// Diagrams lays out the whole harness: a diagram or more for each system, in the order of the file.
func Diagrams(g *graph.Graph) ([]*Drawing, error) {
	a := assign(g, levels(g))
	sheets := a.sheets()
	a.findHomes(sheets)
	var out []*Drawing
	for _, s := range sheets {
		d, err := a.build(s).draw()
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

func (b *builder) draw() (*Drawing, error) {
	for _, n := range b.nodes {
		n.size(b.a.g.Netlist)
	}
	b.layer()
	rows, steps := b.rows(), b.steps()
	if err := b.order(rows, steps); err != nil {
		return nil, err
	}
	b.offsets()
	b.columns(rows, steps)
	b.sortPorts(func(n *Node) float64 { return float64(n.col) + float64(n.width)/2 })
	b.offsets()
	b.columns(rows, steps)
	d := &Drawing{System: b.sheet.system, Rails: b.rails, Wires: b.sheet.wires}
	b.place(d, rows, steps)
	for _, n := range b.nodes {
		if n.Form != passing {
			d.Nodes = append(d.Nodes, n)
		}
	}
	d.Edges = b.edges
	return d, nil
}

// offsets gives the ports their columns anew after they were sorted.
func (b *builder) offsets() {
	for _, n := range b.nodes {
		switch n.Form {
		case Inline:
			center(n.Top, len(n.Top))
			center(n.Bottom, len(n.Bottom))
		case Joint:
			span := max(1, len(n.Top), len(n.Bottom))
			center(n.Top, span)
			center(n.Bottom, span)
		case Box:
			center(n.Top, n.width-1)
			center(n.Bottom, n.width-1)
		}
	}
}

// x is the place of a doubled column.
func x(doubled int) geom.Length { return railMargin + Pitch/2 + geom.Length(doubled)*Pitch/2 }

// place turns rows and columns into micrometres: rails, then for each row its channel, its lettering zone and itself.
func (b *builder) place(d *Drawing, rows [][]*Node, steps []step) {
	byRow := make([][]step, len(rows))
	for _, s := range steps {
		byRow[s.lower.row] = append(byRow[s.lower.row], s)
	}
	y := b.placeRails(d)
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
		y += b.labelZone(byRow[r])
		height := geom.Length(0)
		for _, n := range row {
			height = max(height, n.height)
		}
		for _, n := range row {
			n.settle(y, height)
			d.Width = max(d.Width, x(2*(n.col+n.width))+Pitch/2)
		}
		y += height
		rowFoot[r] = y
	}
	for _, e := range b.edges {
		e.route(channelTop, rowFoot)
	}
	b.strip(d, y+2*geom.MM)
}

// placeRails stacks the rails, that of the permanent supply on top, and returns the y below them.
func (b *builder) placeRails(d *Drawing) geom.Length {
	slices.SortStableFunc(b.rails, func(p, q *Rail) int {
		return cmp.Or(cmp.Compare(liveness(p.Name), liveness(q.Name)), cmp.Compare(p.Name, q.Name))
	})
	y := 3 * geom.MM
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
func (b *builder) labelZone(steps []step) geom.Length {
	zone := 3 * geom.MM
	for _, s := range steps {
		if s.lowerPort == nil {
			continue
		}
		if s.edge.Wire != nil {
			s.edge.Label.Text = WireLabel(s.edge.Wire)
			zone = max(zone, font.Width(font.Regular, TextHeight, s.edge.Label.Text)+2*labelGap)
		}
	}
	return zone
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
		n.Body.Max.X -= Pitch - geom.MM // the lettering of the last port needs a little more
	case Joint:
		head = top + n.height/2
		foot = head
		span := max(1, len(n.Top), len(n.Bottom))
		n.Body = geom.Rect{Min: geom.Pt(x(2*n.col), head), Max: geom.Pt(x(2*(n.col+span-1)), head)}
	case Inline, Loose:
		port := x(2 * n.col)
		symbolTop := top + n.headFork()
		n.Body = geom.Rect{Min: geom.Pt(port-Pitch/2+SideGap/2, symbolTop), Max: geom.Pt(port+SymbolHalf, symbolTop+n.symbolHeight())}
		foot = n.Body.Max.Y
		if len(n.Bottom) > 1 {
			foot = top + n.height - forkHeight/2
		}
		head = symbolTop
		if len(n.Top) > 1 {
			head -= forkHeight / 2
		}
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
	right := x(0)
	for _, n := range b.nodes {
		right = max(right, x(2*(n.col+n.width)))
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
			t.Refs = append(t.Refs, n.Ref)
		}
	}
	for i := range d.Tracks {
		length := geom.Length(0)
		for _, ref := range d.Tracks[i].Refs {
			length += font.Width(font.Regular, TextHeight, ref) + 2*geom.MM
		}
		// Two lines of names stand side by side in a track.
		depth = max(depth, length)
	}
	depth = min(depth+2*geom.MM, indexHeight)
	d.Width = max(d.Width, railMargin+geom.Length(count)*width)
	d.Strip = geom.Rect{Min: geom.Pt(railMargin, y), Max: geom.Pt(railMargin+geom.Length(count)*width, y+depth+trackRow)}
	for _, r := range d.Rails {
		r.Left, r.Right = railMargin-2*geom.MM, d.Strip.Max.X
	}
	d.Height = d.Strip.Max.Y
}

// Anchor is the x by which a node is found: its first port, or its middle.
func (n *Node) Anchor() geom.Length {
	if len(n.Top) > 0 && n.Form != Box {
		return n.Top[0].At.X
	}
	if n.Form == Box {
		return n.Cell.Center().X
	}
	return x(2 * n.col)
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
