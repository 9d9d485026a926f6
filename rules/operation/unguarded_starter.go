package operation

import (
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "unguarded-starter", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "the starter can turn in gear, or without START",
	Doc: `A starter that turns with a gear engaged drives the vehicle over whoever stands before it; one that turns while the engine
runs is torn to pieces. The rule looks at the solenoid of every starter. It fires where the starter can turn though the clutch or neutral
switches (function = "start interlock") are open, or none is there; and where it turns in a state that does not say engine =
"cranking", with only those switches closed: its feed then comes from RUN and not from START.

Feed the start relay from terminal 50 of the key switch over the clutch or neutral switch. A start relay that an output of a controller works is taken
as guarded by the controller, except with that output on in a state that does not crank. A guarded push button of a race vehicle,
or a boat with the neutral switch in its remote control, is for an acceptance with that reason.`,
	Sources: []string{"DIN 72552: terminal 50 (testdata/reference/terminals-din72552.csv)", "common practice: clutch or neutral switch in the start circuit"},
	Bad:     startFrom(`"S1:50"`),
	Good:    startFrom(`"S4:2"`),
	Run: func(p *rules.Pass) {
		var starters []use
		for i := range p.Graph.Edges {
			e := &p.Graph.Edges[i]
			if e.Kind == graph.Load && (e.Part.Kind.Name == "starter" || e.Part.Inside.Loads[e.Index].Function.Text == "starter") {
				starters = append(starters, use{part: e.Part, a: e.A, b: e.B, edge: e})
			}
		}
		if len(starters) == 0 {
			return
		}
		s := &starts{Pass: p, web: reach.New(p.Facts), interlocks: hasFunction(p, "start interlock")}
		for i := range starters {
			s.inRun(&starters[i])
			s.inGear(&starters[i])
		}
	},
})

// startFrom is a starter whose relay's coil is fed from the place given.
func startFrom(feed string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", function = "key", pins = ["30", "15", "50"], positions = { off = [], run = ["30-15"], start = ["30-15-50"] } }
S4 = { kind = "switch", function = "start interlock", positions = { released = [], pressed = ["1-2"] } }
K8 = { kind = "relay", suppression = "resistor" }
M1 = { kind = "starter", case = "body", load = "12 A" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:30" }
W2 = { from = "S1:50", to = "S4:1" }
W3 = { from = ` + feed + `, to = "K8:86" }
W4 = { from = "K8:85", to = "G1:1" }
W5 = { from = "BAT1:+", to = "K8:30" }
W6 = { from = "K8:87", to = "M1:50" }
W7 = { from = "BAT1:-", to = "G1:2" }
[state.run]
switches = { S1 = "run" }
[state.crank]
engine = "cranking"
switches = { S1 = "start", S4 = "pressed" }
`
}

type starts struct {
	*rules.Pass
	web        *reach.Web
	interlocks []*model.Part
}

// inRun looks for a state without cranking in which only the interlock keeps the starter still.
func (s *starts) inRun(starter *use) {
	for _, cond := range s.Conditions {
		if cond.State == nil || cond.State.Engine.Text == "cranking" {
			continue
		}
		f := s.web.Flow(reach.Ask{Condition: cond, Free: among(s.interlocks)})
		if !f.Works(starter.a, starter.b) {
			continue
		}
		span, refs := s.feed(f, starter)
		with := ""
		if slices.ContainsFunc(f.Needs(starter.a, starter.b), among(s.interlocks)) {
			with = " with " + rules.And(partNames(s.interlocks)) + " closed"
		}
		relay := s.relay(f, starter)
		what := starter.title() + " turns"
		if relay != nil {
			what = titled(relay) + " pulls in"
		}
		d := s.Report(span, refs, "in state %s, without START, %s%s", cond.Name(), what, with)
		d.Help = "feed it from terminal 50 of the key switch, over its fuse"
		return
	}
}

// inGear looks whether the starter turns with the interlocks open. Where a controller works the relay, that is its matter.
func (s *starts) inGear(starter *use) {
	ask := reach.Ask{Free: reach.Any, Outputs: reach.NoOutput, Out: among(s.interlocks)}
	if at := engine(s.Pass, "cranking"); len(at) > 0 {
		ask.Free, ask.Condition = nil, s.Conditions[at[0]]
	}
	f := s.web.Flow(ask)
	if !f.Works(starter.a, starter.b) {
		return
	}
	span, refs := s.feed(f, starter)
	if len(s.interlocks) == 0 {
		d := s.Report(span, refs, "%s turns in gear: no clutch or neutral switch lies in its way (no start interlock)", starter.title())
		d.Help = `lead the feed of the start relay's coil over a clutch or neutral switch, and say function = "start interlock" of it`
		return
	}
	d := s.Report(span, append(refs, partNames(s.interlocks)...), "%s turns in gear: start interlock %s is bypassed", starter.title(), rules.And(partNames(s.interlocks)))
	d.Help = "lead the feed of the start relay's coil over " + rules.And(partNames(s.interlocks))
}

func (s *starts) relay(f *reach.Flow, starter *use) *model.Part {
	for _, part := range f.Needs(starter.a, starter.b) {
		if len(part.Inside.Coils) > 0 {
			return part
		}
	}
	return nil
}

// feed finds the words where the start circuit gets its supply: at the last fuse before the coil, else at the starter.
func (s *starts) feed(f *reach.Flow, starter *use) (span source.Span, refs []string) {
	refs = []string{starter.part.Name.Text}
	if relay := s.relay(f, starter); relay != nil {
		refs = append(refs, relay.Name.Text)
	}
	span, fuse := feedOf(s.Pass, f, starter)
	if fuse != nil {
		refs = append(refs, fuse.Name.Text)
	}
	return span, refs
}
