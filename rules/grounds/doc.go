// Package grounds holds the rules about the way back: ground points, straps, sensor ground and screens.
//
// It takes a rules.Pass and reports; it may import rules and the packages below netlist. Each file holds one rule; a file
// that is named for no rule holds what several here share.
package grounds
