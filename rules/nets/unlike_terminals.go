package nets

import (
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "unlike-terminals", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a wire joins terminals of different numbers, and each number has its own",
	Doc: `In the vehicle the stop lamp burns with the tail lamps, the head lamp shows high for low, the wiper is fast on slow: two wires are
exchanged at one part. The numbers of DIN 72552 are there to prevent it: 54 goes to 54 and 58 to 58. The rule fires where wires,
splices and bars join a numbered terminal of one part with another number of another part, although that part has a terminal of the
first number, and it lies elsewhere; and where terminal 31 of a part lies not on ground while another of its numbered terminals does.

Move the wire to the terminal of its number. Silent are numbers that the other part does not have, as 15 that feeds a relay's 30; numbers
that come together on one net, as when a parking lamp is to burn with the tail lamps and both are wired so; cavities of connectors, and parts
whose terminals are counted 1, 2, 3, for which a 15 is no number of the standard.`,
	Sources: []string{"DIN 72552 (testdata/reference/terminals-din72552.csv)"},
	Bad:     numbered("58", "54"),
	Good:    numbered("54", "58"),
	Run: func(p *rules.Pass) {
		told := map[*model.Part]bool{}
		for i := range p.Graph.Nets {
			numbers(p, &p.Graph.Nets[i], told)
		}
		for _, part := range p.Netlist.Parts {
			if !told[part] && !part.Spare.On && !counted(part) {
				groundNumber(p, part)
			}
		}
	},
})

// numbered is a tail and stop lamp behind a light switch that has a number for each; the arguments are where 54 and 58 of the switch go.
func numbered(stop, tail string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", pins = ["30", "54", "58"], positions = { off = [], tail = ["30-58"], stop = ["30-54"] }, rest = "off" }
E1 = { kind = "lamp", pins = ["54", "58", "31"], loads = [{ between = "58-31", load = "5 W" }, { between = "54-31", load = "21 W" }] }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:30" }
W2 = { from = "S1:54", to = "E1:` + stop + `" }
W3 = { from = "S1:58", to = "E1:` + tail + `" }
W4 = { from = "E1:31", to = "G1:1" }
W5 = { from = "BAT1:-", to = "G1:2" }
`
}

// known are the numbers of DIN 72552 that a wire keeps from one part to the next. Those of relays say what a terminal is of the relay,
// and not what the wire is for.
var known = []string{"1", "15", "30", "31", "49", "49a", "53", "53a", "53b", "54", "55", "56", "56a", "56b", "57", "57a", "57L", "57R", "58", "58L", "58R", "L", "R"}

// counted reports whether the terminals of a part are counted through, so that a 15 among them is the fifteenth.
func counted(part *model.Part) bool {
	_, two := part.Owner.Pin("2")
	_, three := part.Owner.Pin("3")
	return two || three
}

// numberedPart is the part that a numbered terminal belongs to; nil for any other terminal.
func numberedPart(p *rules.Pass, id model.PinID) *model.Part {
	pin := p.Netlist.Pin(id)
	if part := pin.Owner.Part; part != nil && !part.Spare.On && slices.Contains(known, pin.Name) && !counted(part) {
		return part
	}
	return nil
}

// numbers reports the first terminal of a net that belongs to another number, by what the other part has.
func numbers(p *rules.Pass, net *graph.Net, told map[*model.Part]bool) {
	if len(net.Pins) < 2 || p.Grounded(net.Pins[0]) {
		return
	}
	pins := slices.DeleteFunc(slices.Clone(net.Pins), func(id model.PinID) bool { return numberedPart(p, id) == nil })
	if !slices.ContainsFunc(pins, func(id model.PinID) bool { return p.Netlist.Pin(id).Name != p.Netlist.Pin(pins[0]).Name }) {
		return
	}
	for _, a := range pins {
		for _, b := range pins {
			one, other := numberedPart(p, a), numberedPart(p, b)
			if one == other || p.Netlist.Pin(a).Name == p.Netlist.Pin(b).Name {
				continue
			}
			own, has := one.Owner.Pin(p.Netlist.Pin(b).Name)
			if !has || slices.Contains(net.Pins, own) || atHome(p, net, a) {
				continue
			}
			if !told[one] {
				unlike(p, a, b, own)
			}
			told[one] = true
			return
		}
	}
}

// atHome reports whether a numbered terminal meets its own number on a net, so that it is where it belongs.
func atHome(p *rules.Pass, net *graph.Net, at model.PinID) bool {
	return slices.ContainsFunc(net.Pins, func(id model.PinID) bool {
		return id != at && numberedPart(p, id) != nil && p.Netlist.Pin(id).Name == p.Netlist.Pin(at).Name
	})
}

func unlike(p *rules.Pass, at, from, own model.PinID) {
	pin, source, right := p.Netlist.Pin(at), p.Netlist.Pin(from), p.Netlist.Pin(own)
	path := p.Graph.Path(from, at, func(e *graph.Edge) bool { return e.Kind.Outside() })
	w, span := lastWire(path)
	refs := []string{pin.Owner.Name.Text, pin.String(), source.String()}
	if w == nil {
		span = pin.Owner.Name.Span
	} else {
		refs = append(refs, w.Name.Text)
	}
	d := p.Report(span, refs, "%s leads to %s, although %s has a %s of its own", source, pin, pin.Owner.Name.Text, right.Name)
	d.Help = "move the wire to " + right.String() + ", or exchange the two"
	d.Related = p.Hops(path)
	d.Fixes = p.Exchange(at, own, false)
}

// groundNumber reports a part whose 31 is not on ground while another of its numbers is.
func groundNumber(p *rules.Pass, part *model.Part) {
	ground, has := part.Owner.Pin("31")
	if !has || !p.Graph.Reached(ground) || p.Grounded(ground) {
		return
	}
	for _, id := range part.Terminals() {
		if id == ground || numberedPart(p, id) == nil || !p.Graph.Reached(id) || !p.Grounded(id) {
			continue
		}
		span := part.Name.Span
		if wires := p.Graph.WiresAt(ground); len(wires) > 0 {
			span = wires[0].From.Span
			if wires[0].From.ID != ground {
				span = wires[0].To.Span
			}
		}
		d := p.Report(span, []string{part.Name.Text, p.Netlist.Pin(ground).String(), p.Netlist.Pin(id).String()},
			"%s is on ground, and %s, the ground of %s by its number, is not", p.Netlist.Pin(id), p.Netlist.Pin(ground), part.Name.Text)
		d.Help = "exchange the two wires"
		d.Fixes = p.Exchange(id, ground, false)
		return
	}
}
