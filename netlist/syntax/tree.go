package syntax

import "ferrule/netlist/source"

// Kind says what a value is.
type Kind uint8

// The kinds of values. Dates and times of TOML are read (Datetime) so that they can be refused with their place.
const (
	Invalid Kind = iota
	String
	Integer
	Float
	Bool
	Datetime
	Array
	TableValue
)

var kindNames = [...]string{"invalid", "string", "whole number", "number", "true or false", "date", "list", "table"}

// String names the kind in the words that messages use.
func (k Kind) String() string { return kindNames[min(int(k), len(kindNames)-1)] }

// A Value is one value with the place of its text. For a String the span includes the quotes.
type Value struct {
	Kind  Kind
	Span  source.Span
	Str   string  // String: the text with escapes resolved; Integer, Float, Datetime: as written
	Int   int64   // Integer
	Float float64 // Float
	Bool  bool    // Bool
	Items []*Value
	Table *Table

	open bool // Array: made by [[headers]], so a further header may add an item
}

// An Entry is `key = value`, or a table that a header or a dotted key opened.
type Entry struct {
	Key     string
	KeySpan source.Span // the key alone, as written, quotes included
	Value   *Value
	Span    source.Span // the whole `key = value`; for a table opened by a header, the header
}

// A Table holds its entries in the order of the file. Keys are unique: a second one is reported and dropped.
type Table struct {
	Span    source.Span // the header `[a.b]`, or the inline table with its braces; the root spans the file
	Entries []*Entry

	index  map[string]*Entry // made when the table grows beyond a few entries
	origin origin            // what made the table, which decides what may still be added to it
}

// An origin says what made a table.
type origin uint8

const (
	byRoot    origin = iota
	byPassing        // a header that went through it, as [part.K1] makes part; a header of its own may still come
	byHeader         // a header of its own
	byDotted         // a dotted key, as load.run = "6 A" makes load; only further dotted keys and subtables may add to it
	byBraces         // an inline table, complete where it stands
)

// Get returns the entry of a key, or nil.
func (t *Table) Get(key string) *Entry {
	if t == nil {
		return nil
	}
	if t.index != nil {
		return t.index[key]
	}
	for _, e := range t.Entries {
		if e.Key == key {
			return e
		}
	}
	return nil
}

const indexAbove = 8 // a scan of eight keys is quicker than a map

// add appends an entry whose key the caller has found to be new.
func (t *Table) add(e *Entry) {
	t.Entries = append(t.Entries, e)
	if t.index != nil {
		t.index[e.Key] = e
	} else if len(t.Entries) > indexAbove {
		t.index = make(map[string]*Entry, 2*len(t.Entries))
		for _, e := range t.Entries {
			t.index[e.Key] = e
		}
	}
}
