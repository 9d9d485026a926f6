package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// longHarness writes a harness of so many wires into a folder and returns its name.
func longHarness(t *testing.T, folder string, wires int) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("[harness]\nrevision = \"A\"\n[part]\nF1 = { kind = \"fuse\", rating = \"15 A\" }\n[wire]\n")
	for i := range wires {
		fmt.Fprintf(&b, "W%d = { from = \"F1:1\", to = \"F1:2\", size = \"12 AWG\", color = \"RD\", length = \"1 m\" }\n", i+1)
	}
	name := filepath.Join(folder, "long.toml")
	require.NoError(t, os.WriteFile(name, []byte(b.String()), 0o644))
	return name
}

// TestMarkKilled kills marks at moments all over their run, again and again. Whatever the moment, the status file is the old one or
// the new one to the last byte, and the next mark works.
func TestMarkKilled(t *testing.T) {
	program, folder := buildProgram(t), t.TempDir()
	netlist := longHarness(t, folder, 300)
	status := filepath.Join(folder, "long.built.toml")
	mark := func(stage string) *exec.Cmd {
		return exec.Command(program, "mark", netlist, "W1..W300", stage, "--back")
	}
	texts := map[string]string{}
	var whole time.Duration
	var last os.FileInfo
	for _, stage := range []string{"tested", "cut", "installed"} {
		began := time.Now()
		out, err := mark(stage).CombinedOutput()
		require.NoError(t, err, "%s", out)
		whole = time.Since(began)
		text, err := os.ReadFile(status)
		require.NoError(t, err)
		texts[stage] = string(text)
		// A file that is written in its place is half written for a moment; one that is put there whole is another file.
		info, err := os.Stat(status)
		require.NoError(t, err)
		assert.False(t, os.SameFile(last, info), "the file has been written in its place")
		last = info
	}
	before, outcomes := "installed", map[string]int{}
	const rounds = 15
	for i := range rounds {
		after := map[string]string{"cut": "installed", "installed": "cut"}[before]
		cmd := mark(after)
		require.NoError(t, cmd.Start())
		time.Sleep(2 * whole * time.Duration(i+1) / rounds) // to well behind its end
		_ = cmd.Process.Kill()                              // it may have ended by itself
		_ = cmd.Wait()
		text, err := os.ReadFile(status)
		require.NoError(t, err)
		switch string(text) {
		case texts[before]:
			outcomes["old"]++
		case texts[after]:
			outcomes["new"]++
			before = after
		default:
			require.Failf(t, "half a file", "%d bytes after a kill in round %d", len(text), i)
		}
	}
	t.Logf("killed within %v: the old text %d times, the new one %d times", whole, outcomes["old"], outcomes["new"])
	out, err := mark("tested").CombinedOutput()
	require.NoError(t, err, "%s", out)
	files, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Len(t, files, 2, "a mark clears away what killed ones have left: %v", files)
}

// TestMarksAtOnce makes marks at the same time, each for other wires. None is lost.
func TestMarksAtOnce(t *testing.T) {
	const marks, each = 12, 5
	program, folder := buildProgram(t), t.TempDir()
	netlist := longHarness(t, folder, marks*each)
	var group sync.WaitGroup
	for i := range marks {
		group.Go(func() {
			out, err := exec.Command(program, "mark", netlist, fmt.Sprintf("W%d..W%d", i*each+1, (i+1)*each), "cut").CombinedOutput()
			assert.NoError(t, err, "%s", out)
		})
	}
	group.Wait()
	text, err := os.ReadFile(filepath.Join(folder, "long.built.toml"))
	require.NoError(t, err)
	for i := range marks * each {
		assert.Contains(t, string(text), fmt.Sprintf("\nW%-*d= {", len(fmt.Sprint(marks*each))+1, i+1))
	}
	assert.Equal(t, marks*each, strings.Count(string(text), `stage = "cut"`))
}
