// Package operation holds the rules about what works in which key position, and what works when something is lost.
//
// It takes a rules.Pass and reports; it may import rules and the packages below netlist. Each file holds one rule; a file
// that is named for no rule holds what several here share.
package operation
