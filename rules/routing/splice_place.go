package routing

import (
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "splice-place", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a splice lies where it breaks, jams or corrodes",
	Doc: `In the vehicle a splice is stiff and thicker than its wires: in a grommet it jams and is drawn apart, where the loom bends the
strands break at the edge of the barrel, and in spray an open splice is green in a winter. The rule fires where the place of a
splice has a hole, where it lies between two paths that flex, and where its zone is wet and the splice is not sealed = true.

A splice where a single flexing path ends lies behind the bend, as in the shell of a head lamp, and is silent. A splice in a dry
zone needs no seal. A splice without a place is said under no-data where the file has places at all.

Move it 50 mm or more along the loom, to a place of its own; write sealed = true where it has a sleeve with adhesive.`,
	Sources: []string{"common practice: no splice in a grommet or where it flexes, 50 mm from both; in wet zones adhesive-lined sleeves only"},
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
	},
})

func judgeSplice(p *rules.Pass, s *model.Splice, flexing []*model.Path) {
	at := s.PlaceName.Span
	if at.IsZero() {
		at = s.Name.Span
	}
	refs := []string{s.Name.Text, s.Place.Name.Text}
	if s.Place.Hole.IsSet() {
		d := p.Report(at, refs, "splice %s lies in the hole at %s", s.Name.Text, s.Place.Name.Text)
		d.Help = "move it 50 mm or more along the loom, to a place beside the hole"
	}
	if len(flexing) > 1 {
		paths := pathNames(flexing)
		d := p.Report(at, append(refs, paths...), "splice %s lies at %s, in the middle of %s, which bend in use", s.Name.Text, s.Place.Name.Text, rules.And(paths))
		d.Help = "move it away from what bends, to the next place"
	}
	if z := s.Place.Zone; z != nil && z.Wet.On && !s.Sealed.On {
		d := p.Report(s.Name.Span, append(refs, z.Name.Text), "splice %s lies in wet zone %s and is not sealed", s.Name.Text, z.Name.Text)
		d.Help = "close it with an adhesive-lined sleeve and write sealed = true"
	}
}
