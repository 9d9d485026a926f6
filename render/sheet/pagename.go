package sheet

import (
	"fmt"
	"strings"
	"unicode"
)

// pageNames hands out names of pages that are unique and can be typed and used for files: letters, digits, "-", "_" and
// "+". Other characters of a designator become "_"; where that makes two the same, the later gets a number behind "~".
type pageNames map[string]bool

func (n pageNames) take(kind, ref string) string {
	stem := kind + "-" + strings.Map(nameRune, ref)
	name := stem
	for i := 2; n[name]; i++ {
		name = fmt.Sprintf("%s~%d", stem, i)
	}
	n[name] = true
	return name
}

func nameRune(r rune) rune {
	if strings.ContainsRune("-_+", r) || unicode.IsLetter(r) || unicode.IsDigit(r) {
		return r
	}
	return '_'
}

// continuedName names page number of those that begin with the page name. The full stop is in no name that take gives.
func continuedName(name string, number int) string {
	if number == 1 {
		return name
	}
	return fmt.Sprintf("%s.%d", name, number)
}
