package wires

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
	Name: "uneven-lamps", Severity: diag.Note, Harm: rules.Annoys, Since: "0.2",
	Title: "the lamps of a pair get different volts",
	Doc: `In the vehicle one head lamp is yellow beside the other, and who looks for the fault changes bulbs. The light goes with the
3.4th power of the volts, so a quarter of a volt is seven percent. The rule takes lamps of one function on the two sides of
the vehicle (function = "low beam", side = "left"), of the same rating, that are on in the same state, and fires where what reaches
them differs by more than 0.25 V.

Lamps that only tell something, such as those of instruments, are not held against each other; neither is a pair of which
one is off, as in turning.

Make the two ways alike: the same size and ground, and the feed split nearer to the middle.`,
	Sources: []string{
		"common practice: 0.25 V between the lamps of a pair",
		"light of a filament with the 3.4th power of its voltage: common practice of lamp engineering",
	},
	Settings: []rules.Setting{{Key: "difference", Dim: unit.Voltage, Default: 0.25, Doc: "between the two lamps of a pair; common practice"}},
	Bad:      lampExample("18 AWG", "3.5 m"),
	Good:     lampExample("14 AWG", "1 m"),
	Run: func(p *rules.Pass) {
		lackSides(p)
		worst := map[string]*worse[lampPair]{}
		var order []string
		for cond, r := range settled(p) {
			for _, pair := range lampPairs(cond, r) {
				k := pair.left.function
				if worst[k] == nil {
					worst[k] = &worse[lampPair]{}
					order = append(order, k)
				}
				worst[k].take(math.Abs(pair.left.load.Drop.Volts-pair.right.load.Drop.Volts), pair)
			}
		}
		for _, k := range order {
			if worst[k].by > p.Setting("difference")*withinEstimates {
				reportPair(p, worst[k].by, worst[k].what)
			}
		}
	},
})

func lampExample(size, length string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
E1 = { kind = "lamp", load = "55 W", function = "low beam", side = "left" }
E2 = { kind = "lamp", load = "55 W", function = "low beam", side = "right" }
[wire]
W1 = { from = "BAT1:+", to = "E1:1", size = "14 AWG", length = "1 m" }
W2 = { from = "E1:2", to = "BAT1:-", size = "14 AWG", length = "1 m" }
W3 = { from = "BAT1:+", to = "E2:1", size = "` + size + `", length = "` + length + `" }
W4 = { from = "E2:2", to = "BAT1:-", size = "14 AWG", length = "1 m" }
`
}

// paired are the functions of lamps that people see as a pair.
var paired = map[string]bool{
	"low beam": true, "high beam": true, "tail": true, "stop": true, "turn": true, "hazard": true, "reverse": true, "park": true, "navigation light": true,
}

// lackSides names the lamps that people see as a pair, of which the file has several, and whose side it does not say.
func lackSides(p *rules.Pass) {
	count := map[string]int{}
	for _, part := range p.Netlist.Parts {
		for i := range part.Inside.Loads {
			count[part.Inside.Loads[i].Function.Text]++
		}
	}
	for _, part := range p.Netlist.Parts {
		if !part.Spare.On && slices.ContainsFunc(part.Inside.Loads, func(l model.Load) bool {
			return paired[l.Function.Text] && count[l.Function.Text] > 1 && !l.Side.IsSet()
		}) {
			p.Lacks("side of a lamp", `add side = "left" or side = "right" to the part, or to each of its loads`, part.Name.Span, part.Name.Text)
		}
	}
}

// A sideLamp is a lamp on one side of the vehicle.
type sideLamp struct {
	function string
	load     *circuit.LoadReport
	branch   *circuit.Branch
}

// A lampPair is two lamps of one function in a state.
type lampPair struct {
	cond        *graph.Condition
	left, right sideLamp
}

// lampPairs pairs the first left lamp of a function and rating with the first right one, the second with the second.
func lampPairs(cond *graph.Condition, r *circuit.Report) []lampPair {
	type key struct {
		function string
		rated    float64
	}
	sides := map[key]map[string][]sideLamp{}
	var order []key
	for i := range r.Loads {
		l := &r.Loads[i]
		b := &r.Solution.Circuit.Branches[l.Branch]
		if b.Load == nil || !l.Fed || !paired[b.Load.Function.Text] || !b.Load.Side.IsSet() {
			continue
		}
		k := key{b.Load.Function.Text, r.Solution.Circuit.RatedAmps(b)}
		if sides[k] == nil {
			sides[k] = map[string][]sideLamp{}
			order = append(order, k)
		}
		sides[k][b.Load.Side.Text] = append(sides[k][b.Load.Side.Text], sideLamp{b.Load.Function.Text, l, b})
	}
	var pairs []lampPair
	for _, k := range order {
		left, right := sides[k]["left"], sides[k]["right"]
		for i := range min(len(left), len(right)) {
			pairs = append(pairs, lampPair{cond, left[i], right[i]})
		}
	}
	return pairs
}

func reportPair(p *rules.Pass, differ float64, pair lampPair) {
	dim, bright := pair.left, pair.right
	if dim.load.Drop.Volts > bright.load.Drop.Volts {
		dim, bright = bright, dim
	}
	a, b := dim.load.Drop.Volts, bright.load.Drop.Volts
	d := p.Report(dim.branch.Part.Name.Span, []string{dim.load.Ref, bright.load.Ref}, "%s %s gets %s and %s %s: %s apart, some %d %% of the light", dim.function,
		dim.load.Ref, volts(a), bright.load.Ref, volts(b)+" "+inState(pair.cond), volts(differ), int(math.Round(100*(1-math.Pow(a/b, lightExponent)))))
	d.Help = "make the two ways alike: `ferrule trace` shows where the volts of each stay"
	d.Related = []diag.Related{{Span: bright.branch.Part.Name.Span, Message: "the brighter one"}}
}

// lightExponent is the power of its voltage that the light of a filament goes with.
const lightExponent = 3.4
