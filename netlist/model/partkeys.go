package model

import (
	"ferrule/netlist/syntax"
	"ferrule/netlist/unit"
)

// writtenInside is the inside of a part as the file writes it, before its terminals are known. A nil list means that
// the kind's own stands; an empty one replaces it by nothing.
type writtenInside struct {
	joins, protects, open, closed, coils, diodes []Name
	resistors                                    []writtenElement
	loads                                        []writtenElement
	sources                                      []writtenElement
	positions                                    []writtenPosition
	rest                                         Name

	// Which of the lists were written at all.
	given map[string]bool
}

// writtenElement is one entry of resistors, loads or sources.
type writtenElement struct {
	between           Name
	ohms              Quantity
	limit             Quantity
	volts, efficiency Quantity
	from              Name
	load              LoadSpec
	title             Name

	function, side Name
	worksOff       Flag
	neededIn       []Name
}

// writtenPosition is one position of a switch.
type writtenPosition struct {
	name  Name
	joins []Name
}

func (w *writtenInside) mark(key string) {
	if w.given == nil {
		w.given = map[string]bool{}
	}
	w.given[key] = true
}

// Functions lists what a part or a load can be there for, where a rule must know.
var Functions = []string{
	"low beam", "high beam", "tail", "stop", "turn", "hazard", "reverse", "park", "instrument light", "horn", "wiper",
	"controller", "fuel pump", "injection", "ignition", "cooling fan", "starter", "charge lamp", "outlet", "bilge pump", "navigation light",
	"key", "isolator", "inertia switch", "start interlock", "main relay",
	"airbag", "anti-lock brakes", "steering lock", "high voltage",
}

var partKeys = newSection("part",
	nameField("kind", "what it is: one of the kinds listed below", func(p *Part) *Name { return &p.KindName }),
	nameField("stock", "a named definition that brings the kind and values: built in, or the project's own `[stock.NAME]`", func(p *Part) *Name { return &p.StockName }),
	nameField("title", "the device in plain words", func(p *Part) *Name { return &p.Title }),
	nameField("system", "the schematic sheet that it belongs on", func(p *Part) *Name { return &p.SystemName }),
	nameField("at", "the place where it is", func(p *Part) *Name { return &p.PlaceName }),
	nameField("in", "the panel that it sits in", func(p *Part) *Name { return &p.PanelName }),
	outlineField("size", `"28 x 28 mm"`, "the space that it takes in its panel, width x height; that of its kind when left out", func(p *Part) *Outline { return &p.Size }),
	nameField("case", "the body that its case is bolted to: the case is then a terminal", func(p *Part) *Name { return &p.BodyRef }),
	flagField("spare", "kept for later: nothing need be wired to it", func(p *Part) *Flag { return &p.Spare }),
	flagField("supplied", "comes with a kit or is in the vehicle already", func(p *Part) *Flag { return &p.Supplied }),
	wordField("known-from", "where its numbers come from", func(p *Part) *Name { return &p.KnownFrom }, "sheet", "measured", "guess"),
	nameField("note", "a note for the sheets", func(p *Part) *Name { return &p.Note }),
	wordField("function", "what it does in the vehicle, where that decides what must be so", func(p *Part) *Name { return &p.Function }, Functions...),
	wordField("side", "the side of the vehicle that it serves", func(p *Part) *Name { return &p.Side }, "left", "right"),
	flagField("essential", "the vehicle stands still without it", func(p *Part) *Flag { return &p.Essential }),
	flagField("works-off", "it is right that it works with everything off", func(p *Part) *Flag { return &p.WorksOff }),
	namesField("needed-in", `["crank", "run"]`, "the states in which it must be supplied", func(p *Part) *[]Name { return &p.NeededIn }),
	quantityField("works-from", "the least supply voltage that it works at", func(p *Part) *Quantity { return &p.WorksFrom }, unit.Voltage),
	quantityField("after-run", "how long a module keeps itself awake after the key is off", func(p *Part) *Quantity { return &p.AfterRun }, unit.Time),
	flagField("cut-out", "it switches itself off when it gets too hot", func(p *Part) *Flag { return &p.CutOut }),
	flagField("isolated-grounds", "a module whose power grounds are parted from its sensor ground inside", func(p *Part) *Flag { return &p.IsolatedGrounds }),
	flagField("sealed", "closed against water", func(p *Part) *Flag { return &p.Sealed }),
	flagField("stays-plugged", "it cannot be unplugged for the tests of the harness, such as a resistor taped into the loom: the tests then read it too", func(p *Part) *Flag { return &p.StaysPlugged }),
	flagField("ignition-protected", "it lights no vapour around it", func(p *Part) *Flag { return &p.IgnitionProtected }),
	nameField("terminal", "the terminal that is crimped on for its own terminals", func(p *Part) *Name { return &p.TerminalName }),
	field[Part]{key: "pins", form: `["56a", "56b", "31"]`, doc: "its terminals, in place of those that the kind brings", set: func(d *decoder, p *Part, v *syntax.Value) {
		p.pinNames, p.pinsGiven = d.texts(v, `["56a", "56b", "31"]`), true
	}},
	field[Part]{key: "pin", form: "a table of terminals", doc: "more about single terminals", set: func(d *decoder, p *Part, v *syntax.Value) { p.pinTable = d.pinTable(v) }},
	insideField("joins", `["1-2-3"]`, "terminals that are one piece of metal inside", func(w *writtenInside) *[]Name { return &w.joins }),
	insideField("open", `["30-87"]`, "contacts that join when the coil pulls or the button is pressed", func(w *writtenInside) *[]Name { return &w.open }),
	insideField("closed", `["30-87a"]`, "contacts that are joined at rest and then part", func(w *writtenInside) *[]Name { return &w.closed }),
	field[Part]{key: "coil", form: `"86-85"`, doc: "the winding that works the contacts", set: func(d *decoder, p *Part, v *syntax.Value) {
		p.written.coils = []Name{d.text(v, `"86-85"`)}
		p.written.mark("coil")
	}},
	insideField("diodes", `["1>7"]`, "diodes inside, anode first", func(w *writtenInside) *[]Name { return &w.diodes }),
	insideField("protects", `["1-2"]`, "fuses inside", func(w *writtenInside) *[]Name { return &w.protects }),
	elementField("resistors", `[{ between = "15-16", value = "120 ohm" }]`, "fixed resistors inside", resistorKeys, func(w *writtenInside) *[]writtenElement { return &w.resistors }),
	elementField("loads", `[{ between = "56b-31", load = "55 W", title = "Low beam" }]`, "what uses current inside, one entry each", loadKeys, func(w *writtenInside) *[]writtenElement { return &w.loads }),
	elementField("sources", `[{ between = "B+-case", limit = "100 A" }]`, "what delivers current: plus first", sourceKeys, func(w *writtenInside) *[]writtenElement { return &w.sources }),
	field[Part]{key: "positions", form: `{ off = [], run = ["30-75-15"] }`, doc: "the positions of a switch and what each joins", set: setPositions},
	field[Part]{key: "rest", form: `"off"`, doc: "the position in which it is drawn and rests; the first when left out", set: func(d *decoder, p *Part, v *syntax.Value) { p.written.rest = d.text(v, `"off"`) }},

	valueField("rating", "what it is made for", unit.Current),
	wordValueField("family", "the standard form: \"blade\", \"mini blade\", \"bolt-in\" ..."),
	valueField("capacity", "of a battery, 20 hour rate", unit.Charge),
	valueField("resistance", "at 20 C; of a battery, inside; of a fuse or breaker, with what holds it", unit.Resistance),
	valueField("contact-resistance", "of one closed contact, with its base; of a ground point, starter or generator, of the joint with its metal", unit.Resistance),
	valueField("output", "the most that a generator delivers", unit.Current),
	valueField("idle-output", "what it delivers at idle, hot", unit.Current),
	valueField("regulated", "the voltage that it holds", unit.Voltage),
	field[Part]{key: "load", form: `"55 W", "6 A", "12 ohm" or { run = "6 A", inrush = "14 A", inrush-time = "0.2 s", stall = "25 A", duty = "50 %" }`, doc: "what it uses", byKind: true,
		set: func(d *decoder, p *Part, v *syntax.Value) { p.set(Value{Key: "load", Load: d.load(v)}) }},
	valueField("crank", "what a starter takes while it turns the engine", unit.Current),
	valueField("coil-resistance", "of a relay, at 20 C", unit.Resistance),
	valueField("pull-in", "of a relay: the voltage at which it is sure to pull in, coil at 23 C", unit.Voltage),
	valueField("drop-out", "of a relay: the voltage below which it lets go", unit.Voltage),
	wordValueField("suppression", "what catches the kick of the coil", "none", "diode", "resistor"),
	wordValueField("plus", "the coil terminal that must be plus"),
	wordValueField("cylinder", "which cylinder it serves"),
	field[Part]{key: "body", form: `"engine"`, doc: "the metal that a ground point is bolted to", byKind: true, set: func(d *decoder, p *Part, v *syntax.Value) {
		p.GroundBody = d.text(v, `"engine"`)
		p.set(Value{Key: "body", Word: p.GroundBody})
	}},
	wordValueField("thread", "of a stud: \"M8\""),
	valueField("capacitance", "of a capacitor", unit.Capacitance),
	wordValueField("reset", "how a breaker comes back", "manual", "automatic"),
	wordValueField("budget", "which drop budget holds for it, where its kind and title do not say", "controller", "valve", "ignition", "pump", "headlamp", "fan", "blower", "lamp", "accessory", "starter"),
	valueField("generates", "the voltage that a motor gives back while it turns without supply", unit.Voltage),
)

// set replaces or adds a value; the list is copied first because a part starts from the list of its stock definition.
func (p *Part) set(value Value) {
	for i := range p.Values {
		if p.Values[i].Key == value.Key {
			p.Values = append([]Value(nil), p.Values...)
			p.Values[i] = value
			return
		}
	}
	p.Values = append(p.Values[:len(p.Values):len(p.Values)], value)
}

func valueField(key, doc string, want unit.Dimension) field[Part] {
	return field[Part]{key: key, form: want.String() + ", " + want.Example(), doc: doc, byKind: true, set: func(d *decoder, p *Part, v *syntax.Value) {
		p.set(Value{Key: key, Quantity: d.quantity(v, want)})
	}}
}

func wordValueField(key, doc string, allowed ...string) field[Part] {
	form := "text"
	if len(allowed) > 0 {
		form = quoted(allowed)
	}
	return field[Part]{key: key, form: form, doc: doc, byKind: true, set: func(d *decoder, p *Part, v *syntax.Value) {
		if len(allowed) > 0 {
			p.set(Value{Key: key, Word: d.word(v, allowed...)})
			return
		}
		p.set(Value{Key: key, Word: d.text(v, `"words"`)})
	}}
}

func insideField(key, form, doc string, at func(*writtenInside) *[]Name) field[Part] {
	return field[Part]{key: key, form: form, doc: doc, set: func(d *decoder, p *Part, v *syntax.Value) {
		*at(&p.written) = d.texts(v, form)
		p.written.mark(key)
	}}
}

func elementField(key, form, doc string, keys *section[writtenElement], at func(*writtenInside) *[]writtenElement) field[Part] {
	return field[Part]{key: key, form: form, doc: doc, set: func(d *decoder, p *Part, v *syntax.Value) {
		p.written.mark(key)
		*at(&p.written) = nil
		if !d.is(v, syntax.Array, form) {
			return
		}
		for _, item := range v.Items {
			if d.is(item, syntax.TableValue, form) {
				var e writtenElement
				keys.into(d, item.Table, &e)
				if !e.between.IsSet() {
					d.diags.Errorf("missing-key", item.Span, "this entry does not say between which terminals it is").Help = `add between = "1-2"`
					continue
				}
				*at(&p.written) = append(*at(&p.written), e)
			}
		}
	}}
}

var (
	betweenField = nameField("between", "two terminals", func(e *writtenElement) *Name { return &e.between })
	resistorKeys = newSection("resistor", betweenField,
		quantityField("value", "the resistance", func(e *writtenElement) *Quantity { return &e.ohms }, unit.Resistance))
	loadKeys = newSection("load", betweenField,
		field[writtenElement]{key: "load", form: `"55 W"`, doc: "what it uses", set: func(d *decoder, e *writtenElement, v *syntax.Value) { e.load = d.load(v) }},
		nameField("title", "the load in plain words", func(e *writtenElement) *Name { return &e.title }),
		wordField("function", "what it does in the vehicle, as of a part", func(e *writtenElement) *Name { return &e.function }, Functions...),
		wordField("side", "the side of the vehicle that it serves", func(e *writtenElement) *Name { return &e.side }, "left", "right"),
		flagField("works-off", "it is right that it works with everything off", func(e *writtenElement) *Flag { return &e.worksOff }),
		namesField("needed-in", `["crank", "run"]`, "the states in which it must be supplied, where the part has others that need not be", func(e *writtenElement) *[]Name { return &e.neededIn }))
	sourceKeys = newSection("source", betweenField,
		quantityField("limit", "the most that it delivers", func(e *writtenElement) *Quantity { return &e.limit }, unit.Current),
		quantityField("volts", "the voltage that it holds; what it feeds is a system of its own: 12 V for anything from 10.8 to 15 V", func(e *writtenElement) *Quantity { return &e.volts }, unit.Voltage),
		quantityField("resistance", "inside it", func(e *writtenElement) *Quantity { return &e.ohms }, unit.Resistance),
		nameField("from", "of a converter: the terminals that it is fed at, plus first. It delivers while these are live, whatever the state says of charging", func(e *writtenElement) *Name { return &e.from }),
		quantityField("efficiency", "of a converter: the share of the power taken that it gives", func(e *writtenElement) *Quantity { return &e.efficiency }, unit.Share))
)

var loadSpecKeys = newSection("load",
	quantityField("run", "while it works: a power, a current or a resistance", func(l *LoadSpec) *Quantity { return &l.Run }, unit.Current, unit.Power, unit.Resistance),
	quantityField("inrush", "the peak when it starts", func(l *LoadSpec) *Quantity { return &l.Inrush }, unit.Current),
	quantityField("inrush-time", "how long that lasts", func(l *LoadSpec) *Quantity { return &l.InrushTime }, unit.Time),
	quantityField("stall", "when it is blocked", func(l *LoadSpec) *Quantity { return &l.Stall }, unit.Current),
	quantityField("duty", "the share of the time that it is on", func(l *LoadSpec) *Quantity { return &l.Duty }, unit.Share),
	quantityField("on-time", "how long it is on at a time: what is long against the minute or so that a wire takes to get warm warms it as if it were always on", func(l *LoadSpec) *Quantity { return &l.OnTime }, unit.Time),
)

// load reads "55 W", "6 A", "12 ohm" or a table with run, inrush and the rest.
func (d *decoder) load(v *syntax.Value) LoadSpec {
	spec := LoadSpec{Span: v.Span}
	if v.Kind == syntax.TableValue {
		loadSpecKeys.into(d, v.Table, &spec)
		return spec
	}
	spec.Run = d.quantity(v, unit.Power, unit.Current, unit.Resistance)
	return spec
}

func setPositions(d *decoder, p *Part, v *syntax.Value) {
	p.written.mark("positions")
	p.written.positions = nil
	d.table(v, `{ off = [], run = ["30-15"] }`, func(e *syntax.Entry) {
		p.written.positions = append(p.written.positions, writtenPosition{
			name: Name{e.Key, e.KeySpan}, joins: d.texts(e.Value, `["30-15"]`),
		})
	})
}
