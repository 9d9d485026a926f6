package built

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"ferrule/netlist/edit"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
)

// heading stands at the head of a new file.
const heading = `# As-built status of %s: how far each wire is, and what was made. "ferrule mark" writes it, and it may be edited by hand.
# One wire a line. The stage is planned, cut, crimped, installed or tested; a wire without a line is planned. The rest is what
# the netlist said at that revision, and so what was made: leave it as it is when the netlist changes later.

[built]
of = %q

[wire]
`

// write returns the text of the file with the changes made.
func (s *Status) write(changes []Change) ([]byte, error) {
	f := s.File
	if f == nil {
		f = source.NewFile(FileName(s.Harness.File), fmt.Appendf(nil, heading, s.Harness.File, s.Harness.File))
	}
	if len(changes) == 0 {
		return f.Text, nil
	}
	edits, err := s.edits(f, changes)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.Name, err)
	}
	text, err := edit.Apply(f.Text, edits)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.Name, err)
	}
	return text, s.prove(text, changes)
}

// prove reads the new text, so that nothing is written that does not say what was meant.
func (s *Status) prove(text []byte, changes []Change) error {
	now, diags := Read(source.NewFile(FileName(s.Harness.File), text), s.Harness)
	for _, d := range diags {
		if d.Rule == "syntax" || d.Rule == "duplicate-key" {
			return fmt.Errorf("%s is written in a way that a mark cannot be put into: write each wire on a line of its own below [wire]", now.File.Name)
		}
	}
	for i := range changes {
		c := &changes[i].After
		got := now.Record(c.Name.Text)
		if got == nil || got.Stage != c.Stage || got.Revision.Text != c.Revision.Text || got.Made.String() != c.Made.String() {
			return fmt.Errorf("%s is written in a way that a mark for %s cannot be put into: write the wire on a line of its own below [wire]", now.File.Name, c.Name.Text)
		}
	}
	return nil
}

// edits changes the lines that are there and adds those that are not.
func (s *Status) edits(f *source.File, changes []Change) ([]edit.Edit, error) {
	doc := edit.Read([]*source.File{f})
	root, _ := syntax.Parse(f)
	section := root.Get("wire")
	var edits []edit.Edit
	var fresh []Record
	for i := range changes {
		c := &changes[i].After
		if section == nil || section.Value.Table.Get(c.Name.Text) == nil {
			fresh = append(fresh, *c)
			continue
		}
		changed, err := s.change(doc, c)
		if err != nil {
			return nil, err
		}
		edits = append(edits, changed...)
	}
	return append(edits, s.insertions(f, section, fresh)...), nil
}

// change rewrites one line: value by value, or as a whole where something that it says is true no more.
func (s *Status) change(doc *edit.Document, r *Record) ([]edit.Edit, error) {
	if was := s.Record(r.Name.Text); was != nil && len(r.pairs()) < len(was.pairs()) {
		if e, err := doc.Replace("wire", r.Name.Text, inline(r.pairs(), nil)); err == nil {
			return []edit.Edit{e}, nil
		}
	}
	edits, err := doc.SetAll("wire", r.Name.Text, r.pairs()...)
	for i := range edits {
		edits[i] = inColumn(edits[i])
	}
	return edits, err
}

// pairs are the keys of a line in their order; what is not stated is left out.
func (r *Record) pairs() []edit.Pair {
	length := ""
	if r.Made.Length > 0 {
		length = metres(r.Made.Length)
	}
	var pairs []edit.Pair
	for _, p := range []edit.Pair{
		{Key: "stage", Value: r.Stage.String()}, {Key: "revision", Value: r.Revision.Text}, {Key: "size", Value: r.Made.Size.String()}, {Key: "color", Value: r.Made.Color},
		{Key: "from", Value: r.Made.From}, {Key: "to", Value: r.Made.To}, {Key: "length", Value: length},
	} {
		if p.Value != "" {
			pairs = append(pairs, p)
		}
	}
	return pairs
}

// inColumn lets a new value take its width from the space behind its comma, or give it back, so that the columns behind it
// stay where they are.
func inColumn(e edit.Edit) edit.Edit {
	rest := string(e.Span.File.Text[e.Span.End:])
	spaces, comma := strings.CutPrefix(rest, ",")
	if width := len(spaces) - len(strings.TrimLeft(spaces, " ")); comma && width > 0 && e.Span.Start < e.Span.End {
		width = max(1, width+utf8.RuneCountInString(e.Span.Text())-utf8.RuneCountInString(e.New))
		end := int(e.Span.End) + 1 + len(spaces) - len(strings.TrimLeft(spaces, " "))
		return edit.Edit{Span: e.Span.File.Span(int(e.Span.Start), end), New: e.New + "," + strings.Repeat(" ", width)}
	}
	return e
}

// insertions puts new lines behind the line of the wire before them in natural order.
func (s *Status) insertions(f *source.File, section *syntax.Entry, fresh []Record) []edit.Edit {
	if len(fresh) == 0 {
		return nil
	}
	lines := linesOf(f, section)
	start, prefix := headEnd(f, section, lines)
	var edits []edit.Edit
	widths := s.widths()
	for i := range fresh {
		at := start
		for _, l := range lines {
			if model.CompareNatural(l.Key, fresh[i].Name.Text) < 0 {
				at = lineEnd(f, int(l.Value.Span.End))
			}
		}
		text := prefix + newLine(&fresh[i], widths) + ending(f)
		prefix = ""
		if n := len(edits); n > 0 && int(edits[n-1].Span.Start) == at {
			edits[n-1].New += text
			continue
		}
		edits = append(edits, edit.Edit{Span: f.Span(at, at), New: text})
	}
	return joined(f, edits)
}

// joined puts insertions at one place together, and sees to it that the first line of each begins on a line of its own.
func joined(f *source.File, edits []edit.Edit) []edit.Edit {
	var out []edit.Edit
	for _, e := range edits {
		if i := slices.IndexFunc(out, func(o edit.Edit) bool { return o.Span == e.Span }); i >= 0 {
			out[i].New += e.New
			continue
		}
		out = append(out, e)
	}
	for i, e := range out {
		if at := e.Span.Start; at > 0 && f.Text[at-1] != '\n' {
			out[i].New = ending(f) + e.New
		}
	}
	return out
}

// linesOf returns the wires that stand on a line of their own below [wire], in the order of the file.
func linesOf(f *source.File, section *syntax.Entry) []*syntax.Entry {
	if section == nil || section.Value.Kind != syntax.TableValue {
		return nil
	}
	var lines []*syntax.Entry
	for _, e := range section.Value.Table.Entries {
		start := bytes.LastIndexByte(f.Text[:e.KeySpan.Start], '\n') + 1
		braced := e.Value.Kind == syntax.TableValue && strings.HasPrefix(e.Value.Table.Span.Text(), "{")
		if braced && len(bytes.TrimSpace(f.Text[start:e.KeySpan.Start])) == 0 {
			lines = append(lines, e)
		}
	}
	return lines
}

// headEnd is where the first line of the section goes: behind its header or, where it has none, at the end of the file behind a
// new one.
func headEnd(f *source.File, section *syntax.Entry, lines []*syntax.Entry) (at int, prefix string) {
	if section != nil && section.Value.Kind == syntax.TableValue {
		header := section.Value.Table.Span
		if strings.ReplaceAll(header.Text(), " ", "") == "[wire]" {
			return lineEnd(f, int(header.End)), ""
		}
	}
	if len(lines) > 0 {
		return bytes.LastIndexByte(f.Text[:lines[0].KeySpan.Start], '\n') + 1, ""
	}
	return len(f.Text), ending(f) + "[wire]" + ending(f)
}

// lineEnd is the offset behind the line that holds an offset.
func lineEnd(f *source.File, offset int) int {
	if i := bytes.IndexByte(f.Text[offset:], '\n'); i >= 0 {
		return offset + i + 1
	}
	return len(f.Text)
}

// ending is the end of a line as the file has it.
func ending(f *source.File) string {
	if i := bytes.IndexByte(f.Text, '\n'); i > 0 && f.Text[i-1] == '\r' {
		return "\r\n"
	}
	return "\n"
}

// widths returns how wide the name and each value of a line are at most in this harness, so that lines that are marked one
// after the other stand in columns.
func (s *Status) widths() map[string]int {
	widths := map[string]int{"stage": len(`"installed"`)}
	for _, w := range s.Harness.Netlist.Wires {
		r := Record{Name: w.Name, Revision: s.Harness.Netlist.Harness.Revision, Made: s.Harness.Of(w)}
		widths[""] = max(widths[""], utf8.RuneCountInString(key(w.Name.Text)))
		for _, p := range r.pairs() {
			widths[p.Key] = max(widths[p.Key], utf8.RuneCountInString(strconv.Quote(p.Value)))
		}
	}
	return widths
}

func newLine(r *Record, widths map[string]int) string {
	name := key(r.Name.Text)
	return name + strings.Repeat(" ", max(0, widths[""]-utf8.RuneCountInString(name))) + " = " + inline(r.pairs(), widths)
}

// inline writes a one-line table, in columns where widths are given.
func inline(pairs []edit.Pair, widths map[string]int) string {
	var b strings.Builder
	b.WriteString("{ ")
	for i, p := range pairs {
		value := strconv.Quote(p.Value)
		b.WriteString(p.Key + " = " + value)
		if i < len(pairs)-1 {
			b.WriteString("," + strings.Repeat(" ", 1+max(0, widths[p.Key]-utf8.RuneCountInString(value))))
		}
	}
	return b.String() + " }"
}

// bareKey is a key that needs no quotes (TOML v1.0.0, "Keys").
var bareKey = regexp.MustCompile(`^[A-Za-z0-9_-]+$`)

func key(name string) string {
	if bareKey.MatchString(name) {
		return name
	}
	return strconv.Quote(name)
}
