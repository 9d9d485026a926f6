package command

import (
	"bytes"
	"errors"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"
)

// A stagedTree is the index as a file system, for one root file: what a check of the work tree would read if the work tree
// held what is staged, and no more. It keeps account of what it was asked for.
type stagedTree struct {
	index     *gitIndex
	folder    string          // of the root file; links may not lead out of it
	namesOnly bool            // give no text of which is sure that it includes nothing
	asked     map[string]bool // every path that was looked at, whether there is something or not
	refused   *inputError     // why something cannot be read that is there
}

// Errors of paths that lead nowhere.
var (
	errLeadsOut  = errors.New("a link leads out of the folder of the netlist")
	errLinkCycle = errors.New("a link leads to itself")
)

// mostLinks is how many links are followed for one path: 40, as in path_resolution(7) of Linux.
const mostLinks = 40

// Open opens a file of the index. Folders are read by ReadDir.
func (t *stagedTree) Open(name string) (fs.File, error) {
	entry, err := t.resolve(name)
	if err != nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: err}
	}
	text, err := t.index.blobs.content(entry.blob)
	if err != nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: err}
	}
	if t.namesOnly && !mayInclude(text) {
		text = nil
	}
	return &stagedFile{name: path.Base(name), size: int64(len(text)), Reader: bytes.NewReader(text)}, nil
}

// mayInclude reports whether a text may hold the key include. The key may be written with escapes, which begin with one of
// these letters (TOML v1.0.0, "String"; \x is of v1.1).
func mayInclude(text []byte) bool {
	for _, sign := range []string{"include", `\u`, `\U`, `\x`} {
		if bytes.Contains(text, []byte(sign)) {
			return true
		}
	}
	return false
}

// resolve follows the links of a path to a file.
func (t *stagedTree) resolve(name string) (indexEntry, error) {
	for range mostLinks {
		t.asked[name] = true
		at, entry, rest := t.firstSpecial(name)
		t.asked[at] = true
		switch {
		case entry.unequal:
			t.refused = &inputError{at + " is in conflict", "resolve the merge, then `git add` the file"}
			return entry, fs.ErrInvalid
		case entry.mode == modeSubmodule:
			t.refused = &inputError{name + " lies in a submodule, the content of which is not in this index", "run `ferrule check`, then commit without the hook: git commit --no-verify"}
			return entry, fs.ErrInvalid
		case entry.mode == modeLink:
			target, err := t.index.blobs.content(entry.blob)
			if err != nil {
				return entry, err
			}
			name = path.Join(path.Dir(at), string(target), rest)
			if path.IsAbs(string(target)) || !within(t.folder, name) {
				return entry, errLeadsOut
			}
		case at == name && entry.mode != "":
			return entry, nil
		default:
			return entry, fs.ErrNotExist
		}
	}
	return indexEntry{}, errLinkCycle
}

// firstSpecial returns the entry that a path leads to, or the link, the submodule or the conflict that it meets first, and
// what comes after that. Without any of them the entry is empty.
func (t *stagedTree) firstSpecial(name string) (at string, entry indexEntry, rest string) {
	for i, c := range []byte(name + "/") {
		if c != '/' {
			continue
		}
		if entry, known := t.index.entries[name[:i]]; known {
			return name[:i], entry, strings.TrimPrefix(name[i:], "/")
		}
	}
	return name, indexEntry{}, ""
}

// within reports whether a path from the top lies in a folder.
func within(folder, name string) bool {
	return name != ".." && !strings.HasPrefix(name, "../") && (folder == "." || strings.HasPrefix(name, folder+"/"))
}

// ReadDir lists the files of a folder, so that a name that is misspelt can be answered with the one that was meant.
func (t *stagedTree) ReadDir(name string) ([]fs.DirEntry, error) {
	var names []string
	for p := range t.index.entries {
		if path.Dir(p) == name {
			names = append(names, path.Base(p))
		}
	}
	slices.Sort(names)
	var list []fs.DirEntry
	for _, n := range names {
		list = append(list, fs.FileInfoToDirEntry(&stagedFile{name: n}))
	}
	return list, nil
}

// A stagedFile is an open file of the index and what is to be said about it.
type stagedFile struct {
	*bytes.Reader
	name string
	size int64
}

func (f *stagedFile) Stat() (fs.FileInfo, error) { return f, nil }
func (f *stagedFile) Close() error               { return nil }
func (f *stagedFile) Name() string               { return f.name }
func (f *stagedFile) Size() int64                { return f.size }
func (f *stagedFile) Mode() fs.FileMode          { return 0o444 }
func (f *stagedFile) ModTime() time.Time         { return time.Time{} }
func (f *stagedFile) IsDir() bool                { return false }
func (f *stagedFile) Sys() any                   { return nil }
