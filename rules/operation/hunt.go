package operation

import (
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/reach"
)

type sneakKind uint8

const (
	fuseOut sneakKind = iota + 1
	motorCoasts
	groundLifted
)

// A cut is what is taken away, and the terminals that it leaves without their pole.
type cut struct {
	part   *model.Part
	lost   map[model.PinID]bool
	motor  *model.Part
	keys   map[*model.Part]int
	lifted bool
}

// hunt looks for cases in the graph. Terminals that one search has seen carry its stamp.
type hunt struct {
	*rules.Pass
	stamp []int32
	turn  int32
	loads map[int32][]*graph.Edge // consumers and coils, by what metal and fuses join
}

// mostLost: what cuts off more terminals than this is a main fuse or the battery's ground, behind which everything is dead.
const mostLost = 400

// around lists what metal, fuses, forward diodes and contacts as they stand join to the starts, without going over an edge that is
// barred; false when that is much, or comes to a terminal that stop accepts.
func (h *hunt) around(starts []model.PinID, cond *graph.Condition, barred func(*graph.Edge) bool, stop func(model.PinID) bool) ([]model.PinID, bool) {
	h.turn++
	var seen []model.PinID
	add := func(pin model.PinID) {
		if h.stamp[pin] != h.turn {
			h.stamp[pin] = h.turn
			seen = append(seen, pin)
		}
	}
	for _, pin := range starts {
		add(pin)
	}
	for i := 0; i < len(seen); i++ {
		if stop(seen[i]) || len(seen) > mostLost {
			return nil, false
		}
		for _, id := range h.Graph.At(seen[i]) {
			if e := h.Graph.Edge(id); !barred(e) && cond.Closed(e) {
				add(e.Other(seen[i]))
			}
		}
	}
	return seen, true
}

func (h *hunt) isLost(pin model.PinID) bool { return h.stamp[pin] == h.turn }

// A far is the other end of a consumer that hangs on what is cut off.
type far struct {
	edge *graph.Edge
	pin  model.PinID
}

// hanging lists the consumers, coils and resistors between what is cut off and what is not.
func (h *hunt) hanging(lost []model.PinID) []far {
	var out []far
	for _, pin := range lost {
		for _, id := range h.Graph.At(pin) {
			e := h.Graph.Edge(id)
			if (e.Kind == graph.Load || e.Kind == graph.Coil || e.Kind == graph.Resistor) && !h.isLost(e.Other(pin)) {
				out = append(out, far{e, e.Other(pin)})
			}
		}
	}
	return out
}

// fuses lists the fuses whose load side meets another feed through a consumer.
func (h *hunt) fuses() []sneak {
	var out []sneak
	for i := range h.Graph.Edges {
		e := &h.Graph.Edges[i]
		if e.Kind != graph.Protect || e.Part.Spare.On || len(out) > 0 && out[len(out)-1].part == e.Part {
			continue
		}
		if k, found := h.fuse(e); found {
			out = append(out, k)
		}
	}
	return out
}

func (h *hunt) fuse(fuse *graph.Edge) (sneak, bool) {
	best, most := sneak{}, 0
	barred := func(e *graph.Edge) bool { return e == fuse }
	for at, cond := range h.Conditions {
		if !cond.Live(fuse.A) {
			continue
		}
		for _, end := range [...]model.PinID{fuse.B, fuse.A} {
			lost, small := h.around([]model.PinID{end}, cond, barred, func(pin model.PinID) bool { return h.IsLive(pin) || h.IsGround(pin) })
			if !small {
				continue
			}
			fed, grounded := h.meets(cond, lost)
			if n := len(fed); n > most && grounded {
				best = h.sneakOf(fuseOut, fuse.Part, at, lost, fed)
				best.does = "with " + titled(fuse.Part) + " out"
				best.help = "feed what is fed back over the same fuse as what feeds it, or put a diode between"
				most = n
			}
			break
		}
	}
	return best, most > 0
}

// meets lists the consumers over which supply comes to what is cut off: directly, or over one more consumer behind a
// point that floats; and whether another consumer leads on to ground.
func (h *hunt) meets(cond *graph.Condition, lost []model.PinID) (fed []*graph.Edge, grounded bool) {
	all := h.hanging(lost)
	for _, f := range all {
		switch {
		case cond.Live(f.pin) || h.generates(cond, f.pin):
			fed = append(fed, f.edge)
		case cond.Grounded(f.pin):
			grounded = true
		case h.floatsTo(f, cond.Live):
			fed = append(fed, f.edge)
		}
	}
	return fed, grounded
}

// generates: the minor terminal of a generator that delivers, such as L of an alternator.
func (h *hunt) generates(cond *graph.Condition, pin model.PinID) bool {
	return circuit.Charges(cond.State) && h.Permanent(pin) && !cond.Live(pin)
}

// floatsTo reports whether a far end that floats has another consumer on its net whose own far end is as wanted.
func (h *hunt) floatsTo(f far, wanted func(model.PinID) bool) bool {
	if h.loads == nil {
		h.loads = map[int32][]*graph.Edge{}
		for i := range h.Graph.Edges {
			if e := &h.Graph.Edges[i]; e.Kind == graph.Load || e.Kind == graph.Coil {
				h.loads[h.Fed(e.A)] = append(h.loads[h.Fed(e.A)], e)
				h.loads[h.Fed(e.B)] = append(h.loads[h.Fed(e.B)], e)
			}
		}
	}
	root := h.Fed(f.pin)
	return slices.ContainsFunc(h.loads[root], func(e *graph.Edge) bool {
		end := e.A
		if h.Fed(end) == root {
			end = e.B
		}
		return e != f.edge && !h.isLost(end) && wanted(end)
	})
}

func (h *hunt) sneakOf(kind sneakKind, part *model.Part, at int, lost []model.PinID, through []*graph.Edge) sneak {
	k := sneak{kind: kind, name: part.Name.Text, span: part.Name.Span, at: at, cut: cut{part: part, lost: map[model.PinID]bool{}}}
	for _, pin := range lost {
		k.lost[pin] = true
	}
	for _, e := range through {
		if !slices.Contains(k.shared, e.Part.Name.Text) {
			k.shared = append(k.shared, e.Part.Name.Text)
		}
	}
	return k
}

// grounds lists the ground points on which something that is live in a state hangs together with something that is not.
func (h *hunt) grounds() []sneak {
	var out []sneak
	for _, part := range h.Netlist.Parts {
		if part.Kind.Name != rules.GroundPoint || part.Body == nil || len(part.Owner.Pins) == 0 {
			continue
		}
		if k, found := h.ground(part); found {
			out = append(out, k)
		}
	}
	return out
}

func (h *hunt) ground(part *model.Part) (sneak, bool) {
	best, most := sneak{}, 0
	barred := func(e *graph.Edge) bool { return e.Kind == graph.Bolted && e.Part == part }
	for at, cond := range h.Conditions {
		lost, small := h.around(part.Owner.Pins, cond, barred, func(pin model.PinID) bool {
			return h.IsGround(pin) && h.Netlist.Pin(pin).Owner.Part != part || h.IsLive(pin)
		})
		if !small {
			return best, false
		}
		var on []*graph.Edge
		idle := 0
		for _, f := range h.hanging(lost) {
			switch {
			case cond.Live(f.pin):
				on = append(on, f.edge)
			case cond.Grounded(f.pin) || h.floatsTo(f, cond.Grounded):
				idle++
			}
		}
		if score := len(on) * idle; score > most {
			best, most = h.sneakOf(groundLifted, part, at, lost, on), score
			best.lifted = true
			best.does = "with " + titled(part) + " lifted"
			best.help = "it is enough to know it: check this ground first when these do odd things, or give the largest of them a ground of its own"
		}
	}
	return best, most > 0
}

// coasting lists the motors that generate, each in the first state that feeds it, with the key turned off.
func (h *hunt) coasting() []sneak {
	keys := hasFunction(h.Pass, "key")
	var out []sneak
	for _, part := range h.Netlist.Parts {
		v := part.Value("generates")
		if v == nil || v.Quantity.Value <= 0 || len(part.Inside.Loads) == 0 || len(keys) == 0 {
			continue
		}
		l := &part.Inside.Loads[0]
		at := slices.IndexFunc(h.Conditions, func(c *graph.Condition) bool {
			fed := func(a, b model.PinID) bool { return c.Live(a) && c.Grounded(b) }
			return fed(l.A, l.B) || fed(l.B, l.A)
		})
		if at < 0 {
			continue
		}
		k := h.sneakOf(motorCoasts, part, at, nil, nil)
		k.motor, k.keys = part, map[*model.Part]int{}
		for _, key := range keys {
			k.keys[key] = max(0, key.Inside.Rest)
		}
		k.does = "with the key turned off and " + titled(part) + " coasting"
		k.help = "it lasts as long as the motor turns; a relay of its own with the coil on another rail, or a diode, ends it"
		k.shared = partNames(keys)
		out = append(out, k)
	}
	return out
}

// work solves a case and lists what has current over a way that is not meant.
func (h *hunt) work(k *sneak) {
	before := h.Reports()[k.at].Solution
	if !steady(before) {
		return
	}
	cond := h.Conditions[k.at]
	o := circuit.Options{From: before}
	switch k.kind {
	case fuseOut:
		o.Open = func(b *circuit.Branch) bool { return b.Edge != nil && b.Edge.Kind == graph.Protect && b.Part == k.part }
	case groundLifted:
		o.Open = func(b *circuit.Branch) bool { return b.Edge != nil && b.Edge.Kind == graph.Bolted && b.Part == k.part }
	case motorCoasts:
		o.Positions, o.Turning = k.keys, func(p *model.Part) bool { return p == k.motor }
	}
	after := h.Circuit().Solve(cond, o)
	if !steady(after) {
		return
	}
	meant := h.meant(k, cond)
	for i := range after.Circuit.Branches {
		b := &after.Circuit.Branches[i]
		if (b.IsConsumer() || b.IsCoil()) && b.Part != k.motor {
			h.element(k, before, after, i, meant)
		}
	}
}

// meant tells what is fed as it should be with the case in place. With a ground lifted it is what does not hang on it.
func (h *hunt) meant(k *sneak, cond *graph.Condition) func(a, b model.PinID) bool {
	if k.lifted {
		base := func(a, b model.PinID) bool {
			return !k.lost[a] && !k.lost[b] && (cond.Live(a) && cond.Grounded(b) || cond.Live(b) && cond.Grounded(a))
		}
		return base
	}
	ask := reach.Ask{Condition: cond, At: k.keys}
	if k.kind == fuseOut {
		ask.Out = func(p *model.Part) bool { return p == k.part }
	}
	return reach.New(h.Facts).Flow(ask).Works
}

func (h *hunt) element(k *sneak, before, after *circuit.Solution, i int, meant func(a, b model.PinID) bool) {
	b := &after.Circuit.Branches[i]
	rated := h.Circuit().RatedAmps(b)
	volts := math.Abs(after.BranchVolts(i))
	if rated <= 0 || volts <= h.Setting("volts") || meant(b.A, b.B) {
		return
	}
	share, was := math.Abs(after.Amps[i])/rated, math.Abs(before.Amps[i])/rated
	cond := h.Conditions[k.at]
	proper := cond.Live(b.A) && cond.Grounded(b.B) || cond.Live(b.B) && cond.Grounded(b.A)
	if share <= h.Setting("share") || !proper && share <= 1.25*was+0.02 {
		return // too little, or as in the declared state
	}
	e := effect{part: b.Part.Name.Text, volts: volts, share: share, how: "is fed back", severity: diag.Note}
	u := use{part: b.Part, edge: b.Edge}
	if b.IsCoil() || b.Edge == nil || b.Edge.Kind != graph.Load {
		u.edge = nil
	}
	e.name = u.title()
	if proper {
		e.how = "is in series"
	}
	h.judge(&e, k, b, after, proper, was)
	k.effects = append(k.effects, e)
}

func (h *hunt) judge(e *effect, k *sneak, b *circuit.Branch, after *circuit.Solution, proper bool, was float64) {
	runs, module := false, b.Part.Kind.Name == "module"
	if b.Edge != nil && b.Edge.Kind == graph.Load && b.Part.Kind.Name != "starter" {
		runs = b.Part.Inside.Loads[b.Edge.Index].Function.Text == "fuel pump"
	}
	runs = (runs || b.Part.Kind.Name == "starter") && e.share >= 0.3
	pulls := b.IsCoil() && after.Engaged(b.Part)
	switch {
	case !proper && (runs || module && e.volts >= h.Circuit().PoweredVolts()):
		e.severity, e.how = diag.Error, "runs"
	case k.kind == groundLifted || k.kind == motorCoasts:
	case pulls, module, !b.IsCoil() && e.share >= 0.5:
		e.severity = diag.Warning
	}
	switch {
	case k.kind == motorCoasts && proper && !b.IsCoil() && e.share > 0.9*was:
		e.how = "stays on"
	case pulls:
		e.how = "stays pulled in"
	case b.IsCoil():
		e.how += ", too weak to pull in,"
	}
}
