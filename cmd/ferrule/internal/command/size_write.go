package command

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"

	"ferrule/netlist/edit"
)

// rewrite puts new texts in the place of files below a folder, all of them or none: every text is written beside its file and
// brought to the disk before the first one is renamed. A file that is no longer what was read is not overwritten.
func rewrite(root *os.Root, files []edit.Revised) error {
	type pending struct {
		folder     *os.Root
		from, name string
	}
	var staged []pending
	defer func() {
		for _, p := range staged {
			p.folder.Remove(p.from)
			p.folder.Close()
		}
	}()
	for _, f := range files {
		name := filepath.FromSlash(f.File.Name)
		info, err := unchanged(root, name, f.File.Text)
		if err != nil {
			return err
		}
		folder, err := root.OpenRoot(filepath.Dir(name))
		if err != nil {
			return fmt.Errorf("opening the folder of %s: %w", f.File.Name, err)
		}
		p := pending{folder: folder, name: path.Base(f.File.Name)}
		p.from, err = stage(folder, File{p.name, f.Text})
		staged = append(staged, p)
		if err == nil {
			err = folder.Chmod(p.from, info.Mode().Perm())
		}
		if err != nil {
			return fmt.Errorf("writing %s: %w", f.File.Name, err)
		}
	}
	for _, p := range staged {
		if err := p.folder.Rename(p.from, p.name); err != nil {
			return fmt.Errorf("writing %s: %w", p.name, err)
		}
		syncFolder(p.folder)
	}
	return nil
}

// unchanged makes sure that a file is an ordinary one and still holds the text that was read.
func unchanged(root *os.Root, name string, text []byte) (fs.FileInfo, error) {
	info, err := root.Lstat(name)
	if err != nil {
		return nil, fmt.Errorf("reading %s again: %w", name, err)
	}
	if !info.Mode().IsRegular() {
		return nil, &inputError{name + " is a link to another file", "give the file that it leads to"}
	}
	now, err := root.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("reading %s again: %w", name, err)
	}
	if !bytes.Equal(now, text) {
		return nil, &inputError{name + " was changed by somebody else meanwhile", "run the command again"}
	}
	return info, nil
}
