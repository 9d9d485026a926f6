package built

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
	"ferrule/netlist/unit"
)

// The words under which this package reports what no netlist can have wrong.
const (
	ruleConflict = "merge-conflict"
	ruleOther    = "other-harness"
	ruleLater    = "later-revision"
)

// None is the status of a harness of which nothing has been marked yet.
func None(h *Harness) *Status { return &Status{Harness: h, byName: map[string]*Record{}} }

// Read reads a status file and holds it against its harness. The status has every line that can be understood; the list, in the
// order of the file, has errors for what cannot, and warnings for what is probably meant otherwise. A text with the marks of an
// unfinished merge has no lines at all: nobody knows which of the two sides is true.
func Read(f *source.File, h *Harness) (*Status, diag.List) {
	r := &reader{status: None(h)}
	r.status.File = f
	if conflicts := mergeMarks(f); conflicts != nil {
		return r.status, conflicts
	}
	root, diags := syntax.Parse(f)
	for i := range diags {
		if diags[i].Rule == "duplicate-key" {
			diags[i].Help = "keep one of the two; of a wire, as a rule, the line with the later stage"
		}
	}
	r.diags = diags
	for _, e := range root.Entries {
		switch e.Key {
		case "built":
			r.head(e)
		case "wire":
			r.wires(e)
		default:
			r.help(r.diags.Errorf("unknown-key", e.KeySpan, "a status file has no section %q", e.Key), e.Key, []string{"built", "wire"},
				"it has [built] and [wire]; what belongs into the netlist goes into "+h.File)
		}
	}
	if root.Get("built") == nil {
		r.diags.Errorf("missing-key", f.Span(0, 0), "this status file does not say which netlist it belongs to").Help = fmt.Sprintf("write [built] and below it of = %q", h.File)
	}
	r.diags.Sort()
	return r.status, r.diags
}

type reader struct {
	status      *Status
	diags       diag.List
	suggestions int
	wireNames   []string
}

// help gives a finding the nearest known word as its advice, or else a general one.
func (r *reader) help(d *diag.Diagnostic, word string, known []string, otherwise string) {
	d.Help = otherwise
	if near, ok := diag.Nearest(word, known); ok {
		d.Help = fmt.Sprintf("did you mean %q?", near)
	}
}

// text reads a value that has to be a text which is not empty.
func (r *reader) text(e *syntax.Entry, example string) (model.Name, bool) {
	switch {
	case e.Value.Kind != syntax.String:
		r.diags.Errorf("wrong-type", e.Value.Span, "%s is a text in quotes, such as %s", e.Key, example).Help = "write " + e.Key + " = " + example
		return model.Name{}, false
	case e.Value.Str == "":
		r.diags.Errorf("bad-value", e.Value.Span, "%s is empty", e.Key).Help = "write " + e.Key + " = " + example
		return model.Name{}, false
	}
	return model.Name{Text: e.Value.Str, Span: e.Value.Span}, true
}

func (r *reader) table(e *syntax.Entry, example string) bool {
	if e.Value.Kind == syntax.TableValue {
		return true
	}
	r.diags.Errorf("wrong-type", e.Value.Span, "%s is a table", e.Key).Help = "write " + example
	return false
}

func (r *reader) head(e *syntax.Entry) {
	h := r.status.Harness
	if !r.table(e, fmt.Sprintf("[built] and below it of = %q", h.File)) {
		return
	}
	said := false
	for _, k := range e.Value.Table.Entries {
		if k.Key != "of" {
			r.help(r.diags.Errorf("unknown-key", k.KeySpan, "[built] has no key %q", k.Key), k.Key, []string{"of"}, "it has one key: of, the netlist's file")
			continue
		}
		said = true
		if of, ok := r.text(k, fmt.Sprintf("%q", h.File)); ok && of.Text != h.File {
			r.diags.Errorf(ruleOther, of.Span, "this status file is that of %s, and lies where that of %s is looked for", of.Text, h.File).Help =
				fmt.Sprintf("if the netlist was renamed, write of = %q; otherwise this file belongs beside %s, as %s", h.File, of.Text, path.Base(FileName(of.Text)))
		}
	}
	if !said {
		r.diags.Errorf("missing-key", e.KeySpan, "[built] does not say which netlist it belongs to").Help = fmt.Sprintf("write of = %q", h.File)
	}
}

func (r *reader) wires(e *syntax.Entry) {
	if !r.table(e, `[wire] and below it one wire a line, as 60c = { stage = "cut", revision = "A" }`) {
		return
	}
	for _, k := range e.Value.Table.Entries {
		r.wire(k)
	}
}

var recordKeys = []string{"stage", "revision", "size", "color", "from", "to", "length"}

func (r *reader) wire(e *syntax.Entry) {
	if !r.table(e, e.Key+` = { stage = "cut", revision = "A" }`) {
		return
	}
	rec := &Record{Name: model.Name{Text: e.Key, Span: e.KeySpan}}
	before := len(r.diags)
	for _, k := range e.Value.Table.Entries {
		r.value(rec, k)
	}
	if r.diags[before:].HasErrors() || !r.complete(rec, e) {
		return
	}
	if rec.Stage == Planned {
		rec.Made = Made{}
	}
	r.status.Records = append(r.status.Records, rec)
	r.status.byName[e.Key] = rec
}

// value reads one key of a wire.
func (r *reader) value(rec *Record, k *syntax.Entry) {
	if !slices.Contains(recordKeys, k.Key) {
		r.help(r.diags.Errorf("unknown-key", k.KeySpan, "a wire's status has no key %q", k.Key), k.Key, recordKeys, "the keys are: "+strings.Join(recordKeys, ", "))
		return
	}
	name, ok := r.text(k, examples[k.Key])
	if !ok {
		return
	}
	var err error
	switch k.Key {
	case "stage":
		rec.StageAt = name.Span
		if rec.Stage, ok = ParseStage(name.Text); !ok {
			r.help(r.diags.Errorf("bad-value", name.Span, "%q is no stage", name.Text), name.Text, Stages(), "the stages are: "+strings.Join(Stages(), ", "))
		}
	case "revision":
		rec.Revision = name
	case "size":
		rec.Made.Size, err = unit.ParseSize(name.Text)
	case "color":
		rec.Made.Color = name.Text
	case "from":
		rec.Made.From = name.Text
	case "to":
		rec.Made.To = name.Text
	case "length":
		var metres float64
		metres, _, err = unit.Parse(name.Text, unit.Length)
		if err == nil && (metres <= 0 || metres > longest) {
			err = fmt.Errorf("%q is out of range: a wire of a vehicle is up to %g m long", name.Text, longest)
		}
		rec.Made.Length = unit.Metre(metres)
	}
	if err != nil {
		r.diags.Errorf("bad-value", name.Span, "%v", err).Help = "write it as the netlist does: " + k.Key + " = " + examples[k.Key]
	}
}

// longest is what no wire of a vehicle is longer than, in metres; it catches slips of the pen, as the same limit of the language.
const longest = 100.0

var examples = map[string]string{
	"stage": `"cut"`, "revision": `"A"`, "size": `"12 AWG"`, "color": `"OG/BK"`, "from": `"X2:9"`, "to": `"M1:1"`, "length": `"3 m"`,
}

// complete reports whether a line says what it has to, and holds it against the netlist.
func (r *reader) complete(rec *Record, e *syntax.Entry) bool {
	n := r.status.Harness.Netlist
	if rec.StageAt.IsZero() {
		r.diags.Errorf("missing-key", e.KeySpan, "%s has no stage", e.Key).Help = "write stage = \"cut\"; the stages are: " + strings.Join(Stages(), ", ")
		return false
	}
	w := n.Wire(e.Key)
	// What was written when the wire was in the netlist names its ends. A line without them is a slip of the pen.
	if w == nil && (rec.Stage == Planned || rec.Made.From == "" && rec.Made.To == "") {
		r.unknownWire(e)
		return false
	}
	if rec.Stage == Planned {
		return true
	}
	if !rec.Revision.IsSet() {
		r.diags.Errorf("missing-key", e.KeySpan, "%s is %s, and the line does not say at which revision", e.Key, rec.Stage).Help = fmt.Sprintf("write revision = %q, or take the line out and use `ferrule mark`", or(n.Harness.Revision.Text, "A"))
		return false
	}
	if w != nil && w.Supplied.On && rec.Stage < Installed {
		r.diags.Errorf("bad-value", rec.StageAt, "%s comes with its device (supplied = true) and is not %s here", e.Key, rec.Stage).Help = "write installed when it is on the vehicle, or take the line out"
		return false
	}
	if now := n.Harness.Revision.Text; now != "" && earlier(now, rec.Revision.Text) {
		r.diags = append(r.diags, diag.Diagnostic{
			Rule: ruleLater, Severity: diag.Warning, Span: rec.Revision.Span, Refs: []string{e.Key},
			Message: fmt.Sprintf("%s is marked at revision %s, and the netlist is at %s", e.Key, rec.Revision.Text, now),
			Help:    "if the revision is misspelt, correct it; otherwise this is an older copy of the netlist than the one that the car was built to",
		})
	}
	return true
}

// maxSuggestions keeps a file full of mistakes from being compared name by name; a person reads the first few.
const maxSuggestions = 100

func (r *reader) unknownWire(e *syntax.Entry) {
	d := r.diags.Errorf("unknown-name", e.KeySpan, "the netlist has no wire %q", e.Key)
	d.Help = "take the line out; a wire that was made and taken out of the netlist later has its ends here, from and to"
	if r.suggestions++; r.suggestions > maxSuggestions {
		return
	}
	if r.wireNames == nil {
		for _, w := range r.status.Harness.Netlist.Wires {
			r.wireNames = append(r.wireNames, w.Name.Text)
		}
	}
	r.help(d, e.Key, r.wireNames, d.Help)
}

// earlier compares revisions as the acceptances of the netlist do: A, B ... Z, AA; 1, 2 ... 10.
func earlier(a, b string) bool {
	if len(a) != len(b) {
		return len(a) < len(b)
	}
	return a < b
}

func or(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}
