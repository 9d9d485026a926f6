package circuit

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/conductor"
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
	Limit float64 // of sources: the most current, 0 for none
	Load  *model.Load
	Pin   model.PinID // of driving branches: the output; of a module's own supply: the pin

	law      law
	ends     float64        // of a wire: the resistance of its two connections
	metres   float64        // of a wire
	ambient  unit.Celsius   // around a wire or a coil
	capacity unit.Ampere    // of a wire, at its ambient
	class    unit.Celsius   // of a wire's insulation
	source   sourceKind     // of supplying branches
	spec     model.LoadSpec // of consumers
	reversed bool           // of driving branches that join to supply: A is the supply
}

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
	Missing     []Missing

	routes *route.Routes
	base   model.PinID // the terminal that volts are counted from: the minus of the first battery
	solver *solver
}

// New makes the network of a harness. What cannot be put into numbers is in Missing, and left out of the network.
func New(g *graph.Graph, routes *route.Routes) *Circuit {
	c := &Circuit{Graph: g, Netlist: g.Netlist, routes: routes, base: model.NoPin}
	for i := range g.Edges {
		c.addEdge(&g.Edges[i])
	}
	for _, p := range g.Netlist.Parts {
		if p.Kind.Symbol == "module" {
			c.addModule(p)
		}
	}
	if c.base == model.NoPin && len(g.Netlist.Bodies) > 0 {
		c.base = g.Netlist.Bodies[0].Pin
	}
	return c
}

func (c *Circuit) add(b Branch) { c.Branches = append(c.Branches, b) }

func (c *Circuit) addEdge(e *graph.Edge) {
	b := Branch{A: e.A, B: e.B, Edge: e, Part: e.Part, Wire: e.Wire, law: fixed}
	switch e.Kind {
	case graph.Wire:
		c.addWire(b)
		return
	case graph.Link:
		b.Ohms = linkOhms
	case graph.Mate:
		b.Ohms = c.matedOhms(e)
	case graph.Joined:
		b.Ohms = linkOhms
	case graph.Common:
		b.Ohms = commonOhms
	case graph.Bolted:
		b.Ohms = boltedOhms
	case graph.Protect:
		b.Ohms = c.fuseOhms(e.Part)
	case graph.Open, graph.Closed, graph.Position:
		b.law, b.Ohms = switching, switchOhms
		if len(e.Part.Inside.Coils) > 0 {
			b.Ohms = contactOhms
		}
	case graph.Coil:
		c.addCoil(b)
		return
	case graph.Resistor:
		b.Ohms = e.Part.Inside.Resistors[e.Index].Ohms.Value
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

// matedOhms goes by the thicker of the wires at the pair: thick wires have large contacts.
func (c *Circuit) matedOhms(e *graph.Edge) float64 {
	for _, pin := range []model.PinID{e.A, e.B} {
		for _, w := range c.Graph.WiresAt(pin) {
			if w.Size.AreaMM2() >= unit.AWG(14).AreaMM2()*0.85 {
				return bladeOhms
			}
		}
	}
	return mateOhms
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
	ohms, _ := conductor.Resistance20(w.Size, c.Netlist.Harness.Cable, conductor.Copper)
	b.law, b.metres = wired, float64(metres)
	b.Ohms = ohms * b.metres
	b.ends = c.terminalOhms(c.Netlist.Pin(b.A), w) + c.terminalOhms(c.Netlist.Pin(b.B), w)
	b.ambient = c.wireAmbient(w)
	b.class = c.Netlist.Harness.Insulation
	if w.Insulation.IsSet() {
		b.class = unit.Celsius(w.Insulation.Value)
	}
	base, _ := conductor.Ampacity(w.Size, b.class)
	b.capacity = conductor.Derate(base, b.class, b.ambient)
	if b.Ohms+b.ends <= 0 {
		b.ends = linkOhms
	}
	c.add(b)
}

// wireAmbient is the hottest ambient along the way of a wire.
func (c *Circuit) wireAmbient(w *model.Wire) unit.Celsius {
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
	if _, paths, ok := c.routes.Between(from, to); ok {
		for _, p := range paths {
			consider(p.Zone)
		}
	}
	if !any {
		return roomCelsius
	}
	return hottest
}

func (c *Circuit) missing(name model.Name, what, add string) {
	c.Missing = append(c.Missing, Missing{Ref: name.Text, At: name, What: what, Add: add})
}

func (c *Circuit) addCoil(b Branch) {
	b.law = winding
	if v := b.Part.Value("coil-resistance"); v != nil && v.Quantity.Value > 0 {
		b.Ohms = v.Quantity.Value
	} else {
		b.Ohms = c.scale(12) / 0.15 // 0.15 A at nominal voltage: a common relay coil, job practice
		c.assume(b.Part, "coil resistance", unit.Ohm(b.Ohms).String())
	}
	b.ambient, _ = zoneCelsius(b.Part.Owner.Place())
	c.add(b)
}

func (c *Circuit) addLoad(b Branch) {
	b.Load = &b.Part.Inside.Loads[b.Edge.Index]
	b.spec, b.law = b.Load.Spec, consumer
	if b.Part.Kind.Name == "starter" {
		c.addStarter(b)
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
	if b.spec.Run.IsSet() && b.spec.Run.Value > 0 {
		c.add(b)
	} else {
		c.missing(b.Part.Name, "load of the solenoid", `load = "12 A"`)
	}
	main, ok := b.Part.Owner.Pin("30")
	crank := b.Part.Value("crank")
	if !ok || crank == nil || !crank.Quantity.IsSet() {
		c.missing(b.Part.Name, "cranking current", `crank = "200 A"`)
		return
	}
	motor := Branch{A: main, B: b.B, Part: b.Part, law: consumer, Pin: b.A, source: otherSource}
	motor.spec.Run = crank.Quantity
	c.add(motor)
}

func (c *Circuit) addSource(b Branch) {
	p := b.Part
	b.law = supplying
	if s := p.Inside.Sources[b.Edge.Index]; s.Limit.IsSet() {
		b.Limit = s.Limit.Value
	}
	switch {
	case p.Kind.Name == "battery":
		b.source, b.Volts = batterySource, c.scale(chargedVolts)
		c.batteryInside(&b)
		if c.base == model.NoPin {
			c.base = b.B
		}
	case p.Value("output") != nil:
		b.source, b.Volts, b.Ohms = generatorSource, c.scale(regulated), 0.005
		if v := p.Value("regulated"); v != nil && v.Quantity.Value > 0 {
			b.Volts = v.Quantity.Value
		} else {
			c.assume(p, "regulated voltage", unit.Volt(b.Volts).String())
		}
	default:
		b.source, b.Volts, b.Ohms = otherSource, c.scale(regulated), 0.5
		c.assume(p, "voltage of its source", unit.Volt(b.Volts).String())
	}
	c.add(b)
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

// addModule adds what a module does inside: its grounds are one metal, its pins take their loads, its outputs join to
// ground or supply when they are driven, its references feed the sensors.
func (c *Circuit) addModule(p *model.Part) {
	var ground, supply model.PinID = model.NoPin, model.NoPin
	for _, id := range p.Terminals() {
		if !c.Graph.Reached(id) {
			continue
		}
		switch c.Netlist.Pin(id).Role {
		case catalog.Ground:
			if ground == model.NoPin {
				ground = id
			} else {
				c.add(Branch{A: ground, B: id, Part: p, law: fixed, Ohms: commonOhms})
			}
		case catalog.Supply:
			if supply == model.NoPin {
				supply = id
			}
		}
	}
	if ground == model.NoPin {
		c.missing(p.Name, "ground pin", `role = "ground" on the pins that carry its current back`)
		return
	}
	for _, id := range p.Terminals() {
		if c.Graph.Reached(id) {
			c.addModulePin(p, c.Netlist.Pin(id), ground, supply)
		}
	}
}

func (c *Circuit) addModulePin(p *model.Part, pin *model.Pin, ground, supply model.PinID) {
	b := Branch{A: pin.ID, B: ground, Part: p, Pin: pin.ID}
	switch pin.Role {
	case catalog.Supply, catalog.Input:
		if pin.Load.IsSet() && pin.Load.Value > 0 {
			b.law, b.spec.Run = consumer, pin.Load
			c.add(b)
		}
	case catalog.Return, catalog.Screen:
		b.law, b.Ohms = fixed, commonOhms
		c.add(b)
	case catalog.Sink:
		b.law, b.Ohms = driving, driverOhms
		c.add(b)
	case catalog.Driver:
		if supply != model.NoPin {
			b.law, b.Ohms, b.B, b.reversed = driving, driverOhms, supply, true
			c.add(b)
		}
	case catalog.Reference:
		b.law, b.source, b.Volts, b.Ohms = supplying, referenceSource, referenceVolt, referenceOhms
		if pin.Limit.IsSet() {
			b.Limit = pin.Limit.Value
		}
		c.add(b)
	}
}

// fuseOhms is the cold resistance of a fuse with its clips.
func (c *Circuit) fuseOhms(p *model.Part) float64 {
	if v := p.Value("resistance"); v != nil && v.Quantity.Value > 0 {
		return v.Quantity.Value
	}
	rating := 10.0
	if v := p.Value("rating"); v != nil && v.Quantity.Value > 0 {
		rating = v.Quantity.Value
	}
	return coldFuseOhms(rating)
}

// coldFuseOhms follows the usual values of blade fuses, 7.5 mohm at 10 A and falling as 1/I, with 4 mohm for the clips
// up to 40 A and 0.5 mohm for bolts beyond. Estimate.
func coldFuseOhms(rating float64) float64 {
	if rating > 40 {
		return 0.075/rating + 2*ringOhms
	}
	return 0.075/rating + 0.004
}
