//go:build unix

// Package cputime tells benchmarks what they cost. It gives the time that the
// processors gave to this process, which does not grow when others use the machine,
// as time on the wall does; so two works that are measured by turns can be compared.
package cputime

import (
	"syscall"
	"testing"
	"time"
)

// Now is the processor time of the process since it began, its own and that of the
// system for it.
func Now(tb testing.TB) time.Duration {
	tb.Helper()
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		tb.Fatal(err)
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

// Spent is the processor time that something takes, with what runs beside it in
// this process.
func Spent(tb testing.TB, do func()) time.Duration {
	tb.Helper()
	before := Now(tb)
	do()
	return Now(tb) - before
}
