package syntax

import "strings"

// maxNesting is the number of levels (parts of the header and of the key, lists, inline tables) that a value may stand
// deep. A netlist needs about five; the limit keeps every recursion in the program short.
const maxNesting = 200

// decoderNesting is the depth at which the authority is not even asked. It recurses once per level and cannot be
// stopped, and its work grows with the square of the depth. It is above maxNesting because this scan counts roughly.
const decoderNesting = 4 * maxNesting

// tooDeep returns the offset at which the text nests deeper than decoderNesting, or -1. It counts brackets and the dots
// of keys and headers, outside strings and comments, and is exact enough up to the first mistake in the text, where the
// decoder stops anyway.
func tooDeep(text string) int {
	var (
		stack       [decoderNesting + 2]int32 // dots of the keys whose brackets are open
		open        int
		total, dots int32 // levels of the open brackets with their keys; dots of the key being read
		header      int32 // levels of the last header
		inHeader    bool
		beforeValue = true // on this line no = has been seen, so a [ opens a header
	)
	for i := 0; i < len(text); i++ {
		switch c := text[i]; c {
		case '"', '\'':
			i = stringEnd(text, i) - 1
		case '#':
			i = lineEnd(text, i) - 1
		case '.':
			dots++
		case '=':
			beforeValue = false
		case ',':
			dots = 0
		case '\n':
			if open == 0 {
				beforeValue, inHeader, dots = true, false, 0
			}
		case '[', '{':
			if open == 0 && beforeValue {
				inHeader, dots, header = true, 0, 0
				continue
			}
			stack[open] = dots
			open++
			total += dots + 1
			dots = 0
		case ']', '}':
			if inHeader {
				header, dots = max(header, dots+1), 0
			} else if open > 0 {
				open--
				total -= stack[open] + 1
				dots = 0
			}
		}
		if header+total+dots > decoderNesting {
			return i
		}
	}
	return -1
}

// lineEnd returns the offset of the line feed that ends the line at i, or the end of the text.
func lineEnd(text string, i int) int {
	if n := strings.IndexByte(text[i:], '\n'); n >= 0 {
		return i + n
	}
	return len(text)
}

// stringEnd returns the offset after the string that starts with the quote at i. A string of one line that is not
// closed ends at its line end, one of several lines at the end of the text.
func stringEnd(text string, i int) int {
	end, _ := scanString(text, i)
	return end
}

// scanString is stringEnd, and says whether the closing quote was found.
func scanString(text string, i int) (end int, closed bool) {
	quote := text[i]
	if triple := text[i:min(i+3, len(text))]; triple == `"""` || triple == "'''" {
		return scanLongString(text, i+3, triple)
	}
	for i++; i < len(text); i++ {
		switch text[i] {
		case quote:
			return i + 1, true
		case '\n':
			return i, false
		case '\\':
			if quote == '"' && i+1 < len(text) && text[i+1] != '\n' {
				i++
			}
		}
	}
	return len(text), false
}

// scanLongString finds the end of a string in triple quotes; i is after the opening quotes. Up to two quotes just
// before the closing three belong to the text.
func scanLongString(text string, i int, triple string) (end int, closed bool) {
	for ; i < len(text); i++ {
		if text[i] == '\\' && triple[0] == '"' {
			i++
			continue
		}
		if strings.HasPrefix(text[i:], triple) {
			end = i + 3
			for end < len(text) && end < i+5 && text[end] == triple[0] {
				end++
			}
			return end, true
		}
	}
	return len(text), false
}
