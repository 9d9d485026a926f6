package fuses

import (
	"fmt"
	"math"

	"ferrule/netlist/diag"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "stall-holds-fuse", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Title: "a blocked motor does not open its fuse",
	Doc: `In the vehicle ice, a stick or a worn bearing holds a motor fast. It then draws its stall current and turns all of it into heat in
its winding; if the fuse holds, the motor is what burns. The rule takes the slow edge of the fuse's band at the stall current
and fires where that is more than 60 s, or the fuse need not open at all. That is so below about 1.6 times the rating.

Take a smaller rating if the start allows it, a motor that switches itself off, or say cut-out = true if it does.

Silent are motors with cut-out = true, motors behind a module, and families of which there is no table. A motor without a
stall current is listed by no-data.`,
	Sources: []string{
		"ISO 8820-3, ISO 8820-5, DIN 72581-3: operating times (testdata/reference/fuse-time-current.csv, in part from memory)",
		"common practice: a blocked motor must open its fuse within a minute",
	},
	Bad: stalling(""), Good: stalling(", cut-out = true"),
	Settings: []rules.Setting{{Key: "within", Dim: unit.Time, Default: 60, Doc: "how long a blocked motor may be fed, common practice"}},
	Run: func(p *rules.Pass) {
		lacked := map[*model.Part]bool{}
		for _, g := range surveyOf(p) {
			told := map[*model.Part]bool{}
			for _, t := range g.takers {
				if t.load == nil || t.part.Kind.Name != "motor" || t.part.CutOut.On || told[t.part] || g.rating <= 0 {
					continue
				}
				if !t.load.Spec.Stall.IsSet() {
					if !lacked[t.part] {
						p.Lacks("stall current", `add stall = "18 A" to the load, or cut-out = true if the motor switches itself off when it is hot`, t.part.Name.Span, t.part.Name.Text)
					}
					lacked[t.part] = true
					continue
				}
				told[t.part] = stalled(p, g, t)
			}
		}
	},
})

func stalling(more string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "15 A", family = "blade" }
M1 = { kind = "motor", load = { run = "5 A", stall = "18 A", inrush = "12 A", inrush-time = "0.1 s" }` + more + ` }
[link]
BAR = { joins = ["BAT1:+", "F1:1"] }
[wire]
W1 = { from = "F1:2", to = "M1:1", size = "14 AWG", length = "1 m" }
W2 = { from = "M1:2", to = "BAT1:-", size = "14 AWG", length = "1 m" }
`
}

// stalled reports a motor that its fuse does not save.
func stalled(p *rules.Pass, g *guarded, t taker) bool {
	curve, known := curveOf(g.part)
	stall := unit.Ampere(t.load.Spec.Stall.Value)
	_, slowest := curve.Times(stall)
	if !known || float64(slowest) <= p.Setting("within") {
		return false
	}
	what := "may hold that for " + seconds(slowest)
	if math.IsInf(float64(slowest), 1) {
		what = "need not open at that"
	}
	d := p.Report(t.load.Spec.Stall.Span, []string{t.part.Name.Text, g.part.Name.Text}, "%s takes %s while it is blocked, %s times the rating of %s, which %s",
		t.name(), stall, unit.Format(float64(stall/g.rating)), called(g.part), what)
	d.Help = fmt.Sprintf("write cut-out = true if %s switches itself off when it is hot, or take a motor that does", t.part.Name.Text)
	if smaller := opening(p, g, curve.Family, stall); smaller > 0 {
		d.Help = fmt.Sprintf("write rating = %q at %s, which opens in time and carries the start, or cut-out = true if %s switches itself off", smaller.String(), g.part.Name.Text, t.part.Name.Text)
	}
	d.Related = append(d.Related, diag.Related{Span: spanOf(g.part), Message: "its fuse"})
	return true
}

func spanOf(part *model.Part) source.Span {
	_, span := ratingOf(part)
	return span
}

// opening is the largest rating that opens on a stall current in time and suits loads and wires; 0 when there is none.
func opening(p *rules.Pass, g *guarded, family fusecurve.Family, stall unit.Ampere) unit.Ampere {
	f := studies(p)[g.part]
	if f == nil {
		return 0
	}
	best := unit.Ampere(0)
	for _, r := range f.Fitting {
		curve, _, _ := fusecurve.Of(family.String(), r)
		if _, slowest := curve.Times(stall); r < g.rating && float64(slowest) <= p.Setting("within") {
			best = r
		}
	}
	return best
}
