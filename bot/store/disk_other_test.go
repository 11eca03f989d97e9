//go:build !linux

package store_test

import "testing"

func smallDisk(t *testing.T, _ int) string {
	t.Skip("SKIP, NOT TESTED: a full disk; this system has no tmpfs to mount")
	return ""
}

func readOnlyDisk(t *testing.T) string {
	t.Skip("SKIP, NOT TESTED: a disk for reading only; this system has no tmpfs to mount")
	return ""
}
