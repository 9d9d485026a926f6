package model

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/source"
)

// CasePin is the name of the terminal that a part's case is.
const CasePin = "case"

// terminals gives every owner its terminals and every part its inside.
func (d *decoder) terminals() {
	n := d.net
	// Most terminals are an end of a wire, so this holds them all. Growing step by step would copy the large array many
	// times, which was a fifth of the time that a large harness took.
	n.Pins = make([]Pin, 0, 2*len(n.Wires)+len(n.Parts))
	for _, b := range n.Bodies {
		o := &Owner{Name: b.Name, Sort: BodyOwner, Body: b, Joined: true, netlist: n}
		n.Owners = append(n.Owners, o)
		b.Pin = d.newPin(o, "", b.Name.Span)
	}
	d.plugs()
	for _, p := range n.Parts {
		d.partPins(p)
	}
	for _, c := range n.Connectors {
		d.cavitiesOf(c)
	}
	for _, c := range n.Connectors { // a half without cavities of its own has those of its mate
		if len(c.Owner.Pins) == 0 && c.Mate != nil {
			d.mirror(c)
		}
	}
	for _, c := range n.Connectors {
		if c.Mate != nil && (c.Name.Text < c.Mate.Name.Text || c.Mate.Mate != c) {
			d.pairUp(c)
		}
	}
	for _, c := range n.Connectors { // only now has every half its cavities, for spares count on both
		d.applyPins(c.Owner, c.pinTable)
		d.spares(c)
	}
	for _, p := range n.Panels {
		for _, t := range p.terminals {
			d.newPin(p.Owner, t.Text, t.Span)
		}
	}
	for _, p := range n.Parts {
		d.applyPins(p.Owner, p.pinTable)
		d.insideOf(p)
	}
}

// newPin adds a terminal to its owner; a repeat within the owner is an error.
func (d *decoder) newPin(o *Owner, name string, span source.Span) PinID {
	if id, again := o.Pin(name); again {
		d.diags.Errorf("duplicate-name", span, "%s has terminal %q twice", o.Name.Text, name).Help = "remove one of the two"
		return id
	}
	id := PinID(len(d.net.Pins))
	d.net.Pins = append(d.net.Pins, Pin{ID: id, Owner: o, Name: name, Span: span})
	o.Pins = append(o.Pins, id)
	if o.byName != nil {
		o.byName[name] = id
	} else if len(o.Pins) > 8 {
		o.byName = make(map[string]PinID, 2*len(o.Pins))
		for _, p := range o.Pins {
			o.byName[d.net.Pins[p].Name] = p
		}
	}
	return id
}

// plugs ties connectors to their parts and in-line halves to each other.
func (d *decoder) plugs() {
	for _, c := range d.net.Connectors {
		if c.OfName.IsSet() {
			if o := d.owner(c.OfName, "part"); o != nil && o.Part != nil {
				c.Part = o.Part
				o.Part.Plugs = append(o.Part.Plugs, c)
			}
		}
		if !c.MateName.IsSet() {
			continue
		}
		o := d.owner(c.MateName, "connector")
		switch {
		case o == nil || o.Connector == nil:
		case o.Connector == c:
			d.diags.Errorf("bad-value", c.MateName.Span, "%s cannot mate with itself", c.Name.Text)
		case c.Mate != nil && c.Mate != o.Connector:
			d.diags.Errorf("bad-value", c.MateName.Span, "%s mates with %s and with %s", c.Name.Text, c.Mate.Name.Text, o.Name.Text).Help = "a connector has one other half"
		case o.Connector.Mate != nil && o.Connector.Mate != c:
			d.diags.Errorf("bad-value", c.MateName.Span, "%s mates with %s already", o.Name.Text, o.Connector.Mate.Name.Text).Help = "a connector has one other half"
		default:
			c.Mate, o.Connector.Mate = o.Connector, c
		}
	}
}

// owner looks up a designator of the wanted sort and reports what is wrong with it.
func (d *decoder) owner(name Name, want string) *Owner {
	o := d.net.owners[name.Text]
	if o != nil && o.Sort.String() == want {
		return o
	}
	if o != nil {
		d.diags.Errorf("unknown-name", name.Span, "%s is a %s; here stands a %s", name.Text, o.Sort, want)
		return nil
	}
	d.maySuggest()
	var names []string
	for _, candidate := range d.net.Owners {
		if d.suggestions < maxSuggestions && candidate.Sort.String() == want {
			names = append(names, candidate.Name.Text)
		}
	}
	d.unknownName(name, want, names)
	return nil
}

func (d *decoder) unknownName(name Name, what string, known []string) {
	diagnostic := d.diags.Errorf("unknown-name", name.Span, "there is no %s %q", what, name.Text)
	if diagnostic.Help = meant(name.Text, known); diagnostic.Help == "" {
		diagnostic.Help = "define it, or correct the name"
		if len(known) > 0 && len(known) <= 12 {
			slices.Sort(known)
			diagnostic.Help = "known are: " + strings.Join(known, ", ")
		}
	}
}

// partPins makes the terminals of a part: its own list, or those of its kind, and the case where it counts.
func (d *decoder) partPins(p *Part) {
	o := p.Owner
	o.OpenPins, o.Joined = p.Kind.OpenPins, p.Kind.Joined
	if p.pinsGiven {
		for _, name := range p.pinNames {
			d.newPin(o, name.Text, name.Span)
		}
	}
	for _, pin := range p.Kind.Pins {
		id, own := o.Pin(pin.Name)
		if !own && p.pinsGiven {
			continue
		}
		if !own {
			id = d.newPin(o, pin.Name, p.Name.Span)
		}
		d.net.Pins[id].Role, d.net.Pins[id].Optional = pin.Role, pin.Optional
	}
	if _, own := o.Pin(CasePin); !own && (p.Kind.Case && !p.pinsGiven || p.BodyRef.IsSet()) {
		id := d.newPin(o, CasePin, p.Name.Span)
		d.net.Pins[id].Role, d.net.Pins[id].Optional = catalog.Ground, p.BodyRef.IsSet()
	}
}

// cavitiesOf makes the cavities of a connector from `cavities`, `grid` or both.
func (d *decoder) cavitiesOf(c *Connector) {
	if len(c.grid) > 0 {
		d.gridOf(c)
	}
	for _, name := range c.cavities {
		if _, known := c.Owner.Pin(name.Text); !known || c.Rows == nil {
			d.newPin(c.Owner, name.Text, name.Span)
		}
	}
	if c.cavityCount > 0 && c.Rows == nil {
		for i := 1; i <= c.cavityCount; i++ {
			d.newPin(c.Owner, strconv.Itoa(i), c.Name.Span)
		}
	}
	if have := len(c.Owner.Pins); c.cavityCount > 0 && c.Rows != nil && have != c.cavityCount {
		d.diags.Errorf("bad-value", c.gridSpan, "the grid shows %d cavities, but %s has %d", have, c.Name.Text, c.cavityCount).Help = "correct `cavities` or `grid`; write _ where the housing has no cavity"
	}
	if len(c.Owner.Pins) == 0 && len(c.pinTable) > 0 {
		for _, e := range c.pinTable { // a small plug whose cavities are all described needs no count
			d.newPin(c.Owner, e.name.Text, e.name.Span)
		}
	}
	if len(c.Owner.Pins) == 0 && (c.Mate == nil || !d.described(c.Mate)) {
		d.diags.Errorf("missing-key", c.Name.Span, "%s does not say which cavities it has", c.Name.Text).Help = `add cavities = 12, or grid = ["1-6", "7-12"]`
	}
}

func (d *decoder) described(c *Connector) bool {
	return c.cavityCount > 0 || len(c.cavities) > 0 || len(c.grid) > 0 || len(c.pinTable) > 0
}

// gridOf reads the rows: each a range "1-12", or names with _ for a place without cavity.
func (d *decoder) gridOf(c *Connector) {
	for _, row := range c.grid {
		names, err := expandRow(row.Text)
		if err != nil || len(c.Owner.Pins)+len(names) > maxCavities {
			d.diags.Errorf("bad-value", row.Span, "%q is not a row of cavities", row.Text).Help = `write a range "1-12", or names "1 2 _ 4" with _ where there is no cavity`
			continue
		}
		c.Rows = append(c.Rows, names)
		for _, name := range names {
			if name != "" {
				d.newPin(c.Owner, name, row.Span)
			}
		}
	}
}

// expandRow turns "1-12", "A1-A12", "12-1" or "1 2 _ 4" into names; "" is a place without cavity.
func expandRow(text string) ([]string, error) {
	var names []string
	for word := range strings.FieldsSeq(text) {
		from, to, isRange := strings.Cut(word, "-")
		if !isRange {
			names = append(names, strings.TrimPrefix(word, "_"))
			continue
		}
		prefix := strings.TrimRight(from, "0123456789")
		first, err := strconv.Atoi(from[len(prefix):])
		if err != nil {
			return nil, err
		}
		last, err := strconv.Atoi(strings.TrimPrefix(to, prefix))
		if err != nil {
			return nil, err
		}
		if max(first-last, last-first) >= maxCavities {
			return nil, fmt.Errorf("more than %d cavities", maxCavities)
		}
		step := 1
		if last < first {
			step = -1
		}
		for i := first; ; i += step {
			names = append(names, prefix+strconv.Itoa(i))
			if i == last {
				break
			}
		}
	}
	return names, nil
}

// mirror gives a half of an in-line pair the cavities of its mate, and its rows: seen from the same side the other half
// is the mirror image, seen from the other side it looks alike.
func (d *decoder) mirror(c *Connector) {
	m := c.Mate
	for _, id := range m.Owner.Pins {
		d.newPin(c.Owner, d.net.Pins[id].Name, c.Name.Span)
	}
	if m.Rows != nil {
		flip := !c.View.IsSet() || c.View.Text == m.View.Text
		c.Rows = m.Rows
		if flip {
			c.Rows = flipped(m.Rows)
		}
		if !c.View.IsSet() {
			c.View = m.View
		}
		if !c.Latch.IsSet() && flip {
			c.Latch = mirrored(m.Latch)
		} else if !c.Latch.IsSet() {
			c.Latch = m.Latch
		}
	}
	if !c.Shell.IsSet() {
		c.Shell = m.Shell
	}
	if !c.Sealed.On {
		c.Sealed = m.Sealed
	}
}

// flipped mirrors rows left to right; short rows end at the same edge as the longest.
func flipped(rows [][]string) [][]string {
	longest := 0
	for _, row := range rows {
		longest = max(longest, len(row))
	}
	var out [][]string
	for _, row := range rows {
		r := append(slices.Clone(row), make([]string, longest-len(row))...)
		slices.Reverse(r)
		out = append(out, r)
	}
	return out
}

// pairUp holds the two halves of an in-line pair against each other: they must have the same cavities, and where both say
// how these lie, the places must meet. A mirrored pin-out is the most expensive mistake of all: nothing fits afterwards.
func (d *decoder) pairUp(c *Connector) {
	m := c.Mate
	for _, id := range c.Owner.Pins {
		name := d.net.Pins[id].Name
		if _, ok := m.Owner.Pin(name); !ok {
			d.diags.Errorf("bad-value", c.Name.Span, "%s has a cavity %q, but its mate %s has none", c.Name.Text, name, m.Name.Text).Help = "the halves of a pair have the same cavities; state them on one half only"
			return
		}
	}
	if len(m.Owner.Pins) != len(c.Owner.Pins) {
		d.diags.Errorf("bad-value", m.Name.Span, "%s has %d cavities, but its mate %s has %d", m.Name.Text, len(m.Owner.Pins), c.Name.Text, len(c.Owner.Pins)).Help = "the halves of a pair have the same cavities; state them on one half only"
		return
	}
	if c.Rows == nil || m.Rows == nil || !c.View.IsSet() || !m.View.IsSet() || len(m.grid) == 0 || len(c.grid) == 0 {
		return
	}
	want, how := m.Rows, "alike"
	if c.View.Text == m.View.Text {
		want, how = flipped(m.Rows), "mirrored"
	}
	if !slices.EqualFunc(trimmed(c.Rows), trimmed(want), slices.Equal[[]string]) {
		diagnostic := d.diags.Errorf("bad-value", c.gridSpan, "the grids of %s and %s do not meet: seen from the %s, %s must show the rows of %s %s", c.Name.Text, m.Name.Text, c.View.Text, c.Name.Text, m.Name.Text, how)
		diagnostic.Help = "leave the grid out on one half: it follows from the other; or check by the numbers moulded in the housings"
		diagnostic.Related = []diag.Related{{Span: m.gridSpan, Message: "the other half, seen from the " + m.View.Text}}
	}
}

// trimmed pads rows to one length, so that grids can be compared.
func trimmed(rows [][]string) [][]string { return flipped(flipped(rows)) }

func mirrored(latch Name) Name {
	switch latch.Text {
	case "left":
		latch.Text = "right"
	case "right":
		latch.Text = "left"
	}
	return latch
}

// spares marks the cavities that `spare` and `plugged` list, on both halves of an in-line pair.
func (d *decoder) spares(c *Connector) {
	d.markCavities(c, c.spare, func(p *Pin) *Flag { return &p.Spare })
	d.markCavities(c, c.plugged, func(p *Pin) *Flag { return &p.Plugged })
}

// markCavities sets a flag of the named cavities of a connector, and of those of its other half that they meet.
func (d *decoder) markCavities(c *Connector, names []Name, flag func(*Pin) *Flag) {
	for _, name := range names {
		id, ok := c.Owner.Pin(name.Text)
		if !ok {
			d.unknownPin(c.Owner, name.Text, name.Span)
			continue
		}
		*flag(&d.net.Pins[id]) = Flag{On: true, Span: name.Span}
		if c.Mate != nil {
			if other, ok := c.Mate.Owner.Pin(name.Text); ok {
				*flag(&d.net.Pins[other]) = Flag{On: true, Span: name.Span}
			}
		}
	}
}

// applyPins writes what a pin table says over the terminals; a new name is a new terminal only where names are open.
func (d *decoder) applyPins(o *Owner, entries []*pinEntry) {
	takesNew := o.OpenPins || o.Sort == PartOwner && len(o.Pins) == 0
	for _, e := range entries {
		id, ok := o.Pin(e.name.Text)
		if !ok && takesNew {
			id, ok = d.newPin(o, e.name.Text, e.name.Span), true
		}
		if !ok {
			d.unknownPin(o, e.name.Text, e.name.Span)
			continue
		}
		was := d.net.Pins[id]
		pin := e.pin
		pin.ID, pin.Owner, pin.Name, pin.Optional, pin.Span, pin.Declared = id, o, was.Name, was.Optional, e.name.Span, true
		if pin.Role == catalog.NoRole {
			pin.Role = was.Role
		}
		d.net.Pins[id] = pin
	}
}

func (d *decoder) unknownPin(o *Owner, name string, span source.Span) {
	diagnostic := d.diags.Errorf("unknown-pin", span, "%s has no terminal %q", o.Name.Text, name)
	diagnostic.Refs = []string{o.Name.Text}
	var names []string
	for _, id := range o.Pins {
		names = append(names, d.net.Pins[id].Name)
	}
	near, ok := "", false
	if len(name) > 1 { // for a single character every other one is near
		near, ok = nearest(name, names)
	}
	switch {
	case ok:
		diagnostic.Help = fmt.Sprintf("did you mean %q?", near)
	case len(names) == 0:
		diagnostic.Help = "nothing is known of its terminals"
	case len(names) > 24:
		diagnostic.Help = fmt.Sprintf("it has %d, from %q to %q", len(names), names[0], names[len(names)-1])
	default:
		diagnostic.Help = "it has: " + strings.Join(names, ", ")
	}
}

// Neighbours returns the cavities around one, which a slip of the hand or a drop of water reaches: left, right, above and below; in
// staggered rows the next of its row, and the two half a place off in the row above and in the one below. Nil without a grid.
func (c *Connector) Neighbours(name string) []PinID {
	steps := [][2]int{{0, -1}, {0, 1}, {-1, 0}, {1, 0}}
	if c.Staggered() {
		steps = [][2]int{{0, -2}, {0, 2}, {-1, -1}, {-1, 1}, {1, -1}, {1, 1}}
	}
	for r, row := range c.Rows {
		column := slices.Index(row, name)
		if column < 0 {
			continue
		}
		var around []PinID
		for _, step := range steps {
			r, column := r+step[0], column+step[1]
			if r < 0 || r >= len(c.Rows) || column < 0 || column >= len(c.Rows[r]) || c.Rows[r][column] == "" {
				continue
			}
			if id, ok := c.Owner.Pin(c.Rows[r][column]); ok {
				around = append(around, id)
			}
		}
		return around
	}
	return nil
}

// Staggered reports whether the rows of the housing lie half a place beside one another: cavities at every other place of the
// grid, and not in the same columns in all rows.
func (c *Connector) Staggered() bool {
	first, both := -1, false
	for _, row := range c.Rows {
		parity := -1
		for column, name := range row {
			switch {
			case name == "":
			case parity < 0:
				parity = column % 2
			case parity != column%2:
				return false
			}
		}
		if first < 0 {
			first = parity
		}
		both = both || parity >= 0 && parity != first
	}
	return both
}
