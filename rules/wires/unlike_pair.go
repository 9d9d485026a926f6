package wires

import (
	"math"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "unlike-pair", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "the lamps of a pair do not work together",
	Doc: `In the vehicle one head lamp shows high while the other shows low, or one tail lamp is dark: two wires are exchanged at one of the two,
or one of them hangs on another switch. The rule takes lamps that are stated for one function and for the two sides of the vehicle
(function = "low beam", side = "left"), and fires where in some state one side is on and the other is off.

Look which of the two is wrong: the states in which each is on stand in ferrule solve. Silent are turn lamps, which work one side at a
time; parking lamps and tail lamps of which each side has states of its own; lamps of which the file does not say the side; and lamps
that never work, which is never-live's matter.`,
	Sources: []string{"common practice", "UN Regulation 48: lamps of a pair light up and go out together (from memory)"},
	Bad:     pairExample("S2:2"),
	Good:    pairExample("S1:2"),
	Run: func(p *rules.Pass) {
		for _, function := range together {
			var left, right []oddLamp // on one side alone
			on := map[*circuit.Branch]bool{}
			for cond, r := range settled(p) {
				if odd, side := oddOf(cond, r, function, on); side == "left" {
					left = append(left, odd)
				} else if side == "right" {
					right = append(right, odd)
				}
			}
			if sideways[function] && len(left) > 0 && len(right) > 0 {
				continue
			}
			if all := append(left, right...); len(all) > 0 {
				reportOdd(p, function, all, on)
			}
		}
	},
})

// pairExample is a pair of tail lamps behind a switch, of which the second is fed from where it says.
func pairExample(feed string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "5 A" }
S1 = { kind = "switch" }
S2 = { kind = "switch" }
E1 = { kind = "lamp", load = "5 W", function = "tail", side = "left" }
E2 = { kind = "lamp", load = "5 W", function = "tail", side = "right" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "18 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "S1:1", size = "18 AWG", length = "1 m" }
W3 = { from = "S1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
W4 = { from = "` + feed + `", to = "E2:1", size = "18 AWG", length = "1 m" }
W7 = { from = "F1:2", to = "S2:1", size = "18 AWG", length = "1 m" }
W5 = { from = "E1:2", to = "BAT1:-", size = "18 AWG", length = "1 m" }
W6 = { from = "E2:2", to = "BAT1:-", size = "18 AWG", length = "1 m" }
[state.off]
[state.lights]
switches = { S1 = "on" }
[state.both]
switches = { S1 = "on", S2 = "on" }
`
}

// together are the functions of lamps whose two sides light up and go out together.
var together = []string{"low beam", "high beam", "tail", "stop", "reverse", "park"}

// sideways are those of them that some vehicles light on one side on purpose, when parked.
var sideways = map[string]bool{"tail": true, "park": true}

// An oddLamp is a pair in a state in which the two sides differ.
type oddLamp struct {
	cond     *graph.Condition
	lit, off *circuit.Branch
}

// A lamp counts as lit from half the nominal voltage on, and as dark below a tenth: between the two something else is wrong.
const (
	litShare  = 0.5
	darkShare = 0.1
)

// oddOf finds the pair of a function of which one side is on in a state, and which side that is; empty when both are, or none, or the
// file knows one side alone. It notes what is on.
func oddOf(cond *graph.Condition, r *circuit.Report, function string, on map[*circuit.Branch]bool) (oddLamp, string) {
	lit, dark := map[string]*circuit.Branch{}, map[string]*circuit.Branch{}
	nominal := r.Solution.Circuit.Netlist.Harness.Volts
	for i := range r.Solution.Circuit.Branches {
		b := &r.Solution.Circuit.Branches[i]
		if b.Load == nil || b.Load.Function.Text != function || !b.Load.Side.IsSet() || b.Part.Spare.On {
			continue
		}
		side := b.Load.Side.Text
		switch volts := math.Abs(r.Solution.BranchVolts(i)); {
		case volts >= litShare*nominal:
			lit[side], on[b] = b, true
		case volts < darkShare*nominal && dark[side] == nil:
			dark[side] = b
		}
	}
	for _, side := range [...]string{"left", "right"} {
		other := map[string]string{"left": "right", "right": "left"}[side]
		if lit[side] != nil && lit[other] == nil && dark[other] != nil {
			return oddLamp{cond, lit[side], dark[other]}, side
		}
	}
	return oddLamp{}, ""
}

// reportOdd reports the first state in which a pair differs whose dark lamp works in some state.
func reportOdd(p *rules.Pass, function string, all []oddLamp, on map[*circuit.Branch]bool) {
	for _, odd := range all {
		if !on[odd.off] {
			continue
		}
		off, lit := odd.off.Part, odd.lit.Part
		d := p.Report(off.Name.Span, []string{off.Name.Text, lit.Name.Text}, "the %s of %s is off %s, and that of %s is on", function, off.Name.Text, inState(odd.cond), lit.Name.Text)
		d.Help = "look whether two wires are exchanged at one of the two lamps, or lead both over one switch or relay"
		d.Related = []diag.Related{{Span: lit.Name.Span, Message: lit.Name.Text + " is on"}}
		return
	}
}
