//go:build unix

package wasmcache_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	_ "github.com/goccy/go-graphviz" // what the package must come before
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/layout/wasmcache"
)

const askTemp = "FERRULE_TEST_ASK_TEMP"

// TestMain lets the test program play a program that uses the layout library: by the time it gets here the library has
// been initialised and has put its compiled engine somewhere.
func TestMain(m *testing.M) {
	wasmcache.Restore()
	if os.Getenv(askTemp) != "" {
		fmt.Print(os.TempDir())
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// start runs this test program anew with the given temporary folder and cache folder ("" for none) and returns the
// temporary folder that it sees once it runs.
func start(t *testing.T, temp, cache string) string {
	t.Helper()
	program, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(program)
	cmd.Env = []string{askTemp + "=1", "TMPDIR=" + temp}
	if cache != "" {
		cmd.Env = append(cmd.Env, "XDG_CACHE_HOME="+cache, "HOME="+cache)
	}
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	return string(out)
}

// cacheOf is the folder that the package uses for a user whose cache and home are at cache.
func cacheOf(t *testing.T, cache string) string {
	t.Helper()
	t.Setenv("XDG_CACHE_HOME", cache)
	t.Setenv("HOME", cache)
	dir, err := os.UserCacheDir()
	require.NoError(t, err)
	return filepath.Join(dir, "ferrule", "layout-engine")
}

// entries lists everything below a folder.
func entries(t *testing.T, folder string) []string {
	t.Helper()
	var names []string
	require.NoError(t, filepath.WalkDir(folder, func(path string, _ os.DirEntry, err error) error {
		if path != folder {
			names = append(names, path)
		}
		return err
	}))
	return names
}

func TestEngineIsKeptInThePrivateFolder(t *testing.T) {
	temp, cache := t.TempDir(), t.TempDir()
	seen := start(t, temp, cache)
	assert.Equal(t, temp, seen, "the temporary folder must be the user's again")
	assert.Empty(t, entries(t, temp), "nothing may be created in the shared folder")
	folder := cacheOf(t, cache)
	info, err := os.Stat(folder)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o700), info.Mode().Perm())
	kept := entries(t, folder)
	require.NotEmpty(t, kept, "the compiled engine must be kept, or every start compiles it anew")

	start(t, temp, cache)
	assert.Equal(t, kept, entries(t, folder), "a second start must use what the first kept")
}

func TestSharedPlaceIsNotRead(t *testing.T) {
	temp, cache := t.TempDir(), t.TempDir()
	start(t, temp, cache)
	// Somebody else puts what the library would execute where the library would look for it.
	folder := cacheOf(t, cache)
	planted := filepath.Join(temp, "go-graphviz")
	require.NoError(t, os.CopyFS(planted, os.DirFS(filepath.Join(folder, "go-graphviz"))))
	spoiled := 0
	for _, name := range entries(t, planted) {
		if info, err := os.Stat(name); err == nil && info.Mode().IsRegular() {
			require.NoError(t, os.Chmod(name, 0o600))
			require.NoError(t, os.WriteFile(name, []byte("planted"), 0o600))
			spoiled++
		}
	}
	require.Positive(t, spoiled)
	start(t, temp, cache) // fails if the planted files are read: they are no engine
}

func TestUntrustedFolderIsNotUsed(t *testing.T) {
	tests := []struct {
		name    string
		prepare func(t *testing.T, folder string)
	}{
		{"others can write it", func(t *testing.T, folder string) {
			require.NoError(t, os.MkdirAll(folder, 0o700))
			require.NoError(t, os.Chmod(folder, 0o777))
		}},
		{"others can read it", func(t *testing.T, folder string) {
			require.NoError(t, os.MkdirAll(folder, 0o700))
			require.NoError(t, os.Chmod(folder, 0o755))
		}},
		{"the folder above can be written by others", func(t *testing.T, folder string) {
			require.NoError(t, os.MkdirAll(folder, 0o700))
			require.NoError(t, os.Chmod(filepath.Dir(folder), 0o777))
		}},
		{"a symbolic link stands in its place", func(t *testing.T, folder string) {
			require.NoError(t, os.MkdirAll(filepath.Dir(folder), 0o700))
			require.NoError(t, os.Symlink(t.TempDir(), folder))
		}},
		{"a file stands in its place", func(t *testing.T, folder string) {
			require.NoError(t, os.MkdirAll(filepath.Dir(folder), 0o700))
			require.NoError(t, os.WriteFile(folder, nil, 0o600))
		}},
		{"the cache itself can be written by others", func(t *testing.T, folder string) {
			cache := filepath.Dir(filepath.Dir(folder))
			require.NoError(t, os.MkdirAll(cache, 0o700))
			require.NoError(t, os.Chmod(cache, 0o777))
		}},
	}
	if os.Geteuid() == 0 { // only root can give a folder away
		tests = append(tests, struct {
			name    string
			prepare func(t *testing.T, folder string)
		}{"another user owns it", func(t *testing.T, folder string) {
			require.NoError(t, os.MkdirAll(folder, 0o700))
			require.NoError(t, os.Chown(folder, 12345, 12345))
		}})
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			temp, cache := t.TempDir(), t.TempDir()
			folder := cacheOf(t, cache)
			test.prepare(t, folder)
			before := entries(t, cache)

			_, err := wasmcache.PrivateFolder(os.UserCacheDir)
			assert.Error(t, err)
			assert.Equal(t, temp, start(t, temp, cache), "the program must start all the same")
			assert.Empty(t, entries(t, temp))
			assert.Equal(t, before, entries(t, cache), "nothing may be kept there")
		})
	}
}

func TestNoCacheFolderAtAll(t *testing.T) {
	temp := t.TempDir()
	assert.Equal(t, temp, start(t, temp, ""))
	assert.Empty(t, entries(t, temp))
}

// TestNeedsNothingThatTheLibraryDoesNotNeed is why the order of initialisation is certain: a package that is ready goes
// by its import path, and this one is ready before the library is.
func TestNeedsNothingThatTheLibraryDoesNotNeed(t *testing.T) {
	library := dependencies(t, "github.com/goccy/go-graphviz/internal/wasm")
	for _, name := range dependencies(t, "ferrule/render/layout/wasmcache") {
		if name != "ferrule/render/layout/wasmcache" {
			assert.Contains(t, library, name)
		}
	}
}

func dependencies(t *testing.T, name string) []string {
	t.Helper()
	out, err := exec.Command("go", "list", "-deps", name).Output()
	require.NoError(t, err)
	names := strings.Fields(string(out))
	require.NotEmpty(t, names)
	return names
}
