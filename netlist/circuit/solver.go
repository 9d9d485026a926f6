package circuit

import (
	"fmt"
	"sync"

	"ferrule/netlist/circuit/sparse"
	"ferrule/netlist/model"
)

// shared is what all solutions of a circuit have in common: the pattern with its elimination order, and the memory of
// solvers that are not at work. With it a Circuit can solve several states at the same time.
type shared struct {
	once    sync.Once
	pattern *sparse.Pattern
	err     error
	mu      sync.Mutex
	idle    []*solver
}

// A solver is the memory that one solution at a time works in.
type solver struct {
	factor  *sparse.Factor
	held    []bool
	sources sparse.Sources
	result  sparse.Solution
	changes []sparse.Change

	siemens []float64 // conductance of each branch
	own     []float64 // current that each branch drives from A to B by itself, ampere: the Norton equivalent of its source
	volts   []float64 // across each branch, last round; 0 where it floats
	amps    []float64 // from A to B of each branch, last round
	warm    []float64 // resistance of wires at their temperature, ohm
}

// joints are the branches at each terminal: those of pin p are ends[starts[p]:starts[p+1]].
type joints struct {
	once         sync.Once
	starts, ends []int32
}

// take gives an idle solver or makes one; give returns it.
func (c *Circuit) take() (*solver, error) {
	s := &c.shared
	if _, err := c.elimination(); err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if n := len(s.idle); n > 0 {
		last := s.idle[n-1]
		s.idle = s.idle[:n-1]
		return last, nil
	}
	return c.newSolver(), nil
}

// elimination is the pattern of the network with its elimination order, worked out once.
func (c *Circuit) elimination() (*sparse.Pattern, error) {
	s := &c.shared
	s.once.Do(func() { s.pattern, s.err = c.analyze() })
	return s.pattern, s.err
}

// Pattern is the elimination order of the network of all branches, in their order, between all terminals. It is worked out once,
// for the solutions and for every study of the same branches with other conductances. The error is the machine's fault.
func (c *Circuit) Pattern() (*sparse.Pattern, error) { return c.elimination() }

func (c *Circuit) give(s *solver) {
	c.shared.mu.Lock()
	c.shared.idle = append(c.shared.idle, s)
	c.shared.mu.Unlock()
}

func (c *Circuit) analyze() (*sparse.Pattern, error) {
	branches := make([]sparse.Branch, len(c.Branches))
	for i, b := range c.Branches {
		branches[i] = sparse.Branch{A: int32(b.A), B: int32(b.B)}
	}
	pattern, err := sparse.Analyze(len(c.Netlist.Pins), branches)
	if err != nil {
		return nil, fmt.Errorf("analysing the network: %w", err)
	}
	return pattern, nil
}

func (c *Circuit) newSolver() *solver {
	nodes, branches := len(c.Netlist.Pins), len(c.Branches)
	s := &solver{held: make([]bool, nodes), siemens: make([]float64, branches), own: make([]float64, branches),
		volts: make([]float64, branches), amps: make([]float64, branches), warm: make([]float64, branches)}
	s.sources.Amperes = make([]float64, nodes)
	if c.base != model.NoPin {
		s.held[c.base] = true
	}
	return s
}

// solve finds the potentials for the present conductances and own currents, with further conductors put in.
func (s *solver) solve(c *Circuit, extra []Extra) error {
	state := sparse.State{Siemens: s.siemens, Held: s.held}
	var err error
	if s.factor == nil {
		s.factor, err = c.shared.pattern.Factor(state)
	} else {
		err = s.factor.Refactor(state)
	}
	if err != nil {
		return fmt.Errorf("factorising the network: %w", err)
	}
	clear(s.sources.Amperes)
	for i, j := range s.own {
		if j != 0 { // a current from A to B through the branch leaves A and enters B
			s.sources.Amperes[c.Branches[i].A] -= j
			s.sources.Amperes[c.Branches[i].B] += j
		}
	}
	if err := s.substitute(extra); err != nil {
		return fmt.Errorf("solving the network: %w", err)
	}
	return nil
}

// polish solves once more for the last conductances, to full precision and with currents, residual and condition. With
// further conductors put in every round does that.
func (s *solver) polish(extra []Extra) error {
	if len(extra) > 0 {
		return nil
	}
	if err := s.factor.Solve(&s.result, s.sources); err != nil {
		return fmt.Errorf("solving the network: %w", err)
	}
	return nil
}

func (s *solver) substitute(extra []Extra) error {
	if len(extra) == 0 {
		return s.factor.Approach(&s.result, s.sources)
	}
	s.changes = s.changes[:0]
	for _, x := range extra {
		s.changes = append(s.changes, sparse.Bridge(int32(x.A), int32(x.B), 1/max(x.Ohms, leastOhms)))
	}
	variant, err := s.factor.With(s.changes)
	if err != nil {
		return err
	}
	return variant.Solve(&s.result, s.sources)
}
