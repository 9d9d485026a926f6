package layout

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// levels finds how far down between supply (0) and ground (1) each terminal lies. The harness is taken as a network of
// equal resistors with the sources at 0 and the metal of the vehicle at 1; the levels are its potentials. Modules hang
// low, the first in the file highest, so that what joins two of them has a direction. What hangs on nothing stays in between.
//
// The potentials are found by relaxation (Gauss-Seidel); they only order things, so a fixed number of rounds will do.
func levels(g *graph.Graph) []float64 {
	level := make([]float64, len(g.Netlist.Pins))
	fixed := make([]bool, len(level))
	pin := func(id model.PinID, at float64) { level[id], fixed[id] = at, true }
	for i := range level {
		level[i] = middle
	}
	modules := 0
	between := seriesPoles(g)
	for _, p := range g.Netlist.Parts {
		if p.Kind.Symbol == "module" {
			modules++
		}
		for _, id := range p.Terminals() {
			switch {
			case p.Kind.Symbol == "ground":
				pin(id, 1)
			case p.Kind.Symbol == "module":
				pin(id, moduleLevel(g.Netlist.Pin(id).Role)+float64(0.04*(1-1/float64(modules))))
			}
		}
		for _, s := range p.Inside.Sources {
			live, ground := s.Plus, s.Minus
			if g.Netlist.Harness.PositiveGround {
				live, ground = ground, live
			}
			if !between[live] {
				pin(live, 0)
			}
			if !between[ground] {
				pin(ground, 1)
			}
		}
	}
	for _, b := range g.Netlist.Bodies {
		pin(b.Pin, 1)
	}
	for _, l := range g.Netlist.Links {
		if l.Rail.Text == "30" {
			for _, r := range l.Joins {
				if r.ID != model.NoPin {
					pin(r.ID, 0.1)
				}
			}
		}
	}
	relax(g, level, fixed)
	return level
}

// seriesPoles finds the terminals between two sources in series: neither supply nor ground, they find their level.
func seriesPoles(g *graph.Graph) map[model.PinID]bool {
	sets := graph.NewSets(len(g.Netlist.Pins))
	for i := range g.Edges {
		if e := &g.Edges[i]; e.Kind.Conducts() {
			sets.Join(int32(e.A), int32(e.B))
		}
	}
	return g.SeriesPoles(func(pin model.PinID) int32 { return sets.Find(int32(pin)) })
}

const (
	middle   = 0.5
	rounds   = 400
	weakPull = 1e-4
)

func moduleLevel(role catalog.Role) float64 {
	switch role {
	case catalog.Driver:
		return 0.45
	case catalog.Ground:
		return 0.95
	}
	return 0.9
}

// conductance of an edge in the ordering network: consumers resist more than contacts, so that levels step at them.
func conductance(k graph.Kind) float64 {
	switch k {
	case graph.Load, graph.Coil, graph.Resistor:
		return 0.05
	case graph.Source:
		return 0
	}
	return 1
}

func relax(g *graph.Graph, level []float64, fixed []bool) {
	for range rounds {
		for i := range level {
			if fixed[i] {
				continue
			}
			sum, weight := weakPull*middle, weakPull // a weak pull to the middle keeps what floats from drifting
			for _, id := range g.At(model.PinID(i)) {
				e := g.Edge(id)
				c := conductance(e.Kind)
				sum += float64(c * level[e.Other(model.PinID(i))])
				weight += c
			}
			level[i] = sum / weight
		}
	}
}
