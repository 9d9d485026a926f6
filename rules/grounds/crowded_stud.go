package grounds

import (
	"slices"
	"strings"
	"unicode"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "crowded-stud", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "more than four rings lie on one stud",
	Doc: `In the vehicle a tall stack of rings settles, the nut loses its clamp, and everything on the stud fails at once, warm first
and then not at all. The rule counts the terminals of a ground point or a stud that wires or bars go to; each is a ring, and two
wires in one terminal are one ring. It fires above four.

Put a second stud beside it, or a bus bar with a screw for each ring. A part of kind bus bar stays silent, whatever lies on it, and
so does a ground point whose title calls it a bar.`,
	Sources: []string{"common practice: four rings on a stud at the most, the largest at the bottom; ABYC E-11 asks the same of boats (from memory)"},
	Bad: `[body.body]
[part]
E1 = { kind = "lamp", load = "5 W", pin.1.unused = true }
E2 = { kind = "lamp", load = "5 W", pin.1.unused = true }
E3 = { kind = "lamp", load = "5 W", pin.1.unused = true }
E4 = { kind = "lamp", load = "5 W", pin.1.unused = true }
E5 = { kind = "lamp", load = "5 W", pin.1.unused = true }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "E1:2", to = "G1:1" }
W2 = { from = "E2:2", to = "G1:2" }
W3 = { from = "E3:2", to = "G1:3" }
W4 = { from = "E4:2", to = "G1:4" }
W5 = { from = "E5:2", to = "G1:5" }
`,
	Good: `[body.body]
[part]
E1 = { kind = "lamp", load = "5 W", pin.1.unused = true }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "E1:2", to = "G1:1" }
`,
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			if (part.Kind.Name == rules.GroundPoint || part.Kind.Name == "stud") && !isBar(part) {
				crowded(p, part)
			}
		}
	},
})

// isBar reports whether the title of a ground point calls it a bar: a bar that is the one ground of a vehicle without metal is
// written as a ground point on a body of its own.
func isBar(part *model.Part) bool {
	return slices.ContainsFunc(strings.FieldsFunc(strings.ToLower(part.Title.Text), func(r rune) bool { return !unicode.IsLetter(r) }), func(word string) bool {
		return word == "bar" || word == "busbar"
	})
}

// mostRings is how many rings a stud takes.
const mostRings = 4

// crowded reports a stud with too many rings, at the ring that is one too many.
func crowded(p *rules.Pass, part *model.Part) {
	rings := 0
	var extra source.Span
	var refs []string
	for _, id := range part.Owner.Pins {
		span, ref, any := ringAt(p, id)
		if !any {
			continue
		}
		rings++
		if rings == mostRings+1 {
			extra = span
		}
		refs = append(refs, ref)
	}
	if rings <= mostRings {
		return
	}
	d := p.Report(extra, append([]string{part.Name.Text}, refs...), "%d rings lie on %s, and a stud takes %d", rings, part.Name.Text, mostRings)
	d.Help = "put a second stud beside it, or a bus bar"
}

// ringAt returns the words and the name of what ends in one terminal of a stud.
func ringAt(p *rules.Pass, id model.PinID) (source.Span, string, bool) {
	if wires := p.Graph.WiresAt(id); len(wires) > 0 {
		return endAt(wires[0], id), wires[0].Name.Text, true
	}
	for _, e := range p.Graph.At(id) {
		if edge := p.Graph.Edge(e); edge.Kind == graph.Link {
			return edge.Link.Name.Span, edge.Link.Name.Text, true
		}
	}
	return source.Span{}, "", false
}
