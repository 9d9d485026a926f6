package circuit

import (
	"math"

	"ferrule/netlist/model"
)

// A ContactReport is the contacts of a relay or a hand switch: what flows at the most loaded of its terminals, since that is what
// one piece of its contact metal carries.
type ContactReport struct {
	Part       *model.Part
	Terminal   model.PinID
	Amps, Mean float64
	RMS        float64
	Rating     float64 // 0 when not stated
	Ohms       float64 // of one closed contact
	Estimated  bool    // Ohms is an estimate, or a guess of the file
}

// Share is the current that warms the contact as a share of its rating; 0 when that is not stated.
func (k *ContactReport) Share() float64 { return ratio(k.RMS, k.Rating) }

// Over reports whether the contact carries more than its rating.
func (k *ContactReport) Over() bool { return k.Rating > 0 && k.RMS > k.Rating*(1+1e-9) }

// addContacts reports the relays and switches that carry current, in the order of the file.
func (r *Report) addContacts() {
	c := r.Solution.Circuit
	type load struct{ amps, mean float64 }
	at := map[model.PinID]load{}
	pins := map[*model.Part][]model.PinID{}
	ohms := map[*model.Part]ohmic{}
	for i := range c.Branches {
		b := &c.Branches[i]
		if b.law != switching {
			continue
		}
		ohms[b.Part] = ohmic{b.Ohms, b.estimated}
		for _, end := range [...]struct {
			pin  model.PinID
			sign float64
		}{{b.A, 1}, {b.B, -1}} {
			l, seen := at[end.pin]
			if !seen {
				pins[b.Part] = append(pins[b.Part], end.pin)
			}
			at[end.pin] = load{l.amps + end.sign*r.Solution.Amps[i], l.mean + end.sign*r.Mean.Amps[i]}
		}
	}
	for _, p := range c.Netlist.Parts {
		k := ContactReport{Part: p, Terminal: model.NoPin, Ohms: ohms[p].ohms, Estimated: ohms[p].estimated > 0}
		for _, pin := range pins[p] {
			l := at[pin]
			if rms := RMS(l.amps, l.mean); rms > max(k.RMS*(1+1e-9), leastAmps) {
				k.Terminal, k.Amps, k.Mean, k.RMS = pin, math.Abs(l.amps), math.Abs(l.mean), rms
			}
		}
		if k.Terminal == model.NoPin {
			continue
		}
		if v := p.Value("rating"); v != nil && v.Quantity.Value > 0 {
			k.Rating = v.Quantity.Value
		}
		r.Contacts = append(r.Contacts, k)
	}
}
