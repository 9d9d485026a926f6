package syntax

import (
	"strings"
	"unicode/utf8"
)

// A spot is what stands around the place where the parser stopped: enough to say what was meant.
type spot struct {
	place int       // where the parser stopped
	open  []opening // the brackets of values that are open there, the outermost first
	value int       // where the current value starts, -1 before one
	last  token     // the last thing before the place
	key   token     // the last key
}

type opening struct {
	bracket byte
	at      int
}

// A token is a piece of text; the zero token means there is none.
type token struct{ start, end int }

func (t token) none() bool { return t.end == 0 }

// look reads the expression again up to the place where the parser stopped. Up to there its tokens are sound.
func (r *reader) look(start, place int) spot {
	s := spot{place: place, value: -1}
	expectKey := true
	for i := start; i < place; {
		end := i + 1
		switch c := r.text[i]; c {
		case ' ', '\t', '\r', '\n':
			i++
			continue
		case '#':
			i = lineEnd(r.text, i)
			continue
		case '=':
			expectKey, s.value = false, -1
		case '[', '{':
			if expectKey && len(s.open) == 0 { // the bracket of a header
				break
			}
			s.open = append(s.open, opening{c, i})
			expectKey, s.value = c == '{', -1
		case ']', '}':
			if len(s.open) > 0 {
				s.value = s.open[len(s.open)-1].at
				s.open = s.open[:len(s.open)-1]
			}
			expectKey = false
		case ',':
			expectKey, s.value = s.within('{'), -1
		default:
			end = r.tokenEnd(i)
			if expectKey {
				if r.text[i] != '"' && r.text[i] != '\'' {
					end = min(end, place) // what stopped the parser is no part of the name
				}
				s.key = token{i, end}
			} else if s.value < 0 {
				s.value = i
			}
		}
		s.last = token{i, end}
		i = end
	}
	return s
}

// within reports whether the innermost open bracket is the given one.
func (s *spot) within(bracket byte) bool {
	return len(s.open) > 0 && s.open[len(s.open)-1].bracket == bracket
}

// tokenEnd returns the end of the string or the run of plain characters at i.
func (r *reader) tokenEnd(i int) int {
	if c := r.text[i]; c == '"' || c == '\'' {
		return stringEnd(r.text, i)
	}
	if n := strings.IndexAny(r.text[i+1:], " \t\r\n,=[]{}#\"'"); n >= 0 {
		return i + 1 + n
	}
	return len(r.text)
}

// rest returns the text from an offset to the end of its line, without a carriage return.
func (r *reader) rest(at int) string {
	return strings.TrimRight(r.text[at:lineEnd(r.text, at)], "\r")
}

// char returns the character at an offset, "" at the end, "\n" at a line end of either kind.
func (r *reader) char(at int) string {
	if at >= len(r.text) {
		return ""
	}
	if strings.HasPrefix(r.text[at:], "\r\n") {
		return "\n"
	}
	_, n := utf8.DecodeRuneInString(r.text[at:])
	return r.text[at : at+n]
}

// atLineEnd reports whether nothing but blanks and a comment follows on the line.
func (r *reader) atLineEnd(at int) bool {
	rest := strings.TrimLeft(r.rest(at), " \t")
	return rest == "" || rest[0] == '#'
}
