// Package edit changes the text of a netlist by spans: what an edit does not name stays as it is, byte for byte, comments
// and layout included.
//
// It takes the files of a netlist (netlist/source) and gives new texts; it writes no file. It reads the text with
// netlist/syntax to find where a key stands, or where a new one belongs, and imports nothing else of ours.
package edit

import (
	"fmt"
	"slices"

	"ferrule/netlist/source"
)

// An Edit replaces the bytes of a span by a new text. An empty span inserts.
type Edit = source.Edit

// Apply returns a text with the edits made. The spans are those of the text as it is given, in any order. It is an error when
// a span lies outside the text or when two of them overlap; two insertions at one point overlap too, since their order
// would be a matter of chance. The given text is not changed.
func Apply(text []byte, edits []Edit) ([]byte, error) {
	sorted := slices.Clone(edits)
	slices.SortStableFunc(sorted, func(a, b Edit) int {
		if a.Span.Start != b.Span.Start {
			return int(a.Span.Start) - int(b.Span.Start)
		}
		return int(a.Span.End) - int(b.Span.End)
	})
	var out []byte
	at := int32(0)
	for i, e := range sorted {
		switch {
		case e.Span.Start < 0 || e.Span.End < e.Span.Start || int(e.Span.End) > len(text):
			return nil, fmt.Errorf("edit of the bytes %d to %d lies outside a text of %d bytes", e.Span.Start, e.Span.End, len(text))
		case i > 0 && (e.Span.Start < at || e.Span.Start == sorted[i-1].Span.Start):
			return nil, fmt.Errorf("two edits overlap at byte %d", e.Span.Start)
		}
		out = append(out, text[at:e.Span.Start]...)
		out = append(out, e.New...)
		at = e.Span.End
	}
	return append(out, text[at:]...), nil
}

// A Revised file is a file with its text after the edits.
type Revised struct {
	File *source.File
	Text []byte
}

// ApplyAll makes edits in several files, and returns those files that change, in the order in which edits first name them.
func ApplyAll(edits []Edit) ([]Revised, error) {
	var files []*source.File
	byFile := map[*source.File][]Edit{}
	for _, e := range edits {
		if e.Span.IsZero() {
			return nil, fmt.Errorf("an edit names no file: %q", e.New)
		}
		if byFile[e.Span.File] == nil {
			files = append(files, e.Span.File)
		}
		byFile[e.Span.File] = append(byFile[e.Span.File], e)
	}
	revised := make([]Revised, len(files))
	for i, f := range files {
		text, err := Apply(f.Text, byFile[f])
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.Name, err)
		}
		revised[i] = Revised{f, text}
	}
	return revised, nil
}
