package circuit

import (
	"fmt"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// Charges reports whether the generators turn at speed in a state: as `charging` says, and where that is left out, while the engine
// runs.
func Charges(s *model.State) bool {
	switch {
	case s == nil:
		return false
	case !s.Charging.Span.IsZero():
		return s.Charging.On
	}
	return s.Engine.Text == "running"
}

// charges is Charges under options.
func (o *Options) charges(cond *graph.Condition) bool {
	if o.Engine != AsStated {
		return o.Engine == Turning
	}
	return Charges(cond.State)
}

// cranks reports whether the starter turns the engine in a condition, by what the state says.
func cranks(cond *graph.Condition) bool {
	return cond.State != nil && cond.State.Engine.Text == "cranking"
}

// crankAmps is what the starters of a harness take together, by their key `crank`.
func (c *Circuit) crankAmps() float64 {
	sum := 0.0
	for _, p := range c.Netlist.Parts {
		if v := p.Value("crank"); v != nil && p.Kind.Name == "starter" {
			sum += v.Quantity.Value
		}
	}
	return sum
}

// crankingSource settles how a battery gives way while a starter turns: to crankPosts at its posts at the current of the starters,
// unless its inner resistance is stated and no guess, or gives way further. Its charge, its age and the cold are in that figure.
func (c *Circuit) crankingSource(b *Branch) {
	b.crankOhms = b.Ohms
	amps := c.crankAmps()
	if v := b.Part.Value("resistance"); amps <= 0 || v != nil && v.Quantity.Value > 0 && b.Part.KnownFrom.Text != "guess" {
		return
	}
	b.crankOhms = max(b.Ohms, (b.Volts-c.scale(crankPosts)/float64(max(1, c.series[b.A])))/amps)
	for _, s := range c.Netlist.States {
		if s.Engine.Text == "cranking" && b.crankOhms > b.Ohms {
			c.assume(b.Part, "inner resistance while cranking", unit.Ohm(b.crankOhms).String())
			return
		}
	}
}

// engineNotes say where what the engine does by the state and what the starters do in the solution do not agree.
func (r *Report) engineNotes(cond *graph.Condition) {
	s := r.Solution
	for i := range s.Circuit.Branches {
		b := &s.Circuit.Branches[i]
		if b.law != consumer || b.control < 0 {
			continue
		}
		name, turns := b.Part.Name.Text, s.Amps[i] > leastAmps || s.Amps[i] < -leastAmps
		switch {
		case cranks(cond) && !turns:
			r.Notes = append(r.Notes, fmt.Sprintf("the state says that the engine is cranking, and starter %s does not turn: its solenoid has too few volts", name))
		case !cranks(cond) && turns:
			r.Notes = append(r.Notes, fmt.Sprintf("starter %s turns, and the state does not say engine = \"cranking\": the battery is taken as at rest", name))
		}
	}
}
