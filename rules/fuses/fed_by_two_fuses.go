package fuses

import (
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "fed-by-two-fuses", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "two fuses feed one net",
	Doc: `In the vehicle somebody pulls the fuse to work on the circuit, and it stays live through the other. In a fault both fuses carry,
so the wire behind sees the sum of the two ratings, for which it was not made, and whichever opens first leaves the fault to the other. The rule
looks for loops that metal and fuses close by themselves, whatever the switches do: two ways from one source to one net, each
through a fuse.

Take one of the two ways out. Two circuits that are to be fed together get one fuse; a feed that is doubled on purpose gets a
diode in each way, or a switch.

Silent are ways through a diode, a relay or a switch, two batteries that are joined through a fuse each, and a fuse that lies
between two ends of one bus with nothing else around it.`,
	Sources: []string{"common practice: one net, one fuse"},
	Bad:     doubled(`W2 = { from = "F2:2", to = "E1:1", size = "16 AWG", length = "1 m" }`),
	Good:    doubled(`W2 = { from = "F2:2", to = "E2:1", size = "16 AWG", length = "1 m" }`),
	Run: func(p *rules.Pass) {
		joined := graph.NewSets(len(p.Netlist.Pins))
		for i := range p.Graph.Edges {
			if e := &p.Graph.Edges[i]; e.Kind.Conducts() && e.Kind != graph.Protect {
				joined.Join(int32(e.A), int32(e.B))
			}
		}
		told := map[int32]bool{}
		for i := range p.Graph.Edges {
			e := &p.Graph.Edges[i]
			if e.Kind != graph.Protect || e.A == model.NoPin {
				continue
			}
			if joined.Find(int32(e.A)) != joined.Find(int32(e.B)) {
				joined.Join(int32(e.A), int32(e.B))
				continue
			}
			looped(p, e, told)
		}
	},
})

func doubled(second string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
F2 = { kind = "fuse", rating = "10 A", family = "blade" }
E1 = { kind = "lamp", load = "55 W", pin.2.unused = true }
E2 = { kind = "lamp", load = "55 W", spare = true }
[link]
BAR = { joins = ["BAT1:+", "F1:1", "F2:1"] }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "16 AWG", length = "1 m" }
` + second + `
`
}

// looped reports a fuse that closes a loop. Of a loop with several fuses the last in the file closes it; each net that is
// fed so is told once.
func looped(p *rules.Pass, e *graph.Edge, told map[int32]bool) {
	if p.Solid(e.A) == p.Solid(e.B) || !p.Permanent(e.A) && !switched(p, e) {
		return // metal lies around the fuse: it protects nothing, and is no second feed
	}
	way := p.Graph.Path(e.A, e.B, func(x *graph.Edge) bool { return x != e && x.Kind.Conducts() && x.Kind != graph.Bolted })
	other := slices.IndexFunc(way, func(h graph.Hop) bool { return h.Edge.Kind == graph.Protect })
	if other < 0 {
		return
	}
	load := e.B
	if depth(p, e.B) < depth(p, e.A) {
		load = e.A
	}
	net := p.Solid(load)
	if told[net] {
		return
	}
	told[net] = true
	var fuses []string
	for _, h := range way {
		if h.Edge.Kind == graph.Protect && !slices.Contains(fuses, h.Edge.Part.Name.Text) {
			fuses = append(fuses, h.Edge.Part.Name.Text)
		}
	}
	wire := wireAt(way, load)
	span, refs := e.Part.Name.Span, append([]string{e.Part.Name.Text}, fuses...)
	if wire != nil {
		span = wire.Name.Span
		refs = append(refs, wire.Name.Text)
	}
	d := p.Report(span, refs, "net %s is fed through %s and through %s: with one pulled it stays live, and a fault in it draws from both",
		p.Graph.NetOf(load).Name, called(e.Part), rules.And(fuses))
	d.Help = "take one of the two ways out, or put a diode into each if the feed is doubled on purpose"
	d.Related = p.Hops(way)
}

// switched reports whether a fuse that is not always live has a live side when switches close.
func switched(p *rules.Pass, e *graph.Edge) bool {
	for i := range p.Conditions {
		if p.Conditions[i].Live(e.A) {
			return true
		}
	}
	return false
}

// depth is how many hops a terminal lies from what is live, over conductors, fuses and contacts; large when nothing leads there.
func depth(p *rules.Pass, from model.PinID) int {
	way := p.Graph.PathTo(from, p.IsLive, func(e *graph.Edge) bool { return e.Kind.Conducts() || e.Kind.Contact() })
	if way == nil {
		return len(p.Netlist.Pins)
	}
	fuses := 0
	for _, h := range way {
		if h.Edge.Kind == graph.Protect {
			fuses += 1000
		}
	}
	return fuses + len(way)
}

// wireAt is the wire of a way that comes nearest to its end at the side of the load, or nil.
func wireAt(way []graph.Hop, load model.PinID) *model.Wire {
	ordered := slices.Clone(way)
	if ordered[0].From == load {
		slices.Reverse(ordered)
	}
	for i := len(ordered) - 1; i >= 0; i-- {
		if w := ordered[i].Edge.Wire; w != nil {
			return w
		}
	}
	return nil
}
