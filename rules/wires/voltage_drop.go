package wires

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/conductor"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "voltage-drop", Severity: diag.Error, Harm: rules.Annoys, Since: "0.2",
	Title: "a consumer loses more volts on its way than its kind may",
	Doc: `In the vehicle a pump with too few volts delivers too little, a lamp that has lost 0.7 V gives a sixth less light, a coil
fires late. The rule solves every state and measures each consumer while it is on, with warm copper and with contacts, against the
budget of its kind: a target for the wires that it has to itself, a limit for the whole loop from the posts of the battery.

What is found, in this order. An error: its own current alone, over every wire and contact of the loop, already passes the
limit, whatever else is on. A warning: it passes its target on the wires that it has to itself; thicker wire is the cure. A
note: it passes its limit only because others draw current over the same feed or ground; one for each such feed, with all
consumers that suffer. That is a note since the budgets of the trade are figures for one consumer at its running current, with no
figure for all that shares a key switch at its worst moment. It becomes a warning when the loop passes the limit by more than the setting
others, half the limit when left out: beyond that a lamp has lost another sixth of its light.

Resistances of contacts are estimates of the trade, good to a factor of two. What passes a budget only with them as
estimated, and not with half of them, is a note and says so; a note is not made of less than a twentieth, unless
` + "`ferrule size`" + ` calls a wire too thin for it: what one of the two says, the other says too, and the help names the wires.

Consumers without a budget (sensors, coils of relays, solenoids of starters) and states that do not settle are not judged.
The key budget = "lamp" on a part takes another budget. Change the size that is pointed at, or where feeder or ground is the
cause, the shared wire.`,
	Sources: []string{
		"common practice for target and limit by kind of consumer: controller 0.3/0.5 V, valve 0.5/0.75, ignition 0.65/0.75, pump 0.6/0.8, head lamp 0.5/0.7, fan 0.5/0.8, blower 0.75/1.0, lamp 0.8/1.2, accessory 0.9/1.2, starter loop 0.5/0.8 (12 V; others in proportion)",
		"ISO 6722-1: resistance of conductors (testdata/reference/metric-conductors.csv); SAE J1128: areas (testdata/reference/sae-conductor-area.csv)",
	},
	Settings: []rules.Setting{{Key: "others", Dim: unit.Share, Default: 0.5,
		Doc: "how far a loop may pass its limit through the current of other consumers before that is a warning and no note; chosen here, another sixth of a lamp's light"}},
	Bad: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "15 A" }
M1 = { kind = "motor", title = "Fuel pump", load = "7 A" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "10 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "M1:1", size = "18 AWG", length = "6 m" }
W3 = { from = "M1:2", to = "BAT1:-", size = "10 AWG", length = "0.7 m" }
`,
	Good: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "15 A" }
M1 = { kind = "motor", title = "Fuel pump", load = "7 A" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "10 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "M1:1", size = "12 AWG", length = "6 m" }
W3 = { from = "M1:2", to = "BAT1:-", size = "10 AWG", length = "0.7 m" }
`,
	Run: func(p *rules.Pass) {
		d := &drops{Pass: p, alone: map[int]*worse[loss]{}, own: map[int]*worse[loss]{}, shared: map[int]*worse[loss]{}, thin: tooThin(p), told: map[int]bool{}}
		for cond, r := range settled(p) {
			for i := range r.Loads {
				d.take(cond, r, &r.Loads[i])
			}
		}
		d.report()
	},
})

// contactsBest is the share of their estimated resistance that contacts have when they are as good as they get.
const contactsBest = 0.5

// A step is an element of the way of a consumer's current.
type step struct {
	branch *circuit.Branch
	volts  float64 // in the state
	amps   float64 // in the state
	alone  float64 // with the consumer's current alone
	own    bool    // the consumer has it to itself
}

// A loss is what a consumer loses in a state.
type loss struct {
	cond          *graph.Condition
	load          *circuit.LoadReport
	steps         []step
	alone         float64 // of the loop, by the consumer's own current
	aloneContacts float64 // of alone, on contacts and joints whose resistance is an estimate
}

// drops is one run of the rule: by consumer, the worst state of each of the three measures.
type drops struct {
	*rules.Pass
	alone, own, shared map[int]*worse[loss]
	order              []int
	thin               map[int][]thinWire // by consumer
	told               map[int]bool       // consumers with a finding
}

// A thinWire is a wire that the study of sizes calls too thin, for what a consumer loses.
type thinWire struct {
	wire  *model.Wire
	limit *sizing.Limit
}

// tooThin finds the wires that the study of sizes calls too thin because of a drop, by the branch of the consumer.
func tooThin(p *rules.Pass) map[int][]thinWire {
	out := map[int][]thinWire{}
	for _, w := range p.Sizing().Wires {
		for i := range w.Limits {
			if l := &w.Limits[i]; (l.Rule == sizing.BranchDrop || l.Rule == sizing.LoopDrop) && !l.Met && !l.Beyond && w.Verdict == sizing.TooThin {
				out[l.Load] = append(out[l.Load], thinWire{w.Wire, l})
			}
		}
	}
	return out
}

func stateNamed(name string) string {
	if name == "rest" {
		return "with everything at rest"
	}
	return "in state " + name
}

// exceeds reports whether a drop passes what it may be by so much that it is said.
func (d *drops) exceeds(branch int, drop, allowed float64) bool {
	if len(d.thin[branch]) > 0 {
		return drop > allowed
	}
	return drop > allowed*withinEstimates
}

// thinFor adds to a finding the wires that are too thin for its consumers.
func (d *drops) thinFor(f *diag.Diagnostic, branches ...int) {
	var names []string
	for _, branch := range branches {
		d.told[branch] = true
		for _, t := range d.thin[branch] {
			if !slices.Contains(names, t.wire.Name.Text) {
				names = append(names, t.wire.Name.Text)
			}
		}
	}
	if len(names) == 0 {
		return
	}
	for _, name := range names {
		if !slices.Contains(f.Refs, name) {
			f.Refs = append(f.Refs, name)
		}
	}
	f.Help += "; `ferrule size` asks for a thicker wire at " + rules.And(names)
}

// rest reports the consumers that nothing has been said of and that the study of sizes calls a wire too thin for.
func (d *drops) rest() {
	for _, branch := range slices.Sorted(maps.Keys(d.thin)) {
		if d.told[branch] {
			continue
		}
		t := d.thin[branch][0]
		f := d.ReportAs(diag.Note, place(t.wire).Span, []string{t.wire.Name.Text, t.limit.Consumer}, "%s %s is too thin for %s %s when everything that pulses is on at once: %s",
			t.wire.Name.Text, t.wire.Size, t.limit.Consumer, stateNamed(t.limit.State), t.limit.What)
		f.Help = "measure it, or take the next thicker wire"
		d.thinFor(f, branch)
	}
}

func (d *drops) take(cond *graph.Condition, r *circuit.Report, l *circuit.LoadReport) {
	if !l.Fed || l.Budget.Limit <= 0 || l.Verdict == circuit.NotJudged {
		return
	}
	if d.alone[l.Branch] == nil {
		d.order = append(d.order, l.Branch)
		d.alone[l.Branch], d.own[l.Branch], d.shared[l.Branch] = &worse[loss]{}, &worse[loss]{}, &worse[loss]{}
	}
	x := lossOf(cond, r, l)
	d.alone[l.Branch].take(x.alone, x)
	own := l.Drop.Own
	if l.Budget.Whole {
		own = x.alone
	}
	d.own[l.Branch].take(own, x)
	d.shared[l.Branch].take(l.Drop.Loop, x)
}

// lossOf follows the chain of a consumer. The solution of the report has everything on that the state drives, and the chain
// of the consumer was found with the others at their means: so the share of an element is taken from its resistance, which
// the two have in common.
func lossOf(cond *graph.Condition, r *circuit.Report, l *circuit.LoadReport) loss {
	x, s := loss{cond: cond, load: l}, r.Solution
	amps := math.Abs(l.Amps)
	for i := range l.Drop.Chain() {
		b := &s.Circuit.Branches[i]
		through := math.Abs(s.Amps[i])
		if through <= 0 || !conducts(b) {
			continue
		}
		st := step{branch: b, volts: math.Abs(s.BranchVolts(i)), amps: through}
		st.alone = st.volts * min(1, amps/through)
		st.own = amps > 0.9*through
		x.steps = append(x.steps, st)
		x.alone += st.alone
		x.aloneContacts += st.alone * contactShare(b, st.volts, through)
	}
	if x.alone > l.Drop.Loop && x.alone > 0 { // ways in parallel: each carries its part
		x.aloneContacts *= l.Drop.Loop / x.alone
		x.alone = l.Drop.Loop
	}
	if l.Budget.Whole {
		x.alone, x.aloneContacts = l.Drop.Loop, l.Drop.Estimated
	}
	return x
}

// conducts reports whether an element of a chain is wiring: what a module, a resistor, a diode or another consumer takes is no
// matter of wires.
func conducts(b *circuit.Branch) bool {
	return b.Wire != nil || b.Edge != nil && (b.Edge.Kind.Conducts() || b.Edge.Kind.Contact())
}

// contactShare is the part of the drop of an element that is on contacts and joints.
func contactShare(b *circuit.Branch, volts, amps float64) float64 {
	switch {
	case b.Wire != nil && volts > 0:
		return min(1, amps*float64(b.EndOhms())/volts)
	case b.Edge != nil && b.Edge.Kind == graph.Protect:
		return 0
	}
	return 1
}

// report says of every consumer the one thing that matters most.
func (d *drops) report() {
	groups := map[source.Span]*group{}
	var order []source.Span
	for _, branch := range d.order {
		alone, own, shared := d.alone[branch].what, d.own[branch].what, d.shared[branch].what
		b := alone.load.Budget
		limit, target := float64(b.Limit), float64(b.Target)
		ownVolts, ownContacts := own.load.Drop.Own, own.load.Drop.OwnEstimated
		if b.Whole {
			ownVolts, ownContacts = own.alone, own.aloneContacts
		}
		switch {
		case alone.alone-contactsBest*alone.aloneContacts > limit:
			d.tooMuch(diag.Error, alone, alone.alone, limit, "limit", false)
		case ownVolts-contactsBest*ownContacts > target:
			d.tooMuch(diag.Warning, own, ownVolts, target, "target", !b.Whole)
		case d.exceeds(branch, alone.alone, limit):
			d.tooMuch(diag.Note, alone, alone.alone, limit, "limit", false)
		case d.exceeds(branch, ownVolts, target):
			d.tooMuch(diag.Note, own, ownVolts, target, "target", !b.Whole)
		case d.exceeds(branch, shared.load.Drop.Loop, limit):
			name, ok := shared.feeder()
			if !ok {
				continue
			}
			if groups[name.Span] == nil {
				groups[name.Span] = &group{name: name}
				order = append(order, name.Span)
			}
			groups[name.Span].losses = append(groups[name.Span].losses, shared)
		}
	}
	for _, span := range order {
		d.sharedFeed(groups[span])
	}
	d.rest()
}

// tooMuch reports a consumer that its own wiring takes too much from. The words are the size of the wire that takes most.
func (d *drops) tooMuch(severity diag.Severity, x loss, lost, allowed float64, what string, branch bool) {
	l := x.load
	who, where := titled(l.Ref, l.Title), "in its loop, by its own current"
	if branch {
		where = "on the wires that it has to itself"
	}
	worst := x.worstWire(branch)
	refs, at := []string{l.Ref}, d.nameOf(l.Ref)
	taker := ""
	if worst != nil {
		w := worst.branch.Wire
		refs, at = []string{w.Name.Text, l.Ref}, place(w).Span
		taker = fmt.Sprintf("; %s (%s, %s) takes %s of it", w.Name.Text, w.Size, worst.branch.Metres(), volts(worst.alone))
	}
	estimated := ""
	if severity == diag.Note {
		estimated = ", with contacts as estimated"
	}
	loses, may := rules.Apart(lost, allowed, "V", volts)
	f := d.ReportAs(severity, at, refs, "%s loses %s of its %s %s of %s %s at %s %s%s%s", who, loses, l.Budget.Class, what, may, where,
		amperes(math.Abs(l.Amps)), inState(x.cond), estimated, taker)
	f.Help = "take thicker wires along its way: `ferrule size` says which"
	if severity == diag.Note {
		f.Help = fmt.Sprintf("measure it: more than %s between the battery's posts and the consumer, or take the next thicker wire", volts(allowed))
	} else if size := worst.thicker(lost-allowed, d.Netlist.Harness.Cable); size.IsSet() {
		size = d.Suited(worst.branch.Wire, size)
		f.Help = fmt.Sprintf("write size = %q for %s", size, worst.branch.Wire.Name.Text)
		f.Fixes = d.Resize(worst.branch.Wire, size)
	}
	f.Related = x.chain(branch)
	d.thinFor(f, l.Branch)
	if l.Guessed && severity > diag.Note { // a note says already that it has to be measured
		f.Help += rules.MeasureFirst([]string{l.Ref})
	}
}

// nameOf finds the words of a consumer that is named by a part or a terminal.
func (d *drops) nameOf(ref string) source.Span {
	if id, ok := d.Netlist.FindPin(ref); ok {
		return d.Netlist.Pin(id).Span
	}
	if o := d.Netlist.Owner(ref); o != nil {
		return o.Name.Span
	}
	return source.Span{}
}

// worstWire is the wire of the way that takes the most; of those that the consumer has to itself, or of all.
func (x *loss) worstWire(own bool) *step {
	var worst *step
	for i := range x.steps {
		if s := &x.steps[i]; s.branch.Wire != nil && (s.own || !own) && (worst == nil || s.alone > worst.alone) {
			worst = s
		}
	}
	return worst
}

// thicker is the least size of a wire that takes so many volts less; not set where none is.
func (s *step) thicker(less float64, cable string) (none unit.Size) {
	if s == nil || s.branch.Metres() <= 0 {
		return none
	}
	w, copper := s.branch.Wire, s.alone*(1-contactShare(s.branch, s.volts, s.amps))
	for _, size := range larger(w.Size) {
		if copper-less >= copper*ohmsRatio(size, w.Size, cable, s.branch.Metal()) {
			return size
		}
	}
	return none
}

// ohmsRatio is the resistance of a size as a share of that of another.
func ohmsRatio(a, b unit.Size, cable string, metal conductor.Metal) float64 {
	ohmsA, _ := conductor.Resistance20(a, cable, metal)
	ohmsB, _ := conductor.Resistance20(b, cable, metal)
	if ohmsB <= 0 {
		return 1
	}
	return ohmsA / ohmsB
}

// chain lists the four elements that take the most, in the order of the current.
func (x *loss) chain(own bool) []diag.Related {
	var most []step
	for _, s := range x.steps {
		if s.own || !own {
			most = append(most, s)
		}
	}
	slices.SortStableFunc(most, func(a, b step) int { return compareDown(a.alone, b.alone) })
	if len(most) > 4 {
		most = most[:4]
	}
	var out []diag.Related
	for _, s := range most {
		out = append(out, diag.Related{Span: s.span(), Message: fmt.Sprintf("%s takes %s of it", s.what(), volts(s.alone))})
	}
	return out
}

func compareDown(a, b float64) int {
	switch {
	case a > b:
		return -1
	case a < b:
		return 1
	}
	return 0
}

func (s *step) what() string {
	switch {
	case s.branch.Wire != nil:
		return "wire " + s.branch.Wire.Name.Text
	case s.branch.Part != nil:
		return s.branch.Part.Name.Text
	case s.branch.Edge.Link != nil:
		return "link " + s.branch.Edge.Link.Name.Text
	}
	return "a mated pair of terminals"
}

func (s *step) span() source.Span {
	switch {
	case s.branch.Wire != nil:
		return s.branch.Wire.Name.Span
	case s.branch.Part != nil:
		return s.branch.Part.Name.Span
	case s.branch.Edge.Link != nil:
		return s.branch.Edge.Link.Name.Span
	}
	return source.Span{}
}

// A group is what others take from the consumers of one feed or ground.
type group struct {
	name   model.Name // of the shared wire, or of the part where no wire is shared
	losses []loss
}

// feeder is what others lose most on, in the way of a consumer: the size of the wire, or the part.
func (x *loss) feeder() (model.Name, bool) {
	var worst *step
	for i := range x.steps {
		s := &x.steps[i]
		if s.own || s.branch.Wire == nil && s.branch.Part == nil {
			continue
		}
		if added := s.volts - s.alone; worst == nil || s.branch.Wire != nil && (worst.branch.Wire == nil || added > worst.volts-worst.alone) {
			worst = s
		}
	}
	switch {
	case worst == nil:
		return model.Name{}, false
	case worst.branch.Wire != nil:
		return model.Name{Text: worst.branch.Wire.Name.Text, Span: place(worst.branch.Wire).Span}, true
	}
	return worst.branch.Part.Name, true
}

// sharedFeed reports a feed or ground that takes too much from those behind it.
func (d *drops) sharedFeed(g *group) {
	worst := &g.losses[0]
	refs := []string{g.name.Text}
	var names []string
	for i := range g.losses {
		x := &g.losses[i]
		if x.over() > worst.over() {
			worst = x
		}
		if !slices.Contains(names, x.load.Ref) {
			names = append(names, x.load.Ref)
		}
	}
	l := worst.load
	limit := float64(l.Budget.Limit)
	severity := diag.Note
	if l.Drop.Loop-contactsBest*l.Drop.Estimated > limit*(1+d.Setting("others")) {
		severity = diag.Warning
	}
	also := ""
	if len(names) > 1 {
		also = "; it is shared by " + rules.Few(names)
	}
	loses, most := rules.Apart(l.Drop.Loop, limit, "V", volts)
	f := d.ReportAs(severity, g.name.Span, append(refs, names...), "with others on, %s loses %s of its limit of %s %s, by its own current %s: %s is the shared wire that takes most%s",
		titled(l.Ref, l.Title), loses, most, inState(worst.cond), volts(worst.alone), g.name.Text, also)
	f.Help = fmt.Sprintf("a thicker wire for %s, or a feed or ground of its own for what draws most there", g.name.Text)
	f.Related = worst.sharedChain()
	var branches []int
	for i := range g.losses {
		branches = append(branches, g.losses[i].load.Branch)
	}
	d.thinFor(f, branches...)
}

// over is the loop as a share of its limit.
func (x *loss) over() float64 { return x.load.Drop.Loop / float64(x.load.Budget.Limit) }

// sharedChain lists the shared elements that take the most.
func (x *loss) sharedChain() []diag.Related {
	var shared []step
	for _, s := range x.steps {
		if !s.own {
			shared = append(shared, s)
		}
	}
	slices.SortStableFunc(shared, func(a, b step) int { return compareDown(a.volts, b.volts) })
	if len(shared) > 4 {
		shared = shared[:4]
	}
	var out []diag.Related
	for _, s := range shared {
		out = append(out, diag.Related{Span: s.span(), Message: fmt.Sprintf("%s takes %s, of which %s by the consumer itself", s.what(), volts(s.volts), volts(s.alone))})
	}
	return out
}
