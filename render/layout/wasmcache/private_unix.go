//go:build unix

package wasmcache

import (
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// shared says that users of this platform share one temporary directory.
const shared = true

// privateFolder makes sure of the folder "ferrule/layout-engine" in the user's cache and returns its path. It refuses a
// folder that somebody else owns or can write, and one that somebody else could put another in the place of. A folder of
// the wrong mode is not repaired: what lies in it may have been planted while it was open.
func privateFolder(cacheDir func() (string, error)) (string, error) {
	cache, err := cacheDir()
	if err != nil {
		return "", err
	}
	if err := os.MkdirAll(cache, 0o700); err != nil {
		return "", err
	}
	cache, err = filepath.EvalSymlinks(cache)
	if err != nil {
		return "", err
	}
	if err := trustAncestors(cache); err != nil {
		return "", err
	}
	folder := cache
	for _, name := range []string{"ferrule", "layout-engine"} {
		folder = filepath.Join(folder, name)
		if err := os.Mkdir(folder, 0o700); err != nil && !os.IsExist(err) {
			return "", err
		}
		if err := trustFolder(folder); err != nil {
			return "", err
		}
	}
	return folder, nil
}

// trustFolder refuses what is not a directory that the user owns and that nobody else can enter.
func trustFolder(folder string) error {
	info, err := os.Lstat(folder)
	if err != nil {
		return err
	}
	if !info.IsDir() || info.Mode().Perm()&0o077 != 0 || owner(info) != os.Geteuid() {
		return fmt.Errorf("%s is not a folder that only its owner can enter", folder)
	}
	return nil
}

// trustAncestors refuses a path on which somebody else could rename a directory: each must belong to the user or to
// root, and be writable by nobody else unless its sticky bit keeps others from renaming what is not theirs.
func trustAncestors(path string) error {
	for {
		info, err := os.Lstat(path)
		if err != nil {
			return err
		}
		if uid := owner(info); uid != 0 && uid != os.Geteuid() {
			return fmt.Errorf("%s belongs to another user", path)
		}
		if info.Mode().Perm()&0o022 != 0 && info.Mode()&os.ModeSticky == 0 {
			return fmt.Errorf("%s can be written by other users", path)
		}
		parent := filepath.Dir(path)
		if parent == path {
			return nil
		}
		path = parent
	}
}

// owner returns the user who owns a file, or -1 when the system does not say.
func owner(info os.FileInfo) int {
	if stat, ok := info.Sys().(*syscall.Stat_t); ok {
		return int(stat.Uid)
	}
	return -1
}
