package switching

import (
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "fed-at-throw", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a switch is fed at one of its throws instead of at its common terminal",
	Doc: `In the vehicle one position of the switch works and the others are dead, or the wrong thing works: the feed and one of the
switched wires are exchanged at the switch. The rule takes switches that join one common terminal to another one in each position, and
fires where the common terminal leads to consumers alone while just one of the throws comes from the battery, or, of
switches in the way to ground, from ground.

Exchange the two wires, so that the feed is on the common terminal. Silent are switches that choose between two sources, pairs of
switches that work one lamp from two places, throws that lead nowhere, and switches whose common terminal and another throw lead to one
part, as the stalk of a wiper that brakes the motor in its off.`,
	Sources: []string{"common practice"},
	Bad:     threeWay("S1:2", "S1:1"),
	Good:    threeWay("S1:1", "S1:2"),
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			if common, throws := throwsOf(part); !part.Spare.On && common != model.NoPin && len(throws) > 1 {
				fedAtThrow(p, part, common, throws)
			}
		}
	},
})

// threeWay is a switch of two speeds, with the terminals where the feed and the slow speed are.
func threeWay(feed, slow string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "10 A" }
S1 = { kind = "switch", pins = ["1", "2", "3"], positions = { off = [], slow = ["1-2"], fast = ["1-3"] }, rest = "off" }
M1 = { kind = "motor", load = "2 A" }
M2 = { kind = "motor", load = "4 A" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "14 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "` + feed + `", size = "14 AWG", length = "0.1 m" }
W3 = { from = "` + slow + `", to = "M1:1", size = "14 AWG", length = "0.1 m" }
W4 = { from = "S1:3", to = "M2:1", size = "14 AWG", length = "0.1 m" }
W5 = { from = "M1:2", to = "BAT1:-", size = "14 AWG", length = "0.1 m" }
W6 = { from = "M2:2", to = "BAT1:-", size = "14 AWG", length = "0.1 m" }
`
}

// throwsOf returns the terminal that a switch joins to something in each position that joins anything, and what it joins it to;
// model.NoPin when there is none, or the switch joins other pairs too.
func throwsOf(part *model.Part) (common model.PinID, throws []model.PinID) {
	var groups [][]model.PinID
	for i := range part.Inside.Positions {
		groups = append(groups, part.Inside.Positions[i].Joins...)
	}
	if len(groups) < 2 {
		return model.NoPin, nil
	}
	for _, pin := range groups[0] {
		if !slices.ContainsFunc(groups, func(g []model.PinID) bool { return len(g) != 2 || !slices.Contains(g, pin) }) {
			if common != model.NoPin && len(throws) > 0 {
				return model.NoPin, nil // one pair in all positions: nobody can say which end is the common one
			}
			common, throws = pin, nil
			for _, g := range groups {
				other := g[0]
				if other == pin {
					other = g[1]
				}
				if !slices.Contains(throws, other) {
					throws = append(throws, other)
				}
			}
		}
	}
	return common, throws
}

func fedAtThrow(p *rules.Pass, part *model.Part, common model.PinID, throws []model.PinID) {
	around := func(e *graph.Edge) bool {
		return e.Part != part && (e.Kind.Conducts() || e.Kind.Contact())
	}
	comes := func(pin model.PinID, from func(model.PinID) bool) bool {
		return from(pin) || len(p.Graph.PathTo(pin, from, around)) > 0
	}
	supplied := func(pin model.PinID) bool { return comes(pin, p.IsLive) || comes(pin, p.IsGround) }
	if !p.Graph.Reached(common) || supplied(common) {
		return
	}
	fed := model.NoPin
	for _, pin := range throws {
		switch {
		case !p.Graph.Reached(pin):
			return // with one throw alone it does not matter which end is which
		case supplied(pin) && fed != model.NoPin:
			return
		case supplied(pin):
			fed = pin
		case share(p, part, pin, common):
			return // as the stalk of a wiper, whose common terminal is the motor's, and whose off brakes it
		}
	}
	if fed == model.NoPin || loose(p, common) {
		return
	}
	d := p.Report(part.Name.Span, []string{part.Name.Text, p.Netlist.Pin(fed).String(), p.Netlist.Pin(common).String()},
		"%s is fed at %s, which one position joins, and not at %s, which all of them join", titled(part), p.Netlist.Pin(fed), p.Netlist.Pin(common))
	d.Help = "exchange what goes to " + p.Netlist.Pin(fed).String() + " and " + p.Netlist.Pin(common).String()
	d.Fixes = p.Exchange(fed, common, false)
}

// share reports whether two terminals of a switch lead to one and the same part.
func share(p *rules.Pass, of *model.Part, a, b model.PinID) bool {
	devices := func(at model.PinID) map[*model.Part]bool {
		found := map[*model.Part]bool{}
		for _, id := range p.Graph.NetOf(at).Pins {
			if part := p.Netlist.Pin(id).Owner.Device(); part != nil && part != of {
				found[part] = true
			}
		}
		return found
	}
	there := devices(b)
	for part := range devices(a) {
		if there[part] {
			return true
		}
	}
	return false
}

// loose reports whether what hangs at a terminal may be fed by something that the file does not say: a terminal of a module or of a
// connector without another half.
func loose(p *rules.Pass, at model.PinID) bool {
	return slices.ContainsFunc(p.Graph.NetOf(at).Pins, func(id model.PinID) bool {
		pin := p.Netlist.Pin(id)
		return isOutput(pin) || unsaid(p, pin)
	})
}
