// Package built keeps the as-built status of a harness: how far each wire is, and what was made when it was marked.
//
// It takes a netlist and the text of its status file, NAME.built.toml beside NAME.toml, and gives the status of every wire,
// what of it is older than the netlist, and the text with new marks in it; it opens and writes no file. It may import
// netlist/model with what that imports, and netlist/edit, by which a line that is there is changed by spans.
//
// The file is made to be read and edited by a person and to be merged by git, so that each wire is one line:
//
//	[built]
//	of = "truck.toml"      # the netlist that it belongs to
//
//	[wire]                 # in natural order; a wire without a line is planned
//	60c = { stage = "installed", revision = "A", size = "12 AWG", color = "OG/BK", from = "X2:9", to = "M1:1", length = "3 m" }
//
// The stage is planned, cut, crimped, installed or tested, and includes those before it. The revision is that of the netlist
// when the stage was marked; size, colour, ends and length are what the netlist said then and so what was made. As long as a
// piece of wire stays the same piece, a later mark leaves what was made alone: a netlist that says something else by then makes
// the piece older than the netlist, and the person who marks has to say which of the two is true.
package built
