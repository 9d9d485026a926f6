package syntax

import (
	"bytes"
	"errors"
	"fmt"
	"math"

	"github.com/BurntSushi/toml"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
)

// The rules under which this package reports.
const (
	ruleSyntax    = "syntax"
	ruleDuplicate = "duplicate-key"
)

// Parse reads TOML text into a tree in which every key and value keeps its place.
//
// The table is never nil and holds whatever could be read. The list is sorted and holds errors only: rule "syntax" for
// text that is not TOML, rule "duplicate-key" for keys and tables that are given more than once. An empty list means
// that an independent decoder (github.com/BurntSushi/toml) accepts the text as well.
func Parse(f *source.File) (*Table, diag.List) {
	if t, list := refuseEncoding(f); list != nil {
		return t, list
	}
	text := string(f.Text)
	deep := tooDeep(text)
	verdict := make(chan refusal, 1)
	if deep < 0 {
		go func() { verdict <- askAuthority(text) }()
	}
	r := newReader(f, text)
	r.readAll()
	if deep < 0 {
		// The verdict is awaited even when it is not needed, so that nothing goes on running after the return. It
		// costs little then: the decoder stops at its first mistake.
		r.addVerdict(<-verdict)
	} else if len(r.diags) == 0 {
		r.nestingError(deep)
	}
	r.diags.Sort()
	return r.root, r.diags
}

// refuseEncoding answers for texts that cannot be read at all: UTF-16 (word processors and some Windows editors write
// it) and texts whose offsets do not fit a span. The list is nil when the text can be read.
func refuseEncoding(f *source.File) (*Table, diag.List) {
	var list diag.List
	head := f.Text[:min(6, len(f.Text))]
	switch {
	case len(f.Text) > math.MaxInt32:
		list.Errorf(ruleSyntax, f.Span(0, 0), "the file is larger than 2 GB").Help = "split the netlist into several files"
	case bytes.HasPrefix(head, []byte("\xff\xfe")), bytes.HasPrefix(head, []byte("\xfe\xff")), bytes.IndexByte(head, 0) >= 0:
		list.Errorf(ruleSyntax, f.Span(0, 1), "the file is not plain UTF-8 text; it looks like UTF-16").Help =
			"save it again from the editor with the encoding UTF-8"
	default:
		return nil, nil
	}
	return &Table{Span: f.Span(0, len(f.Text))}, list
}

// utf8BOM is the mark that some editors put before UTF-8 text. TOML says nothing about it; both decoders of the
// project skip it.
const utf8BOM = "\xef\xbb\xbf"

// A refusal is the authority's verdict on a text that it does not accept; err is nil when it does.
type refusal struct {
	err        error
	start, len int // bytes, counted without a byte order mark; len 0 when the decoder gave no place
}

// askAuthority decodes the text with the independent decoder and throws the values away. That decoder panics on what it
// takes to be its own bugs; a text that it cannot digest must not pass, so this counts as a refusal too.
func askAuthority(text string) (verdict refusal) {
	defer func() {
		if p := recover(); p != nil {
			verdict = refusal{err: fmt.Errorf("the decoder gave up: %v", p)}
		}
	}()
	var values map[string]any
	_, err := toml.Decode(text, &values)
	verdict.err = err
	var place toml.ParseError
	if errors.As(err, &place) {
		verdict.err = errors.New(place.Message)
		verdict.start, verdict.len = place.Position.Start, max(1, place.Position.Len)
	}
	return verdict
}

// addVerdict reports the authority's refusal when the reader found nothing wrong; otherwise the two mean the same
// mistake and the reader's words are better.
func (r *reader) addVerdict(v refusal) {
	if v.err == nil || len(r.diags) > 0 {
		return
	}
	start := r.textStart + v.start
	r.fail(r.file.Span(start, start+v.len), "the standard TOML reader refuses this: "+v.err.Error(),
		"write it another way; the line may use a feature that other TOML programs do not accept either")
}
