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
// whose main designator a finding before it is about hangs under that one: it is likely to go away with it.
func Grouped(list diag.List) []Group {
	sorted := slices.Clone(list)
	slices.SortStableFunc(sorted, func(a, b diag.Diagnostic) int {
		return cmp.Or(cmp.Compare(RankOf(&b), RankOf(&a)), cmp.Compare(b.Severity, a.Severity))
	})
	var groups []Group
	heads := map[about]int{} // index of the group that is about it
	for _, d := range sorted {
		rank := RankOf(&d)
		if at, ok := heads[mainOf(&d)]; ok && rank != OfTheText {
			groups[at].Under = append(groups[at].Under, d)
			continue
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
