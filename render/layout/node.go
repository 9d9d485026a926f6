package layout

import (
	"strings"

	"ferrule/netlist/model"
	"ferrule/render/font"
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
	// Partner is "coil" on a relay's contact and "contact" on its coil: Lines[PartnerLine] is then a place kept for the
	// words that say where the other is drawn.
	Partner     string
	PartnerLine int
	// Also is the number of other diagrams that show a bar again, and AlsoLines the lines kept for naming them.
	Also, AlsoLines int
	Part            *model.Part
	Top             []*Port
	Bottom          []*Port
	Cell            geom.Rect // what the node owns in its row
	Body            geom.Rect // the box or bar itself; for Inline the symbol's place, ports not included

	// Of a node with a symbol in line, and of a box with a terminal that has wires above and below: the thin lines within
	// the cell from the ports to the symbol, and the dots where they part.
	Leads []geom.Polyline
	Dots  []geom.Point
	Axis  geom.Length // x of the symbol's leads
	Side  geom.Length // x at which the lettering beside a symbol begins
	Names []Lettering // terminals lettered at the symbol
	// Swapped says that the contact of a changeover which is joined at rest stands on the right.
	Swapped bool
	Case    bool // the foot of the symbol is bolted to the metal of the vehicle

	Other *Target // of a Mark: where the wire goes on

	shape     shape
	returns   int // columns beside a box for terminals with wires above and below
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
	offset int  // columns from the left of the node
	second bool // of a box: a further wire at the terminal, which is lettered at the first
	back   bool // of a box: below, while the terminal is above
}

// A Lettering is the name of a terminal, level, beside the lead of a symbol.
type Lettering struct {
	Text string
	At   geom.Point // the end of the baseline next to the lead
	Left bool       // it stands to the left of the point
}

// A Target is where a wire goes on: a terminal on another diagram, by a mark or by the wire itself.
type Target struct {
	Pin   model.PinID
	Wire  *model.Wire // nil for a link
	Link  *model.Link
	Drawn bool // the wire itself is drawn there, and here only its end
	// Others is the number of other diagrams that hang on a bar or rail which is fed here: the mark names them all, on
	// as many Lines as are kept for them. 0 on a mark that names one place.
	Others, Lines int
	Screen        *model.Cable // the mark stands for the screen of a cable
}

// An Edge is a wire or a link on a diagram, or the drop from a rail.
type Edge struct {
	Wire *model.Wire // nil for a link or a stub
	Stub *model.Wire // a wire that is drawn on another diagram and of which this is the end
	Link *model.Link
	// Screen is the cable whose screen is tied to the terminal at one end; the other end is a mark.
	Screen *model.Cable
	Rail   *Rail // the rail that it hangs from instead of an upper node
	Upper  *Port // nil when it hangs from a rail
	Lower  *Port
	Line   geom.Polyline
	Label  Label // of a wire

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
	Feed  model.PinID // the terminal that feeds it
	Y     geom.Length
	Left  geom.Length
	Right geom.Length
	Room  geom.Length // for the words at it
	Words geom.Point  // right end of the baseline for where the rail is fed
}

// Node returns the node that the port is on.
func (p *Port) Node() *Node { return p.node }

// HeadDepth is what the lettering of the ports above takes of a box.
func (n *Node) HeadDepth() geom.Length { return n.headDepth }

// First reports whether the port is lettered; further wires at the same terminal of a box are not.
func (p *Port) First() bool { return !p.second && !p.back }

// NameText is the name of the rail as lettered at its left end.
func (r *Rail) NameText() string {
	return font.Fit(font.Bold, JointHeight, r.Name, railMargin-4*geom.MM)
}

// RailText words on which other sheets a rail is drawn.
func RailText(sheets []string) string { return "also on " + strings.Join(sheets, ", ") }
