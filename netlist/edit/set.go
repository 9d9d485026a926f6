package edit

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
)

// A Document is a set of files in which keys can be found and set.
type Document struct {
	files []*source.File
	roots []*syntax.Table
}

// Read reads the files of a netlist. Mistakes in them are left to whoever reads them for their meaning; what cannot be read
// cannot be found.
func Read(files []*source.File) *Document {
	d := &Document{files: files}
	for _, f := range files {
		root, _ := syntax.Parse(f)
		d.roots = append(d.roots, root)
	}
	return d
}

// find returns the entry of `[section] name` and its section, in the first file that has it.
func (d *Document) find(section, name string) (in *syntax.Table, entry *syntax.Entry) {
	for _, root := range d.roots {
		e := root.Get(section)
		if e == nil || e.Value.Kind != syntax.TableValue {
			continue
		}
		if found := e.Value.Table.Get(name); found != nil && found.Value.Kind == syntax.TableValue {
			return e.Value.Table, found
		}
	}
	return nil, nil
}

// Set returns the edit that gives a key of `[section] name` a text as its value: Set("wire", "W7", "size", "14 AWG", "to").
// Where the key is missing it is put after the first of the keys in after that is there, else after the last key, in the
// style of its neighbours. Only one-line tables, tables under a header and dotted keys of plain values can take a new key;
// the error says when that is not so, and when there is no such table.
func (d *Document) Set(section, name, key, value string, after ...string) (Edit, error) {
	in, entry := d.find(section, name)
	if entry == nil {
		return Edit{}, fmt.Errorf("[%s] has no %s", section, name)
	}
	table := entry.Value.Table
	if old := table.Get(key); old != nil {
		return Edit{Span: old.Value.Span, New: quote(old.Value.Span.Text(), value)}, nil
	}
	at := place(table, after)
	if at < 0 {
		return Edit{}, fmt.Errorf("%s has no line of its own after which %s could stand", name, key)
	}
	if strings.HasPrefix(table.Span.Text(), "{") {
		return inBraces(in, table, at, key, value), nil
	}
	return onLine(table.Entries[at], key, value), nil
}

// A Pair is a key and the text that it is to have.
type Pair struct{ Key, Value string }

// SetAll is Set for several keys of one table, in the order in which they are to stand: a key that is missing is put after the
// nearest one before it that is there. The edits do not overlap.
func (d *Document) SetAll(section, name string, pairs ...Pair) ([]Edit, error) {
	var edits []Edit
	var after []string // the keys before, the nearest first
	for _, p := range pairs {
		e, err := d.Set(section, name, p.Key, p.Value, after...)
		if err != nil {
			return nil, err
		}
		after = append([]string{p.Key}, after...)
		// What goes in at one place is one insertion, or its order would be a matter of chance.
		if i := slices.IndexFunc(edits, func(o Edit) bool { return o.Span == e.Span && o.Span.Start == o.Span.End }); i >= 0 {
			edits[i].New += e.New
			continue
		}
		edits = append(edits, e)
	}
	return edits, nil
}

// Replace returns the edit that puts a text in the place of the one-line table of `[section] name`, its braces included. What
// stands behind it on the line stays. It is an error when there is no such table or it is written in another form.
func (d *Document) Replace(section, name, table string) (Edit, error) {
	_, entry := d.find(section, name)
	if entry == nil || !strings.HasPrefix(entry.Value.Table.Span.Text(), "{") {
		return Edit{}, fmt.Errorf("[%s] has no %s in braces", section, name)
	}
	return Edit{Span: entry.Value.Span, New: table}, nil
}

// quote writes a text as TOML, in the kind of quotes that stood there before.
func quote(old, value string) string {
	if strings.HasPrefix(old, "'") && !strings.HasPrefix(old, "'''") && !strings.ContainsAny(value, "'\n\r") {
		return "'" + value + "'"
	}
	return strconv.Quote(value)
}

// place is the index of the entry after which a new one belongs; -1 when none has a line or a place of its own.
func place(table *syntax.Table, after []string) int {
	for _, key := range after {
		for i, e := range table.Entries {
			if e.Key == key && written(e) {
				return i
			}
		}
	}
	for i := len(table.Entries) - 1; i >= 0; i-- {
		if written(table.Entries[i]) {
			return i
		}
	}
	return -1
}

// written reports whether an entry stands as `key = value`, and is not a table opened by a header or by dotted keys.
func written(e *syntax.Entry) bool {
	return e.Value.Kind != syntax.TableValue || strings.HasPrefix(e.Value.Table.Span.Text(), "{")
}

// inBraces inserts into a one-line table. Before a next key the new one takes that key's place, and the space that its
// neighbours leave behind theirs, so that columns stay columns.
func inBraces(in, table *syntax.Table, at int, key, value string) Edit {
	pair := key + " = " + strconv.Quote(value)
	previous := table.Entries[at]
	end := valueEnd(previous)
	if at+1 < len(table.Entries) {
		next := table.Entries[at+1]
		start := int(next.KeySpan.Start)
		between := string(previous.Span.File.Text[end:start])
		if !strings.Contains(between, "\n") {
			text := pair + ","
			pad := max(1, gapLike(in, key, next.Key)-utf8.RuneCountInString(text))
			return Edit{Span: previous.Span.File.Span(start, start), New: text + strings.Repeat(" ", pad)}
		}
	}
	return Edit{Span: previous.Span.File.Span(end, end), New: ", " + pair}
}

// valueEnd is the offset after the value of an entry.
func valueEnd(e *syntax.Entry) int { return int(e.Value.Span.End) }

// gapLike is how many characters lie between the starts of two keys that follow one another in most one-line tables of the
// section: the width of the column. 0 when no table has both.
func gapLike(in *syntax.Table, key, next string) int {
	count := map[int]int{}
	best := 0
	for _, e := range in.Entries {
		if e.Value.Kind != syntax.TableValue || !strings.HasPrefix(e.Value.Table.Span.Text(), "{") {
			continue
		}
		entries := e.Value.Table.Entries
		for i := 1; i < len(entries); i++ {
			if entries[i-1].Key == key && entries[i].Key == next {
				width := entries[i].Span.File.Position(int(entries[i].KeySpan.Start)).Column - entries[i-1].Span.File.Position(int(entries[i-1].KeySpan.Start)).Column
				count[width]++
				if count[width] > count[best] || count[width] == count[best] && width < best {
					best = width
				}
			}
		}
	}
	return best
}

// onLine inserts a line below that of an entry, with the same beginning (indent and dotted prefix) and the same spacing
// around the equals sign.
func onLine(e *syntax.Entry, key, value string) Edit {
	text := e.Span.File.Text
	lineStart := strings.LastIndexByte(string(text[:e.KeySpan.Start]), '\n') + 1
	prefix := string(text[lineStart:e.KeySpan.Start])
	equals := " = "
	if between := string(text[e.KeySpan.End:e.Value.Span.Start]); strings.TrimSpace(between) == "=" {
		left := strings.IndexByte(between, '=')
		// Spaces that align the equals signs of neighbours widen with the shorter key.
		width := utf8.RuneCountInString(e.KeySpan.Text()) + left - utf8.RuneCountInString(key)
		equals = strings.Repeat(" ", max(width, min(left, 1))) + between[left:]
		if left <= 1 {
			equals = between
		}
	}
	line := prefix + key + equals + strconv.Quote(value)
	end := int(e.Value.Span.End)
	for end < len(text) && text[end] != '\n' {
		end++
	}
	if end == len(text) {
		return Edit{Span: e.Span.File.Span(end, end), New: "\n" + line}
	}
	if end > 0 && text[end-1] == '\r' {
		line += "\r"
	}
	return Edit{Span: e.Span.File.Span(end+1, end+1), New: line + "\n"}
}
