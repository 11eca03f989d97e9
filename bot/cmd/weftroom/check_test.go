package main

import (
	"context"
	"errors"
	"io"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"weftroom/adapters/loopback"
	"weftroom/bot"
	"weftroom/bot/store/storetest"
)

// door is a chat that lets us in, or says why not.
type door struct {
	*loopback.Chat
	why error
}

// Check implements bot.Checker.
func (d door) Check(context.Context) error { return d.why }

func TestCheckTriesTheChats(t *testing.T) {
	var out strings.Builder
	f := &findings{out: &out}
	f.chats(t.Context(), []bot.Adapter{
		door{loopback.New("open", "hall"), nil},
		loopback.New("cannot be tried", "hall"),
		door{loopback.New("shut", "hall"), errors.New("the token is not valid any more (https://chat.example/login?token=s3cret); make a new one")},
	})
	const want = "open: lets us in\n" +
		"shut: WRONG: the token is not valid any more (https://… make a new one\n"
	if out.String() != want {
		t.Errorf("got  %s\nwant %s", &out, want)
	}
	if err := f.end(); err != exit(exitFault) {
		t.Errorf("ended with %v", err)
	}
}

// TestCheckInWords has everything wrong that can be, one at a time.
func TestCheckInWords(t *testing.T) {
	const secret = "p4ssw0rd"
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	closed, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	closed.Close()
	used, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer used.Close()
	inUse := moveIn(t, filepath.Join(dir, "used.db"), nil)
	for _, c := range []struct {
		name, where string
		code        int
		says        []string
	}{
		{"nothing is there yet", filepath.Join(dir, "new.db"), exitOK, []string{"database: not there yet; serve makes it\n", "chats: none is set up"}},
		{"no folder", filepath.Join(dir, "none", "class.db"), exitFault, []string{"database: WRONG: ", "what to do: the folder must be there"}},
		{"no database", write("diary", strings.Repeat("Dear diary, ", 500)), exitFault, []string{"database: WRONG: ", "what to do: the file is something else"}},
		{"in use", inUse.where, exitOK, []string{"database: in use by process ", "; a second serve would be refused\n", "database: good\n", "posts waiting: 0\n", "chats: not tried"}},
		{"nobody answers", "postgres://weftroom:" + secret + "@" + closed.Addr().String() + "/weftroom", exitFault, []string{"database: WRONG: ", "pg_isready"}},
		{"an empty PostgreSQL", storetest.Postgres(t), exitOK, []string{"database: empty; serve makes its tables\n"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, stderr := operator("check", "--state", c.where)
			if code != c.code {
				t.Errorf("exit %d, want %d; %s", code, c.code, stderr)
			}
			for _, text := range append(c.says, "settings: good\n") {
				if !strings.Contains(out, text) {
					t.Errorf("%q is not said:\n%s", text, out)
				}
			}
			if strings.Contains(out+stderr, secret) {
				t.Errorf("the password is shown: %s%s", out, stderr)
			}
		})
	}
	t.Setenv("WEFTROOM_SERVE_LISTEN", used.Addr().String())
	if code, out, _ := operator("check", "--state", filepath.Join(dir, "new.db")); code != exitFault || !strings.Contains(out, "address: WRONG: ") || !strings.Contains(out, "choose another port") {
		t.Errorf("exit %d: %s", code, out)
	}
	if _, err := os.Stat(filepath.Join(dir, "new.db")); err == nil {
		t.Error("check has made a file")
	}
}

// TestEar tells who may write on standard input, as the program is started.
func TestEar(t *testing.T) {
	null, err := os.Open(os.DevNull)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	defer r.Close()
	file, err := os.Create(filepath.Join(t.TempDir(), "lines"))
	if err != nil {
		t.Fatal(err)
	}
	folder, err := os.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	for _, c := range []struct {
		name string
		in   io.Reader
		want ear
	}{
		{"nothing at all, as under a service manager", null, nobody},
		{"a pipe", r, pipe},
		{"a file", file, pipe},
		{"a folder", folder, nobody},
		{"no file", strings.NewReader("row"), nobody},
	} {
		if _, got := earOf(c.in); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	file.Close()
	if _, got := earOf(file); got != nobody {
		t.Errorf("closed: %v", got)
	}
}

// TestGivenUp: a post that was given up is in sight, its reason without the
// address in it, and is tried again when the operator wants it.
func TestGivenUp(t *testing.T) {
	onBoth(t, func(t *testing.T, where string) {
		n := moveIn(t, where, nil)
		n.chat.Script(func(_ bot.Place, _ string, try int) loopback.Fault {
			if try == 1 {
				return loopback.Fault{Err: &bot.SendError{Permanent: true, Err: errors.New("not allowed at https://chat.example/s3cret")}}
			}
			return loopback.Fault{}
		})
		n.running()
		n.post("It begins.")
		dead := func() []string {
			return regexp.MustCompile(`(?m)^  ([0-9]+): say, due \S+: (.+)$`).FindStringSubmatch(mustOperate(t, "check", "--state", where))
		}
		var found []string
		eventually(t, "given up", func() bool { found = dead(); return found != nil })
		if found[2] != "permanent: not allowed at https://…" {
			t.Errorf("the reason: %q", found[2])
		}
		if code, _, stderr := operator("requeue", "--state", where, "4711"); code != exitFault || !strings.Contains(stderr, "no post 4711 was given up") {
			t.Errorf("exit %d, %s", code, stderr)
		}
		mustOperate(t, "requeue", "--state", where, found[1])
		if found := dead(); found != nil {
			t.Errorf("still given up: %q", found)
		}
		n.post("It goes on.") // or a minute later
		eventually(t, "the post", n.shows("It begins."))
	})
}
