// Package circuit solves a harness as an electrical network: volts at every terminal and amperes in every wire, in every
// state of the file.
//
// It takes a graph, the routes that give wires their lengths, and a state; it gives a Solution that says how far it can
// be trusted: its residual, the terminals that float, and every number that was assumed because the file states none. It
// may import the graph and the packages below it, netlist/route, netlist/conductor and netlist/circuit/sparse.
//
// How a state is solved. Terminals are the nodes, every edge of the graph a branch with a conductance; open contacts are
// branches of none, so all states share one pattern and one elimination order. What is not linear is taken as linear and
// corrected until nothing changes: consumers of a given current or power by their conductance at the last voltage,
// diodes as on or off, generators as holding their voltage or at their limit, wires at the temperature that their
// current gives them. Relays pull in and drop out at their own voltages; a set of relays that comes round to a position
// it had before works against itself, and is reported as a cycle.
//
//	network.go   branches and what is known of them
//	assume.go    numbers that stand in for what a file leaves open, each with its source
//	solve.go     the iteration
//	solution.go  what comes out, and questions about it
package circuit
