//go:build unix

package main

import (
	"errors"
	"os"
	"time"

	"golang.org/x/sys/unix"
)

// begins tells whether a file that nobody types has something to read, its end
// included, before so much time is over.
func begins(f *os.File, most time.Duration) bool {
	if about, err := f.Stat(); err != nil || about.Mode()&os.ModeCharDevice != 0 {
		return false
	}
	ready := []unix.PollFd{{Fd: int32(f.Fd()), Events: unix.POLLIN}}
	for deadline := time.Now().Add(most); ; {
		n, err := unix.Poll(ready, int(max(time.Until(deadline), 0).Milliseconds()))
		if !errors.Is(err, unix.EINTR) {
			return err == nil && n > 0
		}
	}
}
