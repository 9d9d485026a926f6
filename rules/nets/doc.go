// Package nets holds the rules about what is joined to what: nets, names, colours and counts of wires.
//
// It takes a rules.Pass and reports; it may import rules and the packages below netlist. Each file holds one rule; a file
// that is named for no rule holds what several here share.
package nets
