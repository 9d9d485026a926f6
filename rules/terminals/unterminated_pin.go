package terminals

import (
	"ferrule/rules"
	"fmt"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

var _ = rules.Register(&rules.Rule{
	Name: "unterminated-pin", Severity: diag.Error, Harm: rules.Strands, Since: "0.1",
	Title: "a wire ends at nothing, or a terminal that needs a wire has none",
	Doc: `In the vehicle this is a function that does not work, or a live end that hangs free and finds metal by itself. The rule
looks at both ends of every wire, at the terminals that parts cannot do without, at in-line connectors whose two halves are
not wired alike, at splices with fewer than two legs and at panel terminals that nothing goes to. Cavities of a part of
which the file says nothing are a warning, one for each connector: they may be empty on purpose, but the file should say so.

Wire the terminal. If it is empty on purpose, say so: unused = true or spare = true in its line, spare = ["9"] on the
connector, spare = true on the part or the splice. If it may stay open, do not give it a role.`,
	Sources: []string{"common practice"},
	Bad: `[part]
F1 = { kind = "fuse", rating = "5 A" }
E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "5 A", pin.1.unused = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1" }
`,
	Run: func(pass *rules.Pass) {
		p := &pins{pass}
		for _, w := range p.Netlist.Wires {
			p.wireEnds(w)
		}
		for _, part := range p.Netlist.Parts {
			if !part.Spare.On {
				p.partTerminals(part)
			}
		}
		for _, c := range p.Netlist.Connectors {
			p.inlineCavities(c)
		}
		for _, s := range p.Netlist.Splices {
			if !s.Spare.On {
				p.spliceLegs(s)
			}
		}
		for _, panel := range p.Netlist.Panels {
			p.panelTerminals(panel)
		}
	},
})

// pins is one run of the rule.
type pins struct{ *rules.Pass }

// wireEnds reports a wire with an end left out, or with both ends at one terminal. Ends with names that lead nowhere are
// the language's matter.
func (p *pins) wireEnds(w *model.Wire) {
	name := w.Name.Text
	switch {
	case !w.From.IsSet() && !w.To.IsSet():
		p.Report(w.Name.Span, []string{name}, "wire %s has no ends", name).Help = `add from = "F1:2" and to = "K1:30"`
	case !w.From.IsSet():
		p.Report(w.Name.Span, []string{name, w.To.Text}, "wire %s has only one end, at %s", name, w.To.Text).Help = `add from = "...": the terminal where it begins`
	case !w.To.IsSet():
		p.Report(w.Name.Span, []string{name, w.From.Text}, "wire %s has only one end, at %s", name, w.From.Text).Help = `add to = "...": the terminal where it ends`
	case w.From.ID == w.To.ID && w.From.ID != model.NoPin:
		p.Report(w.To.Span, []string{name, w.To.Text}, "wire %s ends where it begins, at %s", name, w.To.Text).Help = "correct one of its two ends"
	}
	for _, end := range []model.PinRef{w.From, w.To} {
		p.contradicted(w, end)
	}
}

// contradicted reports a wire that ends at a terminal which is marked as left empty.
func (p *pins) contradicted(w *model.Wire, end model.PinRef) {
	if end.ID == model.NoPin {
		return
	}
	pin := p.Netlist.Pin(end.ID)
	if !pin.OnPurpose() {
		return
	}
	mark, span := "unused", pin.Unused.Span
	if pin.Spare.On {
		mark, span = "spare", pin.Spare.Span
	}
	d := p.Report(end.Span, []string{w.Name.Text, end.Text}, "wire %s ends at %s, which is marked %s", w.Name.Text, end.Text, mark)
	d.Severity = diag.Warning
	d.Help = "take the mark away, or move the wire to the terminal that it is meant for"
	d.Related = []diag.Related{{Span: span, Message: "marked " + mark + " here"}}
}

// wired reports whether a wire, a link or a screen ends at the terminal; a mated cavity alone is not wired.
func (p *pins) wired(pin model.PinID) bool {
	for _, id := range p.Graph.At(pin) {
		if k := p.Graph.Edge(id).Kind; k == graph.Wire || k == graph.Link {
			return true
		}
	}
	return p.HasScreen(pin)
}

// served reports whether the terminal of a part is wired, itself or by way of the connector that plugs into it.
func (p *pins) served(pin model.PinID) bool {
	for _, id := range p.Graph.At(pin) {
		switch e := p.Graph.Edge(id); e.Kind {
		case graph.Wire, graph.Link:
			return true
		case graph.Mate:
			if p.wired(e.Other(pin)) {
				return true
			}
		}
	}
	return p.HasScreen(pin)
}

func (p *pins) partTerminals(part *model.Part) {
	var missing []model.PinID
	any := false
	needs := func(id model.PinID) {
		pin := p.Netlist.Pin(id)
		switch {
		case p.served(id):
			any = true
		case pin.Optional && !pin.Required.On || pin.OnPurpose():
		case part.Kind.OpenPins && !pin.Required.On: // a stud has as many terminals as somebody uses
		case pin.Owner.Connector != nil && !pin.Declared: // reported together, below
		default:
			missing = append(missing, id)
		}
	}
	for _, id := range part.Owner.Pins {
		needs(id)
	}
	for _, c := range part.Plugs {
		for _, id := range c.Owner.Pins {
			needs(id)
		}
	}
	if !any && len(missing) > 0 {
		d := p.Report(part.Name.Span, append([]string{part.Name.Text}, p.pinNames(missing)...), "nothing is wired to %s", part.Name.Text)
		d.Help = "wire it, or mark it spare = true"
		return
	}
	p.missingTerminals(part, missing)
	for _, c := range part.Plugs {
		if any {
			p.silentCavities(c)
		}
	}
}

// missingTerminals reports terminals without wire, those that have no line of their own in the file together.
func (p *pins) missingTerminals(part *model.Part, missing []model.PinID) {
	for i := 0; i < len(missing); {
		span := p.Netlist.Pin(missing[i]).Span
		j := i + 1
		for j < len(missing) && p.Netlist.Pin(missing[j]).Span == span {
			j++
		}
		p.missingTerminal(part, missing[i:j], span)
		i = j
	}
}

func (p *pins) missingTerminal(part *model.Part, pins []model.PinID, span source.Span) {
	names := p.pinNames(pins)
	d := p.Report(span, append(names, part.Name.Text), "%s not wired%s", rules.List(names, "is", "are"), p.function(pins))
	switch pin := p.Netlist.Pin(pins[0]); {
	case pin.Name == model.CasePin:
		d.Help = `add case = "BODY" if the case is bolted to metal, or wire it`
	case len(pins) > 1:
		d.Help = "wire them, or mark them unused = true"
	default:
		d.Help = "wire it, or mark it unused = true"
	}
}

// function says in brackets what a single terminal does.
func (p *pins) function(pins []model.PinID) string {
	if does := p.Netlist.Pin(pins[0]).Does; len(pins) == 1 && does.IsSet() {
		return " (" + does.Text + ")"
	}
	return ""
}

// silentCavities reports, together, the cavities of a plug that are neither wired nor mentioned.
func (p *pins) silentCavities(c *model.Connector) {
	var empty []model.PinID
	for _, id := range c.Owner.Pins {
		if pin := p.Netlist.Pin(id); !pin.Declared && !pin.OnPurpose() && !p.served(id) {
			empty = append(empty, id)
		}
	}
	p.emptyCavities(c, empty)
}

func (p *pins) emptyCavities(c *model.Connector, empty []model.PinID) {
	if len(empty) == 0 {
		return
	}
	names := make([]string, len(empty))
	quoted := make([]string, len(empty))
	for i, id := range empty {
		names[i] = p.Netlist.Pin(id).Name
		quoted[i] = fmt.Sprintf("%q", names[i])
	}
	word := "cavity"
	if len(empty) > 1 {
		word = "cavities"
	}
	d := p.Report(c.Name.Span, append([]string{c.Name.Text}, p.pinNames(empty)...), "%s %s of %s %s empty, and nothing says that this is meant",
		word, strings.Join(names, ", "), c.Name.Text, rules.Plural(len(empty), "is", "are"))
	d.Severity = diag.Warning
	d.Help = "wire what is missing, or add spare = [" + strings.Join(quoted, ", ") + "] to " + c.Name.Text
}

// inlineCavities compares the two halves of an in-line pair, once a pair, and reports a connector that joins nothing.
func (p *pins) inlineCavities(c *model.Connector) {
	m := c.Mate
	switch {
	case c.Part != nil || m != nil && m.Part != nil: // the part's terminals are looked at with the part
		return
	case m == nil:
		p.looseConnector(c)
		return
	case m.Mate == c && m.Owner.Name.Span.Before(c.Owner.Name.Span):
		return // seen from the half that comes first
	}
	var empty []model.PinID
	for _, id := range c.Owner.Pins {
		other, meets := m.Owner.Pin(p.Netlist.Pin(id).Name)
		switch {
		case p.Netlist.Pin(id).OnPurpose() || meets && p.Netlist.Pin(other).OnPurpose():
		case !meets:
			p.halfWired(id, m)
		case p.wired(id) && !p.wired(other):
			p.halfWired(id, m)
		case p.wired(other) && !p.wired(id):
			p.halfWired(other, c)
		case !p.wired(id):
			empty = append(empty, id)
		}
	}
	for _, id := range m.Owner.Pins {
		if _, meets := c.Owner.Pin(p.Netlist.Pin(id).Name); !meets && !p.Netlist.Pin(id).OnPurpose() {
			p.halfWired(id, c)
		}
	}
	p.emptyCavities(c, empty)
}

// halfWired reports the wires of a cavity that nothing leads on from.
func (p *pins) halfWired(id model.PinID, other *model.Connector) {
	pin := p.Netlist.Pin(id)
	_, meets := other.Owner.Pin(pin.Name)
	for _, w := range p.Graph.WiresAt(id) {
		end := w.From
		if w.To.ID == id {
			end = w.To
		}
		d := p.Report(end.Span, []string{w.Name.Text, pin.String(), other.Name.Text + ":" + pin.Name}, "wire %s ends at %s, but nothing is wired to %s:%s on the other half",
			w.Name.Text, pin, other.Name.Text, pin.Name)
		d.Help = "wire the other half, or mark the cavity spare on it"
		if !meets {
			d.Message = fmt.Sprintf("wire %s ends at %s, but the other half %s has no cavity %q", w.Name.Text, pin, other.Name.Text, pin.Name)
			d.Help = "move the wire to a cavity that both halves have, or correct the cavities"
		}
	}
}

func (p *pins) looseConnector(c *model.Connector) {
	for _, id := range c.Owner.Pins {
		if p.wired(id) {
			d := p.Report(c.Name.Span, []string{c.Name.Text}, "%s is no plug of a part and mates with nothing, so its wires end here", c.Name.Text)
			d.Help = `add of = "A1" (the part that it plugs into) or mates = "X11" (its other half)`
			return
		}
	}
}

// spliceLegs reports splices that join nothing. A screen that is tied to a splice is a leg of it.
func (p *pins) spliceLegs(s *model.Splice) {
	legs := 0
	for _, id := range s.Owner.Pins {
		for _, edge := range p.Graph.At(id) {
			if k := p.Graph.Edge(edge).Kind; k == graph.Wire || k == graph.Link {
				legs++
			}
		}
		if p.HasScreen(id) {
			legs++
		}
	}
	switch legs {
	case 0:
		d := p.Report(s.Name.Span, []string{s.Name.Text}, "splice %s joins nothing", s.Name.Text)
		d.Severity = diag.Warning // nothing hangs free: a leftover of an edit
		d.Help = "remove it, or bring its wires to it"
	case 1:
		p.Report(s.Name.Span, []string{s.Name.Text}, "only one wire goes to splice %s", s.Name.Text).Help = "bring the other wires to it, or end this one elsewhere"
	}
}

func (p *pins) panelTerminals(panel *model.Panel) {
	for _, id := range panel.Owner.Pins {
		if pin := p.Netlist.Pin(id); !p.wired(id) {
			d := p.Report(pin.Span, []string{pin.String(), panel.Name.Text}, "nothing goes to panel terminal %s", pin)
			d.Severity = diag.Warning
			d.Help = "wire it, or take it off the list"
		}
	}
}

func (p *pins) pinNames(pins []model.PinID) []string {
	names := make([]string, len(pins))
	for i, id := range pins {
		names[i] = p.Netlist.Pin(id).String()
	}
	return names
}
