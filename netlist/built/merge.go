package built

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
)

// The marks that git writes around the two sides of what it could not merge (git-merge(1), "How conflicts are presented").
const (
	markOurs, markBase, markTheirs, markEnd = "<<<<<<<", "|||||||", "=======", ">>>>>>>"
)

// wireLine is a line that begins with the key of a wire.
var wireLine = regexp.MustCompile(`^\s*["']?([^\s"'=#\[\]]+)["']?\s*=`)

// mergeMarks reports every place that git could not merge; nil where there is none. Each finding names the wires of the two
// sides, since these are what somebody has to decide.
func mergeMarks(f *source.File) diag.List {
	var list diag.List
	var open *conflict
	for n := 1; n <= f.LineCount(); n++ {
		line := f.Line(n)
		switch {
		case marked(line, markOurs):
			open.close(&list)
			open = &conflict{file: f, line: n}
		case marked(line, markEnd):
			if open == nil {
				open = &conflict{file: f, line: n}
			}
			open = open.close(&list)
		case line == markTheirs || marked(line, markBase):
			if open == nil {
				open = &conflict{file: f, line: n}
			}
		case open != nil:
			if m := wireLine.FindStringSubmatch(line); m != nil && !slices.Contains(open.wires, m[1]) {
				open.wires = append(open.wires, m[1])
			}
		}
	}
	open.close(&list)
	return list
}

// marked reports whether a line is a mark: the signs alone, or with a name behind them.
func marked(line, mark string) bool { return line == mark || strings.HasPrefix(line, mark+" ") }

// A conflict is one place that git could not merge.
type conflict struct {
	file  *source.File
	line  int // of its first mark
	wires []string
}

// close reports a conflict, if there is one open, and returns nil.
func (c *conflict) close(list *diag.List) *conflict {
	if c == nil {
		return nil
	}
	about := "a place"
	if len(c.wires) > 0 {
		about = strings.Join(c.wires, ", ")
	}
	d := list.Errorf(ruleConflict, c.file.LineSpan(c.line), "git could not merge what two people have marked: %s", about)
	d.Refs = c.wires
	d.Help = "keep one line for each wire, as a rule the one with the later stage, and take out the lines with " +
		fmt.Sprintf("%s, %s and %s", markOurs, markTheirs, markEnd)
	return nil
}
