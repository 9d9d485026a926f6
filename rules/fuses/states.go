package fuses

import (
	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

// settled returns the solved states whose numbers can be judged: those that came to rest.
func settled(p *rules.Pass) []*circuit.Report {
	var out []*circuit.Report
	for _, r := range p.Reports() {
		if r.Solution.Settled && r.Solution.Err == nil && len(r.Solution.Cycle) == 0 && len(r.Solution.Race) == 0 {
			out = append(out, r)
		}
	}
	return out
}

// studies is what the sizing says of each fuse.
func studies(p *rules.Pass) map[*model.Part]*sizing.Fuse {
	out := map[*model.Part]*sizing.Fuse{}
	for _, f := range p.Sizing().Fuses {
		out[f.Part] = f
	}
	return out
}

// ambientKnown reports whether a zone states the temperature around a part.
func ambientKnown(part *model.Part) bool {
	place := part.Owner.Place()
	return place != nil && place.Zone != nil && place.Zone.Ambient.IsSet()
}

// at writes the temperature around a fuse, and that it is taken where no zone states it.
func at(f *sizing.Fuse) string {
	if !ambientKnown(f.Part) {
		return "at " + f.Ambient.String() + " (taken, since no zone states it)"
	}
	return "at " + f.Ambient.String()
}

// branches finds the branch of each load and coil in the circuit.
func branches(c *circuit.Circuit) map[*graph.Edge]*circuit.Branch {
	out := map[*graph.Edge]*circuit.Branch{}
	for i := range c.Branches {
		if e := c.Branches[i].Edge; e != nil {
			out[e] = &c.Branches[i]
		}
	}
	return out
}
