//go:build unix

package paper

import (
	"syscall"
	"testing"
	"time"
)

// spent is the processor time that something takes, which does not grow when
// others use the machine, as time on the wall does.
func spent(b *testing.B, do func()) time.Duration {
	b.Helper()
	before := processorTime(b)
	do()
	return processorTime(b) - before
}

func processorTime(b *testing.B) time.Duration {
	b.Helper()
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		b.Fatal(err)
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}
