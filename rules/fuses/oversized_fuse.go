package fuses

import (
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "oversized-fuse", Severity: diag.Note, Harm: rules.Burns, Since: "0.2",
	Title: "a fuse is rated far above what its loads take",
	Doc: `In the vehicle a half short, such as a wet connector or a motor that turns hard, then smoulders for as long as it likes: it draws
several times what the load does, and the fuse does not mind. The wires bear it, so nothing is wrong by the book; a smaller
fuse would see more. The note comes where the rating is more than five times what the loads take together, and a smaller
rating of the same family carries them, starts included.

Take the rating that the help names.

Silent are fuses of 5 A and less, the smallest that are on hand everywhere (memories, sense wires), fuses with other fuses
behind them, which are chosen for their order, the fuse of a generator, fuses with a socket outlet, a converter or a spare or
unknown load behind them, and parts marked spare.`,
	Sources: []string{"common practice: a fuse just above its load; five times is chosen here"},
	Bad:     oversized("25 A"), Good: oversized("7.5 A"),
	Settings: []rules.Setting{
		{Key: "times", Dim: unit.Share, Default: 5, Doc: "the rating over the current of the loads, chosen here"},
		{Key: "smallest", Dim: unit.Current, Default: 5, Doc: "the rating up to which nothing is said: the smallest that is on hand everywhere, common practice"},
	},
	Run: func(p *rules.Pass) {
		byPart, byEdge := studies(p), branches(p.Circuit())
		peaks := peakAmps(p)
		for _, g := range surveyOf(p) {
			f := byPart[g.part]
			if f == nil || g.part.Spare.On || g.rating <= unit.Ampere(p.Setting("smallest")) || len(g.next) > 0 || len(g.generators) > 0 {
				continue
			}
			load, known := ratedLoad(p.Circuit(), g, byEdge)
			load = max(load, peaks[g.part])
			if !known || load <= 0 || float64(g.rating) <= p.Setting("times")*float64(load) {
				continue
			}
			curve, familyKnown := curveOf(g.part)
			ratings := fusecurve.StandardRatings(curve.Family)
			i := slices.IndexFunc(ratings, func(r unit.Ampere) bool {
				return r >= f.Least && r > load && r >= unit.Ampere(p.Setting("smallest"))
			})
			if !familyKnown || i < 0 || ratings[i] >= g.rating {
				continue
			}
			_, span := ratingOf(g.part)
			d := p.Report(span, refsOf(g), "%s is %s times what its loads take together, %s", called(g.part), unit.Format(float64(g.rating/load)), load)
			d.Help = fmt.Sprintf("write rating = %q: it carries the loads and their starts, and opens sooner on a half short", ratings[i].String())
		}
	},
})

func oversized(rating string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "` + rating + `", family = "blade" }
E1 = { kind = "lamp", load = "21 W" }
[link]
BAR = { joins = ["BAT1:+", "F1:1"] }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "12 AWG", length = "1 m" }
W2 = { from = "E1:2", to = "BAT1:-", size = "12 AWG", length = "1 m" }
`
}

// refsOf names a fuse and what takes current from it.
func refsOf(g *guarded) []string {
	refs := []string{g.part.Name.Text}
	for _, t := range g.takers {
		if !slices.Contains(refs, t.part.Name.Text) {
			refs = append(refs, t.part.Name.Text)
		}
	}
	return refs
}

// peakAmps is the most that flows through each fuse in any state, with everything on that the state has on.
func peakAmps(p *rules.Pass) map[*model.Part]unit.Ampere {
	peaks := map[*model.Part]unit.Ampere{}
	for _, r := range settled(p) {
		for i := range r.Fuses {
			f := &r.Fuses[i]
			peaks[f.Part] = max(peaks[f.Part], unit.Ampere(f.Amps))
		}
	}
	return peaks
}

// ratedLoad is what all loads together are rated for, those that exclude each other too. It is not known where a load states
// nothing, takes what somebody plugs in, or hands current on, as a converter does.
func ratedLoad(c *circuit.Circuit, g *guarded, byEdge map[*graph.Edge]*circuit.Branch) (sum unit.Ampere, known bool) {
	for _, t := range g.takers {
		b := byEdge[t.edge]
		switch {
		case t.part.Kind.Name == "socket outlet", t.part.Spare.On, len(t.part.Inside.Sources) > 0, t.edge != nil && b == nil:
			return 0, false
		case t.edge == nil && !c.Netlist.Pin(t.pin).Load.IsSet():
			return 0, false
		case t.edge == nil:
			sum += unit.Ampere(c.Netlist.Pin(t.pin).Load.Value)
		case b.IsConsumer():
			sum += unit.Ampere(math.Abs(c.RatedAmps(b)))
		}
	}
	return sum, len(g.takers) > 0
}
