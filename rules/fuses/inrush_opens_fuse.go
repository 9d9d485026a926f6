package fuses

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "inrush-opens-fuse", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a fuse can open while a load starts",
	Doc: `In the vehicle the fan or the pump works for months, and on a cold morning with a full battery its fuse opens as it starts. A fuse
of a given rating opens within a band of times; the rule takes the fast edge of the band. It adds the inrush of one load to
what flows through the fuse anyhow in the state, and fires where the fuse may be open before the inrush is over. Motors
start one at a time; lamps that are on together are cold together, so theirs are added up. Fuses farther up are looked at too.

Take the next rating that the wires bear, or a slower family.

Silent are loads that state no inrush and inrush-time, which no-data lists for motors; lamps whose inrush is over within
50 ms and stays below six times the rating, since it falls from its first moment; families of which there is no table.`,
	Sources: []string{
		"ISO 8820-3, ISO 8820-5, DIN 72581-3: operating times (testdata/reference/fuse-time-current.csv, in part from memory)",
		"common practice: lamps below six times the rating for less than 50 ms",
	},
	Bad: inrushing("15 A"), Good: inrushing("30 A"),
	Run: func(p *rules.Pass) {
		starts := map[*model.Part]*surge{}
		for _, r := range settled(p) {
			surges(p, r, starts)
		}
		for _, g := range surveyOf(p) {
			lackInrush(p, g)
		}
		for _, part := range p.Netlist.Parts {
			if s := starts[part]; s != nil {
				s.report(p, part)
			}
		}
	},
})

func inrushing(rating string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "` + rating + `", family = "blade" }
M1 = { kind = "motor", load = { run = "8 A", inrush = "36 A", inrush-time = "0.4 s", stall = "60 A" } }
[link]
BAR = { joins = ["BAT1:+", "F1:1"] }
[wire]
W1 = { from = "F1:2", to = "M1:1", size = "10 AWG", length = "1 m" }
W2 = { from = "M1:2", to = "BAT1:-", size = "10 AWG", length = "1 m" }
`
}

// A surge is the start that comes nearest to opening a fuse.
type surge struct {
	part    *model.Part // that starts
	lamps   bool        // several lamps together
	amps    unit.Ampere
	seconds unit.Second
	state   string
	opens   unit.Second // the soonest
}

// lackInrush says of motors that their start is not stated.
func lackInrush(p *rules.Pass, g *guarded) {
	for _, t := range g.takers {
		if t.load == nil || t.part.Kind.Name != "motor" || t.load.Spec.Inrush.IsSet() && t.load.Spec.InrushTime.IsSet() || !t.load.Spec.Run.IsSet() {
			continue
		}
		p.Lacks("inrush and its time", `add load = { run = "6 A", inrush = "18 A", inrush-time = "0.2 s" }, measured or from the sheet`, t.part.Name.Span, t.part.Name.Text)
	}
}

// lampSeconds and lampTimes are where the falling inrush of a lamp needs no look: shorter, and below so many ratings.
const (
	lampSeconds = 0.05
	lampTimes   = 6
)

// surges keeps for each fuse the start in a state that opens it soonest, measured against how long the inrush lasts.
func surges(p *rules.Pass, r *circuit.Report, worst map[*model.Part]*surge) {
	branchList := p.Circuit().Branches
	fuses := map[int]*circuit.FuseReport{}
	for i := range r.Fuses {
		fuses[r.Fuses[i].Branch] = &r.Fuses[i]
	}
	lamps := map[int]*surge{}
	for i := range r.Loads {
		l := &r.Loads[i]
		b := &branchList[l.Branch]
		if b.Load == nil || !b.Load.Spec.Inrush.IsSet() || !b.Load.Spec.InrushTime.IsSet() {
			continue
		}
		extra := unit.Ampere(max(b.Load.Spec.Inrush.Value-math.Abs(l.Amps), 0))
		for _, at := range l.Drop.Supply {
			f := fuses[at]
			if f == nil {
				continue
			}
			s := &surge{part: b.Part, amps: unit.Ampere(f.Amps) + extra, seconds: unit.Second(b.Load.Spec.InrushTime.Value), state: r.Solution.State}
			if b.Part.Kind.Symbol != "lamp" {
				s.keep(f, worst)
				continue
			}
			if old := lamps[at]; old != nil {
				old.lamps, old.amps, old.seconds = old.lamps || old.part != b.Part, old.amps+extra, max(old.seconds, s.seconds)
			} else {
				lamps[at] = s
			}
		}
	}
	for _, at := range slices.Sorted(maps.Keys(lamps)) {
		f, s := fuses[at], lamps[at]
		if float64(s.seconds) >= lampSeconds || float64(s.amps) >= lampTimes*f.Rating {
			s.keep(f, worst)
		}
	}
}

// keep notes a surge that may open a fuse, if none before does so more surely.
func (s *surge) keep(f *circuit.FuseReport, worst map[*model.Part]*surge) {
	curve, known := curveOf(f.Part)
	if !known {
		return
	}
	s.opens, _ = curve.Times(s.amps)
	if s.opens > s.seconds {
		return
	}
	old := worst[f.Part]
	if old == nil || cmp.Compare(float64(s.opens/s.seconds), float64(old.opens/old.seconds)*(1-1e-9)) < 0 {
		worst[f.Part] = s
	}
}

func (s *surge) report(p *rules.Pass, part *model.Part) {
	_, span := ratingOf(part)
	who := s.part.Name.Text + " starts"
	if s.lamps {
		who = s.part.Name.Text + " and the other lamps with it come on"
	}
	curve, _ := curveOf(part)
	d := p.Report(span, []string{part.Name.Text, s.part.Name.Text}, "%s carries %s for %s when %s in %s, and a %s of this rating may open in %s",
		called(part), s.amps, seconds(s.seconds), who, stateText(p, s.state), curve.Family, seconds(s.opens))
	d.Help = "take a larger rating and wires that bear it, or a slower family such as a high-current blade"
	if fitting := holding(p, part, s); fitting > 0 {
		d.Help = fmt.Sprintf("write rating = %q: it holds, and the wires behind bear it", fitting.String())
	}
	d.Related = append(d.Related, diag.Related{Span: s.part.Name.Span, Message: s.part.Name.Text + " has this inrush"})
}

// holding is the smallest rating that holds a surge and that the wires bear; 0 when there is none.
func holding(p *rules.Pass, part *model.Part, s *surge) unit.Ampere {
	f := studies(p)[part]
	if f == nil {
		return 0
	}
	for _, r := range fusecurve.StandardRatings(f.Family) {
		curve, _, _ := fusecurve.Of(f.Family.String(), r)
		if fastest, _ := curve.Times(s.amps); fastest > s.seconds && r > f.Rating && (f.LimitedBy == nil || r <= f.Most) {
			return r
		}
	}
	return 0
}

// seconds writes a time; a fuse that need not open has none.
func seconds(t unit.Second) string {
	switch {
	case math.IsInf(float64(t), 1):
		return "any time"
	case t < 0.1:
		return unit.Format(1000*float64(t)) + " ms"
	}
	return unit.Format(float64(t)) + " s"
}
