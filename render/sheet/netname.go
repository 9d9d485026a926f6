package sheet

import (
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// NetName is what sheets and lists call a net: the name that the file states or the rail of its bus bar and, where it has
// neither, a name in words. The graph names such a net after one of its terminals, which reads like a place and not like a
// net: "BAT1:-" for all grounds of a boat.
func (s *Set) NetName(net *graph.Net) string {
	if net.Stated || s.railed(net) {
		return net.Name
	}
	if ground := s.groundOf(net); ground != "" {
		return "ground (" + ground + ")"
	}
	return "unnamed (" + s.Netlist.Pin(net.Pins[0]).String() + ")"
}

// railed reports whether a net without a stated name has that of a rail.
func (s *Set) railed(net *graph.Net) bool {
	for _, l := range s.Netlist.Links {
		if l.Rail.IsSet() && net.Name == l.Rail.Text+" ("+l.Name.Text+")" {
			return true
		}
	}
	return false
}

// groundOf returns the designator that a ground net is known by: its ground point, else the bar or stud that gathers it,
// else the battery whose grounded pole it is. It is empty for a net that conductors alone do not join to ground.
func (s *Set) groundOf(net *graph.Net) string {
	gathers, pole := "", ""
	for _, id := range net.Pins {
		switch p := s.Netlist.Pin(id).Owner.Part; {
		case p == nil:
		case p.Kind.Symbol == "ground":
			return p.Name.Text
		case p.Kind.Joined && gathers == "":
			gathers = p.Name.Text
		case pole == "" && s.groundedPole(p, id):
			pole = p.Name.Text
		}
	}
	switch {
	case pole != "" && gathers != "":
		return gathers
	case pole != "":
		return pole
	case gathers == "" || !s.bonded(net):
		return ""
	}
	return gathers
}

// groundedPole reports whether a terminal is the pole of a source that the harness grounds, and no pole between two
// sources in series.
func (s *Set) groundedPole(p *model.Part, id model.PinID) bool {
	for _, source := range p.Inside.Sources {
		if id == s.poles(source).ground {
			return !s.livePole(s.Graph.NetOf(id))
		}
	}
	return false
}

// livePole reports whether the live pole of some source is on the net.
func (s *Set) livePole(net *graph.Net) bool {
	for _, id := range net.Pins {
		if p := s.Netlist.Pin(id).Owner.Part; p != nil {
			for _, source := range p.Inside.Sources {
				if s.poles(source).live == id {
					return true
				}
			}
		}
	}
	return false
}

// polePair is the two poles of a source by their use.
type polePair struct{ live, ground model.PinID }

func (s *Set) poles(source model.Source) polePair {
	if s.Netlist.Harness.PositiveGround {
		return polePair{source.Minus, source.Plus}
	}
	return polePair{source.Plus, source.Minus}
}

// bonded reports whether conductors, fuses left out, join the net to metal of the vehicle or to the grounded pole of a source.
func (s *Set) bonded(net *graph.Net) bool {
	found := func(id model.PinID) bool {
		o := s.Netlist.Pin(id).Owner
		return o.Body != nil || o.Part != nil && s.groundedPole(o.Part, id)
	}
	metal := func(e *graph.Edge) bool { return e.Kind.Conducts() && e.Kind != graph.Protect }
	return s.Graph.PathTo(net.Pins[0], found, metal) != nil
}
