package sheet

import "ferrule/netlist/model"

// CompareNatural is the order of everything that is listed by designator.
func CompareNatural(a, b string) int { return model.CompareNatural(a, b) }
