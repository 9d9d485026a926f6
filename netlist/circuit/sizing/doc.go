// Package sizing finds, for every wire, the smallest standard size that meets all limits, and for every fuse the ratings that
// suit both its loads and the wires behind it.
//
// It takes a graph and its routes, solves every state of the file (netlist/circuit), and gives a Report; Revise works out what
// of the text must change, and gives the new text (netlist/edit). It may import netlist, netlist/edit, netlist/circuit and what
// those import. It opens no file.
//
// The limits of a wire:
//
//   - ampacity: the continuous current, duty taken as its effective value, under 33 CFR 183.425 table 5 at the hottest ambient
//     along the wire, times the factor of the bundle: the wires that share one path of the wire and carry more than a
//     quarter of their table current in the same state;
//   - branch drop and loop drop: the budgets of each load that the wire serves, at the current of the state;
//   - fuse: the rating of the fuse ahead does not exceed the ampacity of the single wire at its ambient, up to the next fuse
//     or the first consumer; behind no fuse, what stands in series does not either: see series.go;
//   - terminal: the sizes that the barrels of the terminals at its two ends take, where the file states them;
//   - mechanical: 20 AWG or 0.5 mm2 for a wire that runs alone and uncovered, 22 AWG or 0.35 mm2 in a loom.
//
// How a budget is shared. The current of each consumer is followed through the solved network to the posts of the battery; where
// wires join, each consumer has its proportional part (J. Bialek, "Tracing the flow of electricity", IEE Proc. Gener. Transm.
// Distrib. 143, 1996). What contacts and fuses lose is taken off the budget; the rest is shared out by the length of wire. A
// wire may use its share or what the others leave of the budget as they are written, whichever is more: so a wire is too thin
// for a drop only when the budget of some load is overdrawn. When a load's own branch keeps its target, what its loop loses beyond
// the limit is held against the feeders and grounds that it shares, not against its own wires. Where contacts, fuses
// and such wires use more than four fifths of a budget, no wire is blamed: the report says so at the wire of the consumer. While a starter turns, only its own budget counts.
//
//	study.go     Report, and how a study runs
//	trace.go     which consumer's current flows where
//	bundle.go    how many loaded wires lie together
//	drop.go      budgets and how they are shared
//	zone.go      which wires each fuse protects
//	series.go    what stands in series with wires behind no fuse: returns, jumpers, leads of sources
//	wire.go      limits of wires
//	terminal.go  limits of what is crimped on
//	fuse.go      spans of fuses
//	revise.go    what must change, and the text with the changes
package sizing
