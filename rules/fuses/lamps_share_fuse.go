package fuses

import (
	"fmt"
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "lamps-share-fuse", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "one fuse makes the vehicle dark",
	Doc: `In the vehicle one chafed lead then puts out both head lamps on a bend, or all that shows the vehicle to those behind. The rule
reads function and side of the loads and asks what hangs on each fuse before the next one. It fires where all low beams, all
high beams or all tail lamps of the file, two or more, hang on one fuse, and where all stop lamps share it with all tail lamps.

Give the lamps of each side a fuse of their own, or at least the stop lamps and the tail lamps.

Silent are both stop lamps on one fuse, as is usual, so long as the tail lamps are on others; vehicles with one head lamp;
a feeder with a fuse for each side behind it. Lamps without a function are not known to the rule: no-data lists them if no
lamp of the file states one.`,
	Sources: []string{"common practice: a fuse for each head lamp and for the lamps of each side"},
	Bad:     headLamps("F1"), Good: headLamps("F2"),
	Run: func(p *rules.Pass) {
		all := lampsOf(p)
		if len(all) == 0 {
			lackLamps(p)
			return
		}
		for _, g := range surveyOf(p) {
			on := map[string][]taker{}
			for _, t := range g.takers {
				if f := t.function(); t.load != nil && f != "" {
					on[f] = append(on[f], t)
				}
			}
			dark := func(function string) bool {
				return all[function] > 1 && len(on[function]) == all[function]
			}
			switch {
			case dark("low beam"):
				darkness(p, g, "both low beams", all["low beam"], on["low beam"], "the head lamp of one side")
			case dark("high beam"):
				darkness(p, g, "both high beams", all["high beam"], on["high beam"], "the head lamp of one side")
			case all["stop"] > 0 && len(on["stop"]) == all["stop"] && all["tail"] > 0 && len(on["tail"]) == all["tail"]:
				darkness(p, g, "all stop and tail lamps", 0, append(on["stop"], on["tail"]...), "the tail lamps")
			case dark("tail"):
				darkness(p, g, "all tail lamps", 0, on["tail"], "the tail lamp of one side")
			}
		}
	},
})

func headLamps(fuse string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "fuse", rating = "15 A", family = "blade" }
F2 = { kind = "fuse", rating = "10 A", family = "blade", spare = true }
E1 = { kind = "lamp", load = "55 W", function = "low beam", side = "left", pin.2.unused = true }
E2 = { kind = "lamp", load = "55 W", function = "low beam", side = "right", pin.2.unused = true }
[link]
BAR = { joins = ["BAT1:+", "F1:1", "F2:1"] }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "14 AWG", length = "1 m" }
W2 = { from = "` + fuse + `:2", to = "E2:1", size = "14 AWG", length = "1 m" }
`
}

// lampsOf counts the lamps of each function that something is wired to.
func lampsOf(p *rules.Pass) map[string]int {
	count := map[string]int{}
	for _, part := range p.Netlist.Parts {
		for i := range part.Inside.Loads {
			l := &part.Inside.Loads[i]
			f := taker{part: part, load: l}.function()
			if slices.Contains([]string{"low beam", "high beam", "tail", "stop"}, f) && (p.Graph.Reached(l.A) || p.Graph.Reached(l.B)) {
				count[f]++
			}
		}
	}
	return count
}

// lackLamps says of the first lamps that nobody wrote what they are for, if there are two or more.
func lackLamps(p *rules.Pass) {
	var lamps []*model.Part
	for _, part := range p.Netlist.Parts {
		if part.Kind.Name == "lamp" && !part.Function.IsSet() && !slices.ContainsFunc(part.Inside.Loads, func(l model.Load) bool { return l.Function.IsSet() }) {
			lamps = append(lamps, part)
		}
	}
	if len(lamps) > 1 {
		p.Lacks("function and side", `add function = "low beam" and side = "left" to the part, or to each of its loads`, lamps[0].Name.Span, lamps[0].Name.Text)
	}
}

func darkness(p *rules.Pass, g *guarded, what string, count int, lamps []taker, one string) {
	if count > 2 {
		what = "all" + what[len("both"):]
	}
	var names []string
	for _, t := range lamps {
		if !slices.Contains(names, t.part.Name.Text) {
			names = append(names, t.part.Name.Text)
		}
	}
	d := p.Report(g.part.Name.Span, append([]string{g.part.Name.Text}, names...), "%s on one fuse: %s feeds %s", what, called(g.part), rules.And(names))
	d.Help = fmt.Sprintf("give %s a fuse of its own", one)
	for _, t := range lamps[:min(len(lamps), mostShares)] {
		d.Related = append(d.Related, diag.Related{Span: t.load.Title.Span, Message: t.name() + " hangs on it"})
		if !t.load.Title.IsSet() {
			d.Related[len(d.Related)-1].Span = t.part.Name.Span
		}
	}
}
