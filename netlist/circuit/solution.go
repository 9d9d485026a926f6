package circuit

import (
	"math"

	"ferrule/netlist/model"
)

// A Solution is a harness solved in one state.
type Solution struct {
	Circuit *Circuit
	State   string
	Volts   []float64 // by PinID, against the minus of the first battery; NaN where a terminal floats
	Amps    []float64 // by branch, from A to B
	Celsius []float64 // by branch: the conductor temperature of wires
	On      []bool    // by branch: contacts closed, diodes conducting, outputs on

	Settled  bool          // the iteration came to rest
	Rounds   int           // that it took
	Cycle    []*model.Part // relays that chatter; nil when none does
	Residual float64       // the largest sum of currents at a terminal, ampere
	Relative float64       // the same against the largest current
	Cond     float64       // condition number of the network, 1-norm, estimated
	Err      error         // the machine's fault: a network that could not be factorised
}

// solveOnce solves for the present conductances; false when the network could not be factorised.
func (r *run) solveOnce() bool {
	c := r.c
	if c.solver == nil {
		s, err := c.newSolver()
		if err != nil {
			r.sol.Err = err
			return false
		}
		c.solver = s
	}
	if err := c.solver.solve(c, r.g, r.j); err != nil {
		r.sol.Err = err
		return false
	}
	r.volts = append([]float64(nil), c.solver.result.Volts...)
	r.heat()
	return true
}

// finish writes the last round into the solution. Currents are taken from the factor, which keeps small differences of
// large potentials; own currents of sources are added to them.
func (r *run) finish() {
	s, c := r.sol, r.c
	s.Volts, s.Celsius = r.volts, r.wireC
	s.Amps, s.On = make([]float64, len(c.Branches)), make([]bool, len(c.Branches))
	for i := range c.Branches {
		if c.solver != nil && s.Err == nil {
			s.Amps[i] = c.solver.result.Amperes[i] + r.j[i]
		}
		s.On[i] = r.g[i] != 0
	}
	if c.solver != nil && s.Err == nil {
		s.Residual, s.Relative, s.Cond = c.solver.result.ResidualAmperes, c.solver.result.ResidualRelative, c.solver.result.Condition
	}
}

// Across is the voltage from one terminal to another, false when one of them floats.
func (s *Solution) Across(a, b model.PinID) (float64, bool) {
	v := s.Volts[a] - s.Volts[b]
	return v, !math.IsNaN(v)
}
