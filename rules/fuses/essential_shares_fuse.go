package fuses

import (
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "essential-shares-fuse", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "what the vehicle needs to run shares a fuse with what it does not need",
	Doc: `In the vehicle a lead to the heater of an oxygen sensor chafes at the exhaust, its fuse opens, and the fuel pump stops because the
coil of its relay hangs on the same fuse. The rule asks of each fuse what hangs on it before the next fuse. What the vehicle
needs is what says essential = true, and what has the function controller, fuel pump, injection, ignition, main relay or
starter; the coil of a relay counts as what its contact feeds. It fires where something else of a quarter ampere or more,
or another relay's coil, is on the fuse too.

Give one of the two groups a fuse of its own; a spare position will do. If the two belong together, accept it with the reason.

Silent are needed things among themselves, such as injectors and ignition coils on one engine fuse; sensors, inputs and
lamps below a quarter ampere; feeders, behind which each group has a fuse of its own. Where no part of the file states a
function or essential, the rule knows nothing, and no-data says so.`,
	Sources: []string{"common practice: the fuse of the fuel pump and of the controller feed nothing else"},
	Bad:     sharing("F1"), Good: sharing("F2"),
	Settings: []rules.Setting{{Key: "least", Dim: unit.Current, Default: leastShared, Doc: "the current from which a load counts, chosen here: above sensors and telltales"}},
	Run: func(p *rules.Pass) {
		said := slices.ContainsFunc(p.Netlist.Parts, func(part *model.Part) bool { return part.Essential.On || part.Function.IsSet() })
		s := &sharers{p, branches(p.Circuit())}
		for _, g := range surveyOf(p) {
			if len(g.takers) < 2 {
				continue
			}
			if !said {
				t := g.takers[0]
				p.Lacks("function and side", `add function = "low beam", "fuel pump" and the like to the parts, with the side of lamps, and essential = true to what the vehicle needs to run`, t.part.Name.Span, t.part.Name.Text)
				return
			}
			s.judge(g)
		}
	},
})

const leastShared = 0.25

func sharing(fuse string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "fuse", rating = "15 A", family = "blade" }
F2 = { kind = "fuse", rating = "10 A", family = "blade", spare = true }
M1 = { kind = "motor", load = { run = "7 A", stall = "28 A" }, function = "fuel pump", pin.2.unused = true }
H1 = { kind = "horn", load = "6 A", function = "horn", pin.2.unused = true }
[link]
BAR = { joins = ["BAT1:+", "F1:1", "F2:1"] }
[wire]
W1 = { from = "F1:2", to = "M1:1", size = "14 AWG", length = "1 m" }
W2 = { from = "` + fuse + `:2", to = "H1:1", size = "14 AWG", length = "1 m" }
`
}

// needed lists the functions without which the vehicle stands still.
var needed = []string{"controller", "fuel pump", "injection", "ignition", "main relay", "starter"}

type sharers struct {
	*rules.Pass
	byEdge map[*graph.Edge]*circuit.Branch
}

func (s *sharers) judge(g *guarded) {
	var vital, other []taker
	var words []string
	for _, t := range g.takers {
		if fed := s.vital(t); fed != nil {
			vital = append(vital, t)
			if name := needs(t, fed); !slices.Contains(words, name) {
				words = append(words, name)
			}
		} else if s.counts(t) {
			other = append(other, t)
		}
	}
	if len(vital) == 0 || len(other) == 0 {
		return
	}
	refs := []string{g.part.Name.Text}
	var names []string
	for _, t := range append(slices.Clone(vital), other...) {
		if !slices.Contains(refs, t.part.Name.Text) {
			refs = append(refs, t.part.Name.Text)
		}
	}
	for _, t := range other {
		if !slices.Contains(names, t.name()) {
			names = append(names, t.name())
		}
	}
	d := s.Report(g.part.Name.Span, refs, "%s feeds %s, without which the vehicle stands, together with %s", called(g.part), rules.And(words), rules.Few(names))
	d.Help = "give one of the two a fuse of its own, a spare position if there is one; or accept it with the reason"
	for _, t := range other[:min(len(other), mostShares)] {
		d.Related = append(d.Related, diag.Related{Span: t.part.Name.Span, Message: "a fault at " + t.name() + " opens " + g.part.Name.Text})
	}
}

// vital returns what the vehicle needs of a taker: its own part, or what its relay feeds; nil for nothing.
func (s *sharers) vital(t taker) *model.Part {
	if t.part.Essential.On || slices.Contains(needed, t.function()) {
		return t.part
	}
	if t.edge == nil || t.edge.Kind != graph.Coil {
		return nil
	}
	for _, fed := range fedByRelay(s.Pass, t.part) {
		if fed.part.Essential.On || slices.Contains(needed, fed.function()) {
			return fed.part
		}
	}
	return nil
}

func needs(t taker, fed *model.Part) string {
	name := t.name()
	if fed != t.part {
		return name + ", which switches " + fed.Name.Text
	}
	return name
}

// counts reports whether a taker can open a fuse by a fault of its own: not a sensor, an input or a telltale.
func (s *sharers) counts(t taker) bool {
	if t.edge == nil {
		return s.Netlist.Pin(t.pin).Load.Value >= s.Setting("least") || !s.Netlist.Pin(t.pin).Load.IsSet()
	}
	if t.edge.Kind == graph.Coil {
		return true
	}
	b := s.byEdge[t.edge]
	return b != nil && math.Abs(s.Circuit().RatedAmps(b)) >= s.Setting("least")
}
