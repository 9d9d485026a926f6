package circuit

import (
	"fmt"

	"ferrule/netlist/circuit/sparse"
	"ferrule/netlist/model"
)

// solver keeps what all states share: the pattern with its elimination order, and the memory of the factor.
type solver struct {
	pattern *sparse.Pattern
	factor  *sparse.Factor
	held    []bool
	sources sparse.Sources
	result  sparse.Solution
}

func (c *Circuit) newSolver() (*solver, error) {
	branches := make([]sparse.Branch, len(c.Branches))
	for i, b := range c.Branches {
		branches[i] = sparse.Branch{A: int32(b.A), B: int32(b.B)}
	}
	nodes := len(c.Netlist.Pins)
	pattern, err := sparse.Analyze(nodes, branches)
	if err != nil {
		return nil, fmt.Errorf("analysing the network: %w", err)
	}
	s := &solver{pattern: pattern, held: make([]bool, nodes)}
	s.sources = sparse.Sources{Amperes: make([]float64, nodes)}
	if c.base != model.NoPin {
		s.held[c.base] = true
	}
	return s, nil
}

// solve finds the potentials for given conductances and own currents of the branches.
func (s *solver) solve(c *Circuit, siemens, own []float64) error {
	state := sparse.State{Siemens: siemens, Held: s.held}
	var err error
	if s.factor == nil {
		s.factor, err = s.pattern.Factor(state)
	} else {
		err = s.factor.Refactor(state)
	}
	if err != nil {
		return fmt.Errorf("factorising the network: %w", err)
	}
	clear(s.sources.Amperes)
	for i, j := range own {
		if j != 0 { // a current from A to B through the branch leaves A and enters B
			s.sources.Amperes[c.Branches[i].A] -= j
			s.sources.Amperes[c.Branches[i].B] += j
		}
	}
	if err := s.factor.Solve(&s.result, s.sources); err != nil {
		return fmt.Errorf("solving the network: %w", err)
	}
	return nil
}
