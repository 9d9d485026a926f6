package nets

import (
	"ferrule/rules"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

var _ = rules.Register(&rules.Rule{
	Name: "dangling-feed", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Title: "a live wire leads to where nothing takes current",
	Doc: `In the vehicle a wire that feeds nothing is still a wire under voltage: its end lies on a stud, a bar or a tab, rubs through, and
nobody misses it until it does. As a rule something was forgotten behind it, or taken out. The rule fires for a net that is live
in some state of the file and in which nothing but what feeds it has a terminal: no consumer, no contact, no fuse, no module.

Wire what belongs behind it, or take the wire out. What is kept for later says so: spare = true at the terminal, the splice or the
part, or "test point" in its title. Wires that end at nothing at all, in a splice with one leg or in a half of a connector, are
unterminated-pin's matter.`,
	Sources: []string{"common practice"},
	Bad: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "fuse", rating = "5 A" }
STD1 = { kind = "stud" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1" }
W2 = { from = "F1:2", to = "STD1:1" }
`,
	Good: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "fuse", rating = "5 A" }
STD1 = { kind = "stud" }
E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "BAT1:+", to = "F1:1" }
W2 = { from = "F1:2", to = "STD1:1" }
W3 = { from = "STD1:2", to = "E1:1" }
`,
	Run: func(p *rules.Pass) {
		for i := range p.Graph.Nets {
			dangling(p, &p.Graph.Nets[i])
		}
	},
})

func dangling(p *rules.Pass, net *graph.Net) {
	devices := 0
	for _, id := range net.Pins {
		if part := p.Netlist.Pin(id).Owner.Device(); part != nil && !part.Kind.Joined {
			devices++
		}
		if devices > 1 {
			return
		}
	}
	last := lastOn(p, net)
	if last == nil || devices == 0 {
		return
	}
	when := liveWhen(p, net.Pins[0])
	if when == "" {
		return
	}
	end := farEnd(p, last)
	d := p.Report(end.Span, []string{last.Name.Text, end.Text}, "wire %s brings supply to %s%s, and nothing there takes current", last.Name.Text, end.Text, when)
	d.Help = "wire what it is meant to feed, or take the wire out; what is kept for later is marked spare = true"
}

// lastOn returns the wire of a net that stands last in the file; nil where something says that the net may dangle.
func lastOn(p *rules.Pass, net *graph.Net) *model.Wire {
	var last *model.Wire
	for _, id := range net.Pins {
		if pin := p.Netlist.Pin(id); kept(pin) || endsBare(p.Graph, pin) || p.IsGround(id) {
			return nil
		}
		for _, e := range p.Graph.At(id) {
			if w := p.Graph.Edge(e).Wire; w != nil && (last == nil || w.Index > last.Index) {
				last = w
			}
		}
	}
	return last
}

// kept reports whether a terminal is held ready on purpose.
func kept(pin *model.Pin) bool {
	o := pin.Owner
	spare := pin.Spare.On || o.Splice != nil && o.Splice.Spare.On
	if part := o.Device(); part != nil && part.Spare.On && part.Kind.Joined {
		spare = true
	}
	text := strings.ToLower(o.Title() + " " + pin.Does.Text)
	return spare || strings.Contains(text, "test point")
}

// endsBare reports whether unterminated-pin speaks of the terminal: a splice with one leg, a cavity that leads nowhere.
func endsBare(g *graph.Graph, pin *model.Pin) bool {
	o := pin.Owner
	switch {
	case o.Splice != nil:
		legs := 0
		for _, id := range o.Pins {
			for _, e := range g.At(id) {
				if k := g.Edge(e).Kind; k == graph.Wire || k == graph.Link {
					legs++
				}
			}
		}
		return legs < 2
	case o.Connector == nil || o.Connector.Part != nil || !wiredAt(g, pin.ID):
		return false
	case o.Connector.Mate == nil:
		return true
	}
	other, meets := o.Connector.Mate.Owner.Pin(pin.Name)
	return !meets || o.Connector.Mate.Part == nil && !wiredAt(g, other)
}

// liveWhen says in which state a terminal is live, as an addition to a sentence; empty when it never is. What is live
// whatever the switches do is so " always".
func liveWhen(p *rules.Pass, pin model.PinID) string {
	if p.Permanent(pin) {
		return " always"
	}
	for _, c := range p.Conditions {
		if c.Live(pin) && !c.Grounded(pin) {
			return " in state " + c.Name()
		}
	}
	return ""
}

// farEnd returns the end of a wire that is at no device, else the end that it is written to.
func farEnd(p *rules.Pass, w *model.Wire) model.PinRef {
	if w.To.ID != model.NoPin && w.From.ID != model.NoPin {
		if part := p.Netlist.Pin(w.To.ID).Owner.Device(); part != nil && !part.Kind.Joined {
			return w.From
		}
	}
	return w.To
}
