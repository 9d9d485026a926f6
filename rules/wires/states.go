package wires

import (
	"cmp"
	"iter"
	"math"
	"strings"

	"ferrule/netlist/circuit"
	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

// settled yields the states whose solution came to rest, in the order of the file. In a state whose relays chatter, or lock
// each other out so that chance decides, no number can be judged.
func settled(p *rules.Pass) iter.Seq2[*graph.Condition, *circuit.Report] {
	return func(yield func(*graph.Condition, *circuit.Report) bool) {
		for i, r := range p.Reports() {
			s := r.Solution
			if s.Settled && s.Err == nil && len(s.Cycle) == 0 && len(s.Race) == 0 && !yield(p.Conditions[i], r) {
				return
			}
		}
	}
}

// inState names a condition as messages do.
func inState(c *graph.Condition) string {
	if c.State == nil {
		return "with everything at rest"
	}
	return "in state " + c.Name()
}

// volts writes a voltage to the centivolt, below 0.2 V to the millivolt, and below 20 mV to a tenth of that.
func volts(v float64) string {
	switch mv := v * 1000; {
	case math.Abs(mv) < 20:
		return unit.Format(math.Round(mv*10)/10) + " mV"
	case math.Abs(mv) < 200:
		return unit.Format(math.Round(mv)) + " mV"
	}
	return unit.Format(math.Round(v*100)/100) + " V"
}

// amperes writes a current to three figures or so.
func amperes(a float64) string {
	switch {
	case math.Abs(a) < 1:
		return unit.Format(math.Round(a*1e3)) + " mA"
	case math.Abs(a) < 100:
		return unit.Format(math.Round(a*10)/10) + " A"
	}
	return unit.Format(math.Round(a)) + " A"
}

// larger returns the standard sizes above a size, thinnest first, in the units that the size is written in.
func larger(size unit.Size) []unit.Size {
	_, byAWG := size.ByAWG()
	all := conductor.StandardSizes(byAWG)
	for i, s := range all {
		if s.AreaMM2() > size.AreaMM2()*1.02 { // names of sizes are rounded
			return all[i:]
		}
	}
	return nil
}

// titled is a designator with the title of what it stands for.
func titled(ref, title string) string {
	title = strings.TrimPrefix(title, ": ") // of a part without one, what in it takes the current
	if title == "" {
		return ref
	}
	return ref + " (" + title + ")"
}

// place returns the words of a wire that a finding about its size points at: the size, or the name where it has none.
func place(w *model.Wire) (at model.Name) {
	if w.Size.IsSet() {
		return model.Name{Text: w.Size.String(), Span: w.SizeSpan}
	}
	return w.Name
}

// withinEstimates is what a drop may pass its limit by before it is said: resistances are known to a twentieth at best.
const withinEstimates = 1.05

// worse keeps the larger of two numbers with what belongs to it; the first one found stays among equals.
type worse[T any] struct {
	by   float64
	what T
	any  bool
}

func (w *worse[T]) take(by float64, what T) {
	if !w.any || cmp.Compare(by, w.by) > 0 {
		w.by, w.what, w.any = by, what, true
	}
}
