package nets

import (
	"ferrule/rules"
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

var _ = rules.Register(&rules.Rule{
	Name: "length-outlier", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a written length does not fit the way that the wire takes",
	Doc: `In the vehicle the wire is too short to arrive, or a coil of it lies under the dash and loses volts: 14 m for 1.4 m. The rule holds
the length that is written against the way over the paths between the places of the two ends. Shorter than the way is an error:
the wire does not reach. Longer than the way by more than a quarter and the ends is a warning. Ends are what a wire takes within
its two places: to the housing, to hinge a controller out, to crimp once more.

Correct the length, or the paths. A coil that lies there on purpose is written as slack = "0.5 m" and counts as part of the way.
Leave the length out, and it follows from the paths. Silent are wires without written length, wires within one place, and wires
between places that no paths join; a shortfall of 2 % or 10 mm is how people round.`,
	Sources: []string{"common practice: ends of 0.05 m, 0.15 m to hinge a controller out, 0.10 m to crimp once more"},
	Bad: `[place]
a = {}
b = {}
[path]
way = { between = ["a", "b"], length = "1.4 m" }
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true, at = "a" }
E1 = { kind = "lamp", load = "5 W", spare = true, at = "b" }
[wire]
W1 = { from = "F1:2", to = "E1:1", length = "0.14 m" }
`,
	Good: `[place]
a = {}
b = {}
[path]
way = { between = ["a", "b"], length = "1.4 m" }
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true, at = "a" }
E1 = { kind = "lamp", load = "5 W", spare = true, at = "b" }
[wire]
W1 = { from = "F1:2", to = "E1:1", length = "1.5 m" }
`,
	Settings: []rules.Setting{
		{Key: "over", Dim: unit.Share, Default: 0.25, Doc: "how much longer than its way a wire may be, as a share of the way (common practice)"},
		{Key: "ends", Dim: unit.Length, Default: 0.30, Doc: "what the two ends of a wire take together, beyond that share (common practice)"},
	},
	Run: func(p *rules.Pass) {
		over, ends := p.Setting("over"), p.Setting("ends")
		for _, w := range p.Netlist.Wires {
			if w.Length.IsSet() && w.Wired() {
				outlier(p, w, over, ends)
			}
		}
	},
})

func outlier(p *rules.Pass, w *model.Wire, over, ends float64) {
	from, to := p.Routes.PlaceOf(w.From.ID), p.Routes.PlaceOf(w.To.ID)
	if from == nil || to == nil || from == to {
		return
	}
	metres, paths, known := p.Routes.Way(w)
	if !known {
		return
	}
	way := float64(metres)
	slack := 0.0
	if w.Slack.IsSet() {
		slack = w.Slack.Value
	}
	var d *diag.Diagnostic
	refs := []string{w.Name.Text}
	switch length := w.Length.Value; {
	case !route.Reaches(length, way):
		d = p.Report(w.Length.Span, refs, "wire %s is %s, but its way from %s to %s is %s", w.Name.Text, unit.Metre(length), from.Name.Text, to.Name.Text, unit.Metre(way))
		d.Help = fmt.Sprintf("it does not reach: write at least length = %q, or correct the paths", unit.Metre(way).String())
	case length > way*(1+over)+ends+slack:
		d = p.ReportAs(diag.Warning, w.Length.Span, refs, "wire %s is %s, but its way from %s to %s is %s%s", w.Name.Text, unit.Metre(length), from.Name.Text, to.Name.Text, unit.Metre(way), andSlack(slack))
		d.Help = fmt.Sprintf("correct the length or the paths; a coil that is meant is written as slack = %q", unit.Metre(length-way).String())
	default:
		return
	}
	for _, path := range paths {
		d.Related = append(d.Related, diag.Related{Span: path.Name.Span, Message: fmt.Sprintf("by way of %s, %s", path.Name.Text, unit.Metre(path.Length.Value))})
	}
}

func andSlack(slack float64) string {
	if slack == 0 {
		return ""
	}
	return fmt.Sprintf(", with slack of %s", unit.Metre(slack))
}
