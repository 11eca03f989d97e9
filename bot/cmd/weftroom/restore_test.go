package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store/storetest"
)

// onBoth runs a test on either database.
func onBoth(t *testing.T, test func(t *testing.T, where string)) {
	t.Run("SQLite", func(t *testing.T) { test(t, freshFile(t)) })
	t.Run("PostgreSQL", func(t *testing.T) { test(t, storetest.Postgres(t)) })
}

// operator runs a command of the operator's in this process.
func operator(args ...string) (code int, stdout, stderr string) {
	var out, errs bytes.Buffer
	code = run(args, streams{strings.NewReader(""), &out, &errs})
	return code, out.String(), errs.String()
}

func mustOperate(t *testing.T, args ...string) string {
	t.Helper()
	code, out, stderr := operator(args...)
	if code != exitOK {
		t.Fatalf("%q: exit %d\n%s%s", args, code, out, stderr)
	}
	return out
}

// TestRestoreIsHeldUntilResume plays the whole of it: a backup from beside,
// a deletion since, the restore, a house that joins no chat, and its resume.
func TestRestoreIsHeldUntilResume(t *testing.T) {
	onBoth(t, func(t *testing.T, where string) {
		dir := t.TempDir()
		list := filepath.Join(dir, "forgotten")
		t.Setenv("WEFTROOM_STATE_FORGOTTEN", list)
		backup := filepath.Join(dir, "backup.db")

		n := moveIn(t, where, nil)
		end := n.running()
		n.must("ottilie", `class open "Lace" zone:Berlin`)
		n.must("zephyrine", "join name:Zephyrine")
		eventually(t, "the lease", func() bool { return n.gauges.chats() == 1 })
		mustOperate(t, "backup", "--state", where, backup)
		private(t, backup)
		n.must("ottilie", "class set credit:later")
		n.must("zephyrine", "forget sure:yes")
		if code, _, stderr := operator("restore", "--state", where, "--sure", backup); code != exitFault || !strings.Contains(stderr, "stop it first") {
			t.Errorf("restored under a running house: exit %d, %s", code, stderr)
		}
		if err := end(); err != nil {
			t.Fatal(err)
		}
		n.close()
		// On PostgreSQL the process that forgot her knew no list; the backup has
		// one now, and a restore writes down what the database knew.
		before := time.Now()
		out := mustOperate(t, "restore", "--state", where, "--sure", backup)
		if !strings.Contains(out, "deleted since: 1\n") {
			t.Error(out)
		}
		private(t, list)

		n = moveIn(t, where, nil)
		end = running(t, func(ctx context.Context) error { return n.serve(ctx, []bot.Adapter{n.chat}, nil) })
		n.chat.Ask(n.request("ottilie", "class show"))
		eventually(t, "the warning", func() bool { return strings.Contains(n.said.String(), "held: restored") })
		if state := n.health(t.Context()); !state.Held || state.ready() {
			t.Errorf("held, and says %+v", state)
		}
		if out := mustOperate(t, "check", "--state", where); !strings.Contains(out, "held: restored from a backup") {
			t.Error(out)
		}
		if got := n.chat.String(); got != "" {
			t.Errorf("held, and answers: %s", got)
		}
		old := n.request("ottilie", "class set credit:old")
		old.At = before.Add(-time.Minute)
		n.chat.Ask(old)
		mustOperate(t, "resume", "--state", where)
		eventually(t, "the answer to what was asked while it was held", n.shows("Lace"))
		n.chat.Ask(n.request("ottilie", "roster"))
		eventually(t, "the answer", n.shows("1 member"))
		if err := end(); err != nil {
			t.Error(err)
		}
		k, err := n.db.ClassIn(t.Context(), lobby)
		if err != nil || k.Credit != "" {
			t.Errorf("credit %q, %v: what was set after the backup, and asked before the restore, is there", k.Credit, err)
		}
		if _, err := n.db.FindPerson(t.Context(), bot.Account{Chat: "loopback", User: "zephyrine"}); !errors.Is(err, class.ErrNone) {
			t.Errorf("who was forgotten is back: %v", err)
		}
		if got := metrics(t, n.house); !strings.Contains(got, "weftroom_requests_ignored_total 1\n") {
			t.Error("it was not ignored, or not counted")
		}
		n.close()
		if out := mustOperate(t, "resume", "--state", where); out != "nothing was held\n" {
			t.Error(out)
		}
	})
}

// private holds a file to the eyes of its owner.
func private(t *testing.T, path string) {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%s: mode %v, %v", path, info.Mode(), err)
	}
}

// TestStateIsPrivate holds every file of a house at work, whatever the umask.
func TestStateIsPrivate(t *testing.T) {
	path := freshFile(t)
	n := moveIn(t, path, nil)
	n.must("ottilie", `class open "Lace" zone:Berlin`)
	n.must("zephyrine", "join name:Zephyrine")
	n.must("zephyrine", "forget sure:yes")
	mustOperate(t, "backup", "--state", path, path+".copy")
	files, err := os.ReadDir(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range files {
		names = append(names, f.Name())
		private(t, filepath.Join(filepath.Dir(path), f.Name()))
	}
	if got := fmt.Sprint(names); got != "[class.db class.db-shm class.db-wal class.db.copy class.db.forgotten class.db.lock]" {
		t.Error(got)
	}
}
