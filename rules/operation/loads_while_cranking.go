package operation

import (
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "loads-while-cranking", Severity: diag.Note, Harm: rules.Annoys, Since: "0.2",
	Title: "a heavy consumer can stay on while the starter turns",
	Doc: `Headlamps, blower, wipers and socket take 30 A and more that the starter and the ignition need on a cold morning. Vehicles
therefore feed them from a rail that the key drops in START (75, or 15X with a load relief relay). The rule lets every switch
that the cranking state does not set stand in any position, and notes what can be on then: head lamps, wipers, blowers, rear
screen heaters, socket outlets.

Feed the switch of the consumer from 15X or 75. Silent are park, stop, turn and hazard lamps, horn and radio, which may stay on; harnesses
that describe no state with engine = "cranking"; and consumers whose relay the cranking state itself opens.`,
	Sources: []string{"DIN 72552: terminals 75 and 15X (testdata/reference/terminals-din72552.csv)", "common practice"},
	Bad:     relief("15"),
	Good:    relief("75"),
	Run: func(p *rules.Pass) {
		at := engine(p, "cranking")
		if len(at) == 0 {
			return
		}
		cond := p.Conditions[at[0]]
		f := reach.New(p.Facts).Flow(reach.Ask{Condition: cond, Free: func(part *model.Part) bool {
			return part.Function.Text != "key" && !slices.ContainsFunc(cond.State.Switches, func(s model.Setting) bool { return s.Part == part })
		}})
		found := map[string][]use{}
		h := &heavies{Pass: p}
		for i := range p.Graph.Edges {
			e := &p.Graph.Edges[i]
			if e.Kind != graph.Load || !f.Works(e.A, e.B) {
				continue
			}
			if word := h.word(e); word != "" {
				found[word] = append(found[word], use{part: e.Part, a: e.A, b: e.B, edge: e})
			}
		}
		for _, word := range [...]string{"head lamps", "the wipers", "the blower", "a socket outlet"} {
			if all := found[word]; len(all) > 0 {
				stayOn(p, f, word, all, cond)
			}
		}
	},
})

// relief is a socket outlet on a rail of the key switch that START keeps (15) or drops (75).
func relief(rail string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", pins = ["30", "15", "75", "50"], positions = { off = [], run = ["30-15-75"], start = ["30-15-50"] }, function = "key" }
F1 = { kind = "fuse", rating = "15 A" }
SKT = { kind = "socket outlet", load = "8 A" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:30" }
W2 = { from = "S1:` + rail + `", to = "F1:1" }
W3 = { from = "F1:2", to = "SKT:1" }
W4 = { from = "SKT:2", to = "G1:1" }
W5 = { from = "BAT1:-", to = "G1:2" }
[state.crank]
engine = "cranking"
switches = { S1 = "start" }
`
}

// heavies tells the consumers that should drop while cranking.
type heavies struct {
	*rules.Pass
	branch map[*graph.Edge]*circuit.Branch // of consumers; made when one has no function
}

// word says what such a consumer is; empty for others.
func (h *heavies) word(e *graph.Edge) string {
	switch e.Part.Inside.Loads[e.Index].Function.Text {
	case "low beam", "high beam":
		return "head lamps"
	case "wiper":
		return "the wipers"
	case "outlet":
		return "a socket outlet"
	case "":
		return h.byKind(e)
	}
	return ""
}

// byKind goes by the kind and by the drop budget that holds for a consumer, which knows blowers and head lamps apart.
func (h *heavies) byKind(e *graph.Edge) string {
	switch e.Part.Kind.Name {
	case "socket outlet":
		return "a socket outlet"
	case "lamp", "motor":
	default:
		return ""
	}
	c := h.Circuit()
	if h.branch == nil {
		h.branch = map[*graph.Edge]*circuit.Branch{}
		for i := range c.Branches {
			if b := &c.Branches[i]; b.IsConsumer() && b.Edge != nil {
				h.branch[b.Edge] = b
			}
		}
	}
	if b := h.branch[e]; b != nil {
		switch budget, _ := c.BudgetOf(b); budget.Class {
		case "headlamp":
			return "head lamps"
		case "blower":
			return "the blower"
		}
	}
	return ""
}

func stayOn(p *rules.Pass, f *reach.Flow, word string, all []use, cond *graph.Condition) {
	u := &all[0]
	span, fuse := feedOf(p, f, u)
	refs := names(all)
	over := ""
	if fuse != nil {
		refs = append(refs, fuse.Name.Text)
		over = ", over " + titled(fuse)
	}
	d := p.Report(span, refs, "%s (%s) can stay on in state %s%s", word, rules.Few(names(all)), cond.Name(), over)
	d.Help = "feed their switch from a rail that START drops: 75, or 15X behind a load relief relay"
}

// feedOf returns the words where the switch of a consumer gets its supply, and the fuse there: of the coil where a relay works it.
func feedOf(p *rules.Pass, f *reach.Flow, u *use) (span source.Span, fuse *model.Part) {
	pin := u.a
	if !f.Live(pin) {
		pin = u.b
	}
	edges := f.LiveOver(pin)
	for i := 0; i < len(edges); i++ { // the way of a coil takes the place of the way of the contact that it closes
		if e := edges[i]; e.Kind == graph.Open && len(e.Part.Inside.Coils) > 0 {
			coil := e.Part.Inside.Coils[0].A
			if !f.Live(coil) {
				coil = e.Part.Inside.Coils[0].B
			}
			if over := f.LiveOver(coil); len(over) > 0 {
				edges, i = over, -1
			}
		}
	}
	for _, e := range edges {
		if e.Kind == graph.Protect {
			for _, end := range [...]model.PinID{e.B, e.A} {
				for _, w := range p.Graph.WiresAt(end) {
					return reach.EndAt(w, end).Span, e.Part
				}
			}
			return e.Part.Name.Span, e.Part
		}
	}
	return u.part.Name.Span, nil
}
