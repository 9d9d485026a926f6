package routing

import (
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "stiff-at-hinge", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a wire over a path that bends is too stiff or too short for it",
	Doc: `In the vehicle a door is opened twenty thousand times, an engine rocks at every start, and copper that is bent breaks: a solid
or seven-strand core first, and a wire without a loop at its terminal. The rule takes wires along a path with flex = true and fires
where the wire has fewer than 19 strands (write strands = 19), and where its length is stated and leaves less than 150 mm over the
way, or its slack is stated and is less than that.

Strands, slack or length that are not stated are said under no-data. A wire that is too short for its way even without bending
is another rule's matter.

Take cable of 19 strands or more, and leave a loop: length or slack.`,
	Sources: []string{"common practice: 19 strands or more where it flexes; 0.15 m for a hinge or an engine that rocks; a bend of ten diameters"},
	Settings: []rules.Setting{{Key: "loop", Dim: unit.Length, Default: 0.15,
		Doc: "what a wire over a path that bends must have beyond its way; common practice"}},
	Bad:  hingeExample(7),
	Good: hingeExample(19),
	Run: func(p *rules.Pass) {
		l := layOf(p)
		said := map[*model.Wire]bool{}
		for _, path := range p.Netlist.Paths {
			if !path.Flex.On {
				continue
			}
			for _, w := range l.on[path] {
				if !said[w] {
					said[w] = true
					judgeFlexing(p, l, path, w)
				}
			}
		}
	},
})

func hingeExample(strands int) string {
	return fmt.Sprintf(`[place]
A = {}
B = {}
[path]
A-B = { between = ["A", "B"], length = "1 m", flex = true }
[part]
F1 = { kind = "fuse", rating = "5 A", at = "A", spare = true }
E1 = { kind = "lamp", load = "5 W", at = "B", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG", slack = "0.2 m", strands = %d }
`, strands)
}

// leastStrands is what makes a wire flexible: common practice, and the second construction of SAE J1128.
const leastStrands = 19

func judgeFlexing(p *rules.Pass, l *lay, path *model.Path, w *model.Wire) {
	refs := []string{w.Name.Text, path.Name.Text}
	switch {
	case w.Strands == 0:
		p.Lacks("count of strands", "add strands = 19 to each, as the reel says", w.Name.Span, w.Name.Text)
	case w.Strands < leastStrands:
		at := w.SizeSpan
		if at.IsZero() {
			at = w.Name.Span
		}
		d := p.Report(at, refs, "%s runs over path %s, which bends, and has %d %s: %d at least", w.Name.Text, path.Name.Text,
			w.Strands, rules.Plural(w.Strands, "strand", "strands"), leastStrands)
		d.Help = fmt.Sprintf("take cable of %d strands or more there", leastStrands)
	}
	loop := p.Setting("loop")
	way := 0.0
	for _, part := range l.ways[w.Index] {
		way += part.Length.Value
	}
	switch {
	case w.Slack.IsSet() && w.Slack.Value < loop*(1-1e-9):
		d := p.Report(w.Slack.Span, refs, "%s runs over path %s, which bends, with a slack of %s: %s at least", w.Name.Text, path.Name.Text, millimetres(w.Slack.Value), millimetres(loop))
		d.Help = fmt.Sprintf("leave a loop of %s", millimetres(loop))
	case w.Slack.IsSet():
	case w.Length.IsSet() && w.Length.Value >= way && w.Length.Value < (way+loop)*(1-1e-9):
		d := p.Report(w.Length.Span, refs, "%s is %s, its way is %s, and it runs over path %s, which bends: %s over is not enough, %s at least", w.Name.Text,
			unit.Metre(w.Length.Value), unit.Metre(way), path.Name.Text, millimetres(w.Length.Value-way), millimetres(loop))
		d.Help = fmt.Sprintf("write length = %q or more", unit.Metre(way+loop))
	case !w.Length.IsSet():
		p.Lacks("slack on a path that bends", `add slack = "0.15 m", the loop that is left in it, to each`, w.Name.Span, w.Name.Text)
	}
}
