package circuit

import (
	"math"
	"sync"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// Options say under what circumstances a state is solved, beyond what the state itself says. The zero value is the state
// as it stands, with a charged battery and generators at speed.
//
// Source of the battery's numbers: see RestVolts and assume.go.
type Options struct {
	Idle           bool                   // a generator that charges turns at idle and delivers its idle output
	Engine         Engine                 // whether generators deliver: as the state says, or otherwise
	Mean           bool                   // consumers that pulse take the mean of their current instead of what they take while on
	Full           func(b *Branch) bool   // of Mean: consumers that take their whole current all the same; nil for none
	Charge         float64                // of batteries, as a share of full; 0 for full
	BatteryVolts   float64                // open-circuit voltage of batteries; 0 for what their charge gives
	BatteryCelsius *unit.Celsius          // of batteries; nil for 25 C
	Open           func(b *Branch) bool   // branches that are taken out: a pulled fuse, a lifted ground; nil for none
	Extra          []Extra                // conductors that are put in: a short
	Positions      map[*model.Part]int    // switches that stand otherwise than the state says
	Turning        func(*model.Part) bool // motors that turn without supply and generate; nil for none
	From           *Solution              // what was before: relays and voltages start from there; nil for what the graph says

	warm map[*Branch]float64 // of Mean: consumers that take another share of their current than their duty
}

// Engine says whether the generators of a vehicle deliver.
type Engine uint8

// The ways to solve a state with regard to its generators.
const (
	AsStated Engine = iota // as the state says
	Standing               // they deliver nothing
	Turning                // they deliver
)

// Extra is a conductor that is put into the network for one solution.
type Extra struct {
	A, B model.PinID
	Ohms float64
}

const (
	maxRounds = 120
	atRest    = 1e-6 // volts: less change than that ends the iteration
	nearly    = 1e-2 // volts: less change than that lets the relays move, which is far less than their hysteresis
	slowAfter = 60   // rounds after which changes are halved, so that a stubborn consumer settles
	leastOhms = 1e-6 // of a conductor that is put in
)

// mode is where an element stands that is not linear.
type mode uint8

const (
	rests   mode = iota // a diode that blocks, a generator that holds its voltage, a motor that is driven
	carries             // a diode that conducts, a generator at its limit, a motor that generates
	blocks              // a generator that others hold above its own voltage
)

// run is one solution in the making.
type run struct {
	*solver
	c        *Circuit
	o        Options
	cond     *graph.Condition
	charging bool
	driven   map[model.PinID]bool
	pulled   map[model.PinID]bool // half bridges that join to ground
	out      []bool               // branches that are taken out
	closed   []bool               // contacts of switches
	modes    []mode
	outputs  []bool // by module: its supplies keep its outputs able to switch
	powered  []bool // by module: its main supply is live
	relays   []bool // by relay: pulled in
	since    int    // rounds since something other than a voltage changed
	history  []string
	starved  map[int32]bool // converters whose input is dead, by the branch of their source
	inTurn   bool           // relays move one at a time
	frozen   bool           // they chatter, and move no more
	sol      *Solution
}

// Solve solves the harness in one condition. It may be called from several goroutines at once. The solution of a state as
// it stands is worked out once, and may be shared: nobody may change it.
func (c *Circuit) Solve(cond *graph.Condition, o Options) *Solution {
	if key, plain := keyOf(cond, &o); plain {
		return c.kept(key, func() *Solution { return c.solve(cond, o) })
	}
	return c.solve(cond, o)
}

func (c *Circuit) solve(cond *graph.Condition, o Options) *Solution {
	sol := &Solution{Circuit: c, State: cond.Name()}
	s, err := c.take()
	if err != nil {
		sol.fail(err)
		return sol
	}
	defer c.give(s)
	r := &run{solver: s, c: c, o: o, cond: cond, sol: sol}
	r.prepare()
	r.iterate()
	if sol.Err == nil {
		if err := r.polish(o.Extra); err != nil {
			sol.fail(err)
		}
	}
	r.finish()
	return sol
}

// SolveAll solves conditions side by side, in their order.
func (c *Circuit) SolveAll(conditions []*graph.Condition, o Options) []*Solution {
	out := make([]*Solution, len(conditions))
	if len(conditions) == 0 {
		return out
	}
	const workers = 4
	var group sync.WaitGroup
	next := make(chan int)
	for range min(workers, len(conditions)) {
		group.Go(func() {
			for i := range next {
				out[i] = c.Solve(conditions[i], o)
			}
		})
	}
	for i := range conditions {
		next <- i
	}
	close(next)
	group.Wait()
	return out
}

// iterate solves and corrects until nothing changes. Relays are asked only when the voltages of their present positions
// are nearly at rest: what they see on the way there is not what they would see in the vehicle.
func (r *run) iterate() {
	for r.sol.Rounds = 1; r.sol.Rounds <= maxRounds; r.sol.Rounds++ {
		r.setValues()
		if err := r.solve(r.c, r.o.Extra); err != nil {
			r.sol.fail(err)
			return
		}
		change := r.read()
		r.since++
		if r.elements() || r.supplies() {
			r.since = 0
			continue
		}
		if change < nearly && r.since > 1 && r.moveRelays() {
			r.since = 0
			continue
		}
		if change < atRest && r.since > 1 {
			r.sol.Settled = !r.frozen
			return
		}
	}
	r.sol.Rounds = maxRounds
}

// read takes the voltages and currents of the round over and returns the largest change across a branch, in volts.
func (r *run) read() float64 {
	most := 0.0
	for i := range r.c.Branches {
		b := &r.c.Branches[i]
		v := r.result.Difference(int32(b.A), int32(b.B))
		if v != v {
			v = 0
		}
		if d := math.Abs(v - r.volts[i]); d > most {
			most = d
		}
		if r.sol.Rounds > slowAfter {
			v = (v + r.volts[i]) / 2
		}
		r.volts[i] = v
		if r.amps[i] = r.siemens[i]*v + r.own[i]; b.law == wired {
			r.warm[i] = b.ohmsAt(r.amps[i])
		}
	}
	return most
}

// across is the last voltage from one terminal to another, 0 when one of them floats.
func (r *run) across(a, b model.PinID) float64 {
	if v := r.result.Difference(int32(a), int32(b)); v == v {
		return v
	}
	return 0
}

func (r *run) prepare() {
	c, n := r.c, len(r.c.Branches)
	r.driven, r.pulled = map[model.PinID]bool{}, map[model.PinID]bool{}
	if s := r.cond.State; s != nil {
		for _, ref := range s.Driven {
			r.driven[ref.ID] = true
		}
		for _, ref := range s.Pulled {
			r.pulled[ref.ID] = !r.driven[ref.ID] // both at once would be a short through the module
		}
	}
	r.charging = r.o.charges(r.cond)
	r.out, r.closed, r.modes = make([]bool, n), make([]bool, n), make([]mode, n)
	r.starved = map[int32]bool{}
	r.outputs, r.powered, r.relays = trues(len(c.modules)), trues(len(c.modules)), make([]bool, len(c.relays))
	for i := range c.relays {
		r.relays[i] = r.cond.Engaged(c.relays[i].part)
	}
	r.start()
	r.history = append(r.history, r.relayKey())
	for i := range c.Branches {
		b := &c.Branches[i]
		r.out[i] = r.o.Open != nil && r.o.Open(b)
		if b.law == switching && b.relay < 0 {
			r.closed[i] = r.switched(b)
		}
	}
}

func trues(n int) []bool {
	out := make([]bool, n)
	for i := range out {
		out[i] = true
	}
	return out
}

// start sets the first guess: what was before, or else everything live.
func (r *run) start() {
	c, from := r.c, r.o.From
	if from != nil && (from.Circuit != c || from.Err != nil) {
		from = nil
	}
	for i := range c.Branches {
		b := &c.Branches[i]
		r.volts[i], r.amps[i], r.warm[i] = b.scaleAt(runningVolts), 0, b.ohmsAt(0)
		if b.source == referenceSource {
			r.volts[i] = b.Volts
		}
		if from != nil {
			r.volts[i], r.amps[i], r.modes[i] = from.across[i], from.Amps[i], from.modes[i]
			r.warm[i] = b.ohmsAt(from.Amps[i])
			if b.law == consumer {
				r.modes[i] = rests // a motor that turned before need not turn now
			}
		}
	}
	if from != nil {
		copy(r.relays, from.relays)
		copy(r.outputs, from.outputs)
		copy(r.powered, from.powered)
	}
}

// switched reports whether a contact of a hand switch is closed.
func (r *run) switched(b *Branch) bool {
	position, set := r.o.Positions[b.Part]
	switch {
	case !set:
		return r.cond.Closed(b.Edge)
	case b.Edge.Kind == graph.Position:
		return position == b.Edge.Position
	}
	return (position == 1) == (b.Edge.Kind == graph.Open)
}

// supplies finds which modules are live: outputs work from any supply, references from the main one.
func (r *run) supplies() bool {
	changed := false
	for i := range r.c.modules {
		m := &r.c.modules[i]
		outputs, powered := len(m.supplies) == 0, len(m.supplies) == 0
		for _, id := range m.supplies {
			if math.Abs(r.across(id, m.ground)) > poweredVolts*m.nominal/nominalVolts { // with positive ground its supply is the minus
				outputs = true
				powered = powered || id == m.main
			}
		}
		if outputs != r.outputs[i] || powered != r.powered[i] {
			r.outputs[i], r.powered[i], changed = outputs, powered, true
		}
	}
	for _, at := range r.c.converters {
		b := &r.c.Branches[at]
		starved := math.Abs(r.across(b.from.A, b.from.B)) < r.c.PoweredBetween(b.from.A, b.from.B)
		changed = changed || starved != r.starved[at]
		r.starved[at] = starved
	}
	return changed
}
