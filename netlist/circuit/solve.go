package circuit

import (
	"math"
	"slices"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// Options say under what circumstances a state is solved, beyond what the state itself says.
type Options struct {
	Idle         bool                   // a generator that charges turns at idle and delivers its idle output
	BatteryVolts float64                // open-circuit voltage of batteries; 0 for fully charged
	Open         func(b *Branch) bool   // branches that are taken out: a pulled fuse, a lifted ground; nil for none
	Extra        []Extra                // conductors that are put in: a short
	Positions    map[*model.Part]int    // switches that stand otherwise than the state says
	Turning      func(*model.Part) bool // motors that turn without supply and generate; nil for none
}

// Extra is a conductor that is put into the network for one solution.
type Extra struct {
	A, B model.PinID
	Ohms float64
}

const (
	maxRounds   = 80
	settled     = 1e-6 // volts: less change than that ends the iteration
	slowedAfter = 20   // rounds after which changes are halved, so that a stubborn consumer settles
)

// run is one solution in the making.
type run struct {
	c       *Circuit
	o       Options
	state   *model.State
	cond    *graph.Condition
	engaged map[*model.Part]bool
	driven  map[model.PinID]bool
	powered map[*model.Part]bool
	g       []float64 // conductance of each branch, siemens
	j       []float64 // current that each branch drives from A to B by itself, ampere (Norton equivalent of its source)
	on      []bool    // oneWay: conducts; supplying: at its limit
	wireC   []float64 // temperature of wires, Celsius
	volts   []float64
	floats  []bool
	seen    map[string]int // positions of relays that were met, and in which round
	order   []*model.Part
	sol     *Solution
}

// Solve solves the harness in one condition.
func (c *Circuit) Solve(cond *graph.Condition, o Options) *Solution {
	r := &run{c: c, o: o, cond: cond, state: cond.State, engaged: map[*model.Part]bool{}, driven: map[model.PinID]bool{}, powered: map[*model.Part]bool{},
		g: make([]float64, len(c.Branches)), j: make([]float64, len(c.Branches)), on: make([]bool, len(c.Branches)), wireC: make([]float64, len(c.Branches)),
		volts: make([]float64, len(c.Netlist.Pins)), seen: map[string]int{}, sol: &Solution{Circuit: c, State: cond.Name()}}
	r.prepare()
	for round := range maxRounds {
		r.sol.Rounds = round + 1
		r.values()
		before := r.volts
		if !r.solveOnce() {
			break
		}
		changed := r.relays()
		changed = r.diodesAndLimits() || changed
		changed = r.modules() || changed
		if !changed && round > 0 && furthest(before, r.volts) < settled {
			r.sol.Settled = true
			break
		}
		if round >= slowedAfter {
			for i := range r.volts {
				if !math.IsNaN(before[i]) && !math.IsNaN(r.volts[i]) {
					r.volts[i] = (r.volts[i] + before[i]) / 2
				}
			}
		}
	}
	r.finish()
	return r.sol
}

func furthest(a, b []float64) float64 {
	most := 0.0
	for i := range a {
		if d := math.Abs(a[i] - b[i]); d > most {
			most = d
		}
	}
	return most
}

func (r *run) prepare() {
	c := r.c
	for i := range r.volts {
		r.volts[i] = c.scale(ratedVolts) // a first guess: everything live
	}
	for i := range c.Branches {
		b := &c.Branches[i]
		r.wireC[i] = float64(b.ambient)
		if b.law == winding {
			if _, known := r.engaged[b.Part]; !known {
				r.order = append(r.order, b.Part)
			}
			r.engaged[b.Part] = r.cond.Engaged(b.Part)
		}
	}
	if r.state != nil {
		for _, ref := range r.state.Driven {
			r.driven[ref.ID] = true
		}
	}
	for _, p := range c.Netlist.Parts {
		r.powered[p] = true
	}
}

// values sets the conductance and own current of every branch from the last voltages.
func (r *run) values() {
	for i := range r.c.Branches {
		b := &r.c.Branches[i]
		r.g[i], r.j[i] = openSiemens, 0
		if r.o.Open == nil || !r.o.Open(b) {
			r.value(i, b)
		}
	}
}

func (r *run) value(i int, b *Branch) {
	switch b.law {
	case fixed:
		r.g[i] = 1 / b.Ohms
	case wired:
		r.g[i] = 1 / (conductor.ResistanceAt(b.Ohms, unit.Celsius(r.wireC[i]), conductor.Copper) + b.ends)
	case switching:
		if r.closed(b) {
			r.g[i] = 1 / b.Ohms
		}
	case winding:
		r.g[i] = 1 / b.coilOhms()
	case consumer:
		if b.Part.Kind.Name != "starter" || b.source != otherSource || math.Abs(r.across(b.Pin, b.B)) > r.c.scale(pullInVolts)*0.8 {
			r.g[i] = r.consumed(b)
		}
		if r.o.Turning != nil && b.Edge != nil && r.o.Turning(b.Part) {
			r.generates(i, b)
		}
	case oneWay:
		if r.on[i] {
			r.g[i] = 1 / b.Ohms
			r.j[i] = -diodeVolts / b.Ohms
		}
	case driving:
		if r.driven[b.Pin] && r.powered[b.Part] {
			r.g[i] = 1 / b.Ohms
		}
	case supplying:
		r.sourceValue(i, b)
	}
}

// coilOhms is the resistance of a winding at its ambient temperature.
func (b *Branch) coilOhms() float64 {
	return b.Ohms * (1 + coilTemperatureCoefficient*(float64(b.ambient)-20))
}

// generates turns a motor into a source behind its winding resistance: a fan in the airstream, a coasting blower.
func (r *run) generates(i int, b *Branch) {
	if v := b.Part.Value("generates"); v != nil && v.Quantity.Value > 0 && r.g[i] > 0 {
		r.j[i] = r.g[i] * v.Quantity.Value * -1
	}
}

// sourceValue is the Norton equivalent of a source: from B to A it drives its voltage over its inner resistance.
func (r *run) sourceValue(i int, b *Branch) {
	volts := b.Volts
	switch b.source {
	case batterySource:
		if r.o.BatteryVolts > 0 {
			volts = r.o.BatteryVolts
		}
		if r.across(b.A, b.B) > volts {
			// A charged battery takes hardly any current back: what lifts its voltage is not its inner resistance.
			r.g[i] = 1 / chargeOhms
			r.j[i] = -volts / chargeOhms
			return
		}
	case generatorSource, otherSource:
		if r.state == nil || !r.state.Charging.On {
			return
		}
		if limit := r.limit(b); r.on[i] && limit > 0 {
			r.j[i] = -limit
			r.g[i] = 1e-6 // a current source; the trace of conductance keeps its terminals together
			return
		}
	case referenceSource:
		if !r.powered[b.Part] {
			return
		}
	}
	r.g[i] = 1 / b.Ohms
	r.j[i] = -volts / b.Ohms
}

// limit is the most that a generator delivers under the circumstances.
func (r *run) limit(b *Branch) float64 {
	if v := b.Part.Value("idle-output"); r.o.Idle && v != nil && v.Quantity.IsSet() {
		return v.Quantity.Value
	}
	return b.Limit
}

// consumed is the conductance of a load at the last voltage across it. Below a third of its rated voltage a load of
// given current or power is taken as a resistance, or a dead circuit would seem to draw a current without end.
func (r *run) consumed(b *Branch) float64 {
	run := b.spec.Run
	rated := r.c.scale(ratedVolts)
	v := math.Max(math.Abs(r.across(b.A, b.B)), rated/3)
	switch run.Dim {
	case unit.Current:
		return run.Value / v
	case unit.Power:
		if b.Part.Kind.Name == "lamp" || b.Part.Kind.Symbol == "lamp" {
			return run.Value / rated * math.Pow(v/rated, filamentExponent) / v
		}
		return run.Value / (rated * rated)
	}
	return 1 / math.Max(run.Value, 1e-4)
}

// across is the last voltage from a to b; a floating terminal counts as being at b.
func (r *run) across(a, b model.PinID) float64 {
	va, vb := r.volts[a], r.volts[b]
	if math.IsNaN(va) || math.IsNaN(vb) {
		return 0
	}
	return va - vb
}

func (r *run) closed(b *Branch) bool {
	p := b.Part
	if len(p.Inside.Coils) > 0 {
		return r.engaged[p] == (b.Edge.Kind == graph.Open)
	}
	position, set := r.o.Positions[p]
	switch b.Edge.Kind {
	case graph.Position:
		if !set {
			position = r.cond.PositionOf(p)
		}
		return position == b.Edge.Position
	case graph.Open:
		return set && position == 1 || !set && r.cond.Closed(b.Edge)
	}
	return set && position == 0 || !set && r.cond.Closed(b.Edge)
}

// relays lets every relay go by the voltage of its coil: in at or above pull-in, out below drop-out, else as it is.
// Positions that come round again are a cycle: the relays chatter, and what was found last stands.
func (r *run) relays() bool {
	if r.sol.Cycle != nil {
		return false
	}
	changed := false
	for i := range r.c.Branches {
		b := &r.c.Branches[i]
		if b.law != winding {
			continue
		}
		v := math.Abs(r.across(b.A, b.B))
		hot := 1 + coilTemperatureCoefficient*(float64(b.ambient)-20)
		pulls := r.engaged[b.Part]
		if v >= r.c.scale(pullInVolts)*math.Max(1, hot)/1.0 {
			pulls = true
		} else if v < r.c.scale(dropOutVolts) {
			pulls = false
		}
		if pulls != r.engaged[b.Part] {
			r.engaged[b.Part] = pulls
			changed = true
		}
	}
	if changed {
		key := r.relayKey()
		if _, again := r.seen[key]; again {
			r.cycle()
			return false
		}
		r.seen[key] = r.sol.Rounds
	}
	return changed
}

func (r *run) relayKey() string {
	var key strings.Builder
	for _, p := range r.order {
		if r.engaged[p] {
			key.WriteByte('1')
		} else {
			key.WriteByte('0')
		}
	}
	return key.String()
}

// cycle names the relays that chatter: those whose coils lie between drop-out and pull-in no longer, but keep changing.
func (r *run) cycle() {
	for _, p := range r.order {
		if r.engaged[p] != r.cond.Engaged(p) || slices.Contains(r.cond.Chatters, p) {
			r.sol.Cycle = append(r.sol.Cycle, p)
		}
	}
	if r.sol.Cycle == nil {
		r.sol.Cycle = []*model.Part{}
	}
}

// diodesAndLimits turns diodes on and off by the voltage across them and generators by the current that they deliver.
func (r *run) diodesAndLimits() bool {
	changed := false
	for i := range r.c.Branches {
		b := &r.c.Branches[i]
		switch {
		case b.law == oneWay:
			if on := r.across(b.A, b.B) > diodeVolts; on != r.on[i] {
				// A diode that conducts holds its own voltage: it goes off when its current turns round.
				if !r.on[i] || r.current(i) < 0 {
					r.on[i], changed = on, true
				}
			}
		case b.law == supplying && b.source == generatorSource && r.limit(b) > 0:
			delivered := -r.current(i)
			switch {
			case !r.on[i] && delivered > r.limit(b)*(1+1e-9):
				r.on[i], changed = true, true
			case r.on[i] && r.across(b.A, b.B) > b.Volts+settled:
				r.on[i], changed = false, true
			}
		}
	}
	return changed
}

// modules are powered while a supply pin of theirs is live, if they have one.
func (r *run) modules() bool {
	changed := false
	for _, p := range r.c.Netlist.Parts {
		if p.Kind.Symbol != "module" {
			continue
		}
		has, live := false, false
		ground := model.NoPin
		for _, id := range p.Terminals() {
			if r.c.Netlist.Pin(id).Role == catalog.Ground && ground == model.NoPin {
				ground = id
			}
		}
		for _, id := range p.Terminals() {
			if ground != model.NoPin && r.c.Netlist.Pin(id).Role == catalog.Supply && r.c.Graph.Reached(id) {
				has = true
				live = live || r.across(id, ground) > r.c.scale(poweredVolts)
			}
		}
		if powered := !has || live; powered != r.powered[p] {
			r.powered[p] = powered
			changed = true
		}
	}
	return changed
}

// current is that of a branch from A to B at the last voltages.
func (r *run) current(i int) float64 {
	if r.g[i] == 0 && r.j[i] == 0 {
		return 0
	}
	b := &r.c.Branches[i]
	return float64(r.g[i]*r.across(b.A, b.B)) + r.j[i]
}

// heat sets the temperature of the wires from their currents: the rise goes with the square of the current, up to the
// class of the insulation at the ampacity.
func (r *run) heat() {
	for i := range r.c.Branches {
		if b := &r.c.Branches[i]; b.law == wired && b.capacity > 0 {
			r.wireC[i] = float64(conductor.Temperature(b.ambient, b.class, unit.Ampere(math.Abs(r.current(i))), b.capacity))
		}
	}
}
