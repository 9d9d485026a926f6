// Package fuses holds the rules about what protects: fuses, breakers and links from the source to the load.
//
// It takes a rules.Pass and reports; it may import rules and the packages below netlist. Each file holds one rule; a file
// that is named for no rule holds what several here share.
package fuses
