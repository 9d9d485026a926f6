// Package layout turns a harness into placed and routed circuit diagrams in the current-track style: supply rails across
// the top, ground at the foot, current flowing down, every wire on a pitch.
//
// It takes a graph and gives Drawings: nodes with their ports at points, wires as orthogonal lines with a place for
// their lettering. It draws nothing. It may import the graph and the model below it, geom and font for measures; it
// alone imports Graphviz. It reads no clock and uses no randomness, so the same netlist gives the same drawing.
//
// How a diagram comes about, a file a step:
//
//	system.go     which schematic sheet a part or a wire belongs on
//	level.go      how far down between supply and ground each terminal lies: the direction of every wire
//	build.go      the nodes and edges of one sheet; marks where a wire goes on elsewhere
//	symbols.go    which parts are symbols in line and which are boxes
//	shape.go      how a symbol lies in its cell, with leads to wires that come from the other side
//	layer.go      rows, so that every edge leads down; long edges get a free column through each row that they pass
//	order.go      the order within each row, found by Graphviz (few crossings)
//	untangle.go   changes of that order while they save crossings of what is really drawn
//	column.go     columns for nodes, as straight above each other as the order allows
//	channel.go    the horizontal runs between two rows, so that no two wires lie on each other
//	fold.go       tall pieces cut, to go on beside themselves
//	drawing.go    pieces side by side, and micrometres
//
// Why nothing can overlap: symbols and their lettering stay within the cell that a node owns in its row; between two
// rows there is first a channel, which holds nothing but horizontal runs, then a zone in which every wire has a column
// of its own, and its lettering beside it, which may reach up along a straight wire where no run crosses. A wire that
// must pass a row owns a cell there. So no wire can meet a symbol or a text, and no text another, whatever the order; the
// geometry is tested all the same, and LAYOUT.md says in numbers how good the diagrams are.
package layout
