package command

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// noEnvironment is an environment in which nothing is set.
func noEnvironment(string) string { return "" }

// runInside runs a command that draws nothing within the test and returns what it printed.
func runInside(stdin io.Reader, args ...string) (code int, stdout, stderr string) {
	var out, talk bytes.Buffer
	code = Run(args, stdin, &out, &talk, noEnvironment, nil)
	return code, out.String(), talk.String()
}

func TestClosedPipeIsNoError(t *testing.T) {
	read, write, err := os.Pipe()
	require.NoError(t, err)
	require.NoError(t, read.Close())
	defer write.Close()
	var talk bytes.Buffer
	assert.Equal(t, exitClean, Run([]string{"help"}, nil, write, &talk, noEnvironment, nil))
	assert.Empty(t, talk.String())
}

// fullDisk takes nothing more.
type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("no space left on the device") }

func TestFullDiskIsAnError(t *testing.T) {
	var talk bytes.Buffer
	assert.Equal(t, exitUnusable, Run([]string{"help"}, nil, fullDisk{}, &talk, noEnvironment, nil))
	assert.Equal(t, "ferrule: writing the output: no space left on the device\n", talk.String())
}

// bug panics when it is read, as a bug of ours would.
type bug struct{}

func (bug) Read([]byte) (int, error) { panic("index out of range\ngoroutine 1") }

func TestPanicBecomesOneLine(t *testing.T) {
	code, out, talk := runInside(bug{}, "check", "-")
	assert.Equal(t, exitUnusable, code)
	assert.Empty(t, out)
	assert.Equal(t, "ferrule: this is a bug in Ferrule, please report it with the netlist: index out of range goroutine 1\n", talk)
}

func TestColorManners(t *testing.T) {
	set := func(values map[string]string) func(string) string {
		return func(name string) string { return values[name] }
	}
	for _, test := range []struct {
		name   string
		flag   string
		env    map[string]string
		colors bool
	}{
		{"no terminal", "auto", nil, false},
		{"forced by the environment", "auto", map[string]string{"FORCE_COLOR": "1"}, true},
		{"refused by the environment", "auto", map[string]string{"NO_COLOR": "1", "FORCE_COLOR": "1"}, false},
		{"an empty refusal does not count", "auto", map[string]string{"NO_COLOR": "", "FORCE_COLOR": "1"}, true},
		{"dumb terminal", "auto", map[string]string{"TERM": "dumb"}, false},
		{"flag beats refusal", "always", map[string]string{"NO_COLOR": "1"}, true},
		{"flag beats force", "never", map[string]string{"FORCE_COLOR": "1"}, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			inv := &invocation{values: map[*option]string{flagColor: test.flag}, outFile: &bytes.Buffer{}, getenv: set(test.env)}
			assert.Equal(t, test.colors, inv.colored())
		})
	}
}

func TestNullDeviceIsNoTerminal(t *testing.T) {
	null, err := os.OpenFile(os.DevNull, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer null.Close()
	assert.False(t, isTerminal(null))
}

// TestTableIsComplete holds the table against what the help and the parser take for granted.
func TestTableIsComplete(t *testing.T) {
	for _, c := range commands() {
		assert.NotNil(t, c.run, c.name)
		assert.NotEmpty(t, c.title, c.name)
		assert.NotEmpty(t, c.doc, c.name)
		seen := map[string]bool{}
		for _, f := range c.flags {
			assert.NotEmpty(t, f.doc, f.name)
			assert.False(t, seen[f.name] || f.letter != "" && seen[f.letter], "%s: %s stands twice", c.name, f.name)
			seen[f.name], seen[f.letter] = true, true
			if f.initial != "" {
				assert.NoError(t, f.check(f.initial), "%s %s", c.name, f.name)
			}
		}
		for _, example := range c.example {
			assert.True(t, strings.HasPrefix(example, "ferrule "), example)
			inv := &invocation{command: findCommand(strings.Fields(example)[1])}
			require.NotNil(t, inv.command, example)
			_, err := inv.parse(strings.Fields(strings.ReplaceAll(example, "'", ""))[2:])
			assert.NoError(t, err, example)
		}
	}
}

// TestIsText: what is run before the drawing side is there must not need it, and what the table does not have, or what has
// no command at all, is left to main.
func TestIsText(t *testing.T) {
	for _, c := range commands() {
		assert.Equal(t, !c.draws, IsText([]string{c.name, "-h"}), c.name)
	}
	for _, first := range []string{"-h", "--help", "--version"} {
		assert.True(t, IsText([]string{first}), first)
	}
	for _, first := range []string{"", "chekc", "-test.v", "--format", "build", "draw"} {
		assert.False(t, IsText([]string{first, "check"}), first)
	}
	assert.False(t, IsText(nil))
}

func TestWriteAllLeavesNothingHalfDone(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "out")
	require.NoError(t, os.MkdirAll(filepath.Join(folder, "b.csv"), 0o755)) // no file can be put in the place of a folder
	require.NoError(t, os.WriteFile(filepath.Join(folder, "a.csv"), []byte("old"), 0o644))
	err := writeAll(folder, []File{{"a.csv", []byte("new")}, {"b.csv", []byte("new")}})
	require.Error(t, err)
	assert.Equal(t, []string{"a.csv", "b.csv"}, namesIn(t, folder))
	text, err := os.ReadFile(filepath.Join(folder, "a.csv"))
	require.NoError(t, err)
	assert.Equal(t, "old", string(text))
}

func TestWriteAllReplacesALinkAndDoesNotFollowIt(t *testing.T) {
	folder, elsewhere := t.TempDir(), filepath.Join(t.TempDir(), "precious")
	require.NoError(t, os.WriteFile(elsewhere, []byte("precious"), 0o644))
	require.NoError(t, os.Symlink(elsewhere, filepath.Join(folder, "a.csv")))
	require.NoError(t, writeAll(folder, []File{{"a.csv", []byte("new")}}))
	text, err := os.ReadFile(elsewhere)
	require.NoError(t, err)
	assert.Equal(t, "precious", string(text))
	assert.Equal(t, []string{"a.csv"}, namesIn(t, folder))
}

func TestWriteAllRefusesNamesThatLeadOut(t *testing.T) {
	parent := t.TempDir()
	folder := filepath.Join(parent, "out")
	for _, name := range []string{"../a.csv", "b/a.csv", "..", "", "/a.csv"} {
		require.Error(t, writeAll(folder, []File{{name, []byte("new")}}), name)
	}
	assert.Empty(t, namesIn(t, parent), "folders that were made must be gone again")
}

func TestWriteAllPassesOverWhatAnInterruptedRunLeft(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, ".a.csv.0.part"), []byte("left"), 0o644))
	require.NoError(t, writeAll(folder, []File{{"a.csv", []byte("new")}}))
	assert.Equal(t, []string{".a.csv.0.part", "a.csv"}, namesIn(t, folder))
}

func namesIn(t *testing.T, folder string) []string {
	t.Helper()
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}
