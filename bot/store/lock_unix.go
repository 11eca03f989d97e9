//go:build unix && !solaris && !illumos && !aix

package store

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
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
		return nil, &InUse{Path: path, PID: holder(f)}
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

// heldLock tells whether another process has the lock of the database at path,
// and which.
func heldLock(path string) (held bool, pid int, err error) {
	f, err := os.Open(path + ".lock")
	if errors.Is(err, fs.ErrNotExist) {
		return false, 0, nil
	}
	if err != nil {
		return false, 0, err
	}
	defer f.Close() // which gives it back
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_SH|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return true, holder(f), nil
	}
	return false, 0, err
}

// holder is the process that wrote itself into a lock file, 0 for none.
func holder(f *os.File) int {
	said, _ := io.ReadAll(io.LimitReader(f, 32))
	pid, _ := strconv.Atoi(strings.TrimSpace(string(said)))
	return pid
}
