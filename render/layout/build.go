package layout

import (
	"slices"
	"strings"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/render/geom"
)

// builder makes the nodes and edges of one diagram.
type builder struct {
	a     *assignment
	sheet *sheet
	home  map[*model.Part]bool
	nodes []*Node
	edges []*Edge
	rails []*Rail
	byKey map[string]*Node
	drawn map[*model.Wire]bool

	grid  [][]*Node // rows, once they are known
	steps []step
	feet  []geom.Length // of the rows, once they are placed
}

func (a *assignment) build(s *sheet) *builder {
	b := &builder{a: a, sheet: s, home: map[*model.Part]bool{}, byKey: map[string]*Node{}, drawn: map[*model.Wire]bool{}}
	for _, p := range s.parts {
		b.home[p] = true
	}
	for _, w := range s.wires {
		b.drawn[w] = true
		b.addWire(w)
	}
	for _, l := range a.g.Netlist.Links {
		b.addLink(l)
	}
	b.addStubs()
	for _, p := range s.parts {
		b.addLoose(p)
	}
	b.screens()
	b.finish()
	return b
}

// end is one end of an edge before its ports are made.
type end struct {
	node *Node
	pin  model.PinID
}

func (b *builder) addWire(w *model.Wire) {
	if w.From.ID == model.NoPin || w.To.ID == model.NoPin {
		return // the check says so; a wire without an end cannot be drawn
	}
	from := end{b.nodeFor(w.From.ID, w), w.From.ID}
	to := end{b.nodeFor(w.To.ID, w), w.To.ID}
	b.connect(from, to, &Edge{Wire: w})
}

// connect lays an edge between two nodes, the one with the lower level above.
func (b *builder) connect(from, to end, e *Edge) {
	if b.below(from, to) {
		from, to = to, from
	}
	if from.node == to.node { // both ends on one device: the wire leaves by a mark and comes back by another
		if e.Wire != nil {
			back := b.mark(from.pin, e)
			back.Other.Drawn = true
			b.connect(to, end{back, from.pin}, &Edge{Stub: e.Wire})
		}
		to = end{b.mark(to.pin, e), to.pin}
	}
	e.Upper = b.port(&from.node.Bottom, from)
	e.Lower = b.port(&to.node.Top, to)
	e.Upper.Edge, e.Lower.Edge = e, e
	b.edges = append(b.edges, e)
}

// below reports whether the first end belongs below the second. Nodes are compared as wholes, so that no two edges can
// contradict each other; equals stand in the order in which they came.
func (b *builder) below(x, y end) bool {
	if x.node.level != y.node.level {
		return x.node.level > y.node.level
	}
	return x.node.index > y.node.index
}

func (b *builder) port(side *[]*Port, at end) *Port {
	p := &Port{Pin: at.pin, node: at.node, Name: b.portName(at)}
	*side = append(*side, p)
	return p
}

// portName is the terminal as lettered on a box: with the plug's designator where the box has plugs.
func (b *builder) portName(at end) string {
	pin := b.a.g.Netlist.Pin(at.pin)
	if at.node.Part != nil && pin.Owner.Sort == model.ConnectorOwner {
		return pin.String()
	}
	return pin.Name
}

// nodeFor returns the node that shows a terminal on this diagram, made when it is first needed.
func (b *builder) nodeFor(pin model.PinID, w *model.Wire) *Node {
	p := b.a.g.Netlist.Pin(pin)
	owner := p.Owner
	if part := owner.Device(); part != nil {
		return b.partNode(part, pin, w)
	}
	key := jointKey(p)
	if b.a.home[key] != b.sheet {
		return b.mark(pin, &Edge{Wire: w})
	}
	switch owner.Sort {
	case model.SpliceOwner:
		return b.keyed(key, func(n *Node) {
			n.Form, n.Kind, n.Ref, n.Title = Joint, "splice", owner.Name.Text, owner.Title()
		}, owner.Pins...)
	case model.ConnectorOwner:
		return b.cavity(owner.Connector, p)
	}
	return b.keyed(key, func(n *Node) {
		n.Form, n.Symbol, n.Kind, n.Ref = Inline, "terminal", "terminal", p.String()
	}, pin)
}

// cavity is a place where two halves of an in-line pair meet; a connector without the other half has it all the same.
func (b *builder) cavity(c *model.Connector, p *model.Pin) *Node {
	first, second := c, c.Mate
	if second != nil && second.Name.Text < first.Name.Text {
		first, second = second, first
	}
	pins := []model.PinID{}
	ref := first.Name.Text + ":" + p.Name
	var lines []string
	for i, half := range []*model.Connector{first, second} {
		if half == nil {
			continue
		}
		if id, ok := half.Owner.Pin(p.Name); ok {
			pins = append(pins, id)
			if i == 1 {
				lines = append(lines, half.Name.Text+":"+p.Name)
			}
		}
	}
	return b.keyed(jointKey(p), func(n *Node) {
		n.Form, n.Symbol, n.Kind, n.Ref, n.Lines = Inline, "cavity", "connector", ref, lines
	}, pins...)
}

// partNode returns the appearance of a part that shows the terminal; a part that is at home on another diagram is
// stood for by a mark.
func (b *builder) partNode(p *model.Part, pin model.PinID, w *model.Wire) *Node {
	name := p.Name.Text
	switch {
	case p.Kind.Symbol == "ground":
		return b.ground(pin)
	case p.Kind.OpenPins:
		return b.keyed("joint "+name, func(n *Node) {
			n.Form, n.Kind, n.Ref, n.Title, n.Part = Joint, "part", name, p.Title.Text, p
			n.Also = len(b.a.barOn[p]) - 1
		}, p.Owner.Pins...)
	case everywhere(p):
		return b.keyed("module "+name, func(n *Node) { b.boxed(n, p) }, pin)
	case !b.home[p]:
		return b.mark(pin, &Edge{Wire: w})
	}
	return b.device(p, pin)
}

// device returns the node of a part that is at home here. A relay has two: its coil and its contact.
func (b *builder) device(p *model.Part, pin model.PinID) *Node {
	if len(p.Inside.Coils) == 0 {
		return b.keyed("part "+p.Name.Text, func(n *Node) { b.boxed(n, p) }, p.Terminals()...)
	}
	var coil, contact []model.PinID
	for _, id := range p.Terminals() {
		if slices.ContainsFunc(p.Inside.Coils, func(c model.Pair) bool { return c.A == id || c.B == id }) {
			coil = append(coil, id)
		} else {
			contact = append(contact, id)
		}
	}
	if slices.Contains(coil, pin) {
		return b.keyed("coil "+p.Name.Text, func(n *Node) {
			b.boxed(n, p)
			n.Symbol, n.Lines, n.Partner = "relay coil", nil, "contact"
		}, coil...)
	}
	return b.keyed("part "+p.Name.Text, func(n *Node) {
		b.boxed(n, p)
		n.Symbol, n.Partner = "relay contact", "coil"
	}, contact...)
}

// boxed fills in what a part shows of itself. Whether it is drawn in line or as a box follows from its ports.
func (b *builder) boxed(n *Node, p *model.Part) {
	n.Form, n.Symbol, n.Kind, n.Ref, n.Title, n.Part = Box, p.Kind.Symbol, "part", p.Name.Text, p.Title.Text, p
	n.Lines = valueLines(p)
}

// valueLines are the values that somebody at the diagram wants to know: the rating of a fuse, the load of a consumer.
func valueLines(p *model.Part) []string {
	var lines []string
	if v := p.Value("rating"); v != nil && v.Quantity.IsSet() {
		lines = append(lines, unit.Ampere(v.Quantity.Value).String())
	}
	if v := p.Value("load"); v != nil && v.Load.Run.IsSet() && len(p.Inside.Loads) == 1 {
		lines = append(lines, quantityText(v.Load.Run))
	} else if !everywhere(p) { // those of a module would fill its box on every sheet; they stand on its pin-out
		lines = append(lines, loadLines(p)...)
	}
	for _, position := range p.Inside.Positions {
		lines = append(lines, positionLine(p, position))
	}
	if p.Body != nil && p.BodyRef.IsSet() {
		lines = append(lines, "case on "+p.Body.Name.Text)
	}
	return lines
}

// loadLines writes each load of a part that has several, such as the filaments of a lamp: "56b-31: 35 W Low beam"; of a
// single one the value, and its title where it is not the part's.
func loadLines(p *model.Part) []string {
	var lines []string
	for _, l := range p.Inside.Loads {
		if !l.Spec.Run.IsSet() {
			continue
		}
		line := quantityText(l.Spec.Run)
		if l.Title.Text != p.Title.Text {
			line += " " + l.Title.Text
		}
		if len(p.Inside.Loads) > 1 {
			line = p.Owner.PinName(l.A) + "-" + p.Owner.PinName(l.B) + ": " + line
		}
		lines = append(lines, strings.TrimSpace(line))
	}
	return lines
}

func quantityText(q model.Quantity) string {
	switch q.Dim {
	case unit.Power:
		return unit.Watt(q.Value).String()
	case unit.Current:
		return unit.Ampere(q.Value).String()
	}
	return unit.Ohm(q.Value).String()
}

// positionLine writes a switch position as "run: 30-75-15", and one that joins nothing as "off: none".
func positionLine(p *model.Part, position model.Position) string {
	var groups []string
	for _, group := range position.Joins {
		var names []string
		for _, id := range group {
			names = append(names, p.Owner.PinName(id))
		}
		groups = append(groups, strings.Join(names, "-"))
	}
	if len(groups) == 0 {
		return position.Name.Text + ": none"
	}
	return position.Name.Text + ": " + strings.Join(groups, ", ")
}

// fedAt is the level of a consumer: just below the lowest of the points that feed its loads.
func (b *builder) fedAt(p *model.Part) float64 {
	level := 0.0
	for _, l := range p.Inside.Loads {
		level = max(level, min(b.a.level[l.A], b.a.level[l.B]))
	}
	return level + fedStep
}

// fedStep is how far below what feeds it a consumer lies: enough that two contacts which feed it from either side stay above.
const fedStep = 0.02

// sensorLevel keeps sensors above what they report to.
const sensorLevel = 0.35

func (b *builder) ground(pin model.PinID) *Node {
	p := b.a.g.Netlist.Pin(pin)
	n := b.add(&Node{Form: Ground, Symbol: "ground", Kind: "ground", Ref: p.String(), Part: p.Owner.Part})
	n.level = 1
	return n
}

// mark is where a wire goes on: at a terminal that is drawn elsewhere.
func (b *builder) mark(pin model.PinID, e *Edge) *Node {
	p := b.a.g.Netlist.Pin(pin)
	n := b.add(&Node{Form: Mark, Kind: "mark", Ref: p.String(), Other: &Target{Pin: pin, Wire: e.Wire, Link: e.Link}})
	n.level = b.a.level[pin]
	return n
}

// keyed returns the node of a key, made by fill when it is new; its level is the mean of the terminals'.
func (b *builder) keyed(key string, fill func(*Node), pins ...model.PinID) *Node {
	if n := b.byKey[key]; n != nil {
		return n
	}
	n := &Node{key: key}
	fill(n)
	b.byKey[key] = b.add(n)
	n.pins = pins
	for _, id := range pins {
		n.level += b.a.level[id] / float64(len(pins))
	}
	switch {
	case n.Symbol == "battery":
		n.level -= 2 // everything comes from it: it stands on top, of two in series the upper one higher
	case n.generates():
		n.level = -0.5
	case n.Form == Joint && n.Part != nil && n.level > groundBar:
		n.level = 1 - 1e-3 // a ground bar lies below all that returns to it
	case len(pins) > 2 && n.switches():
		for _, id := range pins {
			n.level = min(n.level, b.a.level[id]+1e-7) // just below what feeds it
		}
	case n.Symbol == "sensor":
		n.level = min(n.level, sensorLevel)
	case n.Part != nil && len(n.Part.Inside.Loads) > 0 && !everywhere(n.Part) && n.Partner == "":
		n.level = b.fedAt(n.Part)
	}
	return n
}

// groundBar is the level from which on a bar counts as ground.
const groundBar = 0.85

// switches reports whether the node is a switch or the contact of a relay.
func (n *Node) switches() bool { return n.Symbol == "switch" || n.Partner == "coil" }

// generates reports whether every terminal of the node is a pole of its part's source, as of a solar module.
func (n *Node) generates() bool {
	return n.Part != nil && len(n.Part.Inside.Sources) > 0 && !slices.ContainsFunc(n.pins, func(id model.PinID) bool {
		return !slices.ContainsFunc(n.Part.Inside.Sources, func(s model.Source) bool { return s.Plus == id || s.Minus == id })
	})
}

func (b *builder) add(n *Node) *Node {
	n.index = len(b.nodes)
	b.nodes = append(b.nodes, n)
	return n
}

// addLink draws a bus bar or jumper on every diagram that shows one of its terminals: a rail across the top, a plain
// line between two, or a bar with a mark to where it is fed from.
func (b *builder) addLink(l *model.Link) {
	var here []end
	var elsewhere []model.PinID
	for _, r := range l.Joins {
		if r.ID == model.NoPin {
			continue
		}
		if n := b.shown(r.ID); n != nil {
			here = append(here, end{n, r.ID})
		} else {
			elsewhere = append(elsewhere, r.ID)
		}
	}
	switch {
	case len(here) == 0:
	case l.Rail.IsSet():
		b.hang(l, here)
	case len(here) == 2 && len(elsewhere) == 0 && here[0].node != here[1].node:
		b.connect(here[0], here[1], &Edge{Link: l})
	default:
		b.bar(l, here, elsewhere)
	}
}

// shown returns the node of a terminal if this diagram has it or is its home; it makes no marks.
func (b *builder) shown(pin model.PinID) *Node {
	p := b.a.g.Netlist.Pin(pin)
	if part := p.Owner.Device(); part != nil {
		switch {
		case part.Kind.OpenPins:
			return b.byKey["joint "+part.Name.Text]
		case b.home[part]:
			return b.device(part, pin)
		}
		return nil
	}
	return b.byKey[jointKey(p)]
}

func (b *builder) hang(l *model.Link, here []end) {
	rail := &Rail{Name: l.Rail.Text, Link: l, Feed: b.a.feeder(l)}
	if l.Panel != nil {
		rail.Name += " " + l.Panel.Name.Text
	}
	railLevel := 0.0
	for _, r := range l.Joins {
		if r.ID != model.NoPin {
			railLevel += b.a.level[r.ID] / float64(len(l.Joins))
		}
	}
	if l.Rail.Text == "30" {
		railLevel = 0 // nothing feeds it but the battery
	}
	hung := false
	for _, at := range here {
		if at.node.level < railLevel && !at.node.protects() { // it feeds the rail: current goes down to it, by a mark
			mark := b.add(&Node{Form: Mark, Kind: "mark", Ref: "to rail " + rail.Name, level: at.node.level + 1e-9,
				Other: &Target{Pin: model.NoPin, Link: l, Others: len(b.a.linkOn[l]) - 1}})
			b.connect(at, end{mark, at.pin}, &Edge{Link: l})
			continue
		}
		e := &Edge{Link: l, Rail: rail}
		e.Lower = b.port(&at.node.Top, at)
		e.Lower.Edge = e
		b.edges = append(b.edges, e)
		hung = true
	}
	if hung {
		b.rails = append(b.rails, rail)
	}
}

// protects reports whether the node is a fuse or the like: these hang from rails and never feed them.
func (n *Node) protects() bool { return n.Part != nil && len(n.Part.Inside.Protects) > 0 }

func (b *builder) bar(l *model.Link, here []end, elsewhere []model.PinID) {
	bar := b.add(&Node{Form: Joint, Kind: "link", Ref: l.Name.Text, Title: l.Title.Text})
	lowest := 1.0
	for _, at := range here {
		lowest = min(lowest, at.node.level)
	}
	bar.level = lowest + 1e-9
	feed := b.a.feeder(l)
	for _, at := range here {
		if at.pin == feed {
			bar.level = at.node.level + 1e-9 // just below what feeds it
		}
	}
	fedHere := !slices.Contains(elsewhere, feed)
	if fedHere && len(elsewhere) > 0 {
		feed = elsewhere[0] // it goes on to there
	}
	if len(elsewhere) > 0 {
		e := &Edge{Link: l}
		mark := b.mark(feed, e)
		mark.level = bar.level + 1e-9
		if others := len(b.a.linkOn[l]) - 1; fedHere && others > 1 {
			mark.Ref, mark.Other.Others = l.Name.Text, others
		}
		if !fedHere {
			bar.level = lowest - 1e-9 // fed from elsewhere: above everything here
			mark.level = lowest - 2e-9
		}
		b.connect(end{mark, feed}, end{bar, feed}, e)
	}
	for _, at := range here {
		b.connect(at, end{bar, at.pin}, &Edge{Link: l})
	}
}

// feeder returns the terminal of a link that feeds the others: the wired terminal of the panel if it has one, else that of
// the fuse or contact whose other side lies nearest to supply, or failing those the terminal that does.
func (a *assignment) feeder(l *model.Link) model.PinID {
	best, bestLevel := model.NoPin, 20.0
	for _, r := range l.Joins {
		if r.ID == model.NoPin {
			continue
		}
		level := a.level[r.ID]
		if a.g.Netlist.Pin(r.ID).Owner.Sort == model.PanelOwner && len(a.g.WiresAt(r.ID)) > 0 {
			level -= 10 // the terminal of a panel is there to be fed
		}
		for _, id := range a.g.At(r.ID) {
			if e := a.g.Edge(id); e.Kind == graph.Protect || e.Kind.Contact() || e.Kind == graph.Wire {
				level = min(level, a.level[e.Other(r.ID)])
			}
		}
		if level < bestLevel {
			best, bestLevel = r.ID, level
		}
	}
	return best
}

// addStubs marks the terminals on this diagram whose wires are drawn on another one.
func (b *builder) addStubs() {
	for _, p := range b.sheet.parts {
		for _, id := range p.Terminals() {
			b.stubsAt(id, func() *Node { return b.device(p, id) })
		}
	}
	for _, n := range b.nodes[:len(b.nodes):len(b.nodes)] {
		if n.Part == nil && n.key != "" {
			for _, id := range n.pins {
				b.stubsAt(id, func() *Node { return n })
			}
		}
	}
}

func (b *builder) stubsAt(pin model.PinID, node func() *Node) {
	for _, w := range b.a.g.WiresAt(pin) {
		if b.drawn[w] {
			continue
		}
		other := w.From.ID
		if other == pin {
			other = w.To.ID
		}
		at := node()
		stub := b.mark(other, &Edge{Wire: w})
		stub.Other.Drawn = true
		b.connect(end{at, pin}, end{stub, other}, &Edge{Stub: w})
	}
}

// addLoose shows a part that nothing is wired to, such as a spare fuse.
func (b *builder) addLoose(p *model.Part) {
	if b.byKey["part "+p.Name.Text] == nil && b.byKey["coil "+p.Name.Text] == nil {
		b.keyed("part "+p.Name.Text, func(n *Node) {
			b.boxed(n, p)
			n.Form = Loose
		}, p.Terminals()...)
	}
}

// screens draws the screens of cables: from the terminal that a screen is tied to, a line to a mark that names the cable.
// A device shows it where the device is at home, anything else with the first wire of the cable.
func (b *builder) screens() {
	for _, c := range b.a.g.Netlist.Cables {
		for _, r := range c.Screen {
			if r.ID == model.NoPin {
				continue
			}
			node := b.screened(c, r.ID)
			if node == nil {
				continue
			}
			mark := b.add(&Node{Form: Mark, Kind: "mark", Ref: "screen of " + c.Name.Text, level: node.level - 1e-9,
				Other: &Target{Pin: model.NoPin, Screen: c, Lines: 1}})
			if node.Form == Ground {
				mark.level = node.level - 1e-6
			}
			b.connect(end{node, r.ID}, end{mark, r.ID}, &Edge{Screen: c})
		}
	}
}

// screened returns the node on this diagram at which the screen of a cable is tied, or nil when another shows it.
func (b *builder) screened(c *model.Cable, pin model.PinID) *Node {
	p := b.a.g.Netlist.Pin(pin)
	part := p.Owner.Device()
	if part != nil && part.Kind.Symbol != "ground" && !everywhere(part) {
		if b.home[part] {
			return b.device(part, pin)
		}
		return nil
	}
	if part == nil {
		if key := jointKey(p); b.a.home[key] != nil {
			return b.byKey[key]
		}
	}
	for _, w := range c.Wires {
		if w.Wired() {
			if b.drawn[w] {
				return b.nodeAnew(pin)
			}
			return nil
		}
	}
	return nil
}

// nodeAnew returns the node of something that is drawn wherever it is needed, or of a joint that has no wire anywhere.
func (b *builder) nodeAnew(pin model.PinID) *Node {
	p := b.a.g.Netlist.Pin(pin)
	if p.Owner.Device() == nil {
		b.a.home[jointKey(p)] = b.sheet
	}
	return b.nodeFor(pin, nil)
}
