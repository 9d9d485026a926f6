package command

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ferrule/netlist"
	"ferrule/netlist/built"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	_ "ferrule/rules/all" // every rule of the catalogue
)

// standardInput is the argument that stands for it.
const standardInput = "-"

// A harness is a netlist that has been read, with all that is to be said about it.
type harness struct {
	name         string // as the user gave it
	netlist      *model.Netlist
	graph        *graph.Graph
	findings     diag.List // of the language and of the rules, in the order of the file
	accepted     []rules.Accepted
	status       *built.Status // how far the wires are; nil where no file says so
	statusFaulty bool          // its file has mistakes
	noData       int           // checks that were not made because the file does not say enough
	unread       bool          // part of the text could not be read as a netlist
	unruled      bool          // the rules were not run
}

// load reads a netlist with the files that it includes, and checks it with all rules.
func (inv *invocation) load(name string) (*harness, error) {
	return inv.loadWith(name, rules.Options{})
}

// loadWith is load with some of the rules.
func (inv *invocation) loadWith(name string, o rules.Options) (*harness, error) {
	n, diags, err := inv.read(name)
	if err != nil {
		return nil, err
	}
	if err := stateOf(n, o.State); err != nil {
		return nil, err
	}
	h := judge(n, diags, o)
	h.name = name
	if name == standardInput {
		return h, nil
	}
	folder, base := filepath.Split(name)
	root, err := os.OpenRoot(filepath.Clean(folder + "."))
	if err != nil {
		return nil, unreadable(name, err)
	}
	defer root.Close()
	return h, h.holdStatus(root.FS(), base)
}

// judge looks at a netlist that has been read.
func judge(n *model.Netlist, diags diag.List, o rules.Options) *harness {
	h := &harness{netlist: n, graph: graph.New(n), findings: diags, unread: diags.HasErrors()}
	// What a broken text leaves out would be missed by the rules at a hundred places that are in order.
	if h.unruled = brokenText(diags); h.unruled {
		return h
	}
	result := rules.CheckWith(h.graph, o)
	h.findings = append(h.findings, result.Findings...)
	if len(n.Parts)+len(n.Wires) == 0 && len(h.findings.AtLeast(diag.Warning)) == 0 {
		// The wrong file in an automatic check must not pass for a clean harness.
		h.findings = append(h.findings, diag.Diagnostic{
			Rule: "missing-value", Severity: diag.Warning, Span: n.Files[0].Span(0, 0),
			Message: "this netlist has no parts and no wires", Help: "write [part] and [wire], or look whether it is the right file",
		})
	}
	h.findings.Sort()
	h.accepted, h.noData = result.Accepted, result.NoData
	return h
}

// brokenText reports whether part of the text is not TOML, or a file is missing, so that parts of the harness are not
// known at all.
func brokenText(diags diag.List) bool {
	for _, d := range diags {
		if d.Rule == "syntax" || d.Rule == "include" {
			return true
		}
	}
	return false
}

// refusals are the rules of the language by which a value is refused.
var refusals = []string{"bad-value", "out-of-range", "wrong-type"}

// tellRefused says which values of the file were refused, since what is computed goes on without them; and whether there were any.
func (inv *invocation) tellRefused(h *harness) bool {
	any := false
	for i := range h.findings {
		if d := &h.findings[i]; d.Severity == diag.Error && slices.Contains(refusals, d.Rule) {
			any = true
			at := d.Span.Begin()
			inv.say("refused, and left out: %s:%d:%d: %s", d.Span.File.Name, at.Line, at.Column, d.Message)
		}
	}
	return any
}

// read reads a netlist from a file or from standard input. Its files are named from the folder of the root file.
func (inv *invocation) read(name string) (*model.Netlist, diag.List, error) {
	if name == standardInput {
		text, err := io.ReadAll(inv.in)
		if err != nil {
			return nil, nil, fmt.Errorf("reading standard input: %w", err)
		}
		n, diags := netlist.Parse("standard input", text)
		return n, diags, nil
	}
	if err := refuseStatus(name); err != nil {
		return nil, nil, err
	}
	folder, base := filepath.Split(name)
	// A root confines what is opened to the folder, even where a symbolic link in it leads elsewhere.
	root, err := os.OpenRoot(filepath.Clean(folder + "."))
	if err != nil {
		return nil, nil, unreadable(name, err)
	}
	defer root.Close()
	n, diags, err := netlist.Load(root.FS(), base)
	if err != nil {
		return nil, nil, unreadable(name, err)
	}
	return n, diags, nil
}

// nameAsGiven puts the folder that the user typed before the names of the files, so that what is printed about them can
// be opened from where the command was typed. The order of the findings stays as it is.
func (h *harness) nameAsGiven() {
	folder, _ := filepath.Split(h.name)
	files := h.netlist.Files
	if h.status != nil {
		files = append(slices.Clip(files), h.status.File)
	}
	for _, f := range files {
		f.Name = filepath.ToSlash(folder) + f.Name
	}
}

// unreadable puts into words why a file cannot be read, with the name that was probably meant.
func unreadable(name string, err error) error {
	var reason *fs.PathError
	folder, base := filepath.Split(name)
	info, statErr := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist) || base == "":
		if near, ok := nearestFile(filepath.Clean(folder+"."), base); ok {
			return &inputError{name + ": there is no such file", fmt.Sprintf("did you mean %s?", folder+near)}
		}
		if statErr != nil {
			return &inputError{name + ": there is no such file", "`ferrule new` writes a harness to start from"}
		}
		fallthrough
	case statErr == nil && info.IsDir():
		return &inputError{name + ": this is a folder", "give the file that includes the others"}
	case errors.As(err, &reason):
		return &inputError{fmt.Sprintf("%s: %v", name, reason.Err), "a netlist and what it includes must be readable files in one folder"}
	}
	return fmt.Errorf("%s: %w", name, err)
}

func nearestFile(folder, base string) (string, bool) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return "", false
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() {
			names = append(names, e.Name())
		}
	}
	return diag.Nearest(base, names)
}

// summary is the line about a harness that goes to standard error.
func (h *harness) summary() string {
	parts := []string{countOf(len(h.netlist.Wires), "wire"), summaryOf(h.findings)}
	if n := len(h.accepted); n > 0 {
		parts = append(parts, fmt.Sprintf("%d accepted", n))
	}
	if h.noData > 0 {
		parts = append(parts, countOf(h.noData, "check")+" had no data")
	}
	if h.unruled {
		parts = append(parts, "rules not run: repair the text first")
	}
	name := h.name
	if name == standardInput {
		name = "standard input"
	}
	return name + ": " + strings.Join(parts, ", ")
}

// countOf writes a number of things: "1 wire", "231 wires".
func countOf(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
