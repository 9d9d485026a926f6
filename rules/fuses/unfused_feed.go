package fuses

import (
	"container/heap"
	"ferrule/rules"
	"fmt"

	"ferrule/netlist/catalog"
	"ferrule/netlist/conductor"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

var _ = rules.Register(&rules.Rule{
	Name: "unfused-feed", Severity: diag.Error, Harm: rules.Burns, Since: "0.1",
	Title: "a wire from a source has no protection near the source",
	Doc: `In the vehicle a battery drives hundreds of amperes into a chafed wire, and what stands between source and fuse burns. The
rule walks from every source outwards, over wires, bars, joints and switch contacts, until it meets a fuse, a breaker or a
fusible link. That must come within 180 mm (7 in), or within 1.02 m (40 in) if every wire on the way is sheathed. A fuse at
the far end of a wire protects what comes after it, not the wire. A wire with a source at either end needs a fuse at both.

What hangs on the tap between two batteries in series counts too. Exempt are the jumper between them and the cable to a starter; what
goes on from the stud of a starter is looked at anew from there. A generator cannot give
more than its rated current, so from its end a wire needs no fuse if it can carry that. Where the length of a wire is not
known the rule says so, and does not assume that it is short.

Move the fuse to the source, or the source's tap to the fuse; write length = "..." or put the two ends at places that paths
join; mark the wire sheathed = true if it runs in a sheath or an enclosure all the way. Local codes may ask for more.`,
	Sources: []string{
		"33 CFR 183.455(a), (b): protection at the source, within 7 in, or within 40 in if sheathed (paragraphs read)",
		"33 CFR 183.455, last paragraph, and 183.460(a): cranking motor conductors exempt (from memory)",
		"33 CFR 183.425 Table 5, column 105 C: what a wire carries (testdata/reference/ampacity-33cfr183.csv)",
		"written for boats; common practice takes the same distances on the road",
	},
	Bad: `[part]
G1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "fuse", rating = "15 A", pin.2.unused = true }
[wire]
W1 = { from = "G1:+", to = "F1:1", length = "1.5 m" }
`,
	Good: `[part]
G1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "fuse", rating = "15 A", pin.2.unused = true }
[wire]
W1 = { from = "G1:+", to = "F1:1", length = "0.15 m" }
`,
	Run: func(p *rules.Pass) {
		f := &feeds{Pass: p, exempt: map[*model.Wire]bool{}, studs: map[model.PinID]bool{}}
		for _, part := range p.Netlist.Parts {
			for _, s := range part.Inside.Sources {
				live, ground := p.Poles(s)
				if p.IsLive(live) {
					f.walk(feed{from: live, limit: limitOf(part, s)})
				}
				for _, pole := range [...]model.PinID{live, ground} {
					if f.isTap(pole) {
						f.walk(feed{from: pole})
					}
				}
			}
		}
		for i := 0; i < len(f.starters); i++ { // a walk from one stud may find another
			f.walk(feed{from: f.starters[i], stud: true})
		}
	},
})

// isTap reports whether a pole of a source lies between two batteries in series: neither live nor ground to the other rules, and as
// able to burn a wire as a live one.
func (f *feeds) isTap(pole model.PinID) bool {
	return !f.IsLive(pole) && !f.IsGround(pole) && f.Circuit().InSeries(pole)
}

// A feed is a terminal that current comes from: of a source, or the stud of a starter.
type feed struct {
	from  model.PinID
	limit unit.Ampere // of a source that cannot give more; 0 when nothing limits it
	stud  bool
}

// limitOf returns what a source cannot exceed: as written on the source, else a generator's rated output on its main
// terminal. A battery has no limit.
func limitOf(part *model.Part, s model.Source) unit.Ampere {
	if s.Limit.IsSet() {
		return unit.Ampere(s.Limit.Value)
	}
	if v := part.Value("output"); v != nil && v.Quantity.IsSet() {
		return unit.Ampere(v.Quantity.Value)
	}
	return 0
}

// feeds is one run of the rule.
type feeds struct {
	*rules.Pass
	exempt   map[*model.Wire]bool // cables to starters
	studs    map[model.PinID]bool
	starters []model.PinID // studs that a walk has reached, to be looked at in their turn
}

// A reach is how a walk came to a terminal, and what lies there and behind.
type reach struct {
	pin      model.PinID
	hop      graph.Hop // the last one; of the feed itself, none
	before   *reach    // nil for the feed itself
	order    int       // of discovery, to part equal distances
	metres   float64   // along wires; those of unknown length count as nothing
	unknown  bool      // a wire on the way has no known length
	sheathed bool      // every wire on the way is

	fuse   *model.Part // the nearest protection here or behind
	device bool        // here or behind, something that takes current without protection
	bare   bool        // such a device is here, or behind with no wire between
	faulty bool        // the wire of this hop, or one before it, is reported
}

// walk follows a feed outwards until protection is met and reports the wires that are too far from it. Of wires behind
// each other the first is reported, since its repair repairs them all.
func (f *feeds) walk(from feed) {
	reached := f.spread(from)
	for i := len(reached) - 1; i > 0; i-- {
		r, before := reached[i], reached[i].before
		if r.fuse != nil {
			before.fuse = r.fuse
		}
		before.device = before.device || r.device
		before.bare = before.bare || r.bare && r.hop.Edge.Kind != graph.Wire
	}
	for _, r := range reached[1:] {
		w := r.hop.Edge.Wire
		r.faulty = r.before.faulty
		if w != nil && !r.faulty && !f.exempt[w] && f.atFault(from, r) {
			r.faulty = true
			f.report(from, r)
		}
	}
}

// atFault judges the wire by which a walk came to a terminal.
func (f *feeds) atFault(from feed, r *reach) bool {
	switch {
	case r.fuse == nil && !r.device: // it leads to a stud or a splice, and from there nothing takes current
		return false
	case from.limit > 0 && f.carries(r.hop.Edge.Wire, from.limit):
		return false
	}
	return r.bare || !r.near()
}

// near reports whether the far end of a wire is within the distance that is allowed.
func (r *reach) near() bool { return !r.unknown && r.metres <= r.allowed() }

// allowed returns how far protection may be, in metres.
func (r *reach) allowed() float64 {
	metres, _ := conductor.ProtectionReach(r.sheathed)
	return float64(metres)
}

// spread walks from a feed to every terminal that no protection parts from it, the nearest first (Dijkstra's algorithm),
// and returns how it came there, in that order. It goes over contacts too: a switch is no fuse.
func (f *feeds) spread(from feed) []*reach {
	var done []*reach
	seen := map[model.PinID]bool{}
	open := &reaches{{pin: from.from, sheathed: true}}
	for count := 1; open.Len() > 0; {
		r := heap.Pop(open).(*reach)
		if seen[r.pin] {
			continue
		}
		seen[r.pin] = true
		done = append(done, r)
		stop := r.before != nil && f.stops(r, from)
		f.look(r, from, stop)
		for _, id := range f.Graph.At(r.pin) {
			e := f.Graph.Edge(id)
			if next := e.Other(r.pin); !stop && !seen[next] && f.passes(e, r.pin, from) {
				heap.Push(open, f.onward(r, graph.Hop{Edge: e, From: r.pin, To: next}, count))
				count++
			}
		}
	}
	return done
}

// passes reports whether fault current goes over the edge: not through a fuse, a load or a bolt to the metal.
func (f *feeds) passes(e *graph.Edge, at model.PinID, from feed) bool {
	switch {
	case from.stud && e.Wire != nil && f.exempt[e.Wire]: // back towards the battery
		return false
	case e.Kind == graph.Diode:
		return (e.A == at) != f.Netlist.Harness.PositiveGround
	}
	return e.Kind.Outside() || e.Kind == graph.Common || e.Kind.Contact()
}

// stops reports whether the walk goes no further from a terminal: from another source, which is a feed of its own; from
// ground, which is a short and another rule's matter; from the stud of a starter, to which the cable is then exempt.
func (f *feeds) stops(r *reach, from feed) bool {
	if f.isTap(r.pin) && f.isTap(from.from) { // the jumper between the two, which is in series with what the ends of the bank feed
		f.spare(r)
		return true
	}
	if f.Netlist.Pin(r.pin).Role != catalog.Cranking {
		return f.IsLive(r.pin) || f.IsGround(r.pin)
	}
	if from.limit > 0 { // a generator does not crank
		return true
	}
	f.spare(r)
	if !f.studs[r.pin] {
		f.studs[r.pin] = true
		f.starters = append(f.starters, r.pin)
	}
	return true
}

// spare exempts the wires on the way to a terminal.
func (f *feeds) spare(r *reach) {
	for at := r; at.before != nil; at = at.before {
		if w := at.hop.Edge.Wire; w != nil {
			f.exempt[w] = true
		}
	}
}

func (f *feeds) onward(r *reach, h graph.Hop, order int) *reach {
	next := &reach{pin: h.To, hop: h, before: r, order: order, metres: r.metres, unknown: r.unknown, sheathed: r.sheathed}
	if w := h.Edge.Wire; w != nil {
		next.sheathed = next.sheathed && w.Sheathed.On
		if m, known := f.Routes.Length(w); known {
			next.metres += float64(m)
		} else {
			next.unknown = true
		}
	}
	return next
}

// look notes what is at a terminal: a fuse, or a device that takes current. A device is one by its load; where the file
// shows no load, by being the end of the way. The open end of a switch takes nothing.
func (f *feeds) look(r *reach, from feed, stopped bool) {
	onward, load := false, false
	for _, id := range f.Graph.At(r.pin) {
		e := f.Graph.Edge(id)
		switch {
		case e.Kind == graph.Protect && r.fuse == nil:
			r.fuse = e.Part
		case e.Kind == graph.Load || e.Kind == graph.Coil || e.Kind == graph.Resistor:
			load = true
		case e != r.hop.Edge && f.passes(e, r.pin, from):
			onward = true
		}
	}
	part := f.Netlist.Pin(r.pin).Owner.Device()
	cranking := f.Netlist.Pin(r.pin).Role == catalog.Cranking
	switch {
	case r.before == nil || part == nil || part.Kind.Joined || r.fuse != nil || f.IsGround(r.pin):
	case cranking:
		r.device = from.limit > 0
	case stopped || load:
		r.device = true
	default:
		r.device = !onward && !r.hop.Edge.Kind.Contact()
	}
	r.bare = r.device
}

// report says what is wrong with the wire by which a walk came to a terminal.
func (f *feeds) report(from feed, r *reach) {
	w, name := r.hop.Edge.Wire, f.Netlist.Pin(from.from).String()
	refs := []string{w.Name.Text, name}
	what := "source " + name
	if from.stud {
		what = "starter stud " + name
	}
	if r.fuse != nil {
		refs = append(refs, r.fuse.Name.Text)
	}
	var d *diag.Diagnostic
	switch {
	case from.limit > 0:
		d = f.weak(w, refs, what, from.limit)
	case r.bare || r.fuse == nil:
		d = f.Report(w.Name.Span, refs, "wire %s comes from %s and there is no fuse on the way", w.Name.Text, what)
		d.Help = "put a fuse between, within " + reachText + " of " + name
	case r.unknown && r.metres <= r.allowed():
		lost := r.unmeasured()
		d = f.Report(w.Name.Span, refs, "how far fuse %s is from %s is not known: wire %s has no length, and no paths join the places of its ends", r.fuse.Name.Text, what, lost.Name.Text)
		d.Severity = diag.Warning // it may well be short; the file does not say
		d.Help = fmt.Sprintf("add length = %q to %s, or join the places of its ends by paths", "0.15 m", lost.Name.Text)
	default:
		d = f.Report(w.Name.Span, refs, "wire %s is without protection up to %s from %s; %s is allowed", w.Name.Text, unit.Metre(r.metres), what, r.allowedText())
		d.Help = fmt.Sprintf("fuse %s protects only what comes after it: move it to the source end", r.fuse.Name.Text)
	}
	d.Related = f.Hops(r.path())
}

// reachText is how messages write the shorter distance.
const reachText = "180 mm (7 in)"

func (r *reach) allowedText() string {
	if r.sheathed {
		return "1.02 m (40 in, sheathed)"
	}
	return reachText
}

// weak is the finding about a wire that carries less than the generator at its end delivers.
func (f *feeds) weak(w *model.Wire, refs []string, what string, limit unit.Ampere) *diag.Diagnostic {
	if !w.Size.IsSet() {
		d := f.Report(w.Name.Span, refs, "wire %s has no size, so whether it carries the %s of %s without a fuse is not known", w.Name.Text, limit, what)
		d.Severity = diag.Warning
		d.Help = `add size = "6 AWG"`
		return d
	}
	d := f.Report(w.SizeSpan, refs, "wire %s carries %s and has no fuse near %s, which delivers up to %s", w.Name.Text, carries(w), what, limit)
	d.Help = "take a thicker wire, or put a fuse within " + reachText + " of the source"
	return d
}

func (f *feeds) carries(w *model.Wire, limit unit.Ampere) bool {
	return w.Size.IsSet() && carries(w) >= limit
}

// unmeasured returns the first wire on the way that has no known length.
func (r *reach) unmeasured() *model.Wire {
	at := r
	for at.before.unknown {
		at = at.before
	}
	return at.hop.Edge.Wire
}

// path returns the hops from the feed.
func (r *reach) path() []graph.Hop {
	if r.before == nil {
		return nil
	}
	return append(r.before.path(), r.hop)
}

// reaches is a heap of reaches, the nearest first, among equals the one that was found first.
type reaches []*reach

// Len is part of heap.Interface.
func (q reaches) Len() int { return len(q) }

// Less orders by distance along wires, then by discovery.
func (q reaches) Less(i, j int) bool {
	if q[i].metres != q[j].metres {
		return q[i].metres < q[j].metres
	}
	return q[i].order < q[j].order
}

// Swap is part of heap.Interface.
func (q reaches) Swap(i, j int) { q[i], q[j] = q[j], q[i] }

// Push is part of heap.Interface.
func (q *reaches) Push(x any) { *q = append(*q, x.(*reach)) }

// Pop is part of heap.Interface.
func (q *reaches) Pop() any {
	old := *q
	last := old[len(old)-1]
	*q = old[:len(old)-1]
	return last
}

// carries is what a wire may carry continuously in free air: 33 CFR 183.425 Table 5, column 105 C.
func carries(w *model.Wire) unit.Ampere {
	metal, _ := conductor.ParseMetal(w.Metal.Text)
	amperes, _ := conductor.AmpacityOf(w.Size, 105, metal)
	return amperes
}
