package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store/storetest"
)

// desk is a class with a student in it who asks.
type desk struct {
	db      *DB
	account bot.Account
	place   bot.Place
	session class.ID
	student class.ID
	class   class.ID
	asked   int
	bare    map[string]*sql.Stmt // of the floor
}

func newDesk(b testing.TB, where string) *desk {
	b.Helper()
	ctx := context.Background()
	db, err := OpenURL(ctx, where, Options{})
	must(b, err)
	b.Cleanup(func() { db.Close() })
	d := &desk{db: db, account: bot.Account{Chat: "matrix", User: "@maya:example.org"}, place: bot.Place{Chat: "matrix", Room: "!loft:example.org"}}
	teacher, err := db.PersonOf(ctx, bot.Account{Chat: "matrix", User: "@ines:example.org"}, "Ines")
	must(b, err)
	c, err := db.OpenClass(ctx, class.Class{Name: "Lace on Tuesdays"}, d.place, teacher.ID)
	must(b, err)
	p, err := db.PersonOf(ctx, d.account, "Maya")
	must(b, err)
	must(b, db.PutMember(ctx, class.Member{Class: c.ID, Person: p.ID, Role: bot.Student, Joined: c.Opened}))
	must(b, db.KeepLoom(ctx, d.account, class.Loom{Kind: class.TableLoom, Width: 0.4, Ends: 97}))
	s, err := db.AddSession(ctx, class.Session{Class: c.ID, Start: time.Now(), Minutes: 90})
	must(b, err)
	d.session, d.student, d.class = s.ID, p.ID, c.ID
	return d
}

func must(b testing.TB, err error) {
	b.Helper()
	if err != nil {
		b.Fatal(err)
	}
}

// reads is what a reading command asks of the store.
func (d *desk) reads(ctx context.Context) error {
	p, err := d.db.PersonOf(ctx, d.account, "Maya")
	if err != nil {
		return err
	}
	c, err := d.db.ClassIn(ctx, d.place)
	if err != nil {
		return err
	}
	if _, err := d.db.Member(ctx, c.ID, p.ID); err != nil {
		return err
	}
	_, err = d.db.Loom(ctx, d.account)
	return err
}

// row asks for one row by a statement that is parsed once, with nothing of the
// store around it.
func (d *desk) row(ctx context.Context, query string, args ...any) *sql.Row {
	if d.bare == nil {
		d.bare = map[string]*sql.Stmt{}
	}
	if d.bare[query] == nil {
		st, err := d.db.read.PrepareContext(ctx, query)
		if err != nil {
			return d.db.read.QueryRowContext(ctx, query, args...) // tells why
		}
		d.bare[query] = st
	}
	return d.bare[query].QueryRowContext(ctx, args...)
}

// readsBare is the floor: the same rows by database/sql and nothing else.
func (d *desk) readsBare(ctx context.Context) error {
	var person, in, text string
	texts, numbers := [16]string{}, [8]int64{}
	n := &numbers
	if err := d.row(ctx, `SELECT p.id, p.name, p.zone, p.units, p.hand, p.quiet_from, p.quiet_to, p.answers, p.current_id, p.since
		FROM accounts a JOIN persons p ON p.id = a.person WHERE a.chat = $1 AND a.userid = $2`, d.account.Chat, d.account.User).
		Scan(&person, &texts[0], &texts[1], &n[0], &texts[2], &n[1], &n[2], &texts[3], &texts[4], &n[3]); err != nil {
		return err
	}
	if err := d.row(ctx, `SELECT c.id, c.name, c.zone, c.units, c.credit, c.technique, c.yarn, c.reminders, c.answers, c.minors, c.direct, c.opened, c.closed
		FROM places p JOIN classes c ON c.id = p.class WHERE p.chat = $1 AND p.room = $2 AND c.closed = 0`, d.place.Chat, d.place.Room).
		Scan(&in, &texts[0], &texts[1], &n[0], &texts[2], &texts[3], &texts[4], &texts[5], &texts[6], &n[1], &n[2], &n[3], &n[4]); err != nil {
		return err
	}
	if err := d.row(ctx, `SELECT m.class, m.person, m.role, m.joined, m.ready FROM members m WHERE m.class = $1 AND m.person = $2`, in, person).
		Scan(&texts[0], &texts[1], &n[0], &n[1], &n[2]); err != nil {
		return err
	}
	return d.row(ctx, `SELECT l.loom FROM accounts a JOIN looms l ON l.person = a.person WHERE a.chat = $1 AND a.userid = $2`,
		d.account.Chat, d.account.User).Scan(&text)
}

// writes is what a command does that changes something.
func (d *desk) writes(ctx context.Context) error {
	d.asked++
	r := bot.Request{ID: fmt.Sprint("$", d.asked), From: d.account}
	_, err := d.db.Once(ctx, r, func(ctx context.Context) (bot.Reply, error) {
		return bot.Reply{Title: "Noted"}, d.db.PutAttendance(ctx, class.Attendance{Session: d.session, Person: d.student, Answer: "coming", At: time.Now()})
	})
	return err
}

// writesBare is the floor: two commits of one row each.
func (d *desk) writesBare(ctx context.Context) error {
	for range 2 {
		tx, err := d.db.write.BeginTx(ctx, nil)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `INSERT INTO attendance (session, person, answer, came, at) VALUES ($1, $2, $3, $4, $5)
			ON CONFLICT (session, person) DO UPDATE SET answer = excluded.answer, came = excluded.came, at = excluded.at`,
			string(d.session), string(d.student), "coming", "", time.Now().UnixMilli()); err != nil {
			return err
		}
		if err := tx.Commit(); err != nil {
			return err
		}
	}
	return nil
}

func BenchmarkReadingCommand(b *testing.B) {
	eachDatabase(b, func(b *testing.B, d *desk) { compare(b, "×bare", d.reads, d.readsBare) })
}

func BenchmarkWritingCommand(b *testing.B) {
	eachDatabase(b, func(b *testing.B, d *desk) { compare(b, "×two-commits", d.writes, d.writesBare) })
}

func BenchmarkOldClass(b *testing.B) {
	for name, where := range databases(b) {
		b.Run(name, func(b *testing.B) {
			fresh, old := newDesk(b, where()), newDesk(b, where())
			old.grow(b)
			compare(b, "×fresh", old.reads, fresh.reads)
		})
	}
}

func databases(b testing.TB) map[string]func() string {
	return map[string]func() string{
		"SQLite":     func() string { return filepath.Join(b.TempDir(), "class.db") },
		"PostgreSQL": func() string { return storetest.Postgres(b) },
	}
}

func eachDatabase(b *testing.B, bench func(b *testing.B, d *desk)) {
	for name, where := range databases(b) {
		b.Run(name, func(b *testing.B) { bench(b, newDesk(b, where())) })
	}
}

// compare runs a and its floor in turn and reports the ratio of their medians,
// which another load on the machine moves least.
func compare(b *testing.B, unit string, a, floor func(context.Context) error) {
	var own, least []time.Duration
	for b.Loop() {
		own = append(own, took(b, a))
		least = append(least, took(b, floor))
	}
	b.ReportMetric(float64(median(own))/float64(median(least)), unit)
	b.ReportMetric(float64(median(own).Microseconds()), "µs/op")
	b.ReportMetric(0, "ns/op")
}

func median(d []time.Duration) time.Duration {
	slices.Sort(d)
	return d[len(d)/2]
}

func took(b testing.TB, do func(context.Context) error) time.Duration {
	start := time.Now()
	must(b, do(b.Context()))
	return time.Since(start)
}

// grow gives the class 500 students and five years of weekly evenings, with what
// each of them said, asked and was written to.
func (d *desk) grow(b testing.TB) {
	const count = `WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < %d) `
	const week = 7 * 24 * 3_600_000
	in, now := string(d.class), time.Now().UnixMilli()
	for _, statement := range []string{
		fmt.Sprintf(`INSERT INTO persons (id, name, zone, units, hand, quiet_from, quiet_to, answers, current_id, since, merged_into) `+count+
			`SELECT 'p' || i, 'Student ' || i, '', 0, '', 0, 0, '', '', 1, '' FROM n`, 500),
		`INSERT INTO accounts (chat, userid, person, since) SELECT 'matrix', '@' || id, id, 1 FROM persons WHERE since = 1`,
		`INSERT INTO looms (person, loom) SELECT id, '{"ends":97}' FROM persons WHERE since = 1`,
		`INSERT INTO members (class, person, role, joined, ready) SELECT '` + in + `', id, 1, 1, 0 FROM persons WHERE since = 1`,
		fmt.Sprintf(`INSERT INTO sessions (id, class, number, topic, starts, ends, wall, zone, minutes, link, work_row, work_yarn, series, sequence, cancelled, changed, coming, away, came) `+count+
			`SELECT 's' || i, '%s', i + 1, '', %d - CAST(i AS BIGINT) * %d, %d - CAST(i AS BIGINT) * %d + 5400000, '', '', 90, '', '', '', '', 0, 0, 0, 0, 0, 0 FROM n`, 260, in, now, week, now, week),
		`INSERT INTO attendance (session, person, answer, came, at) SELECT s.id, p.id, 'coming', 'yes', 1 FROM sessions s, persons p WHERE p.since = 1`,
		fmt.Sprintf(`INSERT INTO questions (id, class, person, number, text, asked, done) `+count+
			`SELECT 'q' || i, '%s', 'p' || (i %% 500 + 1), i, 'Why?', 1, 1 FROM n`, 10_000, in),
		fmt.Sprintf(`INSERT INTO ledger (chat, request, asker, at, reply) `+count+`SELECT 'matrix', 'r' || i, 'a' || (i %% 500), 1, '{}' FROM n`, 30_000),
		fmt.Sprintf(`INSERT INTO outbox (id, dedupe_key, chat, room, class, session, person, kind, payload, due_at, next_at, expires_at, state, attempts, lease_owner, lease_until, sent_at, last_error) `+count+
			`SELECT i, 'k' || i, 'matrix', '@p' || (i %% 500 + 1), '%s', 's' || (i %% 260 + 1), 'p' || (i %% 500 + 1), 'reminder', '', i, i, i, 'sent', 1, '', 0, i, '' FROM n`, 50_000, in),
	} {
		if _, err := d.db.write.Exec(statement); err != nil {
			b.Fatalf("%v\n%.200s", err, statement)
		}
	}
	if d.db.dialect == PostgreSQL { // as its autovacuum does in its own time
		_, err := d.db.write.Exec(`ANALYZE`)
		must(b, err)
	}
}

// TestOldClass: nothing that a reading command asks of SQLite looks through a whole
// table, so that 500 students and five years make it no slower; the list of those
// forgotten is short and is read whole. BenchmarkOldClass measures that, on both
// databases.
func TestOldClass(t *testing.T) {
	d := newDesk(t, filepath.Join(t.TempDir(), "class.db"))
	d.grow(t)
	must(t, d.reads(t.Context()))
	looked := 0
	for query := range d.db.parsed.known {
		if !strings.HasPrefix(query, "SELECT") && !strings.HasPrefix(query, "WITH") {
			continue
		}
		looked++
		args := make([]any, 0, 9)
		for n := 1; strings.Contains(query, "$"+strconv.Itoa(n)); n++ {
			args = append(args, nil)
		}
		rows, err := d.db.read.Query("EXPLAIN QUERY PLAN "+query, args...)
		must(t, err)
		for rows.Next() {
			var id, parent, unused int
			var how string
			must(t, rows.Scan(&id, &parent, &unused, &how))
			if strings.HasPrefix(how, "SCAN") && how != "SCAN CONSTANT ROW" && how != "SCAN forgotten" {
				t.Errorf("%s:\n%s", query, how)
			}
		}
		must(t, errors.Join(rows.Err(), rows.Close()))
	}
	if looked < 3 {
		t.Errorf("only %d questions were seen", looked)
	}
}
