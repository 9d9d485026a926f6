package fuses

import (
	"fmt"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "generator-fuse", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Title: "the fuse of a generator is too small for its output",
	Doc: `In the vehicle a flat battery and all loads make the generator deliver its rated output for long. If the fuse between it and the
battery opens then, the regulator loses its battery in full flow: the voltage jumps (load dump), and controllers die of it.
The rule wants a rating of at least 1.25 times the output of the generators behind the fuse. Other fuses may carry 75 %
for hours; this one is exempt from that.

Take the rating that the message names, and a cable that it protects. A generator without any fuse between it and the battery
is the matter of unfused-feed.

Silent are breakers of 1.25 times the output and more, generators that state no output, and sources that are none, such as
chargers and converters.`,
	Sources: []string{"common practice: 1.25 times the rated output"},
	Bad:     charging("100 A"), Good: charging("125 A"),
	Settings: []rules.Setting{{Key: "margin", Dim: unit.Share, Default: 1.25, Doc: "the rating over the rated output, common practice"}},
	Run: func(p *rules.Pass) {
		for _, g := range surveyOf(p) {
			output := unit.Ampere(0)
			var names []string
			for _, part := range g.generators {
				output += unit.Ampere(part.Value("output").Quantity.Value)
				names = append(names, part.Name.Text)
			}
			margin := unit.Ampere(p.Setting("margin"))
			if output <= 0 || g.rating <= 0 || float64(g.rating) >= float64(output*margin)*(1-1e-9) {
				continue
			}
			d := p.Report(spanOf(g.part), append([]string{g.part.Name.Text}, names...), "%s lies between the battery and %s, which %s %s; it should have %s or more",
				called(g.part), rules.And(names), rules.Plural(len(names), "delivers", "deliver"), output, output*margin)
			d.Help = "take a rating that is made from there on, and a cable that bears it"
			if next := nextUp(g, output*margin); next > 0 {
				d.Help = fmt.Sprintf("write rating = %q, if the cable bears it: %s", next.String(), strings.Join(wireNames(g), ", "))
			}
			for _, part := range g.generators {
				d.Related = append(d.Related, diag.Related{Span: part.Value("output").Quantity.Span, Message: "the output of " + part.Name.Text})
			}
		}
	},
})

func charging(rating string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
MF1 = { kind = "fuse", rating = "` + rating + `", family = "bolt-in" }
ALT1 = { kind = "alternator", output = "100 A" }
[link]
BAR = { joins = ["BAT1:+", "MF1:1"] }
[wire]
W1 = { from = "MF1:2", to = "ALT1:B+", size = "1/0 AWG", length = "1 m" }
W2 = { from = "ALT1:case", to = "BAT1:-", size = "1/0 AWG", length = "1 m" }
`
}

// nextUp is the smallest rating of the fuse's family from a current on; 0 when none is made so large.
func nextUp(g *guarded, least unit.Ampere) unit.Ampere {
	curve, _ := curveOf(g.part)
	for _, r := range fusecurve.StandardRatings(curve.Family) {
		if float64(r) >= float64(least)*(1-1e-9) {
			return r
		}
	}
	return 0
}

func wireNames(g *guarded) []string {
	var names []string
	for _, w := range g.wires {
		names = append(names, w.Name.Text)
	}
	return names
}
