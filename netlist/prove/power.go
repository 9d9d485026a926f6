package prove

import (
	"math"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// What a bench source for first power gives, common practice: 2 A to begin with and 5 A at most; or a 21 W lamp in series with the
// battery, which passes no more than its own current and glows brightly from half of that on.
const (
	SourceFirstAmps = 2.0
	SourceMostAmps  = 5.0
	LampWatts       = 21.0
)

// A reading of the supply may be above what is expected by this share and at least by so much before the work stops: chosen here, as
// filaments, cold coils and meters differ by less.
const (
	StopShare = 0.25
	StopAmps  = 0.1
)

// jumperOhms is a test lead with its clips: estimate.
const jumperOhms = 0.05

// A Power is first power: what is unplugged, in which order the fuses go in, and what is then measured.
type Power struct {
	Volts     float64 // that the supply is set to: the first bank of the file, charged and at rest
	Banks     []Bank  // one source each: they are brought up one by one, the others parted
	Unplugged []*model.Part
	Others    []*model.Part // sources that are neither battery nor generator and no converter: covered or parted
	Keys      []Setup       // see Harness.KeyPositions
	Alone     Reading       // the supply in the place of the bank of the first step, with every fuse out
	Steps     []Step
	Relays    []RelayStep
	Dead      []*model.Part // fuses that nothing feeds in any state of the file, as far as the bench can bring it about
	Spare     []*model.Part // spare positions: they stay empty
	Plugs     []Plug        // the empty plugs with all fuses in
	Columns   []Setup       // of Plugs: the key positions, and the last of them with the jumpers that feed fuses
}

// A Step is one fuse that goes in.
type Step struct {
	Number   int
	Fuse     *model.Part
	Rating   float64  // ampere; 0 when not stated
	Bank     int      // of Power.Banks: in whose place the source stands
	Joined   *Reading // the source alone, where it was moved to that bank for this step; else nil
	Setup    Setup    // the least that has to be on for its input to be live
	Moved    bool     // the setup is another one than that of the step before
	Input    model.PinID
	Output   model.PinID
	By       *model.Part   // the converter that feeds it; nil for the batteries
	Ahead    []*model.Part // fuses and breakers on the way from the source, from it on
	Readings []Reading     // the first in Setup; others where it carries more
	Look     []Suspect     // what hangs on it, nearest first
}

// A Reading is what is measured in one setup.
type Reading struct {
	Setup  Setup
	Amps   float64 // through the fuse
	Supply float64 // that the source shows, all that is in together
	Before float64 // that it showed in the same setup before the fuse went in
	Marked bool    // rests on a guess or an assumed value
	Volts  float64 // at the output of the fuse, against the grounded pole
	Live   []PinVolts
	Works  []string // what works behind the fuse: consumers and relays
}

// Stop is the reading of the supply in ampere above which something is wrong.
func (r *Reading) Stop() float64 { return r.Supply + max(StopAmps, StopShare*r.Supply) }

// Beyond reports whether the supply is expected to give more than a bench source does.
func (r *Reading) Beyond() bool { return r.Supply > SourceMostAmps }

// Dims reports whether a 21 W lamp in series would take so much of the volts that they say nothing.
func (r *Reading) Dims(nominal float64) bool { return r.Supply > LampWatts/nominal/2 }

// A PinVolts is what a meter shows at a terminal against the grounded pole.
type PinVolts struct {
	Pin   model.PinID
	Volts float64
}

// A Suspect is a wire or part behind a fuse.
type Suspect struct {
	Wire *model.Wire
	Part *model.Part
	Pin  model.PinID // of a part or connector: where it is reached; model.NoPin for a wire
}

// A RelayStep is a relay that an unplugged controller works: pulled in by a jumper, all fuses in.
type RelayStep struct {
	Pin     model.PinID
	Relays  []*model.Part
	Reading Reading
	Loads   []*model.Part // consumers that start with it
	Coils   float64       // that the supply shows with those unplugged, ampere
}

// A Plug is the cavities of an unplugged part in its order, with volts by column; NaN where the terminal floats.
type Plug struct {
	Part *model.Part
	Pins []model.PinID
	Rows [][]float64
}

// FirstPower works out first power, once.
func (h *Harness) FirstPower() *Power { return h.power() }

func (h *Harness) powerUp() *Power {
	p := &Power{Unplugged: h.Unplugged(), Keys: h.KeyPositions(), Volts: h.supplyVolts(), Banks: h.banks}
	for _, part := range h.Netlist.Parts {
		if part.Spare.On && len(part.Inside.Protects) > 0 {
			p.Spare = append(p.Spare, part)
		}
		if h.otherSource(part) {
			p.Others = append(p.Others, part)
		}
	}
	sequence, dead := h.order()
	for _, d := range dead {
		p.Dead = append(p.Dead, d.part)
	}
	w := &powering{h: h, p: p, in: map[*model.Part]bool{}, live: map[model.PinID]bool{}}
	w.prepare()
	bank := 0
	if len(sequence) > 0 {
		bank = max(0, sequence[0].bank)
	}
	p.Alone = w.connect(bank)
	for i := range sequence {
		var joined *Reading
		if at := max(0, sequence[i].bank); at != bank {
			bank = at
			r := w.connect(bank)
			joined = &r
		}
		w.step(&sequence[i])
		p.Steps[i].Joined = joined
	}
	h.feeding = everyBank
	w.relays()
	w.plugs()
	return p
}

// prepare works out what every fuse carries at most and leads on to, for each bank by itself.
func (w *powering) prepare() {
	w.h.eachBank(func(bank int) {
		w.best = append(w.best, w.h.heaviest())
		w.leads = append(w.leads, w.h.leads(w.p.Unplugged, w.p.Keys))
	})
}

// connect puts the source in the place of a bank, everything at rest.
func (w *powering) connect(bank int) Reading {
	w.shown = nil
	if w.h.feeding = everyBank; len(w.h.banks) > 1 {
		w.h.feeding = bank
	}
	sol := w.h.solve(&Setup{}, w.has)
	r := Reading{Supply: w.h.supplies(sol), Marked: w.h.rests(sol)}
	w.news(sol, &r)
	return r
}

// supplyVolts is the open-circuit voltage of the batteries, those in series added up.
func (h *Harness) supplyVolts() float64 {
	volts := h.nominal()
	for i := range h.Circuit.Branches {
		if b := &h.Circuit.Branches[i]; b.IsBattery() {
			return b.Volts * math.Max(1, math.Round(h.nominal()/b.Volts)) // one of two in series has half of the volts
		}
	}
	return volts
}

// otherSource reports whether a part makes current by itself at standstill, such as solar modules.
func (h *Harness) otherSource(p *model.Part) bool {
	if len(p.Inside.Sources) == 0 || p.Kind.Symbol == "battery" || p.Kind.Symbol == "generator" {
		return false
	}
	return !slices.ContainsFunc(h.converters, func(c converter) bool { return c.part == p })
}

// heaviest solves every setup with all fuses in and tells for each fuse the setup without jumpers, or with those that feed fuses, in
// which it carries most.
func (h *Harness) heaviest() map[*model.Part]Setup {
	best, most := map[*model.Part]Setup{}, map[*model.Part]float64{}
	all := func(*model.Part) bool { return true }
	for _, s := range h.setups() {
		if len(s.Switches) == 0 {
			continue
		}
		sol := h.solve(&s, all)
		for _, i := range h.fuses {
			if b := &h.Circuit.Branches[i]; math.Abs(sol.Amps[i]) > most[b.Part]*1.02+0.02 {
				most[b.Part], best[b.Part] = math.Abs(sol.Amps[i]), s
			}
		}
	}
	return best
}

// powering is first power in the making.
type powering struct {
	h     *Harness
	p     *Power
	in    map[*model.Part]bool
	live  map[model.PinID]bool      // cavities of empty plugs that were live before
	best  []map[*model.Part]Setup   // by bank: in which a fuse carries most, see heaviest
	leads []map[*model.Part][]Setup // by bank: see leads
	shown []shown                   // with what is in now
}

// shown is what the supply shows in a setup.
type shown struct {
	setup Setup
	amps  float64
}

// supply is what the supply shows in a setup with what is in. What was read after the last fuse went in is what the next one finds.
func (w *powering) supply(s *Setup) float64 {
	if i := slices.IndexFunc(w.shown, func(o shown) bool { return o.setup.same(s) }); i >= 0 {
		return w.shown[i].amps
	}
	return w.h.supplies(w.h.solve(s, w.has))
}

func (w *powering) has(p *model.Part) bool { return w.in[p] }

func (w *powering) step(at *placing) {
	h := w.h
	s := Step{Number: len(w.p.Steps) + 1, Fuse: at.part, Bank: max(0, at.bank), Setup: at.setup, Rating: ratingOf(at.part)}
	if n := len(w.p.Steps); n > 0 {
		s.Moved = !w.p.Steps[n-1].Setup.same(&s.Setup)
	} else {
		s.Moved = true
	}
	rig := h.settle(&s.Setup, w.has)
	s.Input, _ = rig.input(at.edge)
	s.Output = at.edge.Other(s.Input)
	s.Ahead = rig.ahead(s.Input)
	if c := rig.converter(s.Input); c != nil {
		s.By = c.part
	}
	setups := w.setupsOf(at)
	before := make([]float64, len(setups))
	for i := range setups {
		before[i] = w.supply(&setups[i])
	}
	w.in[at.part], w.shown = true, nil
	for i := range setups {
		r, worth := w.reading(at, &s, &setups[i], before[i])
		w.shown = append(w.shown, shown{setups[i], r.Supply})
		if worth || i == 0 {
			s.Readings = append(s.Readings, r)
		}
	}
	s.Look = h.settle(&s.Setup, w.has).behind(at.edge, s.Output)
	w.p.Steps = append(w.p.Steps, s)
}

// setupsOf are the setups in which a fuse is measured: that in which it becomes live, the key positions from there on, that in which it
// carries most with no more switched than what it carries needs, and those that lead its volts on to an empty plug.
func (w *powering) setupsOf(at *placing) []Setup {
	setups := []Setup{at.setup}
	add := func(s Setup) {
		if !slices.ContainsFunc(setups, func(o Setup) bool { return o.same(&s) }) {
			setups = append(setups, s)
		}
	}
	if keyed := at.setup.keyed(); keyed.same(&at.setup) {
		for i := max(at.key, 0) + 1; i < len(w.p.Keys); i++ {
			add(w.p.Keys[i])
		}
	}
	if heavy, known := w.best[max(0, at.bank)][at.part]; known {
		heavy.Jumpers = at.setup.Jumpers
		add(w.h.lighten(heavy, at.edge, func(p *model.Part) bool { return p == at.part || w.in[p] }))
	}
	for _, s := range w.leads[max(0, at.bank)][at.part] {
		add(s)
	}
	return setups
}

// leads finds for each cavity of an empty plug the least that has to be switched so that it is live, by the last fuse ahead of it.
func (h *Harness) leads(unplugged []*model.Part, keys []Setup) map[*model.Part][]Setup {
	all := func(*model.Part) bool { return true }
	setups := h.setups()
	rigs := make([]*rig, len(setups))
	for i := range setups {
		rigs[i] = h.settle(&setups[i], all)
	}
	leads := map[*model.Part][]Setup{}
	for _, part := range unplugged {
		for _, id := range part.Terminals() {
			if !h.tells(id) || h.ground[id] {
				continue
			}
			best := placing{key: -1}
			for i, r := range rigs {
				if !r.live[id] {
					continue
				}
				p := placing{setup: h.reduce(setups[i], id), index: i}
				if p.key = keyOf(keys, &p.setup); best.key < 0 || p.easier(&best) {
					best = p
				}
			}
			if best.key < 0 {
				continue
			}
			if ahead := h.settle(&best.setup, all).ahead(id); len(ahead) > 0 {
				last := ahead[len(ahead)-1]
				leads[last] = append(leads[last], best.setup)
			}
		}
	}
	return leads
}

// lighten puts back the switches without which the fuse feeds the same consumers.
func (h *Harness) lighten(s Setup, e *graph.Edge, in func(*model.Part) bool) Setup {
	want := h.feeds(&s, e, in)
	for _, w := range slices.Clone(s.Switches) {
		if less := s.without(w.Part, model.NoPin); slices.Equal(h.feeds(&less, e, in), want) {
			s = less
		}
	}
	return s
}

// feeds lists the consumers and coils behind a fuse that have supply and ground, by the number of their edge; the fuse being dead
// gives nil.
func (h *Harness) feeds(s *Setup, e *graph.Edge, in func(*model.Part) bool) []graph.EdgeID {
	r := h.settle(s, in)
	input, ok := r.input(e)
	if !ok {
		return nil
	}
	var fed []graph.EdgeID
	for _, id := range r.reach(e, e.Other(input)) {
		if edge := h.Graph.Edge(id); r.works(edge) {
			fed = append(fed, id)
		}
	}
	slices.Sort(fed)
	return slices.Compact(fed)
}

// works reports whether an edge uses current in the rig: a consumer, coil or resistor of a part that is plugged in, fed at both ends or,
// where something else lies in series, at one.
func (r *rig) works(e *graph.Edge) bool {
	switch e.Kind {
	case graph.Load, graph.Coil, graph.Resistor:
		return !r.h.out[e.Part] && (r.fed(e) || e.Kind == graph.Load && (r.live[e.A] || r.live[e.B]))
	}
	return false
}

// reach lists the edges that are met from the output of a fuse without passing another fuse, nearest first, those at which the way
// ends included.
func (r *rig) reach(fuse *graph.Edge, from model.PinID) []graph.EdgeID {
	seen := map[model.PinID]bool{from: true}
	met := map[graph.EdgeID]bool{}
	var edges []graph.EdgeID
	queue := []model.PinID{from}
	for len(queue) > 0 {
		pin := queue[0]
		queue = queue[1:]
		for _, id := range r.h.Graph.At(pin) {
			e := r.h.Graph.Edge(id)
			if e == fuse || met[id] {
				continue
			}
			met[id] = true
			edges = append(edges, id)
			if next := e.Other(pin); !seen[next] && !r.ground[next] && r.passes(e) && (e.Kind != graph.Protect || r.in(e.Part)) {
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
	return edges
}

// behind lists what hangs on a fuse, nearest first: wires, and parts where the way ends or passes through them.
func (r *rig) behind(fuse *graph.Edge, from model.PinID) []Suspect {
	var list []Suspect
	parts := map[*model.Part]bool{fuse.Part: true}
	for _, id := range r.reach(fuse, from) {
		e := r.h.Graph.Edge(id)
		switch {
		case e.Kind == graph.Wire:
			list = append(list, Suspect{Wire: e.Wire, Pin: model.NoPin})
		case e.Part != nil && e.Kind != graph.Joined && e.Kind != graph.Protect && !parts[e.Part]:
			parts[e.Part] = true
			pin := e.A
			if !r.live[pin] {
				pin = e.B
			}
			list = append(list, Suspect{Part: e.Part, Pin: pin})
		}
	}
	return list
}

// ahead lists the fuses and breakers between a live pole and a terminal, from the pole on; behind a converter those ahead of it too.
func (r *rig) ahead(pin model.PinID) []*model.Part {
	var parts []*model.Part
	from := r.poles
	if c := r.converter(pin); c != nil {
		parts, from = r.ahead(c.input), []model.PinID{c.output}
	}
	for _, hop := range r.h.Graph.PathFrom(from, func(id model.PinID) bool { return id == pin }, r.passes) {
		if hop.Edge.Kind == graph.Protect {
			parts = append(parts, hop.Edge.Part)
		}
	}
	return parts
}

// converter is what feeds a terminal that no live pole reaches by itself; nil where one does.
func (r *rig) converter(pin model.PinID) *converter {
	to := func(id model.PinID) bool { return id == pin }
	if r.h.Graph.PathFrom(r.poles, to, r.passes) != nil {
		return nil
	}
	for i := range r.h.converters {
		c := &r.h.converters[i]
		if r.live[c.input] && c.output != pin && r.h.Graph.PathFrom([]model.PinID{c.output}, to, r.passes) != nil {
			return c
		}
	}
	return nil
}

// reading solves one setup with the fuse in; beside others it is worth telling when the fuse carries a different current there, or
// when an empty plug becomes live.
func (w *powering) reading(at *placing, s *Step, setup *Setup, before float64) (Reading, bool) {
	h := w.h
	sol := h.solve(setup, w.has)
	r := Reading{Setup: *setup, Before: before, Supply: h.supplies(sol), Volts: h.volts(sol, s.Output), Marked: h.rests(sol)}
	if i, ok := h.branch[at.edge]; ok {
		r.Amps = math.Abs(sol.Amps[i])
	}
	w.news(sol, &r)
	rig := h.settle(setup, w.has)
	for _, id := range rig.reach(at.edge, s.Output) {
		w.adds(sol, h.Graph.Edge(id), &r)
	}
	last := len(s.Readings) - 1
	return r, last < 0 || len(r.Live) > 0 || math.Abs(r.Amps-s.Readings[last].Amps) > 0.02*r.Amps+0.02
}

// news adds the cavities of empty plugs that are live for the first time.
func (w *powering) news(sol *circuit.Solution, r *Reading) {
	h := w.h
	for _, part := range w.p.Unplugged {
		for _, id := range part.Terminals() {
			if v := h.volts(sol, id); h.tells(id) && !w.live[id] && known(v) && v > h.nominal()/10 {
				w.live[id] = true
				r.Live = append(r.Live, PinVolts{id, v})
			}
		}
	}
}

// adds adds what works: a consumer that has most of its volts, a relay that pulls in.
func (w *powering) adds(sol *circuit.Solution, e *graph.Edge, r *Reading) {
	i, ok := w.h.branch[e]
	if !ok || w.h.out[e.Part] {
		return
	}
	name := ""
	switch b := &w.h.Circuit.Branches[i]; {
	case b.IsCoil() && sol.Engaged(b.Part):
		name = b.Part.Name.Text + " pulls in"
	case b.IsConsumer() && math.Abs(sol.BranchVolts(i)) > w.h.nominal()/2:
		name = w.loadName(b)
	}
	if name != "" && !slices.Contains(r.Works, name) {
		r.Works = append(r.Works, name)
	}
}

// tells reports whether volts at the cavity of an unplugged part say something. Returns, sensor supplies, screens and signals are made
// by the controller, and without it float over the sensors.
func (h *Harness) tells(id model.PinID) bool {
	switch h.Netlist.Pin(id).Role {
	case catalog.Return, catalog.Reference, catalog.Screen, catalog.Signal, catalog.Bus:
		return false
	}
	return h.Graph.Reached(id)
}

func (w *powering) loadName(b *circuit.Branch) string {
	name := b.Part.Name.Text
	if b.Edge == nil {
		return w.h.Netlist.Pin(b.Pin).String()
	}
	if b.Load != nil && b.Load.Title.IsSet() {
		return name + " " + b.Load.Title.Text
	}
	if b.Part.Title.IsSet() {
		return name + " " + b.Part.Title.Text
	}
	return name
}

// relays adds a step for every relay that an unplugged controller pulls in in some state, but those that the fuses needed.
func (w *powering) relays() {
	h := w.h
	rails := w.rails()
	var done []model.PinID
	for _, s := range h.setups() {
		for _, pin := range s.Jumpers {
			if slices.Contains(done, pin) || slices.Contains(rails, pin) {
				continue
			}
			done = append(done, pin)
			setup := s.keyed()
			for _, j := range s.Jumpers {
				if slices.Contains(rails, j) {
					setup.Jumpers = append(setup.Jumpers, j)
				}
			}
			without := h.solve(&setup, w.has)
			before := h.supplies(without)
			setup.Jumpers = append(setup.Jumpers, pin)
			step := RelayStep{Pin: pin, Reading: Reading{Setup: setup, Before: before}}
			sol := h.solve(&setup, w.has)
			step.Reading.Supply = h.supplies(sol)
			step.Reading.Marked = h.rests(sol)
			for _, e := range h.coils {
				if h.Graph.NetOf(e.A) == h.Graph.NetOf(pin) || h.Graph.NetOf(e.B) == h.Graph.NetOf(pin) {
					step.Relays = append(step.Relays, e.Part)
				}
			}
			w.starting(without, sol, &step)
			step.Coils = step.Reading.Supply
			if len(step.Loads) > 0 {
				step.Coils = h.supplies(h.solve(&setup, w.has, step.Loads...))
			}
			w.p.Relays = append(w.p.Relays, step)
		}
	}
}

// starting adds what starts with a relay.
func (w *powering) starting(before, sol *circuit.Solution, step *RelayStep) {
	for i := range w.h.Circuit.Branches {
		b := &w.h.Circuit.Branches[i]
		if b.IsConsumer() && !w.h.out[b.Part] && math.Abs(sol.BranchVolts(i)) > w.h.nominal()/2 && math.Abs(before.BranchVolts(i)) < w.h.nominal()/10 {
			step.Loads = append(step.Loads, b.Part)
			step.Reading.Works = append(step.Reading.Works, w.loadName(b))
		}
	}
}

// rails are the jumpers that the inputs of fuses need.
func (w *powering) rails() []model.PinID {
	var pins []model.PinID
	for i := range w.p.Steps {
		for _, j := range w.p.Steps[i].Setup.Jumpers {
			if !slices.Contains(pins, j) {
				pins = append(pins, j)
			}
		}
	}
	return pins
}

// plugs reads the empty plugs with all fuses in, in every key position, and once more with the jumpers that feed fuses.
func (w *powering) plugs() {
	p := w.p
	p.Columns = slices.Clone(p.Keys)
	for i := range p.Steps {
		if s := &p.Steps[i].Setup; len(s.Jumpers) > 0 {
			k := s.keyed()
			k.Jumpers = w.rails()
			p.Columns = append(p.Columns, k)
			break
		}
	}
	sols := make([]*circuit.Solution, len(p.Columns))
	for i := range sols {
		sols[i] = w.h.solve(&p.Columns[i], w.has)
	}
	for _, part := range p.Unplugged {
		plug := Plug{Part: part}
		for _, id := range part.Terminals() {
			if !w.h.tells(id) {
				continue
			}
			row := make([]float64, len(sols))
			for i, sol := range sols {
				row[i] = w.h.volts(sol, id)
			}
			plug.Pins, plug.Rows = append(plug.Pins, id), append(plug.Rows, row)
		}
		p.Plugs = append(p.Plugs, plug)
	}
}

func ratingOf(p *model.Part) float64 {
	if v := p.Value("rating"); v != nil && v.Quantity.Dim == unit.Current {
		return v.Quantity.Value
	}
	return 0
}

// solve solves a setup with some fuses in, and without the consumers of some parts.
func (h *Harness) solve(s *Setup, in func(*model.Part) bool, without ...*model.Part) *circuit.Solution {
	r := h.settle(s, in)
	o := circuit.Options{Engine: circuit.Standing, Positions: map[*model.Part]int{}}
	for _, p := range h.Netlist.Parts {
		if len(p.Inside.Coils) == 0 && len(p.Inside.Positions)+len(p.Inside.Open)+len(p.Inside.Closed) > 0 {
			o.Positions[p], _ = s.position(p)
		}
	}
	o.Open = func(b *circuit.Branch) bool { return r.away(b) || b.IsConsumer() && slices.Contains(without, b.Part) }
	for _, j := range s.Jumpers {
		o.Extra = append(o.Extra, circuit.Extra{A: j, B: h.jumperTo(j), Ohms: jumperOhms})
	}
	return h.Circuit.Solve(h.quiet(), o)
}

// away reports whether a branch is not there at first power.
func (r *rig) away(b *circuit.Branch) bool {
	switch e := b.Edge; {
	case b.Part != nil && r.h.parted(b.Part, r.bank):
		return true
	case b.Part != nil && r.h.out[b.Part] && (e == nil || e.Kind != graph.Bolted):
		return true
	case e != nil && e.Kind == graph.Protect:
		return !r.in(e.Part)
	case b.Supplies() && !b.IsBattery():
		for _, c := range r.h.converters {
			if c.part == b.Part && r.live[c.input] {
				return false
			}
		}
		return true
	}
	return false
}

// jumperTo is where the other end of a jumper goes: a ground terminal of the same controller, else the grounded pole.
func (h *Harness) jumperTo(pin model.PinID) model.PinID {
	if p := h.Netlist.Pin(pin).Owner.Device(); p != nil {
		for _, id := range p.Terminals() {
			if h.Netlist.Pin(id).Role == catalog.Ground && h.Graph.Reached(id) {
				return id
			}
		}
	}
	return h.GroundPole()
}

// JumperTo is where the other end of the jumper from an output goes.
func (h *Harness) JumperTo(pin model.PinID) model.PinID { return h.jumperTo(pin) }

// quiet is a condition in which nothing cranks: what is switched is put in by the setup.
func (h *Harness) quiet() *graph.Condition {
	for _, c := range h.conditions {
		if c.State == nil || c.State.Engine.Text != "cranking" {
			return c
		}
	}
	return h.conditions[0]
}

// supplies is what the batteries deliver in ampere: all together, those in series once.
func (h *Harness) supplies(sol *circuit.Solution) (amps float64) {
	for i := range h.Circuit.Branches {
		b := &h.Circuit.Branches[i]
		live := b.A
		if h.Netlist.Harness.PositiveGround {
			live = b.B
		}
		if b.IsBattery() && !h.Circuit.InSeries(live) {
			amps -= sol.Amps[i]
		}
	}
	return max(0, amps)
}

// volts is the voltage of a terminal against the grounded pole, without its sign; NaN where it floats.
func (h *Harness) volts(sol *circuit.Solution, pin model.PinID) float64 {
	pole := h.GroundPole()
	if pole == model.NoPin {
		return math.NaN()
	}
	v, ok := sol.Across(pin, pole)
	if !ok {
		return math.NaN()
	}
	return math.Abs(v)
}

// rests reports whether something that takes current rests on a guess of the file or an assumed value.
func (h *Harness) rests(sol *circuit.Solution) bool {
	for i := range h.Circuit.Branches {
		b := &h.Circuit.Branches[i]
		if !b.Consumes() || math.Abs(sol.Amps[i]) < 0.005 {
			continue
		}
		if b.Part.KnownFrom.Text == "guess" || h.assumed[b.Part] {
			return true
		}
	}
	return false
}
