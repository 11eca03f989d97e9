package store_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store"
	"weftroom/bot/store/storetest"
)

// TestKill has processes answer requests and kills them (-9) in the midst of it,
// again and again. Each begins a few requests before where the last one said it
// was, as a chat does that delivers again what was not acknowledged. Every
// request must have one effect and one answer.
func TestKill(t *testing.T) {
	if where := os.Getenv("WEFTROOM_TEST_KILL"); where != "" {
		answerUntilKilled(t, where, os.Getenv("WEFTROOM_TEST_FROM"))
		return
	}
	t.Run("SQLite", func(t *testing.T) { killed(t, filepath.Join(t.TempDir(), "class.db"), 12, 1) })
	t.Run("PostgreSQL, two processes", func(t *testing.T) { killed(t, storetest.Postgres(t), 6, 2) })
}

func killed(t *testing.T, where string, kills, processes int) {
	db := opened(t, where)
	teacher, err := db.PersonOf(t.Context(), killer, "Ines")
	ok(t, err)
	c, err := db.OpenClass(t.Context(), class.Class{}, bot.Place{Chat: "loopback", Room: "1"}, teacher.ID)
	ok(t, err)
	ok(t, db.Close())

	answers := map[int]string{} // what was answered to each request
	next := 0
	for range kills {
		reached := killOne(t, where, max(0, next-5), processes, answers)
		next = max(next, reached+1)
	}
	db = opened(t, where)
	if db.Dialect() == store.SQLite {
		ok(t, store.Check(t.Context(), db))
	}
	kept, err := db.QuestionsOf(t.Context(), c.ID, true)
	ok(t, err)
	effects := map[string][]string{}
	for _, q := range kept {
		effects[q.Text] = append(effects[q.Text], string(q.ID))
	}
	for request, answer := range answers {
		if got := effects[strconv.Itoa(request)]; len(got) != 1 || got[0] != answer {
			t.Errorf("request %d was answered %s and has the effects %v", request, answer, got)
		}
	}
	for request, ids := range effects {
		if len(ids) != 1 {
			t.Errorf("request %s has the effects %v", request, ids)
		}
	}
	if n, err := store.Ask(t.Context(), db, `SELECT COUNT(*) || '' FROM ledger`); err != nil || n != fmt.Sprint(len(kept)) {
		t.Errorf("%s requests and %d effects are kept, %v", n, len(kept), err)
	}
	t.Logf("%d kills, %d requests answered, %d effects", kills*processes, len(answers), len(kept))
	if len(answers) < kills {
		t.Errorf("only %d requests answered", len(answers))
	}
}

var killer = bot.Account{Chat: "loopback", User: "teacher"}

// killOne runs processes from a request on and kills them after a few answers.
func killOne(t *testing.T, where string, from, processes int, answers map[int]string) (reached int) {
	t.Helper()
	lines := make(chan string)
	var commands []*exec.Cmd
	for range processes {
		c := exec.Command(os.Args[0], "-test.run=^TestKill$")
		c.Env = append(os.Environ(), "WEFTROOM_TEST_KILL="+where, fmt.Sprint("WEFTROOM_TEST_FROM=", from))
		out, err := c.StdoutPipe()
		ok(t, err)
		c.Stderr = os.Stderr
		ok(t, c.Start())
		commands = append(commands, c)
		go func() {
			for s := bufio.NewScanner(out); s.Scan(); {
				lines <- s.Text()
			}
			lines <- "end"
		}()
	}
	left := 6 + rand.IntN(25)
	for ends := 0; ends < processes; {
		line := <-lines
		if line == "end" {
			ends++
			continue
		}
		number, answer, _ := strings.Cut(line, " ")
		request, err := strconv.Atoi(number)
		if err != nil {
			t.Errorf("a process says %q", line)
			continue
		}
		if before, again := answers[request]; again && before != answer {
			t.Errorf("request %d is answered %s and then %s", request, before, answer)
		}
		answers[request] = answer
		reached = max(reached, request)
		if left--; left == 0 {
			for _, c := range commands {
				ok(t, c.Process.Kill())
			}
		}
	}
	for _, c := range commands {
		if err := c.Wait(); err == nil || !strings.Contains(err.Error(), "killed") {
			t.Errorf("a process ended by itself: %v", err)
		}
	}
	return reached
}

// answerUntilKilled is the process that is killed.
func answerUntilKilled(t *testing.T, where, from string) {
	db, err := store.OpenURL(t.Context(), where, store.Options{})
	ok(t, err)
	first, err := strconv.Atoi(from)
	ok(t, err)
	for n := first; ; n++ {
		r := bot.Request{ID: strconv.Itoa(n), From: killer}
		once := db.Once
		if n%2 == 0 {
			once = db.OnceSoon // a killed process loses nothing of that either
		}
		reply, err := once(t.Context(), r, func(ctx context.Context) (bot.Reply, error) { return ask(ctx, db, r) })
		ok(t, err)
		fmt.Println(n, reply.Title)
	}
}

func ask(ctx context.Context, db *store.DB, r bot.Request) (bot.Reply, error) {
	p, err := db.PersonOf(ctx, r.From, "")
	if err != nil {
		return bot.Reply{}, err
	}
	in, err := db.MemberOf(ctx, p.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	q, err := db.AddQuestion(ctx, class.Question{Class: in[0].Class, Person: p.ID, Text: r.ID})
	return bot.Reply{Title: string(q.ID)}, err
}
