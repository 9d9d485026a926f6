package circuit

import (
	"math"

	"ferrule/netlist/conductor"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// A Verdict judges a consumer by its budget.
type Verdict uint8

// The verdicts, from good to bad.
const (
	NotJudged    Verdict = iota // it has no budget, or nothing feeds it
	WithinTarget                // within target and limit
	AboveTarget                 // its own wires and contacts lose too much: thicker wire
	AboveLimit                  // the loop loses too much: wire, or else feeder or ground
)

var verdictWords = [...]string{"", "within target", "above target", "above limit"}

// String is the verdict in words; empty for NotJudged.
func (v Verdict) String() string { return verdictWords[v] }

// A LoadReport is a consumer at work in one state: while it is on, and all others that pulse take their means. That every
// injector, coil and socket is on at the same moment is no case to judge a lamp by.
type LoadReport struct {
	Branch  int
	Ref     string // the part, or the terminal that takes the current
	Title   string
	Amps    float64
	Mean    float64 // over time
	Watts   float64
	Fed     bool // Drop is known
	Drop    Drop
	Budget  Budget
	Verdict Verdict
	Guessed bool // its numbers are guesses or assumed
}

// A FuseReport is a fuse, breaker or link.
type FuseReport struct {
	Branch     int
	Part       *model.Part
	Amps, Mean float64
	RMS        float64
	Rating     float64 // 0 when not stated
	Continuous float64 // that it may carry for hours at its ambient, ampere
	Volts      float64

	AmbientKnown bool // a zone states it; else Continuous rests on that of a room
}

// Share is the current that warms the fuse as a share of its rating; 0 when that is not stated.
func (f *FuseReport) Share() float64 { return ratio(f.RMS, f.Rating) }

// A WireReport is a wire.
type WireReport struct {
	Branch     int
	Wire       *model.Wire
	Amps, Mean float64
	RMS        float64
	Volts      float64 // along it, its connections included
	Watts      float64
	Ampacity   float64 // at its ambient, in its fullest bundle, ampere
	Loaded     int     // wires of that bundle that are loaded at the same time, itself among them
	Ambient    unit.Celsius
	Celsius    unit.Celsius // of the conductor
	Brief      bool         // it feeds a starter's motor, which runs for seconds: the ampacity does not judge it
	Guessed    bool         // by the file, or by a path that it takes its length from

	AmbientKnown bool    // a zone states it; else Ampacity and Celsius rest on that of a room
	Estimated    float64 // of Volts: on its connections
}

// VoltsMarked reports whether the drop rests on a guess, or on estimates for more than a tenth.
func (w *WireReport) VoltsMarked() bool { return w.Guessed || w.Estimated > estimatedShare*w.Volts }

// Share is the current that warms the wire as a share of what it may carry there.
func (w *WireReport) Share() float64 { return ratio(w.RMS, w.Ampacity) }

func ratio(a, b float64) float64 {
	if b <= 0 {
		return 0
	}
	return a / b
}

// A SourceReport is a source of the network in one state.
type SourceReport struct {
	Branch     int
	Volts      float64 // at its terminals
	Amps, Mean float64 // that it delivers; negative while it is charged
	Limit      float64 // the most that it delivers; 0 for none
}

// A Report is everything about one state. In Solution all that the state drives is on at once: its currents are peaks. Mean holds the
// means over time.
type Report struct {
	Solution, Mean *Solution
	Title          string
	Loads          []LoadReport
	Fuses          []FuseReport
	Wires          []WireReport
	Sources        []SourceReport
	Contacts       []ContactReport
	Outputs        []OutputReport
	Leads          []LeadReport
	Notes          []string // where the state and the solution do not agree
	Balance        Balance

	warm *Solution // as Mean, for what warms wires; see solveWarm
}

// Report solves a state and says what flows in it. Lists are in the order of the file.
func (c *Circuit) Report(cond *graph.Condition, o Options) *Report {
	r := &Report{Solution: c.Solve(cond, o)}
	r.Mean = c.SolveMean(cond, o)
	r.warm = c.solveWarm(cond, o, r.Solution, r.Mean)
	o.Mean = true
	typical := c.Solve(cond, o)
	if cond.State != nil {
		r.Title = cond.State.Title.Text
	}
	for i := range c.Branches {
		switch b := &c.Branches[i]; {
		case b.law == consumer && !b.excites:
			r.addLoad(i, b, c.whileOn(cond, o, typical, i))
		case b.law == wired:
			r.addWire(i, b)
		case b.law == supplying && r.Solution.On[i]:
			r.Sources = append(r.Sources, SourceReport{i, r.Solution.across[i], -r.Solution.Amps[i], -r.Mean.Amps[i], b.Limit})
		case b.law == driving && r.Solution.On[i]:
			r.addOutput(i, b)
		case b.protects():
			r.addFuse(i, b)
		}
	}
	r.addContacts()
	r.addLeads()
	r.engineNotes(cond)
	r.bundle(c)
	o.Mean = false
	r.Balance = c.Balance(cond, o)
	return r
}

// whileOn solves for one consumer that is on, all others at their means.
func (c *Circuit) whileOn(cond *graph.Condition, o Options, typical *Solution, load int) *Solution {
	b := &c.Branches[load]
	if b.duty >= 1 || math.Abs(typical.Amps[load]) < leastAmps {
		return typical
	}
	o.From, o.Full = typical, func(x *Branch) bool { return x == b }
	return c.Solve(cond, o)
}

func (r *Report) addLoad(i int, b *Branch, s *Solution) {
	if math.Abs(s.Amps[i]) < leastAmps || math.Abs(s.across[i]) < 0.02*b.nominal {
		return
	}
	l := LoadReport{Branch: i, Amps: s.Amps[i], Mean: r.Mean.Amps[i], Watts: s.Amps[i] * s.across[i], Guessed: s.Circuit.guessed(b.Part)}
	l.Ref, l.Title = s.Circuit.nameOf(b)
	l.Drop, l.Fed = s.DropOf(i)
	budget, judged := s.Circuit.BudgetOf(b)
	if l.Budget = budget; judged && l.Fed {
		l.Verdict = budget.judge(&l.Drop)
	}
	r.Loads = append(r.Loads, l)
}

func (b *Budget) judge(d *Drop) Verdict {
	own := d.Own
	if b.Whole {
		own = d.Loop
	}
	switch {
	case d.Loop > float64(b.Limit):
		return AboveLimit
	case own > float64(b.Target):
		return AboveTarget
	}
	return WithinTarget
}

// nameOf is the designator and the title of what a branch takes current for.
func (c *Circuit) nameOf(b *Branch) (ref, title string) {
	ref, title = b.Part.Name.Text, b.Part.Title.Text
	switch {
	case b.Load != nil && b.Load.Title.IsSet() && b.Load.Title.Text != title:
		title += ": " + b.Load.Title.Text
	case b.control >= 0:
		title += ": motor"
	case b.Edge == nil:
		pin := c.Netlist.Pin(b.Pin)
		ref = pin.String()
		if pin.Does.IsSet() {
			title += ": " + pin.Does.Text
		}
	case b.Part.Kind.Name == "starter":
		title += ": solenoid"
	}
	return ref, title
}

// guessed reports whether numbers of a part are guesses of the file or assumed here.
func (c *Circuit) guessed(p *model.Part) bool {
	if p.KnownFrom.Text == "guess" {
		return true
	}
	for _, a := range c.Assumptions {
		if a.Part == p {
			return true
		}
	}
	return false
}

func (r *Report) addFuse(i int, b *Branch) {
	amps, mean := math.Abs(r.Solution.Amps[i]), math.Abs(r.Mean.Amps[i])
	f := FuseReport{Branch: i, Part: b.Part, Amps: amps, Mean: mean, RMS: RMS(amps, mean), Volts: math.Abs(r.Solution.across[i])}
	if v := b.Part.Value("rating"); v != nil && v.Quantity.Value > 0 {
		f.Rating = v.Quantity.Value
		limit, _ := fusecurve.ContinuousLimit(fuseFamily(b.Part), unit.Ampere(f.Rating), b.ambient)
		f.Continuous, f.AmbientKnown = float64(limit), b.ambientKnown
	}
	r.Fuses = append(r.Fuses, f)
}

func (r *Report) addWire(i int, b *Branch) {
	amps, mean := math.Abs(r.Solution.Amps[i]), math.Abs(r.Mean.Amps[i])
	w := WireReport{Branch: i, Wire: b.Wire, Amps: amps, Mean: mean, RMS: RMS(amps, math.Abs(r.warm.Amps[i])), Volts: math.Abs(r.Solution.across[i]),
		Ampacity: float64(b.capacity), Loaded: 1, Ambient: b.ambient, Guessed: b.GuessedWire(),
		AmbientKnown: b.ambientKnown, Estimated: r.Solution.estimatedVolts(i)}
	w.Watts, w.Celsius = w.Volts*amps, b.celsiusAt(w.RMS)
	r.Wires = append(r.Wires, w)
}

// bundle derates the wires by those that lie beside them on their fullest path and are loaded at the same time. A wire that
// feeds the motor of a starter is warm for seconds only; it neither heats others nor is judged.
func (r *Report) bundle(c *Circuit) {
	brief := r.brief(c)
	loaded := map[*model.Path]int{}
	heats := func(w *WireReport) bool {
		base, _ := conductor.AmpacityOf(w.Wire.Size, c.Branches[w.Branch].class, c.Branches[w.Branch].metal)
		return !brief[w.Branch] && w.RMS > loadedShare*float64(base)
	}
	for i := range r.Wires {
		if w := &r.Wires[i]; heats(w) {
			for _, p := range c.Branches[w.Branch].paths {
				loaded[p]++
			}
		}
	}
	for i := range r.Wires {
		w := &r.Wires[i]
		w.Brief = brief[w.Branch]
		own := 1
		if heats(w) {
			own = 0
		}
		for _, p := range c.Branches[w.Branch].paths {
			w.Loaded = max(w.Loaded, loaded[p]+own)
		}
		factor, _ := conductor.BundleFactor(w.Loaded)
		w.Ampacity *= factor
	}
}

// loadedShare is the share of its current at 30 C above which a wire heats those beside it. Common practice.
const loadedShare = 0.25

// brief finds the branches on the way of the current of starters.
func (r *Report) brief(c *Circuit) map[int]bool {
	on := map[int]bool{}
	for _, l := range r.Loads {
		if c.Branches[l.Branch].control < 0 {
			continue
		}
		for i := range l.Drop.Chain() {
			on[i] = true
		}
		for _, w := range r.Wires { // grounds in parallel, and the leads between them
			on[w.Branch] = on[w.Branch] || w.Amps > 0.05*math.Abs(l.Amps) && w.Amps > 4
		}
	}
	return on
}
