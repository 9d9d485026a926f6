package model

import (
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/unit"
)

// splitRef parts "K1:30" into designator and terminal; without a colon the terminal is empty.
func splitRef(ref string) (owner, pin string) {
	owner, pin, _ = strings.Cut(ref, ":")
	return owner, pin
}

// resolve turns the designators of the file into pointers and terminals.
func (d *decoder) resolve() {
	n := d.net
	for _, z := range n.Places {
		z.Zone = find(d, z.ZoneName, "zone", n.zones, n.Zones, func(z *Zone) string { return z.Name.Text })
	}
	for _, p := range n.Paths {
		p.From, p.To = d.place(p.Ends[0]), d.place(p.Ends[1])
		p.Zone = find(d, p.ZoneName, "zone", n.zones, n.Zones, func(z *Zone) string { return z.Name.Text })
		d.need(p.Ends[0].IsSet(), p.Name, "does not say which places it joins", `add between = ["A", "B"]`)
	}
	for _, p := range n.Parts {
		d.resolvePart(p)
	}
	for _, c := range n.Connectors {
		c.Place = d.place(c.PlaceName)
	}
	for _, s := range n.Splices {
		s.Place = d.place(s.PlaceName)
		d.layAlong(s)
	}
	for _, p := range n.Panels {
		p.Place = d.place(p.PlaceName)
		d.resolveGrid(p)
	}
	for _, l := range n.Links {
		d.resolveLink(l)
	}
	for _, w := range n.Wires {
		d.pin(&w.From)
		d.pin(&w.To)
		w.System = d.system(w.SystemName)
	}
	for _, c := range n.Cables {
		d.resolveCable(c)
	}
	for _, s := range n.States {
		d.resolveState(s)
	}
	d.crimps()
	d.neededStates()
}

// crimps gives every terminal what is crimped on there: its own word goes before that of its connector or part, and that before the
// mate's.
func (d *decoder) crimps() {
	n := d.net
	if len(n.Terminals) == 0 && d.noTerminalNames() {
		return
	}
	named := map[Name]*Terminal{}
	lookUp := func(name Name) *Terminal {
		t, known := named[name]
		if !known {
			t = find(d, name, "terminal", n.terminals, n.Terminals, func(t *Terminal) string { return t.Name.Text })
			named[name] = t
		}
		return t
	}
	for i := range n.Pins {
		p := &n.Pins[i]
		name := p.TerminalName
		switch o := p.Owner; {
		case name.IsSet():
		case o.Connector != nil:
			name = o.Connector.TerminalName
		case o.Part != nil:
			name = o.Part.TerminalName
		}
		p.Terminal = lookUp(name)
	}
	for _, c := range n.Connectors {
		d.crimpsOfMate(c)
	}
}

// crimpsOfMate gives a half of an in-line pair that names no terminal those of its mate, as it has its cavities: both halves of one
// family take the same wires.
func (d *decoder) crimpsOfMate(c *Connector) {
	m := c.Mate
	if m == nil || c.Part != nil || m.Part != nil || d.namesTerminals(c) || !d.namesTerminals(m) {
		return
	}
	for _, id := range c.Owner.Pins {
		if other, meets := m.Owner.Pin(d.net.Pins[id].Name); meets {
			d.net.Pins[id].Terminal = d.net.Pins[other].Terminal
		}
	}
}

func (d *decoder) namesTerminals(c *Connector) bool {
	return c.TerminalName.IsSet() || slices.ContainsFunc(c.Owner.Pins, func(id PinID) bool { return d.net.Pins[id].TerminalName.IsSet() })
}

// noTerminalNames reports whether nothing in the file names a terminal definition, as in most files that have none.
func (d *decoder) noTerminalNames() bool {
	for i := range d.net.Pins {
		if d.net.Pins[i].TerminalName.IsSet() {
			return false
		}
	}
	for _, o := range d.net.Owners {
		if o.Connector != nil && o.Connector.TerminalName.IsSet() || o.Part != nil && o.Part.TerminalName.IsSet() {
			return false
		}
	}
	return true
}

// neededStates checks the names under `needed-in`.
func (d *decoder) neededStates() {
	states := map[string]*State{}
	for _, s := range d.net.States {
		states[s.Name.Text] = s
	}
	for _, p := range d.net.Parts {
		names := slices.Clone(p.NeededIn)
		for i := range p.Inside.Loads {
			names = append(names, p.Inside.Loads[i].NeededIn...)
		}
		for _, name := range names {
			find(d, name, "state", states, d.net.States, func(s *State) string { return s.Name.Text })
		}
	}
}

// layAlong finds the path that a splice is laid into, the shortest where several join the two places, and whether it lies on it.
func (d *decoder) layAlong(s *Splice) {
	s.Toward = d.place(s.TowardName)
	d.need(!s.Distance.IsSet() || s.TowardName.IsSet(), s.Name, "does not say toward which place its distance is", `add toward = "PLACE"`)
	d.need(!s.TowardName.IsSet() || s.PlaceName.IsSet(), s.Name, "does not say from which place it is laid", `add at = "PLACE"`)
	if s.Toward == nil || s.Place == nil {
		return
	}
	for _, p := range d.net.Paths {
		if p.From == s.Place && p.To == s.Toward || p.From == s.Toward && p.To == s.Place {
			if s.Along == nil || p.Length.IsSet() && p.Length.Value < s.Along.Length.Value {
				s.Along = p
			}
		}
	}
	switch {
	case s.Along == nil || s.Toward == s.Place:
		s.Along = nil
		d.diags.Errorf("bad-value", s.TowardName.Span, "no path joins %s and %s", s.PlaceName.Text, s.TowardName.Text).Help = "name a place that one path joins with that of the splice"
	case s.Distance.IsSet() && s.Along.Length.IsSet() && s.Distance.Value > s.Along.Length.Value:
		d.diags.Errorf("bad-value", s.Distance.Span, "splice %s lies %s along path %s, which is %s long", s.Name.Text, unit.Metre(s.Distance.Value), s.Along.Name.Text, unit.Metre(s.Along.Length.Value)).Help = "a distance is told from the place `at`, toward the other"
	}
}

func (d *decoder) need(ok bool, name Name, what, help string) {
	if !ok {
		d.diags.Errorf("missing-key", name.Span, "%s %s", name.Text, what).Help = help
	}
}

func (d *decoder) resolvePart(p *Part) {
	p.System = d.system(p.SystemName)
	p.Place = d.place(p.PlaceName)
	if p.PanelName.IsSet() {
		if o := d.owner(p.PanelName, "panel"); o != nil {
			p.Panel = o.Panel
		}
	}
	body := p.BodyRef
	if p.GroundBody.IsSet() {
		body = p.GroundBody
	}
	p.Body = find(d, body, "body", d.net.bodies, d.net.Bodies, func(b *Body) string { return b.Name.Text })
}

// resolveGrid reads the rows of a panel. What sits in the panel and is not in the rows is no fault: the chart says that its
// position is not stated.
func (d *decoder) resolveGrid(p *Panel) {
	seen := map[*Part]bool{}
	for _, text := range p.grid {
		names, err := expandRow(text.Text)
		if err != nil {
			d.diags.Errorf("bad-value", text.Span, "%q is not a row of positions", text.Text).Help = `write a range "F1-F8", or names "F1 F2 _ K1" with _ for an empty position`
			continue
		}
		row := make([]*Part, len(names))
		for i, name := range names {
			if row[i] = d.inPanel(p, Name{name, text.Span}); row[i] != nil && seen[row[i]] {
				d.diags.Errorf("bad-value", text.Span, "%s is twice in the grid of panel %s", name, p.Name.Text).Help = "a part has one position; take one of them out"
			}
			seen[row[i]] = true
		}
		p.Rows = append(p.Rows, row)
	}
}

// inPanel finds the part at a position of a panel; nil for an empty position, and for what does not sit in the panel, which is told.
func (d *decoder) inPanel(panel *Panel, name Name) *Part {
	o := d.net.Owner(name.Text)
	if name.Text == "" {
		return nil
	}
	if o == nil || o.Sort != PartOwner || o.Part.Panel != panel {
		d.diags.Errorf("bad-value", name.Span, "no part %s sits in panel %s", name.Text, panel.Name.Text).Help =
			fmt.Sprintf("write in = %q at the part, or _ where the position is empty", panel.Name.Text)
		return nil
	}
	return o.Part
}

func (d *decoder) resolveLink(l *Link) {
	for i := range l.Joins {
		d.pin(&l.Joins[i])
	}
	d.need(len(l.Joins) >= 2, l.Name, "joins fewer than two terminals", `add joins = ["P:BUS", "F1:1"]`)
	if l.PanelName.IsSet() {
		if o := d.owner(l.PanelName, "panel"); o != nil {
			l.Panel = o.Panel
		}
	}
}

func (d *decoder) resolveCable(c *Cable) {
	for _, name := range c.WireNames {
		w := find(d, name, "wire", d.net.wires, d.net.Wires, func(w *Wire) string { return w.Name.Text })
		if w == nil {
			continue
		}
		if w.Cable != nil && w.Cable != c {
			d.diags.Errorf("bad-value", name.Span, "wire %s is in cable %s already", name.Text, w.Cable.Name.Text).Help = "a wire lies in one cable"
			continue
		}
		w.Cable = c
		c.Wires = append(c.Wires, w)
	}
	for i := range c.Screen {
		d.pin(&c.Screen[i])
	}
}

func (d *decoder) resolveState(s *State) {
	for i := range s.Switches {
		d.resolveSetting(&s.Switches[i])
	}
	for i := range s.Driven {
		d.output(&s.Driven[i], catalog.Sink, catalog.Driver, catalog.Output, catalog.HalfBridge)
	}
	for i := range s.Pulled {
		d.output(&s.Pulled[i], catalog.HalfBridge)
		if r := s.Pulled[i]; r.ID != NoPin && slices.ContainsFunc(s.Driven, func(o PinRef) bool { return o.ID == r.ID }) {
			d.diags.Errorf("bad-value", r.Span, "%s is driven and pulled at once in state %s", r.Text, s.Name.Text).Help = "a half bridge joins to supply when it is driven, to ground when it is pulled; both would be a short"
		}
	}
	if s.Charging.On && (s.Engine.Text == "off" || s.Engine.Text == "cranking") {
		d.diags.Errorf("bad-value", s.Charging.Span, "state %s charges while its engine is %s", s.Name.Text, s.Engine.Text).Help = `write engine = "running", or leave charging out`
	}
}

// output resolves a terminal that a state works, and checks that its role lets it be worked so.
func (d *decoder) output(r *PinRef, allowed ...catalog.Role) {
	d.pin(r)
	if r.ID == NoPin || slices.Contains(allowed, d.net.Pin(r.ID).Role) {
		return
	}
	if len(allowed) == 1 {
		d.diags.Errorf("bad-value", r.Span, "%s is no half bridge", r.Text).Help = `only a pin with role = "half-bridge" can be pulled to ground here; a low-side output stands under driven`
		return
	}
	d.diags.Errorf("bad-value", r.Span, "%s is not an output that can be driven", r.Text).Help = `give the pin role = "sink" (joins to ground) or "driver" (joins to supply)`
}

func (d *decoder) resolveSetting(s *Setting) {
	o := d.owner(s.PartName, "part")
	if o == nil {
		return
	}
	s.Part = o.Part
	switch in := &o.Part.Inside; {
	case len(in.Coils) > 0:
		d.diags.Errorf("bad-value", s.PartName.Span, "%s is a relay: its coil decides where its contacts stand", o.Name.Text).Help = "set the switch or the output that feeds the coil instead"
		return
	case len(in.Positions)+len(in.Open)+len(in.Closed) == 0:
		d.diags.Errorf("bad-value", s.PartName.Span, "%s has no positions", o.Name.Text).Help = "only parts with contacts can be put in a position"
		return
	}
	if s.PositionName.IsSet() {
		if s.Position = o.Part.Position(s.PositionName.Text); s.Position < 0 {
			var known []string
			for _, p := range o.Part.Inside.Positions {
				known = append(known, p.Name.Text)
			}
			if len(known) == 0 {
				known = []string{"off", "on"}
			}
			d.unknownName(s.PositionName, "position of "+o.Name.Text, known)
		}
	}
}

// find looks a name up and reports it with the nearest one when it is not there. An unset name finds nothing.
func find[T any](d *decoder, name Name, what string, index map[string]*T, all []*T, nameOf func(*T) string) *T {
	if !name.IsSet() {
		return nil
	}
	if t := index[name.Text]; t != nil {
		return t
	}
	var names []string
	if d.maySuggest() {
		for _, t := range all {
			names = append(names, nameOf(t))
		}
	}
	d.unknownName(name, what, names)
	return nil
}

func (d *decoder) place(name Name) *Place {
	return find(d, name, "place", d.net.places, d.net.Places, func(p *Place) string { return p.Name.Text })
}

func (d *decoder) system(name Name) *System {
	return find(d, name, "system", d.net.systems, d.net.Systems, func(s *System) string { return s.Name.Text })
}

// pin resolves a terminal reference. Where names are open (splices, studs) a new name is a new terminal.
func (d *decoder) pin(r *PinRef) {
	if !r.IsSet() {
		r.ID = NoPin // the zero PinRef would name the first terminal of the netlist
		return
	}
	owner, pin := splitRef(r.Text)
	o := d.net.owners[owner]
	name := Name{r.Text, r.Span}
	if o == nil {
		d.unknownDesignator(name, owner)
		return
	}
	if id, ok := o.Pin(pin); ok {
		r.ID = id
		return
	}
	switch {
	case o.OpenPins:
		r.ID = d.newPin(o, pin, r.Span)
		if o.Part != nil && o.Part.Kind.Name == "ground point" {
			d.net.Pins[r.ID].Role = catalog.Ground
		}
	case pin == "":
		d.diags.Errorf("unknown-pin", r.Span, "%q does not say which terminal of %s", r.Text, owner).Help = "write it with a colon: " + owner + ":" + d.firstPin(o)
	case o.Part != nil && len(o.Pins) == 0 && len(o.Part.Plugs) > 0:
		d.diags.Errorf("unknown-pin", name.within(0, len(owner)), "the terminals of %s are in its plugs", owner).Help = "write " + o.Part.Plugs[0].Name.Text + ":" + pin
	default:
		d.unknownPin(o, pin, name.within(len(owner)+1, len(r.Text)))
	}
}

func (d *decoder) firstPin(o *Owner) string {
	if len(o.Pins) == 0 {
		return "1"
	}
	return d.net.Pins[o.Pins[0]].Name
}

func (d *decoder) unknownDesignator(name Name, owner string) {
	d.maySuggest()
	var known []string
	for _, o := range d.net.Owners {
		if d.suggestions >= maxSuggestions {
			break
		}
		if o.Sort != BodyOwner {
			known = append(known, o.Name.Text)
		}
	}
	d.unknownName(Name{owner, name.within(0, len(owner))}, "part, connector, splice or panel", known)
}
