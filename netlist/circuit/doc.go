// Package circuit solves a harness as an electrical network: volts at every terminal and amperes in every wire, in every
// state of the file.
//
// It takes a graph, the routes that give wires their lengths, and a state; it gives a Solution that says how far it can
// be trusted: its residual, the terminals that float, and every number that was assumed because the file states none. It
// may import the graph and the packages below it, netlist/route, netlist/conductor, netlist/fusecurve and netlist/circuit/sparse.
//
// How a state is solved. Terminals are the nodes, every edge of the graph a branch with a conductance; open contacts are
// branches of none, so all states share one pattern and one elimination order. What is not linear is taken as linear and
// corrected until nothing changes: consumers by their conductance at the last voltage and, once nothing jumps any more, by
// Newton's method; diodes as on or off; generators as holding their voltage, at their limit or held off; wires at the
// temperature that their current gives them. Relays are asked when the voltages of their positions are nearly at rest;
// they pull in and drop out at their own voltages, which a hot winding raises. Relays that come round to positions they
// had before work against each other, and are reported as a cycle or, where one wins, as a race.
//
// What a state answers. Solution has all that it drives on at once: its currents are peaks. SolveMean has the means over
// time, which batteries and generators feel; RMS of both warms wires. Report judges each consumer while it is on and all
// others take their means: the drop on its way against its Budget (drop.go says what counts as whose), fuses and wires
// against what they may carry, contacts against their rating, outputs against their limit, the leads of generators against their
// budget, and the Balance of the sources. Circumstances does the same for what differs from the states in one thing.
//
// A Circuit does not change after New; several goroutines may Solve with it at the same time.
//
//	network.go   branches and what is known of them
//	shunt.go     resistors that are conductors
//	joint.go     resistances of contacts and joints, stated or estimated
//	assume.go    numbers that stand in for what a file leaves open, each with its source
//	estimate.go  how often each of them is taken, and what rests on them
//	engine.go    what the engine does in a state
//	solve.go     the iteration            laws.go  conductances    relays.go  pull-in, drop-out, cycles
//	solver.go    the memory that a solution works in
//	solution.go  what comes out, and questions about it
//	duty.go      means and effective values
//	derived.go   circumstances that differ from a state in one thing
//	excess.go    what comes nearer to its limit in them
//	drop.go, budget.go, report.go, balance.go, contacts.go, outputs.go, leads.go  what a state answers
package circuit
