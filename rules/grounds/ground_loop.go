package grounds

import (
	"ferrule/rules"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

var _ = rules.Register(&rules.Rule{
	Name: "ground-loop", Severity: diag.Error, Harm: rules.Annoys, Since: "0.1",
	Title: "a return reaches ground in two ways, or a screen is tied in two places",
	Doc: `In the vehicle a second way to ground carries current that does not belong to the wire, such as cranking current through the
controller's ground. The rule fires where the return of a consumer, with all wires that join it outside and all terminals that are one
piece of metal inside, reaches two different ground points, and where the screen of a cable is tied in two places, or to a power
ground. A sensor ground that meets another ground is the matter of sensor-ground-tied.

Take all but one of the ways out. Several wires from one module to one stud are no loop, and neither are straps between
engine, body, frame and battery, with or without a bar between.`,
	Sources: []string{
		"common practice: one return, one ground point; a screen is tied at the module's end only",
	},
	Bad: `[body.body]
[part]
E1 = { kind = "lamp", load = "5 W", pin.1.unused = true }
G1 = { kind = "ground point", body = "body" }
G2 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "E1:2", to = "G1:1" }
W2 = { from = "E1:2", to = "G2:1" }
`,
	Good: `[body.body]
[part]
E1 = { kind = "lamp", load = "5 W", pin.1.unused = true }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "E1:2", to = "G1:1" }
`,
	Run: func(p *rules.Pass) {
		l := &loops{Pass: p, told: map[int32]bool{}}
		l.findPieces()
		for _, m := range sensorMeetings(p) {
			l.told[l.pieces.Find(int32(m.sense))] = true
		}
		l.returns()
		for _, c := range p.Netlist.Cables {
			l.screen(c)
		}
	},
})

// loops is one run of the rule. The harness is cut at everything that is ground: what then hangs together is a piece, and
// the cuts say at which points it reaches ground.
type loops struct {
	*rules.Pass
	pieces *graph.Sets
	told   map[int32]bool // pieces of which sensor-ground-tied speaks
	joints *graph.Sets    // see straps
	bars   map[int32]bool // of the joints: a bar or a stud is among them
}

// inPiece reports whether an edge holds a piece together: conductors outside, metal inside, but nothing beyond a cut.
func (l *loops) inPiece(e *graph.Edge) bool {
	return (e.Kind.Outside() || e.Kind == graph.Common) && !l.IsGround(e.A) && !l.IsGround(e.B)
}

func (l *loops) findPieces() {
	l.pieces = graph.NewSets(len(l.Netlist.Pins))
	for i := range l.Graph.Edges {
		if e := &l.Graph.Edges[i]; l.inPiece(e) {
			l.pieces.Join(int32(e.A), int32(e.B))
		}
	}
}

// returns reports pieces that belong to a consumer and reach ground at two points. The points of one stud are one point.
func (l *loops) returns() {
	landings := map[int32][]landing{}
	var order []int32
	for i := range l.Graph.Edges {
		e := &l.Graph.Edges[i]
		if !e.Kind.Outside() && e.Kind != graph.Common || l.IsGround(e.A) == l.IsGround(e.B) {
			continue
		}
		land := landing{edge: e, from: e.A, at: e.B}
		if l.IsGround(e.A) {
			land.from, land.at = e.B, e.A
		}
		root := l.pieces.Find(int32(land.from))
		if landings[root] == nil {
			order = append(order, root)
		}
		landings[root] = append(landings[root], land)
	}
	consumers := l.consumers(landings)
	for _, root := range order {
		if points := l.apart(pointsOf(l.Netlist, landings[root]), landings[root]); len(points) > 1 && consumers[root] != nil && !l.told[root] {
			l.loop(consumers[root], points, landings[root])
		}
	}
}

// consumers finds, for the pieces that reach ground, the device whose return the piece is. Straps have none.
func (l *loops) consumers(landings map[int32][]landing) map[int32]*model.Part {
	found := map[int32]*model.Part{}
	for i := range l.Netlist.Pins {
		part := l.Netlist.Pins[i].Owner.Device()
		if part == nil || part.Kind.Joined || l.IsGround(model.PinID(i)) {
			continue
		}
		root := l.pieces.Find(int32(i))
		if landings[root] != nil && found[root] == nil {
			found[root] = part
		}
	}
	return found
}

// pointsOf returns the ground points among the landings, from the one with most wires to the one with fewest; among equals
// in the order of the file.
func pointsOf(n *model.Netlist, all []landing) []*model.Owner {
	counts := map[*model.Owner]int{}
	var points []*model.Owner
	for _, land := range all {
		o := n.Pin(land.at).Owner
		if counts[o] == 0 {
			points = append(points, o)
		}
		counts[o]++
	}
	slices.SortStableFunc(points, func(a, b *model.Owner) int { return counts[b] - counts[a] })
	return points
}

// apart leaves out the points that a strap joins to one before. The cable from the battery to a bar and on from there to the
// metal is a strap as much as a cable from the battery to the metal: the return that ends at the bar has one way out.
func (l *loops) apart(points []*model.Owner, all []landing) []*model.Owner {
	if len(points) < 2 {
		return points
	}
	at := func(o *model.Owner) []landing {
		return slices.DeleteFunc(slices.Clone(all), func(land landing) bool { return l.Netlist.Pin(land.at).Owner != o })
	}
	var kept []*model.Owner
	for _, o := range points {
		if !slices.ContainsFunc(kept, func(k *model.Owner) bool { return l.strapped(at(k), at(o)) }) {
			kept = append(kept, o)
		}
	}
	return kept
}

// strapped reports whether one cable of joints alone leads from ground to ground and is a strap: it begins at a source, or
// a bar or a stud lies in it. A splice in a harness that goes to two ground points is none.
func (l *loops) strapped(a, b []landing) bool {
	for _, from := range a {
		for _, to := range b {
			if !isJoint(l.Netlist, from.from) || !isJoint(l.Netlist, to.from) || l.straps().Find(int32(from.from)) != l.straps().Find(int32(to.from)) {
				continue
			}
			if l.isPole(from.at) || l.isPole(to.at) || l.bars[l.straps().Find(int32(from.from))] {
				return true
			}
		}
	}
	return false
}

// straps are the terminals of joints that wires, bars and mated cavities hold together without a device between.
func (l *loops) straps() *graph.Sets {
	if l.joints != nil {
		return l.joints
	}
	l.joints, l.bars = graph.NewSets(len(l.Netlist.Pins)), map[int32]bool{}
	for i := range l.Graph.Edges {
		if e := &l.Graph.Edges[i]; l.inPiece(e) && isJoint(l.Netlist, e.A) && isJoint(l.Netlist, e.B) {
			l.joints.Join(int32(e.A), int32(e.B))
		}
	}
	for i := range l.Netlist.Pins {
		if o := l.Netlist.Pins[i].Owner; o.Part != nil && o.Part.Kind.Joined {
			l.bars[l.joints.Find(int32(i))] = true
		}
	}
	return l.joints
}

// isPole reports whether a terminal is a post of a battery or the ground side of a generator.
func (l *loops) isPole(pin model.PinID) bool {
	part := l.Netlist.Pin(pin).Owner.Part
	return part != nil && slices.ContainsFunc(part.Inside.Sources, func(s model.Source) bool { return s.Plus == pin || s.Minus == pin })
}

// loop reports the way to ground at the point that fewest wires go to.
func (l *loops) loop(part *model.Part, points []*model.Owner, all []landing) {
	last := points[len(points)-1]
	var extra, first landing
	for _, land := range all {
		switch l.Netlist.Pin(land.at).Owner {
		case last:
			extra = land
		case points[0]:
			if first.edge == nil {
				first = land
			}
		}
	}
	names := make([]string, len(points))
	for i, o := range points {
		names[i] = o.Name.Text
	}
	refs := append([]string{part.Name.Text}, names...)
	for i, o := range points {
		if o.Part != nil && o.Part.Kind.Name != rules.GroundPoint && o.Part.Body != nil {
			names[i] = "the case of " + o.Name.Text
		}
	}
	if extra.edge.Wire != nil {
		refs = append(refs, extra.edge.Wire.Name.Text)
	}
	d := l.Report(endSpan(l.Pass, extra), refs, "the return of %s reaches ground at %s", part.Name.Text, strings.Join(names[:len(names)-1], ", at ")+" and at "+names[len(names)-1])
	d.Help = "keep one of the ways and take the other out"
	d.Related = l.Hops(l.between(first, extra))
}

// between returns the chain from one landing through the piece to the other.
func (l *loops) between(a, b landing) []graph.Hop {
	chain := []graph.Hop{{Edge: a.edge, From: a.at, To: a.from}}
	chain = append(chain, l.Graph.Path(a.from, b.from, l.inPiece)...)
	return append(chain, graph.Hop{Edge: b.edge, From: b.from, To: b.at})
}

// screen reports a cable whose screen is tied in two places, or where current of consumers flows.
func (l *loops) screen(c *model.Cable) {
	var ties []model.PinRef
	for _, r := range c.Screen {
		if r.ID != model.NoPin && !slices.ContainsFunc(ties, func(t model.PinRef) bool { return l.sameSpot(t.ID, r.ID) }) {
			ties = append(ties, r)
		}
	}
	name := c.Name.Text
	if len(ties) > 1 {
		last := ties[len(ties)-1]
		texts := make([]string, len(ties))
		for i, t := range ties {
			texts[i] = t.Text
		}
		d := l.Report(last.Span, append([]string{name}, texts...), "the screen of %s is tied in %d places, %s", name, len(ties), strings.Join(texts, " and "))
		d.Help = "tie it at the module's end only, and insulate the other end"
		return
	}
	for _, t := range ties {
		path := l.Graph.PathTo(t.ID, func(id model.PinID) bool { return isPower(l.Pass, id) }, func(e *graph.Edge) bool { return e.Kind.Outside() })
		if path == nil {
			continue
		}
		ground := t.ID
		if len(path) > 0 {
			ground = path[len(path)-1].To
		}
		d := l.Report(t.Span, []string{name, t.Text}, "the screen of %s is tied to power ground %s", name, l.Netlist.Pin(ground))
		d.Help = "tie it to the module's screen or sensor ground terminal"
		d.Related = append(l.Hops(path), diag.Related{Message: fmt.Sprintf("%s carries the current of consumers", l.Netlist.Pin(ground).Owner.Name.Text)})
	}
}

// sameSpot reports whether two ties are at one end of a cable: at one owner, or at one known place.
func (l *loops) sameSpot(a, b model.PinID) bool {
	if l.Netlist.Pin(a).Owner == l.Netlist.Pin(b).Owner {
		return true
	}
	place := l.Routes.PlaceOf(a)
	return place != nil && place == l.Routes.PlaceOf(b)
}
