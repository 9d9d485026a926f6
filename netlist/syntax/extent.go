package syntax

import "regexp"

// Lines that most likely begin something new, although a bracket is still open.
var (
	headerLine = regexp.MustCompile(`^[ \t]*\[\[?[ \t]*[A-Za-z_"'][^\[\],=]*\]\]?[ \t]*(#.*)?\r?$`)
	keyLine    = regexp.MustCompile(`^[ \t]*[A-Za-z0-9_."'-]+[ \t]*=`)
)

// resume returns the offset of the line after the broken expression that starts at an offset; -1 when there is none.
//
// A bracket may keep an expression open over many lines. If it is closed, reading goes on after it, since its remaining
// lines mean nothing on their own. If it is not, the missing bracket is the mistake, and only the first line is given
// up.
func (r *reader) resume(start int) int {
	end, closed := r.extent(start)
	if !closed {
		end = lineEnd(r.text, min(start, len(r.text)))
	}
	if end >= len(r.text) {
		return -1
	}
	return end + 1
}

// extent returns the offset of the line end that ends the expression, and whether all its brackets and long strings are
// closed there.
func (r *reader) extent(start int) (end int, closed bool) {
	var open []byte
	last := byte(0) // the last thing before i that is neither blank nor comment
	text := r.text
	for i := start; i < len(text); i++ {
		switch c := text[i]; c {
		case ' ', '\t', '\r':
			continue
		case '#':
			i = lineEnd(text, i) - 1
			continue
		case '\n':
			if len(open) == 0 {
				return i, true
			}
			if r.beginsNew(i+1, open[len(open)-1], last) {
				return i, false
			}
			continue
		case '"', '\'':
			long := i+2 < len(text) && text[i+1] == c && text[i+2] == c
			next, ok := scanString(text, i)
			if long && !ok {
				return i, false
			}
			i = next - 1
		case '[', '{':
			open = append(open, c)
		case ']', '}':
			if len(open) > 0 {
				open = open[:len(open)-1]
			}
		}
		last = text[i]
	}
	return len(text), len(open) == 0
}

// beginsNew reports whether the line at an offset looks like the start of another expression rather than the inside of
// the bracket that is open.
func (r *reader) beginsNew(at int, bracket, last byte) bool {
	line := r.text[at:lineEnd(r.text, at)]
	if headerLine.MatchString(line) {
		return true
	}
	return keyLine.MatchString(line) && (bracket == '[' || last != ',' && last != '{')
}
