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
	Name: "single-failure", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "one fuse or relay stops all cooling fans",
	Doc: `Two fans are there so that one can fail. Where both hang on one relay, on one fuse, or with the coils of their relays on one fuse,
a single blown fuse stops both, and the engine overheats without a word. The rule takes what the fans (function = "cooling
fan") are fed through, takes out one fuse or relay at a time, and fires where none of several fans can work any more. It says
too where the fuel pump goes with them.

Feed the coil of the second fan's relay over another fuse, or put a thermal switch in parallel to the output. Silent are main
fuses between the battery and a rail 30, which everything hangs on, vehicles with one fan, and fans that a second way keeps
alive. Where the engine stops with the fans the finding can be accepted with that reason.`,
	Sources: []string{"common practice"},
	Bad:     twoFans(`"F1:2"`),
	Good:    twoFans(`"F2:2"`),
	Run: func(p *rules.Pass) {
		fans := uses(p, "cooling fan")
		if len(names(fans)) < 2 {
			return
		}
		s := &single{Pass: p, web: reach.New(p.Facts)}
		most := s.flow(nil)
		fans = slices.DeleteFunc(fans, func(u use) bool { return !most.Works(u.a, u.b) })
		if len(names(fans)) < 2 {
			return
		}
		var points []*model.Part
		for _, part := range most.Needs(fans[0].a, fans[0].b) {
			if !s.canFail(part) {
				continue
			}
			f := s.flow(part)
			if !slices.ContainsFunc(fans, func(u use) bool { return f.Works(u.a, u.b) }) {
				points = append(points, part)
			}
		}
		if len(points) > 0 {
			s.report(fans, points, most)
		}
	},
})

// twoFans are two fans of which the second's fuse is given by where it is fed.
func twoFans(feed string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "30 A" }
F2 = { kind = "fuse", rating = "30 A" }
S1 = { kind = "switch", pins = ["1", "2"] }
S2 = { kind = "switch", pins = ["1", "2"] }
M1 = { kind = "motor", function = "cooling fan", load = "14 A" }
M2 = { kind = "motor", function = "cooling fan", load = "14 A" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1" }
W2 = { from = "BAT1:+", to = "F2:1" }
W3 = { from = "F1:2", to = "S1:1" }
W4 = { from = ` + feed + `, to = "S2:1" }
W5 = { from = "S1:2", to = "M1:1" }
W6 = { from = "S2:2", to = "M2:1" }
W7 = { from = "M1:2", to = "G1:1" }
W8 = { from = "M2:2", to = "G1:2" }
W9 = { from = "BAT1:-", to = "G1:3" }
`
}

type single struct {
	*rules.Pass
	web *reach.Web
}

func (s *single) flow(out *model.Part) *reach.Flow {
	return s.web.Flow(reach.Ask{Free: reach.Any, Outputs: reach.AnyOutput, Out: func(p *model.Part) bool { return p == out }})
}

// canFail takes fuses and relays, but no main fuse: one that lies between a battery and a rail 30.
func (s *single) canFail(part *model.Part) bool {
	if len(part.Inside.Coils) > 0 {
		return true
	}
	if len(part.Inside.Protects) == 0 {
		return false
	}
	for _, pair := range part.Inside.Protects {
		if s.on30(pair.A) && s.onSource(pair.B) || s.on30(pair.B) && s.onSource(pair.A) {
			return false
		}
	}
	return true
}

func (s *single) on30(pin model.PinID) bool {
	for _, l := range s.Netlist.Links {
		if l.Rail.Text == "30" && len(l.Joins) > 0 && l.Joins[0].ID != model.NoPin && s.Solid(l.Joins[0].ID) == s.Solid(pin) {
			return true
		}
	}
	return false
}

func (s *single) onSource(pin model.PinID) bool {
	for i := range s.Graph.Edges {
		if e := &s.Graph.Edges[i]; e.Kind == graph.Source && (s.IsLive(e.A) && s.Solid(e.A) == s.Solid(pin) || s.IsLive(e.B) && s.Solid(e.B) == s.Solid(pin)) {
			return true
		}
	}
	return false
}

func (s *single) report(fans []use, points []*model.Part, most *reach.Flow) {
	var pumps []use
	for _, u := range uses(s.Pass, "fuel pump") {
		if !most.Works(u.a, u.b) {
			continue
		}
		for _, part := range points {
			if f := s.flow(part); !f.Works(u.a, u.b) {
				pumps = append(pumps, u)
				break
			}
		}
	}
	refs := append(append(partNames(points), names(fans)...), names(pumps)...)
	with := ""
	if len(pumps) > 0 {
		with = ", and with them the fuel pump " + rules.And(names(pumps))
	}
	word := "both fans, "
	if len(names(fans)) > 2 {
		word = "all fans, "
	}
	alone := partNames(points)
	which := alone[0] + " alone"
	if n := len(alone); n > 1 {
		which = "any one of " + rules.And(alone)
	}
	d := s.Report(points[0].Name.Span, refs, "%s%s, stop with %s%s", word, rules.And(names(fans)), which, with)
	d.Help = "feed the coil or the supply of one fan over another fuse or relay, or put a thermal switch in parallel to the output"
}
