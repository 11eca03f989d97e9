package storetest

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	_ "modernc.org/sqlite" // reads backups

	"weftroom/bot"
	"weftroom/bot/class"
)

// Everything is all that s keeps of a class and its people, a row to a line with
// its table in front, sorted.
func Everything(t *testing.T, s Store) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "all.db")
	ok(t, s.Backup(t.Context(), path))
	db := must[*sql.DB](t)(sql.Open("sqlite", path))
	defer db.Close()
	var lines []string
	for _, table := range column(t, db, `SELECT name FROM sqlite_master WHERE type = 'table'`) {
		rows := must[*sql.Rows](t)(db.QueryContext(t.Context(), "SELECT * FROM "+table))
		names := must[[]string](t)(rows.Columns())
		for rows.Next() {
			values, into := make([]any, len(names)), make([]any, len(names))
			for i := range values {
				into[i] = &values[i]
			}
			ok(t, rows.Scan(into...))
			if table != "goose_db_version" && table != "meta" {
				lines = append(lines, fmt.Sprintln(table, values))
			}
		}
		ok(t, rows.Err())
	}
	slices.Sort(lines)
	return strings.Join(lines, "")
}

func column(t *testing.T, db *sql.DB, query string) (out []string) {
	rows := must[*sql.Rows](t)(db.QueryContext(t.Context(), query))
	defer rows.Close()
	for rows.Next() {
		var v string
		ok(t, rows.Scan(&v))
		out = append(out, v)
	}
	ok(t, rows.Err())
	return out
}

// known gives the lines that hold one of the words, but for those of the list
// of the forgotten, which is there to know ids.
func known(all string, words ...string) (lines []string) {
	for line := range strings.Lines(all) {
		for _, w := range words {
			if strings.Contains(line, w) && !strings.HasPrefix(line, "forgotten ") {
				lines = append(lines, line)
				break
			}
		}
	}
	return lines
}

// Populate makes a class in which two persons, among others, have left a trace
// everywhere.
func Populate(t *testing.T, s Store) (one, two class.Person) {
	w := crowded(t, s)
	return w.one, w.two
}

// crowded is a class in which Maya has left a trace everywhere.
func crowded(t *testing.T, s Store) twoOfOne {
	ctx := t.Context()
	w := newTwoOfOne(t, s)
	join(t, s, w.class.ID, w.one.ID, bot.Student)
	ok(t, s.PutAttendance(ctx, class.Attendance{Session: w.first.ID, Person: w.one.ID, Answer: "away", Came: "no", At: evening}))
	ok(t, s.PutAttendance(ctx, class.Attendance{Session: w.next.ID, Person: w.two.ID, Answer: "away", At: evening}))
	ok(t, s.PutLink(ctx, class.Link{Code: "aaaa", From: maya2, Expires: evening}))
	ok(t, s.PutLink(ctx, class.Link{Code: "bbbb", From: tomas, To: maya2, Expires: evening}))
	ok(t, s.PutSettled(ctx, class.Settled{Person: w.two.ID, Account: bot.Account{Chat: "console", User: "elsewhere"}, Was: "before22"}))
	ok(t, s.PutSettled(ctx, class.Settled{Person: person(t, s, tomas, "Tomas").ID, Account: tomas, Was: w.two.ID}))
	must[class.Schedule](t)(s.AddSchedule(ctx, class.Schedule{Class: w.class.ID, By: w.two.ID, Text: "Bring scissors", Planned: evening.AddDate(100, 0, 0)}))
	keep(t, s, maya2, design("Her star", "text:STAR"))
	keep(t, s, maya2, design("", "text:STARS"))
	for i, a := range []bot.Account{maya2, maya} {
		must[bot.Reply](t)(s.Once(ctx, bot.Request{ID: fmt.Sprint("$", i), From: a},
			func(context.Context) (bot.Reply, error) {
				return bot.Reply{Title: "Noted, " + string(must[class.Person](t)(s.FindPerson(ctx, a)).ID)}, nil
			}))
	}
	return w
}

func deleted(t *testing.T, s Store) {
	ctx := t.Context()
	w := crowded(t, s)
	traces := []string{string(w.two.ID), maya2.User, w.two.Name, w.question.Text, "elsewhere"}
	if n := len(known(Everything(t, s), traces...)); n < 12 {
		t.Fatalf("the test is too easy: only %d traces", n)
	}
	ok(t, s.DeletePerson(ctx, w.two.ID))
	all := Everything(t, s)
	if left := known(all, traces...); len(left) > 0 {
		t.Errorf("left of her:\n%s", strings.Join(left, ""))
	}
	if strings.Contains(all, w.two.Name) || strings.Contains(all, maya2.User) {
		t.Error("her name is in the list of the forgotten")
	}
	for _, c := range []struct {
		name    string
		session class.ID
		want    [3]int
	}{
		{"she was coming and came", w.first.ID, [3]int{1, 0, 1}},
		{"she was away", w.next.ID, [3]int{0, 1, 0}},
	} {
		coming, away, came, err := s.Nameless(ctx, c.session)
		ok(t, err)
		same(t, c.name, [3]int{coming, away, came}, c.want)
	}
	// Others are as they were.
	same(t, "who stays", must[class.Person](t)(s.FindPerson(ctx, maya)), w.one)
	same(t, "her answer", len(must[[]class.Attendance](t)(s.AttendanceOf(ctx, w.first.ID))), 1)
	if len(known(all, "Noted, "+string(w.one.ID))) != 1 {
		t.Error("another's reply is gone")
	}
	same(t, "the schedule that she made goes on", must[[]class.Schedule](t)(s.SchedulesOf(ctx, w.class.ID))[0].By, class.ID(""))
	ok(t, s.PutSession(ctx, w.first))
	coming, _, _, err := s.Nameless(ctx, w.first.ID)
	ok(t, err)
	same(t, "numbers after the session was changed", coming, 1)

	again := person(t, s, maya2, "back")
	if again.ID == w.two.ID {
		t.Error("who comes back is the same as before")
	}
	ok(t, s.DeletePerson(ctx, w.two.ID)) // an old request
	must[class.Person](t)(s.FindPerson(ctx, maya2))
}

func deletedMerged(t *testing.T, s Store) {
	ctx := t.Context()
	w := crowded(t, s)
	ok(t, s.MoveAccount(ctx, maya2, w.one.ID))
	ok(t, s.MoveAccount(ctx, maya, person(t, s, tomas, "Tomas").ID)) // Maya still has maya2
	ok(t, s.MoveAccount(ctx, maya2, must[class.Person](t)(s.FindPerson(ctx, tomas)).ID))
	all := must[class.Person](t)(s.FindPerson(ctx, tomas))
	ok(t, s.DeletePerson(ctx, all.ID))
	traces := []string{maya.User, maya2.User, tomas.User, w.one.Name, w.two.Name, "Tomas", string(w.one.ID), string(w.two.ID), string(all.ID)}
	if left := known(Everything(t, s), traces...); len(left) > 0 {
		t.Errorf("left:\n%s", strings.Join(left, ""))
	}
}

func deletionUndone(t *testing.T, s Store) {
	w := crowded(t, s)
	before := Everything(t, s)
	err := s.Tx(t.Context(), func(ctx context.Context) error {
		if err := s.DeletePerson(ctx, w.two.ID); err != nil {
			return err
		}
		return errOurs
	})
	if err == nil {
		t.Fatal("no error")
	}
	same(t, "everything", Everything(t, s), before)
}

// deletedReplay: the request by which she was forgotten, delivered again, must
// not make her anew.
func deletedReplay(t *testing.T, s Store) {
	ctx := t.Context()
	w := crowded(t, s)
	forget := func() bot.Reply {
		return must[bot.Reply](t)(s.Once(ctx, bot.Request{ID: "$forget", From: maya2}, func(ctx context.Context) (bot.Reply, error) {
			p, err := s.PersonOf(ctx, maya2, "maya_knits")
			if err != nil {
				return bot.Reply{}, err
			}
			return bot.Reply{Title: "Forgotten"}, s.DeletePerson(ctx, p.ID)
		}))
	}
	same(t, "first", forget(), bot.Reply{Title: "Forgotten"})
	same(t, "replay", forget(), bot.Reply{Title: "Forgotten"})
	_, err := s.FindPerson(ctx, maya2)
	wantNone(t, "she", err)
	if left := known(Everything(t, s), string(w.two.ID), maya2.User); len(left) > 0 {
		t.Errorf("left of her:\n%s", strings.Join(left, ""))
	}
}

func pruned(t *testing.T, s Store) {
	ctx := t.Context()
	r := bot.Request{ID: "$1", From: maya}
	answer := func(title string) bot.Reply {
		return must[bot.Reply](t)(s.Once(ctx, r, func(context.Context) (bot.Reply, error) { return bot.Reply{Title: title}, nil }))
	}
	answer("first")
	ok(t, s.PutLink(ctx, class.Link{Code: "old", Expires: time.Now().Add(-25 * time.Hour)}))
	ok(t, s.PutLink(ctx, class.Link{Code: "new", Expires: time.Now().Add(-23 * time.Hour)}))
	same(t, "rows that went", must[int](t)(s.Prune(ctx)), 1)
	_, err := s.Link(ctx, "old")
	wantNone(t, "an old offer", err)
	must[class.Link](t)(s.Link(ctx, "new"))
	same(t, "a young request", answer("second").Title, "first")
}
