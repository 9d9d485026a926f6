// Package wires holds the rules about what wires carry: current, drop, heat and the metal that they need.
//
// It takes a rules.Pass and reports; it may import rules and the packages below netlist. Each file holds one rule; a file
// that is named for no rule holds what several here share.
package wires
