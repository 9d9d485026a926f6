package signals

import (
	"cmp"
	"math"
	"slices"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
)

// A bus is a pair of nets of the classes bus high and bus low that the same devices are on.
type bus struct {
	high, low *graph.Net
	decl      *model.Net // what [net] says of the high side, or of the low side if that has a bit rate
	nodes     []node
}

// A node is where a device is on the bus.
type node struct {
	part      *model.Part
	high, low model.PinID
}

// name says which bus it is.
func (b *bus) name() string { return b.high.Name + "/" + b.low.Name }

// buses finds the data buses of a harness, in the order of the file.
func buses(p *rules.Pass) []*bus {
	class := busClasses(p)
	if len(class) == 0 {
		return nil
	}
	highs := map[graph.NetID][]node{}
	for _, part := range p.Netlist.Parts {
		if part.Kind.Joined {
			continue
		}
		high, low := model.NoPin, model.NoPin
		for _, id := range part.Terminals() {
			switch class[p.Graph.NetOf(id).ID] {
			case "bus high":
				high = id
			case "bus low":
				low = id
			}
		}
		if high != model.NoPin && low != model.NoPin && p.Graph.Reached(high) && p.Graph.Reached(low) {
			id := p.Graph.NetOf(high).ID
			highs[id] = append(highs[id], node{part, high, low})

		}
	}
	var found []*bus
	for i := range p.Graph.Nets {
		nodes := highs[graph.NetID(i)]
		if len(nodes) < 2 {
			continue // one device: the rest of the bus is the matter of another file
		}
		b := &bus{high: &p.Graph.Nets[i], low: p.Graph.NetOf(nodes[0].low), nodes: nodes}
		b.decl = busDecl(p, b)
		found = append(found, b)
	}
	return found
}

// busClasses says of each net that a name of class bus high or bus low stands on which of the two it is.
func busClasses(p *rules.Pass) map[graph.NetID]string {
	class := map[graph.NetID]string{}
	note := func(id model.PinID, net model.Name) {
		if c := p.ClassOf(net); id != model.NoPin && (c == "bus high" || c == "bus low") {
			if n := p.Graph.NetOf(id).ID; class[n] == "" {
				class[n] = c
			}
		}
	}
	for i := range p.Netlist.Pins {
		note(model.PinID(i), p.Netlist.Pins[i].Net)
	}
	for _, w := range p.Netlist.Wires {
		note(w.From.ID, w.Net)
		note(w.To.ID, w.Net)
	}
	return class
}

func busDecl(p *rules.Pass, b *bus) *model.Net {
	var decl *model.Net
	for _, n := range p.Netlist.Nets {
		if (n.Name.Text == b.high.Name || n.Name.Text == b.low.Name) && (decl == nil || n.BitRate.IsSet() && !decl.BitRate.IsSet()) {
			decl = n
		}
	}
	return decl
}

// rate returns the bit rate in kbit/s as the file writes it, 0 where it does not.
func (b *bus) rate() int {
	if b.decl == nil {
		return 0
	}
	return map[string]int{
		"10 kbit/s": 10, "20 kbit/s": 20, "50 kbit/s": 50, "125 kbit/s": 125, "250 kbit/s": 250, "500 kbit/s": 500, "800 kbit/s": 800, "1 Mbit/s": 1000,
	}[b.decl.BitRate.Text]
}

// longestStub is the longest stub in metres at a bit rate in kbit/s; 0 where none is set.
//
// Sources: ISO 11898-2, 0.3 m at 1 Mbit/s (from memory), and taken for 800 kbit/s too; SAE J2284, 1 m at 500 kbit/s (from
// memory); SAE J1939-11, 1 m at 250 kbit/s (verified in testdata/reference/can-bus.csv). Slower buses have none that matters
// in a vehicle: common practice.
func longestStub(rate int) float64 {
	switch {
	case rate >= 800:
		return 0.3
	case rate >= 250:
		return 1
	}
	return 0
}

// span returns the words that define the bus.
func (b *bus) span(p *rules.Pass) source.Span {
	if b.decl != nil {
		return b.decl.Name.Span
	}
	return p.Netlist.Pin(b.nodes[0].high).Span
}

// A terminator is a resistance between the two sides of a bus.
type terminator struct {
	part *model.Part
	at   model.PinID // on the high side
	ohms float64
	span source.Span
}

// terminators lists the resistors between high and low: inside devices, parts of kind resistor, and two in series with
// nothing else between, as in a split termination.
func (b *bus) terminators(p *rules.Pass) []terminator {
	var found []terminator
	middle := map[int32]terminator{} // from high to a point between
	steps := resistances(p)
	for _, pass := range []bool{false, true} {
		for _, r := range steps {
			for _, end := range [][2]model.PinID{{r.A, r.B}, {r.B, r.A}} {
				from, to := p.Graph.NetOf(end[0]).ID, p.Graph.NetOf(end[1]).ID
				t := terminator{part: r.part, at: end[0], ohms: r.ohms, span: r.span}
				half, inMiddle := middle[int32(from)]
				switch {
				case !pass && from == b.high.ID && to == b.low.ID:
					found = append(found, t)
				case !pass && from == b.high.ID:
					middle[int32(to)] = t
				case pass && from != b.high.ID && to == b.low.ID && inMiddle:
					half.ohms += r.ohms
					found = append(found, half)
				}
			}
		}
	}
	slices.SortStableFunc(found, func(x, y terminator) int { return cmp.Compare(x.span.Start, y.span.Start) })
	return found
}

// A resistance is a stated resistance between two terminals.
type resistance struct {
	model.Pair
	part *model.Part
	ohms float64
	span source.Span
}

// resistances lists the fixed resistors of a harness.
func resistances(p *rules.Pass) []resistance {
	var found []resistance
	for _, part := range p.Netlist.Parts {
		for _, r := range part.Inside.Resistors {
			if r.Ohms.IsSet() && r.Ohms.Value > 0 {
				found = append(found, resistance{r.Pair, part, r.Ohms.Value, r.Ohms.Span})
			}
		}
		if v := part.Value("resistance"); part.Kind.Name == "resistor" && v != nil && v.Quantity.Value > 0 {
			for _, l := range part.Inside.Loads {
				found = append(found, resistance{l.Pair, part, v.Quantity.Value, v.Quantity.Span})
			}
		}
	}
	return found
}

// distances returns how far the terminals of a net are from one of them along its wires, in metres; false when the length
// of a wire is not known. Bars, splices and mated cavities count as nothing.
func distances(p *rules.Pass, from model.PinID) (map[model.PinID]float64, bool) {
	far, known := map[model.PinID]float64{from: 0}, true
	for queue := []model.PinID{from}; len(queue) > 0; queue = queue[1:] {
		at := queue[0]
		for _, id := range p.Graph.At(at) {
			e := p.Graph.Edge(id)
			if !e.Kind.Outside() {
				continue
			}
			length := 0.0
			if e.Wire != nil {
				metres, ok := p.Routes.Length(e.Wire)
				length, known = float64(metres), known && ok
			}
			next := e.Other(at)
			if d, seen := far[next]; !seen || far[at]+length < d-1e-9 {
				far[next] = far[at] + length
				queue = append(queue, next)
			}
		}
	}
	return far, known
}

// ends returns the two nodes that are farthest from each other.
func (b *bus) ends(p *rules.Pass) (x, y node, known bool) {
	farthest := func(from node) (node, bool) {
		far, known := distances(p, from.high)
		best, most := from, math.Inf(-1)
		for _, n := range b.nodes {
			if far[n.high] > most+1e-9 && n.high != from.high {
				best, most = n, far[n.high]
			}
		}
		return best, known
	}
	x, known = farthest(b.nodes[0])
	y, _ = farthest(x)
	return x, y, known
}

// A stub is how far a device is from the trunk.
type stub struct {
	node
	metres float64
	behind int // index of the terminator that the bus goes on behind to reach the device; -1 when it branches off before
}

// stubs measures the way from the trunk to each device. The trunk lies between the two terminators, or between the devices
// that are farthest apart where there are not two. It is false when the length of a wire is not known.
func (b *bus) stubs(p *rules.Pass) ([]stub, bool) {
	x, y, known := b.ends(p)
	from, to := x.high, y.high
	terminated := false
	if t := b.terminators(p); len(t) == 2 && t[0].at != t[1].at {
		from, to, terminated = t[0].at, t[1].at, true
	}
	fromX, _ := distances(p, from)
	fromY, _ := distances(p, to)
	found := make([]stub, len(b.nodes))
	for i, n := range b.nodes {
		found[i] = stub{node: n, metres: (fromX[n.high] + fromY[n.high] - fromX[to]) / 2, behind: -1}
		const near = 0.02 // metres: at the terminator itself
		switch along := fromX[n.high] - found[i].metres; {
		case !terminated:
		case along < near:
			found[i].behind = 0
		case fromX[to]-along < near:
			found[i].behind = 1
		}
	}
	return found, known
}
