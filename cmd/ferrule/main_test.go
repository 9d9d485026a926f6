package main

import (
	"bytes"
	"errors"
	"flag"
	"io"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"ferrule/cmd/ferrule/internal/command"
)

var update = flag.Bool("update", false, "rewrite the expected parts of scripts and the generated documents")

// TestMain lets the scripts run the program itself under the name ferrule.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"ferrule": main})
}

// TestScripts drives the whole command line from outside: every command, every exit code, every help text.
func TestScripts(t *testing.T) {
	// The compiled layout engine is kept for all scripts; each would compile it anew in a home of its own.
	cache := t.TempDir()
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(env *testscript.Env) error {
			env.Setenv("XDG_CACHE_HOME", cache)
			return nil
		},
		Condition: func(name string) (bool, error) {
			if name == "root" {
				return os.Geteuid() == 0, nil
			}
			return false, errors.New("no such condition")
		},
	})
}

// noEnvironment is an environment in which nothing is set.
func noEnvironment(string) string { return "" }

// runInside runs the program within the test and returns what it printed.
func runInside(stdin io.Reader, args ...string) (code int, stdout, stderr string) {
	var out, talk bytes.Buffer
	code = command.Run(args, stdin, &out, &talk, noEnvironment, drawing)
	return code, out.String(), talk.String()
}
