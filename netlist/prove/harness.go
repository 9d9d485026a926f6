package prove

import (
	"math"
	"sync"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A Harness is a harness that is to be proved. Only one goroutine at a time may ask it.
type Harness struct {
	Circuit *circuit.Circuit
	Graph   *graph.Graph
	Netlist *model.Netlist

	conditions []*graph.Condition
	out        map[*model.Part]bool // unplugged
	branch     map[*graph.Edge]int  // index in Circuit.Branches
	ground     []bool               // by terminal: joined to metal of the vehicle or the grounded pole, over conductors and bolts
	live       []model.PinID        // poles of batteries, those between two in series left out
	grounded   []model.PinID
	banks      []Bank
	bankOf     map[*model.Part]int // of a battery
	feeding    int                 // the bank that is connected; everyBank for all
	coils      []*graph.Edge
	converters []converter
	fuses      []int                // branches of fuses and breakers
	assumed    map[*model.Part]bool // the circuit took a number for them
	meter      func() *meter
	power      func() *Power
}

// New prepares the proofs of a circuit. Nothing is worked out before it is asked for.
func New(c *circuit.Circuit) *Harness {
	h := &Harness{Circuit: c, Graph: c.Graph, Netlist: c.Netlist, conditions: c.Graph.Conditions(), out: map[*model.Part]bool{}, branch: map[*graph.Edge]int{}, assumed: map[*model.Part]bool{}}
	for i := range c.Branches {
		if e := c.Branches[i].Edge; e != nil {
			h.branch[e] = i
			if e.Kind == graph.Protect {
				h.fuses = append(h.fuses, i)
			}
		}
	}
	for _, a := range c.Assumptions {
		h.assumed[a.Part] = true
	}
	for _, p := range h.Netlist.Parts {
		if unplugged(p, h.Netlist) {
			h.out[p] = true
		}
	}
	for i := range h.Graph.Edges {
		if e := &h.Graph.Edges[i]; e.Kind == graph.Coil {
			h.coils = append(h.coils, e)
		}
	}
	h.findPoles()
	h.findBanks()
	h.findConverters()
	h.findGround()
	h.meter = sync.OnceValue(h.newMeter)
	h.power = sync.OnceValue(h.powerUp)
	return h
}

// unplugged reports whether a part stays unplugged at first power: controllers and instruments; other electronics that know a
// supply or a ground of their own and feed nothing; what hangs on sockets; starters, so that no engine turns; and ignition coils,
// which heat while nothing fires them.
func unplugged(p *model.Part, n *model.Netlist) bool {
	switch {
	case p.StaysPlugged.On:
		return false
	case p.Kind.Symbol == "module", p.Kind.Name == "starter", p.Kind.Name == "ignition coil", p.Kind.Name == "socket outlet":
		return true
	case p.Kind.Name != "device" || len(p.Inside.Sources) > 0 || len(p.Inside.Loads) == 0:
		return false
	}
	for _, id := range p.Terminals() {
		if role := n.Pin(id).Role; role == catalog.Supply || role == catalog.Ground {
			return true
		}
	}
	return false
}

// Unplugged lists the parts that stay unplugged at first power, in the order of the file.
func (h *Harness) Unplugged() []*model.Part {
	var parts []*model.Part
	for _, p := range h.Netlist.Parts {
		if h.out[p] && h.wired(p) {
			parts = append(parts, p)
		}
	}
	return parts
}

func (h *Harness) wired(p *model.Part) bool {
	for _, id := range p.Terminals() {
		if h.Graph.Reached(id) {
			return true
		}
	}
	return false
}

// findGround floods from bodies and grounded poles over conductors and bolts.
func (h *Harness) findGround() {
	h.ground = make([]bool, len(h.Netlist.Pins))
	var stack []model.PinID
	add := func(pin model.PinID) {
		if pin != model.NoPin && !h.ground[pin] {
			h.ground[pin] = true
			stack = append(stack, pin)
		}
	}
	for _, b := range h.Netlist.Bodies {
		add(b.Pin)
	}
	for _, pin := range h.grounded {
		add(pin)
	}
	for len(stack) > 0 {
		pin := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, id := range h.Graph.At(pin) {
			if e := h.Graph.Edge(id); e.Kind.Outside() || e.Kind == graph.Bolted {
				add(e.Other(pin))
			}
		}
	}
}

// findPoles finds the live and the grounded poles of the batteries, those between two in series left out.
func (h *Harness) findPoles() {
	for i := range h.Circuit.Branches {
		b := &h.Circuit.Branches[i]
		if !b.IsBattery() {
			continue
		}
		live, grounded := h.polesOf(b)
		if !h.Circuit.InSeries(live) {
			h.live = append(h.live, live)
		}
		if !h.Circuit.InSeries(grounded) {
			h.grounded = append(h.grounded, grounded)
		}
	}
}

// polesOf are the terminals of a battery on the side of the supply and on that of ground.
func (h *Harness) polesOf(battery *circuit.Branch) (live, grounded model.PinID) {
	if h.Netlist.Harness.PositiveGround {
		return battery.B, battery.A
	}
	return battery.A, battery.B
}

// Ground reports whether a terminal is joined to ground over conductors and bolts.
func (h *Harness) Ground(pin model.PinID) bool { return h.ground[pin] }

// GroundPole is the terminal that volts are told against: the grounded pole of the first battery or, without one, metal of the
// vehicle; model.NoPin where there is neither.
func (h *Harness) GroundPole() model.PinID {
	if len(h.grounded) > 0 {
		return h.grounded[0]
	}
	if len(h.Netlist.Bodies) > 0 {
		return h.Netlist.Bodies[0].Pin
	}
	return model.NoPin
}

// SupplyPoints are where a probe finds supply when the battery is there: one terminal of each bar that several fuses are fed from
// and that is joined to a live pole over conductors and fuses; without such bars, the live poles.
func (h *Harness) SupplyPoints() []model.PinID {
	permanent := h.joined(h.live)
	fed, seen := map[graph.NetID]int{}, map[graph.NetID]bool{}
	var points []model.PinID
	for i := range h.Graph.Edges {
		e := &h.Graph.Edges[i]
		if e.Kind != graph.Protect {
			continue
		}
		for _, pin := range [...]model.PinID{e.A, e.B} {
			net := h.Graph.NetOf(pin)
			if fed[net.ID]++; fed[net.ID] == 2 && permanent[pin] && !h.ground[pin] && !seen[net.ID] {
				seen[net.ID] = true
				points = append(points, h.handle(net))
			}
		}
	}
	if len(points) == 0 {
		for _, pin := range h.live {
			if net := h.Graph.NetOf(pin); !seen[net.ID] {
				seen[net.ID] = true
				points = append(points, pin)
			}
		}
	}
	return points
}

// joined floods from terminals over conductors and fuses.
func (h *Harness) joined(from []model.PinID) []bool {
	mark := make([]bool, len(h.Netlist.Pins))
	stack := append([]model.PinID(nil), from...)
	for _, pin := range from {
		mark[pin] = true
	}
	for len(stack) > 0 {
		pin := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, id := range h.Graph.At(pin) {
			if e := h.Graph.Edge(id); e.Kind.Conducts() {
				if next := e.Other(pin); !mark[next] {
					mark[next] = true
					stack = append(stack, next)
				}
			}
		}
	}
	return mark
}

// handle is the terminal of a net that is easiest to name: that of a panel or bar, else the first that is no splice.
func (h *Harness) handle(net *graph.Net) model.PinID {
	best := net.Pins[0]
	for _, id := range net.Pins {
		o := h.Netlist.Pin(id).Owner
		switch {
		case o.Sort == model.PanelOwner:
			return id
		case h.Netlist.Pin(best).Owner.Sort == model.SpliceOwner && o.Sort != model.SpliceOwner:
			best = id
		}
	}
	return best
}

// estimatedShare is the share of a number that may rest on estimated contacts before it is marked; that of the circuit.
const estimatedShare = 0.1

func (h *Harness) nominal() float64 {
	if v := h.Netlist.Harness.Volts; v > 0 {
		return v
	}
	return 12
}

func known(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
