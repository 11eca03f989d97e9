//go:build !unix || solaris || illumos || aix

package store

import "os"

// lockFile makes the lock file, but these systems have no lock that ends with
// its process under the standard library: that only one process opens the
// database is the operator's to see to.
func lockFile(path string) (*os.File, error) {
	return os.OpenFile(path+".lock", os.O_RDWR|os.O_CREATE, 0o600)
}

// heldLock cannot tell.
func heldLock(string) (held bool, pid int, err error) { return false, 0, nil }
