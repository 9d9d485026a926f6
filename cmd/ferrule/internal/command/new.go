package command

import (
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

//go:embed new.toml
var newHarness []byte

func runNew(inv *invocation) (int, error) {
	name := "harness.toml"
	if len(inv.files) == 1 {
		name = newFile(inv.files[0])
	}
	if _, err := os.Lstat(name); err == nil {
		return exitUnusable, &inputError{name + " is there already, and stays as it is", "give another name, as in `ferrule new truck.toml`"}
	}
	if err := writeNew(name, newHarness); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return exitUnusable, &inputError{name + " is there already, and stays as it is", "give another name, as in `ferrule new truck.toml`"}
		}
		return exitUnusable, err
	}
	fmt.Fprintln(inv.out, name)
	inv.say("next: ferrule check %s", name)
	return exitClean, nil
}

// newFile is the file that an argument of new means.
func newFile(arg string) string {
	if strings.EqualFold(filepath.Ext(arg), ".toml") {
		return arg
	}
	return filepath.Join(arg, "harness.toml")
}
