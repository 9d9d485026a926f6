package source

import (
	"strings"
	"testing"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
)

func TestPositions(t *testing.T) {
	const (
		mu   = "µ" // two bytes, one UTF-16 unit
		plug = "🔌" // U+1F50C: four bytes, one character, two UTF-16 units (The Unicode Standard, section 3.9, D91)
	)
	text := "ab\tc\r\n" + mu + plug + "x\n\nlast"
	f := NewFile("a.toml", []byte(text))
	for _, c := range []struct {
		name   string
		offset int
		people Position
		editor UTF16Position
	}{
		{"first character", 0, Position{1, 1}, UTF16Position{0, 0}},
		{"a tab is one character", 3, Position{1, 4}, UTF16Position{0, 3}},
		{"the carriage return belongs to its line", 4, Position{1, 5}, UTF16Position{0, 4}},
		{"so does the line feed", 5, Position{1, 6}, UTF16Position{0, 5}},
		{"first of line two", 6, Position{2, 1}, UTF16Position{1, 0}},
		{"after two bytes", 8, Position{2, 2}, UTF16Position{1, 1}},
		{"after a surrogate pair", 12, Position{2, 3}, UTF16Position{1, 3}},
		{"line feed of line two", 13, Position{2, 4}, UTF16Position{1, 4}},
		{"an empty line", 14, Position{3, 1}, UTF16Position{2, 0}},
		{"first of the last line", 15, Position{4, 1}, UTF16Position{3, 0}},
		{"end of file", len(text), Position{4, 5}, UTF16Position{3, 4}},
		{"beyond the end", len(text) + 9, Position{4, 5}, UTF16Position{3, 4}},
		{"before the beginning", -3, Position{1, 1}, UTF16Position{0, 0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.people, f.Position(c.offset))
			assert.Equal(t, c.editor, f.UTF16Position(c.offset))
		})
	}
}

func TestLines(t *testing.T) {
	f := NewFile("a.toml", []byte("one\r\ntwo\n\nfour\rstill four\n"))
	assert.Equal(t, 5, f.LineCount())
	for n, want := range map[int]string{-1: "", 0: "", 1: "one", 2: "two", 3: "", 4: "four\rstill four", 5: "", 6: ""} {
		assert.Equal(t, want, f.Line(n), "line %d", n)
		assert.Equal(t, n < 1 || n > 5, f.LineSpan(n).IsZero(), "line %d", n)
	}
	assert.Equal(t, Position{4, 1}, f.LineSpan(4).Begin())
	assert.Equal(t, f.Span(10, 25), f.LineSpan(4))
	empty := NewFile("empty.toml", nil)
	assert.Equal(t, 1, empty.LineCount())
	assert.Equal(t, "", empty.Line(1))
	assert.Equal(t, Position{1, 1}, empty.Position(0))
	assert.Equal(t, "no line end", NewFile("", []byte("no line end")).Line(1))
}

func TestSpan(t *testing.T) {
	f := NewFile("a.toml", []byte("a = 1\nb = \"µ\"\n"))
	s := f.Span(10, 14)
	assert.Equal(t, `"µ"`, s.Text())
	assert.Equal(t, Position{2, 5}, s.Begin())
	assert.Equal(t, Position{2, 8}, s.Finish())
	assert.False(t, s.IsZero())

	for _, c := range []struct {
		start, end int
		want       string
	}{{-5, 1, "a"}, {0, 1000, string(f.Text)}, {4, 2, ""}, {500, 600, ""}, {-9, -3, ""}} {
		assert.Equal(t, c.want, f.Span(c.start, c.end).Text(), "[%d, %d)", c.start, c.end)
	}

	var nowhere Span
	assert.True(t, nowhere.IsZero())
	assert.Empty(t, nowhere.Text())
	assert.Equal(t, Position{}, nowhere.Begin())
	assert.Equal(t, Position{}, nowhere.Finish())
}

func TestBefore(t *testing.T) {
	a, b := NewFile("a.toml", []byte("0123456789")), NewFile("b.toml", []byte("0123456789"))
	ordered := []Span{{}, a.Span(0, 1), a.Span(0, 3), a.Span(1, 2), a.Span(5, 9), b.Span(0, 1), b.Span(2, 3)}
	for i, s := range ordered {
		for j, u := range ordered {
			assert.Equal(t, i < j, s.Before(u), "%d before %d", i, j)
		}
	}
}

// FuzzPosition holds both notations against plain counting with the standard library.
func FuzzPosition(f *testing.F) {
	f.Add("a\r\nµ🔌\n", uint16(6))
	f.Add("\xff\xfe\n\x80", uint16(3))
	f.Add("", uint16(0))
	f.Fuzz(func(t *testing.T, text string, at uint16) {
		offset := min(int(at), len(text))
		before := text[:offset]
		line := before[strings.LastIndexByte(before, '\n')+1:]
		file := NewFile("f", []byte(text))
		assert.Equal(t, Position{strings.Count(before, "\n") + 1, utf8.RuneCountInString(line) + 1}, file.Position(offset))
		assert.Equal(t, UTF16Position{strings.Count(before, "\n"), len(utf16.Encode([]rune(line)))}, file.UTF16Position(offset))
		assert.Equal(t, strings.Count(text, "\n")+1, file.LineCount())
		assert.Equal(t, strings.TrimSuffix(strings.Split(text, "\n")[file.Position(offset).Line-1], "\r"), file.Line(file.Position(offset).Line))
	})
}
