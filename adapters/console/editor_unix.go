//go:build unix

package console

import (
	"errors"
	"fmt"
	"os"
	"sync"
	"syscall"

	"github.com/peterh/liner"
)

// longestTyped is the most bytes of one edited line that are taken: the editor
// works through the whole line again and again.
const longestTyped = 16_000

// ctrlC gives a line up.
const ctrlC = 3

// editor reads lines that are edited in the terminal. The line editor reads
// standard input in a goroutine of its own and cannot be interrupted, so it
// gets a pipe instead, and a feeder that can: when the feeder ends, so does the
// pipe, and with it whatever waits for it.
//
// The feeder also knows whether something was typed since the last line ended,
// which the editor does not tell; only if nothing was, it may end the line for
// a post to be shown.
type editor struct {
	liner   *liner.State
	history history
	in      *input
	feed    *os.File      // the feeder's end of the pipe
	fed     *os.File      // the editor's
	done    chan struct{} // closed when the feeder has ended

	mu     sync.Mutex
	given  int  // line ends handed to the editor
	taken  int  // lines that it has given back
	begun  int  // bytes handed over since the last line end
	wanted bool // nudge was called while this line was read
	nudged bool // its end was the feeder's
}

func canEdit(in, out *os.File) bool {
	return in.Fd() == uintptr(syscall.Stdin) && out.Fd() == uintptr(syscall.Stdout) && liner.TerminalSupported()
}

func openEditor(o Options) (*editor, error) {
	in, err := openInput(o.In)
	if err != nil {
		return nil, err
	}
	fed, feed, err := os.Pipe()
	if err != nil {
		in.close()
		return nil, err
	}
	e := &editor{history: history{o.History, o.Log}, in: in, feed: feed, fed: fed, done: make(chan struct{})}
	stdin := os.Stdin
	os.Stdin = fed // read by NewLiner, once
	e.liner = liner.NewLiner()
	os.Stdin = stdin
	e.liner.SetCtrlCAborts(true)
	e.liner.SetTabCompletionStyle(liner.TabPrints)
	e.liner.SetWordCompleter(completer{o.Commands, o.Words.Leave}.complete)
	e.history.load(e.liner)
	go e.feeder()
	return e, nil
}

func (e *editor) next(prompt string) (string, error) {
	line, err := e.liner.Prompt(prompt)
	if e.finished() {
		if _, err := fmt.Print("\x1b[A\r\x1b[K"); err != nil { // the empty prompt makes room
			return "", err
		}
		return "", errNudged
	}
	if errors.Is(err, liner.ErrPromptAborted) {
		return "", errCancelled
	}
	if err == nil {
		e.history.add(e.liner, line)
	}
	return line, err
}

// finished counts a line that the editor has given back, and tells whether the
// feeder ended it.
func (e *editor) finished() (nudged bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.taken++
	nudged = e.nudged
	e.nudged, e.wanted = false, false
	return nudged
}

func (e *editor) feeder() {
	defer close(e.done)
	defer e.feed.Close()
	buf := make([]byte, 4096)
	for {
		n, err := e.in.Read(buf)
		keys := e.count(buf[:n])
		if errors.Is(err, errWoken) && e.mayEnd() {
			keys = []byte{'\n'}
		} else if err != nil && !errors.Is(err, errWoken) {
			return
		}
		if _, err := e.feed.Write(keys); err != nil {
			return
		}
	}
}

// count follows the lines in what is handed over, and leaves out what makes one
// too long.
func (e *editor) count(keys []byte) []byte {
	e.mu.Lock()
	defer e.mu.Unlock()
	kept := keys[:0]
	for _, k := range keys {
		e.begun++
		if k == '\r' || k == '\n' || k == ctrlC {
			e.given++
			e.begun = 0
		}
		if e.begun <= longestTyped {
			kept = append(kept, k)
		}
	}
	return kept
}

// mayEnd tells that a nudge is wanted and nothing has been typed that the line
// it ends could be part of.
func (e *editor) mayEnd() bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	if !e.wanted || e.begun > 0 || e.given != e.taken {
		return false
	}
	e.wanted, e.nudged = false, true
	e.given++
	return true
}

func (e *editor) nudge() {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.wanted = true
	e.in.wake()
}

func (e *editor) stop() { e.in.stop() }

func (e *editor) close() error {
	e.in.stop()
	e.feed.Close() // a feeder may be writing more than anyone will read
	<-e.done
	e.fed.Close() // and so is whatever the editor left reading
	e.in.close()
	return errors.Join(e.history.save(e.liner), e.liner.Close())
}
