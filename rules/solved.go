package rules

import (
	"slices"
	"sync"

	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/circuit/study"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// solved is the harness as a circuit. Each part is worked out when the first rule asks for it, and once.
type solved struct {
	circuit func() *circuit.Circuit
	reports func() []*circuit.Report
	sizing  func() *sizing.Report
	sized   func() map[*model.Wire]*sizing.Wire
	// plausible is whether no fuse carries more than its rating in any state.
	plausible func() bool
	study     func() *study.Study
	shorts    func() []study.Short
}

func (f *Facts) solve(state string) {
	f.solved.circuit = sync.OnceValue(func() *circuit.Circuit { return circuit.New(f.Graph, f.Routes) })
	f.solved.reports = sync.OnceValue(func() []*circuit.Report {
		// Conditions of their own: a rule that tries out what joins when a contact moves does it in the ones of the facts.
		conditions := inState(f.Graph.Conditions(), state)
		reports := make([]*circuit.Report, len(conditions))
		var group sync.WaitGroup
		for i, cond := range conditions {
			group.Go(func() { reports[i] = f.Circuit().Report(cond, circuit.Options{}) })
		}
		group.Wait()
		return reports
	})
	f.solved.sizing = sync.OnceValue(func() *sizing.Report { return sizing.New(f.Graph, f.Routes, sizing.Options{Circuit: f.Circuit()}) })
	f.solved.sized = sync.OnceValue(func() map[*model.Wire]*sizing.Wire {
		wires := map[*model.Wire]*sizing.Wire{}
		for _, w := range f.Sizing().Wires {
			wires[w.Wire] = w
		}
		return wires
	})
	f.solved.plausible = sync.OnceValue(func() bool {
		return !slices.ContainsFunc(f.Sizing().Fuses, func(fuse *sizing.Fuse) bool { return fuse.Rating > 0 && fuse.Continue > fuse.Rating })
	})
	f.solved.study = sync.OnceValue(func() *study.Study { return study.Of(f.Circuit(), f.Routes) })
	f.solved.shorts = sync.OnceValue(func() []study.Short {
		shorts, err := f.Study().Faults()
		if err != nil {
			return nil // the machine's fault: a network that could not be factorised has no currents
		}
		return shorts
	})
}

// prepare has the solved circuit worked out beside the rules that do not ask for it. The three studies share nothing that
// changes.
func (f *Facts) prepare() {
	early := func(work func()) {
		// A panic here would end the process past everybody who could say what happened. The rule that asks gets it again.
		defer func() { _ = recover() }()
		work()
	}
	go early(func() { f.solved.reports() })
	go early(func() { f.solved.sizing() })
	go early(func() { f.solved.shorts() })
}

// Circuit is the harness as an electrical network.
func (f *Facts) Circuit() *circuit.Circuit { return f.solved.circuit() }

// Reports are the solved states, one for each of Conditions: loads with volts and drops, fuses and wires with amperes.
func (f *Facts) Reports() []*circuit.Report { return f.solved.reports() }

// Sizing says for every wire and fuse what it may be and why.
func (f *Facts) Sizing() *sizing.Report { return f.solved.sizing() }

// SizeOf is what Sizing says of one wire; nil for a wire that it does not know.
func (f *Facts) SizeOf(w *model.Wire) *sizing.Wire { return f.solved.sized()[w] }

// Study answers what happens with something out, and where current can come from.
func (f *Facts) Study() *study.Study { return f.solved.study() }

// Shorts is the fault study: a dead short to ground at the far end of every wire.
func (f *Facts) Shorts() []study.Short { return f.solved.shorts() }

// inState keeps the conditions of one state; all when it is empty.
func inState(all []*graph.Condition, state string) []*graph.Condition {
	if state == "" {
		return all
	}
	for i, c := range all {
		if c.State != nil && c.State.Name.Text == state {
			return all[i : i+1]
		}
	}
	return nil
}
