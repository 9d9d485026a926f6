package wires

import (
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "supply-too-low", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a controller or a relay gets too few volts to work, most of all while cranking",
	Doc: `In the vehicle the starter pulls the battery down to 10 V or less, the shared wires take their part, and the controller
starts anew at every try: the engine turns and never fires. A relay whose coil is hot needs more volts than a cold one, and what
it feeds stays dead.

The rule looks at a module while the engine cranks, if it drives an output in that state or lists the state under needed-in;
and at any part with works-from in the states of its needed-in. It fires where a live supply terminal has less than works-from.
A module that states none is held against 8 V of 12 (other systems in proportion). A terminal that is dead altogether is
another rule's matter.

Of relays it fires while cranking where the coil lies between supply and ground and yet stays below the volts at which a hot coil
pulls in: pull-in, stated for 23 C, raised by 0.4 % a kelvin. A relay that was already held with the key on, before the
starter turned, need only stay above its drop-out; one that the key itself works pulls in before the starter draws its current.

Shorten the loop that is shared with the starter, take ground and supply at the battery, or feed the relay from there. What
need not work while cranking should not be on then: leave the state out of its needed-in, or shed it by the key switch.`,
	Sources: []string{
		"common practice: controllers work from 8 V while cranking; the posts of a battery stand at 9.5 to 10 V then",
		"ISO 7588 practice: pull-in 8 V of 12 V, cold (testdata/reference/relay-iso7588.csv)",
		"copper: 0.393 % a kelvin (IEC 60028)",
	},
	Settings: []rules.Setting{{Key: "works-from", Dim: unit.Voltage, Default: 8,
		Doc: "the least supply of a module in a 12 V system that states none; job practice"}},
	Bad: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "15 A" }
A1 = { kind = "module", pins = ["1", "2", "3"], pin.1 = { role = "supply", load = "5 A" }, pin.2 = { role = "ground" }, pin.3 = { role = "sink", unused = true }, needed-in = ["crank"], works-from = "12 V", budget = "accessory" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "12 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "A1:1", size = "18 AWG", length = "2.5 m" }
W3 = { from = "A1:2", to = "BAT1:-", size = "18 AWG", length = "2.5 m" }
[state.crank]
engine = "cranking"
`,
	Good: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "15 A" }
A1 = { kind = "module", pins = ["1", "2", "3"], pin.1 = { role = "supply", load = "5 A" }, pin.2 = { role = "ground" }, pin.3 = { role = "sink", unused = true }, needed-in = ["crank"], works-from = "12 V", budget = "accessory" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "12 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "A1:1", size = "12 AWG", length = "1 m" }
W3 = { from = "A1:2", to = "BAT1:-", size = "12 AWG", length = "1 m" }
[state.crank]
engine = "cranking"
`,
	Run: func(p *rules.Pass) {
		low := map[model.PinID]*worse[lowSupply]{}
		weak := map[*model.Part]*worse[lowSupply]{}
		for cond, r := range settled(p) {
			for _, part := range p.Netlist.Parts {
				if needs(part, cond) {
					collectLow(p, part, cond, r, low)
				}
			}
			if cranks(cond) {
				collectWeak(p, cond, r, weak)
			}
		}
		for _, part := range p.Netlist.Parts {
			for _, id := range part.Terminals() {
				if at := low[id]; at != nil {
					reportLow(p, part, id, at.what)
				}
			}
			if at := weak[part]; at != nil {
				reportWeak(p, part, at.what)
			}
		}
	},
})

// lowSupply is a terminal or a coil with too few volts.
type lowSupply struct {
	cond        *graph.Condition
	has, wants  float64
	temperature unit.Celsius // of a coil
}

func cranks(cond *graph.Condition) bool {
	return cond.State != nil && cond.State.Engine.Text == "cranking"
}

// needs reports whether a part must work in a state, by what the file says.
func needs(part *model.Part, cond *graph.Condition) bool {
	if cond.State == nil {
		return false
	}
	if len(part.NeededIn) > 0 {
		needed := slices.ContainsFunc(part.NeededIn, func(n model.Name) bool { return n.Text == cond.State.Name.Text })
		return needed && (part.WorksFrom.IsSet() || part.Kind.Name == "module" && cranks(cond))
	}
	if part.Kind.Name != "module" || !cranks(cond) {
		return false
	}
	terminals := part.Terminals()
	return slices.ContainsFunc(cond.State.Driven, func(r model.PinRef) bool { return r.ID != model.NoPin && slices.Contains(terminals, r.ID) })
}

// collectLow keeps the supply terminals of a part that have too few volts against its ground.
func collectLow(p *rules.Pass, part *model.Part, cond *graph.Condition, r *circuit.Report, low map[model.PinID]*worse[lowSupply]) {
	wants := p.Setting("works-from") * p.Netlist.Harness.Volts / 12
	if part.WorksFrom.IsSet() {
		wants = part.WorksFrom.Value
	}
	for _, pair := range supplies(p, part) {
		v, known := r.Solution.Across(pair.A, pair.B)
		if v = math.Abs(v); !known || v < deadShare*wants || v >= wants*(1-1e-9) {
			continue
		}
		if low[pair.A] == nil {
			low[pair.A] = &worse[lowSupply]{}
		}
		low[pair.A].take(wants-v, lowSupply{cond: cond, has: v, wants: wants})
	}
}

// deadShare is the share of what is needed below which a supply counts as switched off, or as fed by leakage alone.
const deadShare = 0.3

// supplies are the pairs of terminals that a part lives from: its supply terminals against its first ground that is wired, or,
// where it has no such terminals, its first load.
func supplies(p *rules.Pass, part *model.Part) []model.Pair {
	ground := model.NoPin
	var pairs []model.Pair
	for _, id := range part.Terminals() {
		if p.Netlist.Pin(id).Role == catalog.Ground && ground == model.NoPin && p.Graph.Reached(id) {
			ground = id
		}
	}
	if ground == model.NoPin {
		if id, ok := part.Owner.Pin(model.CasePin); ok {
			ground = id
		}
	}
	for _, id := range part.Terminals() {
		if ground != model.NoPin && p.Netlist.Pin(id).Role == catalog.Supply && p.Graph.Reached(id) {
			pairs = append(pairs, model.Pair{A: id, B: ground})
		}
	}
	if len(pairs) == 0 && len(part.Inside.Loads) > 0 {
		pairs = append(pairs, part.Inside.Loads[0].Pair)
	}
	return pairs
}

func reportLow(p *rules.Pass, part *model.Part, pin model.PinID, x lowSupply) {
	at, stated := part.Name.Span, "what a module needs"
	if part.WorksFrom.IsSet() {
		at, stated = part.WorksFrom.Span, "works-from"
	}
	name := p.Netlist.Pin(pin).String()
	d := p.Report(at, []string{part.Name.Text, name}, "%s gets %s at %s %s and works from %s (%s)",
		titled(part.Name.Text, part.Title.Text), volts(x.has), name, inState(x.cond), volts(x.wants), stated)
	d.Help = fmt.Sprintf("shorten or thicken what it shares with the starter; if it need not work then, leave %s out of its needed-in", x.cond.Name())
}

// collectWeak keeps the relays that are meant to pull in and have too few volts for it.
func collectWeak(p *rules.Pass, cond *graph.Condition, r *circuit.Report, weak map[*model.Part]*worse[lowSupply]) {
	for i := range r.Solution.Circuit.Branches {
		b := &r.Solution.Circuit.Branches[i]
		held := b.IsCoil() && heldBefore(p, b.Part)
		if !b.IsCoil() || !cond.Engaged(b.Part) || r.Solution.Engaged(b.Part) && (held || !byOutput(p, b)) {
			continue
		}
		hot := max(1, 1+coilCoefficient*float64(b.Ambient()-coilReference))
		wants := hot * valueOr(b.Part, "pull-in", pullIn*p.Netlist.Harness.Volts/12)
		if held {
			wants = min(wants, hot*valueOr(b.Part, "drop-out", dropOut*p.Netlist.Harness.Volts/12))
		}
		has := math.Abs(r.Solution.BranchVolts(i))
		if has < deadShare*wants && len(r.Solution.Circuit.Missing) > 0 {
			continue // it is meant to be fed: what is not solved, for want of a size or a length, lies on its way, and no-data says so
		}
		if has < wants {
			if weak[b.Part] == nil {
				weak[b.Part] = &worse[lowSupply]{}
			}
			weak[b.Part].take(wants-has, lowSupply{cond, has, wants, b.Ambient()})
		}
	}
}

// The voltages of a relay in a 12 V system that states none, at coilReference in C, and how they grow with the resistance of
// the coil, per kelvin.
const (
	pullIn          = 8.0
	dropOut         = 2.0
	coilReference   = 23
	coilCoefficient = 0.00393
)

func valueOr(part *model.Part, key string, other float64) float64 {
	if v := part.Value(key); v != nil && v.Quantity.Value > 0 {
		return v.Quantity.Value
	}
	return other
}

// byOutput reports whether an output of a module works a coil: it may do so at any moment, with the starter turning. A coil
// that the key works pulls in before that.
func byOutput(p *rules.Pass, coil *circuit.Branch) bool {
	for _, end := range [...]model.PinID{coil.A, coil.B} {
		for _, id := range p.Graph.NetOf(end).Pins {
			switch p.Netlist.Pin(id).Role {
			case catalog.Sink, catalog.Driver, catalog.HalfBridge:
				return true
			}
		}
	}
	return false
}

// heldBefore reports whether a relay is pulled in with the key on while the engine stands, as it then is when the starter
// begins to turn.
func heldBefore(p *rules.Pass, part *model.Part) bool {
	for cond, r := range settled(p) {
		if cond.State != nil && (cond.State.Engine.Text == "" || cond.State.Engine.Text == "off") && len(cond.State.Switches) > 0 && r.Solution.Engaged(part) {
			return true
		}
	}
	return false
}

func reportWeak(p *rules.Pass, part *model.Part, x lowSupply) {
	what := "pull in"
	if heldBefore(p, part) {
		what = "hold"
	}
	has, wants := rules.Apart(x.has, x.wants, "V", volts)
	d := p.Report(part.Name.Span, []string{part.Name.Text}, "the coil of %s gets %s %s and needs %s to %s at %s",
		titled(part.Name.Text, part.Title.Text), has, inState(x.cond), wants, what, x.temperature)
	d.Help = "feed its coil nearer to the battery, thicken what it shares with the starter, or take a relay with a lower pull-in"
}
