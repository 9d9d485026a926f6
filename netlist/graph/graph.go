// Package graph joins the terminals of a netlist: by wires, splices, bus bars and mated cavities from outside, by
// contacts, fuses, coils and loads from inside. From that it derives nets, paths between terminals, and what is joined
// to what in a key position.
//
// It takes a model.Netlist and gives a Graph that nothing changes afterwards. It imports the model and nothing above it.
// All orders follow the file, so the same text gives the same nets, names and paths.
package graph

import (
	"ferrule/netlist/model"
)

// A Kind says what an edge is made of.
type Kind uint8

// The kinds of edges. Those up to Joined are conductors outside parts; Common, Bolted and Protect always carry current
// too; a contact carries it in some positions; the rest is what current works in.
const (
	Wire     Kind = iota + 1 // a wire of the file
	Link                     // a bus bar or factory jumper
	Mate                     // two cavities of an in-line pair that meet
	Joined                   // two terminals of a splice, stud or bus bar
	Common                   // two terminals that are one piece of metal inside a part
	Bolted                   // a ground point or a case on its body
	Protect                  // a fuse, breaker or link
	Open                     // a contact that is open at rest
	Closed                   // a contact that is closed at rest
	Position                 // a contact that a switch closes in one position
	Diode                    // A is the anode
	Coil                     // the winding of a relay
	Resistor                 // a fixed resistance
	Load                     // a consumer
	Source                   // a battery or generator; A is plus
)

// Conducts reports whether the edge carries current whatever the switches do and without doing work.
func (k Kind) Conducts() bool { return k >= Wire && k <= Protect }

// Outside reports whether the edge is a conductor outside parts: such edges make a net.
func (k Kind) Outside() bool { return k >= Wire && k <= Joined }

// Contact reports whether the edge is a contact that opens and closes.
func (k Kind) Contact() bool { return k == Open || k == Closed || k == Position }

// An Edge joins two terminals.
type Edge struct {
	A, B     model.PinID
	Kind     Kind
	Wire     *model.Wire // of a Wire
	Link     *model.Link // of a Link
	Part     *model.Part // of everything inside a part, and of Bolted
	Position int         // of a Position: the index of the switch position
	Index    int         // among the part's edges of this kind, in the order of the model
}

// Other returns the end of the edge that is not pin.
func (e *Edge) Other(pin model.PinID) model.PinID {
	if e.A == pin {
		return e.B
	}
	return e.A
}

// EdgeID numbers the edges from 0 without gaps.
type EdgeID int32

// NetID numbers the nets from 0 without gaps.
type NetID int32

// A Net is a set of terminals that conductors outside parts join.
type Net struct {
	ID     NetID
	Name   string // derived: see names.go
	Stated bool   // the name is one that the file states
	Pins   []model.PinID
}

// A Graph is a netlist with everything joined.
type Graph struct {
	Netlist *model.Netlist
	Edges   []Edge
	Nets    []Net

	netOf []NetID
	start []int32  // adjacency: the edges of pin p are ends[start[p]:start[p+1]]
	ends  []EdgeID // in the order of Edges
}

// New joins the terminals of a netlist.
func New(n *model.Netlist) *Graph {
	g := &Graph{Netlist: n}
	g.addWires()
	g.addOwners()
	for _, p := range n.Parts {
		g.addInside(p)
	}
	g.index()
	g.findNets()
	return g
}

func (g *Graph) add(e Edge) {
	if e.A != model.NoPin && e.B != model.NoPin && e.A != e.B {
		g.Edges = append(g.Edges, e)
	}
}

// addWires adds the wires and links, which the file lists one by one.
func (g *Graph) addWires() {
	n := g.Netlist
	g.Edges = make([]Edge, 0, 2*len(n.Wires)+len(n.Pins))
	for _, w := range n.Wires {
		if w.From.IsSet() && w.To.IsSet() {
			g.add(Edge{A: w.From.ID, B: w.To.ID, Kind: Wire, Wire: w})
		}
	}
	for _, l := range n.Links {
		for i := 1; i < len(l.Joins); i++ {
			g.add(Edge{A: l.Joins[0].ID, B: l.Joins[i].ID, Kind: Link, Link: l})
		}
	}
}

// addOwners joins mated cavities, and the terminals of whatever is one piece of metal.
func (g *Graph) addOwners() {
	for _, o := range g.Netlist.Owners {
		if o.Joined {
			for i := 1; i < len(o.Pins); i++ {
				g.add(Edge{A: o.Pins[0], B: o.Pins[i], Kind: Joined, Part: o.Part})
			}
		}
		c := o.Connector
		if c == nil || c.Mate == nil || c.Mate.Owner.Name.Text < c.Name.Text && c.Mate.Mate == c {
			continue // each pair is joined once, from its first half by name
		}
		for _, id := range o.Pins {
			if other, ok := c.Mate.Owner.Pin(g.Netlist.Pins[id].Name); ok {
				g.add(Edge{A: id, B: other, Kind: Mate})
			}
		}
	}
}

// addInside adds what a part brings: joints, fuses, contacts, coils, loads, sources, and the bolt to its body.
func (g *Graph) addInside(p *model.Part) {
	in := &p.Inside
	for _, group := range in.Joins {
		g.addGroup(p, group, Common, 0)
	}
	g.addPairs(p, in.Protects, Protect)
	g.addPairs(p, in.Open, Open)
	g.addPairs(p, in.Closed, Closed)
	g.addPairs(p, in.Coils, Coil)
	g.addPairs(p, in.Diodes, Diode)
	for i, r := range in.Resistors {
		g.add(Edge{A: r.A, B: r.B, Kind: Resistor, Part: p, Index: i})
	}
	for i, l := range in.Loads {
		g.add(Edge{A: l.A, B: l.B, Kind: Load, Part: p, Index: i})
	}
	for i, s := range in.Sources {
		g.add(Edge{A: s.Plus, B: s.Minus, Kind: Source, Part: p, Index: i})
	}
	for i := range in.Positions {
		for _, group := range in.Positions[i].Joins {
			g.addGroup(p, group, Position, i)
		}
	}
	if p.Body == nil || len(p.Owner.Pins) == 0 {
		return
	}
	bolted := p.Owner.Pins[0]
	if id, ok := p.Owner.Pin(model.CasePin); ok {
		bolted = id
	}
	g.add(Edge{A: bolted, B: p.Body.Pin, Kind: Bolted, Part: p})
}

func (g *Graph) addGroup(p *model.Part, group []model.PinID, kind Kind, position int) {
	for i := 1; i < len(group); i++ {
		g.add(Edge{A: group[0], B: group[i], Kind: kind, Part: p, Position: position, Index: i - 1})
	}
}

func (g *Graph) addPairs(p *model.Part, pairs []model.Pair, kind Kind) {
	for i, pair := range pairs {
		g.add(Edge{A: pair.A, B: pair.B, Kind: kind, Part: p, Index: i})
	}
}

// index builds the adjacency lists by counting sort: linear in the edges, and edges stay in their order.
func (g *Graph) index() {
	pins := len(g.Netlist.Pins)
	g.start = make([]int32, pins+1)
	for i := range g.Edges {
		g.start[g.Edges[i].A+1]++
		g.start[g.Edges[i].B+1]++
	}
	for p := range pins {
		g.start[p+1] += g.start[p]
	}
	g.ends = make([]EdgeID, 2*len(g.Edges))
	next := append([]int32(nil), g.start[:pins]...)
	for i := range g.Edges {
		for _, pin := range [...]model.PinID{g.Edges[i].A, g.Edges[i].B} {
			g.ends[next[pin]] = EdgeID(i)
			next[pin]++
		}
	}
}

// At returns the edges that end at a terminal, in the order of the file. The slice is the graph's own.
func (g *Graph) At(pin model.PinID) []EdgeID { return g.ends[g.start[pin]:g.start[pin+1]] }

// Edge returns the edge of an ID.
func (g *Graph) Edge(id EdgeID) *Edge { return &g.Edges[id] }

// NetOf returns the net that a terminal is on.
func (g *Graph) NetOf(pin model.PinID) *Net { return &g.Nets[g.netOf[pin]] }

// WiresAt returns the wires that end at a terminal, in the order of the file.
func (g *Graph) WiresAt(pin model.PinID) []*model.Wire {
	var wires []*model.Wire
	for _, id := range g.At(pin) {
		if e := &g.Edges[id]; e.Kind == Wire {
			wires = append(wires, e.Wire)
		}
	}
	return wires
}

// Reached reports whether a conductor from outside (a wire, a link, a mated cavity) ends at the terminal.
func (g *Graph) Reached(pin model.PinID) bool {
	for _, id := range g.At(pin) {
		if k := g.Edges[id].Kind; k == Wire || k == Link || k == Mate {
			return true
		}
	}
	return false
}
