package rules

import "ferrule/netlist/circuit"

// GuessedOver names the consumers whose current goes over a branch in a state and is a guess of the file or assumed, in the order of the
// report.
func GuessedOver(r *circuit.Report, branch int) []string {
	var names []string
	for i := range r.Loads {
		l := &r.Loads[i]
		if l.Guessed && l.Drop.Passes(branch) && (len(names) == 0 || names[len(names)-1] != l.Ref) {
			names = append(names, l.Ref)
		}
	}
	return names
}

// MeasureFirst is what the help of a finding ends with when its numbers rest on guesses: nobody should buy wire for those. It is empty
// without names.
func MeasureFirst(guessed []string) string {
	if len(guessed) == 0 {
		return ""
	}
	return "; what " + Few(guessed) + Plural(len(guessed), " takes", " take") + " is guessed or assumed: measure it first"
}
