package sizing

import (
	"fmt"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// A Fuse is the study of one fuse.
type Fuse struct {
	Part      *model.Part
	Rating    unit.Ampere // as written; 0 when not given
	Family    fusecurve.Family
	Assumed   bool        // the family is taken from the rating
	Continue  unit.Ampere // the most effective current in any state
	State     string
	Ambient   unit.Celsius
	Least     unit.Ampere // what the loads ask of the rating
	ByInrush  bool        // the inrush asks for it, and not the continuous current
	Why       string      // the numbers behind Least, in words
	Most      unit.Ampere // what the wires bear; 0 when no wire is behind it
	LimitedBy *model.Wire // the wire that bears least
	Fitting   []unit.Ampere
	Verdict   Verdict
	Choice    unit.Ampere // the rating to take; 0 when there is none
	Source    string
	Guess     bool
}

// generatorMargin is how much larger than the rated output a generator's main fuse is; it is exempt from the continuous share.
// Common practice.
const generatorMargin = 1.25

// protectors returns the branches that are fuses, in the order of the network.
func (st *study) protectors() []int {
	var out []int
	for i := range st.c.Branches {
		if b := &st.c.Branches[i]; b.Edge != nil && b.Part != nil && b.Edge.Kind == protectKind && b.Edge.Index == 0 && b.Part.Value("rating") != nil {
			out = append(out, i)
		}
	}
	return out
}

func (st *study) fuse(branch int) *Fuse {
	b := &st.c.Branches[branch]
	f := &Fuse{Part: b.Part, Continue: unit.Ampere(st.burdens[branch].rms), State: st.burdens[branch].state, Guess: st.guessed[branch] || b.Part.KnownFrom.Text == "guess"}
	f.Rating = unit.Ampere(b.Part.Value("rating").Quantity.Value)
	word := ""
	if v := b.Part.Value("family"); v != nil {
		word = v.Word.Text
	}
	curve, _, assumed := fusecurve.Of(word, f.Rating)
	f.Family, f.Assumed = curve.Family, assumed
	var known bool
	f.Ambient, known = st.c.ZoneCelsius(b)
	f.Guess = f.Guess || !known || assumed
	st.needs(f, branch)
	st.bearing(f)
	st.span(f)
	return f
}

// needs works out what the loads ask of the rating.
func (st *study) needs(f *Fuse, branch int) {
	factor, source := fusecurve.AmbientFactor(f.Family, f.Ambient)
	f.Source = source.Title
	if output := st.outputBehind(f.Part); output > 0 {
		f.Least = output * generatorMargin
		f.Why = fmt.Sprintf("1.25 times the rated output of %s; exempt from the continuous share", output)
		f.Source = "common practice"
		return
	}
	if factor > 0 {
		f.Least = f.Continue / unit.Ampere(fusecurve.ContinuousShare*factor)
	}
	f.Why = fmt.Sprintf("%s / (0.75 x %.2f at %s)", f.Continue, factor, f.Ambient)
	if whole := st.passing[branch]; whole > f.Least {
		f.Least, f.Why, f.Source = whole, fmt.Sprintf("the rated output of %s, which may all go into the battery", whole), "common practice"
	}
	for _, r := range st.inrushes[branch] {
		if least := st.holds(f, r); least > f.Least {
			f.Least, f.ByInrush = least, true
			f.Why = fmt.Sprintf("%s for %s when %s starts", r.amps, r.seconds(), r.part.Name.Text)
			f.Source = "fastest operating time of the family at the inrush"
		}
	}
}

// An inrush is the current of a branch while a consumer starts.
type inrush struct {
	part *model.Part
	amps unit.Ampere
	time unit.Second
}

func (r inrush) seconds() string { return unit.Format(float64(r.time)) + " s" }

// holds is the smallest standard rating that does not open on an inrush; the family's largest when none holds.
func (st *study) holds(f *Fuse, r inrush) unit.Ampere {
	ratings := fusecurve.StandardRatings(f.Family)
	for _, rating := range ratings {
		curve, _, _ := fusecurve.Of(f.Family.String(), rating)
		if fastest, _ := curve.Times(r.amps); fastest > r.time {
			return rating
		}
	}
	if len(ratings) == 0 {
		return 0
	}
	return ratings[len(ratings)-1]
}

// bearing finds the wire behind the fuse that bears least.
func (st *study) bearing(f *Fuse) {
	for _, w := range st.zones.wires[f.Part] {
		branch, known := st.branchOf[w]
		if !known {
			continue
		}
		b := &st.c.Branches[branch]
		if most := bears(b.Wire.Size, b); f.LimitedBy == nil || most < f.Most {
			f.Most, f.LimitedBy = most, w
		}
	}
}

// span compares the rating with what is permitted, and chooses one where it must change: the nearest that fits, or, when
// the wires bear less than the loads ask for, the least that carries the loads.
func (st *study) span(f *Fuse) {
	fits := func(r unit.Ampere) bool {
		return float64(r) >= float64(f.Least)*(1-1e-9) && (f.LimitedBy == nil || float64(r) <= float64(f.Most)*(1+1e-9))
	}
	ratings := fusecurve.StandardRatings(f.Family)
	for _, r := range ratings {
		if fits(r) {
			f.Fitting = append(f.Fitting, r)
		}
	}
	switch {
	case f.Rating <= 0:
		f.Verdict = NoRating
	case fits(f.Rating):
		f.Verdict, f.Choice = Fits, f.Rating
		return
	case len(f.Fitting) == 0:
		f.Verdict = NoneFits
	case f.Rating < f.Least:
		f.Verdict = TooSmall
	default:
		f.Verdict = TooLarge
	}
	switch {
	case len(f.Fitting) > 0 && f.Verdict == TooLarge:
		f.Choice = f.Fitting[len(f.Fitting)-1]
	case len(f.Fitting) > 0:
		f.Choice = f.Fitting[0]
	default:
		if i := slices.IndexFunc(ratings, func(r unit.Ampere) bool { return r >= f.Least }); i >= 0 {
			f.Choice = ratings[i]
		}
	}
}

// outputBehind is the rated output of the generators that feed a fuse from its far side.
func (st *study) outputBehind(fuse *model.Part) unit.Ampere {
	sum := unit.Ampere(0)
	for _, p := range st.zones.generators[fuse] {
		sum += unit.Ampere(p.Value("output").Quantity.Value)
	}
	return sum
}

// inrushOf lists for every branch the currents while each consumer of a state starts: what flows anyhow, and the consumer's
// inrush in place of its run. Lamps that come on together are cold together, so their inrushes add up.
func inrushOf(c *circuit.Circuit, flows []flow, amps []float64, into [][]inrush) {
	lamps := map[int]inrush{}
	for _, f := range flows {
		b := &c.Branches[f.consumer]
		if b.Load == nil || !b.Load.Spec.Inrush.IsSet() || !b.Load.Spec.InrushTime.IsSet() {
			continue
		}
		more := b.Load.Spec.Inrush.Value/f.amps - 1
		for _, p := range f.parts {
			extra := max(more, 0) * p.amps
			r := inrush{b.Part, unit.Ampere(amps[p.branch] + extra), unit.Second(b.Load.Spec.InrushTime.Value)}
			if b.Part.Kind.Symbol == "lamp" {
				sum, any := lamps[p.branch]
				if any {
					sum.amps += unit.Ampere(extra)
					sum.time = max(sum.time, r.time)
				} else {
					sum = r
				}
				lamps[p.branch] = sum
				continue
			}
			into[p.branch] = append(into[p.branch], r)
		}
	}
	for branch := range into {
		if r, any := lamps[branch]; any {
			into[branch] = append(into[branch], r)
		}
	}
}
