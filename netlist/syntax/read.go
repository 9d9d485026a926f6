package syntax

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"github.com/pelletier/go-toml/v2/unstable"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
)

// maxMistakes is the number of syntax errors after which the rest of the file is not read: beyond it they are most
// likely the echo of one missing quote or of a file that is not a netlist at all.
const maxMistakes = 20

// A reader turns one text into a tree.
type reader struct {
	file      *source.File
	text      string // a copy of the file's text: keys and strings of the tree are pieces of it
	textStart int    // after a byte order mark

	data   []byte // the text for the parser
	parser unstable.Parser
	base   int // offset in the file at which the parser's data begins
	doneTo int // offset up to which expressions have been read

	root    *Table
	section *Table // where `key = value` goes: the table of the last header
	depth   int    // levels of that header
	tooDeep bool   // too deep a nesting has been reported for this expression
	merging bool   // the section's header is a repeat that has been reported, its keys are not reported again

	diags    diag.List
	mistakes int

	values     slab[Value]
	entries    slab[Entry]
	tables     slab[Table]
	valuePtrs  slab[*Value]
	entryPtrs  slab[*Entry]
	keyScratch []keyPart
}

func newReader(f *source.File, text string) *reader {
	r := &reader{file: f, text: text, data: f.Text, root: &Table{Span: f.Span(0, len(text))}}
	if n := len(text); n > 0 && text[n-1] != '\n' && text[n-1] != '\r' {
		// At the very end of its data the parser blames the last byte, which is innocent; a line end after it takes the
		// blame. It must not turn a stray carriage return into a line end.
		r.data = []byte(text + "\n")
	}
	if strings.HasPrefix(text, utf8BOM) {
		r.textStart = len(utf8BOM)
	}
	r.section = r.root
	return r
}

// readAll reads the whole text, starting anew behind each mistake. Expressions do not depend on each other for the
// parser, so the part that has been read need not be read again.
func (r *reader) readAll() {
	at := r.textStart
	for at >= 0 && at <= len(r.text) {
		at = r.readFrom(at)
		if r.mistakes < maxMistakes {
			continue
		}
		if at >= 0 {
			r.fail(r.span(at, lineEnd(r.text, min(at, len(r.text)))), "there are too many mistakes; from here on the file was not read",
				"correct the ones above and run it again")
		}
		return
	}
}

// readFrom reads expressions from an offset up to a mistake, reports it, and returns where to go on, or -1 at the end.
func (r *reader) readFrom(at int) (next int) {
	r.base, r.doneTo = at, at
	r.parser.Reset(r.data[at:])
	// The parser is a third party's "unstable" interface and the text is anybody's. Should it panic, that must cost the
	// user one line and not the program; this is the last resort and no known input needs it.
	defer func() {
		if p := recover(); p != nil {
			start := r.expressionStart(len(r.text))
			r.mistake(r.span(start, lineEnd(r.text, start)), fmt.Sprintf("this line could not be read (%v)", p), "write it in a simpler way")
			next = r.resume(start)
		}
	}()
	for r.parser.NextExpression() {
		r.expression(r.parser.Expression())
	}
	err := r.parser.Error()
	if err == nil {
		return -1
	}
	place := r.errorOffset(err)
	start := r.expressionStart(place)
	r.explain(start, place, err.Error())
	return r.resume(start)
}

// errorOffset returns where the parser stopped.
func (r *reader) errorOffset(err error) int {
	var place *unstable.ParserError
	if !errors.As(err, &place) || place.Highlight == nil {
		return len(r.text)
	}
	offset, _ := r.place(r.parser.Range(place.Highlight))
	return min(offset, len(r.text))
}

// expressionStart returns the offset of the expression in which the parser stopped: the first thing after what has been
// read, blank lines and comments passed over. A comment that holds the mistake is itself the expression.
func (r *reader) expressionStart(place int) int {
	i := r.doneTo
	for i < len(r.text) {
		switch r.text[i] {
		case ' ', '\t', '\r', '\n':
			if i == place { // a stray carriage return
				return i
			}
			i++
		case '#':
			end := lineEnd(r.text, i)
			if place < end {
				return i
			}
			i = end
		default:
			return i
		}
	}
	return len(r.text)
}

// place turns a range of the parser into offsets of the file.
func (r *reader) place(at unstable.Range) (start, end int) {
	start = r.base + int(at.Offset)
	return start, start + int(at.Length)
}

func (r *reader) span(start, end int) source.Span { return r.file.Span(start, end) }

// fail appends an error of rule "syntax".
func (r *reader) fail(span source.Span, message, help string) {
	r.report(ruleSyntax, span, message, help)
}

// report appends an error. What it quotes from the file may hold anything, but a message is one line of print.
func (r *reader) report(rule string, span source.Span, message, help string) *diag.Diagnostic {
	d := r.diags.Errorf(rule, span, "%s", onOneLine(message))
	d.Help = onOneLine(help)
	return d
}

// onOneLine writes control characters and bytes that are no text as Go escapes.
func onOneLine(s string) string {
	var b strings.Builder
	for _, c := range s {
		if unicode.IsPrint(c) {
			b.WriteRune(c)
		} else {
			b.WriteString(strings.Trim(strconv.QuoteRune(c), "'"))
		}
	}
	return b.String()
}

// mistake appends an error of rule "syntax" that stopped the parser, and counts it.
func (r *reader) mistake(span source.Span, message, help string) {
	r.mistakes++
	r.fail(span, message, help)
}

// nestingError reports nesting beyond maxNesting at an offset, once for an expression.
func (r *reader) nestingError(at int) {
	if r.tooDeep {
		return
	}
	r.tooDeep = true
	r.fail(r.span(at, at+1), fmt.Sprintf("this is nested more than %d levels deep", maxNesting), "a bracket too many, or a file that is not a netlist")
}

// expression hangs one line of the text (or one value that runs over several) into the tree.
func (r *reader) expression(n *unstable.Node) {
	r.tooDeep = false
	switch n.Kind {
	case unstable.KeyValue:
		_, end := r.place(n.Raw)
		r.pair(r.section, n, r.depth, r.merging)
		r.finished(end)
	case unstable.Table, unstable.ArrayTable:
		keys := r.keys(n.Key())
		start, end := r.headerPlace(keys, n.Kind == unstable.ArrayTable)
		r.header(keys, r.span(start, end), n.Kind == unstable.ArrayTable)
		r.finished(end)
	}
}

// finished notes that everything up to the end of the line at offset end has been read.
func (r *reader) finished(end int) { r.doneTo = lineEnd(r.text, end) }

// A keyPart is one part of a dotted key: its text and its place, quotes included.
type keyPart struct {
	name       string
	start, end int
}

// keys collects the parts of a dotted key. The result is valid until the next call at the same level; pair copes with
// that by finishing with the keys before it reads the value.
func (r *reader) keys(it unstable.Iterator) []keyPart {
	keys := r.keyScratch[:0]
	for it.Next() {
		n := it.Node()
		start, end := r.place(n.Raw)
		keys = append(keys, keyPart{name: r.piece(n.Data, start, end), start: start, end: end})
	}
	r.keyScratch = keys
	return keys
}

// piece returns the text of a key or string that stands at [start, end). The parser's bytes may live in a buffer that
// it uses again. Most texts have no escapes and then a piece of the file's text serves, without a new allocation; this
// also makes it needless to keep a table of repeated keys.
func (r *reader) piece(data []byte, start, end int) string {
	for _, skip := range []int{1, 0, 3} { // quoted, bare, in triple quotes
		from := start + skip
		if to := from + len(data); to <= end && r.text[from:to] == string(data) {
			return r.text[from:to]
		}
	}
	return string(data)
}

// headerPlace returns the offsets of a header from its first bracket to behind its last. The parser gives the places of
// the keys only; between them and the brackets stand nothing but blanks.
func (r *reader) headerPlace(keys []keyPart, array bool) (start, end int) {
	width := 1
	if array {
		width = 2
	}
	start, end = keys[0].start, keys[len(keys)-1].end
	for start > 0 && r.text[start-1] != '[' {
		start--
	}
	for end < len(r.text) && r.text[end] != ']' {
		end++
	}
	return start - width, end + width
}

// pair reads `key = value` into a table. depth is the level of the table, quiet keeps repeats from being reported.
func (r *reader) pair(t *Table, n *unstable.Node, depth int, quiet bool) {
	start, end := r.place(n.Raw)
	keys := r.keys(n.Key())
	depth += len(keys)
	if depth > maxNesting {
		r.nestingError(keys[0].start)
		return
	}
	last := keys[len(keys)-1]
	span := r.span(start, end)
	for _, k := range keys[:len(keys)-1] {
		if t = r.throughDotted(t, k, span, quiet); t == nil {
			return
		}
	}
	if first := t.Get(last.name); first != nil {
		r.repeated(r.span(last.start, last.end), short(last.name), first, quiet)
		return
	}
	if v, _ := r.value(n.Value(), r.afterEquals(last.end), depth); v != nil {
		t.add(r.entry(last, span, v))
	}
}

// entry makes the entry of a key.
func (r *reader) entry(k keyPart, span source.Span, v *Value) *Entry {
	e := r.entries.one()
	*e = Entry{Key: k.name, KeySpan: r.span(k.start, k.end), Value: v, Span: span}
	return e
}

// afterEquals returns the offset of the value that follows a key ending at i.
func (r *reader) afterEquals(i int) int {
	i = r.skipBlanks(i)
	return r.skipBlanks(i + 1)
}

func (r *reader) skipBlanks(i int) int {
	for i < len(r.text) && (r.text[i] == ' ' || r.text[i] == '\t') {
		i++
	}
	return i
}

// skipFiller passes over everything that may stand between two items of a list or inline table.
func (r *reader) skipFiller(i int) int {
	for i < len(r.text) {
		switch r.text[i] {
		case ' ', '\t', '\r', '\n', ',':
			i++
		case '#':
			i = lineEnd(r.text, i)
		default:
			return i
		}
	}
	return i
}

// value reads a value; at is where it starts if it has a bracket, for which the parser gives no place. It returns the
// offset after the value. The value is nil when it has been reported as wrong.
func (r *reader) value(n *unstable.Node, at, depth int) (v *Value, end int) {
	switch n.Kind {
	case unstable.Array:
		return r.array(n, at, depth+1)
	case unstable.InlineTable:
		return r.inlineTable(n, at, depth+1)
	}
	start, end := r.place(n.Raw)
	v = r.values.one()
	v.Span = r.span(start, end)
	if n.Kind == unstable.String {
		v.Kind, v.Str = String, r.piece(n.Data, start, end)
		return v, end
	}
	v.Str = r.text[start:end]
	if !r.scalar(v, n.Kind) {
		return nil, end
	}
	return v, end
}

// array reads a list. Where it ends follows from where its last item ends.
func (r *reader) array(n *unstable.Node, start, depth int) (*Value, int) {
	count := children(n)
	v := r.values.one()
	v.Kind, v.Items = Array, r.valuePtrs.take(count)[:0]
	i := start + 1
	for it := n.Children(); it.Next(); {
		item, end := r.value(it.Node(), r.skipFiller(i), depth)
		if item != nil {
			v.Items = append(v.Items, item)
		}
		i = end
	}
	i = r.skipFiller(i) + 1
	v.Span = r.span(start, i)
	return r.unlessDeep(v, depth), i
}

// inlineTable reads `{ ... }`.
func (r *reader) inlineTable(n *unstable.Node, start, depth int) (*Value, int) {
	t := r.tables.one()
	t.origin = byBraces
	t.Entries = r.entryPtrs.take(children(n))[:0]
	i := start + 1
	for it := n.Children(); it.Next(); {
		pair := it.Node()
		r.pair(t, pair, depth, false)
		_, i = r.place(pair.Raw)
	}
	i = r.skipFiller(i) + 1
	t.Span = r.span(start, i)
	v := r.values.one()
	v.Kind, v.Table, v.Span = TableValue, t, t.Span
	return r.unlessDeep(v, depth), i
}

// unlessDeep returns the value, or nil when it stands too deep, which is reported.
func (r *reader) unlessDeep(v *Value, depth int) *Value {
	if depth <= maxNesting {
		return v
	}
	r.nestingError(int(v.Span.Start))
	return nil
}

func children(n *unstable.Node) int {
	count := 0
	for it := n.Children(); it.Next(); {
		count++
	}
	return count
}
