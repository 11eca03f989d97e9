package store_test

import (
	"fmt"
	"syscall"
	"testing"
)

// smallDisk is a disk of so many bytes, which only root can make.
func smallDisk(t *testing.T, size int) string { return mounted(t, 0, size) }

// readOnlyDisk is a disk that cannot be written.
func readOnlyDisk(t *testing.T) string { return mounted(t, syscall.MS_RDONLY, 1<<20) }

func mounted(t *testing.T, flags uintptr, size int) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", flags, fmt.Sprintf("size=%d", size)); err != nil {
		t.Skipf("SKIP, NOT TESTED: a full disk and one for reading only; mounting a tmpfs: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	})
	return dir
}
