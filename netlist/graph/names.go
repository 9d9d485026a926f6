package graph

import (
	"ferrule/netlist/model"
)

// findNets unites the terminals that conductors outside parts join, and names the nets.
func (g *Graph) findNets() {
	sets := NewSets(len(g.Netlist.Pins))
	for i := range g.Edges {
		if e := &g.Edges[i]; e.Kind.Outside() {
			sets.Join(int32(e.A), int32(e.B))
		}
	}
	g.netOf = make([]NetID, len(g.Netlist.Pins))
	idOf := make([]NetID, len(g.Netlist.Pins)) // by representative, plus one
	sizes := make([]int32, 0, len(g.Netlist.Pins))
	for pin := range g.Netlist.Pins {
		root := sets.Find(int32(pin))
		if idOf[root] == 0 {
			sizes = append(sizes, 0)
			idOf[root] = NetID(len(sizes))
		}
		g.netOf[pin] = idOf[root] - 1
		sizes[g.netOf[pin]]++
	}
	g.Nets = make([]Net, len(sizes))
	pins := make([]model.PinID, len(g.Netlist.Pins))
	for i := range g.Nets {
		g.Nets[i].ID = NetID(i)
		g.Nets[i].Pins, pins = pins[:0:sizes[i]], pins[sizes[i]:]
	}
	for pin := range g.Netlist.Pins {
		net := &g.Nets[g.netOf[pin]]
		net.Pins = append(net.Pins, model.PinID(pin))
	}
	g.nameNets()
}

// nameNets gives each net the first name that the file states for it, on a wire before a terminal; failing that the
// rail of a bus bar or the ground point; failing that the first of its terminals, which is stable as long as the device stays.
func (g *Graph) nameNets() {
	state := func(pin model.PinID, name string) {
		if pin == model.NoPin || name == "" {
			return
		}
		if net := g.NetOf(pin); !net.Stated {
			net.Name, net.Stated = name, true
		}
	}
	for _, w := range g.Netlist.Wires {
		state(w.From.ID, w.Net.Text)
		state(w.To.ID, w.Net.Text)
	}
	for i := range g.Netlist.Pins {
		state(model.PinID(i), g.Netlist.Pins[i].Net.Text)
	}
	for _, l := range g.Netlist.Links {
		if l.Rail.IsSet() && len(l.Joins) > 0 && l.Joins[0].ID != model.NoPin {
			if net := g.NetOf(l.Joins[0].ID); net.Name == "" {
				net.Name = l.Rail.Text + " (" + l.Name.Text + ")"
			}
		}
	}
	for _, p := range g.Netlist.Parts {
		if p.Kind.Symbol != "ground" {
			continue
		}
		for _, id := range p.Owner.Pins { // a return is known by where it is grounded
			if net := g.NetOf(id); net.Name == "" {
				net.Name = p.Name.Text
			}
		}
	}
	for i := range g.Nets {
		if net := &g.Nets[i]; net.Name == "" {
			net.Name = g.Netlist.Pin(net.Pins[0]).String()
		}
	}
}
