package command

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// git runs git where the user is, in the environment of the process: a hook is told in it which index and which repository
// it is for. What it prints is returned without its last line end or zero byte.
func git(stdin io.Reader, args ...string) (string, error) {
	cmd := exec.Command("git", args...)
	var out, talk bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = stdin, &out, &talk
	if err := cmd.Run(); err != nil {
		return "", gitError(verbOf(args), talk.String(), err)
	}
	return strings.TrimRight(out.String(), "\r\n\x00"), nil
}

// verbOf is the first argument that is no flag.
func verbOf(args []string) string {
	for _, arg := range args {
		if !strings.HasPrefix(arg, "-") {
			return arg
		}
	}
	return ""
}

// A gitFailure is a git that ended with another code than 0.
type gitFailure struct {
	code int
	inputError
}

func (e *gitFailure) Unwrap() error { return &e.inputError }

// gitError puts into words why git did not do its work.
func gitError(what, talk string, err error) error {
	var exit *exec.ExitError
	switch {
	case errors.Is(err, exec.ErrNotFound):
		return &inputError{"git is not on the PATH", "install it, or put the folder that it is in on the PATH"}
	case errors.As(err, &exit):
		return &gitFailure{exit.ExitCode(), inputError{fmt.Sprintf("git %s: %s", what, oneLine(talk)), "this command works in a repository of git"}}
	}
	return fmt.Errorf("running git %s: %w", what, err)
}

// hooksFolder is the folder in which git looks for the hooks of this repository, and the scope of core.hooksPath if that
// says so. A relative core.hooksPath counts from the top of the work tree, which is where git runs hooks (git-config(1)).
func hooksFolder() (folder, scope string, err error) {
	inside, err := git(nil, "rev-parse", "--git-path", "hooks")
	if err != nil {
		return "", "", err
	}
	setting, err := git(nil, "config", "--show-scope", "-z", "--type=path", "--get", "core.hooksPath")
	var failure *gitFailure
	if errors.As(err, &failure) && failure.code == 1 { // it is not set
		return inside, "", nil
	}
	if err != nil {
		return "", "", err
	}
	scope, folder, _ = strings.Cut(setting, "\x00")
	if folder == "" {
		return "", "", &inputError{"core.hooksPath is set to nothing, so git runs no hooks", "give it a folder, or take it away: git config --unset core.hooksPath"}
	}
	if filepath.IsAbs(folder) {
		return folder, scope, nil
	}
	up, err := git(nil, "rev-parse", "--show-cdup")
	return filepath.Join(up, folder), scope, err
}

// An indexEntry is one path of the index.
type indexEntry struct {
	mode    string // as git writes it: 100644, 100755, 120000 for a link, 160000 for a submodule
	blob    string // the name of its content; of one side where it is in conflict
	unequal bool   // in conflict: the sides of a merge have not been brought together
}

const (
	modeLink      = "120000"
	modeSubmodule = "160000"
)

// A gitIndex is what a commit would hold now.
type gitIndex struct {
	entries map[string]indexEntry
	blobs   *blobReader // nil until somebody wants to read
}

// stagedChanges returns the paths that differ from the last commit or, where there is none yet, from the empty tree; and the
// name of that tree.
func stagedChanges() (tree string, changed stagedPaths, err error) {
	if changed, err = changesSince("HEAD", withoutAnnounced); err == nil {
		return "HEAD", changed, nil
	}
	if _, verifyErr := git(nil, "rev-parse", "--quiet", "--verify", "HEAD"); verifyErr == nil {
		return "", nil, err
	}
	if _, err := git(nil, "rev-parse", "--git-dir"); err != nil {
		return "", nil, err
	}
	// The name of the empty tree depends on the hash that the repository uses.
	if tree, err = git(strings.NewReader(""), "hash-object", "-t", "tree", "--stdin"); err != nil {
		return "", nil, err
	}
	changed, err = changesSince(tree, withoutAnnounced)
	return tree, changed, err
}

// stagedPaths are the paths that differ from a tree, with the letter of git for how: A added, D deleted, M changed and so on.
type stagedPaths map[string]string

func (p stagedPaths) has(path string) bool { return p[path] != "" }

// changesSince returns the paths of the index that differ from a tree. A path that was only announced (git add -N) will not
// be in the commit; announced says whether it counts as there all the same.
func changesSince(tree, announced string) (stagedPaths, error) {
	out, err := git(nil, "diff-index", "--cached", "--no-renames", "--name-status", "-z", announced, tree, "--")
	if err != nil {
		return nil, err
	}
	changed := stagedPaths{}
	fields := strings.Split(out, "\x00") // letter, path, letter, path
	for i := 0; i+1 < len(fields); i += 2 {
		changed[fields[i+1]] = fields[i]
	}
	return changed, nil
}

const (
	withoutAnnounced = "--ita-invisible-in-index"
	withAnnounced    = "--ita-visible-in-index"
)

// The name of the empty content, in a repository with SHA-1 and in one with SHA-256. An announced path has it in the index.
var emptyBlobs = []string{
	"e69de29bb2d1d6434b8b29ae775ad8c2e48c5391",
	"473a0f4c3be8a93681a267e3b1e9a7dcda1185436fe141f7749120a303721813",
}

// listIndex has git list the index. The paths are from the top of the work tree, with /, wherever the user is.
func listIndex() (string, error) {
	return git(nil, "--no-literal-pathspecs", "ls-files", "--stage", "--full-name", "-z", "--", ":/")
}

// readIndex reads what listIndex gives, of which changed are the paths that differ from a tree.
func readIndex(list func() (string, error), tree string, changed stagedPaths) (*gitIndex, error) {
	index := &gitIndex{entries: map[string]indexEntry{}}
	out, err := list()
	if err != nil {
		return nil, err
	}
	mayAnnounce := false
	for line := range strings.SplitSeq(out, "\x00") {
		about, path, _ := strings.Cut(line, "\t")
		words := strings.Fields(about)               // mode, name of the content, stage
		if len(words) != 3 || changed[path] == "D" { // the latter is announced, and in the tree too
			continue
		}
		index.entries[path] = indexEntry{mode: words[0], blob: words[1], unequal: words[2] != "0"}
		mayAnnounce = mayAnnounce || slices.Contains(emptyBlobs, words[1])
	}
	if mayAnnounce {
		err = index.dropAnnounced(tree, changed)
	}
	return index, err
}

// dropAnnounced takes the paths out that the commit will not hold: those that are added only if they count as there.
func (index *gitIndex) dropAnnounced(tree string, changed stagedPaths) error {
	all, err := changesSince(tree, withAnnounced)
	for path, how := range all {
		if how == "A" && !changed.has(path) {
			delete(index.entries, path)
		}
	}
	return err
}

// A blobReader asks one git for contents, one after the other.
type blobReader struct {
	cmd  *exec.Cmd
	ask  io.WriteCloser
	get  *bufio.Reader
	read map[string][]byte
}

func openBlobs() (*blobReader, error) {
	cmd := exec.Command("git", "cat-file", "--batch")
	ask, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	get, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, gitError("cat-file", "", err)
	}
	return &blobReader{cmd: cmd, ask: ask, get: bufio.NewReader(get), read: map[string][]byte{}}, nil
}

// content returns the content of a name. The answer is a line "NAME TYPE SIZE", the content, and a line end (git-cat-file(1)).
func (r *blobReader) content(name string) ([]byte, error) {
	if text, known := r.read[name]; known {
		return text, nil
	}
	if _, err := fmt.Fprintln(r.ask, name); err != nil {
		return nil, fmt.Errorf("asking git for %s: %w", name, err)
	}
	head, err := r.get.ReadString('\n')
	if err != nil {
		return nil, fmt.Errorf("reading %s from git: %w", name, err)
	}
	words := strings.Fields(head)
	if len(words) != 3 {
		return nil, fmt.Errorf("git has no content of the name %s: %s", name, oneLine(head))
	}
	size, err := strconv.Atoi(words[2])
	if err != nil {
		return nil, fmt.Errorf("git answers %q", oneLine(head))
	}
	text := make([]byte, size+1)
	if _, err := io.ReadFull(r.get, text); err != nil {
		return nil, fmt.Errorf("reading %s from git: %w", name, err)
	}
	r.read[name] = text[:size]
	return text[:size], nil
}

// close lets git end.
func (r *blobReader) close() {
	r.ask.Close()
	_ = r.cmd.Wait() // all answers have been read
}
