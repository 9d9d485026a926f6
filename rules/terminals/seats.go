package terminals

import (
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

// A seat is a terminal of the file with something crimped on, and the wires that end there.
type seat struct {
	pin      *model.Pin
	terminal *model.Terminal
	wires    []*model.Wire
}

// seats calls each for every terminal of which the file says what is crimped on and where wires end, in the order of the
// terminals.
func seats(p *rules.Pass, each func(seat)) {
	if !hasTerminals(p) {
		return
	}
	for i := range p.Netlist.Pins {
		pin := &p.Netlist.Pins[i]
		t := pin.Terminal
		if t == nil {
			continue
		}
		if wires := p.Graph.WiresAt(pin.ID); len(wires) > 0 {
			each(seat{pin, t, wires})
		}
	}
}

// endAt returns the end of a wire that is at a terminal.
func endAt(w *model.Wire, pin model.PinID) model.PinRef {
	if w.To.ID == pin {
		return w.To
	}
	return w.From
}

// occupied reports whether a wire, a link or the screen of a cable ends at a terminal.
func occupied(p *rules.Pass, pin model.PinID) bool {
	for _, id := range p.Graph.At(pin) {
		if k := p.Graph.Edge(id).Kind; k == graph.Wire || k == graph.Link {
			return true
		}
	}
	return p.HasScreen(pin)
}

// used reports whether a wire ends in any cavity of a connector.
func used(p *rules.Pass, c *model.Connector) bool {
	for _, id := range c.Owner.Pins {
		if occupied(p, id) {
			return true
		}
	}
	return false
}

// firstHalf reports whether a connector stands for its pair: it has no other half, or comes before it in the file.
func firstHalf(c *model.Connector) bool {
	return c.Mate == nil || c.Mate.Mate != c || c.Name.Span.Before(c.Mate.Name.Span)
}

// sealed reports whether the housing around a terminal is closed against water.
func sealed(o *model.Owner) bool {
	if o.Connector != nil {
		return o.Connector.Sealed.On
	}
	return o.Part != nil && o.Part.Sealed.On
}

// inWet reports whether an owner lies where water comes.
func inWet(o *model.Owner) (*model.Zone, bool) {
	if place := o.Place(); place != nil && place.Zone != nil && place.Zone.Wet.On {
		return place.Zone, true
	}
	return nil, false
}

// hasTerminals reports whether the file describes any terminal; without one nothing is held against terminals, and nothing
// lacks either: who keeps no terminals in the netlist has decided so.
func hasTerminals(p *rules.Pass) bool { return len(p.Netlist.Terminals) > 0 }

// lackTerminals says of every connector with wires that names no terminal what cannot be looked at, once a connector.
func lackTerminals(p *rules.Pass) {
	if !hasTerminals(p) {
		return
	}
	for _, c := range p.Netlist.Connectors {
		lacking := false
		for _, id := range c.Owner.Pins {
			lacking = lacking || p.Netlist.Pin(id).Terminal == nil && len(p.Graph.WiresAt(id)) > 0
		}
		if lacking {
			p.Lacks("terminal", `add terminal = "NAME" to the connector, with [terminal.NAME]`, c.Name.Span, c.Name.Text)
		}
	}
}
