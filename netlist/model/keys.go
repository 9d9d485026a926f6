package model

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/syntax"
	"ferrule/netlist/unit"
)

// The tables of keys, one a section. The comment that would explain a key is its doc text: the language reference is
// made from it.

var harnessKeys = newSection("harness",
	nameField("title", "what the harness is for; stands on the cover, and on every sheet when no vehicle is named", func(h *Harness) *Name { return &h.Title }),
	nameField("revision", "the revision that the file describes", func(h *Harness) *Name { return &h.Revision }),
	nameField("vehicle", "the vehicle", func(h *Harness) *Name { return &h.Vehicle }),
	nameField("owner", "who answers for the file", func(h *Harness) *Name { return &h.Owner }),
	field[Harness]{key: "volts", form: "6, 12, 24 or 48", doc: "nominal voltage; 12 when left out", set: setVolts},
	field[Harness]{key: "polarity", form: `"negative-ground" or "positive-ground"`, doc: "which battery post is bolted to the metal; negative when left out",
		set: func(d *decoder, h *Harness, v *syntax.Value) {
			h.PositiveGround = d.word(v, "negative-ground", "positive-ground").Text == "positive-ground"
		}},
	field[Harness]{key: "practice", form: `"road" or "boat"`, doc: "whose smallest wire sizes `size` and `check` keep to: those of boats are 16 AWG alone and 18 AWG in a sheath (33 CFR 183.425); road when left out",
		set: func(d *decoder, h *Harness, v *syntax.Value) { h.Practice = d.word(v, "road", "boat").Text }},
	field[Harness]{key: "insulation", form: `a temperature, "125 C"`, doc: "temperature class of wires that state none; 105 C when left out",
		set: func(d *decoder, h *Harness, v *syntax.Value) {
			h.Insulation = unit.Celsius(d.quantity(v, unit.Temperature).Value)
		}},
	field[Harness]{key: "cable", form: `"SAE", "AWG" or "metric"`, doc: "which copper a size means: SAE vehicle cable has less than its AWG name says; SAE when left out",
		set: func(d *decoder, h *Harness, v *syntax.Value) { h.Cable = d.word(v, "SAE", "AWG", "metric").Text }},
)

func setVolts(d *decoder, h *Harness, v *syntax.Value) {
	if v.Kind != syntax.Integer {
		d.is(v, syntax.Integer, "12")
		return
	}
	switch v.Int {
	case 6, 12, 24, 48:
		h.Volts = float64(v.Int)
	default:
		d.diags.Errorf("out-of-range", v.Span, "%d is not a nominal voltage that Ferrule knows", v.Int).Help = "write 6, 12, 24 or 48"
	}
}

var colorKeys = newSection("color plan",
	namesField("ground", `["BK"]`, "base colours kept for power ground; BK when left out, none for []", func(p *ColorPlan) *[]Name { return &p.Ground }),
	namesField("permanent", `["RD"]`, "base colours kept for wires that are always live; RD when left out, none for []", func(p *ColorPlan) *[]Name { return &p.Permanent }),
)

var allowanceKeys = newSection("allowance",
	allowanceField("plain", "at each end, to strip, crimp and plug in; 50 mm when left out", func(a *Allowance) *Quantity { return &a.Plain }, unit.Length),
	allowanceField("sealed", "more at an end in a sealed connector or device, to crimp it once more; 100 mm when left out", func(a *Allowance) *Quantity { return &a.Sealed }, unit.Length),
	allowanceField("hinge-out", "more at an end in a plug of a module, which must hinge out with its plugs in; 150 mm when left out", func(a *Allowance) *Quantity { return &a.HingeOut }, unit.Length),
	allowanceField("rock", "more for each path on the way that bends (`flex = true`); 50 mm when left out", func(a *Allowance) *Quantity { return &a.Rock }, unit.Length),
	allowanceField("lay", "what wires take that wind through a bundle, as a share of the length; 2 % when left out", func(a *Allowance) *Quantity { return &a.Lay }, unit.Share),
	allowanceField("twist", "what a pair takes that is twisted at the bench, as a share of the length; 8 % when left out", func(a *Allowance) *Quantity { return &a.Twist }, unit.Share),
	allowanceField("round", "the step to which cut lengths are rounded up; 10 mm when left out", func(a *Allowance) *Quantity { return &a.Round }, unit.Length),
)

// mostAllowance is far beyond any end of a wire, in metres; mostShare is beyond any of them.
const (
	mostAllowance = 5
	mostShare     = 1
)

// allowanceField is a quantity that may be nothing at all, which no other length in a vehicle is.
func allowanceField[T any](key, doc string, at func(*T) *Quantity, dim unit.Dimension) field[T] {
	return field[T]{key: key, form: dim.String() + ", " + dim.Example(), doc: doc,
		set: func(d *decoder, t *T, v *syntax.Value) { *at(t) = d.allowance(v, dim) }}
}

func (d *decoder) allowance(v *syntax.Value, dim unit.Dimension) Quantity {
	if !d.isQuantity(v, dim.Example()) {
		return Quantity{}
	}
	value, _, err := unit.Parse(v.Str, dim)
	if err != nil {
		d.diags.Errorf("bad-value", v.Span, "%v", err)
		return Quantity{}
	}
	most := float64(mostAllowance)
	if dim == unit.Share {
		most = mostShare
	}
	if value < 0 || value > most {
		d.diags.Errorf("out-of-range", v.Span, "%q is out of range: an allowance lies between %s and %s",
			v.Str, dim.InUnit(0), dim.InUnit(most)).Help = "look for a slip of the pen or the wrong unit"
		return Quantity{}
	}
	return Quantity{Value: value, Dim: dim, Span: v.Span}
}

var systemKeys = newSection("system", nameField("title", "heading of its schematic sheets", func(s *System) *Name { return &s.Title }))

var bodyKeys = newSection("body",
	nameField("title", "what the metal is", func(b *Body) *Name { return &b.Title }),
	flagField("poor", "paint, galvanising, hinges or rubber lie in its way to the rest: it counts as joined only through wires", func(b *Body) *Flag { return &b.Poor }),
)

var zoneKeys = newSection("zone",
	nameField("title", "what the zone is called", func(z *Zone) *Name { return &z.Title }),
	quantityField("ambient", "the hottest that the air gets", func(z *Zone) *Quantity { return &z.Ambient }, unit.Temperature),
	flagField("wet", "spray or standing water reaches it", func(z *Zone) *Flag { return &z.Wet }),
	flagField("vapor", "fuel vapour or battery gas can gather there: what sparks must be ignition protected", func(z *Zone) *Flag { return &z.Vapor }),
)

var placeKeys = newSection("place",
	nameField("title", "what the place is called", func(p *Place) *Name { return &p.Title }),
	nameField("zone", "the zone that it lies in", func(p *Place) *Name { return &p.ZoneName }),
	nameField("removed-with", "the unit that it leaves the vehicle with: \"engine\", \"bed\"; wires into a unit need a connector", func(p *Place) *Name { return &p.RemovedWith }),
	quantityField("hole", "the clear opening of the grommet or hole that the wires pass here", func(p *Place) *Quantity { return &p.Hole }, unit.Length),
	allowanceField("service-loop", "a loop that each wire has which ends here, beyond the other allowances", func(p *Place) *Quantity { return &p.ServiceLoop }, unit.Length),
)

var pathKeys = newSection("path",
	field[Path]{key: "between", form: `["PLACE", "PLACE"]`, doc: "the two places that the path joins", set: setBetween},
	quantityField("length", "along the path", func(p *Path) *Quantity { return &p.Length }, unit.Length),
	nameField("cover", "what covers the bundle: split loom, braid, tape, heat sleeve", func(p *Path) *Name { return &p.Cover }),
	nameField("zone", "the zone that it runs through, where its ends do not say", func(p *Path) *Name { return &p.ZoneName }),
	quantityField("cover-rating", "the temperature that the cover stands", func(p *Path) *Quantity { return &p.CoverRating }, unit.Temperature),
	flagField("flex", "it bends in use: a door, a hood, an engine that rocks", func(p *Path) *Flag { return &p.Flex }),
	quantityField("exhaust", "the least distance to the exhaust", func(p *Path) *Quantity { return &p.Exhaust }, unit.Length),
	quantityField("moving", "the least distance to moving parts", func(p *Path) *Quantity { return &p.Moving }, unit.Length),
	quantityField("fuel-line", "the least distance to a fuel line", func(p *Path) *Quantity { return &p.FuelLine }, unit.Length),
	wordField("known-from", "where the length comes from", func(p *Path) *Name { return &p.KnownFrom }, "sheet", "measured", "guess"),
	nameField("title", "what the path is called", func(p *Path) *Name { return &p.Title }),
)

func setBetween(d *decoder, p *Path, v *syntax.Value) {
	names := d.texts(v, `["firewall", "panel"]`)
	copy(p.Ends[:], names)
	if v.Kind == syntax.Array && len(v.Items) != 2 {
		d.diags.Errorf("bad-value", v.Span, "a path lies between two places; here are %d", len(v.Items))
	}
}

var netKeys = newSection("net",
	nameField("title", "the net in plain words", func(n *Net) *Name { return &n.Title }),
	wordField("class", "what sort of potential it is", func(n *Net) *Name { return &n.Class }, "supply", "ground", "reference", "return", "signal", "bus high", "bus low"),
	wordField("bit-rate", "of a data bus", func(n *Net) *Name { return &n.BitRate }, "10 kbit/s", "20 kbit/s", "50 kbit/s", "125 kbit/s", "250 kbit/s", "500 kbit/s", "800 kbit/s", "1 Mbit/s"),
	flagField("always-live", "live with everything off, on purpose", func(n *Net) *Flag { return &n.AlwaysLive }),
)

// pinEntry is one line of a pin table before its owner has terminals.
type pinEntry struct {
	name Name
	pin  Pin
}

var pinKeys = newSection("pin",
	nameField("does", "the function in plain words", func(p *Pin) *Name { return &p.Does }),
	field[Pin]{key: "role", form: "one of the roles listed below", doc: "what the terminal is for", set: setRole},
	nameField("net", "the net that it is meant to be on", func(p *Pin) *Name { return &p.Net }),
	quantityField("limit", "the most current that the terminal stands", func(p *Pin) *Quantity { return &p.Limit }, unit.Current),
	quantityField("load", "what the terminal takes or gives", func(p *Pin) *Quantity { return &p.Load }, unit.Current),
	quantityField("resistance", "of an output that is on", func(p *Pin) *Quantity { return &p.Resistance }, unit.Resistance),
	quantityField("least-load", "the least resistance that an output may drive", func(p *Pin) *Quantity { return &p.LeastLoad }, unit.Resistance),
	wordField("drives", "what an output is made for, or an ignition coil's input expects", func(p *Pin) *Name { return &p.Drives }, Drives...),
	nameField("cylinder", "the cylinder that it serves; several with commas", func(p *Pin) *Name { return &p.Cylinder }),
	wordField("side", "the side of the vehicle that it serves", func(p *Pin) *Name { return &p.Side }, "left", "right"),
	wordField("polarity", "which end of a pair it is", func(p *Pin) *Name { return &p.Polarity }, "+", "-"),
	flagField("pulsed", "an output that switches many times a second", func(p *Pin) *Flag { return &p.Pulsed }),
	flagField("parallel", "it may be joined to an output of the same kind, by the maker's sheet", func(p *Pin) *Flag { return &p.Parallel }),
	flagField("open-collector", "a sensor's output that only pulls down", func(p *Pin) *Flag { return &p.OpenCollector }),
	quantityField("pull-up", "the voltage that an input holds itself at through its own resistor", func(p *Pin) *Quantity { return &p.PullUp }, unit.Voltage),
	quantityField("highest", "the highest voltage that it stands", func(p *Pin) *Quantity { return &p.Highest }, unit.Voltage),
	nameField("terminal", "the terminal that is crimped on there", func(p *Pin) *Name { return &p.TerminalName }),
	flagField("double-crimp", "several wires share the terminal on purpose", func(p *Pin) *Flag { return &p.DoubleCrimp }),
	flagField("plugged", "the empty cavity is closed with a plug", func(p *Pin) *Flag { return &p.Plugged }),
	quantityField("clamp-volts", "the voltage at which an output clamps", func(p *Pin) *Quantity { return &p.ClampVolts }, unit.Voltage),
	wordField("clamp", "where an output leads the kick of a coil", func(p *Pin) *Name { return &p.Clamp }, "ground", "supply", "none"),
	nameField("expect", "what a meter should read here", func(p *Pin) *Name { return &p.Expect }),
	flagField("required", "the device does not work without it", func(p *Pin) *Flag { return &p.Required }),
	flagField("unused", "left open on purpose", func(p *Pin) *Flag { return &p.Unused }),
	flagField("spare", "kept free for later", func(p *Pin) *Flag { return &p.Spare }),
)

func setRole(d *decoder, p *Pin, v *syntax.Value) {
	words := make([]string, len(catalog.Roles))
	for i, r := range catalog.Roles {
		words[i] = string(r)
	}
	p.Role = catalog.Role(d.word(v, words...).Text)
}

// pinTable reads `[part.NAME.pin]` and `[connector.NAME.pin]`.
func (d *decoder) pinTable(v *syntax.Value) []*pinEntry {
	var entries []*pinEntry
	d.table(v, `{ 7 = { does = "Fuel pump relay" } }`, func(e *syntax.Entry) {
		p := &pinEntry{name: Name{e.Key, e.KeySpan}}
		if d.is(e.Value, syntax.TableValue, `{ does = "Fuel pump relay" }`) {
			pinKeys.into(d, e.Value.Table, &p.pin)
			entries = append(entries, p)
		}
	})
	return entries
}

var connectorKeys = newSection("connector",
	nameField("title", "what the connector is called", func(c *Connector) *Name { return &c.Title }),
	nameField("of", "the part that it is a plug of: its cavities are terminals of that part", func(c *Connector) *Name { return &c.OfName }),
	nameField("mates", "the other half of an in-line pair; equal cavities meet", func(c *Connector) *Name { return &c.MateName }),
	field[Connector]{key: "cavities", form: `24 or ["A1", "A2"]`, doc: "how many cavities, or their names", set: setCavities},
	field[Connector]{key: "grid", form: `["1-12", "13-24"]`, doc: "the rows as seen in `view`; a range, or names with `_` where there is no cavity. Rows that are staggered by half a place have `_` at every other: [\"1 _ 2 _ 3\", \"_ 4 _ 5 _\"]",
		set: func(d *decoder, c *Connector, v *syntax.Value) {
			c.grid, c.gridSpan = d.texts(v, `["1-12", "13-24"]`), v.Span
		}},
	wordField("view", "the side that the numbering is given from", func(c *Connector) *Name { return &c.View }, "wire side", "mating face"),
	wordField("latch", "the side of the housing that the latch is on, in that view", func(c *Connector) *Name { return &c.Latch }, "top", "bottom", "left", "right"),
	wordField("shell", "the shape of the housing; rectangular when left out. In a round one the latch is the key of the shell", func(c *Connector) *Name { return &c.Shell }, "rectangular", "round"),
	wordField("contacts", "what the housing carries", func(c *Connector) *Name { return &c.Contacts }, "pins", "sockets"),
	flagField("sealed", "sealed against water", func(c *Connector) *Flag { return &c.Sealed }),
	allowanceField("service-loop", "how much longer its wires are, so that it can be taken out; in place of `hinge-out` for a plug of a module, \"0 mm\" where none is wanted", func(c *Connector) *Quantity { return &c.ServiceLoop }, unit.Length),
	nameField("family", "the housing's own name or series, so that equal ones are known: \"sealed 1.5, 2 way\"", func(c *Connector) *Name { return &c.Family }),
	nameField("key", "the coding that lets it mate with its own half alone: a letter, a colour", func(c *Connector) *Name { return &c.Key }),
	nameField("lock", "the second lock of its terminals, where it is a part of its own: \"wedge\", \"comb\"; it goes on the buy list", func(c *Connector) *Name { return &c.Lock }),
	nameField("terminal", "the terminal in its cavities, where a cavity does not say", func(c *Connector) *Name { return &c.TerminalName }),
	quantityField("contact-resistance", "of one mated contact with its crimps; goes before that of the terminal", func(c *Connector) *Quantity { return &c.ContactResistance }, unit.Resistance),
	wordField("known-from", "where its numbers come from", func(c *Connector) *Name { return &c.KnownFrom }, "sheet", "measured", "guess"),
	namesField("plugged", `["9", "12"]`, "empty cavities that are closed with a plug", func(c *Connector) *[]Name { return &c.plugged }),
	nameField("at", "the place where it is", func(c *Connector) *Name { return &c.PlaceName }),
	namesField("spare", `["9", "12"]`, "cavities that are left empty on purpose", func(c *Connector) *[]Name { return &c.spare }),
	nameField("note", "a note for the sheets", func(c *Connector) *Name { return &c.Note }),
	field[Connector]{key: "pin", form: "a table of cavities", doc: "more about single cavities", set: func(d *decoder, c *Connector, v *syntax.Value) {
		c.pinTable = d.pinTable(v)
	}},
)

// maxCavities is far beyond any vehicle connector (the largest controller plugs have some 160 cavities: common practice).
const maxCavities = 500

func setCavities(d *decoder, c *Connector, v *syntax.Value) {
	c.cavitySpan = v.Span
	switch v.Kind {
	case syntax.Integer:
		if v.Int < 1 || v.Int > maxCavities {
			d.diags.Errorf("out-of-range", v.Span, "a connector has 1 to %d cavities, not %d", maxCavities, v.Int)
			return
		}
		c.cavityCount = int(v.Int)
	case syntax.Array:
		c.cavities = d.texts(v, `["A1", "A2"]`)
	default:
		d.is(v, syntax.Integer, `24 or ["A1", "A2"]`)
	}
}

// Drives lists what an output can be made for.
var Drives = []string{"anything", "injector", "coil primary", "coil logic", "relay", "lamp", "valve", "heater", "motor", "logic"}

var terminalKeys = newSection("terminal",
	nameField("title", "the terminal in plain words: \"1.5 mm socket, sealed\"", func(t *Terminal) *Name { return &t.Title }),
	field[Terminal]{key: "wire", form: `["22 AWG", "16 AWG"]`, doc: "the thinnest and the thickest conductor that its barrel takes", set: setWireRange},
	field[Terminal]{key: "seal", form: `["1.4 mm", "2.4 mm"]`, doc: "the thinnest and the thickest insulation that its seal takes; left out where it has none", set: setSealRange},
	quantityField("rating", "the current of its data sheet", func(t *Terminal) *Quantity { return &t.Rating }, unit.Current),
	quantityField("contact-resistance", "of one mated contact with its crimp, or of a ring on its stud", func(t *Terminal) *Quantity { return &t.ContactResistance }, unit.Resistance),
	wordField("plating", "of its contact", func(t *Terminal) *Name { return &t.Plating }, "tin", "silver", "gold"),
	quantityField("strip", "how much insulation comes off", func(t *Terminal) *Quantity { return &t.Strip }, unit.Length),
	wordField("known-from", "where its numbers come from", func(t *Terminal) *Name { return &t.KnownFrom }, "sheet", "measured", "guess"),
)

func setWireRange(d *decoder, t *Terminal, v *syntax.Value) {
	if !d.twoOf(v, `["22 AWG", "16 AWG"]`) {
		return
	}
	low, high := d.size(v.Items[0]), d.size(v.Items[1])
	if low.IsSet() && high.IsSet() {
		t.Wire, t.WireSpan = [2]unit.Size{low, high}, v.Span
	}
}

func setSealRange(d *decoder, t *Terminal, v *syntax.Value) {
	if !d.twoOf(v, `["1.4 mm", "2.4 mm"]`) {
		return
	}
	low, high := d.quantity(v.Items[0], unit.Length), d.quantity(v.Items[1], unit.Length)
	if low.IsSet() && high.IsSet() && low.Value > high.Value {
		d.diags.Errorf("bad-value", v.Span, "the range ends below its beginning").Help = "the thinnest comes first"
		return
	}
	t.Seal = [2]Quantity{low, high}
}

// twoOf checks for a list of two.
func (d *decoder) twoOf(v *syntax.Value, example string) bool {
	if !d.is(v, syntax.Array, example) {
		return false
	}
	if len(v.Items) != 2 {
		d.diags.Errorf("bad-value", v.Span, "a range has a beginning and an end; here are %d", len(v.Items)).Help = "write for example " + example
		return false
	}
	return true
}

var spliceKeys = newSection("splice",
	nameField("title", "what the splice is for", func(s *Splice) *Name { return &s.Title }),
	nameField("at", "the place where it lies", func(s *Splice) *Name { return &s.PlaceName }),
	nameField("toward", "the next place, into the path to which it is laid", func(s *Splice) *Name { return &s.TowardName }),
	quantityField("distance", "how far along that path it lies, from the place `at`", func(s *Splice) *Quantity { return &s.Distance }, unit.Length),
	field[Splice]{key: "barrel", form: `"6 mm2"`, doc: "the largest sum of conductors that its barrel takes", set: func(d *decoder, s *Splice, v *syntax.Value) { s.Barrel, s.BarrelSpan = d.size(v), v.Span }},
	quantityField("contact-resistance", "of the crimp of one leg", func(s *Splice) *Quantity { return &s.ContactResistance }, unit.Resistance),
	wordField("known-from", "where its numbers come from", func(s *Splice) *Name { return &s.KnownFrom }, "sheet", "measured", "guess"),
	flagField("sealed", "closed with a sealing sleeve", func(s *Splice) *Flag { return &s.Sealed }),
	flagField("spare", "kept for later: one leg or none is right", func(s *Splice) *Flag { return &s.Spare }),
)

var panelKeys = newSection("panel",
	nameField("title", "what the panel is called", func(p *Panel) *Name { return &p.Title }),
	nameField("at", "the place where it sits", func(p *Panel) *Name { return &p.PlaceName }),
	flagField("sealed", "sealed against water", func(p *Panel) *Flag { return &p.Sealed }),
	namesField("terminals", `["BUS"]`, "terminals of the panel itself: studs and tabs that wires go to", func(p *Panel) *[]Name { return &p.terminals }),
	outlineField("inside", `"200 x 120 mm"`, "the clear space inside, width x height, with the depth behind where it matters", func(p *Panel) *Outline { return &p.Inside }),
	field[Panel]{key: "grid", form: `["F1-F8", "K1 _ K2"]`, doc: "the rows of its fuses, relays and switches as seen with the lid open; a range, or names with `_` where a position is empty",
		set: func(d *decoder, p *Panel, v *syntax.Value) { p.grid = d.texts(v, `["F1-F8", "K1 _ K2"]`) }},
	outlineField("lid", `"100 x 160 mm"`, "width and height of the card for the inside of its lid, to which the chart is made; 100 x 160 mm when left out", func(p *Panel) *Outline { return &p.Lid }),
	field[Panel]{key: "positions", form: "24", doc: "how many fuses and relays it has sockets for; counted in the grid when left out, if that shows all of its parts", set: setPanelPositions},
)

// mostPositions is beyond any fuse box of a vehicle (the largest have some 100 positions: common practice).
const mostPositions = 500

func setPanelPositions(d *decoder, p *Panel, v *syntax.Value) {
	if !d.is(v, syntax.Integer, "24") {
		return
	}
	if v.Int < 1 || v.Int > mostPositions {
		d.diags.Errorf("out-of-range", v.Span, "a panel has 1 to %d positions, not %d", mostPositions, v.Int)
		return
	}
	p.Positions, p.PositionsSpan = int(v.Int), v.Span
}

var linkKeys = newSection("link",
	field[Link]{key: "joins", form: `["P:BUS", "F1:1"]`, doc: "the terminals that the bar or jumper joins",
		set: func(d *decoder, l *Link, v *syntax.Value) { l.Joins = d.refs(v) }},
	nameField("in", "the panel that it is in", func(l *Link) *Name { return &l.PanelName }),
	nameField("rail", "the DIN 72552 name when it is a supply rail (30, 15, 15X, 75 ...): drawn across the top of the schematic", func(l *Link) *Name { return &l.Rail }),
	nameField("title", "what it is called", func(l *Link) *Name { return &l.Title }),
)

func (d *decoder) refs(v *syntax.Value) []PinRef {
	if !d.is(v, syntax.Array, `["P:BUS", "F1:1"]`) {
		return nil
	}
	refs := make([]PinRef, 0, len(v.Items))
	for _, item := range v.Items {
		if r := d.ref(item); r.IsSet() {
			refs = append(refs, r)
		}
	}
	return refs
}

var wireKeys = newSection("wire",
	field[Wire]{key: "from", form: `"F7:2"`, doc: "the terminal where it begins", set: func(d *decoder, w *Wire, v *syntax.Value) { w.From = d.ref(v) }},
	field[Wire]{key: "to", form: `"K1:30"`, doc: "the terminal where it ends", set: func(d *decoder, w *Wire, v *syntax.Value) { w.To = d.ref(v) }},
	field[Wire]{key: "size", form: `"14 AWG" or "2.5 mm2"`, doc: "the conductor", set: setSize},
	field[Wire]{key: "color", form: `"RD" or "OG/BK"`, doc: "IEC 60757 letters, base colour and tracer", set: setColor},
	nameField("net", "the net that it is meant to be", func(w *Wire) *Name { return &w.Net }),
	quantityField("length", "as it will be cut; when left out it follows from the paths", func(w *Wire) *Quantity { return &w.Length }, unit.Length),
	quantityField("slack", "a coil left in it on purpose, beyond the way", func(w *Wire) *Quantity { return &w.Slack }, unit.Length),
	wordField("metal", "of the conductor; copper when left out", func(w *Wire) *Name { return &w.Metal }, "copper", "copper-clad aluminium", "aluminium"),
	field[Wire]{key: "strands", form: "19", doc: "how many strands the conductor has", set: setStrands},
	quantityField("insulation", "temperature class", func(w *Wire) *Quantity { return &w.Insulation }, unit.Temperature),
	nameField("system", "the schematic sheet, where its ends do not say", func(w *Wire) *Name { return &w.SystemName }),
	flagField("supplied", "comes with a kit or is in the vehicle already: drawn and checked, neither cut nor bought", func(w *Wire) *Flag { return &w.Supplied }),
	flagField("sheathed", "runs in a sheath or an enclosure all the way", func(w *Wire) *Flag { return &w.Sheathed }),
	wordField("known-from", "where the length comes from", func(w *Wire) *Name { return &w.KnownFrom }, "sheet", "measured", "guess"),
	nameField("note", "a note for the sheets", func(w *Wire) *Name { return &w.Note }),
)

func setSize(d *decoder, w *Wire, v *syntax.Value) {
	w.SizeSpan = v.Span
	w.Size = d.size(v)
}

// size reads a conductor size; what cannot be read is reported and not given.
func (d *decoder) size(v *syntax.Value) unit.Size {
	if !d.is(v, syntax.String, `"14 AWG"`) {
		return unit.Size{}
	}
	size, err := unit.ParseSize(v.Str)
	if err != nil {
		d.diags.Errorf("bad-value", v.Span, "%v", err)
	}
	return size
}

// mostStrands is beyond any vehicle cable: a 120 mm2 cable of 0.1 mm strands has some 15,000 (IEC 60228 class 6).
const mostStrands = 20000

func setStrands(d *decoder, w *Wire, v *syntax.Value) {
	if !d.is(v, syntax.Integer, "19") {
		return
	}
	if v.Int < 1 || v.Int > mostStrands {
		d.diags.Errorf("out-of-range", v.Span, "a conductor has 1 to %d strands, not %d", mostStrands, v.Int)
		return
	}
	w.Strands = int(v.Int)
}

// setColor keeps letters that are no colour as they are: saying so is the matter of a rule, which can be set.
func setColor(d *decoder, w *Wire, v *syntax.Value) {
	w.ColorText = d.text(v, `"RD/BK"`)
	w.Color, _ = unit.ParseColor(w.ColorText.Text)
}

var cableKeys = newSection("cable",
	wordField("kind", "how its wires belong together", func(c *Cable) *Name { return &c.Kind }, "twisted pair", "screened pair", "screened cable", "cable"),
	namesField("wires", `["34a", "35a"]`, "its cores", func(c *Cable) *[]Name { return &c.WireNames }),
	field[Cable]{key: "screen", form: `"SP7:1" or a list`, doc: "the terminals where the screen or its drain wire is tied", set: func(d *decoder, c *Cable, v *syntax.Value) {
		if v.Kind == syntax.String {
			c.Screen = []PinRef{d.ref(v)}
			return
		}
		c.Screen = d.refs(v)
	}},
	nameField("title", "what the cable is for", func(c *Cable) *Name { return &c.Title }),
)

var stateKeys = newSection("state",
	nameField("title", "the state in plain words", func(s *State) *Name { return &s.Title }),
	field[State]{key: "switches", form: `{ S1 = "run" }`, doc: "positions of switches; a switch that is not named rests", set: func(d *decoder, s *State, v *syntax.Value) {
		d.table(v, `{ S1 = "run" }`, func(e *syntax.Entry) {
			s.Switches = append(s.Switches, Setting{PartName: Name{e.Key, e.KeySpan}, PositionName: d.text(e.Value, `"run"`), Position: -1})
		})
	}},
	field[State]{key: "driven", form: `["XA:7"]`, doc: "module outputs that are on", set: func(d *decoder, s *State, v *syntax.Value) { s.Driven = d.refs(v) }},
	field[State]{key: "pulled", form: `["XA:7"]`, doc: "half bridges that join to ground; in `driven` they join to supply", set: func(d *decoder, s *State, v *syntax.Value) { s.Pulled = d.refs(v) }},
	flagField("charging", "the alternator delivers", func(s *State) *Flag { return &s.Charging }),
	wordField("engine", "what the engine does; off when left out", func(s *State) *Name { return &s.Engine }, "off", "cranking", "running"),
)

var acceptKeys = newSection("accept",
	nameField("rule", "the rule whose finding is accepted", func(a *Accept) *Name { return &a.Rule }),
	nameField("at", "a designator or terminal that the finding is about", func(a *Accept) *Name { return &a.At }),
	nameField("because", "why it is right as it is", func(a *Accept) *Name { return &a.Because }),
	nameField("until", "the revision from which it is no longer accepted", func(a *Accept) *Name { return &a.Until }),
)
