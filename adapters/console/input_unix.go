//go:build unix

package console

import (
	"errors"
	"fmt"
	"os"
	"sync/atomic"

	"golang.org/x/sys/unix"
)

// errWoken is what a read returns that was woken and not stopped.
var errWoken = errors.New("woken")

// input reads a file in such a way that a read which waits for a person can be
// called off: closing the file does not do that, and a deadline only where the
// file was opened for it.
type input struct {
	f            *os.File
	woken, wakes *os.File // a pipe: what is written to wakes ends the wait
	stopped      atomic.Bool
}

func openInput(f *os.File) (*input, error) {
	r, w, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	if most := max(f.Fd(), r.Fd()); most >= unix.FD_SETSIZE {
		r.Close()
		w.Close()
		return nil, fmt.Errorf("file descriptor %d is too high to wait for", most)
	}
	return &input{f: f, woken: r, wakes: w}, nil
}

// Read implements io.Reader for one goroutine. After stop it fails with
// errStopped, after wake once with errWoken.
func (in *input) Read(p []byte) (int, error) {
	if in.stopped.Load() {
		return 0, errStopped
	}
	woken, err := in.wait()
	switch {
	case err != nil:
		return 0, err
	case in.stopped.Load():
		return 0, errStopped
	case woken:
		_, err := in.woken.Read(make([]byte, 1))
		return 0, errors.Join(errWoken, err)
	}
	return in.f.Read(p)
}

// wait returns when the file has something to read, its end included, or a
// wake came.
func (in *input) wait() (woken bool, err error) {
	file, wake := int(in.f.Fd()), int(in.woken.Fd())
	for {
		var set unix.FdSet
		set.Set(file)
		set.Set(wake)
		_, err := unix.Select(max(file, wake)+1, &set, nil, nil, nil)
		if errors.Is(err, unix.EINTR) {
			continue
		}
		return err == nil && set.IsSet(wake), err
	}
}

// wake ends one read.
func (in *input) wake() { _, _ = in.wakes.Write([]byte{0}) } // fails only when closed

// stop ends every read.
func (in *input) stop() {
	in.stopped.Store(true)
	in.wake()
}

// close frees what openInput opened; the file stays open.
func (in *input) close() {
	in.woken.Close()
	in.wakes.Close()
}
