package operation

import (
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "dead-with-key-off", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "stop lamps, hazard, horn or park lamps do not work with the key off",
	Doc: `A vehicle that stands broken down at night needs its hazard lamps and park lamps, one that is towed its stop lamps and its
horn; many countries ask for them with the key off. The rule lets the key switch rest (function = "key"), every other switch
stand in any position, and looks whether consumers with the functions stop, park, tail, horn, and turn where there is a
hazard switch (function = "hazard"), can then work. Park and tail lamps may also work in another position of the key switch in
which no state lets the engine turn.

Feed them from the battery over a fuse of their own. Silent are harnesses without a key switch that says so, and vehicles without such a function. Local
codes say what must work; where yours does not ask for it, accept the finding with that reason.`,
	Sources: []string{"common practice; local lighting codes govern"},
	Bad:     stopFrom(`"S1:2"`),
	Good:    stopFrom(`"BAT1:+"`),
	Run: func(p *rules.Pass) {
		keys := hasFunction(p, "key")
		if len(keys) == 0 {
			return
		}
		web := reach.New(p.Facts)
		if !web.Whole() {
			return
		}
		most := web.Flow(reach.Ask{Free: reach.Any, Outputs: reach.AnyOutput})
		off := web.Flow(reach.Ask{Free: otherThan(keys), Outputs: reach.AnyOutput})
		parked := append([]*reach.Flow{off}, whileParked(p, web, keys)...)
		for _, word := range [...]string{"stop", "park", "tail", "horn", "turn"} {
			var dead []use
			if word == "turn" && !hasHazard(p) {
				continue
			}
			for _, u := range uses(p, word) {
				flows := parked[:1]
				if word == "park" || word == "tail" {
					flows = parked
				}
				if most.Works(u.a, u.b) && !slices.ContainsFunc(flows, func(f *reach.Flow) bool { return f.Works(u.a, u.b) }) {
					dead = append(dead, u)
				}
			}
			if len(dead) > 0 {
				deadOff(p, word, dead, keys[0], most)
			}
		}
	},
})

// stopFrom is a stop lamp whose switch is fed from the place given.
func stopFrom(feed string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", function = "key" }
S2 = { kind = "switch" }
E1 = { kind = "lamp", load = "21 W", function = "stop" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:1" }
W2 = { from = ` + feed + `, to = "S2:1" }
W3 = { from = "S2:2", to = "E1:1" }
W4 = { from = "E1:2", to = "G1:1" }
W5 = { from = "BAT1:-", to = "G1:2" }
`
}

func otherThan(parts []*model.Part) func(*model.Part) bool {
	return func(p *model.Part) bool { return !slices.Contains(parts, p) }
}

// whileParked are the flows with the first key switch in each further position in which no described state lets the engine
// turn: many have a position for the park lamps.
func whileParked(p *rules.Pass, web *reach.Web, keys []*model.Part) []*reach.Flow {
	key := keys[0]
	var flows []*reach.Flow
	for i := range key.Inside.Positions {
		turns := slices.ContainsFunc(p.Conditions, func(c *graph.Condition) bool {
			return c.State != nil && c.PositionOf(key) == i && (c.State.Engine.Text == "cranking" || c.State.Engine.Text == "running")
		})
		if i != key.Inside.Rest && !turns {
			flows = append(flows, web.Flow(reach.Ask{Free: otherThan(keys), At: map[*model.Part]int{key: i}, Outputs: reach.AnyOutput}))
		}
	}
	return flows
}

func hasHazard(p *rules.Pass) bool {
	for _, part := range p.Netlist.Parts {
		if part.Function.Text == "hazard" {
			return true
		}
	}
	return false
}

var offWords = map[string]string{"stop": "the stop lamps", "park": "the park lamps", "tail": "the tail lamps", "horn": "the horn", "turn": "the hazard lamps"}

func deadOff(p *rules.Pass, word string, dead []use, key *model.Part, most *reach.Flow) {
	span, fuse := feedOf(p, most, &dead[0])
	refs := append(names(dead), key.Name.Text)
	if fuse != nil {
		refs = append(refs, fuse.Name.Text)
	}
	d := p.Report(span, refs, "%s", cannotWork(word, dead, key, fuse))
	d.Help = "feed it from the battery (rail 30) over a fuse of its own"
}

func cannotWork(word string, dead []use, key, fuse *model.Part) string {
	text := offWords[word] + " (" + rules.Few(names(dead)) + ") cannot work with " + titled(key) + " off"
	if fuse != nil {
		text += ": fed over " + titled(fuse)
	}
	return text
}
