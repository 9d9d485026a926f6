package circuit

import (
	"cmp"

	"ferrule/netlist/fusecurve"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// An ohmic is the resistance of a contact or joint, and how much of it is an estimate: all or nothing of one contact, a part of the
// two ends of a wire.
type ohmic struct{ ohms, estimated float64 }

func (o ohmic) plus(p ohmic) ohmic { return ohmic{o.ohms + p.ohms, o.estimated + p.estimated} }

// statedOhms is a resistance that the file states. One that it calls a guess rests on no more than an estimate does.
func statedOhms(q model.Quantity, from model.Name) (ohmic, bool) {
	switch {
	case !q.IsSet():
		return ohmic{}, false
	case from.Text == "guess":
		return ohmic{q.Value, q.Value}, true
	}
	return ohmic{ohms: q.Value}, true
}

// estimated counts a resistance that stands in for one that the file leaves open.
func (c *Circuit) estimated(what string, ohms float64) ohmic {
	c.estimate(what, ohms)
	return ohmic{ohms, ohms}
}

// ofContact is what a part states of its contact, or of its joint with its metal.
func ofContact(p *model.Part) (ohmic, bool) {
	if v := p.Value("contact-resistance"); v != nil {
		return statedOhms(v.Quantity, p.KnownFrom)
	}
	return ohmic{}, false
}

// ofCrimp is what the file states of the contact that a wire has at a terminal: of the connector, else of what is crimped on.
func ofCrimp(pin *model.Pin) (ohmic, bool) {
	if k := pin.Owner.Connector; k != nil {
		if o, ok := statedOhms(k.ContactResistance, k.KnownFrom); ok {
			return o, true
		}
	}
	if t := pin.Terminal; t != nil {
		return statedOhms(t.ContactResistance, t.KnownFrom)
	}
	return ohmic{}, false
}

// terminalOhms is the resistance of the connection at one end of a wire.
func (c *Circuit) terminalOhms(pin *model.Pin, w *model.Wire) ohmic {
	o := pin.Owner
	if o.Connector != nil && o.Connector.Part == nil {
		return ohmic{} // the mated pair has its resistance between the halves
	}
	if s := o.Splice; s != nil {
		if stated, ok := statedOhms(s.ContactResistance, s.KnownFrom); ok {
			return stated
		}
	}
	if stated, ok := ofCrimp(pin); ok {
		return stated
	}
	switch {
	case o.Sort == model.SpliceOwner:
		return c.estimated("splice, each leg", spliceOhms)
	case o.Part != nil && len(o.Part.Inside.Protects) > 0 && fuseFamily(o.Part) == fusecurve.BoltIn:
		return ohmic{} // its two bolted rings are part of the resistance of the fuse
	case w.Size.AreaMM2() >= heavyMM2: // no blade is made for such a cable
		return c.estimated("ring of a cable from 12 mm2 up", heavyRingOhms)
	case o.Sort == model.PanelOwner, o.Part != nil && ringed(o.Part):
		return c.estimated("ring on a stud", ringOhms)
	case bladed(w):
		return c.estimated("wire end in a blade", bladeOhms)
	}
	return c.estimated("wire end in a small terminal", mateOhms)
}

// bladed reports whether a wire is so thick that it ends in a large contact: from about 14 AWG up.
func bladed(w *model.Wire) bool { return w.Size.AreaMM2() >= unit.AWG(14).AreaMM2()*0.85 }

// matedOhms is the resistance between the halves of an in-line connector. Where both halves state one, it is that of the same
// contact, and the larger counts. Without, it goes by the thicker of the wires at the pair: thick wires have large contacts.
func (c *Circuit) matedOhms(e *graph.Edge) ohmic {
	a, okA := ofCrimp(c.Netlist.Pin(e.A))
	b, okB := ofCrimp(c.Netlist.Pin(e.B))
	if okA || okB {
		if cmp.Compare(a.ohms, b.ohms) < 0 {
			return b
		}
		return a
	}
	for _, pin := range []model.PinID{e.A, e.B} {
		for _, w := range c.Graph.WiresAt(pin) {
			if bladed(w) {
				return c.estimated("mated pair of blades", bladeOhms)
			}
		}
	}
	return c.estimated("mated pair of small terminals", mateOhms)
}

// A contact that is made for more than heavyContact ampere loses heavyContactVolts at its rating: battery isolators and charge
// relays have half a milliohm and less. Estimate.
const (
	heavyContact      = 50
	heavyContactVolts = 0.05
)

// contactOhmsOf is the resistance of a closed contact of a part.
func (c *Circuit) contactOhmsOf(p *model.Part) ohmic {
	rating := p.Value("rating")
	switch stated, ok := ofContact(p); {
	case p.Value("output") != nil: // the key means the joint of a generator with the engine
		return c.estimated("contact inside a generator", insideOhms)
	case ok:
		return stated
	case rating != nil && rating.Quantity.Value > heavyContact:
		c.estimateAs("contact of a switch or relay for more than 50 A", "50 mV at its rating")
		return ohmic{heavyContactVolts / rating.Quantity.Value, heavyContactVolts / rating.Quantity.Value}
	case len(p.Inside.Coils) > 0:
		return c.estimated("contact of a relay, with its base", contactOhms)
	}
	return c.estimated("contact of a switch", switchOhms)
}

// boltOhms is the resistance of what is bolted to a body.
func (c *Circuit) boltOhms(p *model.Part) ohmic {
	if stated, ok := ofContact(p); ok && jointKinds[p.Kind.Name] {
		return stated
	}
	if k := p.Kind.Name; k == "starter" || k == "alternator" || k == "dynamo" {
		return c.estimated("starter or generator in its flange, stud of a heavy cable", heavyBoltOhms)
	}
	for _, id := range p.Owner.Pins {
		for _, w := range c.Graph.WiresAt(id) {
			if w.Size.AreaMM2() >= heavyMM2 {
				return c.estimated("starter or generator in its flange, stud of a heavy cable", heavyBoltOhms)
			}
		}
	}
	return c.estimated("stud in its metal", boltedOhms)
}

// jointKinds are the kinds of which contact-resistance means the joint with the metal that they are bolted to.
var jointKinds = map[string]bool{"ground point": true, "starter": true, "alternator": true, "dynamo": true}

// ringed reports whether wires end on a part by rings on studs.
func ringed(p *model.Part) bool {
	switch p.Kind.Name {
	case "battery", "alternator", "dynamo", "starter", "ground point", "stud", "bus bar":
		return true
	}
	return false
}
