package sizing

import (
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/unit"
)

// mostSettled is the share of a budget that contacts, fuses and a load's own wires that keep their target may use before thicker
// feeders stop being the cure: what is left is then so little that it would ask for cables out of all proportion. Chosen here.
const mostSettled = 0.8

// ownShare is how much of a consumer's current a branch must carry, and how much of the branch's current must be that
// consumer's, for the branch to belong to the consumer's own circuit and not to a shared feeder.
const ownShare = 0.9

// A piece is one wire's part in the drop of a consumer.
type piece struct {
	branch int
	weight float64 // the part of the consumer's current that takes this wire: 1 unless there are ways beside it
	amps   float64 // what the wire carries, of all consumers
	metal  float64 // volts lost in the conductor as written, weighted
	metres float64 // weighted
}

// A drop is what a consumer loses in one state, on its own circuit or around the loop, against its budget.
type drop struct {
	consumer *circuit.Branch
	branch   int // of consumer
	class    string
	loop     bool
	state    string
	budget   float64 // volts
	total    float64
	contacts float64 // of total, what contacts, fuses and connections lose
	settled  float64 // of total, what wires lose that are not to blame
	metres   float64
	pieces   []piece
}

// dropsOf measures a consumer's own circuit and its loop.
func dropsOf(c *circuit.Circuit, s *circuit.Solution, f flow) []drop {
	consumer := &c.Branches[f.consumer]
	allowed, ok := c.BudgetOf(consumer)
	if !ok || f.amps < leastBudgetAmps {
		return nil
	}
	own := drop{consumer: consumer, branch: f.consumer, class: allowed.Class, state: s.State, budget: float64(allowed.Target)}
	loop := drop{consumer: consumer, branch: f.consumer, class: allowed.Class, loop: true, state: s.State, budget: float64(allowed.Limit)}
	for _, p := range f.parts {
		b := &c.Branches[p.branch]
		volts, known := s.Across(b.A, b.B)
		switch {
		case !known || b.Consumes() || b.Supplies() && b.Part.Kind.Symbol == "module":
			return nil // in series with another consumer, or fed by a controller's own supply: no budget fits
		case b.Supplies():
			continue // where the loop ends
		case b.Edge == nil || b.Edge.Kind == graph.Diode:
			continue // an output of a module or a diode: no matter of the wiring
		}
		weight, total := p.amps/f.amps, math.Abs(s.Amps[p.branch])
		loop.add(c, p.branch, weight, total, math.Abs(volts))
		if allowed.Whole || weight >= ownShare && p.amps >= ownShare*total {
			own.add(c, p.branch, weight, total, math.Abs(volts))
		}
	}
	if !allowed.Whole && own.total <= own.budget+slack {
		loop.acquit(own.pieces)
	}
	return []drop{own, loop}
}

// acquit takes a consumer's own wires out of its loop when its branch keeps the target: what the loop loses too much is then lost
// in the feeder or the ground that it shares (common practice).
func (d *drop) acquit(own []piece) {
	var shared []piece
	for _, p := range d.pieces {
		if !slices.ContainsFunc(own, func(o piece) bool { return o.branch == p.branch }) {
			shared = append(shared, p)
			continue
		}
		d.settled += p.metal
		d.metres -= p.metres
	}
	d.pieces = shared
}

// leastBudgetAmps is the current below which nobody counts volts: a module's memory, a sensor.
const leastBudgetAmps = 0.05

func (d *drop) add(c *circuit.Circuit, branch int, weight, amps, volts float64) {
	b := &c.Branches[branch]
	d.total += weight * volts
	if b.Wire == nil {
		d.contacts += weight * volts
		return
	}
	ends := amps * float64(b.EndOhms())
	d.contacts += weight * ends
	metres := weight * float64(b.Metres())
	d.metres += metres
	d.pieces = append(d.pieces, piece{branch, weight, amps, weight * (volts - ends), metres})
}

// allowance is the volts that one wire's metal may lose of the budget: its share by length, or what the others leave as they
// are, whichever is more.
func (d *drop) allowance(p piece) float64 {
	byLength := 0.0
	if d.metres > 0 {
		byLength = (d.budget - d.contacts - d.settled) * p.metres / d.metres
	}
	return max(byLength, d.budget-(d.total-p.metal))
}

// metalVolts is what a size would lose in a wire at a current, warm from it.
func metalVolts(b *circuit.Branch, cable string, size unit.Size, amps float64) float64 {
	perMetre, source := conductor.Resistance20(size, cable, b.Metal())
	if !source.IsSet() {
		return math.Inf(1)
	}
	base, _ := conductor.AmpacityOf(size, b.Insulation(), b.Metal())
	warm := conductor.Temperature(b.Ambient(), b.Insulation(), unit.Ampere(amps), conductor.Derate(base, b.Insulation(), b.Ambient()))
	return amps * conductor.ResistanceAt(perMetre*float64(b.Metres()), warm, b.Metal())
}

// practice is the source of all budgets.
const practice = "common practice for 12 V"

// slack is the difference in volts below which two drops count as the same: ten times what a solution settles to.
const slack = 1e-5

// limits turns a drop into a limit for each wire in it.
func (d *drop) limits(c *circuit.Circuit) map[int]Limit {
	out := map[int]Limit{}
	rule := BranchDrop
	if d.loop {
		rule = LoopDrop
	}
	for _, p := range d.pieces {
		b, p := &c.Branches[p.branch], p
		allowed := d.allowance(p)
		l := Limit{Rule: rule, State: d.state, Source: practice + ": " + d.class + " (target of the branch, limit of the loop)", Consumer: d.consumer.Part.Name.Text, Load: d.branch, Volts: unit.Volt(d.total), Budget: unit.Volt(d.budget)}
		l.What = fmt.Sprintf("%s loses %s of %s in its %s, %s of it in contacts", l.Consumer, unit.Volt(d.total), unit.Volt(d.budget), rule.place(), unit.Volt(d.contacts))
		l.Beyond = d.contacts+d.settled > mostSettled*d.budget
		l.meets = func(size unit.Size) bool {
			return p.weight*metalVolts(b, c.Netlist.Harness.Cable, size, p.amps) <= allowed+slack
		}
		out[p.branch] = l
	}
	return out
}
