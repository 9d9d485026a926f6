package routing

import (
	"fmt"
	"math"

	"ferrule/netlist/diag"
	"ferrule/netlist/panelspace"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "panel-too-small", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "a panel has no room for what sits in it and the wires that feed it",
	Doc: `In the vehicle this is found when the lid does not close: wires are bent sharply over the relays, the seal is pinched and lets water
in, and nothing can be added. The rule takes each panel with its clear space (inside), adds the outlines of what sits in it and
the strips that the bundles take, and holds the sum against the space. A warning from 80 % on, an error above all of it. More
parts than the panel has positions are an error too.

A part takes its size or, without one, that of its kind with a socket around it. A bundle runs along the longer side, as wide as its
hole; a wire within the panel lies over half of width and height. That is an estimate from the front: how deep the panel is, and
where its sockets sit, the rule does not see. A panel without inside is said under no-data.

Take a larger box, or move a group of circuits to a second one at the place that they serve.`,
	Sources: []string{
		"common practice: a fifth of a box stays for bends, hands and later; sizes of modules in netlist/panelspace/modules.csv",
		"the hole of a bundle: D / 0.85, common practice",
	},
	Settings: []rules.Setting{{Key: "fill", Dim: unit.Share, Default: panelspace.Full, Doc: "the share of the inside that may be taken, common practice"}},
	Bad:      panelExample("40 x 30 mm"),
	Good:     panelExample("60 x 50 mm"),
	Run: func(p *rules.Pass) {
		for _, s := range panelspace.Of(p.Netlist, p.Routes) {
			if s.Seated() > 0 {
				judgePanel(p, &s)
			}
		}
	},
})

func panelExample(inside string) string {
	return `[panel]
P = { inside = "` + inside + `" }
[part]
K1 = { kind = "relay", in = "P", spare = true }
F1 = { kind = "fuse", rating = "5 A", in = "P", spare = true }
`
}

func judgePanel(p *rules.Pass, s *panelspace.Space) {
	panel := s.Panel
	name := panel.Name.Text
	if count := s.Seated(); panel.Positions > 0 && count > panel.Positions {
		d := p.ReportAs(diag.Error, panel.PositionsSpan, []string{name}, "%d parts are in %s, which has %d positions", count, name, panel.Positions)
		d.Help = "take a box with more positions, or move parts to another"
	}
	if !panel.Inside.IsSet() {
		p.Lacks("inside of the panel", `add inside = "200 x 120 mm", its clear width and height`, panel.Name.Span, name)
		return
	}
	for _, part := range s.Unmeasured {
		p.Lacks("size of the part in a panel", `add size = "60 x 40 mm", the space that it takes`, part.Name.Span, part.Name.Text)
	}
	for _, e := range s.Entries {
		for _, w := range e.Wires {
			if !w.Size.IsSet() {
				p.Lacks("size", `add size = "16 AWG" to each`, w.Name.Span, w.Name.Text)
			}
		}
	}
	most := p.Setting("fill")
	if s.Fill() <= most*(1+1e-9) {
		return
	}
	severity, so := diag.Warning, fmt.Sprintf("%s of it, %s at most", percent(s.Fill()), percent(most))
	if s.Fill() > 1 {
		severity, so = diag.Error, "more than there is"
	}
	width, height := s.LeastInside()
	d := p.ReportAs(severity, panel.Inside.Span, []string{name}, "what sits in %s takes %s and the wires that feed it %s of its %s: %s",
		name, squareCM(s.ModuleMM2), squareCM(s.WireMM2), squareCM(s.InsideMM2), so)
	d.Help = fmt.Sprintf("a box of %.0f x %.0f mm inside suits, or a second one for a part of the circuits", width, height)
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", math.Round(share*100)) }

func squareCM(mm2 float64) string { return fmt.Sprintf("%.1f cm2", mm2/100) }
