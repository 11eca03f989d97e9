package store

import "fmt"

// InUse says that another process has the SQLite file open.
type InUse struct {
	Path string
	PID  int // of the other process, 0 when it did not say
}

// Error implements error.
func (e *InUse) Error() string {
	if e.PID == 0 {
		return fmt.Sprintf("another weftroom is using %s", e.Path)
	}
	return fmt.Sprintf("another weftroom (process %d) is using %s", e.PID, e.Path)
}
