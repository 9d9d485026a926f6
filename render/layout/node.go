package layout

import (
	"ferrule/netlist/model"
	"ferrule/render/geom"
)

// A Form says how a node is drawn.
type Form uint8

// The forms of nodes.
const (
	Inline  Form = iota + 1 // a symbol with one port above and one below
	Box                     // a box with ports above and below, their names inside
	Joint                   // a bar that joins its ports: splice, bus bar, stud
	Ground                  // a ground symbol; drawn anew for every wire
	Mark                    // a wire goes on elsewhere
	Loose                   // a part without any wire
	passing                 // a wire on its way through a row
)

// A Node is one appearance of a part, a splice, a cavity or a ground on a diagram.
type Node struct {
	Form   Form
	Symbol string // of the symbol set; for Inline, Box and Loose
	Kind   string // for data-kind: "part", "splice", "connector", "link", "ground", "mark"
	Ref    string // designator
	Title  string // the device in words; may be empty
	Lines  []string
	// Partner is "coil" on a relay's contact and "contact" on its coil: the first line of Lines is then a place kept for
	// the words that say where the other is drawn.
	Partner string
	Part    *model.Part
	Top     []*Port
	Bottom  []*Port
	Cell    geom.Rect // what the node owns in its row
	Body    geom.Rect // the box or bar itself; for Inline the symbol's place, ports not included

	Other *Target // of a Mark: where the wire goes on

	key       string
	pins      []model.PinID
	level     float64
	row, col  int
	width     int // columns
	height    geom.Length
	headDepth geom.Length // of a Box: what the lettering of the ports above takes
	footDepth geom.Length
	index     int
	x         float64 // from the ordering
}

// A Port is a terminal on a node with one wire or link at it.
type Port struct {
	Pin    model.PinID // NoPin on a joint's own ports without terminal names
	Name   string      // the terminal, and in a module what it does
	Lines  []string    // the same as lettered in a box
	At     geom.Point  // where the wire ends, at the symbol
	Edge   *Edge
	node   *Node
	offset int // columns from the left of the node
}

// A Target is where a wire goes on: a terminal on another diagram, by a mark or by the wire itself.
type Target struct {
	Pin   model.PinID
	Wire  *model.Wire // nil for a link
	Link  *model.Link
	Drawn bool // the wire itself is drawn there, and here only its end
}

// An Edge is a wire or a link on a diagram, or the drop from a rail.
type Edge struct {
	Wire  *model.Wire // nil for a link or a stub
	Stub  *model.Wire // a wire that is drawn on another diagram and of which this is the end
	Link  *model.Link
	Rail  *Rail // the rail that it hangs from instead of an upper node
	Upper *Port // nil when it hangs from a rail
	Lower *Port
	Line  geom.Polyline
	Label Label // of a wire

	chain []*Node // the passing nodes from top to bottom
	bends []bend  // one each gap
}

// A Label is a place for lettering that reads upwards beside a wire.
type Label struct {
	Text string
	At   geom.Point // start of the baseline, at the lower end
}

// A Rail is a supply rail across the top.
type Rail struct {
	Name  string // "30"
	Link  *model.Link
	Y     geom.Length
	Left  geom.Length
	Right geom.Length
}

// Node returns the node that the port is on.
func (p *Port) Node() *Node { return p.node }

// HeadDepth is what the lettering of the ports above takes of a box.
func (n *Node) HeadDepth() geom.Length { return n.headDepth }
