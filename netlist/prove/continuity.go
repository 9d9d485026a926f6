package prove

import (
	"cmp"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sparse"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// benchCelsius is the temperature at which a harness lies on the bench.
const benchCelsius = 20

// RingOhms is the reading, less that of the leads, below which a connection rings: common practice. Longer runs whose computed
// resistance is more than half of it are told by twice that.
const RingOhms = 1.0

// A Continuity is the test of a harness with the battery off and everything unplugged: all modules, loads, relays, fuses and
// switches, but what is stated as staying plugged.
type Continuity struct {
	Groups []Group
	Stays  []*model.Part // stated as staying plugged, in the order of the file
	Supply []model.PinID // where supply is looked for: see Harness.SupplyPoints
	Ground model.PinID   // likewise ground; model.NoPin where there is none
}

// A Group is the terminals of one connector, or of all devices without a plug.
type Group struct {
	Owner     *model.Owner
	Connector *model.Connector // nil for the terminals of a part or a panel
	Rows      []Cavity
}

// A Cavity is one terminal and what a meter must find from it. Every cavity of every connector has one, and every terminal of a
// part or panel that a conductor ends at; the lugs of a stud or bar, which are one piece of metal, have one together.
type Cavity struct {
	Pin    model.PinID
	Lugs   []model.PinID // of a stud or bar: all that are wired, Pin the first of them
	Net    *graph.Net
	Empty  bool          // no conductor ends here
	Rings  []model.PinID // all other points of the net that a probe can reach
	Buried []model.PinID // further terminals of the net that it cannot: splices, and further lugs of studs

	Base  model.PinID // the point from which this net is measured; Pin itself where it is measured here
	Lines []Line      // where Base is Pin: one for each of Rings

	Not       []model.PinID // neighbours in the housing that must not ring
	NotGround bool          // it must not ring to ground
	NotSupply bool          // it must not ring to any of Continuity.Supply
	Ground    bool          // it must ring to ground
	Through   []Through     // what it reads to others over parts that stay plugged
}

// A Line is one measurement: from the base of a net to another of its points.
type Line struct {
	To     model.PinID
	Ohms   float64 // of conductors and their connections at 20 C, without the leads of the meter
	Known  bool    // false where a wire has no length or size
	Marked bool    // rests on a guess, or for more than a tenth on estimated contacts
}

// Most is the reading in ohm, less that of the leads, above which the connection is not in order.
func (l *Line) Most() float64 { return max(RingOhms, 2*l.Ohms) }

// A Through is a resistance that stays in: to another terminal over parts that stay plugged.
type Through struct {
	To   model.PinID
	Ohms float64
	By   []*model.Part
}

// meter measures resistances in the harness as it lies on the bench.
type meter struct {
	factor  *sparse.Factor // nil where the network cannot be factorised
	reaches *graph.Sets    // joined by conductors and bolts, and over the resistances of parts that stay
}

// onBench reports whether a branch is there on the bench, and its ohms: conductors, bolts, and what stays plugged at rest.
func (h *Harness) onBench(b *circuit.Branch) (ohms float64, there bool) {
	e := b.Edge
	if e == nil {
		return 0, false
	}
	if !e.Kind.Outside() && e.Kind != graph.Bolted {
		if e.Part == nil || !e.Part.StaysPlugged.On || !atRest(e) {
			return 0, false
		}
	}
	if ohms, there = b.ClosedOhms(benchCelsius); there {
		return ohms, ohms > 0
	}
	return b.Ohms, (b.IsCoil() || b.IsConsumer()) && b.Ohms > 0
}

// atRest reports whether an edge inside a part that stays plugged passes the current of a meter: not through diodes, which a meter
// reads as it likes, nor sources.
func atRest(e *graph.Edge) bool {
	switch e.Kind {
	case graph.Open, graph.Diode, graph.Source:
		return false
	case graph.Position:
		return e.Position == e.Part.Inside.Rest
	}
	return true
}

func (h *Harness) newMeter() *meter {
	n := len(h.Netlist.Pins)
	m := &meter{reaches: graph.NewSets(n)}
	for i := range h.Graph.Edges {
		e := &h.Graph.Edges[i]
		if e.Kind.Outside() || e.Kind == graph.Bolted || e.Part != nil && e.Part.StaysPlugged.On && atRest(e) {
			m.reaches.Join(int32(e.A), int32(e.B))
		}
	}
	branches := make([]sparse.Branch, len(h.Circuit.Branches))
	siemens := make([]float64, len(branches))
	for i := range branches {
		b := &h.Circuit.Branches[i]
		branches[i] = sparse.Branch{A: int32(b.A), B: int32(b.B)}
		if ohms, there := h.onBench(b); there {
			siemens[i] = 1 / ohms
		}
	}
	pattern, err := sparse.Analyze(n, branches)
	if err != nil {
		return m
	}
	if factor, err := pattern.Factor(sparse.State{Siemens: siemens, Held: make([]bool, n)}); err == nil {
		m.factor = factor
	}
	return m
}

// between is the resistance in ohm between two terminals on the bench.
func (m *meter) between(a, b model.PinID) (float64, bool) {
	if a == b || m.factor == nil {
		return 0, a == b
	}
	return m.factor.Between(int32(a), int32(b))
}

// Continuity lists what must ring to what. Plugs of devices come first, then in-line connectors and the other owners of terminals,
// each in the order given by less; a nil less keeps the order of the file.
func (h *Harness) Continuity(less func(a, b string) int) *Continuity {
	c := &Continuity{Supply: h.SupplyPoints(), Ground: h.GroundPole()}
	for _, p := range h.Netlist.Parts {
		if p.StaysPlugged.On {
			c.Stays = append(c.Stays, p)
		}
	}
	owners := slices.Clone(h.Netlist.Owners)
	slices.SortStableFunc(owners, func(a, b *model.Owner) int {
		order := cmp.Compare(benchOrder(a), benchOrder(b))
		if order == 0 && less != nil {
			order = less(a.Name.Text, b.Name.Text)
		}
		return order
	})
	for _, o := range owners {
		if g := h.groupOf(o); len(g.Rows) > 0 {
			c.Groups = append(c.Groups, g)
		}
	}
	h.measure(c)
	return c
}

// benchOrder begins with the plugs of devices, so that a run is measured in one piece from its end; then come in-line connectors, for
// what no plug is on, panels and devices without a plug.
func benchOrder(o *model.Owner) int {
	switch {
	case o.Sort == model.ConnectorOwner && o.Connector.Part != nil:
		return 0
	case o.Sort == model.ConnectorOwner:
		return 1
	case o.Sort == model.PanelOwner:
		return 2
	}
	return 3
}

func (h *Harness) groupOf(o *model.Owner) Group {
	g := Group{Owner: o, Connector: o.Connector}
	switch {
	case o.Sort == model.SpliceOwner || o.Sort == model.BodyOwner:
	case o.Joined:
		var lugs []model.PinID
		for _, id := range o.Pins {
			if h.Graph.Reached(id) {
				lugs = append(lugs, id)
			}
		}
		if len(lugs) > 0 {
			g.Rows = []Cavity{{Pin: lugs[0], Lugs: lugs}}
		}
	default:
		for _, id := range o.Pins {
			if reached := h.Graph.Reached(id); reached || o.Sort == model.ConnectorOwner {
				g.Rows = append(g.Rows, Cavity{Pin: id, Empty: !reached})
			}
		}
	}
	return g
}

// point is what a probe touches for a terminal: of a stud or bar its first wired lug; false for what lies buried.
func (h *Harness) point(id model.PinID) (model.PinID, bool) {
	o := h.Netlist.Pin(id).Owner
	switch {
	case o.Sort == model.SpliceOwner || o.Sort == model.BodyOwner:
		return id, false
	case o.Joined:
		for _, lug := range o.Pins {
			if h.Graph.Reached(lug) {
				return lug, lug == id
			}
		}
		return id, false
	}
	return id, true
}

func (h *Harness) measure(c *Continuity) {
	m := h.meter()
	base := map[graph.NetID]model.PinID{}
	order := map[model.PinID]int{}
	for i := range c.Groups {
		for j := range c.Groups[i].Rows {
			row := &c.Groups[i].Rows[j]
			row.Net = h.Graph.NetOf(row.Pin)
			order[row.Pin] = len(order)
			if _, seen := base[row.Net.ID]; !seen && !row.Empty {
				base[row.Net.ID] = row.Pin
			}
		}
	}
	for i := range c.Groups {
		for j := range c.Groups[i].Rows {
			h.fill(c, &c.Groups[i], &c.Groups[i].Rows[j], m, base, order)
		}
	}
}

func (h *Harness) fill(c *Continuity, g *Group, row *Cavity, m *meter, base map[graph.NetID]model.PinID, order map[model.PinID]int) {
	for _, id := range row.Net.Pins {
		if p, ok := h.point(id); id == row.Pin {
			continue
		} else if ok && p == id {
			row.Rings = append(row.Rings, id)
		} else {
			row.Buried = append(row.Buried, id)
		}
	}
	slices.SortStableFunc(row.Rings, func(a, b model.PinID) int { return cmp.Compare(order[a], order[b]) })
	row.Base = row.Pin
	if b, measured := base[row.Net.ID]; measured && !row.Empty {
		row.Base = b
	}
	if row.Base == row.Pin {
		for _, to := range row.Rings {
			row.Lines = append(row.Lines, h.line(m, row.Pin, to))
		}
	}
	row.Ground = h.ground[row.Pin] && c.Ground != model.NoPin && !row.Empty
	row.NotGround = c.Ground != model.NoPin && !m.touch(row.Pin, c.Ground)
	row.NotSupply = !slices.ContainsFunc(c.Supply, func(s model.PinID) bool { return m.touch(row.Pin, s) })
	for _, id := range h.neighbours(g, row) {
		if !m.touch(row.Pin, id) {
			row.Not = append(row.Not, id)
		}
	}
	if len(c.Stays) > 0 && !row.Empty {
		h.through(g, row, m, base)
	}
}

// touch reports whether a meter reads less than the insulation between two terminals on the bench.
func (m *meter) touch(a, b model.PinID) bool {
	return m.reaches.Find(int32(a)) == m.reaches.Find(int32(b))
}

func (h *Harness) line(m *meter, from, to model.PinID) Line {
	l := Line{To: to}
	l.Ohms, l.Known = m.between(from, to)
	if !l.Known {
		return l
	}
	path := h.Graph.Path(from, to, func(e *graph.Edge) bool { return e.Kind.Outside() })
	wires := 0.0
	for _, hop := range path {
		if hop.Edge.Wire == nil {
			continue
		}
		if b := h.branchOf(hop.Edge); b != nil {
			l.Marked = l.Marked || b.GuessedWire()
			wires += b.Ohms
		}
	}
	l.Marked = l.Marked || l.Ohms-wires > estimatedShare*l.Ohms
	return l
}

// neighbours are the cavities beside, above and below one in its housing; of a housing without a known grid, and of a part without a
// plug, the terminals before and behind it.
func (h *Harness) neighbours(g *Group, row *Cavity) []model.PinID {
	if c := g.Connector; c != nil && c.Rows != nil {
		return c.Neighbours(h.Netlist.Pin(row.Pin).Name)
	}
	at := slices.IndexFunc(g.Rows, func(r Cavity) bool { return r.Pin == row.Pin })
	var pins []model.PinID
	for _, i := range [...]int{at - 1, at + 1} {
		if i >= 0 && i < len(g.Rows) {
			pins = append(pins, g.Rows[i].Pin)
		}
	}
	return pins
}

// through finds what a terminal reads over parts that stay plugged, to one terminal of each net beyond.
func (h *Harness) through(g *Group, row *Cavity, m *meter, base map[graph.NetID]model.PinID) {
	seen := map[graph.NetID]int{}
	for i := range h.Graph.Edges {
		e := &h.Graph.Edges[i]
		if e.Part == nil || !e.Part.StaysPlugged.On || e.Kind == graph.Bolted || e.Kind.Outside() || !atRest(e) {
			continue
		}
		far := e.B
		if h.Graph.NetOf(e.B) == row.Net {
			far = e.A
		} else if h.Graph.NetOf(e.A) != row.Net {
			continue
		}
		net := h.Graph.NetOf(far)
		if n, known := seen[net.ID]; known {
			if by := &row.Through[n].By; !slices.Contains(*by, e.Part) {
				*by = append(*by, e.Part)
			}
			continue
		}
		to, ok := base[net.ID]
		if !ok {
			to = far
		}
		for _, id := range net.Pins {
			if h.Netlist.Pin(id).Owner == g.Owner {
				to = id
				break
			}
		}
		if ohms, ok := m.between(row.Pin, to); ok && net != row.Net {
			seen[net.ID] = len(row.Through)
			row.Through = append(row.Through, Through{To: to, Ohms: ohms, By: []*model.Part{e.Part}})
		}
	}
}

// branchOf is the branch of an edge; nil where a number is missing for one.
func (h *Harness) branchOf(e *graph.Edge) *circuit.Branch {
	if i, ok := h.branch[e]; ok {
		return &h.Circuit.Branches[i]
	}
	return nil
}
