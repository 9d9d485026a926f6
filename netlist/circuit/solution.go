package circuit

import (
	"math"

	"ferrule/netlist/model"
)

// A Solution is a harness solved in one state.
type Solution struct {
	Circuit *Circuit
	State   string
	Volts   []float64 // by PinID, against Circuit.Base, the minus of a battery; NaN where a terminal floats
	Amps    []float64 // by branch, from A to B; never NaN
	Celsius []float64 // by branch: the conductor temperature of wires
	On      []bool    // by branch: contacts closed, diodes conducting, outputs on
	Extra   []float64 // by Options.Extra, from A to B, ampere

	Settled  bool          // the iteration came to rest
	Rounds   int           // that it took
	Cycle    []*model.Part // relays that chatter; nil when none does
	Race     []*model.Part // relays that lock each other out, so that which of them pulled in is chance; nil when none does
	Residual float64       // the largest sum of currents at a terminal, ampere
	Relative float64       // the same against the largest current
	Cond     float64       // condition number of the network, 1-norm, estimated
	Err      error         // the machine's fault: a network that could not be factorised; volts are NaN then

	across  []float64
	modes   []mode
	relays  []bool
	outputs []bool
	powered []bool
}

// fail makes the solution one of a network that could not be solved: all terminals float.
func (s *Solution) fail(err error) {
	c := s.Circuit
	s.Err, s.Settled = err, false
	s.Volts = make([]float64, len(c.Netlist.Pins))
	for i := range s.Volts {
		s.Volts[i] = math.NaN()
	}
	n := len(c.Branches)
	s.Amps, s.Celsius, s.On, s.across = make([]float64, n), make([]float64, n), make([]bool, n), make([]float64, n)
}

// finish writes the last round into the solution. Currents are taken from the factor, which keeps small differences of
// large potentials; own currents of sources are added to them.
func (r *run) finish() {
	s, c := r.sol, r.c
	if s.Err != nil {
		return
	}
	s.Volts = append([]float64(nil), r.result.Volts...)
	s.Extra = append([]float64(nil), r.result.Bridges...)
	s.across = append([]float64(nil), r.volts...)
	s.modes, s.relays, s.outputs, s.powered = r.modes, r.relays, r.outputs, r.powered
	n := len(c.Branches)
	s.Amps, s.Celsius, s.On = make([]float64, n), make([]float64, n), make([]bool, n)
	for i := range c.Branches {
		if a := r.result.Amperes[i] + r.own[i]; a == a {
			s.Amps[i] = a
		}
		s.On[i] = r.siemens[i] != 0
		if b := &c.Branches[i]; b.law == wired {
			s.Celsius[i] = float64(b.celsiusAt(s.Amps[i]))
		}
	}
	s.Residual, s.Relative, s.Cond = r.result.ResidualAmperes, r.result.ResidualRelative, r.result.Condition
}

// Across is the voltage from one terminal to another, false when one of them floats.
func (s *Solution) Across(a, b model.PinID) (float64, bool) {
	v := s.Volts[a] - s.Volts[b]
	return v, !math.IsNaN(v)
}

// BranchVolts is the voltage from A to B of a branch; 0 where it floats. It is precise to the microvolt for a joint of
// micro-ohms, and known within parts of the network that float as a whole.
func (s *Solution) BranchVolts(branch int) float64 { return s.across[branch] }

// Floating returns the terminals that are wired and yet joined to no source, in the order of the file: a wire that leads
// nowhere in this state, a signal that only an open output drives.
func (s *Solution) Floating() []model.PinID {
	var pins []model.PinID
	for i, v := range s.Volts {
		if id := model.PinID(i); math.IsNaN(v) && s.Circuit.Graph.Reached(id) {
			pins = append(pins, id)
		}
	}
	return pins
}

// Engaged reports whether a relay is pulled in.
func (s *Solution) Engaged(p *model.Part) bool {
	at, ok := s.Circuit.winding[p]
	return ok && int(at) < len(s.relays) && s.relays[at]
}
