// Package source holds the text that a harness is written in and says where things stand in it.
//
// It takes the bytes of a file and a name to show, and gives spans (byte ranges in one file) and positions (line and
// column in the unit that the reader of the position counts in). It is the only package that turns offsets into lines
// and columns. It imports nothing of ours and opens no file.
//
//	notation          line   column                           used by
//	Span              -      byte offset from 0               the whole program
//	Position          from 1 characters (runes) from 1        terminal, JSON, SARIF
//	UTF16Position     from 0 UTF-16 code units from 0         editors (LSP)
package source

import (
	"bytes"
	"sort"
	"unicode/utf16"
	"unicode/utf8"
)

// A File is one text, with the name under which messages show it.
type File struct {
	Name string
	Text []byte

	lines []int32 // offset of the first byte of each line
}

// NewFile makes a file of text; name is shown in messages and never opened.
func NewFile(name string, text []byte) *File {
	f := &File{Name: name, Text: text, lines: make([]int32, 1, 1+bytes.Count(text, []byte{'\n'}))}
	for i, b := range text {
		if b == '\n' {
			f.lines = append(f.lines, int32(i+1))
		}
	}
	return f
}

// Span makes the span of the bytes [start, end) of the file, cut to what the file holds.
func (f *File) Span(start, end int) Span {
	start = min(max(start, 0), len(f.Text))
	end = min(max(end, start), len(f.Text))
	return Span{File: f, Start: int32(start), End: int32(end)}
}

// A Span is the byte range [Start, End) of a file. The zero Span is nowhere.
type Span struct {
	File       *File
	Start, End int32
}

// IsZero reports whether the span points nowhere.
func (s Span) IsZero() bool { return s.File == nil }

// Text returns the bytes that the span covers.
func (s Span) Text() string {
	if s.File == nil {
		return ""
	}
	return string(s.File.Text[s.Start:s.End])
}

// Begin returns the position of the first character of the span.
func (s Span) Begin() Position {
	if s.File == nil {
		return Position{}
	}
	return s.File.Position(int(s.Start))
}

// Finish returns the position just after the last character of the span.
func (s Span) Finish() Position {
	if s.File == nil {
		return Position{}
	}
	return s.File.Position(int(s.End))
}

// Before orders spans by file name, then by start, then by end.
func (s Span) Before(t Span) bool {
	if s.File != t.File {
		if s.File == nil || t.File == nil {
			return s.File == nil
		}
		return s.File.Name < t.File.Name
	}
	if s.Start != t.Start {
		return s.Start < t.Start
	}
	return s.End < t.End
}

// A Position is a place as people count: line and column from 1, columns in characters. The zero Position is nowhere.
type Position struct{ Line, Column int }

// A UTF16Position is a place as editors count: line and column from 0, columns in UTF-16 code units.
type UTF16Position struct{ Line, Column int }

// lineAt returns the index from 0 of the line that holds the byte at offset.
func (f *File) lineAt(offset int) int {
	return sort.Search(len(f.lines), func(i int) bool { return int(f.lines[i]) > offset }) - 1
}

// Position turns a byte offset into a line and a column in characters.
func (f *File) Position(offset int) Position {
	offset = min(max(offset, 0), len(f.Text))
	line := f.lineAt(offset)
	return Position{Line: line + 1, Column: utf8.RuneCount(f.Text[f.lines[line]:offset]) + 1}
}

// UTF16Position turns a byte offset into the line and column that editors use.
func (f *File) UTF16Position(offset int) UTF16Position {
	offset = min(max(offset, 0), len(f.Text))
	line := f.lineAt(offset)
	units := 0
	for _, r := range string(f.Text[f.lines[line]:offset]) {
		units += max(1, utf16.RuneLen(r))
	}
	return UTF16Position{Line: line, Column: units}
}

// Line returns the text of a line, counted from 1, without its line end; empty when there is no such line.
func (f *File) Line(n int) string { return f.LineSpan(n).Text() }

// LineSpan returns where a line stands, counted from 1, without its line end; the zero Span when there is no such line.
func (f *File) LineSpan(n int) Span {
	if n < 1 || n > len(f.lines) {
		return Span{}
	}
	start, end := int(f.lines[n-1]), len(f.Text)
	if n < len(f.lines) {
		end = int(f.lines[n]) - 1
	}
	return f.Span(start, start+len(bytes.TrimSuffix(f.Text[start:end], []byte{'\r'})))
}

// LineCount returns the number of lines; a text that ends in a line end has an empty last line.
func (f *File) LineCount() int { return len(f.lines) }

// An Edit replaces the bytes of a span by a new text. An empty span inserts.
type Edit struct {
	Span Span
	New  string
}
