// Package signals holds the rules about sensors, data buses and the inputs and outputs of controllers.
//
// It takes a rules.Pass and reports; it may import rules and the packages below netlist. Each file holds one rule; a file
// that is named for no rule holds what several here share.
package signals
