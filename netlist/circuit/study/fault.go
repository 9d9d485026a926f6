package study

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sparse"
	"ferrule/netlist/conductor"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// Limits of the short-circuit current over the rating of the device ahead, by job practice: from 3.5 a blade fuse opens within
// half a second by its standard, below 1.6 it may hold for minutes.
const (
	WantRatio = 3.5
	WarnRatio = 2.5
	BadRatio  = 1.6
)

// A Verdict judges a short. They stand worst first.
type Verdict int

// The verdicts.
const (
	Unprotected  Verdict = iota // fed, no fuse or breaker on the way, and longer than may be without
	NotCleared                  // the device may not open, or too late for the insulation
	SlowlyOpened                // ratio below WarnRatio
	LittleMargin                // ratio below WantRatio
	NotKnown                    // fed, but something is missing to work it out
	WithinReach                 // no fuse on the way, but one comes as near to the source as is asked for
	Exempt                      // no fuse on the way, and none is asked for: the cable of a starter, a jumper between batteries
	Cleared
	Limited  // a consumer, a coil or a resistor in series limits the current
	NoFeed   // nothing of the battery's reaches it, or only a module's own signal
	Grounded // a ground conductor: a short to metal changes nothing
)

var verdictWords = [...]string{"unprotected", "not cleared", "slow", "little margin", "not known", "within reach of the source", "exempt", "cleared", "limited", "no feed", "grounded"}

// String returns the verdict in words.
func (v Verdict) String() string { return verdictWords[v] }

// A Short is a dead short to ground at the far end of a wire.
type Short struct {
	Wire    *model.Wire
	Far     model.PinID // the end that lies farther from the battery
	To      model.PinID // what it is shorted to: the metal nearest, or, without a body, the return of what the wire feeds; model.NoPin for none
	Verdict Verdict
	State   string // in which the least current flows; with a switch moved where no declared state feeds the wire
	Because string // what limits, or why there is no feed

	Amps, Ohms       float64 // prospective current and resistance of the whole loop
	Device, Upstream *model.Part
	Ratio            float64 // Amps over the device's rating
	Fastest, Slowest float64 // seconds that the device takes; +Inf when it may hold
	LetThrough       float64 // A2s that the device lets through at the most
	Bounded          bool    // LetThrough lies beyond the last point of the standard's table and is a bound: see letThrough
	Withstand        float64 // A2s that the weakest wire between device and short survives
	Weakest          *model.Wire
	Selective        bool    // the device opens alone, held against Upstream at SelectiveAmps
	SelectiveAmps    float64 // of a short just behind the device with a full battery and cold wires
	Source           string  // of the time band
	Assumed          bool    // a number rests on a guess or an assumption
	Feeds            []Feed  // where several devices feed the short: each with its own share, worst first; else nil
	FedIn            string  // the state in which they do; it need not be State
}

// Faults returns a dead short at the far end of every wire, worst first. The error is the machine's fault.
//
// Conditions: weak battery (12.0 V, 20 mohm in a 12 V system), wires as hot as the hottest declared state makes them, no
// generator, consumers left out as negligible beside a dead short. Of all declared states that feed a wire the one with the least current counts.
func (s *Study) Faults() ([]Short, error) {
	s.prepare()
	h := &hunt{s: s, poles: s.livePoles(), best: map[*model.Wire]*Short{}, seen: map[string]bool{}, hottest: s.hottest()}
	for _, b := range s.bases {
		if err := h.circumstance(&moves{setting: setting{cond: b.cond}}, b.actual, b.cond.Name(), false); err != nil {
			return nil, err
		}
	}
	for _, b := range s.bases {
		for _, moved := range h.dimOf(setting{cond: b.cond}).together(s.moving(b.cond)) {
			if err := h.circumstance(moved, nil, b.cond.Name(), true); err != nil {
				return nil, err
			}
		}
	}
	out := h.finish()
	slices.SortStableFunc(out, func(a, b Short) int {
		return cmp.Or(cmp.Compare(a.Verdict, b.Verdict), compareClose(a.Ratio, b.Ratio), compareClose(b.Amps, a.Amps))
	})
	return out, nil
}

// hottest returns, by branch, the conductor temperature in the hottest declared state.
func (s *Study) hottest() []float64 {
	out := make([]float64, len(s.circuit.Branches))
	for i := range out {
		out[i] = math.Inf(-1)
		for _, b := range s.bases {
			out[i] = max(out[i], b.sol.Celsius[i])
		}
	}
	return out
}

// hunt collects the worst short of each wire.
type hunt struct {
	s       *Study
	poles   []model.PinID
	best    map[*model.Wire]*Short
	seen    map[string]bool // wire and way that were worked out already
	hottest []float64
	fronts  map[string]int // see frontID
	ground  []bool         // see grounded; nil until somebody asks

	rest sparse.Solution // memory for the solutions of networks with nothing shorted
}

// stage is one circumstance with its networks, which are only factorised when a way is met for the first time.
type stage struct {
	set          setting
	name         string
	feed         *feed
	way          *way
	weak, strong *shorts
	left         map[leftOne]*shorts  // see through
	starters     map[*model.Wire]bool // see cranks; nil until somebody asks
	moves        *moves
}

// nameFor is the circumstance in which a wire is fed: the state, and what was moved to feed it.
func (st *stage) nameFor(w *model.Wire) string {
	if moved := st.moves.behind(w, st.feed); moved != "" {
		return st.name + ", " + moved
	}
	return st.name
}

// circumstance looks at the wires in one circumstance. actual is what is fed there as solved, so that a relay counts which the minor
// terminal of a generator holds; nil for what is fed as meant.
func (h *hunt) circumstance(m *moves, actual *feed, name string, onlyUnfed bool) error {
	if onlyUnfed && !h.feedsMore(m.setting) {
		return nil
	}
	st := h.stage(m.setting, actual, name)
	st.moves = m
	for _, w := range h.s.netlist.Wires {
		if w.From.ID == model.NoPin || w.To.ID == model.NoPin || onlyUnfed && h.best[w] != nil {
			continue
		}
		if err := h.wire(st, w); err != nil {
			return err
		}
	}
	return nil
}

// feedsMore is a quick look whether a moved switch feeds a wire that no circumstance before did.
func (h *hunt) feedsMore(set setting) bool {
	f := h.s.feedOf(set)
	live := f.plus
	if h.s.netlist.Harness.PositiveGround {
		live = f.minus
	}
	return slices.ContainsFunc(h.s.netlist.Wires, func(w *model.Wire) bool {
		return h.best[w] == nil && w.From.ID != model.NoPin && live[w.From.ID]
	})
}

func (h *hunt) stage(set setting, actual *feed, name string) *stage {
	st := &stage{set: set, name: name, feed: actual}
	if actual == nil {
		st.feed = h.s.feedOf(set)
	}
	st.way = h.s.wayFrom(h.poles, func(e *graph.Edge, from model.PinID) bool {
		return h.s.passes(st.feed, set, e) && !circuit.Limits(e) && (e.Kind != graph.Diode || (e.A == from) != h.s.netlist.Harness.PositiveGround)
	})
	return st
}

func (h *hunt) wire(st *stage, w *model.Wire) error {
	far := w.To.ID
	if st.way.depth[w.From.ID] > st.way.depth[far] {
		far = w.From.ID
	}
	if st.way.depth[w.From.ID] < 0 || st.way.depth[w.To.ID] < 0 {
		return nil
	}
	path := st.way.path(far)
	front := h.front(st, far)
	key := h.key(w, path, front)
	if h.seen[key] {
		return nil
	}
	if err := h.needWeak(st); err != nil {
		return err
	}
	h.seen[key] = true
	for _, ground := range h.shortedTo(st, far) {
		if st.way.depth[ground] >= 0 && st.way.depth[far] > st.way.depth[ground] {
			continue
		}
		if err := h.short(st, w, far, ground, path); err != nil {
			return err
		}
	}
	return nil
}

// short works a short of a wire's far end to a ground out, and keeps it if it is worse than what is known of the wire.
func (h *hunt) short(st *stage, w *model.Wire, far, ground model.PinID, path []*graph.Edge) error {
	short := &Short{Wire: w, Far: far, To: ground, State: st.nameFor(w), Verdict: NotKnown, Because: "the size or length of a wire on the way is missing"}
	if amps, ohms, ok := st.weak.at(far, ground); ok {
		short.Amps, short.Ohms, short.Because = amps, ohms, ""
		if err := h.judge(st, short, path, ground); err != nil {
			return err
		}
	}
	if old := h.best[w]; old != nil && old.Feeds == nil {
		old.Feeds, old.FedIn = short.Feeds, short.FedIn // a state with more feeds is told beside that with the least current
	} else if old != nil && short.Feeds == nil {
		short.Feeds, short.FedIn = old.Feeds, old.FedIn
	}
	if old := h.best[w]; old == nil || short.Verdict != NotKnown && short.worseThan(old) {
		h.best[w] = short
	}
	return nil
}

// needWeak makes the network of a stage with the weak battery.
func (h *hunt) needWeak(st *stage) error {
	if st.weak != nil {
		return nil
	}
	var err error
	st.weak, err = h.network(st.feed, st.set, true, func(i int) float64 { return h.hottest[i] })
	return err
}

func (a *Short) worseThan(b *Short) bool {
	return b.Verdict == NotKnown || a.Verdict < b.Verdict || a.Verdict == b.Verdict && a.Amps < b.Amps*(1-1e-9)
}

func (h *hunt) key(w *model.Wire, path, front []*graph.Edge) string {
	var key strings.Builder
	key.WriteString(w.Name.Text)
	for _, e := range path {
		fmt.Fprintf(&key, " %d", h.s.edgeAt[e])
	}
	fmt.Fprintf(&key, ",%d", h.frontID(front))
	return key.String()
}

// judge finds the devices on the way and holds the current against the nearest.
func (h *hunt) judge(st *stage, short *Short, path []*graph.Edge, ground model.PinID) error {
	var device *graph.Edge
	if !slices.ContainsFunc(path, func(e *graph.Edge) bool { return e.Wire == short.Wire }) {
		h.weaken(short, short.Wire)
	}
	for _, e := range path {
		switch {
		case e.Kind == graph.Protect && device == nil:
			device, short.Device = e, e.Part
		case e.Kind == graph.Protect && short.Upstream == nil:
			short.Upstream = e.Part
		case e.Kind == graph.Wire && device == nil:
			h.weaken(short, e.Wire)
		}
		if at, ok := h.s.edgeAt[e]; e.Part != nil && h.s.assumed[e.Part] || ok && h.s.circuit.Branches[at].GuessedWire() {
			short.Assumed = true
		}
	}
	if device == nil {
		h.unfused(st, short, path)
		return nil
	}
	if short.Amps*short.Ohms < shortedShare*h.s.netlist.Harness.Volts {
		short.Because = "it lies on ground already, whatever fails: another short has to go first"
		return nil
	}
	rating := ratingOf(short.Device)
	if rating <= 0 {
		short.Because = "the rating of " + short.Device.Name.Text + " is missing"
		return nil
	}
	if err := h.feeds(st, short, ground); err != nil {
		return err
	}
	if short.Feeds == nil {
		short.times()
	}
	return h.selective(st, short, device, ground)
}

// shortedShare is the share of the nominal voltage that a fed wire has at least before it is shorted: consumers are left out, so only
// what joins it to ground already takes more. Estimate; a tap of a bank may have a part of the whole.
const shortedShare = 0.25

// weaken notes the wire that survives least between the device and the short.
func (h *hunt) weaken(short *Short, w *model.Wire) {
	harness := &h.s.netlist.Harness
	area, source := conductor.AreaMM2(w.Size, harness.Cable)
	if !source.IsSet() {
		return
	}
	class := harness.Insulation
	if w.Insulation.IsSet() {
		class = unit.Celsius(w.Insulation.Value)
	}
	end, _ := conductor.ShortCircuitLimit(class)
	metal, _ := conductor.ParseMetal(w.Metal.Text)
	if a := conductor.Withstand(area, conductor.AdiabaticK(metal, float64(class), float64(end))); short.Weakest == nil || a < short.Withstand {
		short.Weakest, short.Withstand = w, a
	}
}

func ratingOf(p *model.Part) unit.Ampere {
	if v := p.Value("rating"); v != nil {
		return unit.Ampere(v.Quantity.Value)
	}
	return 0
}

func curveOf(p *model.Part) (*fusecurve.Curve, fusecurve.Source, bool) {
	family := ""
	if v := p.Value("family"); v != nil {
		family = v.Word.Text
	}
	c, source, assumed := fusecurve.Of(family, ratingOf(p))
	return c, source, assumed || p.Kind.Name != "fuse" // a breaker or link has a band of its own, of which there is no table
}

func (short *Short) times() {
	f := feedOf(short.Device, short.Amps)
	short.take(&f)
	_, source, assumed := curveOf(short.Device)
	short.Source, short.Assumed = source.Title, short.Assumed || assumed
	short.LetThrough = f.LetThrough
	short.Verdict = verdictOf(short.Ratio, short.LetThrough, short.Withstand)
}

// take makes a feed the one that the short is told by.
func (short *Short) take(f *Feed) {
	short.Device, short.Ratio, short.Fastest, short.Slowest, short.Bounded = f.Device, f.Ratio, f.Fastest, f.Slowest, f.Bounded
}

func verdictOf(ratio, letThrough, withstand float64) Verdict {
	switch {
	case ratio < BadRatio, letThrough > withstand:
		return NotCleared
	case ratio < WarnRatio:
		return SlowlyOpened
	case ratio < WantRatio:
		return LittleMargin
	}
	return Cleared
}

// arcSeconds is what is allowed for the arc after the element has melted; estimate.
const arcSeconds = 0.005

// letThrough is the most energy in A2s that a device passes: the square of the current times its slowest time. Beyond the last
// point of the standard's table that would grow without end while the time stands still; there the energy that melts the
// element is no more than at the last point, since less of it is lost to the clips, and an allowance for the arc is added.
// bounded says that this was done.
func letThrough(c *fusecurve.Curve, amps float64) (a2s float64, bounded bool) {
	_, slowest := c.Times(unit.Ampere(amps))
	a2s = amps * amps * float64(slowest)
	if points := c.Points(); len(points) > 0 {
		last := points[len(points)-1]
		if at := last.Share * float64(c.Rating); amps > at*(1+1e-9) {
			return min(a2s, at*at*float64(last.Band.Max)+amps*amps*arcSeconds), true
		}
	}
	return a2s, false
}

// opensAlone reports whether the device opens before the one upstream: by the tests of fusecurve, or because it lets through less
// than three quarters of what the other needs to melt.
func opensAlone(up, down *fusecurve.Curve, amps float64) bool {
	if ok, _ := fusecurve.Selective(up, down, unit.Ampere(amps)); ok {
		return true
	}
	fastest, _ := up.Times(unit.Ampere(amps))
	passed, _ := letThrough(down, amps)
	return up.Rating > 0 && down.Rating > 0 && passed < 0.75*amps*amps*float64(fastest)
}

// selective compares with the device upstream at the largest current: a short just behind the nearer device.
func (h *hunt) selective(st *stage, short *Short, device *graph.Edge, ground model.PinID) error {
	if short.Upstream == nil {
		return nil
	}
	var err error
	if st.strong == nil {
		if st.strong, err = h.network(st.feed, st.set, false, func(int) float64 { return 20 }); err != nil {
			return err
		}
	}
	behind := device.A
	if st.way.depth[device.B] > st.way.depth[behind] {
		behind = device.B
	}
	if near, ok := h.s.groundNear(short.Far); ok {
		ground = near // without a body the largest current is that straight to the battery
	}
	up, _, _ := curveOf(short.Upstream)
	down, _, _ := curveOf(short.Device)
	if amps, _, ok := st.strong.at(behind, ground); ok {
		short.SelectiveAmps = amps
		short.Selective = opensAlone(up, down, amps)
	}
	return nil
}

// grounded marks what conductors join to ground.
func (h *hunt) grounded() []bool {
	if h.ground == nil {
		s := h.s
		h.ground = make([]bool, len(s.netlist.Pins))
		seeds := s.minus
		if s.netlist.Harness.PositiveGround {
			seeds = s.plus
		}
		nothing := setting{cond: s.conds[0], open: func(e *graph.Edge) bool { return !e.Kind.Conducts() && !circuit.Shunt(e) }}
		s.flood(&feed{engaged: map[*model.Part]bool{}}, nothing, h.ground, seeds, false)
	}
	return h.ground
}

// finish adds the wires that no circumstance feeds.
func (h *hunt) finish() []Short {
	s := h.s
	grounded := h.grounded()
	around := s.wayFrom(h.poles, func(e *graph.Edge, from model.PinID) bool {
		return e.Kind != graph.Source && e.Kind != graph.Bolted && !grounded[e.Other(from)]
	})
	var out []Short
	for _, w := range s.netlist.Wires {
		if short := h.best[w]; short != nil {
			out = append(out, *short)
			continue
		}
		short := Short{Wire: w, Far: w.To.ID, To: model.NoPin, Verdict: NoFeed, Because: "an end of it is not known"}
		if w.From.ID != model.NoPin && w.To.ID != model.NoPin {
			h.unfed(&short, grounded, around)
		}
		out = append(out, short)
	}
	return out
}

func (h *hunt) unfed(short *Short, grounded []bool, around *way) {
	w := short.Wire
	if around.depth[w.From.ID] > around.depth[w.To.ID] {
		short.Far = w.From.ID
	}
	switch reference := h.reference(w); {
	case grounded[w.From.ID] || grounded[w.To.ID]:
		short.Verdict, short.Because = Grounded, "a ground conductor"
		return
	case reference != nil:
		short.Verdict, short.Because = Limited, "sensor supply "+reference.String()
		if reference.Limit.IsSet() {
			short.Because += ", limit " + unit.Ampere(reference.Limit.Value).String()
		}
		return
	}
	short.Because = "a module's own signal, or nothing"
	for _, e := range around.path(short.Far) {
		if circuit.Limits(e) {
			short.Verdict, short.Because = Limited, limiter(e)
			short.Assumed = h.s.assumed[e.Part]
			if at, ok := h.s.edgeAt[e]; ok {
				short.Amps = h.s.circuit.RatedAmps(&h.s.circuit.Branches[at])
			}
			return
		}
	}
}

func limiter(e *graph.Edge) string {
	switch e.Kind {
	case graph.Coil:
		return "coil of " + e.Part.Name.Text
	case graph.Resistor:
		return fmt.Sprintf("%s in %s", unit.Ohm(e.Part.Inside.Resistors[e.Index].Ohms.Value), e.Part.Name.Text)
	}
	return titled(e.Part.Name.Text, e.Part.Inside.Loads[e.Index].Title.Text)
}

// reference is the sensor supply whose net a wire is on.
func (h *hunt) reference(w *model.Wire) *model.Pin {
	for _, pin := range h.s.graph.NetOf(w.From.ID).Pins {
		if p := h.s.netlist.Pin(pin); p.Role == catalog.Reference {
			return p
		}
	}
	return nil
}
