package grounds

import (
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

// bonds are the cables that join the metals of the vehicle and the battery to each other: wires, bars and mated cavities
// between ground points, bolted cases, posts and joints, with no device between. A way through a device, such as the ground
// wire of a controller, is no bond: current that is meant for a strap melts it.
type bonds struct{ *rules.Pass }

// bond reports whether an edge belongs to a bond.
func (b bonds) bond(e *graph.Edge) bool {
	return (e.Kind.Outside() || e.Kind == graph.Bolted) && b.isMetal(e.A) && b.isMetal(e.B)
}

func (b bonds) isMetal(pin model.PinID) bool { return b.IsGround(pin) || isJoint(b.Netlist, pin) }

// isPost reports whether a terminal is the grounded post of a battery.
func (b bonds) isPost(pin model.PinID) bool {
	part := b.Netlist.Pin(pin).Owner.Part
	if part == nil || part.Kind.Name != "battery" || !b.IsGround(pin) {
		return false
	}
	for _, s := range part.Inside.Sources {
		if _, ground := b.Poles(s); ground == pin {
			return true
		}
	}
	return false
}

// hasPost reports whether the harness has a battery whose grounded post leads anywhere. Without one the way back is the
// matter of another file.
func (b bonds) hasPost() bool {
	for _, part := range b.Netlist.Parts {
		for _, id := range part.Owner.Pins {
			if b.isPost(id) && b.Graph.Reached(id) {
				return true
			}
		}
	}
	return false
}

// toBattery returns the bond from a terminal to the battery, over edges other than the one left out; nil when there is none.
func (b bonds) toBattery(from model.PinID, without *model.Wire) []graph.Hop {
	return b.Graph.PathTo(from, b.isPost, func(e *graph.Edge) bool { return b.bond(e) && (e.Wire == nil || e.Wire != without) })
}

// metalsInUse returns the bodies that something is bolted to, in the order of the file.
func metalsInUse(n *model.Netlist) []*model.Body {
	used := map[*model.Body]bool{}
	for _, part := range n.Parts {
		if part.Body != nil {
			used[part.Body] = true
		}
	}
	var found []*model.Body
	for _, body := range n.Bodies {
		if used[body] {
			found = append(found, body)
		}
	}
	return found
}
