package model

import (
	"fmt"

	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
)

// nearest is diag.Nearest, kept here for the terminals.
func nearest(word string, known []string) (string, bool) { return diag.Nearest(word, known) }

// insideOf makes the inside of a part: what the file writes, and for the rest what the kind brings.
func (d *decoder) insideOf(p *Part) {
	k, w, in := p.Kind, &p.written, &p.Inside
	d.joinsOf(p)
	in.Protects = d.pairs(p, w.given["protects"], w.protects, k.Protects, "-")
	in.Closed = d.pairs(p, w.given["closed"], w.closed, k.Closed, "-")
	in.Coils = d.pairs(p, w.given["coil"], w.coils, k.Coil, "-")
	in.Diodes = d.pairs(p, w.given["diodes"], w.diodes, k.Diodes, ">")
	if !w.given["positions"] {
		in.Open = d.pairs(p, w.given["open"], w.open, k.Open, "-")
	} else if w.given["open"] {
		in.Open = d.pairs(p, true, w.open, nil, "-")
	}
	for _, r := range w.resistors {
		if pair, ok := d.pair(p, r.between, "-"); ok {
			in.Resistors = append(in.Resistors, Resistor{Pair: pair, Ohms: r.ohms})
		}
	}
	d.loadsOf(p)
	for i := range in.Loads {
		in.Loads[i].inherit(p)
	}
	d.sourcesOf(p)
	d.positionsOf(p)
}

func (d *decoder) joinsOf(p *Part) {
	for _, name := range p.written.joins {
		if ids := d.chain(p, name, "-"); len(ids) > 1 {
			p.Inside.Joins = append(p.Inside.Joins, ids)
		}
	}
}

// inherit gives a load what its part says of all its loads.
func (l *Load) inherit(p *Part) {
	if !l.Function.IsSet() {
		l.Function = p.Function
	}
	if !l.Side.IsSet() {
		l.Side = p.Side
	}
	if p.WorksOff.On {
		l.WorksOff = p.WorksOff
	}
}

// loadsOf takes the loads that the file lists, or gives each of the kind's pairs the part's own load.
func (d *decoder) loadsOf(p *Part) {
	if p.written.given["loads"] {
		for _, l := range p.written.loads {
			if pair, ok := d.pair(p, l.between, "-"); ok {
				p.Inside.Loads = append(p.Inside.Loads, Load{Pair: pair, Spec: l.load, Title: l.title, Function: l.function, Side: l.side, WorksOff: l.worksOff, NeededIn: l.neededIn})
			}
		}
		return
	}
	var spec LoadSpec
	if v := p.Value("load"); v != nil {
		spec = v.Load
	} else if v := p.Value("resistance"); v != nil {
		spec.Run, spec.Span = v.Quantity, v.Quantity.Span
	}
	for _, pair := range d.kindPairs(p, p.Kind.Loads) {
		p.Inside.Loads = append(p.Inside.Loads, Load{Pair: pair, Spec: spec, Title: p.Title})
	}
	if len(p.Inside.Loads) == 0 && len(p.Kind.Loads) == 0 && p.Kind.Takes("load") && spec.Run.IsSet() {
		d.supplyLoad(p, spec)
	}
}

// supplyLoad lays the load of a module or device between its supply and its ground terminal, where it has one of each.
func (d *decoder) supplyLoad(p *Part, spec LoadSpec) {
	pair := Pair{NoPin, NoPin}
	for _, id := range p.Terminals() {
		switch d.net.Pins[id].Role {
		case catalog.Supply:
			if pair.A == NoPin {
				pair.A = id
			}
		case catalog.Ground:
			if pair.B == NoPin {
				pair.B = id
			}
		}
	}
	if pair.A != NoPin && pair.B != NoPin {
		p.Inside.Loads = append(p.Inside.Loads, Load{Pair: pair, Spec: spec, Title: p.Title})
	}
}

// Terminals returns the part's own terminals and the cavities of its plugs.
func (p *Part) Terminals() []PinID {
	ids := append([]PinID(nil), p.Owner.Pins...)
	for _, c := range p.Plugs {
		ids = append(ids, c.Owner.Pins...)
	}
	return ids
}

func (d *decoder) sourcesOf(p *Part) {
	if p.written.given["sources"] {
		for _, s := range p.written.sources {
			if pair, ok := d.pair(p, s.between, "-"); ok {
				source := Source{Plus: pair.A, Minus: pair.B, Limit: s.limit, Volts: s.volts, Resistance: s.ohms, From: Pair{NoPin, NoPin}, Efficiency: s.efficiency}
				if from, ok := d.converted(p, &s); ok {
					source.From = from
					p.takes(from)
				}
				d.polarity(p, &s, pair)
				p.Inside.Sources = append(p.Inside.Sources, source)
			}
		}
		return
	}
	var limit Quantity
	if v := p.Value("output"); v != nil {
		limit = v.Quantity
	}
	for _, pair := range d.kindPairs(p, p.Kind.Sources) {
		if d.net.Harness.PositiveGround && d.net.Pin(pair.B).Name == CasePin {
			pair.A, pair.B = pair.B, pair.A // a generator for positive ground has plus on its case
		}
		p.Inside.Sources = append(p.Inside.Sources, Source{Plus: pair.A, Minus: pair.B, Limit: limit, From: Pair{NoPin, NoPin}})
	}
}

// polarity holds a source on a case that is bolted to a body against the polarity of the harness: the other way round it is a short of
// the battery through the source.
func (d *decoder) polarity(p *Part, s *writtenElement, pair Pair) {
	grounded, there, wanted := pair.B, "plus", "minus"
	if d.net.Harness.PositiveGround {
		grounded, there, wanted = pair.A, "minus", "plus"
	}
	live := pair.A + pair.B - grounded
	if !p.BodyRef.IsSet() || d.net.Pin(live).Name != CasePin || d.net.Pin(grounded).Name == CasePin {
		return
	}
	first, second := d.net.Pin(pair.B).Name, d.net.Pin(pair.A).Name
	d.diags.Errorf("bad-value", s.between.Span, "the case of %s is bolted to a body, which is %s in this harness, and this source has its %s there", p.Name.Text, wanted, there).Help = fmt.Sprintf("the plus terminal comes first: write between = %q", first+"-"+second)
}

// takes gives a converter a load at the terminals that it is fed at, where the file lists none there: what it uses follows from what it
// gives.
func (p *Part) takes(from Pair) {
	for i := range p.Inside.Loads {
		if p.Inside.Loads[i].Pair == from {
			return
		}
	}
	p.Inside.Loads = append(p.Inside.Loads, Load{Pair: from, Title: p.Title})
}

// converted is the pair of terminals that a source is fed at; false where it is no converter. What it gives at which voltage is then
// not known unless the file says so.
func (d *decoder) converted(p *Part, s *writtenElement) (Pair, bool) {
	switch {
	case !s.from.IsSet() && s.efficiency.IsSet():
		d.diags.Errorf("missing-key", s.efficiency.Span, "only a converter has an efficiency, and this source does not say what it is fed from").Help = `add from = "IN-31": the terminals that it is fed at, plus first`
	case s.from.IsSet() && !s.volts.IsSet():
		d.diags.Errorf("missing-key", s.from.Span, "a converter holds a voltage of its own, and this one does not say which").Help = `add volts = "13.6 V"`
	case s.efficiency.IsSet() && s.efficiency.Value < 0.05:
		d.diags.Errorf("out-of-range", s.efficiency.Span, "a converter that gives less than a twentieth of what it takes is a heater").Help = "write for example efficiency = \"90 %\""
	case s.from.IsSet():
		return d.pair(p, s.from, "-")
	}
	return Pair{}, false
}

// positionsOf reads the positions of a switch and finds the one at rest.
func (d *decoder) positionsOf(p *Part) {
	var names []string
	for _, w := range p.written.positions {
		position := Position{Name: w.name}
		for _, joined := range w.joins {
			if ids := d.chain(p, joined, "-"); len(ids) > 1 {
				position.Joins = append(position.Joins, ids)
			}
		}
		p.Inside.Positions = append(p.Inside.Positions, position)
		names = append(names, w.name.Text)
	}
	if rest := p.written.rest; rest.IsSet() {
		if i := p.Position(rest.Text); i >= 0 {
			p.Inside.Rest = i
		} else {
			d.unknownName(rest, "position", names)
		}
	}
}

// Position returns the index of a position by name, or -1. A switch without positions of its own has the two that its
// contacts have: "off" or "open" is 0, "on" or "closed" or "pressed" is 1.
func (p *Part) Position(name string) int {
	for i := range p.Inside.Positions {
		if p.Inside.Positions[i].Name.Text == name {
			return i
		}
	}
	if len(p.Inside.Positions) == 0 && len(p.Inside.Open)+len(p.Inside.Closed) > 0 {
		switch name {
		case "off", "open", "rest", "released":
			return 0
		case "on", "closed", "pressed", "pulled":
			return 1
		}
	}
	return -1
}

// pairs reads written pairs, or takes those of the kind.
func (d *decoder) pairs(p *Part, given bool, written []Name, kind [][]string, separator string) []Pair {
	if !given {
		return d.kindPairs(p, kind)
	}
	var out []Pair
	for _, name := range written {
		if pair, ok := d.pair(p, name, separator); ok {
			out = append(out, pair)
		}
	}
	return out
}

// kindPairs finds the kind's pairs among the part's terminals; a part with terminals of its own may lack them.
func (d *decoder) kindPairs(p *Part, kind [][]string) []Pair {
	var out []Pair
	for _, names := range kind {
		a, okA := p.Owner.Pin(names[0])
		b, okB := p.Owner.Pin(names[1])
		if okA && okB {
			out = append(out, Pair{a, b})
		}
	}
	return out
}

func (d *decoder) pair(p *Part, name Name, separator string) (Pair, bool) {
	ids := d.chain(p, name, separator)
	if len(ids) == 2 {
		return Pair{ids[0], ids[1]}, true
	}
	if len(ids) > 2 {
		d.diags.Errorf("bad-value", name.Span, "%q names %d terminals; here stand two", name.Text, len(ids))
	}
	return Pair{}, false
}

// chain reads "30-75-15". Terminal names may hold the separator themselves ("+", "-"), so every way to part the text is
// tried; what is reported is the first word that is no terminal when none fits.
func (d *decoder) chain(p *Part, name Name, separator string) []PinID {
	if !name.IsSet() {
		return nil
	}
	if ids, ok := d.split(p, name.Text, separator); ok {
		if len(ids) > 1 {
			return ids
		}
		d.diags.Errorf("bad-value", name.Span, "%q names one terminal; here stand two or more", name.Text).Help = "write them with " + separator + " between, such as \"1" + separator + "2\""
		return nil
	}
	at := 0
	for word := range strings.SplitSeq(name.Text, separator) {
		if _, ok := d.terminalOf(p, word); !ok {
			d.unknownTerminal(p, word, name, at)
			return nil
		}
		at += len(word) + len(separator)
	}
	return nil
}

func (d *decoder) unknownTerminal(p *Part, word string, name Name, at int) {
	span := name.within(at, at+len(word))
	if owner, pin := splitRef(word); pin != "" {
		if o := d.net.owners[owner]; o != nil && o.Device() == p {
			d.unknownPin(o, pin, span)
			return
		}
	}
	if len(p.Owner.Pins) == 0 && len(p.Plugs) > 0 {
		d.diags.Errorf("unknown-pin", span, "%s has no terminal %q of its own", p.Name.Text, word).Help = "its terminals are in its plugs: write them as " + p.Plugs[0].Name.Text + ":1"
		return
	}
	d.unknownPin(p.Owner, word, span)
}

func (d *decoder) split(p *Part, text, separator string) ([]PinID, bool) {
	if id, ok := d.terminalOf(p, text); ok {
		return []PinID{id}, true
	}
	for at := 1; at < len(text); at++ {
		if !strings.HasPrefix(text[at:], separator) {
			continue
		}
		if id, ok := d.terminalOf(p, text[:at]); ok {
			if rest, ok := d.split(p, text[at+len(separator):], separator); ok {
				return append([]PinID{id}, rest...), true
			}
		}
	}
	return nil, false
}

// terminalOf finds a terminal of the part, or "PLUG:PIN" of one of its plugs.
func (d *decoder) terminalOf(p *Part, name string) (PinID, bool) {
	if id, ok := p.Owner.Pin(name); ok {
		return id, true
	}
	owner, pin := splitRef(name)
	o := d.net.owners[owner]
	if pin == "" || o == nil || o.Device() != p {
		return NoPin, false
	}
	return o.Pin(pin)
}
