// Package bench holds the rules about what is bought and made for the harness before it goes into the vehicle.
//
// It takes a rules.Pass and reports; it may import rules and the packages below netlist. Each file holds one rule; a file
// that is named for no rule holds what several here share.
package bench
