package command

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/graph"
	"ferrule/netlist/route"
)

var sizeCommand = &command{
	name: "size", takes: "FILE", least: 1, most: 1,
	title: "find the size of every wire and the rating of every fuse",
	doc: `For each wire: the smallest standard size that meets ampacity, drop budgets, the fuse ahead of it, the mechanical minimum
and the terminals at its ends where the file states what they take, and which of these decided. Below a wire stands what
else concerns it: a budget that no size keeps, its part in the loop of a starter. For each fuse: the ratings between what
its loads ask for and what the wires behind it bear. A number with ~ rests on a guess or an assumption.

With --write, wires that are too thin or have no size and fuses outside their span are changed in the files; nothing else
in them is touched, and a file with mistakes is not changed at all.

Exit code: 0 nothing has to change (with --write: any more), 1 something has to, 2 unusable input or nothing written.`,
	flags:   []*option{flagUnits, flagWriteSizes, flagSizeFormat},
	example: []string{"ferrule size truck.toml", "ferrule size truck.toml --units mm2 --format csv", "ferrule size truck.toml --write"},
}

// The flags of size.
var (
	flagUnits = &option{name: "units", takes: "UNITS", choices: []string{"awg", "mm2"},
		doc: "what sizes are chosen from; when left out, the units in which each wire is written"}
	flagWriteSizes = &option{name: "write", doc: "put the sizes and ratings that must change into the files"}
	flagSizeFormat = &option{name: "format", takes: "FORMAT", choices: []string{"text", "json", "csv"}, initial: "text",
		doc: "how the result is written"}
)

func init() { sizeCommand.run = runSize }

func runSize(inv *invocation) (int, error) {
	o := sizing.Options{Units: inv.value(flagUnits)}
	if _, write := inv.values[flagWriteSizes]; write {
		return inv.writeSizes(inv.files[0], o)
	}
	n, diags, err := inv.read(inv.files[0])
	if err != nil {
		return exitUnusable, err
	}
	if brokenText(diags) {
		return exitUnusable, hasMistakes(inv.files[0])
	}
	if diags.HasErrors() {
		inv.say("%s has mistakes, and what they concern is left out: run `ferrule check %s`", inv.files[0], inv.files[0])
	}
	report := sizing.New(graph.New(n), route.New(n), o)
	if err := printSizes(inv.out, inv.value(flagSizeFormat), report); err != nil {
		return exitUnusable, err
	}
	if report.Open() > 0 {
		return exitFindings, nil
	}
	return exitClean, nil
}

func hasMistakes(name string) error {
	return &inputError{name + " has mistakes", fmt.Sprintf("run `ferrule check %s` and repair them first", name)}
}

// writeSizes revises the files of a harness: all that must change, or none.
func (inv *invocation) writeSizes(name string, o sizing.Options) (int, error) {
	if name == standardInput {
		return exitUnusable, &usageError{"--write cannot change standard input", "give the name of the file"}
	}
	folder, base := filepath.Split(name)
	folder = filepath.Clean(folder + ".")
	root, err := os.OpenRoot(folder)
	if err != nil {
		return exitUnusable, unreadable(name, err)
	}
	defer root.Close()
	rev, err := sizing.Revise(root.FS(), base, o)
	var faulty *sizing.FaultyError
	switch {
	case errors.As(err, &faulty):
		return exitUnusable, hasMistakes(name)
	case err != nil:
		return exitUnusable, unreadable(name, err)
	}
	if err := rewrite(root, rev.Files); err != nil {
		return exitUnusable, err
	}
	if err := printChanges(inv.out, inv.value(flagSizeFormat), rev); err != nil {
		return exitUnusable, err
	}
	if err := inv.out.Flush(); err != nil {
		return exitUnusable, err
	}
	inv.say("%s: %s in %s", name, countOf(len(rev.Changes), "change"), countOf(len(rev.Files), "file"))
	if open := rev.After.Open(); open > 0 {
		inv.say("%s cannot be put right by a size or rating: run `ferrule size %s`", countOf(open, "wire or fuse"), name)
		return exitFindings, nil
	}
	return exitClean, nil
}
