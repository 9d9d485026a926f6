package command

import (
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"

	"ferrule/netlist"
	"ferrule/netlist/built"
	"ferrule/netlist/diag"
	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
	"ferrule/rules"
)

// runStagedCheck is check for what is staged: it finds the root files by itself and reads the index.
func runStagedCheck(inv *invocation) (int, error) {
	// Three processes of git that do not depend on each other: each takes longer to start than to answer.
	list := sync.OnceValues(listIndex)
	go list() //nolint:errcheck // readIndex gets the answer
	blobs, blobsErr := openBlobs()
	if blobsErr == nil {
		defer blobs.close()
	}
	tree, changed, err := stagedChanges()
	if err != nil {
		return exitUnusable, err
	}
	if len(changed) == 0 {
		return exitClean, nil
	}
	index, err := readIndex(list, tree, changed)
	if err != nil {
		return exitUnusable, err
	}
	roots := index.roots(changed)
	if len(roots) == 0 {
		return exitClean, nil
	}
	if index.blobs = blobs; blobsErr != nil {
		return exitUnusable, blobsErr
	}
	return inv.checkStaged(index, roots, changed)
}

// checkStaged checks every one of the files that is a root and that a change concerns, and prints what check would print.
func (inv *invocation) checkStaged(index *gitIndex, roots []string, changed stagedPaths) (int, error) {
	threshold, _ := diag.ParseSeverity(inv.value(flagHookAtLeast))
	var findings diag.List
	var harnesses []*harness
	code := exitClean
	for _, root := range roots {
		concerned, err := index.concerns(root, changed)
		if err == nil && !concerned {
			continue
		}
		var h *harness
		if err == nil {
			h, err = index.load(root)
		}
		if err != nil {
			code = inv.finish(code, err)
			continue
		}
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

// roots returns the files that may be roots and may be concerned, sorted: what a root includes lies in its folder or below,
// so where nothing has changed there no text is looked at. A link is none: what it leads to is one if it is in the index.
func (index *gitIndex) roots(changed stagedPaths) []string {
	folders := map[string]bool{}
	for name := range changed {
		for folder := path.Dir(name); !folders[folder]; folder = path.Dir(folder) {
			folders[folder] = true
		}
	}
	var names []string
	for name, entry := range index.entries {
		plain := entry.mode != modeLink && entry.mode != modeSubmodule
		if plain && strings.EqualFold(path.Ext(name), ".toml") && folders[path.Dir(name)] {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// concerns reports whether a file is a root and a change touches it or what it includes.
func (index *gitIndex) concerns(root string, changed stagedPaths) (bool, error) {
	text, err := index.blobs.content(index.entries[root].blob)
	if err != nil || !isRoot(root, text) {
		return false, err
	}
	if changed.has(root) || changed.has(built.FileName(root)) {
		return true, nil
	}
	files := index.filesFor(root)
	files.namesOnly = true
	if _, _, err = netlist.Load(files, root); files.refused == nil && err != nil {
		return false, err
	}
	for name := range files.asked {
		if changed.has(name) {
			return true, nil
		}
	}
	return false, nil
}

func (index *gitIndex) filesFor(root string) *stagedTree {
	return &stagedTree{index: index, folder: path.Dir(root), asked: map[string]bool{}}
}

// harnessHead is a line that begins a [harness] table in one of the ways that TOML has, or was probably meant to.
var harnessHead = regexp.MustCompile(`(?m)^\x{FEFF}?[ \t]*\[?[ \t]*["']?harness["']?[ \t]*(\]|=|\.|#|\r?$)`)

// isRoot reports whether a text has a [harness] table. Most files are told apart by their lines, without being parsed. A text
// with a mistake must not slip through as no root because it is in that line.
func isRoot(name string, text []byte) bool {
	if !harnessHead.Match(text) {
		return false
	}
	tree, diags := syntax.Parse(source.NewFile(name, text))
	e := tree.Get("harness")
	return e != nil && e.Value.Kind == syntax.TableValue || diags.HasErrors()
}

// load reads a root file with what it includes from the index and checks it.
func (index *gitIndex) load(root string) (*harness, error) {
	files := index.filesFor(root)
	n, diags, err := netlist.Load(files, root)
	if files.refused != nil {
		return nil, &inputError{root + ": " + files.refused.message, files.refused.help}
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", root, err)
	}
	h := judge(n, diags, rules.Options{})
	h.name = root + ", as staged"
	err = h.holdStatus(files, root)
	if files.refused != nil {
		return nil, &inputError{root + ": " + files.refused.message, files.refused.help}
	}
	return h, err
}
