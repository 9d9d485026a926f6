// Package terminals holds the rules about what sits in cavities: terminals, seals, plugs and the housings around them.
//
// It takes a rules.Pass and reports; it may import rules and the packages below netlist. Each file holds one rule; a file
// that is named for no rule holds what several here share.
package terminals
