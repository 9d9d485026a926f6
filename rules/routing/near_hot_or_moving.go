package routing

import (
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "near-hot-or-moving", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Title: "a loom lies too near to the exhaust, to moving parts or to a fuel line",
	Doc: `In the vehicle insulation melts on the manifold, a belt saws through the loom, and a wire that chafes on a fuel line is both
parts of a fire. The rule takes what a path states and fires below 100 mm to the exhaust, and below 50 mm to moving parts or a
fuel line, where wires run along it.

A heat sleeve (cover = "heat sleeve") allows the first; any cover harder than tape the others. A path that states no distance
is silent.

Lay the loom elsewhere, clip it farther off, or sleeve it and write the cover.`,
	Sources: []string{"common practice: 100 mm from the exhaust, 50 mm from moving parts and fuel lines, or sleeved"},
	Settings: []rules.Setting{
		{Key: "exhaust", Dim: unit.Length, Default: 0.1, Doc: "least distance to the exhaust; common practice"},
		{Key: "moving", Dim: unit.Length, Default: 0.05, Doc: "least distance to moving parts; common practice"},
		{Key: "fuel-line", Dim: unit.Length, Default: 0.05, Doc: "least distance to a fuel line; common practice"},
	},
	Bad:  nearExample(""),
	Good: nearExample(`, cover = "heat sleeve"`),
	Run: func(p *rules.Pass) {
		l := layOf(p)
		for _, path := range p.Netlist.Paths {
			if len(l.on[path]) == 0 {
				continue
			}
			near(p, l, path, path.Exhaust, "exhaust", "the exhaust", heatSleeved(path), `cover = "heat sleeve"`)
			near(p, l, path, path.Moving, "moving", "moving parts", covered(path), `a sleeve or conduit as cover`)
			near(p, l, path, path.FuelLine, "fuel-line", "a fuel line", covered(path), `a sleeve or conduit as cover`)
		}
	},
})

func nearExample(cover string) string {
	return `[place]
A = {}
B = {}
[path]
A-B = { between = ["A", "B"], length = "1 m", exhaust = "60 mm"` + cover + ` }
[part]
F1 = { kind = "fuse", rating = "5 A", at = "A", spare = true }
E1 = { kind = "lamp", load = "5 W", at = "B", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG" }
`
}

func near(p *rules.Pass, l *lay, path *model.Path, distance model.Quantity, setting, what string, safe bool, cover string) {
	least := p.Setting(setting)
	if !distance.IsSet() || safe || distance.Value >= least*(1-1e-9) {
		return
	}
	wires := names(l.on[path])
	d := p.Report(distance.Span, append([]string{path.Name.Text}, wires...), "path %s with %s lies %s from %s: %s at least", path.Name.Text, rules.Few(wires),
		millimetres(distance.Value), what, millimetres(least))
	d.Help = "lay it farther off, or sleeve it and write " + cover
}
