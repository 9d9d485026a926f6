package sizing

import (
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

const protectKind = graph.Protect

// Options say what sizes are chosen from.
type Options struct {
	Units string // "awg" or "mm2"; empty for the units of each wire as it is written, and of the harness where it has no size

	Circuit *circuit.Circuit // of the same harness, where there is one already; else it is made
}

// A Report is the study of a whole harness: every wire and every fuse in the order of the file.
type Report struct {
	Wires       []*Wire
	Fuses       []*Fuse
	Starting    []Starting
	Missing     []circuit.Missing
	Assumptions []circuit.Assumption
	Estimates   []circuit.Estimate
	Unsettled   []string // states whose solution did not come to rest; their currents are not used

	netlist *model.Netlist
}

// Starting is the loop of a starter while it turns the engine.
type Starting struct {
	Part          *model.Part
	State         string
	Amps          unit.Ampere
	Loop          unit.Volt
	Target, Limit unit.Volt
	Cables        []Cable
}

// Cable is what one cable of a starter's loop loses while cranking, its two connections included.
type Cable struct {
	Wire  *model.Wire
	Volts unit.Volt
}

// A study is a report in the making.
type study struct {
	g        *graph.Graph // with provisional sizes on wires that have none
	routes   *route.Routes
	o        Options
	cable    string // the harness's word for what a size means
	c        *circuit.Circuit
	zones    *zones
	lay      *lay
	trail    *trail
	passing  map[int]unit.Ampere // by branch that is a fuse: the rated output of the generators that charge the battery through it
	branchOf map[*model.Wire]int // by the wire of the file
	sized    map[*model.Wire]*model.Wire
	burdens  []burden
	drops    [][]Limit
	inrushes [][]inrush
	guessed  []bool
	report   *Report
}

// rounds is how often provisional sizes are corrected; they only grow, so that this ends.
const rounds = 8

// New studies a harness as it is written. Wires without a size are studied with the least size that suits them, found by
// trying: the rest of the harness could not be solved without them.
func New(g *graph.Graph, routes *route.Routes, o Options) *Report {
	try := map[*model.Wire]unit.Size{}
	var st *study
	for range rounds {
		st = newStudy(g, routes, o, try)
		st.solve()
		st.finish()
		grown := false
		for _, w := range st.report.Wires {
			if w.Verdict == NoSize && w.Least.IsSet() && w.Least.AreaMM2() > try[w.Wire].AreaMM2()*(1+1e-9) {
				try[w.Wire] = w.Least
				grown = true
			}
		}
		if !grown {
			break
		}
	}
	return st.report
}

// newStudy makes the network. The graph is copied only where a wire needs a provisional size.
func newStudy(g *graph.Graph, routes *route.Routes, o Options, try map[*model.Wire]unit.Size) *study {
	st := &study{routes: routes, o: o, cable: g.Netlist.Harness.Cable, sized: map[*model.Wire]*model.Wire{}, branchOf: map[*model.Wire]int{}, report: &Report{netlist: g.Netlist}}
	copied := *g
	copied.Edges = slices.Clone(g.Edges)
	for i := range copied.Edges {
		w := copied.Edges[i].Wire
		if w == nil || w.Size.IsSet() {
			continue
		}
		stand := *w
		if stand.Size = try[w]; !stand.Size.IsSet() {
			stand.Size = st.sizesFor(w)[0]
		}
		st.sized[&stand] = w
		copied.Edges[i].Wire = &stand
	}
	st.g = &copied
	if st.c = o.Circuit; st.c == nil || len(st.sized) > 0 {
		st.c = circuit.New(st.g, routes)
	}
	st.zones = findZones(g)
	st.lay = newLay(st.c, routes)
	st.trail, st.passing = newTrail(), map[int]unit.Ampere{}
	for i := range st.c.Branches {
		if w := st.c.Branches[i].Wire; w != nil {
			st.branchOf[st.original(w)] = i
		}
	}
	st.burdens = make([]burden, len(st.c.Branches))
	for i := range st.burdens {
		st.burdens[i].loaded, st.burdens[i].bundle = 1, 1
	}
	st.drops = make([][]Limit, len(st.c.Branches))
	st.inrushes = make([][]inrush, len(st.c.Branches))
	st.guessed = make([]bool, len(st.c.Branches))
	return st
}

// original is the wire of the file that a wire of the network stands for.
func (st *study) original(w *model.Wire) *model.Wire {
	if o, stands := st.sized[w]; stands {
		return o
	}
	return w
}

// written reports whether the file gives a wire a size.
func (st *study) written(w *model.Wire) bool { return w.Size.IsSet() }

// solve goes through all states and keeps what each asks of the branches.
func (st *study) solve() {
	at, post := branchesAt(st.c), posts(st.c)
	for _, cond := range st.g.Conditions() {
		s := st.c.Solve(cond, circuit.Options{})
		if s.Err != nil || !s.Settled {
			st.report.Unsettled = append(st.report.Unsettled, s.State)
			continue
		}
		st.state(s, newTracer(st.c, s, at, post).flows())
	}
	st.generators()
	st.batteryLeads()
	st.banksJoined()
}

func (st *study) state(s *circuit.Solution, flows []flow) {
	st.follow(flows)
	rms := effective(st.c, s, flows)
	hot := loaded(st.c, rms)
	heating := st.lay.heating(hot)
	for i := range st.c.Branches {
		st.burden(i, s, rms[i], func() int { return st.lay.around(i, hot[i], heating) })
	}
	peaks := make([]float64, len(s.Amps))
	for i, a := range s.Amps {
		peaks[i] = math.Abs(a)
	}
	inrushOf(st.c, flows, peaks, st.inrushes)
	cranking := slices.ContainsFunc(flows, func(f flow) bool { return st.isMotor(f) })
	for _, f := range flows {
		st.guess(f)
		if cranking && !st.isMotor(f) {
			continue // what a running engine's budgets say means nothing while the starter pulls the battery down
		}
		for _, d := range dropsOf(st.c, s, f) {
			for branch, l := range d.limits(st.c) {
				st.drops[branch] = append(st.drops[branch], l)
			}
		}
		if st.isMotor(f) {
			st.starting(s, f)
		}
	}
}

// isMotor reports whether a flow is that of a starter's motor, and not of its solenoid.
func (st *study) isMotor(f flow) bool {
	b := &st.c.Branches[f.consumer]
	return b.Cranks() && b.Load == nil
}

// burden keeps the worst state of a branch: the one in which current and bundle together ask for most. around counts the loaded wires
// beside it.
func (st *study) burden(i int, s *circuit.Solution, rms float64, around func() int) {
	worst := &st.burdens[i]
	worst.peak = max(worst.peak, math.Abs(s.Amps[i]))
	count, factor, source := 1, 1.0, noBundle
	if st.c.Branches[i].Wire != nil {
		count = around()
		factor, source = conductor.BundleFactor(count)
	}
	if needed := rms / factor; needed > worst.needed {
		worst.needed, worst.rms, worst.state = needed, rms, s.State
		worst.loaded, worst.bundle, worst.bundleSource = count, factor, source
	}
}

// guess marks the branches on which a consumer has a say whose numbers are guessed or assumed.
func (st *study) guess(f flow) {
	p := st.c.Branches[f.consumer].Part
	if p == nil || p.KnownFrom.Text != "guess" && !slices.ContainsFunc(st.c.Assumptions, func(a circuit.Assumption) bool { return a.Part == p }) {
		return
	}
	for _, part := range f.parts {
		if part.amps >= 0.05*f.amps {
			st.guessed[part.branch] = true
		}
	}
}

// starting keeps the worst cranking loop of a starter.
func (st *study) starting(s *circuit.Solution, f flow) {
	b := &st.c.Branches[f.consumer]
	found := Starting{Part: b.Part, State: s.State, Amps: unit.Ampere(f.amps)}
	if limit, ok := st.c.BudgetOf(b); ok {
		found.Target, found.Limit = limit.Target, limit.Limit
	}
	for _, p := range f.parts {
		volts, known := s.Across(st.c.Branches[p.branch].A, st.c.Branches[p.branch].B)
		if !known {
			return
		}
		found.Loop += unit.Volt(math.Abs(volts) * p.amps / f.amps)
		if w := st.c.Branches[p.branch].Wire; w != nil && p.amps >= 0.05*f.amps {
			found.Cables = append(found.Cables, Cable{st.original(w), unit.Volt(math.Abs(volts))})
		}
	}
	for i := range st.report.Starting {
		if old := &st.report.Starting[i]; old.Part == b.Part {
			if found.Loop > old.Loop {
				*old = found
			}
			return
		}
	}
	st.report.Starting = append(st.report.Starting, found)
}

// generators lets the cables between a generator and the poles of the battery carry the rated output, which no state of a file
// need bring about.
func (st *study) generators() {
	for i := range st.g.Edges {
		e := &st.g.Edges[i]
		if e.Kind != graph.Source {
			continue
		}
		v := e.Part.Value("output")
		if v == nil || !(v.Quantity.Value > 0) || e.Index > 0 {
			continue
		}
		own := st.rated(e.A, v.Quantity.Value)
		own = append(own, st.rated(e.B, v.Quantity.Value)...)
		st.generatorLeads(own)
	}
}

// rated raises what the wires on the shortest way from a pole of a generator to one of the battery carry.
func (st *study) rated(from model.PinID, output float64) []graph.Hop {
	post := posts(st.c)
	hops := st.g.PathTo(from, func(pin model.PinID) bool { return post[pin] }, func(e *graph.Edge) bool { return e.Kind.Conducts() })
	for _, h := range hops {
		if h.Edge.Kind == protectKind {
			st.passes(h.Edge, output)
		}
		if h.Edge.Wire == nil {
			continue
		}
		branch, known := st.branchOf[st.original(h.Edge.Wire)]
		if !known {
			continue
		}
		if load := &st.burdens[branch]; output/load.bundle > load.needed {
			load.needed, load.rms, load.peak = output/load.bundle, output, max(load.peak, output)
			load.state, load.ratedByOutput = "rated output", true
		}
	}
	return hops
}

// passes notes that a generator charges the battery through a fuse.
func (st *study) passes(fuse *graph.Edge, output float64) {
	for i := range st.c.Branches {
		if st.c.Branches[i].Edge == fuse {
			st.passing[i] = max(st.passing[i], unit.Ampere(output))
		}
	}
}

// generatorLeads holds the leads of a generator, the way back among them, against the smallest fuse between it and the battery.
func (st *study) generatorLeads(hops []graph.Hop) {
	least := stop{}
	for _, h := range hops {
		if h.Edge.Kind != protectKind {
			continue
		}
		if v := h.Edge.Part.Value("rating"); v != nil && v.Quantity.Value > 0 && (least.part == nil || v.Quantity.Value < least.amps) {
			least = stop{part: h.Edge.Part, amps: v.Quantity.Value}
		}
	}
	for _, h := range hops {
		if h.Edge.Wire == nil || least.part == nil {
			continue
		}
		if branch, known := st.branchOf[st.original(h.Edge.Wire)]; known {
			st.trail.lead(branch, least, "lead of the generator behind "+least.String())
		}
	}
}

// finish writes the report.
func (st *study) finish() {
	r := st.report
	r.Missing, r.Assumptions, r.Estimates = st.c.Missing, st.c.Assumptions, st.c.Estimates
	for _, w := range st.g.Netlist.Wires {
		if branch, known := st.branchOf[w]; known {
			r.Wires = append(r.Wires, st.wire(branch))
		} else {
			r.Wires = append(r.Wires, &Wire{Wire: w})
		}
	}
	for _, i := range st.protectors() {
		r.Fuses = append(r.Fuses, st.fuse(i))
	}
}
