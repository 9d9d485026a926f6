package sizing

import (
	"fmt"

	"ferrule/netlist/circuit"
	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A wire that lies behind no fuse can still be the way of a fault that a fuse has to end: the return of a consumer whose inside is
// shorted, the cable between two batteries, the lead of a source that delivers no more than its limit. It is held against what
// stands in series with it. This file finds what that is.

// A stop is what ends or limits a current: a fuse by its rating, a source by its limit.
type stop struct {
	part   *model.Part
	amps   float64
	beside string // of fuses that feed one consumer side by side: the names of the others
}

// String names it as in a limit: "F4 125 A".
func (s stop) String() string { return s.part.Name.Text + s.beside + " " + amps(s.amps) }

// seriesShare is how much of the current behind a fuse a wire has to carry to count as in series with it.
const seriesShare = 0.9

// commonShare is how much of what all states let through a fuse a wire has to carry to count as its common return. It is less than
// seriesShare, since a current that is traced through a joint with several ways is shared among them.
const commonShare = 0.75

// A following is what the flows of all states say of one stop: the sum of the currents that it carries, and the part of that which a
// branch carries too.
type following struct {
	stop  stop
	total float64
	with  map[int]float64 // by branch
}

// A trail collects what stands in series with each wire.
type trail struct {
	nearest map[int][]stop // by branch: the smallest stop on the way of each consumer whose whole current it carries
	behind  map[*model.Part]*following
	order   []*model.Part  // of behind, as met
	leads   map[int]stop   // of the poles of batteries, and between batteries in series
	why     map[int]string // of leads
}

func newTrail() *trail {
	return &trail{nearest: map[int][]stop{}, behind: map[*model.Part]*following{}, leads: map[int]stop{}, why: map[int]string{}}
}

// stopOf is the stop that a branch is, if it is one. A source that a battery lies beside is none: the battery feeds a fault too.
func (st *study) stopOf(b *circuit.Branch) (stop, bool) {
	switch {
	case b.Part == nil || b.Edge == nil:
	case b.Edge.Kind == protectKind:
		if v := b.Part.Value("rating"); v != nil && v.Quantity.Value > 0 {
			return stop{part: b.Part, amps: v.Quantity.Value}, true
		}
	case b.Supplies() && b.Limit > 0 && (st.zones.alone[b.A] || st.zones.alone[b.B]):
		return stop{part: b.Part, amps: b.Limit}, true
	}
	return stop{}, false
}

// follow takes the flows of one state.
func (st *study) follow(flows []flow) {
	c, t := st.c, st.trail
	for i := range flows {
		f := &flows[i]
		if !ends(c, f) {
			continue
		}
		stops, beside := st.stopsOf(f)
		t.note(c, f, append(beside, stops...))
		for _, s := range stops {
			all := t.behind[s.part]
			if all == nil {
				all = &following{stop: s, with: map[int]float64{}}
				t.behind[s.part] = all
				t.order = append(t.order, s.part)
			}
			all.total += f.amps
			for _, p := range f.parts {
				all.with[p.branch] += p.amps
			}
		}
	}
}

// ends reports whether a fault inside a consumer is ended by the fuse ahead and by nothing before: the outputs and references of
// modules, the windings of coils and other consumers in series limit it themselves.
func ends(c *circuit.Circuit, f *flow) bool {
	if !c.Branches[f.consumer].IsConsumer() {
		return false
	}
	for _, p := range f.parts {
		if b := &c.Branches[p.branch]; b.IsOutput() || b.Consumes() || b.Supplies() && b.Part.Kind.Symbol == "module" {
			return false
		}
	}
	return true
}

// leastBeside is the share of a consumer's current from which a fuse counts as feeding it beside others.
const leastBeside = 0.05

// stopsOf are the stops that pass nearly all of a consumer's current, and, where several pass a part of it each, these taken as one
// with the sum of their ratings.
func (st *study) stopsOf(f *flow) (whole, beside []stop) {
	sum := stop{}
	for _, p := range f.parts {
		s, is := st.stopOf(&st.c.Branches[p.branch])
		switch {
		case !is || p.amps < leastBeside*f.amps:
		case p.amps >= seriesShare*f.amps:
			whole = append(whole, s)
		case sum.part == nil:
			sum = s
		default:
			sum.amps, sum.beside = sum.amps+s.amps, sum.beside+" and "+s.part.Name.Text
		}
	}
	if sum.beside != "" {
		beside = []stop{sum}
	}
	return whole, beside
}

// note keeps the smallest stop of a consumer for the wires that carry its whole current.
func (t *trail) note(c *circuit.Circuit, f *flow, stops []stop) {
	if len(stops) == 0 {
		return
	}
	least := stops[0]
	for _, s := range stops[1:] {
		if s.amps < least.amps {
			least = s
		}
	}
	for _, p := range f.parts {
		if c.Branches[p.branch].Wire == nil || p.amps < seriesShare*f.amps {
			continue
		}
		known := false
		for _, s := range t.nearest[p.branch] {
			known = known || s.part == least.part
		}
		if !known {
			t.nearest[p.branch] = append(t.nearest[p.branch], least)
		}
	}
}

// of is what stands in series with a wire, and how in words; false when nothing is known to.
func (t *trail) of(branch int) (stop, string, bool) {
	best, why, any := stop{}, "", false
	take := func(s stop, words string) {
		if s.amps > best.amps {
			best, why, any = s, words, true
		}
	}
	sum := 0.0
	for _, s := range t.nearest[branch] {
		take(s, "carries what "+s.String()+" feeds")
		sum += s.amps
	}
	for _, part := range t.order {
		f := t.behind[part]
		if f.with[branch] >= commonShare*f.total {
			s := f.stop
			s.amps = min(s.amps, sum) // more than the smaller ones together does not come through
			take(s, "in series with "+f.stop.String())
		}
	}
	if s, has := t.leads[branch]; has {
		take(s, t.why[branch])
	}
	return best, why, any
}

// lead holds a wire at a source against a stop.
func (t *trail) lead(branch int, s stop, why string) {
	if s.amps > t.leads[branch].amps {
		t.leads[branch], t.why[branch] = s, why
	}
}

// batteryLeads holds the only cable at a pole of a battery, and the cables between batteries in series, against the largest of the
// fuses that the live pole of the bank meets first: a fault that any of these ends flows in them too.
func (st *study) batteryLeads() {
	for i := range st.g.Edges {
		e := &st.g.Edges[i]
		if e.Kind != graph.Source || e.Part.Kind.Name != "battery" {
			continue
		}
		most, known := st.largest(st.livePole(e))
		if !known {
			continue
		}
		for _, pole := range [...]model.PinID{e.A, e.B} {
			switch wires := st.g.WiresAt(pole); {
			case st.c.InSeries(pole):
				st.jumper(e, pole, most)
			case len(wires) == 1:
				if branch, is := st.branchOf[st.original(wires[0])]; is {
					st.trail.lead(branch, most, "the only cable at "+st.g.Netlist.Pin(pole).String()+", ahead of "+most.String())
				}
			}
		}
	}
}

// jumper holds what joins a pole to the next battery of its bank.
func (st *study) jumper(e *graph.Edge, pole model.PinID, most stop) {
	next := func(pin model.PinID) bool {
		return pin != pole && st.c.InSeries(pin) && st.g.Netlist.Pin(pin).Owner.Part != e.Part
	}
	for _, h := range st.g.PathTo(pole, next, func(x *graph.Edge) bool { return x.Kind.Conducts() || circuit.Shunt(x) }) {
		if branch, is := st.branchOfHop(h); is {
			st.trail.lead(branch, most, "between two batteries in series, ahead of "+most.String())
		}
	}
}

// banksJoined holds what joins the grounded poles of two banks against the smallest fuse between their live poles: what flows from
// bank to bank goes back there.
func (st *study) banksJoined() {
	type bank struct{ live, ground model.PinID }
	var banks []bank
	for i := range st.g.Edges {
		e := &st.g.Edges[i]
		if e.Kind != graph.Source || e.Part.Kind.Name != "battery" {
			continue
		}
		ground := e.B
		if st.g.Netlist.Harness.PositiveGround {
			ground = e.A
		}
		if !st.c.InSeries(ground) {
			banks = append(banks, bank{st.livePole(e), ground})
		}
	}
	for i, a := range banks {
		for _, b := range banks[:i] {
			least := st.leastBetween(a.live, b.live)
			if least.part == nil {
				continue
			}
			back := st.g.PathTo(a.ground, func(pin model.PinID) bool { return pin == b.ground }, func(x *graph.Edge) bool {
				return x.Kind.Conducts() || x.Kind == graph.Bolted || circuit.Shunt(x)
			})
			for _, h := range back {
				if branch, is := st.branchOfHop(h); is {
					st.trail.lead(branch, least, "way back from bank to bank, as "+least.String()+" lets pass")
				}
			}
		}
	}
}

// leastBetween is the smallest fuse on the way from one live pole to another, contacts closed; none where no way leads, or no fuse is
// on it.
func (st *study) leastBetween(from, to model.PinID) stop {
	least := stop{}
	hops := st.g.PathTo(from, func(pin model.PinID) bool { return pin == to }, func(x *graph.Edge) bool {
		return x.Kind.Conducts() || x.Kind.Contact() || circuit.Shunt(x)
	})
	for _, h := range hops {
		if h.Edge.Kind != protectKind {
			continue
		}
		if v := h.Edge.Part.Value("rating"); v != nil && v.Quantity.Value > 0 && (least.part == nil || v.Quantity.Value < least.amps) {
			least = stop{part: h.Edge.Part, amps: v.Quantity.Value}
		}
	}
	return least
}

// branchOfHop is the branch of a hop over a wire.
func (st *study) branchOfHop(h graph.Hop) (int, bool) {
	if h.Edge.Wire == nil {
		return 0, false
	}
	branch, is := st.branchOf[st.original(h.Edge.Wire)]
	return branch, is
}

// livePole is the live pole of the bank that a battery belongs to: that of the last battery of its series.
func (st *study) livePole(e *graph.Edge) model.PinID {
	live := func(e *graph.Edge) model.PinID {
		if st.g.Netlist.Harness.PositiveGround {
			return e.B
		}
		return e.A
	}
	pole := live(e)
	for range st.g.Netlist.Parts { // a bank has no more batteries than the file has parts
		if !st.c.InSeries(pole) {
			break
		}
		hops := st.g.PathTo(pole, func(pin model.PinID) bool {
			return pin != pole && st.c.InSeries(pin) && st.g.Netlist.Pin(pin).Owner.Part != st.g.Netlist.Pin(pole).Owner.Part
		}, func(x *graph.Edge) bool { return x.Kind.Conducts() })
		if len(hops) == 0 {
			break
		}
		next := hops[len(hops)-1].To
		for i := range st.g.Edges {
			if x := &st.g.Edges[i]; x.Kind == graph.Source && (x.A == next || x.B == next) {
				pole = live(x)
			}
		}
	}
	return pole
}

// largest is the largest of the fuses that a pole meets first.
func (st *study) largest(pole model.PinID) (stop, bool) {
	best := stop{}
	for _, p := range st.zones.first[pole] {
		if v := p.Value("rating"); v != nil && v.Quantity.Value > best.amps {
			best = stop{part: p, amps: v.Quantity.Value}
		}
	}
	return best, best.amps > 0
}

// inSeries is the limit of what stands in series with a wire that no fuse lies ahead of; false when nothing is known to.
func (st *study) inSeries(branch int, w *model.Wire, b *circuit.Branch) (Limit, bool) {
	s, why, any := st.trail.of(branch)
	if l, limited := st.zones.limited[w]; limited && l.amps > s.amps {
		s, why, any = l, "fed by "+l.String()+", its limit", true
	}
	if !any || len(st.zones.ahead[w]) > 0 {
		return Limit{}, false
	}
	l := Limit{Rule: Fused, Device: s.part, Series: true}
	l.meets = bearsAtLeast(s.amps, b)
	least := smallest(conductor.StandardSizes(true), l.meets)
	_, source := conductor.AmpacityOf(least, b.Insulation(), b.Metal())
	l.Source, l.Verified = source.Title, source.Verified
	l.What = fmt.Sprintf("%s; %s bears %s alone at %s", why, least, amps(float64(bears(least, b))), b.Ambient())
	return l, true
}
