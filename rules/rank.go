package rules

import (
	"cmp"
	"slices"

	"ferrule/netlist/diag"
)

// A Group is one cause: the worst finding about it, and the findings that follow from the same thing.
type Group struct {
	Rank  Rank
	Head  diag.Diagnostic
	Under diag.List
}

// A Rank is how soon a person should look at a finding. The worst is the last.
type Rank uint8

// The ranks. What a text gets wrong comes first: it cannot be built, and findings of the rules may follow from it.
const (
	Remarks Rank = iota
	ThatAnnoys
	ThatStrands
	ThatBurns
	OfTheText
)

var rankWords = [...]string{"Worth knowing", "What annoys", "What strands", "What burns", "What the text gets wrong"}

// String is the heading that reports put over findings of the rank.
func (r Rank) String() string { return rankWords[min(int(r), len(rankWords)-1)] }

// RankOf returns the rank of a finding: what its rule's mistake does; notes are remarks.
func RankOf(d *diag.Diagnostic) Rank {
	r := Find(d.Rule)
	switch {
	case d.Severity <= diag.Note:
		return Remarks
	case r == nil && (d.Rule == "stale-accept" || d.Rule == "bad-accept"):
		return ThatAnnoys
	case r == nil:
		return OfTheText
	}
	return ThatAnnoys + Rank(r.Harm-Annoys)
}

// Grouped orders findings as a person should read them: by rank, errors before warnings, and then by place. A finding
// whose main designator a finding before it is about hangs under that one: it is likely to go away with it. So does one that
// says which finding it follows from, but for remarks.
func Grouped(list diag.List) []Group {
	causes := map[string]bool{}
	for i := range list {
		causes[list[i].After] = true
	}
	sorted := slices.Clone(list)
	slices.SortStableFunc(sorted, func(a, b diag.Diagnostic) int {
		if byRank := cmp.Compare(RankOf(&b), RankOf(&a)); byRank != 0 {
			return byRank
		}
		if x, y := causes[a.Key()], causes[b.Key()]; x != y {
			return map[bool]int{true: -1, false: 1}[x]
		}
		return cmp.Compare(b.Severity, a.Severity)
	})
	var groups []Group
	heads, first := map[about]int{}, map[string]int{} // index of the group that is about it, and of that with the finding of a key at its head
	for _, d := range sorted {
		rank := RankOf(&d)
		at, ok := first[d.After]
		if !ok || d.After == "" || rank == Remarks {
			at, ok = heads[mainOf(&d)]
		}
		if ok && rank != OfTheText {
			groups[at].Under = append(groups[at].Under, d)
			continue
		}
		if _, taken := first[d.Key()]; !taken {
			first[d.Key()] = len(groups)
		}
		for _, ref := range d.Refs {
			key := about{ref, rank == Remarks}
			if _, taken := heads[key]; !taken {
				heads[key] = len(groups)
			}
		}
		groups = append(groups, Group{Rank: rank, Head: d})
	}
	return groups
}

// about is what a group is about: a designator, mistakes and remarks apart.
type about struct {
	ref    string
	remark bool
}

// mainOf is what a finding itself is about.
func mainOf(d *diag.Diagnostic) about {
	if len(d.Refs) == 0 {
		return about{}
	}
	return about{d.Refs[0], RankOf(d) == Remarks}
}
