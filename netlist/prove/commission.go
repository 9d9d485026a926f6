package prove

import (
	"cmp"
	"math"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// Limits of a finished harness, common practice for 12 V systems.
const (
	SleepTarget  = 0.030 // ampere, after the controllers have gone to sleep
	SleepLimit   = 0.050
	WarmKelvin   = 30.0 // above the air, at a fuse, relay or ring under full load
	GroundVolts  = 0.1  // between a ground pin of a controller and the metal that it is grounded to
	CrankVolts   = 9.6  // at the posts of the battery while the engine cranks, at 20 C
	ChargeLow    = 13.5 // at the posts while a generator charges
	ChargeHigh   = 14.7
	TorqueMiles1 = 50
	TorqueMiles2 = 500
)

// A Commission is what is measured on the finished harness.
type Commission struct {
	Drops   []DropTest
	Grounds []GroundTest
	Leads   []circuit.LeadReport // of generators at full output
	Charges []Charge
	Sleep   *Sleep // nil where no state has everything at rest
	Warm    []Warm // the most loaded fuses, contacts and wires, most first
	Bolts   []Bolt
}

// A DropTest is two measurements across the wiring of a consumer while it works: from the live post to its terminal, and from its
// other terminal to the grounded post.
type DropTest struct {
	Load        *circuit.LoadReport
	State       *model.State // the state in which most of its budget is used; nil for rest
	Post, Feed  model.PinID  // plus meter lead, minus meter lead of the first measurement
	Drain, Base model.PinID  // of the second; Drain is model.NoPin where the current goes back through a controller
	Through     model.PinID  // the output of that controller
	Out, Back   float64      // expected volts
	OutLimit    float64      // with the other side as expected, the loop is at its limit
	BackLimit   float64
	Limit       float64 // of both together
	Marked      bool
}

// A GroundTest is what a ground pin of a controller may lose against the metal that it is grounded to.
type GroundTest struct {
	Pin    model.PinID
	Point  *model.Part // the ground point
	Volts  float64     // the most in any state
	State  *model.State
	Limit  float64
	Marked bool
}

// A Charge is a state in which a generator delivers: what a meter shows at the posts, and the current.
type Charge struct {
	State     *model.State
	Part      *model.Part // the battery
	Volts     float64
	Generator float64 // ampere, in the mean
	Battery   float64 // into the battery
	Idle      bool
	Spare     float64 // at idle, ampere that are left; negative for a deficit. Known where IdleKnown
	IdleKnown bool
	Most      bool // the state in which most is taken
}

// Sleep is the current with everything off.
type Sleep struct {
	State *model.State
	Amps  float64
	Days  float64 // until 30 % of the battery are used
}

// A Warm is something that gets warm under load.
type Warm struct {
	Ref, Title string
	Wire       *model.Wire // nil for a fuse or contact
	State      *model.State
	Amps       float64
	Share      float64 // of its rating, or of what the wire may carry
	Kelvin     float64 // of a wire, above its surroundings
	Marked     bool
}

// A Bolt is a bolted connection that settles.
type Bolt struct {
	Ref, Title string
	Rings      int
}

// Commission works out the checks from the reports of all states, in the order of the file.
func (h *Harness) Commission(reports []*circuit.Report) *Commission {
	c := &Commission{Bolts: h.bolts(), Sleep: h.sleep(reports), Warm: h.warm(reports)}
	c.Drops = h.drops(reports)
	c.Grounds = h.grounds(reports)
	c.Charges = h.charges(reports)
	seen := map[model.PinID]bool{}
	for _, r := range reports {
		for _, l := range r.Leads {
			if !seen[l.From] {
				seen[l.From] = true
				c.Leads = append(c.Leads, l)
			}
		}
	}
	return c
}

func (h *Harness) state(i int) *model.State { return h.conditions[i].State }

// drops takes for each consumer with a budget the state that uses most of it. They stand by state, so that nobody switches to and
// fro, in each the worst first.
func (h *Harness) drops(reports []*circuit.Report) []DropTest {
	at := map[int]int{}
	var tests []DropTest
	for i, r := range reports {
		for n := range r.Loads {
			l := &r.Loads[n]
			if !l.Fed || l.Budget.Limit <= 0 {
				continue
			}
			t := h.dropTest(l, h.state(i))
			if !h.tests(l, &t) {
				continue
			}
			if old, known := at[l.Branch]; !known {
				at[l.Branch] = len(tests)
				tests = append(tests, t)
			} else if l.Drop.Loop > tests[old].Load.Drop.Loop+1e-6 {
				tests[old] = t
			}
		}
	}
	order := map[*model.State]int{}
	for i := range h.conditions {
		order[h.state(i)] = i
	}
	slices.SortStableFunc(tests, func(a, b DropTest) int {
		return cmp.Or(cmp.Compare(order[a.State], order[b.State]), cmp.Compare(b.used(), a.used()))
	})
	return tests
}

// used is the share of the limit that the loop is expected to use, to a thousandth, so that equal ones keep their order.
func (t *DropTest) used() float64 { return math.Round(1000*t.Load.Drop.Loop/t.Limit) / 1000 }

// leastDropAmps is the current from which a drop test says something; what keeps a controller alive is tested with less.
const leastDropAmps = 0.25

// leastSide is the share of the limit of a loop that one side of it may take in any case.
const leastSide = 0.1

// tests reports whether a meter can find the drop of a consumer from outside: it takes enough, and no diode, gauge or sensor lies in
// its chain.
func (h *Harness) tests(l *circuit.LoadReport, t *DropTest) bool {
	if l.Drop.Inside > 0.02 && t.Through == model.NoPin {
		return false
	}
	return math.Abs(l.Amps) >= leastDropAmps || l.Budget.Class == "controller"
}

func (h *Harness) dropTest(l *circuit.LoadReport, state *model.State) DropTest {
	b := &h.Circuit.Branches[l.Branch]
	t := DropTest{Load: l, State: state, Out: max(0, l.Drop.Out), Back: max(0, l.Drop.Back), Limit: float64(l.Budget.Limit), Through: model.NoPin,
		Marked: l.Drop.LoopMarked() || l.Guessed}
	from, to := b.A, b.B
	if l.Amps < 0 {
		from, to = to, from
	}
	t.Feed, t.Post = h.outward(from, l.Drop.Supply, true)
	t.Drain, t.Base = h.outward(to, l.Drop.Return, false)
	for _, i := range l.Drop.Return {
		if o := &h.Circuit.Branches[i]; o.IsOutput() {
			t.Through, t.Drain = o.A, model.NoPin
		}
	}
	share := 0.5
	if sum := t.Out + t.Back; sum > 0 {
		share = t.Out / sum
	}
	t.OutLimit, t.BackLimit = t.Limit*max(leastSide, share), t.Limit*max(leastSide, 1-share)
	return t
}

// outward walks the chain of a consumer: to the first terminal that a probe can reach, and to the post that its volts count from. That
// is where the chain ends, or, where it ends at a generator, the post of the first battery.
func (h *Harness) outward(pin model.PinID, chain []int, plus bool) (near, post model.PinID) {
	near, post = model.NoPin, pin
	for _, i := range chain {
		if near == model.NoPin && h.Graph.Reached(post) {
			near = post
		}
		b := &h.Circuit.Branches[i]
		post = b.A + b.B - post
	}
	if near == model.NoPin {
		near = pin
	}
	first := model.NoPin
	for i := range h.Circuit.Branches {
		b := &h.Circuit.Branches[i]
		end := b.B
		if plus {
			end = b.A
		}
		switch {
		case b.IsBattery() && end == post:
			return near, post
		case b.IsBattery() && first == model.NoPin:
			first = end
		}
	}
	if p := h.Netlist.Pin(post).Owner.Device(); first != model.NoPin && p != nil && p.Kind.Symbol == "generator" {
		return near, first
	}
	return near, post
}

// grounds takes for each ground pin of a controller the state in which it loses most.
func (h *Harness) grounds(reports []*circuit.Report) []GroundTest {
	var tests []GroundTest
	for _, p := range h.Netlist.Parts {
		if p.Kind.Symbol != "module" {
			continue
		}
		for _, id := range p.Terminals() {
			if h.Netlist.Pin(id).Role != catalog.Ground || !h.Graph.Reached(id) {
				continue
			}
			point := h.pointOf(id)
			if point == nil || point.Body == nil {
				continue
			}
			t := GroundTest{Pin: id, Point: point, Volts: -1, Limit: GroundVolts * h.nominal() / 12}
			for i, r := range reports {
				if v, ok := r.Solution.Across(id, point.Body.Pin); ok && math.Abs(v) > t.Volts+1e-9 {
					t.Volts, t.State = math.Abs(v), h.state(i)
					t.Marked = h.rests(r.Solution)
				}
			}
			if t.Volts >= 0 {
				tests = append(tests, t)
			}
		}
	}
	return tests
}

// pointOf is the ground point that a terminal is wired to; nil without one.
func (h *Harness) pointOf(id model.PinID) *model.Part {
	for _, pin := range h.Graph.NetOf(id).Pins {
		if p := h.Netlist.Pin(pin).Owner.Part; p != nil && p.Kind.Name == "ground point" {
			return p
		}
	}
	return nil
}

// charges takes the first state with a running engine, as it is at idle and at speed, and the one in which most is taken.
func (h *Harness) charges(reports []*circuit.Report) []Charge {
	first, most := -1, -1
	for i, r := range reports {
		if !r.Balance.Charging || r.Balance.Generator <= 0 {
			continue
		}
		if first < 0 {
			first = i
		}
		if most < 0 || r.Balance.Demand > reports[most].Balance.Demand+1e-6 {
			most = i
		}
	}
	if first < 0 {
		return nil
	}
	charges := []Charge{h.charge(first, reports[first])}
	if most != first {
		charges = append(charges, h.charge(most, reports[most]))
	}
	charges[len(charges)-1].Most = true
	return charges
}

func (h *Harness) charge(i int, r *circuit.Report) Charge {
	c := Charge{State: h.state(i), Generator: r.Balance.Generator, Battery: -r.Balance.Battery, Spare: r.Balance.IdleSpare, IdleKnown: r.Balance.IdleKnown}
	for n := range h.Circuit.Branches {
		if b := &h.Circuit.Branches[n]; b.IsBattery() && c.Part == nil {
			c.Part = b.Part
			c.Volts = math.Abs(r.Mean.BranchVolts(n))
		}
	}
	return c
}

// sleep takes the state with everything at rest and nothing driven that takes least.
func (h *Harness) sleep(reports []*circuit.Report) *Sleep {
	var s *Sleep
	for i, r := range reports {
		state := h.state(i)
		if state == nil || circuit.Charges(state) || len(state.Driven) > 0 || len(state.Pulled) > 0 || state.Engine.Text == "running" || state.Engine.Text == "cranking" {
			continue
		}
		if slices.ContainsFunc(state.Switches, func(w model.Setting) bool { return w.Part != nil && w.Position != w.Part.Inside.Rest }) {
			continue
		}
		if amps := max(0, r.Balance.Battery); s == nil || amps < s.Amps {
			s = &Sleep{State: state, Amps: amps, Days: r.Balance.Days}
		}
	}
	return s
}

// mostWarm is how many warm things are listed; leastShare from which share of its rating something is worth a touch.
const (
	mostWarm   = 14
	leastShare = 0.4
)

// warm lists fuses, contacts and wires by the share of what they may carry in their worst state.
func (h *Harness) warm(reports []*circuit.Report) []Warm {
	var list []Warm
	at := map[string]int{}
	add := func(w Warm) {
		old, known := at[w.Ref]
		switch {
		case w.Share < leastShare:
		case !known:
			at[w.Ref] = len(list)
			list = append(list, w)
		case w.Share > list[old].Share+1e-9:
			list[old] = w
		}
	}
	for i, r := range reports {
		for _, f := range r.Fuses {
			add(Warm{Ref: f.Part.Name.Text, Title: f.Part.Title.Text, State: h.state(i), Amps: f.RMS, Share: f.Share(), Marked: h.rests(r.Solution)})
		}
		for _, k := range r.Contacts {
			add(Warm{Ref: k.Part.Name.Text, Title: k.Part.Title.Text, State: h.state(i), Amps: k.RMS, Share: k.Share(), Marked: h.rests(r.Solution)})
		}
		for _, w := range r.Wires {
			if !w.Brief {
				add(Warm{Ref: w.Wire.Name.Text, Title: "wire", Wire: w.Wire, State: h.state(i), Amps: w.RMS, Share: w.Share(), Kelvin: float64(w.Celsius - w.Ambient), Marked: true})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Warm) int { return cmp.Compare(math.Round(b.Share*1000), math.Round(a.Share*1000)) })
	if len(list) > mostWarm {
		list = list[:mostWarm]
	}
	return list
}

// bolts lists posts of batteries, ground points, studs and bars, bolt-in fuses, and the main terminals of starters and generators.
func (h *Harness) bolts() []Bolt {
	var list []Bolt
	for _, p := range h.Netlist.Parts {
		v := p.Value("family")
		switch {
		case p.Kind.Symbol == "battery", p.Kind.Name == "fuse" && v != nil && v.Word.Text == "bolt-in":
			h.addTerminals(&list, p, func(model.PinID) bool { return true })
		case p.Kind.Name == "starter":
			h.addTerminals(&list, p, func(id model.PinID) bool { return h.Netlist.Pin(id).Name == "30" })
		case p.Kind.Symbol == "generator":
			h.addTerminals(&list, p, func(id model.PinID) bool { return len(p.Inside.Sources) > 0 && id == h.output(p) })
		case p.Owner.Joined && p.Kind.Symbol != "":
			if rings := h.rings(p.Owner.Pins...); rings > 0 {
				list = append(list, Bolt{p.Name.Text, p.Title.Text, rings})
			}
		}
	}
	return list
}

// output is the first terminal of a generator that a conductor ends at and that is no case.
func (h *Harness) output(p *model.Part) model.PinID {
	for _, id := range p.Owner.Pins {
		if h.Graph.Reached(id) && h.Netlist.Pin(id).Name != model.CasePin {
			return id
		}
	}
	return model.NoPin
}

func (h *Harness) addTerminals(list *[]Bolt, p *model.Part, want func(model.PinID) bool) {
	for _, id := range p.Owner.Pins {
		if rings := h.rings(id); want(id) && h.Graph.Reached(id) && id != model.NoPin && h.Netlist.Pin(id).Name != model.CasePin {
			*list = append(*list, Bolt{h.Netlist.Pin(id).String(), p.Title.Text, max(1, rings)})
		}
	}
}

func (h *Harness) rings(pins ...model.PinID) int {
	count := 0
	for _, id := range pins {
		for _, e := range h.Graph.At(id) {
			if h.Graph.Edge(e).Kind == graph.Wire {
				count++
			}
		}
	}
	return count
}
