package prove

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// The insulation test, common practice: never above 50 V, since what is left plugged in by mistake then has a chance to survive, and
// 1 megohm at least for a new harness.
const (
	InsulationVolts = 50.0
	InsulationOhms  = 1e6
)

// An Insulation is the test of what must not conduct, with everything unplugged.
type Insulation struct {
	Ground  model.PinID // what "against ground" means; model.NoPin where there is none
	Supply  model.PinID // what "against supply" means; model.NoPin where there is none
	Groups  []InsulationGroup
	Skipped []InsulationSkip
}

// An InsulationGroup is nets that are tested the same way.
type InsulationGroup struct {
	Title string
	Nets  []InsulationNet
}

// An InsulationNet is one net and what it is tested against.
type InsulationNet struct {
	Net      *graph.Net
	At       model.PinID   // where the probe goes
	ToGround bool          // against ground
	ToSupply bool          // against the supply bar
	Partners []model.PinID // a terminal of each net that lies in one cable with it, each pair once
	Cable    *model.Cable  // that cable; nil for none
}

// An InsulationSkip is a net that cannot be tested against ground, since a part that stays plugged joins it there.
type InsulationSkip struct {
	Net *graph.Net
	By  []*model.Part
}

// Insulation lists the nets that are no ground and have a wire, in the order of the file, in groups: what is always live, what is
// switched, and signals.
func (h *Harness) Insulation() *Insulation {
	in := &Insulation{Ground: h.GroundPole(), Supply: model.NoPin}
	if points := h.SupplyPoints(); len(points) > 0 {
		in.Supply = points[0]
	}
	m := h.meter()
	groups := []InsulationGroup{{Title: "Always live, with the fuses in"}, {Title: "Live in some key position"}, {Title: "Signals, sensor supplies and returns, screens"}}
	cables := h.cablesOf()
	for i := range h.Graph.Nets {
		net := &h.Graph.Nets[i]
		at, ok := h.probe(net)
		if !ok || h.ground[at] {
			continue
		}
		if in.Ground != model.NoPin && m.touch(at, in.Ground) {
			in.Skipped = append(in.Skipped, InsulationSkip{Net: net, By: h.staying(net)})
			continue
		}
		row := InsulationNet{Net: net, At: at, ToGround: in.Ground != model.NoPin}
		row.ToSupply = in.Supply != model.NoPin && !m.touch(at, in.Supply)
		row.Partners, row.Cable = h.partners(net, cables, m)
		g := &groups[h.liveness(at)]
		g.Nets = append(g.Nets, row)
	}
	for _, g := range groups {
		if len(g.Nets) > 0 {
			in.Groups = append(in.Groups, g)
		}
	}
	return in
}

// probe is the first point of a net that a probe can reach, a cavity of a connector before others; false where no wire ends.
func (h *Harness) probe(net *graph.Net) (model.PinID, bool) {
	best, wired := model.NoPin, false
	for _, id := range net.Pins {
		wired = wired || len(h.Graph.WiresAt(id)) > 0
		p, ok := h.point(id)
		if !ok || p != id || !h.Graph.Reached(id) {
			continue
		}
		if best == model.NoPin || h.Netlist.Pin(best).Owner.Sort != model.ConnectorOwner && h.Netlist.Pin(id).Owner.Sort == model.ConnectorOwner {
			best = id
		}
	}
	return best, wired && best != model.NoPin
}

// liveness is 0 for what is live with everything at rest, 1 for what is live in some state, 2 for what never is.
func (h *Harness) liveness(pin model.PinID) int {
	if h.joined(h.live)[pin] {
		return 0
	}
	for _, c := range h.conditions {
		if c.Live(pin) {
			return 1
		}
	}
	return 2
}

func (h *Harness) staying(net *graph.Net) []*model.Part {
	var parts []*model.Part
	seen := map[*model.Part]bool{}
	for _, id := range net.Pins {
		for _, e := range h.Graph.At(id) {
			if p := h.Graph.Edge(e).Part; p != nil && p.StaysPlugged.On && !seen[p] {
				seen[p] = true
				parts = append(parts, p)
			}
		}
	}
	return parts
}

// cablesOf are the cables that a net has wires in.
func (h *Harness) cablesOf() map[graph.NetID][]*model.Cable {
	of := map[graph.NetID][]*model.Cable{}
	for _, c := range h.Netlist.Cables {
		for _, id := range h.cores(c) {
			net := h.Graph.NetOf(id).ID
			of[net] = append(of[net], c)
		}
	}
	return of
}

// cores are one terminal of each wire of a cable and those that its screen is tied to.
func (h *Harness) cores(c *model.Cable) []model.PinID {
	var pins []model.PinID
	for _, w := range c.Wires {
		if w.Wired() {
			pins = append(pins, w.From.ID)
		}
	}
	for _, r := range c.Screen {
		if r.ID != model.NoPin {
			pins = append(pins, r.ID)
		}
	}
	return pins
}

// partners are the nets that lie in one cable with a net and come behind it in the harness.
func (h *Harness) partners(net *graph.Net, cables map[graph.NetID][]*model.Cable, m *meter) ([]model.PinID, *model.Cable) {
	var pins []model.PinID
	var cable *model.Cable
	seen := map[graph.NetID]bool{}
	for _, c := range cables[net.ID] {
		for _, id := range h.cores(c) {
			other := h.Graph.NetOf(id)
			at, ok := h.probe(other)
			if other.ID <= net.ID || seen[other.ID] || !ok || h.ground[at] || m.touch(net.Pins[0], at) {
				continue
			}
			seen[other.ID] = true
			pins = append(pins, at)
			cable = c
		}
	}
	return pins, cable
}

// relaySink reports whether an output that joins its pin to ground works the coil of a relay.
func (h *Harness) relaySink(pin model.PinID) bool {
	if h.Netlist.Pin(pin).Role != catalog.Sink {
		return false
	}
	for _, id := range h.Graph.NetOf(pin).Pins {
		for _, e := range h.Graph.At(id) {
			if h.Graph.Edge(e).Kind == graph.Coil {
				return true
			}
		}
	}
	return false
}
