package routing

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
	"fmt"
)

var _ = rules.Register(&rules.Rule{
	Name: "no-parting-connector", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "a wire goes into a unit that comes out, and there is nothing to part it at",
	Doc: `In the vehicle the engine, the bed or the mast comes out one day, and then somebody cuts the loom. The rule takes wires whose
two ends lie in places that leave the vehicle with different units (removed-with), and fires where neither end is a cavity of a connector:
an in-line pair at the border, or a plug that comes off its device. It says so once for each pair of units.

Ground wires and the cables of starters are exempt: they end in rings, and a spanner parts them.

Put an in-line connector at the border: [connector] with mates, placed on one of the two sides.`,
	Sources: []string{"common practice"},
	Bad: `[place]
CAB = {}
ENG = { removed-with = "engine" }
[part]
F1 = { kind = "fuse", rating = "5 A", at = "CAB", spare = true }
E1 = { kind = "lamp", load = "5 W", at = "ENG", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
`,
	Good: `[place]
CAB = {}
ENG = { removed-with = "engine" }
[part]
F1 = { kind = "fuse", rating = "5 A", at = "CAB", spare = true }
E1 = { kind = "lamp", load = "5 W", at = "ENG", spare = true }
[connector]
X1 = { mates = "X2", cavities = 1, at = "CAB" }
X2 = { mates = "X1" }
[wire]
W1 = { from = "F1:2", to = "X1:1", size = "18 AWG", length = "1 m" }
W2 = { from = "X2:1", to = "E1:1", size = "18 AWG", length = "1 m" }
`,
	Run: func(p *rules.Pass) {
		type border struct{ a, b string }
		across := map[border][]*model.Wire{}
		var order []border
		for _, w := range p.Netlist.Wires {
			from, to := p.Routes.PlaceOf(w.From.ID), p.Routes.PlaceOf(w.To.ID)
			if from == nil || to == nil || from.RemovedWith.Text == to.RemovedWith.Text || partsItself(p, w) {
				continue
			}
			k := border{min(from.RemovedWith.Text, to.RemovedWith.Text), max(from.RemovedWith.Text, to.RemovedWith.Text)}
			if across[k] == nil {
				order = append(order, k)
			}
			across[k] = append(across[k], w)
		}
		for _, k := range order {
			wires := names(across[k])
			between := "into " + k.b
			if k.a != "" {
				between = "from " + k.a + " into " + k.b
			}
			d := p.Report(across[k][0].Name.Span, wires, "%s %s, which comes out of the vehicle, with no connector at either end", rules.List(wires, "goes", "go"), between)
			if len(wires) > 4 {
				d.Message = fmt.Sprintf("%s go %s, which comes out of the vehicle, with no connector at either end", rules.Few(wires), between)
			}
			d.Help = "part them by an in-line connector at the border: [connector] with mates"
		}
	},
})

// partsItself reports whether a wire comes off at one end: a cavity of a connector, a ring on ground, a starter's stud.
func partsItself(p *rules.Pass, w *model.Wire) bool {
	for _, end := range [...]model.PinID{w.From.ID, w.To.ID} {
		pin := p.Netlist.Pin(end)
		if pin.Owner.Connector != nil || pin.Role == catalog.Cranking || p.IsGround(end) || pin.Owner.Part != nil && pin.Owner.Part.Kind.Name == rules.GroundPoint {
			return true
		}
	}
	return false
}
