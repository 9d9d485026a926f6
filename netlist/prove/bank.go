package prove

import (
	"slices"

	"ferrule/netlist/model"
)

// A Bank is the batteries that make one source: one, or several in series or straight in parallel. Batteries whose live poles meet
// only over a fuse, a switch or a relay are banks of their own, since each of them feeds into a short by itself.
type Bank struct {
	Batteries []*model.Part // in the order of the file
	Live      model.PinID   // where a source goes in their place: the live pole, and the grounded one
	Grounded  model.PinID
	Volts     float64 // open circuit, those in series added up
}

// everyBank is the bank that feeds while all of them do.
const everyBank = -1

// findBanks sorts the batteries into banks, in the order of the file, and the live poles with them.
func (h *Harness) findBanks() {
	h.feeding = everyBank
	poles := map[*model.Part][2]model.PinID{}
	volts := map[*model.Part]float64{}
	var batteries []*model.Part
	for i := range h.Circuit.Branches {
		b := &h.Circuit.Branches[i]
		if !b.IsBattery() {
			continue
		}
		live, grounded := h.polesOf(b)
		batteries = append(batteries, b.Part)
		poles[b.Part], volts[b.Part] = [2]model.PinID{live, grounded}, b.Volts
	}
	h.bankOf = map[*model.Part]int{}
	for _, first := range batteries { // the live end of a bank, then what lies below it
		if live := poles[first][0]; h.Circuit.InSeries(live) {
			continue
		} else if k := h.bankAt(live); k >= 0 {
			h.banks[k].Batteries = append(h.banks[k].Batteries, first)
			h.bankOf[first] = k
			continue
		}
		bank := Bank{Live: poles[first][0]}
		for at := first; at != nil; {
			bank.Batteries, bank.Volts, bank.Grounded = append(bank.Batteries, at), bank.Volts+volts[at], poles[at][1]
			h.bankOf[at] = len(h.banks)
			below := slices.IndexFunc(batteries, func(p *model.Part) bool {
				_, taken := h.bankOf[p]
				return !taken && h.Circuit.InSeries(poles[p][0]) && h.Graph.NetOf(poles[p][0]) == h.Graph.NetOf(bank.Grounded)
			})
			if at = nil; below >= 0 {
				at = batteries[below]
			}
		}
		h.banks = append(h.banks, bank)
	}
	for _, p := range batteries { // a second string in series beside a first belongs to what its poles are joined to
		if _, known := h.bankOf[p]; !known {
			h.bankOf[p] = max(0, len(h.banks)-1)
		}
	}
	for k := range h.banks {
		slices.SortFunc(h.banks[k].Batteries, func(a, b *model.Part) int { return slices.Index(batteries, a) - slices.Index(batteries, b) })
	}
}

// bankAt is the bank whose live pole wires join to a terminal; -1 for none.
func (h *Harness) bankAt(pin model.PinID) int {
	return slices.IndexFunc(h.banks, func(b Bank) bool { return h.Graph.NetOf(b.Live) == h.Graph.NetOf(pin) })
}

// poles are the live poles of what feeds: of one bank, or of all.
func (h *Harness) poles() []model.PinID {
	if h.feeding == everyBank {
		return h.live
	}
	return slices.DeleteFunc(slices.Clone(h.live), func(pin model.PinID) bool { return h.bankAt(pin) != h.feeding })
}

// parted reports whether a branch is a battery of a bank that is not connected.
func (h *Harness) parted(part *model.Part, feeding int) bool {
	k, battery := h.bankOf[part]
	return battery && feeding != everyBank && k != feeding
}

// eachBank calls do with one bank feeding after the other, and with all of them where there is none or only one.
func (h *Harness) eachBank(do func(bank int)) {
	if len(h.banks) < 2 {
		do(everyBank)
		return
	}
	for k := range h.banks {
		h.feeding = k
		do(k)
	}
	h.feeding = everyBank
}
