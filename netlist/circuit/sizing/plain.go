package sizing

import (
	"cmp"
	"math"
	"slices"

	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// Plain is a report for other programs: names and numbers, rounded to what they are good for.
type Plain struct {
	Version  int             `json:"version"`
	Wires    []PlainWire     `json:"wires"`
	Fuses    []PlainFuse     `json:"fuses"`
	Starting []PlainStarting `json:"starting"`
	Missing  []PlainMissing  `json:"missing"`
	Assumed  []PlainAssumed  `json:"assumed"`
	Unsolved []string        `json:"unsolved_states"`
}

// PlainWire is a Wire; a size or limit that there is not is empty.
type PlainWire struct {
	Name           string       `json:"name"`
	Written        string       `json:"written"`
	Least          string       `json:"least"`
	Verdict        string       `json:"verdict"`
	DecidedBy      string       `json:"decided_by"`
	Because        string       `json:"because"`
	Source         string       `json:"source"`
	State          string       `json:"state"`
	Metres         float64      `json:"metres"`
	AmbientC       float64      `json:"ambient_c"`
	AmbientTaken   bool         `json:"ambient_assumed"`
	Metal          string       `json:"metal"`
	InsulationC    float64      `json:"insulation_c"`
	PeakAmps       float64      `json:"peak_amps"`
	ContinuousAmps float64      `json:"continuous_amps"`
	LoadedWires    int          `json:"loaded_wires"`
	BundleFactor   float64      `json:"bundle_factor"`
	Guess          bool         `json:"guess"`
	Limits         []PlainLimit `json:"limits"`
}

// PlainLimit is a Limit.
type PlainLimit struct {
	Rule      string `json:"rule"`
	Least     string `json:"least"`
	Met       bool   `json:"met"`
	Because   string `json:"because"`
	State     string `json:"state"`
	Source    string `json:"source"`
	Verified  bool   `json:"verified"`
	NoWireCan bool   `json:"no_wire_can"`
}

// PlainFuse is a Fuse. Most is 0 when no wire is behind it.
type PlainFuse struct {
	Name           string    `json:"name"`
	RatingAmps     float64   `json:"rating_amps"`
	Family         string    `json:"family"`
	FamilyAssumed  bool      `json:"family_assumed"`
	LeastAmps      float64   `json:"least_amps"`
	MostAmps       float64   `json:"most_amps"`
	LimitedBy      string    `json:"limited_by"`
	Inside         []float64 `json:"standard_ratings_inside"`
	Verdict        string    `json:"verdict"`
	TakeAmps       float64   `json:"take_amps"`
	ContinuousAmps float64   `json:"continuous_amps"`
	State          string    `json:"state"`
	Because        string    `json:"because"`
	Source         string    `json:"source"`
	Guess          bool      `json:"guess"`
}

// PlainStarting is a Starting.
type PlainStarting struct {
	Name   string             `json:"name"`
	State  string             `json:"state"`
	Amps   float64            `json:"amps"`
	Loop   float64            `json:"loop_volts"`
	Target float64            `json:"target_volts"`
	Limit  float64            `json:"limit_volts"`
	Cables map[string]float64 `json:"cable_volts"`
}

// PlainMissing is a number that the file lacks.
type PlainMissing struct {
	Ref  string `json:"ref"`
	File string `json:"file"`
	Line int    `json:"line"`
	What string `json:"what"`
	Add  string `json:"add"`
}

// PlainAssumed is a number that stands in for one that the file lacks.
type PlainAssumed struct {
	Ref   string `json:"ref"`
	What  string `json:"what"`
	Taken string `json:"taken"`
	Count int    `json:"count"`
}

// PlainChange is a Change.
type PlainChange struct {
	Name    string `json:"name"`
	Key     string `json:"key"`
	From    string `json:"from"`
	To      string `json:"to"`
	Because string `json:"because"`
}

// round keeps four significant digits.
func round[T ~float64](v T) float64 {
	if v == 0 || math.IsInf(float64(v), 0) || math.IsNaN(float64(v)) {
		return 0
	}
	scale := math.Pow(10, 3-math.Floor(math.Log10(math.Abs(float64(v)))))
	return math.Round(float64(v)*scale) / scale
}

// Plain turns the report into names and numbers.
func (r *Report) Plain() Plain {
	p := Plain{Version: 1, Wires: []PlainWire{}, Fuses: []PlainFuse{}, Starting: []PlainStarting{}, Missing: []PlainMissing{}, Assumed: []PlainAssumed{}, Unsolved: append([]string{}, r.Unsettled...)}
	for _, w := range r.Wires {
		p.Wires = append(p.Wires, w.plain())
	}
	for _, f := range r.Fuses {
		p.Fuses = append(p.Fuses, f.plain())
	}
	for _, s := range r.Starting {
		out := PlainStarting{s.Part.Name.Text, s.State, round(s.Amps), round(s.Loop), float64(s.Target), float64(s.Limit), map[string]float64{}}
		for _, c := range s.Cables {
			out.Cables[c.Wire.Name.Text] = round(c.Volts)
		}
		p.Starting = append(p.Starting, out)
	}
	for _, m := range r.Missing {
		out := PlainMissing{Ref: m.Ref, Line: m.At.Span.Begin().Line, What: m.What, Add: m.Add}
		if f := m.At.Span.File; f != nil {
			out.File = f.Name
		}
		p.Missing = append(p.Missing, out)
	}
	for _, a := range r.Assumptions {
		p.Assumed = append(p.Assumed, PlainAssumed{a.Part.Name.Text, a.What, a.Taken, 1})
	}
	for _, e := range r.Estimates {
		p.Assumed = append(p.Assumed, PlainAssumed{"", e.What, e.Taken, e.Count})
	}
	return p
}

func (w *Wire) plain() PlainWire {
	p := PlainWire{Name: w.Wire.Name.Text, Written: w.Wire.Size.String(), Least: w.Least.String(), Verdict: w.Verdict.String(), State: w.State, Metres: round(w.Metres),
		AmbientC: float64(w.Ambient), AmbientTaken: w.Metres > 0 && !w.AmbientKnown, Metal: metalOf(w.Wire), InsulationC: float64(w.Class), PeakAmps: round(w.Peak), ContinuousAmps: round(w.Continue), LoadedWires: w.Loaded, BundleFactor: w.Bundle, Guess: w.Guess, Limits: []PlainLimit{}}
	if w.Decides != nil {
		p.DecidedBy, p.Because, p.Source = w.Decides.Rule.String(), w.Decides.What, w.Decides.Source
	}
	for _, l := range w.Limits {
		p.Limits = append(p.Limits, PlainLimit{l.Rule.String(), l.Least.String(), l.Met, l.What, l.State, l.Source, l.Verified, l.Beyond})
	}
	return p
}

func metalOf(w *model.Wire) string {
	metal, _ := conductor.ParseMetal(w.Metal.Text)
	return metal.String()
}

func (f *Fuse) plain() PlainFuse {
	p := PlainFuse{Name: f.Part.Name.Text, RatingAmps: float64(f.Rating), Family: f.Family.String(), FamilyAssumed: f.Assumed, LeastAmps: round(f.Least), MostAmps: round(f.Most),
		Inside: []float64{}, Verdict: f.Verdict.String(), TakeAmps: float64(f.Choice), ContinuousAmps: round(f.Continue), State: f.State, Because: f.Why, Source: f.Source, Guess: f.Guess}
	if f.LimitedBy != nil {
		p.LimitedBy = f.LimitedBy.Name.Text
	}
	for _, r := range f.Fitting {
		p.Inside = append(p.Inside, float64(r))
	}
	return p
}

// Plain turns the changes into names.
func (rev *Revision) Plain() []PlainChange {
	out := []PlainChange{}
	for _, c := range rev.Changes {
		out = append(out, PlainChange{c.Name, c.Key, c.From, c.To, c.Why})
	}
	return out
}

// Open counts the wires and fuses that must change.
func (r *Report) Open() int {
	count := 0
	for _, w := range r.Wires {
		if w.Verdict == TooThin || w.Verdict == NoSize || w.Verdict == Misfit {
			count++
		}
	}
	for _, f := range r.Fuses {
		if f.Verdict != Fits {
			count++
		}
	}
	return count
}

// MustChangeFirst orders wires for somebody who acts on them: too thin, without size, not known, then the rest, each in the order
// of the file.
func MustChangeFirst(wires []*Wire) []*Wire {
	rank := func(v Verdict) int {
		switch v {
		case TooThin, Misfit:
			return 0
		case NoSize:
			return 1
		case Unknown:
			return 2
		}
		return 3
	}
	out := slices.Clone(wires)
	slices.SortStableFunc(out, func(a, b *Wire) int { return cmp.Compare(rank(a.Verdict), rank(b.Verdict)) })
	return out
}

// Overdrawn gives the budgets that are overdrawn and that no size of wire is asked to keep, one for each consumer and rule, in its
// worst state, with the wire where it belongs: the first that ends on the consumer, else the first that it concerns.
func (r *Report) Overdrawn() map[*Wire][]Limit {
	type budget struct {
		consumer string
		rule     Rule
	}
	worst := map[budget]Limit{}
	place := map[budget]*Wire{}
	var order []budget
	for _, w := range r.Wires {
		for _, l := range w.Limits {
			if !l.Beyond || l.over() <= 0 {
				continue
			}
			b := budget{l.Consumer, l.Rule}
			old, known := worst[b]
			if !known {
				order = append(order, b)
			}
			if !known || l.over() > old.over() {
				worst[b] = l
			}
			if place[b] == nil {
				place[b] = r.wireOf(l.Consumer, w)
			}
		}
	}
	out := map[*Wire][]Limit{}
	for _, b := range order {
		out[place[b]] = append(out[place[b]], worst[b])
	}
	return out
}

// wireOf is the first wire that ends on a part; another one where none does.
func (r *Report) wireOf(part string, other *Wire) *Wire {
	for _, w := range r.Wires {
		if r.endsOn(w.Wire, part) {
			return w
		}
	}
	return other
}

// endsOn reports whether a wire ends on a part, or on a plug of it.
func (r *Report) endsOn(w *model.Wire, part string) bool {
	for _, pin := range [...]model.PinID{w.From.ID, w.To.ID} {
		if pin == model.NoPin {
			continue
		}
		if p := r.netlist.Pin(pin).Owner.Device(); p != nil && p.Name.Text == part {
			return true
		}
	}
	return false
}

// over is how far a budget is overdrawn.
func (l *Limit) over() unit.Volt { return l.Volts - l.Budget }
