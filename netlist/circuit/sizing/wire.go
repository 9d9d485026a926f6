package sizing

import (
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// A Rule is one of the limits of a wire.
type Rule uint8

// The rules, in the order in which a limit is named when several ask for the same size.
const (
	Fused Rule = iota + 1
	Ampacity
	BranchDrop
	LoopDrop
	Mechanical
	Crimped // the terminals at its ends: barrel and seal
	Rated   // the current of these terminals; no size of wire is a cure
)

var ruleNames = [...]string{"", "fuse", "ampacity", "branch drop", "loop drop", "mechanical", "terminal", "terminal current"}

// String names the rule.
func (r Rule) String() string { return ruleNames[min(int(r), len(ruleNames)-1)] }

// place names what a drop is measured along.
func (r Rule) place() string {
	if r == LoopDrop {
		return "loop"
	}
	return "branch"
}

// A Limit is what one rule asks of a wire.
type Limit struct {
	Rule     Rule
	Least    unit.Size   // the smallest standard size that meets it; not set when none does
	Met      bool        // by the size as written
	What     string      // the numbers, in words
	State    string      // the state that asks most; empty when the rule knows no states
	Device   *model.Part // of Fused: the fuse, or the source with a limit, that the wire has to bear; nil else
	Series   bool        // of Fused: no fuse lies ahead of the wire, and Device stands in series with it
	Source   string
	Verified bool      // the source was read, and not taken from memory or practice
	Beyond   bool      // of a drop: what no wire is to blame for uses so much of the budget that thicker wire is no cure
	Consumer string    // of a drop: whose budget it is
	Load     int       // of a drop: the branch of the consumer in the circuit
	Volts    unit.Volt // of a drop: as written
	Budget   unit.Volt

	meets func(unit.Size) bool
}

// A Verdict compares a size or rating as written with what is needed.
type Verdict uint8

// The verdicts.
const (
	Unknown  Verdict = iota // a number is missing
	Fits                    // as it should be
	Generous                // a wire thicker than it need be
	TooThin                 // a wire
	NoSize                  // a wire without a size; Least is a proposal
	TooSmall                // a fuse
	TooLarge                // a fuse
	NoRating                // a fuse without a rating
	NoneFits                // a fuse: what the loads ask for is more than the wires bear
	Misfit                  // a wire whose size suits everything but the terminal at one of its ends
)

var verdictNames = [...]string{"not known", "ok", "thicker than needed", "too thin", "no size given", "too small", "too large", "no rating given", "no rating fits", "terminal takes another size"}

// String says the verdict in words.
func (v Verdict) String() string { return verdictNames[min(int(v), len(verdictNames)-1)] }

// A Wire is the study of one wire.
type Wire struct {
	Wire     *model.Wire
	Metres   unit.Metre // 0 when not known
	Ambient  unit.Celsius
	Class    unit.Celsius // of its insulation
	Peak     unit.Ampere  // the most in any state
	Continue unit.Ampere  // the most effective current in any state
	State    string       // in which it flows
	Loaded   int          // loaded wires together with it in that state
	Bundle   float64      // the factor for that
	Limits   []Limit
	Least    unit.Size // the smallest standard size that meets all limits; not set when none does
	Decides  *Limit    // the limit that asks for it
	Verdict  Verdict
	Guess    bool // rests on a number that is guessed or assumed

	AmbientKnown bool // a zone states Ambient
}

// sizesFor is the standard sizes that a wire is chosen from, from the thinnest.
func (st *study) sizesFor(w *model.Wire) []unit.Size {
	switch st.o.Units {
	case "awg":
		return conductor.StandardSizes(true)
	case "mm2":
		return conductor.StandardSizes(false)
	}
	if st.written(w) {
		_, byAWG := w.Size.ByAWG()
		return conductor.StandardSizes(byAWG)
	}
	return conductor.StandardSizes(st.cable != "metric")
}

// smallest is the first of the sizes that meets a limit.
func smallest(sizes []unit.Size, meets func(unit.Size) bool) unit.Size {
	for _, s := range sizes {
		if meets(s) {
			return s
		}
	}
	return unit.Size{}
}

// A burden is what a branch carries in its worst state.
type burden struct {
	peak, rms     float64
	needed        float64 // rms over the factor of the bundle
	state         string
	loaded        int
	bundle        float64
	bundleSource  conductor.Source
	ratedByOutput bool
}

// ampacity is the limit of the continuous current.
func (st *study) ampacity(b *circuit.Branch, load burden) Limit {
	derated := func(size unit.Size) (unit.Ampere, conductor.Source) {
		base, source := conductor.AmpacityOf(size, b.Insulation(), b.Metal())
		return conductor.Derate(base, b.Insulation(), b.Ambient()) * unit.Ampere(load.bundle), source
	}
	l := Limit{Rule: Ampacity, State: load.state}
	l.meets = func(size unit.Size) bool {
		most, _ := derated(size)
		return load.rms <= float64(most)*(1+1e-9)
	}
	least := smallest(conductor.StandardSizes(true), l.meets)
	most, source := derated(least)
	l.Source, l.Verified = source.Title, source.Verified
	if load.bundle < 1 {
		l.Source += "; " + load.bundleSource.Title
	}
	l.What = fmt.Sprintf("%s continuous; %s bears %s at %s, %s together", amps(load.rms), least, amps(float64(most)), b.Ambient(), loadedWires(load.loaded))
	return l
}

func loadedWires(n int) string {
	if n == 1 {
		return "1 loaded wire"
	}
	return fmt.Sprintf("%d loaded wires", n)
}

// amps prints a current with three digits, in one form for all sizes of it.
func amps(a float64) string { return unit.Ampere(a).String() }

// fused is the limit of the largest of the fuses ahead; false when none is known.
func (st *study) fused(w *model.Wire, b *circuit.Branch) (Limit, bool) {
	var fuse *model.Part
	rating := 0.0
	for _, f := range st.zones.ahead[w] {
		if v := f.Value("rating"); v != nil && v.Quantity.Value > rating {
			fuse, rating = f, v.Quantity.Value
		}
	}
	if fuse == nil {
		return Limit{}, false
	}
	l := Limit{Rule: Fused, Device: fuse}
	l.meets = bearsAtLeast(rating, b)
	least := smallest(conductor.StandardSizes(true), l.meets)
	_, source := conductor.AmpacityOf(least, b.Insulation(), b.Metal())
	l.Source, l.Verified = source.Title, source.Verified
	l.What = fmt.Sprintf("%s %s; %s bears %s alone at %s", fuse.Name.Text, amps(rating), least, amps(float64(bears(least, b))), b.Ambient())
	return l, true
}

// bearsAtLeast asks of a size that it bears a current alone, in the place of a wire.
func bearsAtLeast(amps float64, b *circuit.Branch) func(unit.Size) bool {
	return func(size unit.Size) bool { return amps <= float64(bears(size, b))*(1+1e-9) }
}

// bears is the ampacity of a single wire of a size in the place of another.
func bears(size unit.Size, b *circuit.Branch) unit.Ampere {
	base, _ := conductor.AmpacityOf(size, b.Insulation(), b.Metal())
	return conductor.Derate(base, b.Insulation(), b.Ambient())
}

// The thinnest wires that hands and vibration leave whole; common practice.
var (
	thinnestExposed = [2]unit.Size{unit.AWG(20), unit.MM2(0.5)}
	thinnestInLoom  = [2]unit.Size{unit.AWG(22), unit.MM2(0.35)}
)

// The thinnest conductors of boats: 33 CFR 183.425 (d) in a sheath of several conductors and (e) installed by itself. It names AWG
// alone; the metric sizes are the next ones above. Communication and electronic navigation are not covered there, and a
// twisted or screened cable is taken for that; nor are electronic circuits below 1 A and what is inside a housing.
var (
	thinnestSingle   = [2]unit.Size{unit.AWG(16), unit.MM2(1.5)}
	thinnestSheathed = [2]unit.Size{unit.AWG(18), unit.MM2(1)}
)

// ThinnestOnBoat returns the thinnest size that a wire may have on a boat, by AWG and by area, how it lies and the section that says so;
// false where the rules of boats do not hold for it.
func ThinnestOnBoat(h *model.Harness, w *model.Wire) (thinnest [2]unit.Size, how, section string, ok bool) {
	signal := w.Cable != nil && w.Cable.Kind.Text != "cable"
	switch {
	case h.Practice != "boat" || signal:
		return thinnest, "", "", false
	case w.Sheathed.On || w.Cable != nil:
		return thinnestSheathed, "in a sheath", "33 CFR 183.425(d)", true
	}
	return thinnestSingle, "by itself", "33 CFR 183.425(e)", true
}

func (st *study) mechanical(branch int, w *model.Wire) Limit {
	thinnest, where, source := thinnestInLoom, "in a loom", "common practice"
	pair, how, section, boat := ThinnestOnBoat(&st.g.Netlist.Harness, w)
	switch {
	case boat:
		thinnest, where, source = pair, how+", on a boat", section
	case st.lay.exposed(branch, w):
		thinnest, where = thinnestExposed, "alone and uncovered, or on no path"
	}
	return Limit{Rule: Mechanical, Source: source, Verified: boat, What: fmt.Sprintf("%s or %s %s", thinnest[0], thinnest[1], where), meets: func(size unit.Size) bool {
		i := 1
		if _, byAWG := size.ByAWG(); byAWG {
			i = 0
		}
		return size.AreaMM2() >= thinnest[i].AreaMM2()*(1-1e-9)
	}}
}

// wire studies one wire branch.
func (st *study) wire(branch int) *Wire {
	b := &st.c.Branches[branch]
	w := st.original(b.Wire)
	load := st.burdens[branch]
	out := &Wire{Wire: w, Metres: b.Metres(), Ambient: b.Ambient(), Class: b.Insulation(), Peak: unit.Ampere(load.peak), Continue: unit.Ampere(load.rms),
		State: load.state, Loaded: load.loaded, Bundle: load.bundle, Guess: st.guessed[branch] || b.GuessedWire(), AmbientKnown: b.AmbientKnown()}
	if l, known := st.fused(w, b); known {
		out.Limits = append(out.Limits, l)
	}
	if l, known := st.inSeries(branch, w, b); known {
		out.Limits = append(out.Limits, l)
	}
	out.Limits = append(out.Limits, st.ampacity(b, load))
	out.Limits = append(out.Limits, st.tightest(branch)...)
	out.Limits = append(out.Limits, st.mechanical(branch, w))
	out.Limits = append(out.Limits, st.crimped(w)...)
	out.Limits = append(out.Limits, st.contacts(branch, w)...)
	st.decide(out, b.Wire.Size)
	return out
}

// decide finds the least size, the limit that decides, and the verdict about the size in the network.
func (st *study) decide(out *Wire, size unit.Size) {
	sizes := st.sizesFor(out.Wire)
	met, crimps := true, true
	var barrel *Limit
	for i := range out.Limits {
		l := &out.Limits[i]
		l.Met = l.meets(size)
		l.Least = smallest(sizes, l.meets)
		if l.Beyond {
			continue
		}
		if l.Rule == Crimped {
			crimps = crimps && l.Met
			if !l.Met {
				barrel = l
			}
		} else {
			met = met && l.Met
		}
		if out.Decides == nil || !l.Least.IsSet() && out.Decides.Least.IsSet() || l.Least.IsSet() && out.Decides.Least.IsSet() && l.Least.AreaMM2() > out.Decides.Least.AreaMM2() {
			out.Decides = l
		}
	}
	out.Least = smallest(sizes, out.meetsAll)
	switch {
	case !st.written(out.Wire):
		out.Verdict = NoSize
	case !met:
		out.Verdict = TooThin
	case !crimps:
		out.Verdict, out.Decides = Misfit, barrel
	case out.Least.IsSet() && out.Least.AreaMM2() < size.AreaMM2()*0.97 && st.thinner(out, size):
		out.Verdict = Generous
	default:
		out.Verdict = Fits
	}
}

// thinner reports whether a standard size of the same sort, thinner than the one given, meets all limits.
func (st *study) thinner(out *Wire, size unit.Size) bool {
	_, byAWG := size.ByAWG()
	return slices.ContainsFunc(conductor.StandardSizes(byAWG), func(s unit.Size) bool {
		if s.AreaMM2() >= size.AreaMM2()*(1-1e-9) {
			return false
		}
		return out.meetsAll(s)
	})
}

// meetsAll reports whether a size meets all limits that a size can meet.
func (out *Wire) meetsAll(s unit.Size) bool {
	return !slices.ContainsFunc(out.Limits, func(l Limit) bool { return !l.Beyond && !l.meets(s) })
}

// tightest returns of the drops of a wire the one of each rule that asks for the thickest wire, and of those that no wire can
// meet the one that is overdrawn most.
func (st *study) tightest(branch int) []Limit {
	var out []Limit
	for _, rule := range [...]Rule{BranchDrop, LoopDrop} {
		var best, lost *Limit
		area := -1.0
		for i := range st.drops[branch] {
			l := &st.drops[branch][i]
			if l.Rule != rule {
				continue
			}
			if l.Beyond {
				if lost == nil || l.Volts-l.Budget > lost.Volts-lost.Budget {
					lost = l
				}
				continue
			}
			needed := math.Inf(1)
			if s := smallest(fine, l.meets); s.IsSet() {
				needed = s.AreaMM2()
			}
			if needed > area {
				best, area = l, needed
			}
		}
		for _, l := range [...]*Limit{best, lost} {
			if l != nil {
				out = append(out, *l)
			}
		}
	}
	return out
}

// fine is a list of areas in steps of 2 %, by which limits are compared; none of them is sold.
var fine = func() []unit.Size {
	var sizes []unit.Size
	for area := 0.05; area < 300; area *= 1.02 {
		sizes = append(sizes, unit.MM2(area))
	}
	return sizes
}()
