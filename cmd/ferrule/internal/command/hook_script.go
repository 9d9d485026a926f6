package command

import (
	"fmt"
	"hash/crc32"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// hookHead begins a hook of ours. A sum of the rest of the text follows on its second line, so that every version of the
// program knows a hook of every other, and knows whether somebody has changed it.
const hookHead = "#!/bin/sh\n# Written by `ferrule hook install`; `ferrule hook remove` takes it away. Sum of the rest: "

// hookBody is the rest; %s is the line that calls the program. Where the program is missing, the commit is stopped rather
// than let through unchecked, but not one that touches no .toml file: it may be that of somebody who has nothing to do with
// the wiring.
const hookBody = `#
# Checks the harnesses of what is staged. To commit without it: git commit --no-verify
if ! command -v ferrule >/dev/null 2>&1; then
  if git diff --cached --quiet -- ':(icase)*.toml'; then
    echo "ferrule is not on the PATH; no .toml file is staged, so the commit goes on without the check of the wiring" >&2
    exit 0
  fi
  echo "ferrule is not on the PATH, so the wiring that is staged was not checked, and nothing was committed" >&2
  echo "  put it on the PATH, or commit without the check: git commit --no-verify" >&2
  exit 1
fi
exec %s
`

// hookLine is the call of the program in a hook.
func hookLine(threshold string) string { return "ferrule hook run --at-least " + threshold }

// hookScript is the text of the hook.
func hookScript(threshold string) string {
	body := fmt.Sprintf(hookBody, hookLine(threshold))
	return hookHead + sumOf(body) + "\n" + body
}

// authorOf says whose the text of a hook is.
func authorOf(text string) hookState {
	rest, ours := strings.CutPrefix(text, hookHead)
	if !ours {
		return hookForeign
	}
	if sum, body, _ := strings.Cut(rest, "\n"); sum != sumOf(body) {
		return hookChanged
	}
	return hookOurs
}

// callsHook reports whether a line of the text, other than a comment, calls the program.
func callsHook(text string) bool {
	for line := range strings.Lines(text) {
		if !strings.HasPrefix(strings.TrimSpace(line), "#") && strings.Contains(line, "ferrule hook run") {
			return true
		}
	}
	return false
}

// sumOf is the CRC-32 of a text (polynomial of IEEE 802.3) in hexadecimal. It guards against oversight, not against malice.
func sumOf(text string) string { return fmt.Sprintf("%08x", crc32.ChecksumIEEE([]byte(text))) }

// writeHook writes an executable file whole or not at all, and makes the folder where there is none. The owner, the group
// and the others may run it if they may read it.
func writeHook(name, text string) (err error) {
	folder, base := filepath.Split(name)
	folder = filepath.Clean(folder)
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
	staged, err := stage(root, File{base, []byte(text)})
	if staged != "" {
		defer root.Remove(staged) // nothing is there any more when it was renamed
	}
	var info fs.FileInfo
	if err == nil {
		info, err = root.Stat(staged)
	}
	if err == nil {
		err = root.Chmod(staged, info.Mode()|info.Mode()&0o444>>2)
	}
	if err == nil {
		err = root.Rename(staged, base)
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	syncFolder(root)
	return nil
}
