package routing

import (
	"cmp"
	"fmt"
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "splice-place", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a splice lies where it breaks, jams or corrodes",
	Doc: `In the vehicle a splice is stiff and thicker than its wires: in a grommet it jams and is drawn apart, where the loom bends the
strands break at the edge of the barrel, and in spray an open splice is green in a winter; two side by side make a bulge that no tube
goes over. The rule fires where the place of a splice has a hole, where it lies between two paths that flex, and where its zone is wet and
the splice is not sealed = true. Where the file says how far along a path a splice lies (toward, distance), it fires instead for less
than 50 mm from either end of the path, for a path that flexes, and for less than 40 mm between two on one path.

A splice where a single flexing path ends lies behind the bend, as in the shell of a head lamp, and is silent. A splice in a dry
zone needs no seal. A splice without a place is said under no-data where the file has places at all, and so are several at one place
whose distances are not stated: whether they lie in one bulge cannot be told.

Move it 50 mm or more along the loom; stagger those that lie at one place; write sealed = true where it has a sleeve with adhesive.`,
	Sources: []string{
		"common practice: no splice in a grommet or where it flexes, 50 mm from both and from branches and connectors, 40 mm from the next splice; " +
			"in wet zones adhesive-lined sleeves only",
	},
	Settings: []rules.Setting{
		{Key: "clear", Dim: unit.Length, Default: 0.05, Doc: "from a branch, a connector or a hole; common practice"},
		{Key: "apart", Dim: unit.Length, Default: 0.04, Doc: "between two splices on one path; common practice"},
	},
	Bad: `[zone.bay]
wet = true
[place]
A = { zone = "bay" }
[splice]
SP1 = { at = "A" }
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "SP1:1", size = "18 AWG", length = "1 m" }
W2 = { from = "SP1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
`,
	Good: `[zone.bay]
wet = true
[place]
A = { zone = "bay" }
[splice]
SP1 = { at = "A", sealed = true }
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "SP1:1", size = "18 AWG", length = "1 m" }
W2 = { from = "SP1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
`,
	Run: func(p *rules.Pass) {
		flexing := map[*model.Place][]*model.Path{}
		for _, path := range p.Netlist.Paths {
			for _, end := range [...]*model.Place{path.From, path.To} {
				if path.Flex.On && end != nil {
					flexing[end] = append(flexing[end], path)
				}
			}
		}
		for _, s := range p.Netlist.Splices {
			switch {
			case s.Spare.On:
			case s.Place == nil && len(p.Netlist.Paths) > 0:
				p.Lacks("place of the splice", `add at = "PLACE"`, s.Name.Span, s.Name.Text)
			case s.Place != nil:
				judgeSplice(p, s, flexing[s.Place])
			}
		}
		staggered(p)
		bulges(p)
	},
})

// staggered holds splices on one path against each other.
func staggered(p *rules.Pass) {
	for _, path := range p.Netlist.Paths {
		var on []*model.Splice
		for _, s := range p.Netlist.Splices {
			if s.Along == path && s.Distance.IsSet() && !s.Spare.On {
				on = append(on, s)
			}
		}
		slices.SortStableFunc(on, func(a, b *model.Splice) int { return cmp.Compare(fromEnd(a), fromEnd(b)) })
		for i := 1; i < len(on); i++ {
			a, b := on[i-1], on[i]
			apart := fromEnd(b) - fromEnd(a)
			if apart >= p.Setting("apart")-closeLengths {
				continue
			}
			d := p.Report(b.Distance.Span, []string{b.Name.Text, a.Name.Text, path.Name.Text}, "splices %s and %s lie %s apart on path %s", a.Name.Text, b.Name.Text, millimetres(apart), path.Name.Text)
			d.Help = fmt.Sprintf("lay them %s apart or more, so that they do not make one bulge", millimetres(p.Setting("apart")))
			d.Related = []diag.Related{{Span: a.Distance.Span, Message: "the other one"}}
		}
	}
}

// closeLengths is how near two lengths in m may be and count as equal.
const closeLengths = 1e-9

// fromEnd is how far a splice lies from the end of its path that the file names first.
func fromEnd(s *model.Splice) float64 {
	if s.Along.From == s.Place {
		return s.Distance.Value
	}
	return s.Along.Length.Value - s.Distance.Value
}

// bulges tells which splices share a place without saying where along the loom each lies.
func bulges(p *rules.Pass) {
	if len(p.Netlist.Paths) == 0 {
		return
	}
	at := map[*model.Place][]*model.Splice{}
	for _, s := range p.Netlist.Splices {
		if _, laid := s.Lies(); !laid && s.Place != nil && !s.Spare.On {
			at[s.Place] = append(at[s.Place], s)
		}
	}
	for _, s := range p.Netlist.Splices {
		if len(at[s.Place]) > 1 && slices.Contains(at[s.Place], s) {
			p.Lacks("distance of the splice along the loom, where several lie at one place", `add toward = "PLACE", distance = "60 mm"`, s.Name.Span, s.Name.Text)
		}
	}
}

// judgeLaid judges a splice whose distance along a path is stated.
func judgeLaid(p *rules.Pass, s *model.Splice) {
	refs := []string{s.Name.Text, s.Along.Name.Text}
	if s.Along.Flex.On {
		d := p.Report(s.TowardName.Span, refs, "splice %s lies in path %s, which bends in use", s.Name.Text, s.Along.Name.Text)
		d.Help = "move it to a path that lies still"
	}
	clear := p.Setting("clear")
	for _, end := range []struct {
		place  *model.Place
		metres float64
		known  bool
	}{{s.Place, s.Distance.Value, true}, {s.Toward, s.Along.Length.Value - s.Distance.Value, s.Along.Length.IsSet()}} {
		if !end.known || end.metres >= clear-closeLengths {
			continue
		}
		what := "place"
		if end.place.Hole.IsSet() {
			what = "hole at"
		}
		d := p.Report(s.Distance.Span, append(refs, end.place.Name.Text), "splice %s lies %s from %s %s", s.Name.Text, millimetres(end.metres), what, end.place.Name.Text)
		d.Help = fmt.Sprintf("move it %s or more away from branches, connectors and holes", millimetres(clear))
	}
}

func judgeSplice(p *rules.Pass, s *model.Splice, flexing []*model.Path) {
	at := s.PlaceName.Span
	if at.IsZero() {
		at = s.Name.Span
	}
	refs := []string{s.Name.Text, s.Place.Name.Text}
	_, laid := s.Lies()
	if laid {
		judgeLaid(p, s)
	}
	if s.Place.Hole.IsSet() && !laid {
		d := p.Report(at, refs, "splice %s lies in the hole at %s", s.Name.Text, s.Place.Name.Text)
		d.Help = "move it 50 mm or more along the loom, to a place beside the hole"
	}
	if len(flexing) > 1 && !laid {
		paths := pathNames(flexing)
		d := p.Report(at, append(refs, paths...), "splice %s lies at %s, in the middle of %s, which bend in use", s.Name.Text, s.Place.Name.Text, rules.And(paths))
		d.Help = "move it away from what bends, to the next place"
	}
	if z := s.Place.Zone; z != nil && z.Wet.On && !s.Sealed.On {
		d := p.Report(s.Name.Span, append(refs, z.Name.Text), "splice %s lies in wet zone %s and is not sealed", s.Name.Text, z.Name.Text)
		d.Help = "close it with an adhesive-lined sleeve and write sealed = true"
	}
}
