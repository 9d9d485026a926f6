package main

import (
	"errors"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	// engine is the package whose initialisation starts the layout engine.
	engine = "github.com/goccy/go-graphviz/internal/wasm"
	early  = "ferrule/cmd/ferrule/internal/early"
	// cache is the package whose initialisation makes a folder for the engine.
	cache = "ferrule/render/layout/wasmcache"
)

// buildProgram builds the program and returns the path of it.
func buildProgram(t *testing.T) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "ferrule")
	if runtime.GOOS == "windows" {
		program += ".exe"
	}
	out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput()
	require.NoError(t, err, "%s", out)
	return program
}

// initialised runs the program and returns the packages that it initialised, with the exit code and the rest of the output.
// The runtime writes one line for each package that has something to do: "init PATH @0.018 ms, ...".
func initialised(t *testing.T, program string, args ...string) (packages []string, code int, stdout, stderr string) {
	t.Helper()
	var out, talk strings.Builder
	cmd := exec.Command(program, args...)
	cmd.Env = append(os.Environ(), "GODEBUG=inittrace=1")
	cmd.Stdout, cmd.Stderr = &out, &talk
	var exit *exec.ExitError
	if err := cmd.Run(); err != nil && !errors.As(err, &exit) {
		require.NoError(t, err)
	}
	var rest strings.Builder
	for line := range strings.Lines(talk.String()) {
		if words := strings.Fields(line); len(words) > 2 && words[0] == "init" && strings.HasPrefix(words[2], "@") {
			packages = append(packages, words[1])
		} else {
			rest.WriteString(line)
		}
	}
	return packages, cmd.ProcessState.ExitCode(), out.String(), rest.String()
}

// commandsOfHelp reads the names of the commands off the help, so that a new one is tested without being named here.
func commandsOfHelp(t *testing.T) []string {
	t.Helper()
	_, help, _ := runInside(nil, "help")
	var names []string
	for _, m := range regexp.MustCompile(`(?m)^  ([a-z]+) `).FindAllStringSubmatch(help, -1) {
		names = append(names, m[1])
	}
	require.Contains(t, names, "check")
	return names
}

// TestTextCommandsDoNotStartTheEngine starts the built program with every command. Only those that draw may pay for the
// engine, and a command that is run early prints what it prints when it is run from main.
func TestTextCommandsDoNotStartTheEngine(t *testing.T) {
	program := buildProgram(t)
	const pickup, broken = "../../examples/pickup/pickup.toml", "../../examples/broken/broken.toml"
	lines := [][]string{
		{"check", pickup}, {"check", broken}, {"check", "--format", "sarif", broken}, {"check"}, {"check", "--no-such-flag"}, {"check", "missing.toml"},
		{"explain"}, {"explain", "unfused-feed"}, {"explain", "nonsense"}, {"version"}, {"--version"}, {"help"}, {"help", "build"}, {"--help"}, {"new", broken},
	}
	for _, name := range commandsOfHelp(t) {
		if name != "build" && name != "draw" && name != "list" {
			lines = append(lines, []string{name, "-h"})
		}
	}
	for _, args := range lines {
		t.Run(strings.Join(args, " "), func(t *testing.T) {
			packages, code, out, talk := initialised(t, program, args...)
			require.Contains(t, packages, "runtime", "the trace must work")
			assert.NotContains(t, packages, engine)
			wantCode, wantOut, wantTalk := runInside(nil, args...)
			assert.Equal(t, wantCode, code)
			assert.Equal(t, wantOut, out)
			assert.Equal(t, wantTalk, talk)
		})
	}
	for _, args := range [][]string{{"draw", pickup, "--sheet", "?"}, {"build", "-h"}, {"chekc"}, {}} {
		packages, _, _, _ := initialised(t, program, args...)
		assert.Contains(t, packages, engine, "%q goes through main; if the engine is not there any more, package early is not needed", args)
	}
}

// TestEarlyIsInitialisedBeforeTheEngine holds the imports of package early against the order in which Go initialises.
//
// The linker makes a list: again and again it takes, of the packages whose imports are all on the list, the one whose path
// sorts first. Let the engine wait for some package V (one that it needs, or itself). When V may be taken, all that V needs
// is on the list. If everything that early needs is either needed by V too or sorts before V, then of what early still
// lacks there is always a package that may be taken, and it sorts before V: so all of it, and early, come before V, and
// V comes before the engine. The test looks for such a V. It has to be a package that has something to initialise, which
// the trace of a command that draws says: the others are not in the linker's list.
//
// The folder of the engine has to wait likewise.
func TestEarlyIsInitialisedBeforeTheEngine(t *testing.T) {
	traced, _, _, _ := initialised(t, buildProgram(t), "draw", "../../examples/first/first.toml", "--sheet", "?")
	needs := imports(t, early)
	for _, later := range []string{engine, cache} {
		fewest := slices.Collect(maps.Keys(needs))
		for v, below := range imports(t, later) {
			if !slices.Contains(traced, v) {
				continue
			}
			if late := lateFor(needs, v, below); len(late) < len(fewest) {
				fewest = late
			}
		}
		assert.Empty(t, fewest, "package early needs these, which Go may initialise after %s: do without them", later)
	}
}

// TestTextCommandsLeaveNoFolder: what draws nothing makes no folder for the engine, and git, which it may start, is told the
// temporary folder of the user.
func TestTextCommandsLeaveNoFolder(t *testing.T) {
	program, home := buildProgram(t), t.TempDir()
	entries := func(args ...string) []string {
		cmd := exec.Command(program, args...)
		cmd.Env = append(os.Environ(), "HOME="+home, "XDG_CACHE_HOME="+filepath.Join(home, "cache"), "LocalAppData="+home)
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s", out)
		found, err := filepath.Glob(filepath.Join(home, "*"))
		require.NoError(t, err)
		return found
	}
	assert.Empty(t, entries("version"))
	assert.Empty(t, entries("check", "../../examples/first/first.toml"))
	if runtime.GOOS != "windows" {
		assert.NotEmpty(t, entries("draw", "../../examples/first/first.toml", "--sheet", "?"), "this test looks in the wrong place")
	}
}

// TestOnlyMainImportsEarly: a program with package early in it ends before its main when its first argument is a command.
func TestOnlyMainImportsEarly(t *testing.T) {
	for _, p := range listPackages(t) {
		if p.ImportPath != "cmd/ferrule" {
			assert.NotContains(t, slices.Concat(p.Imports, p.TestImports, p.XTestImports), early, p.ImportPath)
		}
	}
}

// imports returns, for a package and each that it imports, directly or not, all that that one imports, directly or not.
func imports(t *testing.T, path string) map[string][]string {
	t.Helper()
	out, err := exec.Command("go", "list", "-deps", "-f", `{{.ImportPath}} {{join .Deps " "}}`, path).Output()
	require.NoError(t, err)
	all := map[string][]string{}
	for line := range strings.Lines(string(out)) {
		words := strings.Fields(line)
		all[words[0]] = words[1:]
	}
	require.Contains(t, all, path)
	return all
}

// lateFor returns the packages, sorted, that v, which imports those below it, does not wait for.
func lateFor(packages map[string][]string, v string, below []string) []string {
	var late []string
	for p := range packages {
		if p > v && !slices.Contains(below, p) {
			late = append(late, p)
		}
	}
	slices.Sort(late)
	return late
}
