package command

import (
	"io"
	"os"
)

// colored settles whether text gets colour: the flag beats the environment, the environment beats the terminal.
func (inv *invocation) colored() bool {
	switch inv.value(flagColor) {
	case "always":
		return true
	case "never":
		return false
	}
	switch {
	case inv.getenv("NO_COLOR") != "":
		return false
	case inv.getenv("FORCE_COLOR") != "":
		return true
	case inv.getenv("TERM") == "dumb":
		return false
	}
	return isTerminal(inv.outFile)
}

// isTerminal reports whether somebody reads w on a screen. The null device is a character device too, but nobody does.
func isTerminal(w io.Writer) bool {
	file, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := file.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	null, err := os.Stat(os.DevNull)
	return err != nil || !os.SameFile(info, null)
}
