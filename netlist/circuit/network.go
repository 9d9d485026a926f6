package circuit

import (
	"cmp"
	"slices"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/conductor"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

// law says how the current of a branch follows from its voltage.
type law uint8

const (
	fixed     law = iota + 1 // a resistance
	wired                    // a wire: its resistance grows with its temperature
	switching                // a contact: closed or open
	winding                  // the coil of a relay
	consumer                 // a load
	oneWay                   // a diode
	supplying                // a battery, generator or reference
	driving                  // an output of a module that is on or off
)

// A Branch is one element of the network between two terminals, in the direction from A to B.
type Branch struct {
	A, B  model.PinID
	Edge  *graph.Edge // nil for what the circuit adds of its own: outputs and supplies of modules
	Part  *model.Part
	Wire  *model.Wire
	Ohms  float64 // of fixed, switching (closed), winding and wired branches at 20 C; inner resistance of sources
	Volts float64 // of sources

	crankOhms float64 // of a battery: its inner resistance while a starter turns
	Limit     float64 // of sources and outputs: the most current, 0 for none
	Load      *model.Load
	Pin       model.PinID // of driving branches: the output; of a module's own supply: the pin
	Pulls     bool        // of driving branches: the low side of a half bridge, which is on while the pin is pulled

	law       law
	use       use           // of consumers: how their current follows their voltage
	ends      float64       // of a wire: the resistance of its two connections
	estimated float64       // of the resistance of a contact, a joint or the connections of a wire: what is an estimate, ohm
	metres    float64       // of a wire
	paths     []*model.Path // that a wire lies along
	ambient   unit.Celsius  // around a wire, a coil or a fuse

	ambientKnown bool // a zone states it
	guessed      bool // of a wire: a path that gives it its length is guessed

	capacity unit.Ampere     // of a wire, at its ambient
	class    unit.Celsius    // of a wire's insulation
	metal    conductor.Metal // of a wire
	source   sourceKind      // of supplying branches
	nominal  float64         // volts of the system that it belongs to
	from     model.Pair      // of a source that is a converter: the terminals that it is fed at
	gives    float64         // of a source that is a converter: the share of the power taken that it gives
	converts int32           // of the input of a converter: the branch of its source; -1 for none
	spec     model.LoadSpec  // of consumers
	full     float64         // of consumers: volts from which they take what they are rated for
	duty     float64         // of consumers: the share of the time that they are on
	excites  bool            // of consumers: the field of a generator, which that feeds itself while it charges
	relay    int32           // index in Circuit.relays of what works a contact or is worked by a winding; -1 for none
	module   int32           // index in Circuit.modules of what drives an output or a reference; -1 for none
	control  int32           // of the motor of a starter: the branch of the solenoid that switches it on; -1 for none
}

// use says how the current of a consumer follows its voltage.
type use uint8

const (
	resisting  use = iota // a resistance
	drawing               // a given current
	glowing               // the filament of a lamp
	converting            // the power that a converter gives elsewhere
)

type sourceKind uint8

const (
	batterySource sourceKind = iota + 1
	generatorSource
	referenceSource
	otherSource
)

// A Circuit is the network of a harness: what is the same in all states.
type Circuit struct {
	Graph       *graph.Graph
	Netlist     *model.Netlist
	Branches    []Branch
	Assumptions []Assumption
	Estimates   []Estimate // in the order in which the network meets them
	Missing     []Missing

	routes     *route.Routes
	base       model.PinID // the terminal that volts are counted from: see chooseBase
	relays     []relay
	modules    []moduleSupply
	winding    map[*model.Part]int32 // the relay of a part
	series     map[model.PinID]int   // of a battery's plus: how many batteries share the nominal voltage
	between    map[model.PinID]bool  // poles of batteries that lie between two in series
	nominal    nominals
	converters []int32 // branches of sources that are converters
	shared     shared
	joints     joints
	memo       memo
}

// A relay is a part with one winding or more that work its contacts together.
type relay struct {
	part            *model.Part
	windings        []int32 // branches
	pullIn, dropOut float64 // volts, at the temperature of the winding
}

// A moduleSupply is what a module lives from.
type moduleSupply struct {
	part     *model.Part
	ground   model.PinID
	supplies []model.PinID // each of them keeps its outputs able to switch
	main     model.PinID   // the one that its references are made from: that which takes the most
	nominal  float64       // volts
}

// New makes the network of a harness. What cannot be put into numbers is in Missing, and left out of the network.
func New(g *graph.Graph, routes *route.Routes) *Circuit {
	c := &Circuit{Graph: g, Netlist: g.Netlist, routes: routes, base: model.NoPin, winding: map[*model.Part]int32{}}
	c.findSeries()
	c.findNominals()
	c.Branches = make([]Branch, 0, c.mostBranches())
	for i := range g.Edges {
		c.addEdge(&g.Edges[i])
	}
	for _, p := range g.Netlist.Parts {
		if p.Kind.Symbol == "module" {
			c.addModule(p)
		} else {
			c.addPinLoads(p)
		}
	}
	c.linkConverters()
	c.estimateAmbients()
	c.base = c.chooseBase()
	for i := range c.Branches {
		if b := &c.Branches[i]; b.law == switching {
			if at, ok := c.winding[b.Part]; ok {
				b.relay = at
			}
		}
	}
	return c
}

// mostBranches is about how many branches the network has: one an edge, and what the pins of modules add. A branch is large, and a list
// that has to grow is copied again and again.
func (c *Circuit) mostBranches() int {
	n := len(c.Graph.Edges)
	for i := range c.Netlist.Pins {
		switch pin := &c.Netlist.Pins[i]; pin.Role {
		case catalog.HalfBridge:
			n += 2
		case catalog.Return, catalog.Screen, catalog.Sink, catalog.Driver, catalog.Reference:
			n++
		default:
			if pin.Load.IsSet() {
				n++
			}
		}
	}
	return n
}

// findSeries counts the batteries that lie in series, such as the two of a 24 V vehicle: they share its nominal voltage.
func (c *Circuit) findSeries() {
	sets := graph.NewSets(len(c.Netlist.Pins))
	for i := range c.Graph.Edges {
		if e := &c.Graph.Edges[i]; e.Kind.Conducts() {
			sets.Join(int32(e.A), int32(e.B))
		}
	}
	set := func(pin model.PinID) int32 { return sets.Find(int32(pin)) }
	between := c.Graph.SeriesPoles(set)
	chains := graph.NewSets(len(c.Netlist.Pins))
	count := map[int32]int{}
	each := func(do func(e *graph.Edge)) {
		for i := range c.Graph.Edges {
			if e := &c.Graph.Edges[i]; e.Kind == graph.Source && e.Part.Kind.Name == "battery" {
				do(e)
			}
		}
	}
	each(func(e *graph.Edge) {
		for _, pin := range [...]model.PinID{e.A, e.B} {
			if between[pin] { // batteries at one such pole are links of one chain
				chains.Join(int32(e.A), set(pin))
			}
		}
	})
	c.between = between
	each(func(e *graph.Edge) { count[chains.Find(int32(e.A))]++ })
	c.series = map[model.PinID]int{}
	each(func(e *graph.Edge) { c.series[e.A] = count[chains.Find(int32(e.A))] })
}

// chooseBase is the terminal that volts are counted from: the minus of a battery that lies on no plus of another one, one that
// conductors join to a body before others, and of several the one with the first name, so that the order of the file decides nothing;
// a body where there is no battery.
func (c *Circuit) chooseBase() model.PinID {
	sets := graph.NewSets(len(c.Netlist.Pins))
	for i := range c.Graph.Edges {
		if e := &c.Graph.Edges[i]; e.Kind.Conducts() || e.Kind == graph.Bolted || Shunt(e) {
			sets.Join(int32(e.A), int32(e.B))
		}
	}
	onBody := func(pin model.PinID) bool {
		return slices.ContainsFunc(c.Netlist.Bodies, func(b *model.Body) bool { return sets.Find(int32(b.Pin)) == sets.Find(int32(pin)) })
	}
	rank := func(pin model.PinID) int {
		switch {
		case c.between[pin]:
			return 2
		case !onBody(pin):
			return 1
		}
		return 0
	}
	best := model.NoPin
	for i := range c.Branches {
		if b := &c.Branches[i]; b.IsBattery() {
			if best == model.NoPin || cmp.Or(cmp.Compare(rank(b.B), rank(best)), strings.Compare(c.Netlist.Pin(b.B).String(), c.Netlist.Pin(best).String())) < 0 {
				best = b.B
			}
		}
	}
	if best == model.NoPin && len(c.Netlist.Bodies) > 0 {
		return c.Netlist.Bodies[0].Pin
	}
	return best
}

// Base is the terminal that the volts of solutions are counted from; model.NoPin where there is neither battery nor body.
func (c *Circuit) Base() model.PinID { return c.base }

// add appends a branch and returns its index. What it belongs to is numbered from 1 in the call, so that a Branch that is
// written without it belongs to nothing.
func (c *Circuit) add(b Branch) int32 {
	b.relay, b.module, b.control, b.converts = b.relay-1, b.module-1, b.control-1, b.converts-1
	b.nominal = c.nominalBetween(b.A, b.B)
	if b.law == consumer {
		c.describe(&b)
	}
	c.Branches = append(c.Branches, b)
	return int32(len(c.Branches) - 1)
}

// describe settles how a consumer takes its current.
//
// A stated resistance is one. Watts are what it takes at the nominal voltage: a filament then follows its own law, all
// else is a resistance. Lamps are marked so: 21 W at 12 V is 26.5 W at most at 13.5 V (UN Regulation 37, sheet P21W, from
// memory), and the filament law gives 25. A stated current flows from 80 % of the running voltage up, and from 90 % of the
// reference up for sensors; that of a starter, which is stated for cranking, from crankingVolts up; below that it falls in
// proportion, since a motor that stands and an electronic that is off
// are resistances at best, and a dead circuit would else seem to draw a current without end.
func (c *Circuit) describe(b *Branch) {
	run := b.spec.Run
	b.duty = 1
	if d := b.spec.Duty; d.IsSet() && d.Value > 0 && d.Value < 1 {
		b.duty = d.Value
	}
	nominal := b.nominal
	if b.use == converting {
		return
	}
	switch run.Dim {
	case unit.Current:
		b.use, b.full = drawing, 0.8*b.scaleAt(runningVolts)
		if b.control >= 0 {
			b.full = b.scaleAt(crankingVolts)
		}
		if b.Part.Kind.Symbol == "sensor" {
			b.full = 0.9 * referenceVolt
		}
	case unit.Power:
		b.Ohms = nominal * nominal / run.Value
		if b.Edge != nil && b.Part.Kind.Symbol == "lamp" || b.Part.Kind.Symbol == "module" && b.Edge != nil {
			b.use, b.full = glowing, nominal
		}
	default:
		b.Ohms = max(run.Value, linkOhms)
	}
}

// setOhms gives a branch the resistance of a contact or joint.
func (b *Branch) setOhms(o ohmic) { b.Ohms, b.estimated = o.ohms, o.estimated }

func (c *Circuit) addEdge(e *graph.Edge) {
	b := Branch{A: e.A, B: e.B, Edge: e, Part: e.Part, Wire: e.Wire, law: fixed}
	switch e.Kind {
	case graph.Wire:
		c.addWire(b)
		return
	case graph.Link:
		b.setOhms(c.estimated("bus bar or link, from terminal to terminal", linkOhms))
	case graph.Mate:
		b.setOhms(c.matedOhms(e))
	case graph.Joined:
		b.setOhms(c.estimated("bus bar or link, from terminal to terminal", linkOhms))
	case graph.Common:
		b.setOhms(c.estimated("pins joined inside a device", commonOhms))
	case graph.Bolted:
		b.setOhms(c.boltOhms(e.Part))
	case graph.Protect:
		b.Ohms = c.fuseOhms(e.Part)
		b.ambient, b.ambientKnown = zoneCelsius(e.Part.Owner.Place())
	case graph.Open, graph.Closed, graph.Position:
		b.law = switching
		b.setOhms(c.contactOhmsOf(e.Part))
	case graph.Coil:
		c.addCoil(b)
		return
	case graph.Resistor:
		r := e.Part.Inside.Resistors[e.Index].Ohms
		if !r.IsSet() {
			c.missing(e.Part.Name, "resistance", `value = "120 ohm"`)
			return
		}
		b.Ohms = r.Value
	case graph.Diode:
		b.law, b.Ohms = oneWay, diodeOhms
	case graph.Load:
		c.addLoad(b)
		return
	case graph.Source:
		c.addSource(b)
		return
	}
	if b.Ohms <= 0 {
		b.Ohms = linkOhms // a resistance of nothing is taken as a jumper: no branch may have infinite conductance
	}
	c.add(b)
}

func (c *Circuit) addWire(b Branch) {
	w := b.Wire
	metres, known := c.routes.Length(w)
	switch {
	case !w.Size.IsSet():
		c.missing(w.Name, "size", `size = "14 AWG"`)
		return
	case !known:
		c.missing(w.Name, "length", `length = "1.2 m", or paths between the places of its ends`)
		return
	}
	b.metal, _ = conductor.ParseMetal(w.Metal.Text)
	ohms, _ := conductor.Resistance20(w.Size, c.Netlist.Harness.Cable, b.metal)
	b.law, b.metres = wired, float64(metres)
	b.Ohms = ohms * b.metres
	ends := c.terminalOhms(c.Netlist.Pin(b.A), w).plus(c.terminalOhms(c.Netlist.Pin(b.B), w))
	b.ends, b.estimated = ends.ohms, ends.estimated
	_, b.paths, _ = c.routes.Between(c.routes.PlaceOf(w.From.ID), c.routes.PlaceOf(w.To.ID))
	b.guessed = guessedPaths(w, b.paths)
	b.ambient, b.ambientKnown = c.wireAmbient(w, b.paths)
	b.class = c.Netlist.Harness.Insulation
	if w.Insulation.IsSet() {
		b.class = unit.Celsius(w.Insulation.Value)
	}
	base, _ := conductor.AmpacityOf(w.Size, b.class, b.metal)
	b.capacity = conductor.Derate(base, b.class, b.ambient)
	if b.Ohms+b.ends <= 0 {
		b.ends = linkOhms
	}
	c.add(b)
}

// wireAmbient is the hottest ambient along the way of a wire; false when no zone on it states one, and a room's is given.
func (c *Circuit) wireAmbient(w *model.Wire, paths []*model.Path) (unit.Celsius, bool) {
	from, to := c.routes.PlaceOf(w.From.ID), c.routes.PlaceOf(w.To.ID)
	hottest, any := unit.Celsius(0), false
	consider := func(z *model.Zone) {
		if z != nil && z.Ambient.IsSet() {
			hottest, any = max(hottest, unit.Celsius(z.Ambient.Value)), true
		}
	}
	for _, p := range []*model.Place{from, to} {
		if p != nil {
			consider(p.Zone)
		}
	}
	for _, p := range paths {
		consider(p.Zone)
	}
	if !any {
		return roomCelsius, false
	}
	return hottest, true
}

func (c *Circuit) missing(name model.Name, what, add string) {
	c.Missing = append(c.Missing, Missing{Ref: name.Text, At: name, What: what, Add: add})
}

func (c *Circuit) addCoil(b Branch) {
	b.law = winding
	if v := b.Part.Value("coil-resistance"); v != nil && v.Quantity.Value > 0 {
		b.Ohms = v.Quantity.Value
	} else {
		b.Ohms = c.nominalBetween(b.A, b.B) / 0.15 // 0.15 A at nominal voltage: a common relay coil, job practice
		c.assume(b.Part, "coil resistance", unit.Ohm(b.Ohms).String())
	}
	b.ambient, _ = zoneCelsius(b.Part.Owner.Place())
	at, known := c.winding[b.Part]
	if !known {
		at = int32(len(c.relays))
		c.winding[b.Part] = at
		c.relays = append(c.relays, c.relayOf(b.Part, b.ambient, c.nominalBetween(b.A, b.B)/nominalVolts))
	}
	b.relay = at + 1
	index := c.add(b)
	c.relays[at].windings = append(c.relays[at].windings, index)
}

// relayOf settles the voltages at which a relay moves. They are stated for 23 C; what counts is the current, and a hot
// winding needs more volts for it. The cold is not credited. scale is that of its voltage to 12 V.
func (c *Circuit) relayOf(p *model.Part, ambient unit.Celsius, scale float64) relay {
	hot := max(1, 1+coilTemperatureCoefficient*(float64(ambient)-coilReference))
	r := relay{part: p, pullIn: scale * pullInVolts, dropOut: scale * dropOutVolts}
	if v := p.Value("pull-in"); v != nil && v.Quantity.Value > 0 {
		r.pullIn = v.Quantity.Value
	}
	if v := p.Value("drop-out"); v != nil && v.Quantity.Value > 0 {
		r.dropOut = v.Quantity.Value
	}
	r.pullIn, r.dropOut = r.pullIn*hot, min(r.dropOut, r.pullIn)*hot
	return r
}

func (c *Circuit) addLoad(b Branch) {
	b.Load = &b.Part.Inside.Loads[b.Edge.Index]
	b.spec, b.law = b.Load.Spec, consumer
	switch {
	case Shunt(b.Edge):
		b.law, b.Ohms = fixed, max(b.spec.Run.Value, linkOhms)
		c.add(b)
		return
	case b.Part.Kind.Name == "bridge sensor" && b.spec.Run.Dim == unit.Current && b.spec.Run.Value > 0:
		// The stated current is that of the bridge: four arms whose resistance is that of the whole.
		b.law, b.Ohms = fixed, referenceVolt/b.spec.Run.Value
		c.add(b)
		return
	case b.Part.Kind.Name == "three-wire sensor" && b.Edge.Index > 0 && b.spec.Span == b.Part.Inside.Loads[0].Spec.Span:
		return // the kind lays the one stated load from both wires to ground; the signal is an output and takes none
	}
	for _, s := range b.Part.Inside.Sources {
		b.excites = b.excites || s.Plus == b.A && s.Minus == b.B
	}
	if b.Part.Kind.Name == "starter" {
		c.addStarter(b)
		return
	}
	if input(b.Part, &b) != nil {
		b.use = converting
		c.add(b)
		return
	}
	if !b.spec.Run.IsSet() || b.spec.Run.Value <= 0 {
		if b.Part.Kind.Symbol != "sensor" { // a sensor without a number takes next to nothing
			c.missing(b.Part.Name, "load", `load = "5 A" or "55 W"`)
		}
		return
	}
	c.add(b)
}

// addStarter adds the solenoid and, when the part says what the motor takes, the motor itself behind terminal 30; the
// motor runs while terminal 50 is live.
func (c *Circuit) addStarter(b Branch) {
	solenoid := int32(-1)
	if b.spec.Run.IsSet() && b.spec.Run.Value > 0 {
		solenoid = c.add(b)
	} else {
		c.missing(b.Part.Name, "load of the solenoid", `load = "12 A"`)
	}
	main, ok := b.Part.Owner.Pin("30")
	crank := b.Part.Value("crank")
	if !ok || crank == nil || !crank.Quantity.IsSet() {
		c.missing(b.Part.Name, "cranking current", `crank = "200 A"`)
		return
	}
	if solenoid < 0 {
		return // without its solenoid the motor would never run, or always
	}
	motor := Branch{A: main, B: b.B, Part: b.Part, law: consumer, Pin: b.A, control: solenoid + 1}
	motor.spec.Run = crank.Quantity
	c.add(motor)
}

func (c *Circuit) addSource(b Branch) {
	p := b.Part
	b.law = supplying
	s := &p.Inside.Sources[b.Edge.Index]
	if b.from = s.From; s.Limit.IsSet() {
		b.Limit = s.Limit.Value
	}
	switch {
	case p.Kind.Name == "battery":
		b.source, b.Volts = batterySource, c.scale(chargedVolts)/float64(max(1, c.series[b.A]))
		if s.Volts.IsSet() && s.Volts.Value > 0 {
			b.Volts = s.Volts.Value
		}
		c.batteryInside(&b)
		if s.Resistance.IsSet() {
			b.Ohms = s.Resistance.Value
		}
		c.crankingSource(&b)
	case p.Value("output") != nil:
		b.source, b.Volts, b.Ohms = generatorSource, c.scale(regulated), generatorOhms
		if b.Limit == 0 {
			b.Limit = p.Value("output").Quantity.Value
		}
		switch v := p.Value("regulated"); {
		case s.Volts.IsSet() && s.Volts.Value > 0:
			b.Volts = s.Volts.Value
		case v != nil && v.Quantity.Value > 0:
			b.Volts = v.Quantity.Value
		default:
			c.assume(p, "regulated voltage", unit.Volt(b.Volts).String())
		}
		if s.Resistance.IsSet() {
			b.Ohms = s.Resistance.Value
		}
	default:
		c.otherInside(&b, s)
	}
	b.Ohms = max(b.Ohms, leastOhms)
	if at := c.add(b); b.converter() {
		c.converters = append(c.converters, at)
	}
}

// otherInside settles what a source holds that is neither battery nor generator.
func (c *Circuit) otherInside(b *Branch, s *model.Source) {
	b.source, b.Volts, b.Ohms = otherSource, c.scale(regulated), otherOhms
	if s.Volts.IsSet() && s.Volts.Value > 0 {
		b.Volts = s.Volts.Value
	} else {
		c.assume(b.Part, "voltage of its source", unit.Volt(b.Volts).String())
	}
	switch {
	case s.Resistance.IsSet():
		b.Ohms = s.Resistance.Value
		return
	case b.converter():
		b.Ohms = converterOhms
	case !s.Volts.IsSet():
		return // the voltage is assumed already, and this with it
	}
	c.assume(b.Part, "inner resistance of its source", unit.Ohm(b.Ohms).String())
}

// converter reports whether a source is fed by others and holds a voltage of its own.
func (b *Branch) converter() bool {
	return b.law == supplying && b.source == otherSource && b.from.A != b.from.B
}

// input returns the source of a converter that is fed between two terminals; nil where there is none, or where the file says itself
// what the converter takes there.
func input(p *model.Part, b *Branch) *model.Source {
	for i := range p.Inside.Sources {
		if s := &p.Inside.Sources[i]; s.From.A == b.A && s.From.B == b.B && !b.spec.Run.IsSet() {
			return s
		}
	}
	return nil
}

// linkConverters lets the input of each converter take what its source gives.
func (c *Circuit) linkConverters() {
	for _, at := range c.converters {
		source := &c.Branches[at]
		for i := range c.Branches {
			b := &c.Branches[i]
			if b.use != converting || b.Part != source.Part || b.A != source.from.A || b.B != source.from.B {
				continue
			}
			s := &b.Part.Inside.Sources[source.Edge.Index]
			if source.gives = converterShare; s.Efficiency.IsSet() {
				source.gives = s.Efficiency.Value
			} else {
				c.assume(b.Part, "efficiency", "90 %")
			}
			b.converts = at
		}
	}
}

// mainOutput reports whether a source of a generator is that which its output is stated for: its other terminals have
// limits of their own.
func (b *Branch) mainOutput() bool {
	v := b.Part.Value("output")
	return v != nil && b.Limit == v.Quantity.Value
}

func (c *Circuit) batteryInside(b *Branch) {
	if v := b.Part.Value("resistance"); v != nil && v.Quantity.Value > 0 {
		b.Ohms = v.Quantity.Value
		return
	}
	capacity := 60.0
	if v := b.Part.Value("capacity"); v != nil && v.Quantity.IsSet() {
		capacity = v.Quantity.Value
	}
	b.Ohms = batteryOhms(capacity)
	c.assume(b.Part, "inner resistance", unit.Ohm(b.Ohms).String())
}

// addPinLoads adds what terminals of other parts take, from the terminal to the ground of the part.
func (c *Circuit) addPinLoads(p *model.Part) {
	for _, id := range p.Terminals() {
		pin := c.Netlist.Pin(id)
		if !pin.Load.IsSet() || pin.Load.Value <= 0 || !c.Graph.Reached(id) {
			continue
		}
		ground := c.groundOf(p)
		if ground == model.NoPin || ground == id {
			c.missing(p.Name, "ground terminal", `role = "ground" on the terminal that carries its current back, or case = "BODY"`)
			return
		}
		b := Branch{A: id, B: ground, Part: p, Pin: id, law: consumer}
		b.spec.Run = pin.Load
		c.add(b)
	}
}

// groundOf is the first ground terminal of a part that is wired, else its case.
func (c *Circuit) groundOf(p *model.Part) model.PinID {
	for _, id := range p.Terminals() {
		if c.Netlist.Pin(id).Role == catalog.Ground && c.Graph.Reached(id) {
			return id
		}
	}
	if id, ok := p.Owner.Pin(model.CasePin); ok {
		return id
	}
	return model.NoPin
}

// addModule adds what a module does inside: its grounds are one metal, its pins take their loads, its outputs join to
// ground or supply when they are driven, its references feed the sensors. The current of the references is part of what
// the supply pins are stated to take, and so not taken from them once more.
func (c *Circuit) addModule(p *model.Part) {
	m := moduleSupply{part: p, ground: model.NoPin, main: model.NoPin}
	most := -1.0
	for _, id := range p.Terminals() {
		if !c.Graph.Reached(id) {
			continue
		}
		switch pin := c.Netlist.Pin(id); pin.Role {
		case catalog.Ground:
			if m.ground == model.NoPin {
				m.ground = id
			} else {
				c.add(Branch{A: m.ground, B: id, Part: p, law: fixed, Ohms: c.estimate("pins joined inside a device", commonOhms)})
			}
		case catalog.Supply:
			m.supplies = append(m.supplies, id)
			if pin.Load.Value > most {
				most, m.main = pin.Load.Value, id
			}
		}
	}
	if m.ground == model.NoPin {
		c.missing(p.Name, "ground pin", `role = "ground" on the pins that carry its current back`)
		return
	}
	m.nominal = c.Netlist.Harness.Volts
	if m.main != model.NoPin {
		m.nominal = c.nominalBetween(m.main, m.ground)
	}
	c.modules = append(c.modules, m)
	for _, id := range p.Terminals() {
		if c.Graph.Reached(id) {
			c.addModulePin(&m, c.Netlist.Pin(id))
		}
	}
}

func (c *Circuit) addModulePin(m *moduleSupply, pin *model.Pin) {
	b := Branch{A: pin.ID, B: m.ground, Part: m.part, Pin: pin.ID, module: int32(len(c.modules))}
	switch pin.Role {
	case catalog.Supply, catalog.Input:
		if pin.Load.IsSet() && pin.Load.Value > 0 {
			b.law, b.spec.Run = consumer, pin.Load
			c.add(b)
		}
	case catalog.Return, catalog.Screen:
		b.law, b.Ohms = fixed, c.estimate("pins joined inside a device", commonOhms)
		c.add(b)
	case catalog.Sink, catalog.Driver, catalog.HalfBridge:
		c.addOutput(b, m, pin)
	case catalog.Reference:
		b.law, b.source, b.Volts, b.Ohms = supplying, referenceSource, referenceVolt, c.estimate("sensor supply of a module", referenceOhms)
		if pin.Limit.IsSet() {
			b.Limit = pin.Limit.Value
		}
		c.add(b)
	}
}

// addOutput adds what joins an output to the ground of its module, to its main supply, or, of a half bridge, to either.
func (c *Circuit) addOutput(b Branch, m *moduleSupply, pin *model.Pin) {
	b.law = driving
	if pin.Resistance.IsSet() && pin.Resistance.Value > 0 {
		b.Ohms = pin.Resistance.Value
	} else {
		b.Ohms = c.estimate("output of a module that is on", driverOhms)
	}
	if pin.Limit.IsSet() {
		b.Limit = pin.Limit.Value
	}
	if pin.Role != catalog.Driver {
		b.Pulls = pin.Role == catalog.HalfBridge
		c.add(b)
	}
	if pin.Role != catalog.Sink && m.main != model.NoPin {
		b.B, b.Pulls = m.main, false
		c.add(b)
	}
}

// fuseOhms is the cold resistance of a fuse with what holds it.
func (c *Circuit) fuseOhms(p *model.Part) float64 {
	if v := p.Value("resistance"); v != nil && v.Quantity.Value > 0 {
		return v.Quantity.Value
	}
	rating := 10.0
	if v := p.Value("rating"); v != nil && v.Quantity.Value > 0 {
		rating = v.Quantity.Value
	} else {
		c.assume(p, "rating", unit.Ampere(rating).String())
	}
	link, holder, _ := fusecurve.ColdResistance(fuseFamily(p), unit.Ampere(rating))
	return float64(link + holder)
}

// fuseFamily is the standard form of a fuse: stated, or what is made for its rating.
func fuseFamily(p *model.Part) fusecurve.Family {
	word := ""
	if v := p.Value("family"); v != nil {
		word = v.Word.Text
	}
	family, known := fusecurve.ParseFamily(word)
	if v := p.Value("rating"); !known && v != nil && v.Quantity.Value > 40 {
		return fusecurve.BoltIn
	} else if !known {
		return fusecurve.Blade
	}
	return family
}
