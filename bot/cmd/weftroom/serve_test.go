package main

import (
	"database/sql"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"regexp"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestServe plays with processes: what is started, asked, stopped and killed.
// LISTEN is a free address for --listen; the scripts have commands of their own:
//
//	get CODE PATH      asks there until the answer has that status
//	until PATTERN      looks at the metrics until a line fits
//	signal TERM|INT    goes to the process in the background
//	insist TERM|INT    goes to it until it is gone: of two signals that come close
//	                   together it may see one
//	private FILE...    nobody else may read the files
//	lock FILE, unlock  another program has the database for itself
func TestServe(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/serve",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			l, err := net.Listen("tcp", quietHost()+":0")
			if err != nil {
				return err
			}
			e.Values[locks{}] = new(*sql.DB)
			e.Setenv("LISTEN", l.Addr().String())
			return l.Close()
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"get": func(ts *testscript.TestScript, neg bool, args []string) {
				if neg || len(args) != 2 {
					ts.Fatalf("usage: get CODE PATH")
				}
				patiently(ts, args[1], func(status, _ string) bool { return strings.HasPrefix(status, args[0]) })
			},
			"until": func(ts *testscript.TestScript, neg bool, args []string) {
				if neg || len(args) != 1 {
					ts.Fatalf("usage: until PATTERN")
				}
				line, err := regexp.Compile("(?m)" + args[0])
				ts.Check(err)
				patiently(ts, "/metrics", func(_, body string) bool { return line.MatchString(body) })
			},
			"signal": func(ts *testscript.TestScript, neg bool, args []string) {
				ts.Check(sendTo(ts, "signal", neg, args))
			},
			"insist": func(ts *testscript.TestScript, neg bool, args []string) {
				for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
					err := sendTo(ts, "insist", neg, args)
					if errors.Is(err, os.ErrProcessDone) {
						return
					}
					ts.Check(err)
				}
				ts.Fatalf("it does not end")
			},
			"lock": func(ts *testscript.TestScript, neg bool, args []string) {
				other, err := sql.Open("sqlite", ts.MkAbs(args[0])+"?_pragma=busy_timeout(60000)") // serve may be writing
				ts.Check(err)
				other.SetMaxOpenConns(1)
				ts.Defer(func() { other.Close() })
				*ts.Value(locks{}).(**sql.DB) = other
				_, err = other.Exec(`BEGIN IMMEDIATE`)
				ts.Check(err)
			},
			"unlock": func(ts *testscript.TestScript, neg bool, args []string) {
				ts.Check((*ts.Value(locks{}).(**sql.DB)).Close())
			},
			"private": func(ts *testscript.TestScript, neg bool, args []string) {
				for _, name := range args {
					info, err := os.Stat(ts.MkAbs(name))
					ts.Check(err)
					if info.Mode().Perm() != 0o600 {
						ts.Fatalf("%s has mode %v", name, info.Mode())
					}
				}
			},
		},
	})
}

// sendTo sends a signal to the process in the background.
func sendTo(ts *testscript.TestScript, name string, neg bool, args []string) error {
	signals := map[string]os.Signal{"TERM": syscall.SIGTERM, "INT": syscall.SIGINT}
	if neg || len(args) != 1 || signals[args[0]] == nil || len(ts.BackgroundCmds()) != 1 {
		ts.Fatalf("usage: %s TERM|INT, to one process", name)
	}
	return ts.BackgroundCmds()[0].Process.Signal(signals[args[0]])
}

// quietHost is an address of this machine where nobody else listens, so that a port
// that was free still is when the program comes to it.
func quietHost() string {
	if runtime.GOOS != "linux" { // elsewhere there is one, and a small chance
		return "127.0.0.1"
	}
	return fmt.Sprintf("127.%d.%d.%d", 1+rand.IntN(254), rand.IntN(256), 1+rand.IntN(254))
}

// locks is the key of a script's lock.
type locks struct{}

// patiently asks until an answer will do, which is then the standard output.
func patiently(ts *testscript.TestScript, path string, will func(status, body string) bool) {
	last := "nothing"
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		status, body, err := fetch("http://" + ts.Getenv("LISTEN") + path)
		if err != nil {
			last = err.Error()
			continue
		}
		if will(status, body) {
			_, err := io.WriteString(ts.Stdout(), body)
			ts.Check(err)
			return
		}
		last = status + "\n" + body
	}
	ts.Fatalf("it has not come; the last was: %s", last)
}

func fetch(url string) (status, body string, err error) {
	r, err := http.Get(url)
	if err != nil {
		return "", "", err
	}
	defer r.Body.Close()
	raw, err := io.ReadAll(r.Body)
	return r.Status, string(raw), err
}
