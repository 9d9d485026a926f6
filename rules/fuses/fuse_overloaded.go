package fuses

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/diag"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "fuse-overloaded", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a fuse carries more than it can for hours",
	Doc: `In the vehicle such a fuse ages, its holder turns brown, and it opens on a hot evening with nothing wrong. A fuse carries its rating
for hours in a room alone: in practice 75 % of it count, and the warmth of its place takes more off. The rule compares that
with the most that flows through the fuse in any declared state, pulses taken as the current that warms as much. Above the
rating itself it is an error. For a main fuse or the fuse of a feeder the current is that of all its branches that are on
together, so loads that exclude each other, such as low and high beam, are not added up.

Take the rating that the message names, if the wires behind bear it, or give a part of the loads a fuse of their own.

Silent are the fuse between a generator and the battery, which is chosen by the rated output (generator-fuse), fuses whose
loads state no numbers, and states that do not come to rest. Intermittent loads count with their duty.`,
	Sources: []string{
		"common practice: 75 % of the rating for hours; blades lose 0.18 % per kelvin above 25 C",
		"data sheet transcript of a high-current blade, 0.85 at 65 C and 0.75 at 85 C (testdata/reference/fuse-derating.csv), for bolt-in fuses too",
	},
	Bad: overloaded("F1"), Good: overloaded("F2"),
	Settings: []rules.Setting{{Key: "share", Dim: unit.Share, Default: fusecurve.ContinuousShare, Doc: "the share of its rating that a fuse may carry for hours at 25 C, common practice"}},
	Run: func(p *rules.Pass) {
		byPart := studies(p)
		lacked := false
		for _, g := range surveyOf(p) {
			f := byPart[g.part]
			if f == nil || g.rating <= 0 || len(g.generators) > 0 || f.Continue <= 0 {
				continue
			}
			if !ambientKnown(g.part) && !lacked {
				lacked = true
				p.Lacks("ambient temperature around the fuse", `give its place or its panel's a zone with ambient = "60 C"`, g.part.Name.Span, g.part.Name.Text)
			}
			factor, _ := fusecurve.AmbientFactor(f.Family, f.Ambient)
			share := p.Setting("share")
			if limit := g.rating * unit.Ampere(share*factor); float64(f.Continue) > float64(limit)*(1+1e-6) {
				overload(p, g, f, limit, fmt.Sprintf("%s x %s of its rating", unit.Format(share), unit.Format(factor)))
			}
		}
	},
})

func overloaded(fuse string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
F2 = { kind = "fuse", rating = "10 A", family = "blade", spare = true }
E1 = { kind = "lamp", load = "55 W" }
E2 = { kind = "lamp", load = "55 W" }
[link]
BAR = { joins = ["BAT1:+", "F1:1", "F2:1"] }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "14 AWG", length = "1 m" }
W2 = { from = "` + fuse + `:2", to = "E2:1", size = "14 AWG", length = "1 m" }
W3 = { from = "E1:2", to = "BAT1:-", size = "14 AWG", length = "1 m" }
W4 = { from = "E2:2", to = "BAT1:-", size = "14 AWG", length = "1 m" }
`
}

func overload(p *rules.Pass, g *guarded, f *sizing.Fuse, limit unit.Ampere, why string) {
	_, span := ratingOf(g.part)
	severity := diag.Warning
	if f.Continue > g.rating {
		severity = diag.Error
	}
	d := p.ReportAs(severity, span, []string{g.part.Name.Text}, "%s carries %s in %s; %s it may carry %s for hours (%s)",
		called(g.part), f.Continue, stateText(p, f.State), at(f), limit, why)
	d.Related = shares(p, g, f.State)
	for _, t := range g.takers {
		if !slices.Contains(d.Refs, t.part.Name.Text) {
			d.Refs = append(d.Refs, t.part.Name.Text)
		}
	}
	switch {
	case f.Choice > g.rating && len(f.Fitting) > 0:
		d.Help = fmt.Sprintf("write rating = %q, which the wires behind bear, or give a part of the loads a fuse of their own", f.Choice.String())
	case f.LimitedBy != nil && f.Most > 0:
		d.Help = fmt.Sprintf("give a part of the loads a fuse of their own; a larger one asks for thicker wire, since %s bears %s", f.LimitedBy.Name.Text, f.Most)
	default:
		d.Help = "give a part of the loads a fuse of their own"
	}
	d.Help += rules.MeasureFirst(guessedBehind(p, f))
}

// guessedBehind names the consumers behind a fuse whose currents are guesses, in the state that asks most of it.
func guessedBehind(p *rules.Pass, f *sizing.Fuse) []string {
	for _, r := range p.Reports() {
		for i := range r.Fuses {
			if r.Solution.State == f.State && r.Fuses[i].Part == f.Part {
				return rules.GuessedOver(r, r.Fuses[i].Branch)
			}
		}
	}
	return nil
}

// stateText writes a state in a sentence; a harness without states is looked at as it rests.
func stateText(p *rules.Pass, state string) string {
	if state == "" || len(p.Netlist.States) == 0 {
		return "the harness at rest"
	}
	return "state " + state
}

// mostShares is how many of the currents behind a fuse a finding lists.
const mostShares = 5

// shares lists what takes the current of a fuse in a state, the most first: the fuses behind it, else the loads.
func shares(p *rules.Pass, g *guarded, state string) []diag.Related {
	type part struct {
		part *model.Part
		name string
		amps float64
	}
	var all []part
	for _, r := range p.Reports() {
		if r.Solution.State != state {
			continue
		}
		for i := range r.Fuses {
			if x := &r.Fuses[i]; slices.Contains(g.next, x.Part) && x.RMS > 0.05 {
				all = append(all, part{x.Part, x.Part.Name.Text, x.RMS})
			}
		}
		for i := range r.Loads {
			x := &r.Loads[i]
			b := &p.Circuit().Branches[x.Branch]
			if amps := math.Abs(x.Amps); amps > 0.05 && slices.ContainsFunc(g.takers, func(t taker) bool {
				return t.edge != nil && t.edge == b.Edge || t.edge == nil && b.Edge == nil && t.pin == b.Pin
			}) {
				all = append(all, part{b.Part, x.Ref, amps})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b part) int { return cmp.Compare(b.amps, a.amps) })
	var out []diag.Related
	for _, x := range all[:min(len(all), mostShares)] {
		out = append(out, diag.Related{Span: x.part.Name.Span, Message: fmt.Sprintf("%s takes %s of it", x.name, unit.Ampere(x.amps))})
	}
	return out
}
