package switching

import (
	"fmt"
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "tied-feeds", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a switch joins two feeds, and one wakes the other",
	Doc: `A hazard switch that takes its supply from the battery in one position and from the key in the other, and joins both on one
contact, wakes the key rail with the key off: the engine runs on, the controller stays awake, the fuse of the smaller feed carries
what it was never meant for. The rule looks at every position of every hand switch that joins a supply rail (a link with a
rail, other than 30) to something else, and fires where both are live without that switch in some state, and in another state
only one of them is.

Use a switch that keeps the two feeds on contacts of their own and breaks before it makes, or put a diode into the leg that
must not be fed back, its cathode to the switch. Silent is a switch that is itself what feeds the rail, such as the key switch,
and a rail behind a diode. Whether a real switch makes before it breaks stands in no file: the position in which it stands
must say it.`,
	Sources: []string{"common practice"},
	Bad:     hazard(`["15-30-49"]`),
	Good:    hazard(`["30-49"]`),
	Run: func(p *rules.Pass) {
		p.FollowsShorts()
		t := &ties{Pass: p, rail: map[int32]string{}}
		for _, l := range p.Netlist.Links {
			if r := l.Rail.Text; r != "" && r != "30" && len(l.Joins) > 0 && l.Joins[0].ID != model.NoPin {
				t.rail[p.Fed(l.Joins[0].ID)] = r
			}
		}
		if len(t.rail) == 0 {
			return
		}
		for _, part := range p.Netlist.Parts {
			if len(part.Inside.Coils) == 0 && len(part.Inside.Positions) > 0 && !part.Spare.On {
				t.judge(part)
			}
		}
	},
})

// hazard is a key rail and a hazard switch whose position on joins what is given.
func hazard(on string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch" }
S2 = { kind = "switch", pins = ["15", "30", "49"], positions = { off = ["15-49"], on = ` + on + ` } }
F1 = { kind = "fuse", rating = "10 A" }
E1 = { kind = "lamp", load = "21 W" }
G1 = { kind = "ground point", body = "body" }
[link]
BUS = { joins = ["S1:2", "F1:1"], rail = "15" }
[wire]
W1 = { from = "BAT1:+", to = "S1:1" }
W2 = { from = "BAT1:+", to = "S2:30" }
W3 = { from = "F1:2", to = "S2:15" }
W4 = { from = "S2:49", to = "E1:1" }
W5 = { from = "E1:2", to = "G1:1" }
W6 = { from = "BAT1:-", to = "G1:2" }
[state.off]
[state.run]
switches = { S1 = "on" }
[state.hazard]
switches = { S2 = "on" }
`
}

type ties struct {
	*rules.Pass
	rail map[int32]string // of what metal and fuses join
	web  *reach.Web
}

func (t *ties) judge(part *model.Part) {
	var flows []*reach.Flow
	for i := range part.Inside.Positions {
		for _, group := range part.Inside.Positions[i].Joins {
			rail, other := t.pair(group)
			if rail == model.NoPin {
				continue
			}
			if flows == nil {
				flows = t.without(part)
			}
			for _, b := range other {
				t.report(part, i, rail, b, flows)
			}
		}
	}
}

// pair finds in a group the terminal that is on a rail, and those that are elsewhere.
func (t *ties) pair(group []model.PinID) (rail model.PinID, other []model.PinID) {
	rail = model.NoPin
	for _, pin := range group {
		if t.rail[t.Fed(pin)] != "" && rail == model.NoPin {
			rail = pin
		}
	}
	for _, pin := range group {
		if rail != model.NoPin && t.Fed(pin) != t.Fed(rail) {
			other = append(other, pin)
		}
	}
	return rail, other
}

// without returns what is live in each state with the switch taken out.
func (t *ties) without(part *model.Part) []*reach.Flow {
	if t.web == nil {
		t.web = reach.New(t.Facts)
	}
	flows := make([]*reach.Flow, len(t.Conditions))
	for i, cond := range t.Conditions {
		flows[i] = t.web.Flow(reach.Ask{Condition: cond, Out: func(p *model.Part) bool { return p == part }})
	}
	return flows
}

func (t *ties) report(part *model.Part, position int, rail, other model.PinID, flows []*reach.Flow) {
	live := func(pin model.PinID) func(*reach.Flow) bool {
		return func(f *reach.Flow) bool { return f.Live(pin) }
	}
	if !slices.ContainsFunc(flows, live(rail)) || !slices.ContainsFunc(flows, live(other)) {
		return
	}
	for i, f := range flows {
		fed, wakes := rail, other
		switch {
		case f.Live(rail) == f.Live(other):
			continue
		case f.Live(other):
			fed, wakes = other, rail
		}
		name := part.Inside.Positions[position].Name
		d := t.Report(name.Span, []string{part.Name.Text, t.Netlist.Pin(fed).String(), t.Netlist.Pin(wakes).String()},
			"%s in position %q joins %s and %s: in state %s the first is live and the second is not, and is fed back%s",
			titled(part), name.Text, t.Netlist.Pin(fed), t.Netlist.Pin(wakes), t.Conditions[i].Name(), t.ofRail(wakes))
		d.Help = fmt.Sprintf("take %s out of that position, or put a diode into its leg, cathode to the switch", t.Netlist.Pin(rail))
		d.Related = t.Hops(t.Graph.PathTo(wakes, func(pin model.PinID) bool { return t.onRail(pin) }, func(e *graph.Edge) bool { return e.Kind.Conducts() }))
		return
	}
}

func (t *ties) ofRail(pin model.PinID) string {
	if r := t.rail[t.Fed(pin)]; r != "" {
		return " to rail " + r
	}
	return ""
}

func (t *ties) onRail(pin model.PinID) bool {
	for _, id := range t.Graph.At(pin) {
		if e := t.Graph.Edge(id); e.Kind == graph.Link && e.Link.Rail.IsSet() {
			return true
		}
	}
	return false
}
