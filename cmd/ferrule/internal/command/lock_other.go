//go:build !(darwin || dragonfly || freebsd || linux || netbsd || openbsd)

package command

import "os"

// lockFolder does nothing on systems without flock(2): marks there rely on looking at the file once more before it is
// replaced, which leaves a moment of microseconds.
func lockFolder(*os.Root) (unlock func(), err error) { return func() {}, nil }
