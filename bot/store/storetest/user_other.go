//go:build !unix

package storetest

import "os/exec"

func asServerUser(*exec.Cmd, string) error { return errNotInstalled }
