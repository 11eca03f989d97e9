//go:build linux

package main

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
)

// TestChatInATerminal sits down at the real program in a pseudo-terminal.
func TestChatInATerminal(t *testing.T) {
	dir := t.TempDir()
	weftroom := filepath.Join(dir, "weftroom")
	if out, err := exec.Command("go", "build", "-o", weftroom, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	state, history := filepath.Join(dir, "class.db"), filepath.Join(dir, "history")

	t.Run("a first session", func(t *testing.T) {
		w := sitDown(t, dir, weftroom, "chat", "--state", state)
		w.until("Begin with: loom")
		w.until("> ")
		w.keys("lo\t\r")
		w.until("What kind of loom is it?")
		w.until("a) rigid-heddle loom")
		w.until("> ")
		w.keys("a\r")
		w.until("How wide is your warp")
		w.until("> ")
		w.keys("loom wi\t15in righ\tho\t\r")
		w.until("Rightmost end: in a hole")
		w.until("heddle up")
		w.until("> ")
		w.keys("row raised")
		w.until("raised")
		w.keys("\x03")
		w.until("^C\r\n> ")
		w.keys("\x04")
		w.until("See you at the loom.")
		w.wantEnd(0)
	})
	t.Run("a second session remembers", func(t *testing.T) {
		w := sitDown(t, dir, weftroom, "chat", "--state", state)
		w.until("> ")
		w.keys("\x1b[A\r") // the last line of the first session
		w.until("Rightmost end: in a hole")
		w.until("> ")
		w.keys("exit\r")
		w.until("See you at the loom.")
		w.wantEnd(0)
	})
	t.Run("a request to end", func(t *testing.T) {
		w := sitDown(t, dir, weftroom, "chat")
		w.until("> ")
		w.keys("half a line")
		w.until("half a line")
		if err := w.cmd.Process.Signal(syscall.SIGTERM); err != nil {
			t.Fatal(err)
		}
		w.wantEnd(0)
	})
	t.Run("serve has the room too", func(t *testing.T) {
		w := sitDown(t, dir, weftroom, "serve", "--state", state)
		w.until("> ")
		w.keys("word heddle\r")
		w.until("heald")
		w.until("> ")
		w.keys("quit\r")
		w.until("See you at the loom.")
		w.wantEnd(0)
	})
	if info, err := os.Stat(history); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the history: %v, %v", info, err)
	}
}

// weaver is who sits at the terminal.
type weaver struct {
	t      *testing.T
	tty    *os.File
	cmd    *exec.Cmd
	before unix.Termios
	chunks chan string
	unread string
}

func sitDown(t *testing.T, dir, name string, args ...string) *weaver {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "TERM=xterm", "WEFTROOM_CONSOLE_HISTORY="+filepath.Join(dir, "history"))
	tty, theirs, err := pty.Open()
	if err != nil {
		t.Skipf("no pseudo-terminal: %v", err)
	}
	if err := pty.Setsize(tty, &pty.Winsize{Rows: 24, Cols: 80}); err != nil {
		t.Fatal(err)
	}
	w := &weaver{t: t, tty: tty, cmd: cmd, chunks: make(chan string, 100)}
	w.before = w.mode()
	cmd.Stdin, cmd.Stdout, cmd.Stderr = theirs, theirs, theirs
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	theirs.Close()
	go w.read()
	t.Cleanup(func() {
		_ = cmd.Process.Kill() // over already, if all is well
		tty.Close()
	})
	return w
}

func (w *weaver) read() {
	defer close(w.chunks)
	buf := make([]byte, 4096)
	for {
		n, err := w.tty.Read(buf)
		if n > 0 {
			w.chunks <- string(buf[:n])
		}
		if err != nil {
			return
		}
	}
}

func (w *weaver) mode() unix.Termios {
	w.t.Helper()
	m, err := unix.IoctlGetTermios(int(w.tty.Fd()), unix.TCGETS)
	if err != nil {
		w.t.Fatal(err)
	}
	return *m
}

func (w *weaver) keys(keys string) {
	w.t.Helper()
	if _, err := io.WriteString(w.tty, keys); err != nil {
		w.t.Fatal(err)
	}
}

// until waits for a text on the screen, after the last that was waited for.
func (w *weaver) until(text string) {
	w.t.Helper()
	patience := time.After(time.Minute)
	for {
		if _, after, ok := strings.Cut(w.unread, text); ok {
			w.unread = after
			return
		}
		select {
		case chunk, ok := <-w.chunks:
			if !ok {
				w.t.Fatalf("%q has not come, and no more will; what has: %q", text, w.unread)
			}
			w.unread += chunk
		case <-patience:
			w.t.Fatalf("%q has not come; what has: %q", text, w.unread)
		}
	}
}

// wantEnd checks the exit code, and that the terminal is as it was.
func (w *weaver) wantEnd(code int) {
	w.t.Helper()
	_ = w.cmd.Wait() // the code is looked at
	if got := w.cmd.ProcessState.ExitCode(); got != code {
		w.t.Errorf("exit code %d, want %d; the last words: %q", got, code, w.unread)
	}
	if after := w.mode(); after != w.before {
		w.t.Errorf("the terminal was %+v and is %+v", w.before, after)
	}
}
