package command

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"ferrule/netlist/built"
	"ferrule/netlist/cut"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/source"
)

// buildable is a netlist as its status file is held against it. base is the name of the root file without its folder.
func buildable(n *model.Netlist, base string) *built.Harness {
	return &built.Harness{Netlist: n, File: base, Length: cut.New(n, route.New(n)).Length}
}

// drawnStatus is the status as the sheets show it: none where the file is there and nobody knows which of its lines are true.
func (h *harness) drawnStatus() *built.Status {
	if h.status == nil || h.statusFaulty {
		return nil
	}
	return h.status
}

// statusText reads the status file beside a netlist; nil where there is none.
func statusText(files fs.FS, netlist string) (*source.File, error) {
	name := built.FileName(netlist)
	text, err := fs.ReadFile(files, name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, unreadableStatus(name, err)
	}
	return source.NewFile(name, text), nil
}

func unreadableStatus(name string, err error) error {
	var reason *fs.PathError
	if errors.As(err, &reason) {
		return &inputError{fmt.Sprintf("%s: %v", name, reason.Err), "the status file must be a readable file beside the netlist"}
	}
	return fmt.Errorf("%s: %w", name, err)
}

// holdStatus holds the status file that lies beside a netlist against it, and adds what there is to say. What a broken text leaves
// out would be missed in the status too.
func (h *harness) holdStatus(files fs.FS, netlist string) error {
	if h.unruled {
		return nil
	}
	f, err := statusText(files, netlist)
	if f == nil || err != nil {
		return err
	}
	status, findings := built.Read(f, buildable(h.netlist, filepath.Base(filepath.FromSlash(netlist))))
	h.status, h.statusFaulty = status, findings.HasErrors()
	h.findings = append(append(h.findings, findings...), status.Findings()...)
	h.findings.Sort()
	return nil
}

// refuseStatus says which file is meant where a status file is given for a netlist.
func refuseStatus(name string) error {
	if !built.IsFileName(name) {
		return nil
	}
	netlist := name[:len(name)-len(built.FileName(".toml"))] + ".toml"
	return &inputError{name + " is the status file of a netlist", "give the netlist: " + netlist}
}

// onlyHarness returns the one netlist of the current folder that is a root file.
func onlyHarness(command string) (string, error) {
	entries, err := os.ReadDir(".")
	if err != nil {
		return "", fmt.Errorf("looking for a netlist: %w", err)
	}
	var roots []string
	for _, e := range entries {
		name := e.Name()
		if e.IsDir() || filepath.Ext(name) != ".toml" || built.IsFileName(name) {
			continue
		}
		if text, err := os.ReadFile(name); err == nil && isRoot(name, text) {
			roots = append(roots, name)
		}
	}
	switch len(roots) {
	case 1:
		return roots[0], nil
	case 0:
		return "", &usageError{fmt.Sprintf("ferrule %s needs a netlist, and this folder has none", command), fmt.Sprintf("give its file first: ferrule %s truck.toml ...", command)}
	}
	return "", &usageError{fmt.Sprintf("ferrule %s needs to know which netlist is meant: this folder has %s", command, listOf(roots)), fmt.Sprintf("give its file first: ferrule %s %s ...", command, roots[0])}
}

// listOf writes names as people do: "a, b and c".
func listOf(names []string) string {
	switch n := len(names); n {
	case 0:
		return ""
	case 1:
		return names[0]
	default:
		text := names[0]
		for _, name := range names[1 : n-1] {
			text += ", " + name
		}
		return text + " and " + names[n-1]
	}
}
