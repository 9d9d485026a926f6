// Package switching holds the rules about relays, switches, coils and what quenches them.
//
// It takes a rules.Pass and reports; it may import rules and the packages below netlist. Each file holds one rule; a file
// that is named for no rule holds what several here share.
package switching
