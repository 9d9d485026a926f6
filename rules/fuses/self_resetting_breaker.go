package fuses

import (
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "self-resetting-breaker", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Title: "a breaker that closes by itself feeds a pump, a fan or a starter",
	Doc: `In the vehicle the breaker opens on a fault, cools, and closes again for as long as the battery lasts: a fuel pump starts once
more after an accident, a fan into the hand that clears it, a starter while somebody leans over the engine. The rule fires
where a breaker with reset = "automatic" feeds a fuel pump, a cooling fan or a starter, directly or through the contact or the coil of a relay.
What a motor is for is read from function, or from budget = "pump" or "fan".

Take a fuse, or a breaker that is closed by hand, reset = "manual".

Silent are lamps and wipers, for which such breakers are made, bilge pumps, which should start again, and cut-outs inside a
motor.`,
	Sources: []string{"SAE J553 type I (automatic reset), from memory", "common practice: never on a pump, a fan or a starter"},
	Bad:     resetting("automatic"), Good: resetting("manual"),
	Run: func(p *rules.Pass) {
		for _, g := range surveyOf(p) {
			v := g.part.Value("reset")
			if v == nil || v.Word.Text != "automatic" {
				continue
			}
			for _, t := range g.takers {
				if what, part := dangerous(p, t); what != "" {
					d := p.Report(v.Word.Span, []string{g.part.Name.Text, part.Name.Text}, "%s closes by itself after a fault and feeds %s, %s: it starts again without warning",
						called(g.part), via(t, part), what)
					d.Help = fmt.Sprintf("take a fuse, or a breaker that is closed by hand: reset = %q", "manual")
					d.Related = append(d.Related, diag.Related{Span: part.Name.Span, Message: part.Name.Text + " is " + what})
					break
				}
				if t.load != nil && t.part.Kind.Name == "motor" && t.function() == "" && t.part.Value("budget") == nil {
					p.Lacks("function", `add function = "fuel pump", "cooling fan" or "wiper" to it`, t.part.Name.Span, t.part.Name.Text)
				}
			}
		}
	},
})

func resetting(how string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "breaker", rating = "30 A", reset = "` + how + `" }
M1 = { kind = "motor", load = { run = "14 A", stall = "60 A" }, function = "cooling fan", pin.2.unused = true }
[link]
BAR = { joins = ["BAT1:+", "F1:1"] }
[wire]
W1 = { from = "F1:2", to = "M1:1", size = "10 AWG", length = "1 m" }
`
}

// restarts lists the functions that must not come back by themselves, with the words for them.
var restarts = map[string]string{"fuel pump": "a fuel pump", "cooling fan": "a cooling fan", "starter": "a starter"}

// dangerous says what of that sort a taker is, or feeds through its relay; empty for neither.
func dangerous(p *rules.Pass, t taker) (string, *model.Part) {
	if t.edge == nil {
		return "", nil
	}
	if t.edge.Kind != graph.Coil {
		return restarting(t), t.part
	}
	if what := restarts[t.part.Function.Text]; what != "" {
		return what, t.part
	}
	for _, fed := range fedByRelay(p, t.part) {
		if what := restarting(fed); what != "" {
			return what, fed.part
		}
	}
	return "", nil
}

func restarting(t taker) string {
	if t.part.Kind.Name == "starter" {
		return restarts["starter"]
	}
	if f := t.function(); f != "" {
		return restarts[f]
	}
	if v := t.part.Value("budget"); v != nil && t.part.Kind.Name == "motor" {
		switch v.Word.Text {
		case "pump":
			return "a pump"
		case "fan":
			return "a fan"
		}
	}
	return ""
}

// via names a part with the relay that a breaker reaches it through.
func via(t taker, part *model.Part) string {
	if t.part != part {
		return t.name() + ", which switches " + part.Name.Text
	}
	return t.name()
}
