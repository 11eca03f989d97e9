//go:build linux

package console

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"

	"weftroom/bot"
)

// A room in a terminal needs standard input to be one, so these tests run this
// very program again inside of a pseudo-terminal, with inTerminal set.
const inTerminal = "CONSOLE_TEST_IN_TERMINAL"

// patience is how long a test waits for what must come.
const patience = time.Minute

func TestMain(m *testing.M) {
	if os.Getenv(inTerminal) != "" {
		os.Exit(roomInTerminal())
	}
	os.Exit(m.Run())
}

// roomInTerminal is the program in the pseudo-terminal. On file 3 it takes
// orders: "end" ends the context, anything else is posted under itself as key.
// When a post is on its way it says so on file 4.
func roomInTerminal() int {
	ctx, end := context.WithCancel(context.Background())
	room := New(Options{
		In: os.Stdin, Out: os.Stdout, Commands: declared, User: "you", Greeting: "hello",
		History: os.Getenv("CONSOLE_TEST_HISTORY"), Words: words, Log: slog.New(slog.NewTextHandler(os.Stderr, nil)),
	})
	orders, queued := os.NewFile(3, "orders"), os.NewFile(4, "queued")
	go func() {
		for lines := bufio.NewScanner(orders); lines.Scan(); {
			order := lines.Text()
			if order == "end" {
				end()
				continue
			}
			go func() {
				_, _ = room.Post(context.Background(), room.Place(), order, bot.Reply{Title: "post: " + order})
			}()
			for !room.knows(order) {
			}
			fmt.Fprintln(queued, order)
		}
	}()
	err := room.Run(ctx, answers(func(ctx context.Context, r bot.Request) bot.Reply {
		if r.Line == "hello" {
			return bot.Reply{Title: "Welcome."}
		}
		return echo(ctx, r)
	}))
	fmt.Println("Run gave", err)
	fmt.Println(left())
	fmt.Println("over")
	return 0
}

// left gives the stacks of what the room has left running, as soon as it has
// had the chance to end.
func left() (stacks []string) {
	for deadline := time.Now().Add(patience / 2); time.Now().Before(deadline); runtime.Gosched() {
		stacks = nil
		buf := make([]byte, 1<<20)
		for stack := range strings.SplitSeq(string(buf[:runtime.Stack(buf, true)]), "\n\n") {
			if strings.Contains(stack, "console.(*editor)") || strings.Contains(stack, "liner.") {
				stacks = append(stacks, stack)
			}
		}
		if len(stacks) == 0 {
			break
		}
	}
	return stacks
}

func (r *Room) knows(key string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.posts[key] != nil
}

// screen is a person at the pseudo-terminal.
type screen struct {
	t              *testing.T
	tty            *os.File // hers
	orders, queued *os.File
	before         unix.Termios
	chunks         chan string
	unread         string
}

func openScreen(t *testing.T, environ ...string) *screen {
	t.Helper()
	tty, theirs, err := pty.Open()
	if err != nil {
		t.Skipf("no pseudo-terminal: %v", err)
	}
	if err := pty.Setsize(tty, &pty.Winsize{Rows: 24, Cols: 80}); err != nil {
		t.Fatal(err)
	}
	ordersR, ordersW, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	queuedR, queuedW, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	s := &screen{t: t, tty: tty, orders: ordersW, queued: queuedR, before: mode(t, tty), chunks: make(chan string, 100)}
	cmd := exec.Command(os.Args[0])
	cmd.Stdin, cmd.Stdout, cmd.Stderr = theirs, theirs, theirs
	cmd.ExtraFiles = []*os.File{ordersR, queuedW}
	cmd.Env = append(append(os.Environ(), inTerminal+"=1", "TERM=xterm"), environ...)
	cmd.SysProcAttr = &unix.SysProcAttr{Setsid: true, Setctty: true}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	theirs.Close()
	ordersR.Close()
	queuedW.Close()
	go s.read()
	t.Cleanup(func() {
		_ = cmd.Process.Kill() // over already, if all is well
		_ = cmd.Wait()
		ordersW.Close()
		queuedR.Close()
		tty.Close()
	})
	return s
}

func (s *screen) read() {
	defer close(s.chunks)
	buf := make([]byte, 4096)
	for {
		n, err := s.tty.Read(buf)
		if n > 0 {
			s.chunks <- string(buf[:n])
		}
		if err != nil {
			return
		}
	}
}

func mode(t *testing.T, tty *os.File) unix.Termios {
	t.Helper()
	m, err := unix.IoctlGetTermios(int(tty.Fd()), unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	return *m
}

func (s *screen) keys(keys string) {
	s.t.Helper()
	if _, err := io.WriteString(s.tty, keys); err != nil {
		s.t.Fatal(err)
	}
}

func (s *screen) order(order string) {
	s.t.Helper()
	if _, err := io.WriteString(s.orders, order+"\n"); err != nil {
		s.t.Fatal(err)
	}
}

// post orders a post, and returns when the room has it.
func (s *screen) post(key string) {
	s.t.Helper()
	s.order(key)
	if err := s.queued.SetReadDeadline(time.Now().Add(patience)); err != nil {
		s.t.Fatal(err)
	}
	if _, err := s.queued.Read(make([]byte, len(key)+1)); err != nil {
		s.t.Fatal(err)
	}
}

// types sends keys, and is until the text comes that they bring.
func (s *screen) types(keys, text string) string {
	s.t.Helper()
	s.keys(keys)
	return s.until(text)
}

// until waits for a text on the screen and gives all that came since the last
// one, up to and with it.
func (s *screen) until(text string) string {
	s.t.Helper()
	over := time.After(patience)
	for {
		if before, after, ok := strings.Cut(s.unread, text); ok {
			s.unread = after
			return before + text
		}
		select {
		case chunk, ok := <-s.chunks:
			if !ok {
				s.t.Fatalf("%q has not come, and no more will; what has: %q", text, s.unread)
			}
			s.unread += chunk
		case <-over:
			s.t.Fatalf("%q has not come; what has: %q", text, s.unread)
		}
	}
}

// wantOver checks that Run has returned, left nothing running, and given the
// terminal back as it was.
func (s *screen) wantOver() {
	s.t.Helper()
	if end := s.until("\r\nover"); !strings.Contains(end, "Run gave <nil>\r\n[]\r\n") {
		s.t.Errorf("the end: %s", end)
	}
	if after := mode(s.t, s.tty); after != s.before {
		s.t.Errorf("the terminal was %+v and is %+v", s.before, after)
	}
}

// ready waits until the editor takes keys: the prompt appears a moment before,
// and in that moment ctrl-C would still be a signal.
func (s *screen) ready() {
	s.t.Helper()
	s.until("room> ")
	s.types("x", "x")
	s.types("\x7f", "room> \x1b[0K\x1b[7G")
}

func TestTerminal(t *testing.T) {
	s := openScreen(t)
	s.until("Welcome.\r\n\r\nroom> ")
	s.types("row\r", "\"row\" from console-2\r\n\r\nroom> ")
	s.types("\r   \r", "room> ")
	s.until("room> ")
	s.types("quit\r", "Goodbye.\r\n")
	s.wantOver()
}

func TestTerminalKeys(t *testing.T) {
	for _, c := range []struct{ name, keys, want string }{
		{"Tab completes a command", "se\t\r", `"session " from`},
		{"Tab completes an argument", "row ra\t3\r", `"row raised:3" from`},
		{"Tab completes a choice", "row way:t\t\r", `"row way:two " from`},
		{"ctrl-C cancels the line", "row en\x03fit\r", `"fit" from console-2`},
		{"arrow up brings the last line back", "row 1\r\x1b[A\r", `"row 1" from console-3`},
		{"editing in the line", "rw\x1b[Do\r", `"row" from`},
		{"letters of several bytes", "zwölf — ½\r", `"zwölf — ½" from`},
		{"a paste of several lines", "one\rtwo\r\nthree\r", "\"three\" from console-4"},
		{"a letter runs a button", "ask\rb\r", "12 it is"},
		{"a line as long as a book", strings.Repeat("x", 100_000) + "\rshort\r", `"short" from console-3`},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := openScreen(t)
			s.ready()
			s.types(c.keys, c.want)
			s.types("\x04", "\r\nGoodbye.\r\n")
			s.wantOver()
		})
	}
}

// TestPostAtAnEmptyPrompt comes at once, above a prompt that stays one.
func TestPostAtAnEmptyPrompt(t *testing.T) {
	s := openScreen(t)
	s.until("room> ")
	s.post("tea")
	if got := s.until("post: tea\r\n\r\nroom> "); !strings.Contains(got, "\x1b[A\r\x1b[K") {
		t.Errorf("the old prompt stays: %q", got)
	}
	s.types("row\r", "\"row\" from console-2\r\n\r\nroom> ")
	s.post("scones")
	s.until("post: scones\r\n\r\nroom> ")
	s.keys("\x04")
	s.wantOver()
}

// TestPostIntoALine waits for the line that is being typed, and does not spoil it.
func TestPostIntoALine(t *testing.T) {
	s := openScreen(t)
	s.until("room> ")
	s.types("ro", "ro")
	s.post("tea")
	s.post("scones")
	got := s.types("w\r", "\"row\" from console-2\r\n\r\nroom> ")
	if !strings.HasPrefix(got, "w\r\npost: tea\r\n\r\npost: scones\r\n\r\n\"row\"") {
		t.Errorf("got %q", got)
	}
	s.types("fit", "fit")
	s.types("\x03", "^C\r\nroom> ")
	s.post("cake")
	s.until("post: cake\r\n\r\nroom> ")
	s.keys("\x04")
	s.wantOver()
}

// TestSeveralLinesInATerminal: a text goes on under a prompt of its own. A post
// waits for its end, and ctrl-C gives all of it up.
func TestSeveralLinesInATerminal(t *testing.T) {
	s := openScreen(t)
	s.until("room> ")
	s.types("note <<\r", "more> ")
	s.post("tea")
	s.until("more> ")
	s.types("..o\r", "more> ")
	if got := s.types(".o.\r\r", "from console-2\r\n\r\nroom> "); !strings.Contains(got, `post: tea`) || !strings.Contains(got, `"note text:\"..o\n.o.\"" from console-2`) {
		t.Errorf("got %q", got)
	}
	s.types("note <<\r", "more> ")
	s.keys("..o\r")
	s.until("\r\nmore> ") // the next one: each key draws the line anew
	s.keys("x")
	s.until("x") // it reads keys by now, and ctrl-C is one
	s.types("\x03", "^C\r\nroom> ")
	s.types("fit\r", "\"fit\" from console-3\r\n\r\nroom> ")
	s.types("note <<\rlast\r", "last")
	s.types("\x04", "from console-4\r\n\r\nroom> ")
	s.keys("\x04")
	s.wantOver()
}

func TestContextEndsInATerminal(t *testing.T) {
	for _, c := range []struct{ name, typed string }{
		{"at an empty prompt", ""},
		{"in a line", "row ends:"},
		{"while choosing a completion", "r\t"},
		{"in a text of several lines", "note <<\r"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := openScreen(t)
			s.until("room> ")
			s.types(c.typed, strings.TrimRight(c.typed, "\t\r"))
			s.order("end")
			s.wantOver()
		})
	}
}

func TestDumbTerminal(t *testing.T) {
	s := openScreen(t, "TERM=dumb")
	s.until("Welcome.\r\n\r\nroom> ")
	s.types("ro", "ro")
	s.post("tea")
	if got := s.types("w\n", "\"row\" from console-2\r\n\r\nroom> "); !strings.HasPrefix(got, "w\r\npost: tea\r\n") {
		t.Errorf("got %q", got)
	}
	s.order("end")
	s.wantOver()
}

// TestHistory keeps lines from one room to the next, for their owner alone.
func TestHistory(t *testing.T) {
	path := filepath.Join(t.TempDir(), "made", "history")
	for n, keys := range []string{"first\rsecond\r", "\x1b[A\x1b[A\x1b[A\r"} {
		s := openScreen(t, "CONSOLE_TEST_HISTORY="+path)
		s.until("room> ")
		s.types(keys, []string{`"second" from`, `"first" from`}[n])
		s.keys("quit\r")
		s.wantOver()
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(raw) != "first\nsecond\nquit\nfirst\nquit\n" {
		t.Errorf("it holds %q", raw)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if info.Mode().Perm() != 0o600 {
		t.Errorf("its mode is %v", info.Mode())
	}
}
