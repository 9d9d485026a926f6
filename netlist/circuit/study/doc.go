// Package study asks of a solved harness what happens when something goes wrong: what a dead short does (Faults), what
// becomes live over ways that nobody meant when a fuse is out, a ground is lifted, a connector is unplugged or a switch is moved
// (Sneaks), what goes dead without one thing (Without), and over which wires and cavities a terminal is fed (Trace).
//
// It takes a graph and the routes that give wires their lengths, and gives plain records with amperes, volts, ohms and
// seconds in fields that say so. It may import netlist/circuit and what that imports; it prints nothing.
//
// The difference between meant and not meant is drawn as follows. A consumer is properly fed when conductors, fuses, closed
// contacts, forward diodes and driven outputs join one end of it to the plus of a battery or of a charging generator, and the
// other to its minus. One that carries current without that is fed through other consumers, by a motor that still turns, or
// by a minor terminal of a generator: that is a sneak path. Chains that the declared states show too, such as a gauge and its
// sender, are taken as built on purpose and listed apart.
//
//	study.go    the harness, its consumers and rails
//	feed.go     what is properly fed
//	cases.go    what can be taken out or moved
//	sneak.go    the search, and what it costs
//	oneway.go   the way that current has in a fuse, and what is fed against it
//	effect.go   what a case does to a consumer, and how bad that is
//	fault.go    dead shorts;  feeds.go what they are fed from and shorted to;  thevenin.go the network behind them, upstream.go the way to the source
//	trace.go    chains of hops
//	without.go  one case in all states
package study
