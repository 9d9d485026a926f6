package sparse

import (
	"fmt"
	"math"
)

// Bounds on the magnitudes accepted. They are far outside what a vehicle holds and
// exist so that no intermediate product can overflow, or underflow to a zero that
// would be mistaken for an open branch.
const (
	MinSiemens = 1e-15 // smallest conductance other than 0
	MaxSiemens = 1e12  // largest conductance
	MaxSource  = 1e30  // largest injected current in amperes or held potential in volts
)

// InputError says which number handed in cannot be used. Index counts in the list
// that Quantity names, so that the caller can name the wire or pin behind it.
type InputError struct {
	Quantity string  // "conductance", "shunt", "current", "potential", "branch" ...
	Index    int     // index of the offender in its list, -1 when the list as a whole is wrong
	Value    float64 // the offending value, where there is one
	Problem  string  // what is wrong and what would be right
}

// Error states quantity, index and problem in one line.
func (e *InputError) Error() string {
	if e.Index < 0 {
		return fmt.Sprintf("%s: %s", e.Quantity, e.Problem)
	}
	return fmt.Sprintf("%s %d: %s", e.Quantity, e.Index, e.Problem)
}

func checkLength(quantity string, got, want int, optional bool) error {
	if got == want || optional && got == 0 {
		return nil
	}
	return &InputError{quantity, -1, float64(got), fmt.Sprintf("%d values given, %d needed", got, want)}
}

func checkSiemens(quantity string, values []float64) error {
	for i, g := range values {
		if g == 0 || g >= MinSiemens && g <= MaxSiemens {
			continue
		}
		problem := fmt.Sprintf("%g S lies outside 0 or %g to %g S", g, MinSiemens, MaxSiemens)
		return &InputError{quantity, i, g, problem}
	}
	return nil
}

func checkSource(quantity string, values []float64) error {
	for i, x := range values {
		if !(math.Abs(x) <= MaxSource) {
			return &InputError{quantity, i, x, fmt.Sprintf("%g is not a number up to %g", x, MaxSource)}
		}
	}
	return nil
}

func (p *Pattern) checkState(s State) error {
	n, m := len(p.node), len(p.branches)
	if err := checkLength("conductance", len(s.Siemens), m, false); err != nil {
		return err
	}
	if err := checkLength("held", len(s.Held), n, true); err != nil {
		return err
	}
	if err := checkLength("shunt", len(s.Shunt), n, true); err != nil {
		return err
	}
	if err := checkSiemens("conductance", s.Siemens); err != nil {
		return err
	}
	return checkSiemens("shunt", s.Shunt)
}

func (p *Pattern) checkSources(s Sources) error {
	n := len(p.node)
	if err := checkLength("current", len(s.Amperes), n, true); err != nil {
		return err
	}
	if err := checkLength("potential", len(s.Volts), n, true); err != nil {
		return err
	}
	if err := checkSource("current", s.Amperes); err != nil {
		return err
	}
	return checkSource("potential", s.Volts)
}
