package circuit

import (
	"math"
	"slices"

	"ferrule/netlist/model"
)

// moveRelays lets every relay go by the voltage of its windings: in at or above pull-in, out below drop-out, else as it
// is. It reports whether one moved.
//
// All move at once first. Positions that come round again mean that relays work against each other; then they move one at
// a time, in the order of the file. Two relays that interlock by each other's contacts come to rest that way: which of
// them wins is a race, and noted. Relays that still come round chatter: they are a cycle, and what was found last stands.
func (r *run) moveRelays() bool {
	if r.frozen {
		return false
	}
	before := slices.Clone(r.relays)
	moved := false
	for i := range r.relays {
		if pulls := r.pulls(i); pulls != r.relays[i] && (!moved || !r.inTurn) {
			r.relays[i], moved = pulls, true
		}
	}
	if !moved {
		return false
	}
	key := r.relayKey()
	at := slices.Index(r.history, key)
	r.history = append(r.history, key)
	switch {
	case at < 0:
		return true
	case !r.inTurn:
		r.inTurn = true
		r.sol.Race = r.restless(at)
		r.history = r.history[len(r.history)-1:]
		return true
	}
	r.sol.Cycle, r.sol.Race, r.frozen = r.restless(at), nil, true
	r.relays = before
	return false
}

func (r *run) pulls(i int) bool {
	most := 0.0
	for _, w := range r.c.relays[i].windings {
		if !r.out[w] {
			most = max(most, math.Abs(r.volts[w]))
		}
	}
	switch k := &r.c.relays[i]; {
	case most >= k.pullIn:
		return true
	case most < k.dropOut:
		return false
	}
	return r.relays[i]
}

func (r *run) relayKey() string {
	key := make([]byte, len(r.relays))
	for i, in := range r.relays {
		if key[i] = '0'; in {
			key[i] = '1'
		}
	}
	return string(key)
}

// restless names the relays that changed since a point of the history.
func (r *run) restless(since int) []*model.Part {
	var parts []*model.Part
	for i := range r.c.relays {
		for _, key := range r.history[since:] {
			if key[i] != r.history[since][i] {
				parts = append(parts, r.c.relays[i].part)
				break
			}
		}
	}
	return parts
}
