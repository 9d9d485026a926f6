package routing

import (
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "split-pair", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "the wires of a pair take different ways, or differ in length",
	Doc: `In the vehicle a twisted pair rejects noise because both wires lie in the same field all the way; parted, they are a loop that
collects it. The rule takes twisted and screened pairs and fires where their wires run along different paths, and where their
lengths differ by more than 50 mm, which is as far as a pair may be untwisted at a terminal.

Cores of a cable of another kind may part where they leave the jacket, and are silent; so is a pair of which a wire's way or length
is not known.

Bring both ends to the same places, or cut both alike.`,
	Sources:  []string{"common practice: one way, untwisted for 50 mm at most"},
	Settings: []rules.Setting{{Key: "untwisted", Dim: unit.Length, Default: 0.05, Doc: "by how much the wires of a pair may differ; common practice"}},
	Bad:      pairExample("1.4 m"),
	Good:     pairExample("1 m"),
	Run: func(p *rules.Pass) {
		l := layOf(p)
		for _, c := range p.Netlist.Cables {
			if c.Kind.Text == "twisted pair" || c.Kind.Text == "screened pair" {
				judgePair(p, l, c)
			}
		}
	},
})

func pairExample(length string) string {
	return `[part]
B1 = { kind = "inductive sensor", spare = true }
A1 = { kind = "module", pins = ["1", "2"] }
[wire]
W1 = { from = "B1:1", to = "A1:1", size = "22 AWG", length = "1 m" }
W2 = { from = "B1:2", to = "A1:2", size = "22 AWG", length = "` + length + `" }
[cable]
C1 = { kind = "twisted pair", wires = ["W1", "W2"] }
`
}

// judgePair holds every wire of a pair against the first.
func judgePair(p *rules.Pass, l *lay, c *model.Cable) {
	for _, w := range c.Wires[min(1, len(c.Wires)):] {
		first := c.Wires[0]
		refs := []string{c.Name.Text, first.Name.Text, w.Name.Text}
		if a, b := l.ways[first.Index], l.ways[w.Index]; len(a) > 0 && len(b) > 0 && !sameWay(a, b) {
			d := p.Report(w.Name.Span, refs, "%s and %s are a pair and take different ways: %s runs along %s, %s does not", first.Name.Text, w.Name.Text,
				w.Name.Text, rules.Few(pathNames(without(b, a))), first.Name.Text)
			if len(without(b, a)) == 0 {
				d.Message = fmt.Sprintf("%s and %s are a pair and take different ways: %s runs along %s, %s does not", first.Name.Text, w.Name.Text,
					first.Name.Text, rules.Few(pathNames(without(a, b))), w.Name.Text)
			}
			d.Help = "bring both to the same places"
			d.Related = []diag.Related{{Span: first.Name.Span, Message: "the other wire of the pair"}}
			continue
		}
		a, knownA := p.Routes.Length(first)
		b, knownB := p.Routes.Length(w)
		if differ := math.Abs(float64(a - b)); knownA && knownB && differ > p.Setting("untwisted")*(1+1e-9) {
			at := w.Name.Span
			if w.Length.IsSet() {
				at = w.Length.Span
			}
			d := p.Report(at, refs, "%s is %s and %s %s: the wires of pair %s differ by %s, %s at most", first.Name.Text, a, w.Name.Text, b, c.Name.Text,
				millimetres(differ), millimetres(p.Setting("untwisted")))
			d.Help = "cut both alike"
		}
	}
}

func sameWay(a, b []*model.Path) bool { return len(without(a, b)) == 0 && len(without(b, a)) == 0 }

// without lists the paths of a that are not in b.
func without(a, b []*model.Path) []*model.Path {
	var out []*model.Path
	for _, path := range a {
		if !slices.Contains(b, path) {
			out = append(out, path)
		}
	}
	return out
}

func pathNames(paths []*model.Path) []string {
	out := make([]string, len(paths))
	for i, path := range paths {
		out[i] = path.Name.Text
	}
	return out
}
