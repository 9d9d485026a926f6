package rules

import (
	"cmp"
	"slices"

	"ferrule/netlist/diag"
)

// A Group is one cause: the worst finding about it, and the findings that follow from the same thing.
type Group struct {
	Head  diag.Diagnostic
	Under diag.List
}

// Rank orders findings as a person should read them: errors before warnings, among those what burns before what strands
// and what annoys, and then by place. A finding whose main designator a worse one is about hangs under that one: it is
// likely to go away with it.
func Rank(list diag.List) []Group {
	sorted := slices.Clone(list)
	slices.SortStableFunc(sorted, func(a, b diag.Diagnostic) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(harmOf(b.Rule), harmOf(a.Rule)))
	})
	var groups []Group
	head := map[string]int{} // the group that is about a designator
	for _, d := range sorted {
		if len(d.Refs) > 0 {
			if at, ok := head[d.Refs[0]]; ok {
				groups[at].Under = append(groups[at].Under, d)
				continue
			}
		}
		for _, ref := range d.Refs {
			if _, taken := head[ref]; !taken {
				head[ref] = len(groups)
			}
		}
		groups = append(groups, Group{Head: d})
	}
	return groups
}

// harmOf is what a finding's rule does; what the language itself refuses cannot be built at all and comes first.
func harmOf(name string) Harm {
	if r := Find(name); r != nil {
		return r.Harm
	}
	return Burns
}
