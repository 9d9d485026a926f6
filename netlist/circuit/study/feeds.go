package study

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sparse"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// A Feed is what one of several devices makes of a short that they feed together, such as the two fuses of a cable between two
// batteries: each has to clear its own share.
type Feed struct {
	Device           *model.Part
	Amps             float64 // through it
	Alone            bool    // counted after the others have opened, since its share with them does not open it
	Ratio            float64 // of its rating
	Fastest, Slowest float64 // seconds; +Inf when it may hold
	LetThrough       float64 // A2s
	Bounded          bool    // see Short
}

func feedOf(device *model.Part, amps float64) Feed {
	curve, _, _ := curveOf(device)
	fastest, slowest := curve.Times(unit.Ampere(amps))
	f := Feed{Device: device, Amps: amps, Ratio: amps / float64(ratingOf(device)), Fastest: float64(fastest), Slowest: float64(slowest)}
	f.LetThrough, f.Bounded = letThrough(curve, amps)
	return f
}

// leastShare is the part of a short's current below which a device does not feed it: what lies behind it is no source.
const leastShare = 0.01

// feeds finds the devices that feed a short side by side, each nearest to it on its way, and tells the short by the worst of them. With
// one device it does nothing.
func (h *hunt) feeds(st *stage, short *Short, ground model.PinID) error {
	front := h.front(st, short.Far)
	if len(front) < 2 {
		return nil
	}
	feeds, err := h.feedsOf(st, short, ground, front)
	if err != nil {
		return err
	}
	if len(feeds) < 2 {
		return nil
	}
	slices.SortStableFunc(feeds, func(a, b Feed) int { return compareClose(a.Ratio, b.Ratio) })
	short.Feeds, short.FedIn, short.LetThrough = feeds, st.name, 0
	short.take(&feeds[0])
	for i := range feeds {
		short.LetThrough += feeds[i].LetThrough
		_, source, assumed := curveOf(feeds[i].Device)
		short.Source, short.Assumed = cmp.Or(short.Source, source.Title), short.Assumed || assumed
	}
	short.Verdict = verdictOf(short.Ratio, short.LetThrough, short.Withstand)
	return nil
}

// feedsOf is what each of the devices in front makes of a short, as far as it feeds it; nil where fewer than two can. The currents
// that flow while all of them hold are only worked out where two may carry one.
func (h *hunt) feedsOf(st *stage, short *Short, ground model.PinID, front []*graph.Edge) ([]Feed, error) {
	rated := slices.DeleteFunc(slices.Clone(front), func(e *graph.Edge) bool {
		_, known := h.s.edgeAt[e]
		return !known || ratingOf(e.Part) <= 0
	})
	found := make([]*Feed, len(rated))
	carries := func(e *graph.Edge) bool { return st.weak.bridges().carries(h.s.edgeAt[e], short.Far, ground) }
	may := 0
	for i, e := range rated {
		if carries(e) {
			may++
			continue
		}
		f, err := h.feedBy(st, e, front, short, ground, 0)
		if err != nil {
			return nil, err
		}
		if found[i] = f; f != nil {
			may++
		}
	}
	if may < 2 {
		return nil, nil
	}
	shares, err := st.weak.shares(short.Far, ground, short.Amps)
	if err != nil {
		return nil, err
	}
	var feeds []Feed
	for i, e := range rated {
		if carries(e) {
			if found[i], err = h.feedBy(st, e, front, short, ground, math.Abs(shares[h.s.edgeAt[e]])); err != nil {
				return nil, err
			}
		}
		if found[i] != nil {
			feeds = append(feeds, *found[i])
		}
	}
	return feeds, nil
}

// feedBy is what one of the devices in front makes of a short of which it carries a share, or what it alone makes of it where the
// share does not open it; nil where it feeds nothing.
func (h *hunt) feedBy(st *stage, device *graph.Edge, front []*graph.Edge, short *Short, ground model.PinID, share float64) (*Feed, error) {
	f := feedOf(device.Part, share)
	if f.Ratio < BadRatio {
		amps, err := h.alone(st, device, front, short.Far, ground)
		if err != nil || amps < leastShare*short.Amps {
			return nil, err
		}
		f = feedOf(device.Part, amps)
		f.Alone = true
	}
	return &f, nil
}

// front lists the fuses and breakers that are met first from a terminal outward, in the order of the way.
func (h *hunt) front(st *stage, from model.PinID) []*graph.Edge {
	var front []*graph.Edge
	seen := map[model.PinID]bool{from: true}
	queue := []model.PinID{from}
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		for _, id := range h.s.graph.At(pin) {
			e := h.s.graph.Edge(id)
			switch next := e.Other(pin); {
			case !h.s.passes(st.feed, st.set, e) || circuit.Limits(e) || e.Kind == graph.Diode && (e.A == pin) != h.s.netlist.Harness.PositiveGround:
				// a diode is gone through against the way to the short
			case e.Kind == graph.Protect:
				if !slices.Contains(front, e) {
					front = append(front, e)
				}
			case !seen[next] && st.way.depth[next] >= 0:
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
	return front
}

// shares are the currents of all branches while a terminal is shorted, by superposition: those of the open network, and those of the
// current of the short drawn from it. They are good until the next call.
func (n *shorts) shares(pin, ground model.PinID, amps float64) ([]float64, error) {
	n.drawn = append(n.drawn[:0], n.injected...)
	n.drawn[pin] -= amps
	n.drawn[ground] += amps
	if err := n.factor.Solve(&n.shorted, sparse.Sources{Amperes: n.drawn}); err != nil {
		return nil, fmt.Errorf("solving the network of conductors with a short: %w", err)
	}
	return n.shorted.Amperes, nil
}

// alone is the current of a short through one device when the others in front have opened.
func (h *hunt) alone(st *stage, device *graph.Edge, front []*graph.Edge, far, ground model.PinID) (float64, error) {
	n, err := h.through(st, device, front)
	if n == nil || err != nil {
		return 0, err
	}
	amps, _, ok := n.at(far, ground)
	if !ok {
		return 0, nil
	}
	return amps, nil
}

// through is the network of a stage with one of the devices in front left; nil where no source lies behind that, as behind most
// branches of a rail. All wires between the same devices share it.
func (h *hunt) through(st *stage, device *graph.Edge, front []*graph.Edge) (*shorts, error) {
	key := leftOne{h.frontID(front), device}
	if n, known := st.left[key]; known {
		return n, nil
	}
	if st.left == nil {
		st.left = map[leftOne]*shorts{}
	}
	if !h.sourceBehind(st, device, front) {
		st.left[key] = nil
		return nil, nil
	}
	set := st.set
	set.open = func(e *graph.Edge) bool {
		return e != device && slices.Contains(front, e) || st.set.open != nil && st.set.open(e)
	}
	n, err := h.network(st.feed, set, true, func(i int) float64 { return h.hottest[i] })
	if err != nil {
		return nil, err
	}
	st.left[key] = n
	return n, nil
}

// sourceBehind reports whether a live pole lies on either side of a device, without going through it or another one in front.
func (h *hunt) sourceBehind(st *stage, device *graph.Edge, front []*graph.Edge) bool {
	seen := map[model.PinID]bool{device.A: true, device.B: true}
	queue := []model.PinID{device.A, device.B}
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		if slices.Contains(h.poles, pin) {
			return true
		}
		for _, id := range h.s.graph.At(pin) {
			e := h.s.graph.Edge(id)
			if next := e.Other(pin); !seen[next] && !slices.Contains(front, e) && h.s.passes(st.feed, st.set, e) {
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
	return false
}

// leftOne is a device of a front that is left when the others have opened.
type leftOne struct {
	front  int
	device *graph.Edge
}

// frontID is a number for the devices in front, whatever their order: a rail may have hundreds of them, and as many wires ask.
func (h *hunt) frontID(front []*graph.Edge) int {
	positions := make([]int, len(front))
	for i, e := range front {
		positions[i] = h.s.edgeAt[e]
	}
	slices.Sort(positions)
	key := make([]byte, 0, 4*len(positions))
	for _, at := range positions {
		key = binary.LittleEndian.AppendUint32(key, uint32(at))
	}
	if h.fronts == nil {
		h.fronts = map[string]int{}
	}
	id, known := h.fronts[string(key)]
	if !known {
		id = len(h.fronts)
		h.fronts[string(key)] = id
	}
	return id
}

// shortedTo lists what a wire's far end may be shorted to. With a body it is the metal nearest. Without one no metal lies about, and
// what a conductor chafes through to is the conductor back: that of the load behind the wire at the load's own terminal, of several the
// one with the most resistance; where no load hangs on the wire without a fuse between, the terminal of a return at the nearest place.
// The grounded pole of the battery is tried too, since more current can harm the insulation more in the time that a fuse may take.
func (h *hunt) shortedTo(st *stage, far model.PinID) []model.PinID {
	var out []model.PinID
	if len(h.s.netlist.Bodies) == 0 {
		pin := h.farthest(st, far, h.returns(st, far))
		if pin == model.NoPin {
			pin = h.farthest(st, far, h.nearReturns(far))
		}
		if pin != model.NoPin {
			out = append(out, pin)
		}
	}
	if pin, ok := h.s.groundNear(far); ok && !slices.Contains(out, pin) {
		out = append(out, pin)
	}
	return out
}

// farthest is the one of several returns over which the least current flows; model.NoPin where nothing flows.
func (h *hunt) farthest(st *stage, far model.PinID, pins []model.PinID) model.PinID {
	worst, least := model.NoPin, math.Inf(1)
	for _, pin := range pins {
		if amps, _, ok := st.weak.at(far, pin); ok && amps > 0 && amps < least*(1-1e-9) {
			worst, least = pin, amps
		}
	}
	return worst
}

// returns are the grounded terminals of the loads that hang on a terminal, over contacts in any position but over no fuse.
func (h *hunt) returns(st *stage, far model.PinID) []model.PinID {
	ground := h.grounded()
	var out []model.PinID
	seen := map[model.PinID]bool{far: true}
	queue := []model.PinID{far}
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		for _, id := range h.s.graph.At(pin) {
			e := h.s.graph.Edge(id)
			next := e.Other(pin)
			switch {
			case circuit.Limits(e):
				if ground[next] {
					out = append(out, next)
				}
			case e.Kind == graph.Protect || e.Kind == graph.Source || e.Kind == graph.Bolted || seen[next] || ground[next]:
			case st.way.depth[next] >= 0 && st.way.depth[next] < st.way.depth[far]: // back to the source
			default:
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
	return out
}

// nearReturns are the terminals of returns that lie nearest to a terminal along the paths.
func (h *hunt) nearReturns(far model.PinID) []model.PinID {
	ground, from := h.grounded(), h.s.routes.PlaceOf(far)
	var out []model.PinID
	nearest := math.Inf(1)
	for i := range h.s.netlist.Pins {
		pin := model.PinID(i)
		if !ground[pin] || !h.s.graph.Reached(pin) {
			continue
		}
		m, _, ok := h.s.routes.Between(from, h.s.routes.PlaceOf(pin))
		switch {
		case !ok || float64(m) > nearest+1e-3:
		case float64(m) < nearest-1e-3:
			nearest, out = float64(m), []model.PinID{pin}
		default:
			out = append(out, pin)
		}
	}
	return out
}
