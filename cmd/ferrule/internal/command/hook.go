package command

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// The threshold of the hook is not that of check: a commit is a step on the way, and warnings are no reason to refuse it.
var flagHookAtLeast = &option{name: "at-least", takes: "SEVERITY", choices: flagAtLeast.choices, initial: "error",
	doc: "what is shown, and what stops the commit; install writes it into the hook"}

var hookCommand = &command{
	name: "hook", takes: "install|show|remove|run", most: 1,
	title: "have git check what is staged before each commit",
	doc: `install  puts a pre-commit hook into this repository that calls ferrule hook run
show     prints the hook that is installed, or that install would write
remove   takes the hook away
run      checks what is staged; this is what the hook does

What is checked is the index of git, which is what the commit will hold, and not the files in the folders: every root file
(a .toml file with a [harness] table) of which a staged change touches the text or an included file. Where none is
touched it ends at once. A hook that is there already and is not from Ferrule, or was changed by hand, stays as it is:
install then says which line to put into it.

Exit code: 0 nothing at or above the threshold, or done; 1 findings, and the commit is stopped; 2 a file that cannot be
read, a hook that was left alone, or a wrong command line. ` + "`git commit --no-verify`" + ` commits without the hook.`,
	flags:   []*option{flagHookAtLeast},
	example: []string{"ferrule hook install", "ferrule hook install --at-least warning", "ferrule hook run"},
}

func init() { hookCommand.run = runHook }

// hookActions are the words that may follow hook.
var hookActions = []string{"install", "show", "remove", "run"}

func runHook(inv *invocation) (int, error) {
	if len(inv.files) == 0 {
		return exitUnusable, &usageError{"ferrule hook needs to know what to do", "write ferrule hook with one of: " + strings.Join(hookActions, ", ")}
	}
	switch inv.files[0] {
	case "run":
		return runStagedCheck(inv)
	case "install":
		return withHook(inv, installHook)
	case "show":
		return withHook(inv, showHook)
	case "remove":
		if _, given := inv.values[flagHookAtLeast]; given {
			return exitUnusable, &usageError{"ferrule hook remove takes no --at-least", "it removes the hook whatever its threshold is"}
		}
		return withHook(inv, removeHook)
	}
	return exitUnusable, unknownWord("action of hook", inv.files[0], hookActions, "it can be: "+strings.Join(hookActions, ", "))
}

// A hookState says whose the file is that git would run.
type hookState uint8

const (
	hookNone    hookState = iota + 1 // there is no file
	hookOurs                         // as install wrote it
	hookChanged                      // install wrote it and somebody changed it
	hookForeign                      // everything else, also a link or a folder
)

// An installedHook is the place of the hook and what stands there.
type installedHook struct {
	name  string // of the file
	scope string // where core.hooksPath is set: "local", "global" and so on; empty when it is not set
	state hookState
	text  string      // of the file, where it can be read
	mode  fs.FileMode // of the file
}

// withHook looks for the hook and does something with it.
func withHook(inv *invocation, do func(*invocation, *installedHook) (int, error)) (int, error) {
	h, err := findHook()
	if err != nil {
		return exitUnusable, err
	}
	return do(inv, h)
}

// findHook looks at the file that git runs before a commit of this repository.
func findHook() (*installedHook, error) {
	folder, scope, err := hooksFolder()
	if err != nil {
		return nil, err
	}
	h := &installedHook{name: filepath.Join(folder, "pre-commit"), scope: scope, state: hookForeign}
	info, err := os.Lstat(h.name)
	if errors.Is(err, fs.ErrNotExist) {
		h.state = hookNone
		return h, nil
	}
	if err != nil {
		return nil, err
	}
	// A link is left alone whatever it leads to: somebody who manages hooks has put it there.
	if h.mode = info.Mode(); !h.mode.IsRegular() {
		return h, nil
	}
	text, err := os.ReadFile(h.name)
	if err != nil {
		return nil, err
	}
	h.text = string(text)
	h.state = authorOf(h.text)
	return h, nil
}

func installHook(inv *invocation, h *installedHook) (int, error) {
	threshold := inv.value(flagHookAtLeast)
	if h.state == hookForeign && callsHook(h.text) {
		inv.say("%s calls ferrule hook run already, and stays as it is", h.name)
		return exitClean, nil
	}
	if err := h.refuse("put this line into it: " + hookLine(threshold) + " || exit $?"); err != nil {
		return exitUnusable, err
	}
	if err := writeHook(h.name, hookScript(threshold)); err != nil {
		return exitUnusable, err
	}
	fmt.Fprintln(inv.out, h.name)
	inv.say("before each commit the harnesses of what is staged are checked; a finding of severity %s stops it", orWorse(threshold))
	h.sayShared(inv)
	return exitClean, nil
}

// orWorse names a severity and those above it.
func orWorse(threshold string) string {
	if threshold == "error" {
		return threshold
	}
	return threshold + " or worse"
}

// sayShared warns of a folder of hooks that more than this repository runs: its setting is not kept in the repository.
func (h *installedHook) sayShared(inv *invocation) {
	if h.scope == "global" || h.scope == "system" {
		inv.say("core.hooksPath is set for more than this repository (%s): the hook runs in all that share the folder", h.scope)
	}
}

// refuse returns an error when the file is not ours to write or remove, with the way out.
func (h *installedHook) refuse(way string) error {
	switch h.state {
	case hookForeign:
		return &inputError{h.name + " is not from ferrule, and stays as it is", way}
	case hookChanged:
		return &inputError{h.name + " was changed after ferrule wrote it, and stays as it is", "look through it, delete it by hand, and run `ferrule hook install` for a new one"}
	}
	return nil
}

func showHook(inv *invocation, h *installedHook) (int, error) {
	threshold := inv.value(flagHookAtLeast)
	switch h.state {
	case hookNone:
		inv.say("not installed; `ferrule hook install` would write this into %s", h.name)
		fmt.Fprint(inv.out, hookScript(threshold))
		return exitClean, nil
	case hookForeign:
		if callsHook(h.text) {
			inv.say("%s is not from ferrule and calls it", h.name)
			fmt.Fprint(inv.out, h.text)
			return exitClean, nil
		}
		inv.say("%s is not from ferrule; this line in it would check what is staged", h.name)
		fmt.Fprintf(inv.out, "%s || exit $?\n", hookLine(threshold))
		return exitClean, nil
	}
	inv.say("installed: %s%s", h.name, h.remark())
	fmt.Fprint(inv.out, h.text)
	return exitClean, nil
}

// remark is what is peculiar about a hook that ferrule wrote.
func (h *installedHook) remark() string {
	switch {
	case h.mode&0o111 == 0 && os.PathSeparator == '/':
		return ", but it is not executable and git passes over it; `ferrule hook install` repairs it"
	case h.state == hookChanged:
		return ", changed by hand since"
	}
	return ""
}

func removeHook(inv *invocation, h *installedHook) (int, error) {
	if h.state == hookNone {
		inv.say("%s: there is no hook", h.name)
		return exitClean, nil
	}
	way := "nothing in it calls ferrule"
	if callsHook(h.text) {
		way = "take the line with `ferrule hook run` out of it"
	}
	if err := h.refuse(way); err != nil {
		return exitUnusable, err
	}
	if err := os.Remove(h.name); err != nil {
		return exitUnusable, err
	}
	fmt.Fprintln(inv.out, h.name)
	inv.say("removed; nothing is checked before a commit")
	return exitClean, nil
}
