package wires

import (
	"math"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "power-ground-drop", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "the power ground of a module stands above the metal that it is grounded at",
	Doc: `In the vehicle all that a module's outputs pull down goes out through its ground pins: injectors, valves, heaters, relay coils.
The wires of those loads never show it. What the ground wires lose lifts the module against the engine, and every signal whose
sensor is grounded there shifts with the duty of the injectors.

The rule solves every state and measures from each power ground pin that is wired to a ground point, to that point. It fires above
0.1 V, everything on that the state drives, and says so once for each module, at the pin that stands highest. A module with isolated-grounds = true keeps its sensor side apart and is silent.

Take a thicker ground wire, a second one to the same stud, or a stud nearer to the module.`,
	Sources:  []string{"common practice: 0.05 V wanted, 0.1 V at most from a controller's power ground to the block"},
	Settings: []rules.Setting{{Key: "limit", Dim: unit.Voltage, Default: 0.1, Doc: "from a power ground pin to its ground point; common practice"}},
	Bad:      moduleGroundExample("20 AWG"),
	Good:     moduleGroundExample("12 AWG"),
	Run: func(p *rules.Pass) {
		pairs := moduleGrounds(p)
		worst := map[model.PinID]*worse[returnDrop]{}
		for cond, r := range settled(p) {
			for _, pair := range pairs {
				v, known := r.Solution.Across(pair.A, pair.B)
				if known && math.Abs(v) > p.Setting("limit")*withinEstimates {
					if worst[pair.A] == nil {
						worst[pair.A] = &worse[returnDrop]{}
					}
					worst[pair.A].take(math.Abs(v), returnDrop{cond, r, pair})
				}
			}
		}
		modules := map[*model.Part]*worse[returnDrop]{}
		for _, pair := range pairs {
			if at, module := worst[pair.A], p.Netlist.Pin(pair.A).Owner.Device(); at != nil {
				if modules[module] == nil {
					modules[module] = &worse[returnDrop]{}
				}
				modules[module].take(at.by, at.what)
			}
		}
		for _, part := range p.Netlist.Parts {
			if at := modules[part]; at != nil {
				reportModuleGround(p, at.by, at.what)
			}
		}
	},
})

func moduleGroundExample(size string) string {
	return `[body.engine]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
G1 = { kind = "ground point", body = "engine" }
A1 = { kind = "module", pins = ["1", "2"], pin.1 = { role = "supply", load = "3 A" }, pin.2.role = "ground" }
[wire]
W1 = { from = "BAT1:+", to = "A1:1", size = "10 AWG", length = "0.1 m" }
W2 = { from = "A1:2", to = "G1:1", size = "` + size + `", length = "1.2 m" }
W3 = { from = "G1:2", to = "BAT1:-", size = "4 AWG", length = "0.5 m" }
`
}

// moduleGrounds pairs the power ground pins of modules with the ground point on their net.
func moduleGrounds(p *rules.Pass) []model.Pair {
	var pairs []model.Pair
	for _, part := range p.Netlist.Parts {
		if part.Kind.Symbol != "module" || part.IsolatedGrounds.On {
			continue
		}
		for _, id := range part.Terminals() {
			if p.Netlist.Pin(id).Role != catalog.Ground || !p.Graph.Reached(id) {
				continue
			}
			if at := nearestGround(p, id); at != model.NoPin && at != id {
				pairs = append(pairs, model.Pair{A: id, B: at})
			}
		}
	}
	return pairs
}

// nearestGround follows wires and joints from a terminal to the first ground metal: a ground point, a post, a body. What lies
// behind that, such as the cable that carries the starter's current, is no matter of the module's wires.
func nearestGround(p *rules.Pass, from model.PinID) model.PinID {
	seen := map[model.PinID]bool{from: true}
	for queue := []model.PinID{from}; len(queue) > 0; queue = queue[1:] {
		at := queue[0]
		if at != from && p.IsGround(at) {
			return at
		}
		for _, id := range p.Graph.At(at) {
			e := p.Graph.Edge(id)
			if next := e.Other(at); e.Kind.Outside() && !seen[next] {
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
	return model.NoPin
}

func reportModuleGround(p *rules.Pass, lost float64, x returnDrop) {
	name, stud := p.Netlist.Pin(x.pair.A).String(), p.Netlist.Pin(x.pair.B).String()
	w := wireOf(x.report, p.Graph.WiresAt(x.pair.A))
	if w == nil {
		return // grounded by a link: there is no wire to change
	}
	stands, most := rules.Apart(lost, p.Setting("limit"), "V", volts)
	d := p.Report(place(w.Wire).Span, []string{w.Wire.Name.Text, name, stud}, "power ground %s stands %s above %s %s, allowed are %s; %s (%s) carries %s",
		name, stands, stud, inState(x.cond), most, w.Wire.Name.Text, w.Wire.Size, amperes(w.Amps))
	d.Help = "take a thicker wire, or a second one from another ground pin to the same stud"
}

// wireOf finds the report of the first of some wires.
func wireOf(r *circuit.Report, wires []*model.Wire) *circuit.WireReport {
	for _, w := range wires {
		for i := range r.Wires {
			if r.Wires[i].Wire == w {
				return &r.Wires[i]
			}
		}
	}
	return nil
}
