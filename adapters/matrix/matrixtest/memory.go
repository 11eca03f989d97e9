package matrixtest

import (
	"os"
	"syscall"
)

// inMemory is where systems keep files in memory, and enough is how many bytes
// must be free there for a homeserver's.
const (
	inMemory = "/dev/shm"
	enough   = 1 << 30
)

// folder makes one for the files of a homeserver: in memory where there is room,
// since it waits for the disk at each event otherwise. Files in memory outlive the
// kill of a process as those on a disk do.
func folder() (string, error) {
	var there syscall.Statfs_t
	if err := syscall.Statfs(inMemory, &there); err == nil && uint64(there.Bavail)*uint64(there.Bsize) > enough {
		if dir, err := os.MkdirTemp(inMemory, "weftroom-matrix-"); err == nil {
			return dir, nil
		}
	}
	return os.MkdirTemp("", "weftroom-matrix-")
}
