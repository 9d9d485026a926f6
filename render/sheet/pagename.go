package sheet

import (
	"fmt"
	"strings"
	"unicode"
)

// pageNames hands out names of pages that are unique and fit for files on every system: letters, digits, "-", "_", "+".
// Other characters of a designator become "_"; two designators that become the same are told apart by a number behind
// "~". A page that continues another adds a full stop and its number, which no designator can bring along.
type pageNames map[string]bool

func (n pageNames) take(name string) string {
	stem, number, continued := name, "", false
	if i := strings.LastIndexByte(name, '.'); i >= 0 && n[name[:i]] {
		stem, number, continued = name[:i], name[i:], true
	}
	if !continued {
		stem = strings.Map(nameRune, stem)
	}
	unique := stem + number
	for i := 2; n[unique]; i++ {
		unique = fmt.Sprintf("%s~%d%s", stem, i, number)
	}
	n[unique] = true
	return unique
}

func nameRune(r rune) rune {
	if r == '-' || r == '_' || r == '+' || r != unicode.ReplacementChar && (unicode.IsLetter(r) || unicode.IsDigit(r)) {
		return r
	}
	return '_'
}
