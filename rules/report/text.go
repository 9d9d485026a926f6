// Package report writes findings: for people as text, for tools as JSON and SARIF.
//
// It takes a diag.List, in the order in which it is to be shown, and writes to an io.Writer; an error is the writer's. It
// may import rules, for the rules' own documentation, and the netlist's diagnostics and places. It alone knows colour and
// the width of a terminal, and both are handed in: it asks no environment.
package report

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"unicode"

	"golang.org/x/text/width"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
	"ferrule/rules"
)

// Options say how text is to look.
type Options struct {
	Color bool // with the colour sequences of ECMA-48
	Width int  // columns of the terminal: longer source lines are cut around the carets; 0 cuts nothing
}

// Text writes findings as a person should read them: under a heading for each rank, what burns first, and each cause once,
// with its source line, carets under the words that it is about, the places that explain it and what to do; what follows
// from the same cause hangs under it in a line each. An empty list writes nothing.
func Text(w io.Writer, list diag.List, o Options) error {
	p := &printer{w: bufio.NewWriter(w), Options: o}
	groups := rules.Grouped(list)
	for i, g := range groups {
		if i > 0 {
			p.line("")
		}
		if last := len(groups) - 1; groups[0].Rank != groups[last].Rank && (i == 0 || groups[i-1].Rank != g.Rank) {
			p.line("%s", p.paint(bold, g.Rank.String()))
			p.line("")
		}
		p.finding(g.Head)
		for _, d := range g.Under {
			label := fmt.Sprintf("%s[%s]:", d.Severity, d.Rule)
			p.line("  with it %s%s %s", p.paint(bold, at(d.Span)), p.paint(severityColors[d.Severity], label), printable(d.Message))
		}
	}
	return p.w.Flush()
}

// Lines writes every finding on one line, in the form that editors and grep understand:
// "file:line:column: severity: message [rule]".
func Lines(w io.Writer, list diag.List) error {
	p := &printer{w: bufio.NewWriter(w)}
	for _, d := range list {
		p.line("%s%s: %s [%s]", at(d.Span), d.Severity, printable(d.Message), d.Rule)
	}
	return p.w.Flush()
}

// Summary counts findings in words: "2 errors, 1 warning"; "no findings".
func Summary(list diag.List) string {
	var parts []string
	for _, s := range []diag.Severity{diag.Error, diag.Warning, diag.Note} {
		switch n := list.Count(s); {
		case n == 1:
			parts = append(parts, "1 "+s.String())
		case n > 1:
			parts = append(parts, fmt.Sprintf("%d %ss", n, s))
		}
	}
	if len(parts) == 0 {
		return "no findings"
	}
	return strings.Join(parts, ", ")
}

// at writes a place as "file:line:column: "; nothing for a fact without a place.
func at(s source.Span) string {
	if s.IsZero() {
		return ""
	}
	begin := s.Begin()
	return fmt.Sprintf("%s:%d:%d: ", s.File.Name, begin.Line, begin.Column)
}

// The colour sequences (SGR) of ECMA-48, 5th edition, 8.3.117.
const (
	bold, red, yellow, blue, cyan, plain = "\x1b[1m", "\x1b[1;31m", "\x1b[1;33m", "\x1b[1;34m", "\x1b[36m", "\x1b[0m"
)

var severityColors = map[diag.Severity]string{diag.Error: red, diag.Warning: yellow, diag.Note: blue}

// printer writes to a buffer, which remembers the first error of the writer.
type printer struct {
	Options
	w *bufio.Writer
}

func (p *printer) line(format string, args ...any) {
	fmt.Fprintf(p.w, format, args...) // Flush returns the error
	p.w.WriteByte('\n')
}

func (p *printer) paint(color, text string) string {
	if !p.Color || text == "" {
		return text
	}
	return color + text + plain
}

func (p *printer) finding(d diag.Diagnostic) {
	label := fmt.Sprintf("%s[%s]:", d.Severity, d.Rule)
	p.line("%s%s %s", p.paint(bold, at(d.Span)), p.paint(severityColors[d.Severity], label), printable(d.Message))
	if !d.Span.IsZero() {
		p.excerpt(d.Span, severityColors[d.Severity])
	}
	for _, r := range d.Related {
		if len(d.Related) == 1 && r.Span == d.Span {
			break // a chain of one link, which is shown above
		}
		p.line("    %s%s", p.paint(cyan, at(r.Span)), printable(r.Message))
	}
	if d.Help != "" {
		p.line("  %s %s", p.paint(bold, "help:"), printable(d.Help))
	}
	for _, f := range d.Fixes {
		if f.Safe {
			p.line("  %s --fix can %s", p.paint(bold, "help:"), printable(f.Title))
		}
	}
}

// printable replaces control characters: a message quotes words of the netlist, and these must not be able to move the
// cursor, ring the bell or forge a line.
func printable(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			return '\ufffd'
		}
		return r
	}, text)
}

// excerpt writes the line of a span, and carets under the part of the span that is on it.
func (p *printer) excerpt(s source.Span, color string) {
	begin, end := s.Begin(), s.Finish()
	text := []rune(s.File.Line(begin.Line))
	first := min(begin.Column-1, len(text))
	last := len(text)
	if end.Line == begin.Line {
		last = min(end.Column-1, len(text))
	}
	gutter := fmt.Sprintf("%5d | ", begin.Line)
	before, words, after := expand(text[:first], 0), "", ""
	words = expand(text[first:last], columns(before))
	after = expand(text[last:], columns(before)+columns(words))
	if p.Width > 0 {
		before, words, after = cut(before, words, after, p.Width-len(gutter))
	}
	p.line("%s%s", gutter, strings.TrimRight(before+words+after, " "))
	carets := strings.Repeat("^", max(1, columns(words)))
	p.line("%s| %s%s", strings.Repeat(" ", len(gutter)-2), strings.Repeat(" ", columns(before)), p.paint(color, carets))
}

// tabStop is the distance of tab stops; what the carets stand under must not depend on the terminal's setting.
const tabStop = 4

// expand replaces tabs by spaces up to the next tab stop, and what moves the cursor by a mark. Column is where the text
// begins.
func expand(text []rune, column int) string {
	var b strings.Builder
	for _, r := range text {
		switch {
		case r == '\t':
			n := tabStop - column%tabStop
			b.WriteString(strings.Repeat(" ", n))
			column += n
			continue
		case unicode.IsControl(r):
			r = unicode.ReplacementChar
		}
		b.WriteRune(r)
		column += runeColumns(r)
	}
	return b.String()
}

// columns is how many columns of a terminal a text takes.
func columns(text string) int {
	n := 0
	for _, r := range text {
		n += runeColumns(r)
	}
	return n
}

// runeColumns is the width of a character: none for marks that go over the one before, two for East Asian wide ones
// (Unicode Standard Annex 11).
func runeColumns(r rune) int {
	switch {
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	case width.LookupRune(r).Kind() == width.EastAsianWide, width.LookupRune(r).Kind() == width.EastAsianFullwidth:
		return 2
	}
	return 1
}

// ellipsis stands for what was cut from a line.
const ellipsis = "..."

// cut shortens a line to the given number of columns, so that the words stay in view with what stands before them if
// there is room, and what comes after.
func cut(before, words, after string, room int) (string, string, string) {
	room = max(room, 20)
	if columns(before)+columns(words)+columns(after) <= room {
		return before, words, after
	}
	if over := columns(before) + columns(words) + min(columns(after), room/4) - room; over > 0 {
		keep := max(0, columns(before)-over-len(ellipsis))
		before = ellipsis + tail(before, keep)
	}
	if left := room - columns(before); columns(words) > left {
		return before, head(words, left-len(ellipsis)) + ellipsis, ""
	}
	if left := room - columns(before) - columns(words); columns(after) > left {
		after = head(after, max(0, left-len(ellipsis))) + ellipsis
	}
	return before, words, after
}

// head returns the beginning of a text, tail its end, of at most n columns.
func head(text string, n int) string {
	used := 0
	for i, r := range text {
		if used += runeColumns(r); used > n {
			return text[:i]
		}
	}
	return text
}

func tail(text string, n int) string {
	runes := []rune(text)
	used, i := 0, len(runes)
	for i > 0 && used+runeColumns(runes[i-1]) <= n {
		i--
		used += runeColumns(runes[i])
	}
	return string(runes[i:])
}
