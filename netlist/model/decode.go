package model

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
	"ferrule/netlist/unit"
)

// A field is one key of a section: how it is written, what it means, and where its value goes. The tables of fields in
// keys.go decode the file and make the language reference, so the two cannot disagree.
type field[T any] struct {
	key    string
	form   string // how the value is written, for the reference
	doc    string
	byKind bool // the key makes sense for some kinds of parts only
	set    func(d *decoder, t *T, v *syntax.Value)
}

// A section is the table of keys of one kind of object.
type section[T any] struct {
	name   string // what messages call the object: "wire", "part"
	fields []field[T]
	index  map[string]int
}

func newSection[T any](name string, fields ...field[T]) *section[T] {
	s := &section[T]{name: name, fields: fields, index: make(map[string]int, len(fields))}
	for i := range fields {
		s.index[fields[i].key] = i
	}
	return s
}

func (s *section[T]) keys() []string {
	names := make([]string, len(s.fields))
	for i := range s.fields {
		names[i] = s.fields[i].key
	}
	return names
}

// decoder carries the diagnostics of one netlist.
type decoder struct {
	net   *Netlist
	diags diag.List

	suggestions int // how many nearest names were looked for
}

// maxSuggestions keeps a large file full of mistakes from being compared name by name; a person reads the first few.
const maxSuggestions = 100

func (d *decoder) maySuggest() bool {
	d.suggestions++
	return d.suggestions <= maxSuggestions
}

// into decodes the entries of a table into t; unknown keys are reported with the one that was probably meant.
func (s *section[T]) into(d *decoder, table *syntax.Table, t *T) {
	for _, e := range table.Entries {
		if i, known := s.index[e.Key]; known {
			s.fields[i].set(d, t, e.Value)
		} else {
			d.unknownKey(table, e, s.name, s.keys())
		}
	}
}

func (d *decoder) unknownKey(table *syntax.Table, e *syntax.Entry, of string, known []string) {
	diagnostic := d.diags.Errorf("unknown-key", e.KeySpan, "%s has no key %q", withArticle(of), e.Key)
	diagnostic.Help = meant(e.Key, known)
	if diagnostic.Help == "" {
		diagnostic.Help = "the keys are: " + strings.Join(known, ", ")
	}
	if key, only := slip(e.Key, known); only && writtenOnce(e) && table.Get(key) == nil {
		diagnostic.Fixes = []diag.Fix{{Title: "write " + key, Safe: true, Edits: []source.Edit{{Span: e.KeySpan, New: key}}}}
	}
}

// writtenOnce reports whether an entry has its key in one place: not that of a table which several headers or dotted keys open.
func writtenOnce(e *syntax.Entry) bool {
	return e.Value.Kind != syntax.TableValue || strings.HasPrefix(e.Value.Table.Span.Text(), "{")
}

// slip returns the one known word from which a word is a single slip away. Of two letters any other word is.
func slip(word string, known []string) (meant string, only bool) {
	if len([]rune(word)) < 3 {
		return "", false
	}
	for _, k := range known {
		if !oneSlip([]rune(word), []rune(k)) {
			continue
		}
		if meant != "" {
			return "", false
		}
		meant = k
	}
	return meant, meant != ""
}

// oneSlip reports whether two words differ by one letter more or less, one other letter, or two neighbours exchanged.
func oneSlip(a, b []rune) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	i, j := 0, 0 // letters alike at the begin and at the end
	for i < len(a) && a[i] == b[i] {
		i++
	}
	for j < len(a)-i && a[len(a)-1-j] == b[len(b)-1-j] {
		j++
	}
	switch len(b) - len(a) {
	case 1:
		return i+j == len(a)
	case 0:
		swapped := i+j == len(a)-2 && a[i] == b[i+1] && a[i+1] == b[i]
		return i+j == len(a)-1 || swapped
	}
	return false
}

// meant is the help text that offers the nearest known name, or empty.
func meant(word string, known []string) string {
	if near, ok := diag.Nearest(word, known); ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return ""
}

func withArticle(noun string) string {
	if strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}

// is checks the kind of a value and reports a wrong one.
func (d *decoder) is(v *syntax.Value, want syntax.Kind, example string) bool {
	if v.Kind == want {
		return true
	}
	diagnostic := d.diags.Errorf("wrong-type", v.Span, "this is %s; here stands %s, such as %s", kindWords(v.Kind), kindWords(want), example)
	if want == syntax.String && len(v.Items) == 0 && v.Table == nil {
		diagnostic.Help = fmt.Sprintf("put it in quotes: %q", v.Span.Text())
	}
	return false
}

// isQuantity is is for quantities: a bare number lacks its unit too.
func (d *decoder) isQuantity(v *syntax.Value, example string) bool {
	if v.Kind == syntax.Integer || v.Kind == syntax.Float {
		d.diags.Errorf("wrong-type", v.Span, "this number has no unit; here stands a quantity, such as %s", example).Help = "add the unit and put both in quotes"
		return false
	}
	return d.is(v, syntax.String, example)
}

func kindWords(k syntax.Kind) string {
	switch k {
	case syntax.String:
		return "a text in quotes"
	case syntax.Integer, syntax.Float:
		return "a bare number"
	case syntax.Bool:
		return "true or false"
	case syntax.Array:
		return "a list in [ ]"
	case syntax.TableValue:
		return "a table"
	}
	return "a date"
}

func (d *decoder) text(v *syntax.Value, example string) Name {
	if !d.is(v, syntax.String, example) {
		return Name{}
	}
	if v.Str == "" {
		d.diags.Errorf("bad-value", v.Span, "this text is empty").Help = "write for example " + example + ", or leave the key out"
	}
	return Name{Text: v.Str, Span: v.Span}
}

// word reads one of a fixed set of words.
func (d *decoder) word(v *syntax.Value, allowed ...string) Name {
	n := d.text(v, fmt.Sprintf("%q", allowed[0]))
	if n.IsSet() && !slices.Contains(allowed, n.Text) {
		diagnostic := d.diags.Errorf("bad-value", v.Span, "%q is not one of %s", n.Text, quoted(allowed))
		diagnostic.Help = meant(n.Text, allowed)
		if near, ok := diag.Nearest(n.Text, allowed); ok {
			diagnostic.Fixes = []diag.Fix{{Title: "write " + near, Edits: []source.Edit{{Span: v.Span, New: strconv.Quote(near)}}}}
		}
		return Name{}
	}
	return n
}

func quoted(words []string) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = fmt.Sprintf("%q", w)
	}
	return strings.Join(out, ", ")
}

func (d *decoder) flag(v *syntax.Value) Flag {
	if !d.is(v, syntax.Bool, "true") {
		return Flag{}
	}
	return Flag{On: v.Bool, Span: v.Span}
}

// A limit is the range that a quantity can sensibly have.
type limit struct{ low, high float64 }

// limits holds, for each dimension, what no vehicle harness goes beyond. They catch slips of the pen ("1400 m"), not bad
// design; common practice, generous on purpose.
var limits = map[unit.Dimension]limit{
	unit.Voltage:     {0, 1000},
	unit.Current:     {0, 5000},
	unit.Resistance:  {0, 1e9},
	unit.Power:       {0, 100e3},
	unit.Length:      {0.001, 100},
	unit.Time:        {0, 24 * 3600},
	unit.Temperature: {-60, 400},
	unit.Charge:      {0, 5000},
	unit.Capacitance: {0, 100},
	unit.Share:       {0, 1},
}

func (d *decoder) quantity(v *syntax.Value, want ...unit.Dimension) Quantity {
	if !d.isQuantity(v, want[0].Example()) {
		return Quantity{}
	}
	value, dim, err := unit.Parse(v.Str, want...)
	if err != nil {
		d.diags.Errorf("bad-value", v.Span, "%v", err)
		return Quantity{}
	}
	if l := limits[dim]; value < l.low || value > l.high {
		d.diags.Errorf("out-of-range", v.Span, "%q is out of range: %s in a vehicle lies between %s and %s",
			v.Str, dim, dim.InUnit(l.low), dim.InUnit(l.high)).Help = "look for a slip of the pen or the wrong unit"
		return Quantity{}
	}
	return Quantity{Value: value, Dim: dim, Span: v.Span}
}

func (d *decoder) texts(v *syntax.Value, example string) []Name {
	if !d.is(v, syntax.Array, example) {
		return nil
	}
	names := make([]Name, 0, len(v.Items))
	for _, item := range v.Items {
		if n := d.text(item, `"NAME"`); n.IsSet() {
			names = append(names, n)
		}
	}
	return names
}

func (d *decoder) ref(v *syntax.Value) PinRef {
	n := d.text(v, `"F1:2"`)
	return PinRef{Text: n.Text, Span: n.Span, ID: NoPin}
}

// table reads a table value and hands its entries to f.
func (d *decoder) table(v *syntax.Value, example string, f func(e *syntax.Entry)) {
	if !d.is(v, syntax.TableValue, example) {
		return
	}
	for _, e := range v.Table.Entries {
		f(e)
	}
}

// within returns the span of the bytes [from, to) of a text value; when the text is written with escapes, so that bytes
// and text differ, it is the whole value.
func (n Name) within(from, to int) source.Span {
	raw := n.Span.Text()
	if len(raw) == len(n.Text)+2 && raw[1:len(raw)-1] == n.Text {
		return n.Span.File.Span(int(n.Span.Start)+1+from, int(n.Span.Start)+1+to)
	}
	return n.Span
}

// The makers below build the fields of keys.go.

func nameField[T any](key, doc string, at func(*T) *Name) field[T] {
	return field[T]{key: key, form: "text", doc: doc, set: func(d *decoder, t *T, v *syntax.Value) { *at(t) = d.text(v, `"words"`) }}
}

func wordField[T any](key, doc string, at func(*T) *Name, allowed ...string) field[T] {
	return field[T]{key: key, form: quoted(allowed), doc: doc, set: func(d *decoder, t *T, v *syntax.Value) { *at(t) = d.word(v, allowed...) }}
}

func flagField[T any](key, doc string, at func(*T) *Flag) field[T] {
	return field[T]{key: key, form: "true or false", doc: doc, set: func(d *decoder, t *T, v *syntax.Value) { *at(t) = d.flag(v) }}
}

func quantityField[T any](key, doc string, at func(*T) *Quantity, want ...unit.Dimension) field[T] {
	return field[T]{key: key, form: want[0].String() + ", " + want[0].Example(), doc: doc,
		set: func(d *decoder, t *T, v *syntax.Value) { *at(t) = d.quantity(v, want...) }}
}

func namesField[T any](key, form, doc string, at func(*T) *[]Name) field[T] {
	return field[T]{key: key, form: form, doc: doc, set: func(d *decoder, t *T, v *syntax.Value) { *at(t) = d.texts(v, form) }}
}

func outlineField[T any](key, form, doc string, at func(*T) *Outline) field[T] {
	return field[T]{key: key, form: "a size, " + form, doc: doc, set: func(d *decoder, t *T, v *syntax.Value) { *at(t) = d.outline(v, form) }}
}

// outline reads a width and a height.
func (d *decoder) outline(v *syntax.Value, example string) Outline {
	if !d.isQuantity(v, example) {
		return Outline{}
	}
	o, err := unit.ParseOutline(v.Str)
	if err != nil {
		d.diags.Errorf("bad-value", v.Span, "%v", err)
		return Outline{}
	}
	return Outline{Outline: o, Span: v.Span}
}
