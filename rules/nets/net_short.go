package nets

import (
	"ferrule/rules"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

var _ = rules.Register(&rules.Rule{
	Name: "net-short", Severity: diag.Error, Harm: rules.Burns, Since: "0.1",
	Title: "two potentials are joined that must not meet",
	Doc: `In the vehicle this is a blown fuse, a burnt wire or a dead controller, or two functions that work each other: left park
lamps with right ones, one injector for another. The rule fires where two nets that the file names are one piece of wiring;
where supply reaches ground through no load, in any state of the file or with any one switch or relay changed over; where an
output that joins to ground is wired straight to supply, or one that joins to supply straight to ground; and where two
supplies meet that must not: two rails, a 5 V reference and battery voltage, two references; and where both terminals of
a fuse, a coil, a contact or a consumer are one piece of wiring, so that the part is bridged and does nothing.

Follow the chain that is shown and move the wire that joins the two. Two nets that are crossed, as by two swapped cavities,
are one finding. What is meant to be one net needs one name. A bridge through a resistor or a diode is not a joint.`,
	Sources: []string{
		"DIN 72552 for the names of supply rails (testdata/reference/terminals-din72552.csv)",
		"common practice for the rest: no standard says that a supply shall not be shorted",
	},
	Bad: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
E2 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", net = "LAMP-LEFT" }
W2 = { from = "F1:2", to = "E2:1", net = "LAMP-RIGHT" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
F2 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
E2 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", net = "LAMP-LEFT" }
W2 = { from = "F2:2", to = "E2:1", net = "LAMP-RIGHT" }
`,
	Run: func(p *rules.Pass) {
		s := &shorts{Pass: p, blocked: map[*graph.Edge]bool{}, tried: map[graph.Toggle]bool{}}
		s.gather()
		s.statedNets()
		for _, c := range p.Conditions {
			s.standing(c, s.plus, s.minus)
		}
		s.outputs()
		for _, c := range p.Conditions { // what only driven outputs make a short
			plus, minus := s.ends(c)
			s.standing(c, plus, minus)
		}
		for _, c := range p.Conditions {
			s.toggled(c)
		}
		s.references()
		s.rails()
		for _, part := range p.Netlist.Parts {
			s.bridged(part)
		}
	},
})

// shorts is one run of the rule. A joint that was reported is blocked: what can be reached through it only is the same
// fault seen again, in another state or by another question.
type shorts struct {
	*rules.Pass
	blocked map[*graph.Edge]bool
	tried   map[graph.Toggle]bool
	plus    []model.PinID // plus whatever the state is: posts of sources, metal where plus is ground
	minus   []model.PinID // minus whatever the state is
	diodes  []model.PinID
	sinks   []model.PinID // outputs that join to ground
	drivers []model.PinID // outputs that join to supply
}

// The most chains that are looked for in one state, and the most toggles that are looked into: whoever has as many shorts
// repairs these first, and the search stays short.
const maxShorts, maxToggles = 20, 60

// gather collects the terminals that the questions below are about, once.
func (s *shorts) gather() {
	for i := range s.Graph.Edges {
		switch e := &s.Graph.Edges[i]; e.Kind {
		case graph.Source:
			s.plus, s.minus = append(s.plus, e.A), append(s.minus, e.B)
		case graph.Diode:
			s.diodes = append(s.diodes, e.A, e.B)
		}
	}
	for _, b := range s.Netlist.Bodies {
		if s.Netlist.Harness.PositiveGround {
			s.plus = append(s.plus, b.Pin)
		} else {
			s.minus = append(s.minus, b.Pin)
		}
	}
	for i := range s.Netlist.Pins {
		switch s.Netlist.Pins[i].Role {
		case catalog.Sink:
			s.sinks = append(s.sinks, model.PinID(i))
		case catalog.Driver:
			s.drivers = append(s.drivers, model.PinID(i))
		}
	}
}

// standing reports what joins plus to minus in a state as it stands.
func (s *shorts) standing(c *graph.Condition, plus, minus []model.PinID) {
	if !s.shorted(c, plus) && !s.shorted(c, minus) && !s.shorted(c, s.diodes) {
		return
	}
	for range maxShorts {
		path := s.search(plus, minus, c.Closed)
		if path == nil {
			return
		}
		s.short(path, s.standsWhen(c, path))
	}
}

// ends returns the terminals that are plus and those that are minus in a condition: what always is, and the outputs that
// the state drives.
func (s *shorts) ends(c *graph.Condition) (plus, minus []model.PinID) {
	plus, minus = slices.Clone(s.plus), slices.Clone(s.minus)
	if c.State == nil {
		return plus, minus
	}
	for _, r := range c.State.Driven {
		if r.ID == model.NoPin {
			continue
		}
		role := s.Netlist.Pin(r.ID).Role
		switch {
		case role != catalog.Sink && role != catalog.Driver:
		case (role == catalog.Driver) != s.Netlist.Harness.PositiveGround:
			plus = append(plus, r.ID)
		default:
			minus = append(minus, r.ID)
		}
	}
	return plus, minus
}

func (s *shorts) shorted(c *graph.Condition, pins []model.PinID) bool {
	return slices.ContainsFunc(pins, c.Shorted)
}

// search returns the shortest chain from one of the terminals to one of the others over what carries current and is not
// blocked.
func (s *shorts) search(from, to []model.PinID, closed func(*graph.Edge) bool) []graph.Hop {
	ends := make(map[model.PinID]bool, len(to))
	for _, id := range to {
		ends[id] = true
	}
	return s.Graph.PathFrom(from, func(id model.PinID) bool { return ends[id] }, func(e *graph.Edge) bool {
		return !s.blocked[e] && (closed(e) || e.Kind == graph.Diode)
	})
}

// short reports a chain from plus to minus at the hop that should not be there.
func (s *shorts) short(path []graph.Hop, when string) {
	of := rules.SupplyOrGround
	if s.Netlist.Harness.PositiveGround { // the chain begins at the metal then
		of = func(m rules.Meaning) int { return -rules.SupplyOrGround(m) }
	}
	if len(path) == 0 {
		return // a source shorted by its own terminals is the catalogue's fault, not a wire's
	}
	live, ground := path[0].From, path[len(path)-1].To
	if s.Netlist.Harness.PositiveGround {
		live, ground = ground, live
	}
	at := s.block(path, of)
	d := s.Report(s.Graph.Span(path[at]), s.refsOf(path[at], live, ground), "%s joins supply to ground with no load between, %s", s.what(path[at]), when)
	d.Help = fmt.Sprintf("move it: this way %s reaches %s through nothing that limits the current", s.Netlist.Pin(live), s.place(ground))
	d.Related = s.Hops(path)
	s.Upsets(d)
}

// block finds the hop of a chain that should not be there and keeps it from being found again.
func (s *shorts) block(path []graph.Hop, of rules.Side) int {
	at := s.Seam(path, of)
	s.blocked[path[at].Edge] = true
	return at
}

// place names where a chain ends: a body by its own name.
func (s *shorts) place(id model.PinID) string {
	if b := s.Netlist.Pin(id).Owner.Body; b != nil {
		return "the " + b.Name.Text
	}
	return s.Netlist.Pin(id).String()
}

// what names the hop that is to blame.
func (s *shorts) what(h graph.Hop) string {
	from, to := s.Netlist.Pin(h.From), s.Netlist.Pin(h.To)
	switch e := h.Edge; {
	case e.Wire != nil:
		return "wire " + e.Wire.Name.Text
	case e.Link != nil:
		return "link " + e.Link.Name.Text
	case e.Kind == graph.Mate:
		return fmt.Sprintf("the pair %s and %s", from, to)
	}
	return fmt.Sprintf("%s (%s to %s)", h.Edge.Part.Name.Text, from, to)
}

func (s *shorts) refsOf(h graph.Hop, others ...model.PinID) []string {
	var refs []string
	switch e := h.Edge; {
	case e.Wire != nil:
		refs = append(refs, e.Wire.Name.Text)
	case e.Link != nil:
		refs = append(refs, e.Link.Name.Text)
	case e.Part != nil:
		refs = append(refs, e.Part.Name.Text)
	}
	for _, id := range append([]model.PinID{h.From, h.To}, others...) {
		if ref := s.Netlist.Pin(id).String(); !slices.Contains(refs, ref) {
			refs = append(refs, ref)
		}
	}
	return refs
}

// standsWhen says when a standing short is there: always, or in which state.
func (s *shorts) standsWhen(c *graph.Condition, path []graph.Hop) string {
	switched := slices.ContainsFunc(path, func(h graph.Hop) bool { return h.Edge.Kind.Contact() })
	ends := []model.PinID{path[0].From, path[len(path)-1].To}
	for _, id := range ends {
		role := s.Netlist.Pin(id).Role
		switched = switched || role == catalog.Sink || role == catalog.Driver
	}
	switch {
	case !switched:
		return "whatever the switches do"
	case c.State == nil:
		return "with everything at rest"
	}
	return fmt.Sprintf("in state %q", c.Name())
}

// toggled reports what joins supply to ground when one switch or relay stands differently than in a state.
func (s *shorts) toggled(c *graph.Condition) {
	plus, minus := s.ends(c)
	c.EachShort(func(t graph.Toggle, _ model.PinID) {
		if s.tried[t] || len(s.tried) >= maxToggles {
			return
		}
		s.tried[t] = true
		closed := func(e *graph.Edge) bool { return c.ClosedWith(t, e) }
		if path := s.search(plus, minus, closed); path != nil {
			s.short(path, toggledWhen(c, t))
		}
	})
}

func toggledWhen(c *graph.Condition, t graph.Toggle) string {
	name := t.Part.Name.Text
	var when string
	switch {
	case t.Position >= 0:
		when = fmt.Sprintf("when %s stands in %q", name, t.Part.Inside.Positions[t.Position].Name.Text)
	case len(t.Part.Inside.Coils) > 0 && t.Pressed:
		when = "when " + name + " pulls in"
	case len(t.Part.Inside.Coils) > 0:
		when = "when " + name + " drops out"
	case t.Pressed:
		when = "when " + name + " is on"
	default:
		when = "when " + name + " is off"
	}
	if c.State != nil {
		when += fmt.Sprintf(" (else as in state %q)", c.Name())
	}
	return when
}

// outputs reports outputs whose work would short what they are wired to: one that joins to ground on supply, one that
// joins to supply on ground.
func (s *shorts) outputs() {
	for _, c := range s.Conditions {
		for _, id := range s.sinks {
			if c.Live(id) {
				s.output(c, id, "supply")
			}
		}
		for _, id := range s.drivers {
			if c.Grounded(id) {
				s.output(c, id, "ground")
			}
		}
	}
}

func (s *shorts) output(c *graph.Condition, id model.PinID, reaches string) {
	self := []model.PinID{id}
	var path []graph.Hop
	if (reaches == "supply") != s.Netlist.Harness.PositiveGround {
		path = s.search(s.plus, self, c.Closed)
	} else {
		path = s.search(self, s.minus, c.Closed)
	}
	if len(path) == 0 {
		return
	}
	of := rules.SupplyOrGround
	if s.Netlist.Harness.PositiveGround {
		of = func(m rules.Meaning) int { return -rules.SupplyOrGround(m) }
	}
	at := s.block(path, of)
	pin := s.Netlist.Pin(id)
	d := s.Report(s.Graph.Span(path[at]), s.refsOf(path[at], id), "%s brings %s straight to %s, an output of role %s: when it switches on, it is a short",
		s.what(path[at]), reaches, pin, pin.Role)
	d.Help = "the load belongs between the output and " + reaches
	d.Related = s.Hops(path)
}

// bridged reports a part whose two terminals are one piece of wiring: the fuse no longer protects, the contact is always
// closed, the coil and the consumer never work.
func (s *shorts) bridged(part *model.Part) {
	for _, group := range []struct {
		pairs []model.Pair
		then  string
	}{
		{part.Inside.Protects, "so it protects nothing"},
		{part.Inside.Open, "so its contact no longer switches"},
		{part.Inside.Closed, "so its contact no longer switches"},
		{part.Inside.Coils, "so its coil never pulls"},
		{part.Inside.Diodes, "so its diode blocks nothing"},
		{loadPairs(part), "so it never works"},
	} {
		for _, pair := range group.pairs {
			if s.Graph.NetOf(pair.A) == s.Graph.NetOf(pair.B) && s.bridge(part, pair, group.then) {
				return // once a part
			}
		}
	}
}

func loadPairs(part *model.Part) []model.Pair {
	var pairs []model.Pair
	for _, l := range part.Inside.Loads {
		pairs = append(pairs, l.Pair)
	}
	return pairs
}

// bridge reports the way outside the part that joins two of its terminals; the last wire of the file on it is blamed,
// because a bridge is as a rule what was added. Ways that a reported joint is part of are left out.
func (s *shorts) bridge(part *model.Part, pair model.Pair, then string) bool {
	path := s.Graph.Path(pair.A, pair.B, func(e *graph.Edge) bool { return e.Kind.Outside() && !s.blocked[e] })
	if len(path) == 0 {
		return false
	}
	at := 0
	for i, h := range path {
		if w := h.Edge.Wire; w != nil && (path[at].Edge.Wire == nil || w.Index > path[at].Edge.Wire.Index) {
			at = i
		}
	}
	s.blocked[path[at].Edge] = true
	a, b := s.Netlist.Pin(pair.A), s.Netlist.Pin(pair.B)
	refs := append(s.refsOf(path[at], pair.A, pair.B), part.Name.Text)
	d := s.Report(s.Graph.Span(path[at]), refs, "%s and %s of %s are one piece of wiring, %s", a, b, part.Name.Text, then)
	d.Help = "remove " + s.what(path[at]) + ", or move it to where it is meant to go"
	d.Related = s.Hops(path)
	return true
}

// references reports a module's sensor supply that meets battery voltage, or another sensor supply.
func (s *shorts) references() {
	var outputs []model.PinID
	for i := range s.Netlist.Pins {
		pin := &s.Netlist.Pins[i]
		if part := pin.Owner.Device(); pin.Role == catalog.Reference && part != nil && part.Kind.Name == "module" {
			outputs = append(outputs, pin.ID)
		}
	}
	for _, c := range s.Conditions {
		for _, id := range outputs {
			if c.Live(id) {
				s.overfed(c, id)
			}
		}
	}
	first := map[int32]model.PinID{}
	for _, id := range outputs {
		root := s.Fed(id)
		if other, met := first[root]; met {
			s.meet(other, id, "two sensor supplies")
		} else {
			first[root] = id
		}
	}
}

func (s *shorts) overfed(c *graph.Condition, id model.PinID) {
	live := s.plus
	if s.Netlist.Harness.PositiveGround {
		live = s.minus
	}
	path := s.search(live, []model.PinID{id}, c.Closed)
	if len(path) == 0 {
		return
	}
	at := s.block(path, rules.SupplyOrReference)
	d := s.Report(s.Graph.Span(path[at]), s.refsOf(path[at], id), "%s brings battery voltage to %s, a sensor supply, %s", s.what(path[at]), s.Netlist.Pin(id), s.standsWhen(c, path))
	d.Help = "keep the sensor supply apart: it and every sensor on it are made for a lower voltage"
	d.Related = s.Hops(path)
}

// meet reports two terminals that metal or fuses join though each feeds something of its own. Inside one module they may.
func (s *shorts) meet(a, b model.PinID, what string) {
	path := s.search([]model.PinID{a}, []model.PinID{b}, func(e *graph.Edge) bool { return e.Kind.Conducts() })
	if !slices.ContainsFunc(path, func(h graph.Hop) bool { return h.Edge.Kind.Outside() || h.Edge.Kind == graph.Protect }) {
		return
	}
	at := s.seamBetween(path)
	s.blocked[path[at].Edge] = true
	d := s.Report(s.Graph.Span(path[at]), s.refsOf(path[at], a, b), "%s joins %s: %s and %s", s.what(path[at]), what, s.Netlist.Pin(a), s.Netlist.Pin(b))
	d.Help = "take the joint out; a bridge that is meant needs a switch, a relay or a diode"
	d.Related = s.Hops(path)
}

// seamBetween picks, where both ends of a chain mean the same, the wire that states no net, else the one in the middle.
func (s *shorts) seamBetween(path []graph.Hop) int {
	var wires []int
	for i, h := range path {
		if h.Edge.Kind == graph.Wire {
			if !h.Edge.Wire.Net.IsSet() {
				return i
			}
			wires = append(wires, i)
		}
	}
	if len(wires) > 0 {
		return wires[len(wires)/2]
	}
	return len(path) / 2
}

// rails reports bus bars of different rails that metal or fuses join without a switch.
func (s *shorts) rails() {
	type rail struct {
		name string
		pin  model.PinID
	}
	first := map[int32]rail{}
	for _, l := range s.Netlist.Links {
		if !l.Rail.IsSet() || len(l.Joins) == 0 || l.Joins[0].ID == model.NoPin {
			continue
		}
		id := l.Joins[0].ID
		root := s.Fed(id)
		other, met := first[root]
		switch {
		case !met:
			first[root] = rail{l.Rail.Text, id}
		case other.name != l.Rail.Text:
			s.meet(other.pin, id, fmt.Sprintf("rail %s and rail %s", other.name, l.Rail.Text))
		}
	}
}

// A statement is a place where the file says which net a wire or a terminal is meant to be.
type statement struct {
	net  model.Name
	wire *model.Wire // nil for a terminal
	pin  model.PinID // a terminal, or the wire's first end
}

// statedNets reports nets of which the file states two names. The names of one net are counted first; only nets with two
// names are looked at more closely, so the work stays near the number of wires.
func (s *shorts) statedNets() {
	names := make([]string, len(s.Graph.Nets))
	mixed := map[graph.NetID][]statement{}
	visit := func(each func(graph.NetID, statement)) {
		for _, w := range s.Netlist.Wires {
			if w.Net.IsSet() && w.From.ID != model.NoPin && w.To.ID != model.NoPin {
				each(s.Graph.NetOf(w.From.ID).ID, statement{net: w.Net, wire: w, pin: w.From.ID})
			}
		}
		for i := range s.Netlist.Pins {
			if pin := &s.Netlist.Pins[i]; pin.Net.IsSet() {
				each(s.Graph.NetOf(pin.ID).ID, statement{net: pin.Net, pin: pin.ID})
			}
		}
	}
	visit(func(id graph.NetID, st statement) {
		if names[id] == "" {
			names[id] = st.net.Text
		} else if names[id] != st.net.Text {
			mixed[id] = nil
		}
	})
	if len(mixed) == 0 {
		return
	}
	visit(func(id graph.NetID, st statement) {
		if _, is := mixed[id]; is {
			mixed[id] = append(mixed[id], st)
		}
	})
	s.mixedNets(mixed)
}

// mixedNets reports each pair of names once: two nets that hold the same two names are crossed with each other.
func (s *shorts) mixedNets(mixed map[graph.NetID][]statement) {
	ids := make([]graph.NetID, 0, len(mixed))
	for id := range mixed {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	var order [][2]string
	joints := map[[2]string][]joint{}
	for _, id := range ids {
		counts, names := countNames(mixed[id])
		for _, name := range names[1:] {
			key := [2]string{min(names[0], name), max(names[0], name)}
			if joints[key] == nil {
				order = append(order, key)
			}
			joints[key] = append(joints[key], s.jointOf(mixed[id], counts, names[0], name))
		}
	}
	for _, key := range order {
		s.reportJoints(key, joints[key])
	}
}

// countNames returns how often each name is stated, and the names from the one stated most to the one stated least;
// among equals the one that comes first in the file goes first.
func countNames(all []statement) (map[string]int, []string) {
	counts := map[string]int{}
	var names []string
	for _, st := range all {
		if counts[st.net.Text] == 0 {
			names = append(names, st.net.Text)
		}
		counts[st.net.Text]++
	}
	slices.SortStableFunc(names, func(a, b string) int { return counts[b] - counts[a] })
	return counts, names
}

// A joint is where two names meet: the words to point at, what stands there, and the chain across.
type joint struct {
	span  source.Span
	text  string
	refs  []string
	chain []graph.Hop

	at             model.PinID // where a wire ends that should not, when that is the joint
	culprit, other statement   // that wire, and what is there
}

func (s *shorts) reportJoints(names [2]string, found []joint) {
	first := found[0]
	what := fmt.Sprintf("nets %s and %s are one", names[0], names[1])
	if len(found) > 1 {
		what = fmt.Sprintf("nets %s and %s are crossed", names[0], names[1])
	}
	var refs, texts []string
	var related []diag.Related
	for _, j := range found {
		refs, texts = append(refs, j.refs...), append(texts, j.text)
		related = append(related, s.Hops(j.chain)...)
	}
	d := s.Report(first.span, refs, "%s: %s", what, strings.Join(texts, "; "))
	d.Related = related
	d.Help = "move the wire to where its net is, or give both the same net if they are meant to be one"
	if len(found) > 1 {
		d.Help = "swap the two ends back"
		d.Fixes = s.uncross(found)
	}
}

// uncross exchanges the ends of two wires that are crossed at one connector or part. It is safe when after it all that the file says
// of the two nets is so.
func (s *shorts) uncross(found []joint) []diag.Fix {
	if len(found) != 2 {
		return nil
	}
	a, b := found[0], found[1]
	if a.culprit.wire == nil || b.culprit.wire == nil || a.at == b.at || s.Netlist.Pin(a.at).Owner != s.Netlist.Pin(b.at).Owner ||
		a.culprit.net.Text != b.other.net.Text || b.culprit.net.Text != a.other.net.Text {
		return nil
	}
	return s.Exchange(a.at, b.at, s.parted(a, b))
}

// parted reports whether every name that the file states in two crossed nets is on a piece of its own once the ends of two wires
// are exchanged.
func (s *shorts) parted(a, b joint) bool {
	index := map[model.PinID]int32{}
	pins := slices.Concat(s.Graph.NetOf(a.at).Pins, s.Graph.NetOf(b.at).Pins)
	for i, id := range pins {
		index[id] = int32(i)
	}
	sets := graph.NewSets(len(pins))
	names := map[int32]string{}
	one := true
	moved := map[model.PinID]model.PinID{a.at: b.at, b.at: a.at}
	end := func(w *model.Wire, at model.PinID) model.PinID {
		if to, is := moved[at]; is && (w == a.culprit.wire || w == b.culprit.wire) {
			return to
		}
		return at
	}
	for _, id := range pins {
		for _, at := range s.Graph.At(id) {
			if e := s.Graph.Edge(at); e.Kind.Outside() {
				sets.Join(index[end(e.Wire, e.A)], index[end(e.Wire, e.B)])
			}
		}
	}
	state := func(id model.PinID, name model.Name) {
		if root := sets.Find(index[id]); name.IsSet() {
			one = one && (names[root] == "" || names[root] == name.Text)
			names[root] = name.Text
		}
	}
	for _, id := range pins {
		state(id, s.Netlist.Pin(id).Net)
		for _, w := range s.Graph.WiresAt(id) {
			state(end(w, id), w.Net)
		}
	}
	return one
}

// jointOf finds where a name meets the one that is stated more often in the net, and who is to blame: a wire that states
// no net and runs between the two; else a wire that ends where a terminal states the other name; else, of two wires that
// meet, the one whose name is stated less.
func (s *shorts) jointOf(all []statement, counts map[string]int, often, seldom string) joint {
	isOften, isSeldom := map[model.PinID]bool{}, map[model.PinID]bool{}
	var starts []model.PinID
	for _, st := range all {
		for _, id := range st.ends() {
			switch st.net.Text {
			case often:
				isOften[id] = true
				starts = append(starts, id)
			case seldom:
				isSeldom[id] = true
			}
		}
	}
	path := s.Graph.PathFrom(starts, func(id model.PinID) bool { return isSeldom[id] }, func(e *graph.Edge) bool { return e.Kind.Outside() })
	for _, h := range path {
		if h.Edge.Kind == graph.Wire {
			return s.stray(path, h, often, seldom)
		}
	}
	return s.metalJoint(all, path, isOften, isSeldom, counts, often, seldom)
}

func (st statement) ends() []model.PinID {
	if st.wire == nil {
		return []model.PinID{st.pin}
	}
	return []model.PinID{st.wire.From.ID, st.wire.To.ID}
}

// stray is the joint over a wire of which the file does not say what it is meant to be, or over a link.
func (s *shorts) stray(path []graph.Hop, h graph.Hop, often, seldom string) joint {
	s.blocked[h.Edge] = true
	from, to := path[0].From, path[len(path)-1].To
	return joint{span: s.Graph.Span(h), refs: s.refsOf(h, from, to), chain: s.chainOver(s.statedAt(from, often), s.statedAt(to, seldom), path),
		text: fmt.Sprintf("%s joins %s (%s) to %s (%s)", s.what(h), s.Netlist.Pin(from), often, s.Netlist.Pin(to), seldom)}
}

// metalJoint is the joint at one terminal, splice, bus bar or pair of cavities, where wires of both names end.
func (s *shorts) metalJoint(all []statement, path []graph.Hop, isOften, isSeldom map[model.PinID]bool, counts map[string]int, often, seldom string) joint {
	var here, there model.PinID // where the often and where the seldom stated name ends
	if len(path) > 0 {
		here, there = path[0].From, path[len(path)-1].To
	} else { // both at one terminal
		for _, st := range all {
			if id := st.ends(); st.net.Text == seldom && (isOften[id[0]] || isOften[id[len(id)-1]]) {
				here = id[0]
				if !isOften[here] {
					here = id[len(id)-1]
				}
				there = here
				break
			}
		}
	}
	of, sf := s.statedAt(here, often), s.statedAt(there, seldom)
	if i := slices.IndexFunc(path, func(h graph.Hop) bool { return h.Edge.Kind == graph.Link }); i >= 0 && of.wire == nil && sf.wire == nil {
		return s.stray(path, path[i], often, seldom)
	}
	culprit, at, other := sf, there, of
	switch {
	case of.wire != nil && sf.wire == nil: // a terminal's statement is its device's, so the wire is in the wrong place
		culprit, at, other = of, here, sf
	case of.wire != nil && sf.wire != nil && counts[often] == counts[seldom] && of.wire.Index > sf.wire.Index:
		culprit, at, other = of, here, sf
	}
	return s.endJoint(culprit, other, at, path)
}

// statedAt returns what states the name at a terminal, the terminal itself before a wire.
func (s *shorts) statedAt(id model.PinID, name string) statement {
	if pin := s.Netlist.Pin(id); pin.Net.Text == name {
		return statement{net: pin.Net, pin: id}
	}
	for _, w := range s.Graph.WiresAt(id) {
		if w.Net.Text == name {
			return statement{net: w.Net, wire: w, pin: id}
		}
	}
	return statement{pin: id}
}

func (s *shorts) endJoint(culprit, other statement, at model.PinID, path []graph.Hop) joint {
	pin := s.Netlist.Pin(at)
	chain := slices.Clone(path)
	if culprit.wire == nil { // two terminals that no wire joins: mated cavities do
		return joint{span: culprit.net.Span, refs: []string{pin.String(), s.Netlist.Pin(other.pin).String()}, chain: chain,
			text: fmt.Sprintf("%s is %s, and %s is %s", pin, culprit.net.Text, s.Netlist.Pin(other.pin), other.net.Text)}
	}
	end := culprit.wire.From
	if culprit.wire.To.ID == at {
		end = culprit.wire.To
	}
	s.blockWire(culprit.wire)
	far := fmt.Sprintf("where wire %s brings %s", wireName(other.wire), other.net.Text)
	refs := []string{culprit.wire.Name.Text, pin.String()}
	if other.wire == nil {
		far = fmt.Sprintf("and %s is %s", s.Netlist.Pin(other.pin), other.net.Text)
		if other.pin == at {
			far = "which is " + other.net.Text
		}
	} else {
		refs = append(refs, other.wire.Name.Text)
		s.blockWire(other.wire)
	}
	return joint{span: end.Span, refs: append(refs, s.Netlist.Pin(other.pin).String()), chain: s.chainOver(culprit, other, chain),
		at: at, culprit: culprit, other: other,
		text: fmt.Sprintf("wire %s (%s) ends at %s, %s", culprit.wire.Name.Text, culprit.net.Text, pin, far)}
}

func wireName(w *model.Wire) string {
	if w == nil {
		return ""
	}
	return w.Name.Text
}

func (s *shorts) blockWire(w *model.Wire) {
	if e := s.edgeOf(w); e != nil {
		s.blocked[e] = true
	}
}

func (s *shorts) edgeOf(w *model.Wire) *graph.Edge {
	for _, id := range s.Graph.At(w.From.ID) {
		if e := s.Graph.Edge(id); e.Wire == w {
			return e
		}
	}
	return nil
}

// chainOver lengthens the chain at the joint by the wires that meet there, so that it leads from the one wire's far end to
// the other's.
func (s *shorts) chainOver(culprit, other statement, path []graph.Hop) []graph.Hop {
	first, last := culprit, other
	if len(path) > 0 && path[0].From != culprit.pin {
		first, last = other, culprit
	}
	var chain []graph.Hop
	if first.wire != nil {
		if e := s.edgeOf(first.wire); e != nil {
			chain = append(chain, graph.Hop{Edge: e, From: e.Other(first.pin), To: first.pin})
		}
	}
	chain = append(chain, path...)
	if last.wire != nil {
		if e := s.edgeOf(last.wire); e != nil {
			chain = append(chain, graph.Hop{Edge: e, From: last.pin, To: e.Other(last.pin)})
		}
	}
	return chain
}
