//go:build unix && !solaris && !illumos && !aix

package store

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"syscall"
)

// lockFile takes the lock that keeps a second process away from the database
// at path. The lock is the kernel's and ends with the process, however it ends;
// its file stays, for to remove it would let two processes lock two files of
// one name.
func lockFile(path string) (*os.File, error) {
	f, err := os.OpenFile(path+".lock", os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, err
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		defer f.Close()
		said, _ := io.ReadAll(io.LimitReader(f, 32))
		pid, _ := strconv.Atoi(strings.TrimSpace(string(said)))
		return nil, &InUse{Path: path, PID: pid}
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("lock %s: %w", f.Name(), err), f.Close())
	}
	// Who holds it is a courtesy; a full disk must not keep us from starting.
	if f.Truncate(0) == nil {
		fmt.Fprintf(f, "%d\n", os.Getpid())
	}
	return f, nil
}
