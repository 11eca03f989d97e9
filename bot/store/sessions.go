package store

import (
	"context"
	"time"

	"weftroom/bot/class"
)

const sessionColumns = `s.id, s.class, s.number, s.topic, s.starts, s.wall, s.zone, s.minutes, s.link, s.work_row, s.work_yarn,
	s.series, s.sequence, s.cancelled, s.changed`

func readSession(r row) (s class.Session, err error) {
	err = r.Scan(&s.ID, &s.Class, &s.Number, &s.Topic, when(&s.Start), &s.Wall, &s.Zone, &s.Minutes, &s.Link, &s.Work.Row, &s.Work.Yarn,
		&s.Series, &s.Sequence, &s.Cancelled, when(&s.Changed))
	return s, err
}

func readNumber(r row) (n int, err error) {
	err = r.Scan(&n)
	return n, err
}

// AddSession implements class.Sessions.
func (db *DB) AddSession(ctx context.Context, s class.Session) (class.Session, error) {
	err := db.whole(ctx, func(ctx context.Context) (err error) {
		s.ID = newID()
		s.Number, err = one(ctx, db, readNumber, `UPDATE classes SET last_session = last_session + 1 WHERE id = $1 RETURNING last_session`, s.Class)
		if err != nil {
			return err
		}
		_, err = db.exec(ctx, `INSERT INTO sessions (id, class, number, topic, starts, ends, wall, zone, minutes, link, work_row, work_yarn,
			series, sequence, cancelled, changed, coming, away, came)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, 0, 0, 0)`,
			s.ID, s.Class, s.Number, s.Topic, s.Start, s.End(), s.Wall, s.Zone, s.Minutes, s.Link, s.Work.Row, s.Work.Yarn,
			s.Series, s.Sequence, s.Cancelled, s.Changed)
		if err != nil {
			return err
		}
		s, err = db.Session(ctx, s.ID)
		return err
	})
	if err != nil {
		return class.Session{}, err
	}
	return s, nil
}

// Session implements class.Sessions.
func (db *DB) Session(ctx context.Context, id class.ID) (class.Session, error) {
	return one(ctx, db, readSession, `SELECT `+sessionColumns+` FROM sessions s WHERE s.id = $1`, id)
}

// SessionNumber implements class.Sessions.
func (db *DB) SessionNumber(ctx context.Context, id class.ID, number int) (class.Session, error) {
	return one(ctx, db, readSession, `SELECT `+sessionColumns+` FROM sessions s WHERE s.class = $1 AND s.number = $2`, id, number)
}

// SessionsOf implements class.Sessions.
func (db *DB) SessionsOf(ctx context.Context, id class.ID, from time.Time) ([]class.Session, error) {
	return all(ctx, db, readSession, `SELECT `+sessionColumns+` FROM sessions s WHERE s.class = $1 AND s.ends > $2
		ORDER BY s.starts, s.number`, id, from)
}

// SessionsBetween implements class.Sessions.
func (db *DB) SessionsBetween(ctx context.Context, from, to time.Time) ([]class.Session, error) {
	return all(ctx, db, readSession, `SELECT `+sessionColumns+` FROM sessions s JOIN classes c ON c.id = s.class
		WHERE s.starts >= $1 AND s.starts < $2 AND c.closed = 0 ORDER BY s.starts, s.class, s.number`, next(from), next(to))
}

// next is the first instant that can be kept, at or after t.
func next(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return t.Add(time.Millisecond - 1)
}

// PutSession implements class.Sessions. Its class and number stay as they are.
func (db *DB) PutSession(ctx context.Context, s class.Session) error {
	return db.replace(ctx, `UPDATE sessions SET topic = $2, starts = $3, ends = $4, wall = $5, zone = $6, minutes = $7, link = $8,
		work_row = $9, work_yarn = $10, series = $11, sequence = $12, cancelled = $13, changed = $14 WHERE id = $1`,
		s.ID, s.Topic, s.Start, s.End(), s.Wall, s.Zone, s.Minutes, s.Link, s.Work.Row, s.Work.Yarn,
		s.Series, s.Sequence, s.Cancelled, s.Changed)
}

func readAttendance(r row) (a class.Attendance, err error) {
	err = r.Scan(&a.Session, &a.Person, &a.Answer, &a.Came, when(&a.At))
	return a, err
}

// PutAttendance implements class.Sessions.
func (db *DB) PutAttendance(ctx context.Context, a class.Attendance) error {
	return db.replace(ctx, `INSERT INTO attendance (session, person, answer, came, at)
		SELECT s.id, p.id, $3, $4, $5 FROM sessions s, persons p WHERE s.id = $1 AND p.id = $2
		ON CONFLICT (session, person) DO UPDATE SET answer = excluded.answer, came = excluded.came, at = excluded.at`,
		a.Session, a.Person, a.Answer, a.Came, a.At)
}

// AttendanceOf implements class.Sessions, by the time of answering.
func (db *DB) AttendanceOf(ctx context.Context, session class.ID) ([]class.Attendance, error) {
	return all(ctx, db, readAttendance, `SELECT session, person, answer, came, at FROM attendance WHERE session = $1 ORDER BY at, person`, session)
}

// AttendanceBy implements class.Sessions.
func (db *DB) AttendanceBy(ctx context.Context, session, person class.ID) (class.Attendance, error) {
	return one(ctx, db, readAttendance, `SELECT session, person, answer, came, at FROM attendance WHERE session = $1 AND person = $2`, session, person)
}

// Nameless implements class.Sessions.
func (db *DB) Nameless(ctx context.Context, session class.ID) (coming, away, came int, err error) {
	_, err = one(ctx, db, func(r row) (struct{}, error) {
		return struct{}{}, r.Scan(&coming, &away, &came)
	}, `SELECT coming, away, came FROM sessions WHERE id = $1`, session)
	return coming, away, came, err
}
