package buy

import (
	"cmp"
	"fmt"
	"strings"

	"ferrule/netlist/fusecurve"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// parts adds what is plugged in, screwed on or soldered in: relays with their sockets, fuses with their holders, bolts, small parts.
// Devices, such as lamps and motors, are not on the list.
func (c *collector) parts() {
	for _, p := range c.Netlist.Parts {
		if p.Supplied.On {
			continue
		}
		switch p.Kind.Name {
		case "relay", "changeover relay", "flasher":
			c.relay(p)
		case "fuse", "fusible link":
			c.fuse(p)
		case "breaker":
			c.breaker(p)
		case "diode", "resistor", "capacitor":
			c.small(p)
		case "stud", "ground point", "bus bar":
			c.stud(p)
		}
	}
}

// amps writes a rating; it is empty where none is stated.
func amps(p *model.Part) string {
	if v := p.Value("rating"); v != nil && v.Quantity.IsSet() {
		return unit.Ampere(v.Quantity.Value).String()
	}
	return ""
}

func ratingOf(p *model.Part) float64 {
	if v := p.Value("rating"); v != nil {
		return v.Quantity.Value
	}
	return 0
}

func word(p *model.Part, key string) string {
	if v := p.Value(key); v != nil {
		return v.Word.Text
	}
	return ""
}

func quantity(p *model.Part, key string) model.Quantity {
	if v := p.Value(key); v != nil {
		return v.Quantity
	}
	return model.Quantity{}
}

// joined writes the words that are there, with one space between.
func joined(words ...string) string {
	return strings.Join(strings.Fields(strings.Join(words, " ")), " ")
}

func (c *collector) volts() string { return unit.Volt(c.Netlist.Harness.Volts).String() }

var contactWords = map[string]string{"relay": "relay", "changeover relay": "relay changeover", "flasher": "flasher"}

// relay adds a relay and its socket.
func (c *collector) relay(p *model.Part) {
	if amps(p) == "" {
		c.lack("part without a rating", `rating = "15 A"`, p.Name)
	}
	text := joined(contactWords[p.Kind.Name], c.volts(), amps(p))
	if s := word(p, "suppression"); s == "diode" || s == "resistor" {
		text += " with " + s
	}
	c.add(Item{Group: Relays, Text: text, Spec: relaySpec(p), Reserve: spares(c.Netlist.Reserve.Relays, spareRelays), rank: ratingOf(p)}, 1, p.Name.Text)
	pins := len(p.Owner.Pins)
	socket := c.add(Item{Group: Relays, Text: joined(fmt.Sprintf("relay socket %d pole", pins), amps(p)), rank: socketRank,
		Spec: "with its terminals"}, 1, p.Name.Text)
	if p.Panel != nil {
		socket.Spec = "with its terminals; none where the panel has it moulded in"
	}
}

// socketRank puts sockets behind relays.
const socketRank = 10_000

func relaySpec(p *model.Part) string {
	var words []string
	switch p.Kind.Name {
	case "relay":
		words = append(words, "make contact")
	case "changeover relay":
		words = append(words, "make and break contact")
	}
	if coil := quantity(p, "coil-resistance"); coil.IsSet() {
		words = append(words, "coil "+unit.Ohm(coil.Value).String())
	}
	switch word(p, "suppression") {
	case "diode":
		text := "diode across the coil"
		if plus := word(p, "plus"); plus != "" {
			text += ", plus at " + plus
		}
		words = append(words, text)
	case "resistor":
		words = append(words, "resistor across the coil")
	case "none":
		words = append(words, "nothing across the coil")
	}
	var pins []string
	for _, id := range p.Owner.Pins {
		pins = append(pins, p.Owner.PinName(id))
	}
	return strings.Join(append(words, "terminals "+strings.Join(pins, " ")), ", ")
}

// fuse adds a fuse and, where it sits in no panel, its holder. A position that is kept for later needs no fuse.
func (c *collector) fuse(p *model.Part) {
	family := c.family(p)
	if !p.Spare.On {
		if amps(p) == "" {
			c.lack("part without a rating", `rating = "15 A"`, p.Name)
		}
		c.add(Item{Group: Fuses, Text: joined(p.Kind.Name, family, amps(p)), Spec: c.fuseSpec(p, family), Reserve: spares(c.Netlist.Reserve.Fuses, spareFuses),
			rank: ratingOf(p)}, 1, p.Name.Text)
	}
	if p.Panel == nil && p.Kind.Name == "fuse" {
		c.holder(p, family)
	}
}

func (c *collector) family(p *model.Part) string {
	family := word(p, "family")
	if family == "" && p.Kind.Name == "fuse" {
		c.lack("fuse without a family", `family = "blade", "mini blade", "bolt-in" ...`, p.Name)
	}
	return family
}

// fuseSpec says by which standard a fuse is made, what colour it then has, and what volts it has to part.
func (c *collector) fuseSpec(p *model.Part, family string) string {
	var words []string
	if f, known := fusecurve.ParseFamily(family); known {
		words = append(words, f.Standard())
		if color, known := fusecurve.Color(f, unit.Ampere(ratingOf(p))); known {
			words = append(words, "body "+color)
		}
	}
	return strings.Join(append(words, "for "+c.volts()+" DC or more"), ", ")
}

func (c *collector) holder(p *model.Part, family string) {
	state := "not sealed"
	if p.Sealed.On {
		state = "sealed"
	}
	var sizes []string
	for _, id := range p.Owner.Pins {
		for _, w := range c.made(id) {
			sizes = append(sizes, w.Size.String())
		}
	}
	text := joined("fuse holder", family, strings.Replace(state, "not sealed", "", 1))
	item := Item{Group: Holders, Text: joined(text, amps(p)), Spec: "in line or on a bracket, " + state, rank: ratingOf(p)}
	if len(sizes) > 0 {
		item.Spec += ", leads or screws for " + bunch(sizes)
	}
	c.add(item, 1, p.Name.Text)
}

func (c *collector) breaker(p *model.Part) {
	if amps(p) == "" {
		c.lack("part without a rating", `rating = "15 A"`, p.Name)
	}
	reset := word(p, "reset")
	if reset == "" {
		c.lack("breaker that does not say how it comes back", `reset = "manual" or "automatic"`, p.Name)
	} else {
		reset += " reset"
	}
	c.add(Item{Group: Fuses, Text: joined("breaker", word(p, "family"), amps(p), reset), Spec: "for " + c.volts() + " DC or more", rank: breakerRank + ratingOf(p)}, 1, p.Name.Text)
}

// breakerRank puts breakers behind fuses.
const breakerRank = 10_000

// panels adds fuse boxes and carriers by what sits in them.
func (c *collector) panels() {
	for _, panel := range c.Netlist.Panels {
		var sorts []string
		count, largest := map[string]int{}, 0.0
		for _, p := range c.Netlist.Parts {
			if p.Panel != panel {
				continue
			}
			sort := p.Kind.Name
			if sort == "fuse" {
				sort = joined(word(p, "family"), "fuse")
			}
			if count[sort] == 0 {
				sorts = append(sorts, sort)
			}
			count[sort]++
			largest = max(largest, ratingOf(p))
		}
		var words []string
		for _, sort := range sorts {
			words = append(words, fmt.Sprintf("%d x %s", count[sort], sort))
		}
		text := "panel for " + strings.Join(words, ", ")
		if len(words) == 0 {
			text = "panel " + panel.Name.Text
		}
		item := Item{Group: Holders, Text: text, Spec: "not sealed", rank: panelRank}
		if panel.Sealed.On {
			item.Text += ", sealed"
			item.Spec = "closed against water"
		}
		if largest > 0 {
			item.Spec += ", largest " + unit.Ampere(largest).String()
		}
		item.Spec += "; " + cmp.Or(panel.Title.Text, panel.Name.Text)
		c.add(item, 1, panel.Name.Text)
	}
}

// panelRank puts panels behind holders.
const panelRank = 10_000

func (c *collector) small(p *model.Part) {
	value, spec := amps(p), "for "+c.volts()+" DC"
	switch p.Kind.Name {
	case "diode":
		spec += ", reverse volts well above what a coil kicks back"
	case "resistor":
		value = ""
		if r := quantity(p, "resistance"); r.IsSet() {
			value = unit.Ohm(r.Value).String()
		}
		spec = "power not stated: from what it drops and carries"
	case "capacitor":
		value = ""
		if f := quantity(p, "capacitance"); f.IsSet() {
			value = microfarads(f.Value)
		}
		spec += ", insulation volts by its use"
	}
	if value == "" {
		c.lack("part without its value: "+p.Kind.Name, map[string]string{"diode": `rating = "3 A"`, "resistor": `resistance = "680 ohm"`, "capacitor": `capacitance = "0.22 uF"`}[p.Kind.Name], p.Name)
	}
	c.add(Item{Group: Small, Text: joined(p.Kind.Name, value), Spec: spec}, 1, p.Name.Text)
}

func microfarads(farads float64) string { return unit.Format(farads*1e6) + " uF" }

// stud adds the bolt that rings go on.
func (c *collector) stud(p *model.Part) {
	item := Item{Group: Studs, Text: joined(p.Kind.Name, threadOf(p.Owner))}
	switch p.Kind.Name {
	case "stud":
		item.Spec = "insulated, with nut and lock washer"
	case "ground point":
		item.Text = joined("ground bolt", threadOf(p.Owner))
		item.Spec = "with nut and toothed washer, for bright metal"
	case "bus bar":
		item.Text = joined("bus bar", amps(p), fmt.Sprintf("%d screws", len(p.Owner.Pins)))
		item.Spec = "one screw a ring"
	}
	if p.Kind.Takes("thread") && threadOf(p.Owner) == "" {
		item.Spec += "; thread not stated"
		c.noThread(p.Owner)
	}
	c.add(item, 1, p.Name.Text)
}
