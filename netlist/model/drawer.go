package model

import (
	"strings"

	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
	"ferrule/netlist/unit"
)

// A DrawerEntry says what of one item of the buy list is in hand: so many pieces, or so many metres.
type DrawerEntry struct {
	Item   Name // the text of the item, as the buy list prints it
	Length bool // Amount is in metres; else it counts pieces
	Amount float64
	Span   source.Span // of the amount
}

// PlainItem writes the text of an item the way in which two are compared: case, the number of spaces and "mm²" for "mm2" do not
// count.
func PlainItem(text string) string {
	return strings.ToLower(strings.Join(strings.Fields(strings.ReplaceAll(text, "²", "2")), " "))
}

// mostInDrawer is beyond any workshop: pieces of one item, or metres of one wire. It catches slips of the pen.
const mostInDrawer = 100_000

// drawer reads `[drawer]`: the text of an item and how much of it is in hand.
func (a *assembler) drawer(e *syntax.Entry) {
	a.table(e.Value, `"fuse blade 15 A" = 4`, func(item *syntax.Entry) {
		if !a.fresh("drawer", PlainItem(item.Key), item.KeySpan, "drawer entry "+item.Key) {
			return
		}
		entry := &DrawerEntry{Item: Name{item.Key, item.KeySpan}, Span: item.Value.Span}
		if a.amount(entry, item.Value) {
			a.net.Drawer = append(a.net.Drawer, entry)
		}
	})
}

// amount reads 4 or "6 m".
func (a *assembler) amount(entry *DrawerEntry, v *syntax.Value) bool {
	const form = `a count, 4, or a length, "6 m"`
	switch v.Kind {
	case syntax.Integer:
		entry.Amount = float64(v.Int)
	case syntax.String:
		length, _, err := unit.Parse(v.Str, unit.Length)
		if err != nil {
			a.diags.Errorf("bad-value", v.Span, "%v", err).Help = "write " + form
			return false
		}
		entry.Amount, entry.Length = length, true
	default:
		a.diags.Errorf("wrong-type", v.Span, "this is %s; here stands what is in hand", kindWords(v.Kind)).Help = "write " + form
		return false
	}
	if entry.Amount < 0 || entry.Amount > mostInDrawer {
		a.diags.Errorf("out-of-range", v.Span, "a drawer holds 0 to %d of an item", mostInDrawer).Help = "write " + form
		return false
	}
	return true
}

// A Count is a whole number with its place. It is given when its span is not zero.
type Count struct {
	Number int
	Span   source.Span
}

// IsSet reports whether the number was given.
func (c Count) IsSet() bool { return !c.Span.IsZero() }

// A Reserve is how much more is bought than the harness takes, where the netlist says so.
type Reserve struct {
	Wire, Terminals, SmallSealed Quantity
	Fuses, Relays                Count
}

var reserveKeys = newSection("reserve",
	quantityField("wire", "of wire, cable and what covers them; 15 % when left out", func(r *Reserve) *Quantity { return &r.Wire }, unit.Share),
	quantityField("terminals", "of what is crimped on, with its seals, plugs and sleeves; 15 % when left out", func(r *Reserve) *Quantity { return &r.Terminals }, unit.Share),
	quantityField("small-sealed-terminals", "of sealed terminals for wire of 1.5 mm2 and less, and of their seals; 25 % when left out", func(r *Reserve) *Quantity { return &r.SmallSealed }, unit.Share),
	countField("fuses", "spare fuses of every rating in use; 2 when left out", func(r *Reserve) *Count { return &r.Fuses }),
	countField("relays", "spare relays of every type in use; 1 when left out", func(r *Reserve) *Count { return &r.Relays }),
)

// mostSpares is beyond what anybody carries along.
const mostSpares = 1000

func countField[T any](key, doc string, at func(*T) *Count) field[T] {
	return field[T]{key: key, form: "a count, 2", doc: doc, set: func(d *decoder, t *T, v *syntax.Value) {
		if v.Kind != syntax.Integer {
			d.diags.Errorf("wrong-type", v.Span, "this is %s; here stands a whole number", kindWords(v.Kind)).Help = "write it without quotes and without decimals: 2"
			return
		}
		if v.Int < 0 || v.Int > mostSpares {
			d.diags.Errorf("out-of-range", v.Span, "this count lies between 0 and %d, not at %d", mostSpares, v.Int).Help = "look for a slip of the pen"
			return
		}
		*at(t) = Count{int(v.Int), v.Span}
	}}
}
