package command

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/edit"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
)

// runCheck reads every file that it can, so that one name that is misspelt does not hide the findings of the others.
func runCheck(inv *invocation) (int, error) {
	threshold, _ := diag.ParseSeverity(inv.value(flagAtLeast))
	options, err := inv.ruleOptions()
	if err != nil {
		return exitUnusable, err
	}
	var findings diag.List
	var harnesses []*harness
	code := exitClean
	for _, name := range inv.files {
		h, err := inv.loadOrFix(name, options)
		if err != nil {
			code = inv.finish(code, err)
			continue
		}
		h.nameAsGiven()
		harnesses = append(harnesses, h)
		findings = append(findings, h.findings.AtLeast(threshold)...)
	}
	findings.Sort()
	if err := inv.printFindings(findings); err != nil {
		return code, err
	}
	if err := inv.out.Flush(); err != nil {
		return max(code, codeOf(findings)), err
	}
	for _, h := range harnesses {
		inv.say("%s", h.summary())
	}
	return max(code, codeOf(findings)), nil
}

func codeOf(findings diag.List) int {
	if len(findings) > 0 {
		return exitFindings
	}
	return exitClean
}

// ruleOptions reads which rules are to run, and in which state.
func (inv *invocation) ruleOptions() (rules.Options, error) {
	o := rules.Options{State: inv.values[flagInState]}
	var err error
	if o.Only, err = ruleNames(inv.values[flagOnly]); err == nil {
		o.Except, err = ruleNames(inv.values[flagExcept])
	}
	if err == nil && len(o.Only) > 0 && !slices.ContainsFunc(o.Only, func(name string) bool { return !slices.Contains(o.Except, name) }) {
		err = &usageError{"--except leaves none of the rules of --only", "take one of the two flags out"} // nothing looked at is not clean
	}
	return o, err
}

func ruleNames(list string) ([]string, error) {
	if list == "" {
		return nil, nil
	}
	names := strings.Split(list, ",")
	for i := range names {
		names[i] = strings.TrimSpace(names[i])
		if rules.Find(names[i]) == nil {
			return nil, unknownWord("rule", names[i], rules.Names(), "run `ferrule explain` for the list")
		}
	}
	return names, nil
}

// stateOf refuses a state that the file does not have.
func stateOf(n *model.Netlist, name string) error {
	if name == "" {
		return nil
	}
	var known []string
	for _, s := range n.States {
		if s.Name.Text == name {
			return nil
		}
		known = append(known, s.Name.Text)
	}
	return unknownWord("state", name, known, "the file has: "+strings.Join(known, ", "))
}

// loadOrFix reads a netlist, and with --fix makes the sure changes first.
func (inv *invocation) loadOrFix(name string, o rules.Options) (*harness, error) {
	h, err := inv.loadWith(name, o)
	if _, fix := inv.values[flagFix]; err != nil || !fix {
		return h, err
	}
	if name == standardInput {
		return nil, &usageError{"--fix cannot change standard input", "give the name of the file"}
	}
	folder, _ := filepath.Split(name)
	// A change can bring the next one to light; each round has to find fewer.
	for before := 1 << 30; ; {
		edits, titles := sureEdits(h.findings)
		if len(edits) == 0 || len(titles) >= before {
			return h, nil
		}
		before = len(titles)
		if err := inv.applyEdits(name, edits); err != nil {
			return nil, err
		}
		for _, t := range titles {
			inv.say("%s%s", filepath.ToSlash(folder), t)
		}
		if h, err = inv.loadWith(name, o); err != nil {
			return nil, err
		}
	}
}

// sureEdits returns the edits of the findings' sure fixes, one fix a finding, and a line about each. Of two fixes that
// touch the same words the first is made; the other is found again afterwards, if it is still called for.
func sureEdits(findings diag.List) (edits []source.Edit, titles []string) {
	for _, d := range findings {
		for _, f := range d.Fixes {
			if f.Safe && apart(edits, f.Edits) {
				edits = append(edits, f.Edits...)
				begin := d.Span.Begin()
				titles = append(titles, fmt.Sprintf("%s:%d: %s", d.Span.File.Name, begin.Line, f.Title))
				break
			}
		}
	}
	return edits, titles
}

// apart reports whether no two edits of the two lists touch.
func apart(a, b []source.Edit) bool {
	for _, x := range a {
		for _, y := range b {
			if x.Span.File == y.Span.File && x.Span.Start <= y.Span.End && y.Span.Start <= x.Span.End {
				return false
			}
		}
	}
	return true
}

func (inv *invocation) applyEdits(name string, edits []source.Edit) error {
	revised, err := edit.ApplyAll(edits)
	if err != nil {
		return err
	}
	folder, _ := filepath.Split(name)
	root, err := os.OpenRoot(filepath.Clean(folder + "."))
	if err != nil {
		return unreadable(name, err)
	}
	defer root.Close()
	return rewrite(root, revised)
}
