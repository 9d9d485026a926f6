package prove

import (
	"cmp"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// PrimeSeconds is how long a controller runs the fuel pump when the key is switched on, and CrankSeconds how long an engine is
// cranked at a time: common practice.
const (
	PrimeSeconds = 2
	CrankSeconds = 10
)

// A Start is the first start of an engine that the harness has a part in. What the harness has nothing of is nil or empty.
type Start struct {
	Controllers []*model.Part
	Starters    []*model.Part
	Pumps       []Load // fuel pumps with the key on and the engine off
	PrimeState  *model.State
	PumpPins    []*model.Pin // outputs of controllers that work the pump relay
	Inertia     []*model.Part
	Interlocks  []*model.Part
	Injectors   []*model.Part
	Coils       []*model.Part
	KeepOut     []Kept        // fuses that feed nothing but injectors and coils: out until the pump and the sensors are proved
	Shared      []*model.Part // fuses that feed injectors or coils and something else: these are unplugged instead

	Crank    *Crank
	AfterRun []*model.Part // controllers that stay awake after the key is off
	Written  []*model.Pin  // pins of controllers of which the file says what a meter should read
}

// A Kept is a fuse that stays out at first, and what it feeds.
type Kept struct {
	Fuse  *model.Part
	Feeds []*model.Part
}

// A Load is a consumer as it works in a state.
type Load struct {
	Part   *model.Part
	Name   string
	Volts  float64
	Amps   float64
	Least  float64 // that it works from; 0 when not stated
	Marked bool
}

// A Crank is what stays and what drops out while the engine cranks.
type Crank struct {
	State   *model.State
	Posts   float64 // volts at the battery
	Amps    float64 // of the starters
	Marked  bool
	Stay    []Load        // what the engine needs, and what the file needs in that state
	Missing []*model.Part // of these, what has nothing: a fault of the harness
	Keep    []*model.Part // fuses that stay live
	Drop    []*model.Part // fuses that are live with the key on and dead while cranking
	Against *model.State  // the state that Drop is told against
}

// needs lists the functions without which no engine starts.
var needs = []string{"controller", "fuel pump", "injection", "ignition"}

// Start works out the first start from the reports of all states, in the order of the file; nil where the harness has neither
// starter nor controller, fuel pump, injection or ignition.
func (h *Harness) Start(reports []*circuit.Report) *Start {
	s := &Start{}
	for _, p := range h.Netlist.Parts {
		switch {
		case p.Function.Text == "controller" && p.Kind.Symbol == "module":
			s.Controllers = append(s.Controllers, p)
		case p.Kind.Name == "starter":
			s.Starters = append(s.Starters, p)
		case p.Function.Text == "inertia switch":
			s.Inertia = append(s.Inertia, p)
		case p.Function.Text == "start interlock":
			s.Interlocks = append(s.Interlocks, p)
		case p.Kind.Name == "injector" || p.Function.Text == "injection":
			s.Injectors = append(s.Injectors, p)
		case p.Kind.Name == "ignition coil" || p.Function.Text == "ignition":
			s.Coils = append(s.Coils, p)
		}
		if p.AfterRun.IsSet() && p.AfterRun.Value > 0 {
			s.AfterRun = append(s.AfterRun, p)
		}
	}
	h.prime(s, reports)
	if len(s.Controllers)+len(s.Starters)+len(s.Injectors)+len(s.Coils)+len(s.Pumps) == 0 {
		return nil
	}
	h.keepOut(s, reports)
	s.Crank = h.crank(reports)
	for _, p := range s.Controllers {
		for _, id := range p.Terminals() {
			if pin := h.Netlist.Pin(id); pin.Expect.IsSet() && h.Graph.Reached(id) {
				s.Written = append(s.Written, pin)
			}
		}
	}
	return s
}

func (h *Harness) function(b *circuit.Branch) string {
	if b.Load != nil && b.Load.Function.IsSet() {
		return b.Load.Function.Text
	}
	return b.Part.Function.Text
}

func (h *Harness) load(l *circuit.LoadReport) Load {
	b := &h.Circuit.Branches[l.Branch]
	out := Load{Part: b.Part, Name: l.Ref, Volts: l.Drop.Volts, Amps: math.Abs(l.Amps), Marked: l.Guessed}
	if l.Title != "" {
		out.Name += " " + l.Title
	}
	if b.Part.WorksFrom.IsSet() {
		out.Least = b.Part.WorksFrom.Value
	}
	return out
}

// prime finds the fuel pumps in the first state with the engine off in which they run.
func (h *Harness) prime(s *Start, reports []*circuit.Report) {
	for i, r := range reports {
		state := h.state(i)
		if state == nil || state.Engine.Text == "running" || state.Engine.Text == "cranking" || circuit.Charges(state) {
			continue
		}
		for n := range r.Loads {
			if b := &h.Circuit.Branches[r.Loads[n].Branch]; h.function(b) == "fuel pump" {
				s.Pumps = append(s.Pumps, h.load(&r.Loads[n]))
				s.PrimeState = state
			}
		}
		if s.PrimeState != nil {
			h.pumpPins(s, state)
			return
		}
	}
}

// pumpPins are the driven outputs that work a relay whose contact feeds a pump.
func (h *Harness) pumpPins(s *Start, state *model.State) {
	for _, ref := range state.Driven {
		if ref.ID == model.NoPin || !h.relaySink(ref.ID) {
			continue
		}
		net := h.Graph.NetOf(ref.ID)
		for _, coil := range h.coils {
			if h.Graph.NetOf(coil.A) != net && h.Graph.NetOf(coil.B) != net {
				continue
			}
			for _, pair := range coil.Part.Inside.Open {
				if pin := h.Netlist.Pin(ref.ID); h.feedsPump(pair.A) || h.feedsPump(pair.B) {
					if !slices.Contains(s.PumpPins, pin) {
						s.PumpPins = append(s.PumpPins, pin)
					}
				}
			}
		}
	}
}

func (h *Harness) feedsPump(pin model.PinID) bool {
	for _, id := range h.Graph.NetOf(pin).Pins {
		for _, e := range h.Graph.At(id) {
			if edge := h.Graph.Edge(e); edge.Kind == graph.Load && cmp.Or(edge.Part.Inside.Loads[edge.Index].Function.Text, edge.Part.Function.Text) == "fuel pump" {
				return true
			}
		}
	}
	return false
}

// keepOut sorts the fuses nearest to injectors and coils by what else hangs on them.
func (h *Harness) keepOut(s *Start, reports []*circuit.Report) {
	fires := func(p *model.Part) bool { return slices.Contains(s.Injectors, p) || slices.Contains(s.Coils, p) }
	var fuses []*model.Part
	others, feeds := map[*model.Part]bool{}, map[*model.Part][]*model.Part{}
	for _, r := range reports {
		for i := range r.Loads {
			l := &r.Loads[i]
			fuse := h.nearest(l)
			if fuse == nil {
				continue
			}
			part := h.Circuit.Branches[l.Branch].Part
			if !fires(part) {
				others[fuse] = true
				continue
			}
			if !slices.Contains(fuses, fuse) {
				fuses = append(fuses, fuse)
			}
			if !slices.Contains(feeds[fuse], part) {
				feeds[fuse] = append(feeds[fuse], part)
			}
		}
		for i := range h.Circuit.Branches { // a coil of a relay that hangs on the fuse is something else too
			if b := &h.Circuit.Branches[i]; b.IsCoil() {
				for _, f := range fuses {
					if h.hangs(b, f) {
						others[f] = true
					}
				}
			}
		}
	}
	for _, p := range h.Netlist.Parts {
		if slices.Contains(fuses, p) && others[p] {
			s.Shared = append(s.Shared, p)
		} else if slices.Contains(fuses, p) {
			s.KeepOut = append(s.KeepOut, Kept{p, feeds[p]})
		}
	}
}

// hangs reports whether one end of a branch is on a net at the fuse.
func (h *Harness) hangs(b *circuit.Branch, fuse *model.Part) bool {
	for _, pair := range fuse.Inside.Protects {
		out := h.Graph.NetOf(pair.B)
		if h.Graph.NetOf(b.A) == out || h.Graph.NetOf(b.B) == out {
			return true
		}
	}
	return false
}

// nearest is the fuse or breaker that a consumer's current passes last; nil for none.
func (h *Harness) nearest(l *circuit.LoadReport) *model.Part {
	for _, i := range l.Drop.Supply {
		if e := h.Circuit.Branches[i].Edge; e != nil && e.Kind == graph.Protect {
			return e.Part
		}
	}
	return nil
}

// crank compares the first cranking state with the first state before it that has the engine off and most fuses live.
func (h *Harness) crank(reports []*circuit.Report) *Crank {
	at := slices.IndexFunc(h.conditions, func(c *graph.Condition) bool { return c.State != nil && c.State.Engine.Text == "cranking" })
	if at < 0 {
		return nil
	}
	r := reports[at]
	c := &Crank{State: h.state(at), Marked: h.rests(r.Solution)}
	for i := range h.Circuit.Branches {
		b := &h.Circuit.Branches[i]
		if b.IsBattery() && c.Posts == 0 {
			c.Posts = math.Abs(r.Solution.BranchVolts(i))
		}
		if b.IsMotorOfStarter() {
			c.Amps += math.Abs(r.Solution.Amps[i])
		}
	}
	works := map[*model.Part]bool{}
	for i := range r.Loads {
		b := &h.Circuit.Branches[r.Loads[i].Branch]
		works[b.Part] = true
		if h.needed(b.Part, c.State) || b.Load != nil && names(b.Load.NeededIn, c.State) || slices.Contains(needs, h.function(b)) {
			c.Stay = append(c.Stay, h.load(&r.Loads[i]))
		}
	}
	for _, p := range h.Netlist.Parts {
		if h.needed(p, c.State) && !works[p] {
			c.Missing = append(c.Missing, p)
		}
	}
	h.sheds(c, at, reports)
	return c
}

func (h *Harness) needed(p *model.Part, s *model.State) bool {
	return names(p.NeededIn, s)
}

// names reports whether a state is among those of a needed-in.
func names(all []model.Name, s *model.State) bool {
	return slices.ContainsFunc(all, func(n model.Name) bool { return n.Text == s.Name.Text })
}

// sheds sorts the fuses by whether their outputs are live while cranking, among those live with the key on.
func (h *Harness) sheds(c *Crank, at int, reports []*circuit.Report) {
	var on int
	most := -1
	count := func(i int) (live []*model.Part) {
		for _, n := range h.fuses {
			b := &h.Circuit.Branches[n]
			if b.Part.Spare.On {
				continue
			}
			if v := h.volts(reports[i].Solution, b.B); known(v) && v > h.nominal()/10 {
				live = append(live, b.Part)
			}
		}
		return live
	}
	for i := range reports {
		if s := h.state(i); s == nil || s.Engine.Text == "cranking" || s.Engine.Text == "running" || circuit.Charges(s) {
			continue
		}
		if n := len(count(i)); n > most {
			on, most = i, n
		}
	}
	if most < 0 {
		return
	}
	c.Against = h.state(on)
	cranking := count(at)
	for _, p := range count(on) {
		if slices.Contains(cranking, p) {
			c.Keep = append(c.Keep, p)
		} else {
			c.Drop = append(c.Drop, p)
		}
	}
}
