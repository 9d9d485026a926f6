package syntax

import (
	"fmt"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
)

// What TOML says about a key or a table that is given more than once: https://toml.io/en/v1.0.0, sections "Keys",
// "Table", "Inline Table" and "Array of Tables".

// header opens the table of `[a.b]` or `[[a.b]]`: what follows goes into it.
func (r *reader) header(keys []keyPart, span source.Span, array bool) {
	r.depth, r.merging = len(keys), false
	if len(keys) > maxNesting {
		r.nestingError(keys[maxNesting].start)
		r.section = r.detached(span)
		return
	}
	t := r.root
	for _, k := range keys[:len(keys)-1] {
		if t = r.throughHeader(t, k, span); t == nil {
			r.section = r.detached(span)
			return
		}
	}
	last := keys[len(keys)-1]
	if array {
		r.section = r.openItem(t, last, span)
	} else {
		r.section = r.openTable(t, last, keys, span)
	}
}

// detached makes a table outside the tree, for what stands below a header that was refused: it is still checked, but it
// belongs nowhere.
func (r *reader) detached(span source.Span) *Table {
	t := r.tables.one()
	t.Span, t.origin = span, byHeader
	return t
}

// throughHeader steps from a table into the one that a header names on its way, making it if need be. It returns nil
// after reporting that there is no way through.
func (r *reader) throughHeader(t *Table, k keyPart, span source.Span) *Table {
	e := t.Get(k.name)
	if e == nil {
		return r.openNew(t, k, span, byPassing)
	}
	switch v := e.Value; {
	case v.Kind == TableValue && v.Table.origin != byBraces:
		return v.Table
	case v.Kind == Array && v.open:
		return v.Items[len(v.Items)-1].Table
	}
	r.noWayThrough(k, e)
	return nil
}

// throughDotted steps from a table into the one that a dotted key names on its way. A dotted key may make a table and
// add to one that dotted keys made, but it may not add to a table that has a header or braces of its own.
func (r *reader) throughDotted(t *Table, k keyPart, span source.Span, quiet bool) *Table {
	e := t.Get(k.name)
	if e == nil {
		return r.openNew(t, k, span, byDotted)
	}
	if v := e.Value; v.Kind == TableValue && v.Table.origin == byDotted {
		return v.Table
	}
	if !quiet {
		r.noWayThrough(k, e)
	}
	return nil
}

// openNew adds a new table to t.
func (r *reader) openNew(t *Table, k keyPart, span source.Span, o origin) *Table {
	made := r.tables.one()
	made.Span, made.origin = span, o
	v := r.values.one()
	v.Kind, v.Span, v.Table = TableValue, span, made
	t.add(r.entry(k, span, v))
	return made
}

// openTable opens the table that a header names last.
func (r *reader) openTable(t *Table, k keyPart, keys []keyPart, span source.Span) *Table {
	e := t.Get(k.name)
	if e == nil {
		return r.openNew(t, k, span, byHeader)
	}
	if e.Value.Kind != TableValue || e.Value.Table.origin == byBraces {
		r.repeated(span, bracketed(keys), e, false)
		return r.detached(span)
	}
	made := e.Value.Table
	if made.origin == byPassing {
		// Its own header comes after that of a table within it; from now on this is its place.
		made.origin, made.Span, e.Span, e.Value.Span = byHeader, span, span, span
		e.KeySpan = r.span(k.start, k.end)
		return made
	}
	// The header is reported; what stands below it is taken in where it is new, so that everything that refers to it
	// does not turn into a mistake as well.
	r.repeated(span, bracketed(keys), e, false)
	r.merging = true
	return made
}

// openItem adds an item to the list of tables that a `[[header]]` names last.
func (r *reader) openItem(t *Table, k keyPart, span source.Span) *Table {
	item := r.values.one()
	*item = Value{Kind: TableValue, Span: span, Table: r.detached(span)}
	e := t.Get(k.name)
	switch {
	case e == nil:
		list := r.values.one()
		*list = Value{Kind: Array, Span: span, Items: []*Value{item}, open: true}
		t.add(r.entry(k, span, list))
	case e.Value.Kind == Array && e.Value.open:
		e.Value.Items = append(e.Value.Items, item)
	default:
		message := fmt.Sprintf("%s is already given (%s), so [[%s]] cannot add to it", short(k.name), e.Value.Kind, short(k.name))
		r.report(ruleDuplicate, span, message, "give one of the two another name, or write both in the same form").Related = first(e)
	}
	return item.Table
}

// bracketed writes the name of a header as it stands in the file, without blanks.
func bracketed(keys []keyPart) string {
	names := make([]string, len(keys))
	for i, k := range keys {
		names[i] = k.name
	}
	return "[" + short(strings.Join(names, ".")) + "]"
}

// repeated reports a key or header that is given a second time.
func (r *reader) repeated(span source.Span, name string, e *Entry, quiet bool) {
	if quiet {
		return
	}
	r.report(ruleDuplicate, span, name+" is already given", "give this one another name, or remove one of the two").Related = first(e)
}

// noWayThrough reports a header or dotted key that goes through something that it cannot add to.
func (r *reader) noWayThrough(k keyPart, e *Entry) {
	name := short(k.name)
	why := fmt.Sprintf("%s already has a value (%s), so nothing can stand below it", name, e.Value.Kind)
	help := "choose another name, or write " + name + " as a table"
	if e.Value.Kind == TableValue {
		why = name + " is already given as a table of its own, so nothing can be added to it from here"
		help = "write this value where the table itself is written"
	}
	r.report(ruleDuplicate, r.span(k.start, k.end), why, help).Related = first(e)
}

// first points at the place where an entry was given.
func first(e *Entry) []diag.Related {
	return []diag.Related{{Span: e.KeySpan, Message: "first given here"}}
}
