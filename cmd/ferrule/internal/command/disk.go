package command

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// writeAll writes files into a folder, all of them or none. Each is first written under another name in the same folder
// and brought to the disk; only when all of them are there are they renamed, which replaces an earlier file in one step.
// Nothing outside the folder is touched: the names are confined to it, and a symbolic link of such a name is replaced,
// not followed. Folders that had to be made are removed again when writing fails.
func writeAll(folder string, files []File) (err error) {
	made, err := makeFolder(folder)
	defer func() {
		if err != nil {
			removeFolders(made)
		}
	}()
	if err != nil {
		return fmt.Errorf("making the folder: %w", err)
	}
	root, err := os.OpenRoot(folder)
	if err != nil {
		return fmt.Errorf("opening the folder: %w", err)
	}
	defer root.Close()
	if err := refuseTargets(root, files); err != nil {
		return err
	}
	staged := make([]string, 0, len(files))
	defer func() {
		for _, name := range staged {
			root.Remove(name)
		}
	}()
	for _, f := range files {
		name, err := stage(root, f)
		if name != "" {
			staged = append(staged, name)
		}
		if err != nil {
			return fmt.Errorf("writing %s: %w", filepath.Join(folder, f.Name), err)
		}
	}
	for i, f := range files {
		if err := root.Rename(staged[i], f.Name); err != nil {
			return fmt.Errorf("writing %s: %w", filepath.Join(folder, f.Name), err)
		}
	}
	syncFolder(root)
	return nil
}

// refuseTargets finds out before anything is renamed what no file could be put in the place of.
func refuseTargets(root *os.Root, files []File) error {
	for _, f := range files {
		if filepath.Base(f.Name) != f.Name || !filepath.IsLocal(f.Name) {
			return fmt.Errorf("%q is no name for a file", f.Name)
		}
		if info, err := root.Lstat(f.Name); err == nil && info.IsDir() {
			return &inputError{filepath.Join(root.Name(), f.Name) + " is a folder", "remove it, or write into another folder with -o DIR"}
		}
	}
	return nil
}

// stage writes a file under a name that nothing in the folder has, and returns that name; empty when none was made.
func stage(root *os.Root, f File) (string, error) {
	for i := 0; ; i++ {
		name := stagedName(f.Name, i)
		file, err := root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if errors.Is(err, fs.ErrExist) && i < 1000 {
			continue
		}
		if err != nil {
			return "", err
		}
		_, writeErr := file.Write(f.Data)
		return name, errors.Join(writeErr, file.Sync(), file.Close())
	}
}

// stagedName is the name under which a file is written before it is put in its place.
func stagedName(name string, i int) string { return fmt.Sprintf(".%s.%d.part", name, i) }

// syncFolder brings the new names to the disk. A system that cannot do this for a folder still has the files.
func syncFolder(root *os.Root) {
	if dir, err := root.Open("."); err == nil {
		_ = dir.Sync()
		dir.Close()
	}
}

// makeFolder makes a folder with those above it, and returns the ones that it made, the innermost first.
func makeFolder(folder string) (made []string, err error) {
	for dir := filepath.Clean(folder); ; dir = filepath.Dir(dir) {
		if _, err := os.Stat(dir); !errors.Is(err, fs.ErrNotExist) {
			break
		}
		made = append(made, dir)
	}
	return made, os.MkdirAll(folder, 0o755)
}

// removeFolders removes folders that are empty.
func removeFolders(folders []string) {
	for _, dir := range folders {
		os.Remove(dir)
	}
}

// writeOne writes a file whole or not at all, in the place of an earlier one.
func writeOne(name string, data []byte) error {
	folder, base := filepath.Split(name)
	if base == "" {
		return &inputError{name + " is a folder", "give the name of a file"}
	}
	return writeAll(filepath.Clean(folder+"."), []File{{base, data}})
}

// writeNew writes a file that must not be there yet.
func writeNew(name string, data []byte) (err error) {
	made, err := makeFolder(filepath.Dir(name))
	defer func() {
		if err != nil {
			removeFolders(made)
		}
	}()
	if err != nil {
		return fmt.Errorf("making the folder: %w", err)
	}
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, writeErr := file.Write(data)
	if err := errors.Join(writeErr, file.Close()); err != nil {
		os.Remove(name)
		return fmt.Errorf("writing %s: %w", name, err)
	}
	return nil
}
