package sheet

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/fusecurve"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

var _ = register(&Maker{
	Name: "panel", Title: "Panel and lid chart", Order: 310,
	Doc: "Every fuse box and carrier with what sits in it: ratings large, the standard body colour in words, what each position is for in plain " +
		"words, and in which key positions it is live; then the same as cards to cut out for the lid.",
	Plan: planPanels,
})

const panelCaution = "Never up-rate a fuse, never bridge one. Replace a blown fuse once, then find the cause. Battery off, grounded pole first, before a " +
	"relay or a bar is touched. Check the order of the positions against the box before you trust the picture."

// FuseColor returns the standard body colour of a fuse by its family, as the netlist words it, and its rating in ampere;
// false where no standard that is known here gives one.
func FuseColor(family string, rating float64) (string, bool) {
	f, _ := fusecurve.ParseFamily(family)
	return fusecurve.Color(f, unit.Ampere(rating))
}

// A position is one part in a panel, with the words that stand at it.
type position struct {
	part    *model.Part
	rating  string // "15 A", "" for what has none
	color   string
	title   string
	circuit string   // what is behind it
	live    []string // by key group: a filled dot, a ring, a dash
}

// A keyGroup is a position of the key, or what comes nearest to it, with the states in which it stands.
type keyGroup struct {
	name   string
	letter string
	states []int
}

// A panelPlan is one panel with its positions: those that its grid states row by row, then the others in the order of the netlist.
type panelPlan struct {
	panel     *model.Panel
	positions []*position
	rows      [][]*position // by the grid, nil for an empty position; empty where it is not stated
	unplaced  []*position   // not in the grid, where there is one
}

// foot is what stands below the picture: how far its order can be trusted.
func (p *panelPlan) foot() string {
	switch {
	case len(p.rows) == 0:
		return "As seen with the lid open. Order as in the netlist; check against the box. Never up-rate."
	case len(p.unplaced) > 0:
		var names []string
		for _, at := range p.unplaced {
			names = append(names, at.part.Name.Text)
		}
		return "As seen with the lid open. Position not stated, drawn last: " + strings.Join(names, " ") + ". Never up-rate."
	}
	return "As seen with the lid open. Never up-rate."
}

func planPanels(s *Set) []*Page {
	plans, groups := s.panelPlans()
	names := pageNames{}
	var pages []*Page
	for i := range plans {
		pages = append(pages, s.panelPages(&plans[i], groups, names)...)
	}
	return append(pages, s.lidPages(plans, groups, names.take("panel", "cards"))...)
}

// panelPlans are the panels with something in them, and the positions of the key by which they are live.
func (s *Set) panelPlans() ([]panelPlan, []keyGroup) {
	var plans []panelPlan
	byPanel := map[*model.Panel][]*model.Part{}
	for _, p := range s.Netlist.Parts {
		if p.Panel != nil {
			byPanel[p.Panel] = append(byPanel[p.Panel], p)
		}
	}
	var groups []keyGroup
	var behind *behind
	for _, p := range s.Netlist.Panels {
		if len(byPanel[p]) == 0 {
			continue
		}
		if behind == nil {
			groups, behind = s.keyGroups(), s.findBehind()
		}
		plans = append(plans, planPanel(p, byPanel[p], func(part *model.Part) *position { return s.position(part, groups, behind) }))
	}
	return plans, groups
}

// planPanel sorts what sits in a panel by its grid.
func planPanel(panel *model.Panel, parts []*model.Part, at func(*model.Part) *position) panelPlan {
	plan := panelPlan{panel: panel}
	placed := map[*model.Part]bool{}
	for _, parts := range panel.Rows {
		row := make([]*position, len(parts))
		for i, part := range parts {
			if part != nil && !placed[part] {
				placed[part] = true
				row[i] = at(part)
				plan.positions = append(plan.positions, row[i])
			}
		}
		plan.rows = append(plan.rows, row)
	}
	for _, part := range parts {
		if !placed[part] {
			other := at(part)
			plan.positions = append(plan.positions, other)
			if len(plan.rows) > 0 {
				plan.unplaced = append(plan.unplaced, other)
			}
		}
	}
	return plan
}

// mostGroups is how many positions of a key a card has columns for.
const mostGroups = 6

// keyGroups sorts the states by where the key stands: a switch with the function of a key or, without one, of an isolator;
// else by the engine; else all in one. A switch with more positions than a card has room for is passed over.
func (s *Set) keyGroups() []keyGroup {
	conds := s.Solved().Conditions
	if key := s.keySwitch(); key != nil {
		var order []string
		for i := range max(2, len(key.Inside.Positions)) {
			order = append(order, positionName(key, i))
		}
		groups := groupStates(len(conds), order, func(i int) string { return positionName(key, conds[i].PositionOf(key)) })
		if len(groups) <= mostGroups {
			return groups
		}
	}
	if slices.ContainsFunc(s.Netlist.States, func(st *model.State) bool { return st.Engine.IsSet() }) {
		return groupStates(len(conds), []string{"off", "cranking", "running", "not stated"}, func(i int) string {
			return cmp.Or(s.Netlist.States[i].Engine.Text, "not stated")
		})
	}
	return groupStates(len(conds), nil, func(int) string { return "live" })
}

// groupStates puts states of one name together, in the order given, and gives the groups their letters.
func groupStates(count int, order []string, name func(state int) string) []keyGroup {
	var groups []keyGroup
	for i := range count {
		at := slices.IndexFunc(groups, func(g keyGroup) bool { return g.name == name(i) })
		if at < 0 {
			at = len(groups)
			groups = append(groups, keyGroup{name: name(i)})
		}
		groups[at].states = append(groups[at].states, i)
	}
	slices.SortStableFunc(groups, func(a, b keyGroup) int {
		return cmp.Compare(slices.Index(order, a.name), slices.Index(order, b.name))
	})
	letterGroups(groups)
	return groups
}

func (s *Set) keySwitch() *model.Part {
	for _, function := range []string{"key", "isolator"} {
		for _, p := range s.Netlist.Parts {
			if p.Function.Text == function {
				return p
			}
		}
	}
	return nil
}

// positionName names a position of a switch. A switch without positions of its own is open or closed.
func positionName(p *model.Part, i int) string {
	if i >= 0 && i < len(p.Inside.Positions) {
		return p.Inside.Positions[i].Name.Text
	}
	if i == 1 {
		return "on"
	}
	return "off"
}

// mostLetters is how long the letters of a group may be; longer ones are replaced by a number.
const mostLetters = 3

// letterGroups gives each group the shortest beginning of its name that no other has.
func letterGroups(groups []keyGroup) {
	for i := range groups {
		name := []rune(groups[i].name)
		for n := 1; n <= len(name); n++ {
			groups[i].letter = strings.ToUpper(string(name[:n]))
			clash := func(g keyGroup) bool {
				return g.name != groups[i].name && strings.HasPrefix(strings.ToUpper(g.name), groups[i].letter)
			}
			if !slices.ContainsFunc(groups, clash) {
				break
			}
		}
		if len([]rune(groups[i].letter)) > mostLetters {
			groups[i].letter = strconv.Itoa(i + 1)
		}
	}
}

// A behind tells what hangs on fuses and contacts, from the ways of all consumers in all states.
type behind struct {
	consumers map[*model.Part][]string // of which the part is the nearest fuse, or which the contact switches
	next      map[*model.Part][]string // the fuses that follow a fuse
}

func (s *Set) findBehind() *behind {
	v := s.Solved()
	b := &behind{map[*model.Part][]string{}, map[*model.Part][]string{}}
	add := func(list map[*model.Part][]string, p *model.Part, name string) {
		if !slices.Contains(list[p], name) {
			list[p] = append(list[p], name)
		}
	}
	for i := range v.Consumers {
		c := &v.Consumers[i]
		for state := range v.Reports {
			l := v.At(state, c)
			if l == nil {
				continue
			}
			live, ground := v.waysOf(l)
			var following *model.Part
			for k := len(live) - 1; k >= 0; k-- {
				switch w := live[k]; {
				case w.sort == fuseStep && following == nil:
					add(b.consumers, w.part, cmp.Or(c.Title, c.Ref))
					following = w.part
				case w.sort == fuseStep:
					add(b.next, w.part, following.Name.Text)
					following = w.part
				case w.sort == contactStep:
					add(b.consumers, w.part, cmp.Or(c.Title, c.Ref))
				}
			}
			for _, w := range ground {
				if w.sort == contactStep {
					add(b.consumers, w.part, cmp.Or(c.Title, c.Ref))
				}
			}
		}
	}
	return b
}

func (s *Set) position(p *model.Part, groups []keyGroup, b *behind) *position {
	out := &position{part: p, title: p.Title.Text}
	if v := p.Value("rating"); v != nil && v.Quantity.IsSet() {
		out.rating = unit.Ampere(v.Quantity.Value).String() + guessMark(p.KnownFrom.Text == "guess")
		family := ""
		if f := p.Value("family"); f != nil {
			family = f.Word.Text
		}
		out.color, _ = FuseColor(family, v.Quantity.Value)
	}
	out.circuit = circuitWords(p, b)
	for _, g := range groups {
		out.live = append(out.live, s.liveDot(p, g))
	}
	return out
}

// circuitWords lists what a position is for: the consumers of which it is the nearest fuse, the fuses that follow it, or
// what it switches.
func circuitWords(p *model.Part, b *behind) string {
	var words []string
	if list := b.consumers[p]; len(list) > 0 && strings.Join(list, "") != p.Title.Text {
		words = append(words, strings.Join(list, ", "))
	}
	if list := b.next[p]; len(list) > 0 {
		words = append(words, "then "+strings.Join(slices.SortedFunc(slices.Values(list), CompareNatural), " "))
	}
	return strings.Join(words, "; ")
}

// The dots of a position in a key group.
const (
	liveAlways = "●" // in all states of the group
	liveSome   = "○" // in some
	liveNever  = "–"
)

// liveDot says in how many states of a group a fuse is live, a relay pulled in, or a switch live behind its contacts.
func (s *Set) liveDot(p *model.Part, g keyGroup) string {
	live := 0
	for _, state := range g.states {
		if s.liveIn(p, state) {
			live++
		}
	}
	switch live {
	case 0:
		return liveNever
	case len(g.states):
		return liveAlways
	}
	return liveSome
}

func (s *Set) liveIn(p *model.Part, state int) bool {
	r := s.Solved().relianceOf(state)
	if len(p.Inside.Coils) > 0 {
		return slices.ContainsFunc(p.Inside.Coils, func(coil model.Pair) bool { return r.feeds(coil.A, coil.B) })
	}
	for i := range s.Graph.Edges {
		e := &s.Graph.Edges[i]
		if e.Part == p && (e.Kind == graph.Protect || e.Kind.Contact()) && r.cond.Closed(e) && r.supply.reaches(e.A) && r.supply.reaches(e.B) {
			return true
		}
	}
	return false
}

// panelFacts says where the panel is, what it has besides, and how to read the dots.
func (s *Set) panelFacts(plan *panelPlan, groups []keyGroup) table {
	t := table{heads: []string{"", ""}}
	add := func(label, text string) { t.rows = append(t.rows, row{cells: []cell{sayBold(label), say(text)}}) }
	if place := plan.panel.Place; place != nil {
		add("Place", cmp.Or(place.Title.Text, place.Name.Text))
	}
	var terminals []string
	for _, id := range plan.panel.Owner.Pins {
		terminals = append(terminals, s.Netlist.Pin(id).Name)
	}
	if len(terminals) > 0 {
		add("Terminals", strings.Join(terminals, ", "))
	}
	add("Spare", spareWords(plan)+"   Spare fuses in the lid: ________________")
	add("Live", liveLegend(groups))
	return t
}

func spareWords(plan *panelPlan) string {
	var words []string
	for _, p := range plan.positions {
		if p.part.Spare.On {
			words = append(words, strings.TrimSpace(p.part.Name.Text+" "+p.rating))
		}
	}
	if len(words) == 0 {
		return "no spare position."
	}
	return strings.Join(words, ", ") + "."
}

// liveLegend explains the dots and names the groups.
func liveLegend(groups []keyGroup) string {
	var words []string
	for _, g := range groups {
		if g.letter != strings.ToUpper(g.name) {
			words = append(words, g.letter+" "+g.name)
		}
	}
	text := liveAlways + " live, or pulled in, in all states of the netlist with the key so; " + liveSome + " in some of them; " + liveNever + " in none."
	if len(words) > 0 {
		text += " " + strings.Join(words, ", ") + "."
	}
	return text
}
