// Package routing holds the rules about where wires run: lengths, holes, joints, heat and moving parts.
//
// It takes a rules.Pass and reports; it may import rules and the packages below netlist. Each file holds one rule; a file
// that is named for no rule holds what several here share.
package routing
