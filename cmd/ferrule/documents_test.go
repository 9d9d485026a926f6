package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// handled are the commands in the documents that this test does not run: they contain it, or belong to the shell.
var handled = []string{"go test ", "go run honnef.co/", "bash .ci/run", "git "}

// TestCommandsInDocumentsRun runs every command that the documents show in blocks marked sh, in a copy of the examples.
// A check of the broken example has to find something; every other command has to succeed.
func TestCommandsInDocumentsRun(t *testing.T) {
	for _, document := range []string{"README.md", "DEVELOPERS.md", "examples/README.md", "netlist/LANGUAGE.md"} {
		t.Run(document, func(t *testing.T) {
			text, err := os.ReadFile(filepath.Join("../..", document))
			require.NoError(t, err)
			folder := t.TempDir()
			require.NoError(t, os.CopyFS(filepath.Join(folder, "examples"), os.DirFS("../../examples")))
			t.Chdir(folder)
			for _, line := range shellLines(string(text)) {
				runLine(t, line)
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

// shellLines returns the lines of the blocks marked sh, without comments and blank lines.
func shellLines(text string) []string {
	var lines []string
	for _, block := range regexp.MustCompile("(?ms)^```sh\n(.*?)^```").FindAllStringSubmatch(text, -1) {
		for line := range strings.Lines(block[1]) {
			line, _, _ = strings.Cut(line, " #")
			if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
				lines = append(lines, line)
			}
		}
	}
	return lines
}

func runLine(t *testing.T, line string) {
	t.Helper()
	for _, prefix := range handled {
		if strings.HasPrefix(line, prefix) {
			return
		}
	}
	words := strings.Fields(strings.ReplaceAll(line, "'", ""))
	switch {
	case strings.HasPrefix(line, "go run ./cmd/ferrule "):
		words = words[3:]
	case strings.HasPrefix(line, "ferrule "):
		words = words[1:]
	default:
		t.Errorf("%q: this test does not know how to run it", line)
		return
	}
	want := 0
	if strings.Contains(line, " check ") && strings.Contains(line, "broken") {
		want = 1
	}
	code, out, talk := runInside(nil, words...)
	assert.Equal(t, want, code, "%s\n%s%s", line, out, talk)
}
