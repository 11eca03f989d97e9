//go:build !unix

package console

import (
	"errors"
	"os"
	"sync/atomic"
)

// input reads a file. Here a read that has begun to wait ends with the next
// line only; Run can return no sooner.
type input struct {
	f       *os.File
	stopped atomic.Bool
}

func openInput(f *os.File) (*input, error) { return &input{f: f}, nil }

// Read implements io.Reader.
func (in *input) Read(p []byte) (int, error) {
	if in.stopped.Load() {
		return 0, errStopped
	}
	n, err := in.f.Read(p)
	if in.stopped.Load() {
		return 0, errStopped
	}
	return n, err
}

func (in *input) stop()  { in.stopped.Store(true) }
func (in *input) close() {}

// canEdit says no: the system's own line editing is used.
func canEdit(_, _ *os.File) bool { return false }

func openEditor(Options) (lines, error) { return nil, errors.ErrUnsupported }
