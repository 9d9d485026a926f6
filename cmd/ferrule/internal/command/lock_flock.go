//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package command

import (
	"errors"
	"fmt"
	"os"
	"syscall"
	"time"
)

// How long a mark waits for another one, which takes milliseconds, and how often it looks.
const (
	lockPatience = 10 * time.Second
	lockPause    = 5 * time.Millisecond
)

// lockFolder keeps other marks away from the status files of a folder until unlock is called. The lock is one on the folder itself
// (flock(2)): it leaves no file behind, and the system takes it back when the process is killed. Where the file system has no
// such locks, marks rely on looking at the file once more before it is replaced.
func lockFolder(root *os.Root) (unlock func(), err error) {
	dir, err := root.Open(".")
	if err != nil {
		return nil, fmt.Errorf("opening the folder: %w", err)
	}
	for waited := time.Duration(0); ; waited += lockPause {
		err := syscall.Flock(int(dir.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		switch {
		case err == nil:
			return func() { dir.Close() }, nil
		case errors.Is(err, syscall.EINTR):
			continue
		case !errors.Is(err, syscall.EWOULDBLOCK):
			dir.Close()
			return func() {}, nil
		case waited >= lockPatience:
			dir.Close()
			return nil, &inputError{"another ferrule mark is at work in this folder", "wait for it to end, and run the command again"}
		}
		time.Sleep(lockPause)
	}
}
