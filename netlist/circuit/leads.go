package circuit

import (
	"fmt"
	"math"

	"ferrule/netlist/circuit/sparse"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// A LeadReport is what a generator loses on its way to the battery at its full output, on the side of its output or of its case.
type LeadReport struct {
	Part          *model.Part
	From          model.PinID // the terminal of the generator
	Return        bool        // the side that carries the current back
	Amps          float64     // the full output
	Volts         float64
	Target, Limit float64 // volts
	Verdict       Verdict
}

// Budgets of a generator's leads at full output in a 12 V system, target and limit in volt: common practice.
const (
	outputTarget, outputLimit = 0.2, 0.3 // output to battery
	caseTarget, caseLimit     = 0.1, 0.2 // case to battery
)

// addLeads measures the leads of the generators that deliver, with contacts as they stand in the solution. No state need bring the
// full output about, so it is put into the network of conductors by itself, in at the generator and out at the nearest posts.
func (r *Report) addLeads() {
	c := r.Solution.Circuit
	for i := range c.Branches {
		b := &c.Branches[i]
		if b.source != generatorSource || !b.mainOutput() || !r.Solution.On[i] {
			continue
		}
		volts, err := c.leadVolts(r.Solution, b)
		if err != nil {
			continue // a network that cannot be factorised has no solution either, and that is reported
		}
		if math.IsNaN(volts[0]) || math.IsNaN(volts[1]) {
			continue // a contact parts it from the battery: it charges nothing
		}
		for side, pin := range [...]model.PinID{b.A, b.B} {
			l := LeadReport{Part: b.Part, From: pin, Amps: b.Limit, Volts: math.Abs(volts[side]), Target: c.scale(outputTarget), Limit: c.scale(outputLimit)}
			if l.Return = (side == 1) != c.Netlist.Harness.PositiveGround; l.Return {
				l.Target, l.Limit = c.scale(caseTarget), c.scale(caseLimit)
			}
			switch {
			case l.Volts > l.Limit:
				l.Verdict = AboveLimit
			case l.Volts > l.Target:
				l.Verdict = AboveTarget
			default:
				l.Verdict = WithinTarget
			}
			r.Leads = append(r.Leads, l)
		}
	}
}

// leadVolts returns what is lost from each terminal of a generator to the posts of the batteries at its full output; NaN where no
// way leads. Wires are as warm as that current makes them, which a few rounds settle.
func (c *Circuit) leadVolts(s *Solution, generator *Branch) (volts [2]float64, err error) {
	pattern, err := c.elimination()
	if err != nil {
		return volts, err
	}
	n := len(c.Branches)
	state := sparse.State{Siemens: make([]float64, n), Held: c.outerPoles()}
	sources := sparse.Sources{Amperes: make([]float64, len(c.Netlist.Pins))}
	sources.Amperes[generator.A], sources.Amperes[generator.B] = generator.Limit, -generator.Limit
	amps := s.Amps
	var factor *sparse.Factor
	var solution sparse.Solution
	const warmRounds = 3
	for range warmRounds {
		for i := range c.Branches {
			if b := &c.Branches[i]; s.On[i] && (b.wiring() || b.law == fixed && b.Edge == nil || b.law == oneWay) {
				state.Siemens[i] = 1 / b.ohmsAt(amps[i])
			}
		}
		if factor == nil {
			factor, err = pattern.Factor(state)
		} else {
			err = factor.Refactor(state)
		}
		if err == nil {
			err = factor.Solve(&solution, sources)
		}
		if err != nil {
			return volts, fmt.Errorf("solving the leads of %s: %w", generator.Part.Name.Text, err)
		}
		amps = solution.Amperes
	}
	return [2]float64{solution.Volts[generator.A], solution.Volts[generator.B]}, nil
}

// outerPoles marks the poles of batteries that do not lie between two in series.
func (c *Circuit) outerPoles() []bool {
	poles := make([]bool, len(c.Netlist.Pins))
	for i := range c.Branches {
		if b := &c.Branches[i]; b.IsBattery() {
			poles[b.A], poles[b.B] = !c.between[b.A], !c.between[b.B]
		}
	}
	return poles
}

// A GroundReport holds the cables from the grounded pole of a battery against what they have to carry back.
type GroundReport struct {
	Battery *model.Part
	Cables  []*model.Wire
	Area    float64 // of all together, mm2 of metal as named
	Carries float64 // ampere, each alone at its ambient

	Fuse     *model.Part // the largest of the harness; nil without one
	Rating   float64
	Feed     *model.Wire // the thickest at the other pole; nil without one
	FeedArea float64
}

// Thin says what the cables are too thin for; empty when they are not. A ground cable that is thinner than the thickest feed, or that
// carries less than the largest fuse lets pass for good, is the fuse of the vehicle (common practice).
func (g *GroundReport) Thin() string {
	switch {
	case g.Feed != nil && g.Area < g.FeedArea*0.97: // names of sizes differ by that much between AWG and mm2
		return fmt.Sprintf("thinner than feed %s (%s)", g.Feed.Name.Text, g.Feed.Size)
	case g.Fuse != nil && g.Carries < g.Rating:
		return fmt.Sprintf("carries less than fuse %s lets pass (%s)", g.Fuse.Name.Text, unit.Ampere(g.Rating))
	}
	return ""
}

// GroundCables reports the ground cables of every battery that has some, in the order of the file.
func (c *Circuit) GroundCables() []GroundReport {
	var fuse *model.Part
	rating := 0.0
	for _, p := range c.Netlist.Parts {
		if v := p.Value("rating"); v != nil && len(p.Inside.Protects) > 0 && v.Quantity.Value > rating {
			fuse, rating = p, v.Quantity.Value
		}
	}
	var out []GroundReport
	for i := range c.Branches {
		b := &c.Branches[i]
		if !b.IsBattery() {
			continue
		}
		ground, live := b.B, b.A
		if c.Netlist.Harness.PositiveGround {
			ground, live = live, ground
		}
		if c.between[ground] {
			continue
		}
		g := GroundReport{Battery: b.Part, Fuse: fuse, Rating: rating}
		for _, w := range c.cablesAt(ground) {
			g.Cables, g.Area, g.Carries = append(g.Cables, c.Branches[w].Wire), g.Area+c.Branches[w].Wire.Size.AreaMM2(), g.Carries+float64(c.Branches[w].capacity)
		}
		for _, w := range c.cablesAt(live) {
			if a := c.Branches[w].Wire.Size.AreaMM2(); a > g.FeedArea && !c.between[live] {
				g.Feed, g.FeedArea = c.Branches[w].Wire, a
			}
		}
		if len(g.Cables) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// cablesAt lists the wires at a terminal, those at the far side of bars, studs and fuses included.
func (c *Circuit) cablesAt(pin model.PinID) []int {
	starts, ends := c.adjacency()
	seen := map[model.PinID]bool{pin: true}
	queue := []model.PinID{pin}
	var out []int
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, i := range ends[starts[at]:starts[at+1]] {
			b := &c.Branches[i]
			switch {
			case b.law == wired:
				out = append(out, int(i))
			case b.Edge != nil && (b.Edge.Kind == graph.Link || b.Edge.Kind == graph.Joined || b.Edge.Kind == graph.Protect):
				if next := b.A + b.B - at; !seen[next] {
					seen[next] = true
					queue = append(queue, next)
				}
			}
		}
	}
	return out
}
