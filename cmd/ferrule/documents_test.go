package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// handled are the commands in the documents that this test does not run: they contain it, or belong to the shell.
var handled = []string{"go test ", "go run honnef.co/", "bash .ci/run"}

// TestCommandsInDocumentsRun runs every command that the documents show in blocks marked sh, in a copy of the examples.
// A check of the broken example has to find something, and so has a command whose comment names its exit code; every other
// command has to succeed.
func TestCommandsInDocumentsRun(t *testing.T) {
	for _, document := range []string{"README.md", "DEVELOPERS.md", "examples/README.md", "examples/GIT.md", "examples/pickup/README.md", "netlist/LANGUAGE.md", "netlist/CIRCUIT.md", "render/SHEETS.md"} {
		t.Run(document, func(t *testing.T) {
			text, err := os.ReadFile(filepath.Join("../..", document))
			require.NoError(t, err)
			folder := t.TempDir()
			require.NoError(t, os.CopyFS(filepath.Join(folder, "examples"), os.DirFS("../../examples")))
			t.Chdir(folder)
			ownGit(t)
			for _, c := range shellCommands(string(text)) {
				runLine(t, c)
			}
		})
	}
}

// TestReadmeShowsTheTwoCommands: a stranger needs these two and nothing else.
func TestReadmeShowsTheTwoCommands(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	lines := shellLines(string(text))
	assert.Contains(t, lines, "go run ./cmd/ferrule build examples/pickup/pickup.toml -o out")
	assert.Contains(t, lines, "go test ./...")
}

// TestReadmeShowsARealFinding holds the finding in the README against what the program prints.
func TestReadmeShowsARealFinding(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	shown := regexp.MustCompile("(?ms)^```text\n(.*?)^```").FindStringSubmatch(string(text))
	require.NotNil(t, shown)
	t.Chdir("../..")
	_, out, _ := runInside(nil, "check", "examples/broken/broken.toml")
	assert.Contains(t, out, strings.TrimSpace(shown[1]))
}

// TestCircuitExcerptsAreReal holds each excerpt of CIRCUIT.md against what the command above it prints: the lines stand in the
// output in the same order. A line of three dots is for what was left out; blank lines are left out without them.
func TestCircuitExcerptsAreReal(t *testing.T) {
	text, err := os.ReadFile("../../netlist/CIRCUIT.md")
	require.NoError(t, err)
	t.Chdir("../..")
	shown := regexp.MustCompile("(?ms)^```sh\n([^\n]*)\n```\n\n```text\n(.*?)^```").FindAllStringSubmatch(string(text), -1)
	require.Len(t, shown, 6, "one excerpt for each command")
	for _, s := range shown {
		line := shellCommands("```sh\n" + s[1] + "\n```")[0].line
		_, out, _ := runInside(nil, strings.Fields(line)[3:]...)
		rest := strings.Split(out, "\n")
		for want := range strings.Lines(s[2]) {
			want = strings.TrimRight(want, " \n")
			if want == "..." {
				continue
			}
			at := slices.IndexFunc(rest, func(got string) bool { return strings.TrimRight(got, " ") == want })
			if !assert.GreaterOrEqual(t, at, 0, "%s does not print this line any more, or not in this place: put the new one into netlist/CIRCUIT.md\n%s\nIt prints:\n%s", line, want, out) {
				break
			}
			rest = rest[at+1:]
		}
	}
}

// A shellCommand is a line of a block marked sh, without its comment, and the exit code that it has to end with.
type shellCommand struct {
	line string
	code int
}

// shellCommands returns what the blocks marked sh run, without comments and blank lines.
func shellCommands(text string) []shellCommand {
	var found []shellCommand
	for _, block := range regexp.MustCompile("(?ms)^```sh\n(.*?)^```").FindAllStringSubmatch(text, -1) {
		for line := range strings.Lines(block[1]) {
			line, comment, _ := strings.Cut(line, " #")
			if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
				continue
			}
			c := shellCommand{line: line}
			if strings.Contains(comment, "exit code 1") || strings.Contains(line, " check ") && strings.Contains(line, "broken") {
				c.code = 1
			}
			found = append(found, c)
		}
	}
	return found
}

func shellLines(text string) []string {
	var lines []string
	for _, c := range shellCommands(text) {
		lines = append(lines, c.line)
	}
	return lines
}

// ownGit keeps the settings of the person who runs the test away from git, which needs a name to commit under.
func ownGit(t *testing.T) {
	t.Helper()
	for _, name := range []string{"GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE"} {
		t.Setenv(name, "") // so that it is as before after the test
		require.NoError(t, os.Unsetenv(name))
	}
	for name, value := range map[string]string{
		"GIT_CONFIG_GLOBAL": os.DevNull, "GIT_CONFIG_NOSYSTEM": "1", "GIT_PAGER": "cat",
		"GIT_AUTHOR_NAME": "Ferrule test", "GIT_AUTHOR_EMAIL": "test@example.org", "GIT_COMMITTER_NAME": "Ferrule test", "GIT_COMMITTER_EMAIL": "test@example.org",
	} {
		t.Setenv(name, value)
	}
}

func runLine(t *testing.T, c shellCommand) {
	t.Helper()
	line := c.line
	for _, prefix := range handled {
		if strings.HasPrefix(line, prefix) {
			return
		}
	}
	words := strings.Fields(strings.ReplaceAll(line, "'", ""))
	switch {
	case strings.HasPrefix(line, "git "):
		// The shell, because a commit has a message in quotes. A hook that git runs finds the program on the PATH.
		cmd := exec.Command("sh", "-c", line)
		out, _ := cmd.CombinedOutput()
		assert.Equal(t, c.code, cmd.ProcessState.ExitCode(), "%s\n%s", line, out)
		return
	case strings.HasPrefix(line, "go run ./cmd/ferrule "):
		words = words[3:]
	case strings.HasPrefix(line, "ferrule "):
		words = words[1:]
	default:
		t.Errorf("%q: this test does not know how to run it", line)
		return
	}
	code, out, talk := runInside(nil, words...)
	assert.Equal(t, c.code, code, "%s\n%s%s", line, out, talk)
}
