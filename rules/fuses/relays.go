package fuses

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

// fedByRelay lists what the contacts of a relay feed: the loads, coils and module supplies that conductors and fuses join to
// the side of a contact that is not always live.
func fedByRelay(p *rules.Pass, relay *model.Part) []taker {
	var out []taker
	seen := map[model.PinID]bool{}
	for _, pairs := range [...][]model.Pair{relay.Inside.Open, relay.Inside.Closed} {
		for _, pair := range pairs {
			side := pair.B
			if pair.A == model.NoPin || pair.B == model.NoPin {
				continue
			}
			if p.Permanent(side) && !p.Permanent(pair.A) {
				side = pair.A
			}
			if !p.Permanent(side) && !p.Grounded(side) && !seen[side] {
				out = append(out, behind(p, side, seen)...)
			}
		}
	}
	return out
}

// behind walks over conductors and fuses from a terminal and lists what takes current there.
func behind(p *rules.Pass, from model.PinID, seen map[model.PinID]bool) []taker {
	var out []taker
	met := map[*graph.Edge]bool{}
	queue := []model.PinID{from}
	seen[from] = true
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		x := p.Netlist.Pin(pin)
		if device := x.Owner.Device(); device != nil && device.Kind.Symbol == "module" && x.Role == catalog.Supply {
			out = append(out, taker{part: device, pin: pin})
		}
		for _, id := range p.Graph.At(pin) {
			e := p.Graph.Edge(id)
			switch {
			case e.Kind == graph.Load && !met[e]:
				met[e] = true
				out = append(out, taker{part: e.Part, load: &e.Part.Inside.Loads[e.Index], edge: e, pin: model.NoPin})
			case e.Kind == graph.Coil && !met[e]:
				met[e] = true
				out = append(out, taker{part: e.Part, edge: e, pin: model.NoPin})
			case e.Kind.Conducts() && !seen[e.Other(pin)] && !p.Grounded(e.Other(pin)):
				seen[e.Other(pin)] = true
				queue = append(queue, e.Other(pin))
			}
		}
	}
	return out
}
