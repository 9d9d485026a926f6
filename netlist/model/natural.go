package model

import "strings"

// CompareNatural orders designators as people count: runs of digits by their value, the rest letter by letter, so that
// F2 stands before F10 and wire 2a before 10a. Texts that differ only in leading zeros are ordered as plain texts, so
// that no two different texts are equal.
func CompareNatural(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		var order int
		if isDigit(x[0]) && isDigit(y[0]) {
			var m, n string
			m, x = cutDigits(x)
			n, y = cutDigits(y)
			order = compareNumbers(m, n)
		} else {
			order = int(x[0]) - int(y[0])
			x, y = x[1:], y[1:]
		}
		if order != 0 {
			return order
		}
	}
	if order := len(x) - len(y); order != 0 {
		return order
	}
	return strings.Compare(a, b)
}

// compareNumbers compares runs of digits by value. Their length decides first, so that no number is too large.
func compareNumbers(m, n string) int {
	m, n = strings.TrimLeft(m, "0"), strings.TrimLeft(n, "0")
	if len(m) != len(n) {
		return len(m) - len(n)
	}
	return strings.Compare(m, n)
}

func cutDigits(s string) (digits, rest string) {
	end := 0
	for end < len(s) && isDigit(s[end]) {
		end++
	}
	return s[:end], s[end:]
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }
