package study

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sparse"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// The battery of the fault study is weak: less current flows, and a fuse needs longer. Common practice (12 V system).
const (
	weakVolts = 12.0
	weakOhms  = 0.020
	fullVolts = 12.65 // of a charged one: lead-acid at 25 C, common practice
)

// shorts is the network of conductors, fuses, closed contacts and batteries in one circumstance. Consumers are left out: beside a
// dead short they take next to nothing, a few per cent of its current, and less still at the voltage that it leaves them.
type shorts struct {
	s      *Study
	factor *sparse.Factor
	open   []float64 // volts of every terminal with nothing shorted

	injected []float64 // what the batteries drive into each terminal, as Norton equivalents, ampere
	bridges  func() *bridges

	drawn   []float64       // room for what is injected with a short
	shorted sparse.Solution // room for what flows then
}

// network builds it. hot gives the conductor temperature of a branch; weak takes the weak battery instead of the stated one.
func (h *hunt) network(f *feed, set setting, weak bool, hot func(branch int) float64) (*shorts, error) {
	s := h.s
	n := &shorts{s: s}
	siemens := make([]float64, len(s.circuit.Branches))
	injected := make([]float64, len(s.netlist.Pins))
	held := make([]bool, len(s.netlist.Pins))
	any := false
	for i := range s.circuit.Branches {
		b := &s.circuit.Branches[i]
		switch ohms, passes := b.ClosedOhms(unit.Celsius(hot(i))); {
		case b.IsBattery():
			volts, inner := b.Volts, b.Ohms
			if weak {
				volts, inner = b.Volts*weakVolts/fullVolts, max(b.Ohms, weakOhms)
			}
			siemens[i] = 1 / inner
			injected[b.A] += volts / inner
			injected[b.B] -= volts / inner
			held[b.B], any = held[b.B] || !any, true
		case passes && ohms > 0 && s.passesBranch(f, set, b):
			siemens[i] = 1 / ohms
		}
	}
	pattern, err := s.circuit.Pattern()
	if err != nil {
		return nil, err
	}
	if n.factor, err = pattern.Factor(sparse.State{Siemens: siemens, Held: held}); err != nil {
		return nil, fmt.Errorf("factorising the network of conductors: %w", err)
	}
	if err := n.factor.Solve(&h.rest, sparse.Sources{Amperes: injected}); err != nil {
		return nil, fmt.Errorf("solving the network of conductors: %w", err)
	}
	n.open, n.injected = slices.Clone(h.rest.Volts), injected
	n.bridges = sync.OnceValue(func() *bridges {
		return findBridges(s.branches(), siemens, func(v int32) bool { return held[v] || injected[v] != 0 }, len(held))
	})
	return n, nil
}

// branches are the two terminals of every branch of the circuit.
func (s *Study) branches() []sparse.Branch {
	branches := make([]sparse.Branch, len(s.circuit.Branches))
	for i := range branches {
		b := &s.circuit.Branches[i]
		branches[i] = sparse.Branch{A: int32(b.A), B: int32(b.B)}
	}
	return branches
}

// passesBranch leaves out open contacts, large resistors and diodes that are not fed on their live side.
func (s *Study) passesBranch(f *feed, set setting, b *circuit.Branch) bool {
	switch {
	case b.Edge == nil:
		return true // what is one metal inside a module
	case b.Edge.Kind == graph.Diode && s.netlist.Harness.PositiveGround:
		return f.minus[b.B] && !f.plus[b.B]
	case b.Edge.Kind == graph.Diode:
		return f.plus[b.A] && !f.minus[b.A]
	}
	return s.passes(f, set, b.Edge)
}

// at returns the current in ampere of a dead short from a terminal to a ground, and the resistance of its whole loop in ohm; false
// when one of them floats. It is Thevenin's theorem: open-circuit voltage over the resistance between the two.
func (n *shorts) at(pin, ground model.PinID) (amps, ohms float64, ok bool) {
	if pin == ground {
		return 0, 0, false
	}
	volts := math.Abs(n.open[pin] - n.open[ground])
	ohms, ok = n.factor.Between(int32(pin), int32(ground))
	if !ok || math.IsNaN(volts) || !(ohms > 0) {
		return 0, 0, false
	}
	return volts / ohms, ohms, true
}
