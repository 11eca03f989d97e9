//go:build unix

package storetest

import (
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"strconv"
	"syscall"
)

// asServerUser has c run in a session of its own, out of reach of an interrupt
// meant for the tests, and, when we are root, as whom PostgreSQL agrees to be.
func asServerUser(c *exec.Cmd, dir string) error {
	c.SysProcAttr = &syscall.SysProcAttr{Setsid: true}
	if os.Getuid() != 0 {
		return nil
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		u, err = user.Lookup("nobody")
	}
	if err != nil {
		return fmt.Errorf("PostgreSQL refuses to run as root, and there is no other user: %w", err)
	}
	uid, err := strconv.ParseUint(u.Uid, 10, 32)
	if err != nil {
		return err
	}
	gid, err := strconv.ParseUint(u.Gid, 10, 32)
	if err != nil {
		return err
	}
	c.SysProcAttr.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	return os.Chown(dir, int(uid), int(gid))
}
