package command

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
)

// inRepository makes an empty repository, and makes it the current folder. Nothing of the person who runs the test gets in.
func inRepository(t testing.TB) {
	t.Helper()
	for _, name := range []string{"GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX", "GIT_COMMON_DIR"} {
		t.Setenv(name, "")
		require.NoError(t, os.Unsetenv(name))
	}
	t.Setenv("GIT_CONFIG_GLOBAL", os.DevNull)
	t.Setenv("GIT_CONFIG_NOSYSTEM", "1")
	for _, who := range []string{"AUTHOR", "COMMITTER"} {
		t.Setenv("GIT_"+who+"_NAME", "Ferrule test")
		t.Setenv("GIT_"+who+"_EMAIL", "test@example.org")
	}
	t.Chdir(t.TempDir())
	runGit(t, "init", "--quiet")
}

func runGit(t testing.TB, args ...string) {
	t.Helper()
	out, err := exec.Command("git", args...).CombinedOutput()
	require.NoError(t, err, "git %s\n%s", strings.Join(args, " "), out)
}

// putFile writes a file, with the folders above it.
func putFile(t testing.TB, name, text string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o755))
	require.NoError(t, os.WriteFile(name, []byte(text), 0o644))
}

// TestStagedCheckIsCheck stages harnesses that check has much, little and nothing to say about: the hook says the same, and
// goes on saying it when the files are gone from the work tree.
func TestStagedCheckIsCheck(t *testing.T) {
	examples, err := filepath.Abs("../../../../examples")
	require.NoError(t, err)
	for _, test := range []struct {
		name, root string
		files      map[string]string // besides the examples
	}{
		{name: "many files", root: "pickup/pickup.toml"},
		{name: "findings of rules", root: "broken/broken.toml"},
		{name: "one file", root: "first/first.toml"},
		{name: "nothing in it", root: "a/empty.toml", files: map[string]string{"a/empty.toml": "[harness]\ntitle = \"Nothing yet\"\n"}},
		{name: "not TOML", root: "a/b/bad.toml", files: map[string]string{"a/b/bad.toml": "[harness]\ntitle = \"Bad\n[part]\n"}},
		{name: "an acceptance", root: "x.toml", files: map[string]string{"x.toml": "[harness]\ntitle = \"X\"\n" + oneMistake + "\n[[accept]]\nrule = \"net-short\"\nat = \"F1\"\nbecause = \"test\"\n"}},
		{name: "includes below and missing", root: "c/root.toml", files: map[string]string{
			"c/root.toml":     "include = [\"sub/more.toml\", \"sbu.toml\", \"../out.toml\"]\n[harness]\ntitle = \"C\"\n",
			"c/sub/more.toml": "include = [\"deep/most.toml\"]\n" + oneMistake, "c/sub/deep/most.toml": "[wire]\nW1 = { from = \"F1:1\", to = \"F9:2\" }\n", "c/sub.toml": "", "out.toml": "",
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			inRepository(t)
			if test.files == nil {
				folder := path.Dir(test.root)
				require.NoError(t, os.CopyFS(folder, os.DirFS(filepath.Join(examples, folder))))
			}
			for name, text := range test.files {
				putFile(t, name, text)
			}
			runGit(t, "add", ".")
			wantCode, want, wantTalk := runInside(nil, "check", "--at-least", "note", test.root)
			require.NotEmpty(t, wantTalk)
			for range 2 {
				code, out, talk := runInside(nil, "hook", "run", "--at-least", "note")
				assert.Equal(t, wantCode, code)
				assert.Equal(t, want, out)
				assert.Equal(t, wantTalk, strings.Replace(talk, ", as staged: ", ": ", 1))
				require.NoError(t, os.RemoveAll(strings.Split(test.root, "/")[0]))
			}
		})
	}
}

// TestWhoseHookItIs: what any version writes is known by its sum, and one character more or less is noticed.
func TestWhoseHookItIs(t *testing.T) {
	for _, threshold := range flagHookAtLeast.choices {
		text := hookScript(threshold)
		assert.Equal(t, hookOurs, authorOf(text))
		assert.True(t, callsHook(text))
		for i := range len(text) {
			assert.NotEqual(t, hookOurs, authorOf(text[:i]+text[i+1:]), "without character %d", i)
		}
		assert.Equal(t, hookChanged, authorOf(text+"\n"))
	}
	assert.Equal(t, "cbf43926", sumOf("123456789"), "the check value of CRC-32 (ITU-T V.42; from memory)")
	for _, text := range []string{"", "#!/bin/sh\n", "#!/bin/sh\nferrule hook run\n", "\n" + hookScript("error")} {
		assert.Equal(t, hookForeign, authorOf(text))
	}
	for text, calls := range map[string]bool{"": false, "# ferrule hook run\n": false, "\t#ferrule hook run": false, "a\n  ferrule hook run || exit $?": true} {
		assert.Equal(t, calls, callsHook(text), "%q", text)
	}
}

// TestScriptIsSound has the shell read the hook without running it.
func TestScriptIsSound(t *testing.T) {
	cmd := exec.Command("sh", "-n")
	cmd.Stdin = strings.NewReader(hookScript("note"))
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
}

// TestHookIsWrittenWholeOrNotAtAll: what cannot be put in its place leaves neither a part of it nor a folder behind.
func TestHookIsWrittenWholeOrNotAtAll(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, os.MkdirAll("hooks/pre-commit/full", 0o755))
	require.Error(t, writeHook("hooks/pre-commit", "text"))
	assert.Equal(t, []string{"pre-commit"}, namesIn(t, "hooks"))
	putFile(t, "file", "")
	require.Error(t, writeHook("file/hooks/pre-commit", "text"))
	assert.Equal(t, []string{"file", "hooks"}, namesIn(t, "."))
	require.NoError(t, writeHook("new/hooks/pre-commit", "text"))
	assert.Equal(t, []string{"pre-commit"}, namesIn(t, "new/hooks"))
	info, err := os.Stat("new/hooks/pre-commit")
	require.NoError(t, err)
	assert.Equal(t, info.Mode()&0o444>>2, info.Mode()&0o111, "who may read it may run it")
}

// TestBrokenRepositoryIsReported: git's own words reach the person, and nothing passes for checked.
func TestBrokenRepositoryIsReported(t *testing.T) {
	inRepository(t)
	putFile(t, "truck.toml", "[harness]\ntitle = \"Truck\"\n")
	runGit(t, "add", ".")
	objects, err := filepath.Glob(".git/objects/??/*")
	require.NoError(t, err)
	require.Len(t, objects, 1)
	require.NoError(t, os.Remove(objects[0]))
	code, out, talk := runInside(nil, "hook", "run")
	assert.Equal(t, exitUnusable, code)
	assert.Empty(t, out)
	assert.Contains(t, talk, "git has no content of the name ")
	require.NoError(t, os.WriteFile(".git/index", []byte("no index"), 0o644))
	code, _, talk = runInside(nil, "hook", "run")
	assert.Equal(t, exitUnusable, code)
	assert.Contains(t, talk, "git diff-index: ")
}

func TestRootsByTheirText(t *testing.T) {
	for text, root := range map[string]bool{
		"[harness]": true, "\ufeff[harness]\r\ntitle = \"A\"\r\n": true, "# x\n  [ harness ] # y": true, "['harness']": true, "[\"harness\".x]": true,
		"harness = { title = \"A\" }": true, "harness.title = \"A\"": true,
		"": false, "harness = 3": false, "[[harness]]": false, "[a.harness]": false, "[a]\nharness = {}": false, "# [harness]": false, "a = '''\n[harness]\n'''": false,
		"[harness": true, "harness]\ntitle = \"A\"": true, // mistakes, where only the whole check can say what was meant
		"[harnesses": false, "x = [\n": false,
	} {
		assert.Equal(t, root, isRoot("a.toml", []byte(text)), "%q", text)
	}
}

// FuzzIsRoot holds the quick look at the lines against the parser. Keys with escapes are left out: who writes the name of
// the table with them does not want it to be found.
func FuzzIsRoot(f *testing.F) {
	for _, seed := range []string{"[harness]\ntitle = \"A\"", "harness.title = 1", "\ufeffharness={}", "[a]\n[harness.b]\n", "x = \"\"\"\n[harness]\"\"\"", "[harness"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		if bytes.Contains(text, []byte(`\`)) {
			return
		}
		tree, diags := syntax.Parse(source.NewFile("a.toml", text))
		e := tree.Get("harness")
		if table := e != nil && e.Value.Kind == syntax.TableValue; table || !diags.HasErrors() {
			assert.Equal(t, table, isRoot("a.toml", text), "%q", text)
		}
	})
}

// BenchmarkHook measures a whole commit of one changed line of the pickup in a real repository: without the hook, with it,
// and with it where the change does not concern a harness. The program is built for it, since the start of the process counts.
func BenchmarkHook(b *testing.B) {
	pickup, err := filepath.Abs("../../../../examples/pickup")
	require.NoError(b, err)
	bin := b.TempDir()
	out, err := exec.Command("go", "build", "-o", bin, "../..").CombinedOutput()
	require.NoError(b, err, "%s", out)
	b.Setenv("PATH", bin+string(os.PathListSeparator)+os.Getenv("PATH"))
	inRepository(b)
	require.NoError(b, os.CopyFS("pickup", os.DirFS(pickup)))
	putFile(b, "README", "")
	runGit(b, "add", ".")
	runGit(b, "commit", "--quiet", "--message", "pickup")
	runGit(b, "config", "gc.auto", "0")
	code, _, talk := runInside(nil, "hook", "install")
	require.Zero(b, code, talk)
	for _, way := range []struct {
		name, file string
		flags      []string
	}{
		{"commit-without-hook", "pickup/lights.toml", []string{"--no-verify"}},
		{"commit-of-other-file", "README", nil},
		{"commit", "pickup/lights.toml", nil},
	} {
		b.Run(way.name, func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				appendLine(b, way.file)
				runGit(b, "add", way.file)
				b.StartTimer()
				runGit(b, append([]string{"commit", "--quiet", "--message", "change"}, way.flags...)...)
			}
		})
	}
}

// appendLine adds a comment to a file.
func appendLine(b *testing.B, name string) {
	b.Helper()
	file, err := os.OpenFile(name, os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(b, err)
	_, writeErr := file.WriteString("# a line more\n")
	require.NoError(b, errors.Join(writeErr, file.Close()))
}
