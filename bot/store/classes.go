package store

import (
	"cmp"
	"context"
	"errors"

	"weftroom/bot"
	"weftroom/bot/class"
)

const classColumns = `c.id, c.name, c.zone, c.units, c.credit, c.technique, c.yarn, c.reminders, c.answers, c.minors, c.direct, c.opened, c.closed`

func readClass(r row) (c class.Class, err error) {
	err = r.Scan(&c.ID, &c.Name, &c.Zone, &c.Units, &c.Credit, &c.Technique, &c.Yarn, &c.Reminders, &c.Answers,
		&c.Minors, &c.Direct, when(&c.Opened), when(&c.Closed))
	return c, err
}

// OpenClass implements class.Classes.
func (db *DB) OpenClass(ctx context.Context, c class.Class, in bot.Place, teacher class.ID) (class.Class, error) {
	if c.Opened.IsZero() {
		c.Opened = db.now()
	}
	err := db.whole(ctx, func(ctx context.Context) error {
		if _, err := db.Person(ctx, teacher); err != nil {
			return err
		}
		if _, err := db.ClassIn(ctx, in); !errors.Is(err, class.ErrNone) {
			return cmp.Or(err, class.ErrTaken)
		}
		c.ID = newID()
		_, err := db.exec(ctx, `INSERT INTO classes (id, name, zone, units, credit, technique, yarn, reminders, answers, minors, direct, opened, closed,
			last_session, last_question, last_schedule) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, 0, 0, 0)`,
			c.ID, c.Name, c.Zone, c.Units, c.Credit, c.Technique, c.Yarn, c.Reminders, c.Answers, c.Minors, c.Direct, c.Opened, c.Closed)
		if err != nil {
			return err
		}
		if err := db.AddPlace(ctx, c.ID, in); err != nil {
			return err
		}
		if err := db.PutMember(ctx, class.Member{Person: teacher, Class: c.ID, Role: bot.Teacher, Joined: c.Opened}); err != nil {
			return err
		}
		c, err = db.Class(ctx, c.ID) // as it is kept
		return err
	})
	if err != nil {
		return class.Class{}, err
	}
	return c, nil
}

// Class implements class.Classes.
func (db *DB) Class(ctx context.Context, id class.ID) (class.Class, error) {
	return one(ctx, db, readClass, `SELECT `+classColumns+` FROM classes c WHERE c.id = $1`, id)
}

// ClassIn implements class.Classes.
func (db *DB) ClassIn(ctx context.Context, p bot.Place) (class.Class, error) {
	return one(ctx, db, readClass, `SELECT `+classColumns+` FROM places p JOIN classes c ON c.id = p.class
		WHERE p.chat = $1 AND p.room = $2 AND c.closed = 0`, p.Chat, p.Room)
}

// PutClass implements class.Classes.
func (db *DB) PutClass(ctx context.Context, c class.Class) error {
	return db.replace(ctx, `UPDATE classes SET name = $2, zone = $3, units = $4, credit = $5, technique = $6, yarn = $7,
		reminders = $8, answers = $9, minors = $10, direct = $11, opened = $12, closed = $13 WHERE id = $1`,
		c.ID, c.Name, c.Zone, c.Units, c.Credit, c.Technique, c.Yarn, c.Reminders, c.Answers, c.Minors, c.Direct, c.Opened, c.Closed)
}

// Places implements class.Classes.
func (db *DB) Places(ctx context.Context, id class.ID) ([]bot.Place, error) {
	return all(ctx, db, readPlace, `SELECT chat, room FROM places WHERE class = $1 ORDER BY added, chat, room`, id)
}

func readPlace(r row) (p bot.Place, err error) {
	err = r.Scan(&p.Chat, &p.Room)
	return p, err
}

// AddPlace implements class.Classes. A place that a closed class had goes to the
// new one.
func (db *DB) AddPlace(ctx context.Context, id class.ID, p bot.Place) error {
	return db.whole(ctx, func(ctx context.Context) error {
		if _, err := db.Class(ctx, id); err != nil {
			return err
		}
		n, err := db.exec(ctx, `INSERT INTO places (chat, room, class, added) VALUES ($1, $2, $3, $4)
			ON CONFLICT (chat, room) DO UPDATE SET class = excluded.class, added = excluded.added
			WHERE places.class = excluded.class OR EXISTS (SELECT 1 FROM classes c WHERE c.id = places.class AND c.closed <> 0)`,
			p.Chat, p.Room, id, db.now())
		if err == nil && n == 0 {
			return class.ErrTaken
		}
		return err
	})
}

// RemovePlace implements class.Classes.
func (db *DB) RemovePlace(ctx context.Context, p bot.Place) error {
	_, err := db.exec(ctx, `DELETE FROM places WHERE chat = $1 AND room = $2`, p.Chat, p.Room)
	return err
}

const memberColumns = `m.class, m.person, m.role, m.joined, m.ready`

func readMember(r row) (m class.Member, err error) {
	err = r.Scan(&m.Class, &m.Person, &m.Role, when(&m.Joined), when(&m.Ready))
	return m, err
}

// Member implements class.Classes.
func (db *DB) Member(ctx context.Context, in, person class.ID) (class.Member, error) {
	return one(ctx, db, readMember, `SELECT `+memberColumns+` FROM members m WHERE m.class = $1 AND m.person = $2`, in, person)
}

// Members implements class.Classes.
func (db *DB) Members(ctx context.Context, id class.ID) ([]class.Member, error) {
	return all(ctx, db, readMember, `SELECT `+memberColumns+` FROM members m WHERE m.class = $1
		ORDER BY CASE WHEN m.role = $2 THEN 0 ELSE 1 END, m.joined, m.person`, id, bot.Teacher)
}

// MemberOf implements class.Classes.
func (db *DB) MemberOf(ctx context.Context, person class.ID) ([]class.Member, error) {
	return all(ctx, db, readMember, `SELECT `+memberColumns+` FROM members m JOIN classes c ON c.id = m.class
		WHERE m.person = $1 AND c.closed = 0 ORDER BY m.joined, m.class`, person)
}

// membershipsOf are MemberOf's and those in closed classes.
func (db *DB) membershipsOf(ctx context.Context, person class.ID) ([]class.Member, error) {
	return all(ctx, db, readMember, `SELECT `+memberColumns+` FROM members m WHERE m.person = $1 ORDER BY m.joined, m.class`, person)
}

// PutMember implements class.Classes.
func (db *DB) PutMember(ctx context.Context, m class.Member) error {
	return db.replace(ctx, `INSERT INTO members (class, person, role, joined, ready)
		SELECT c.id, p.id, $3, $4, $5 FROM classes c, persons p WHERE c.id = $1 AND p.id = $2
		ON CONFLICT (class, person) DO UPDATE SET role = excluded.role, joined = excluded.joined, ready = excluded.ready`,
		m.Class, m.Person, m.Role, m.Joined, m.Ready)
}

// RemoveMember implements class.Classes.
func (db *DB) RemoveMember(ctx context.Context, in, person class.ID) error {
	_, err := db.exec(ctx, `DELETE FROM members WHERE class = $1 AND person = $2`, in, person)
	return err
}

// LoomsOf implements class.Classes.
func (db *DB) LoomsOf(ctx context.Context, id class.ID) (map[class.ID]class.Loom, error) {
	type hers struct {
		person class.ID
		loom   class.Loom
	}
	list, err := all(ctx, db, func(r row) (h hers, err error) {
		var raw string
		if err := r.Scan(&h.person, &raw); err != nil {
			return h, err
		}
		h.loom, err = decodeLoom(raw)
		return h, err
	}, `SELECT l.person, l.loom FROM members m JOIN looms l ON l.person = m.person WHERE m.class = $1`, id)
	looms := make(map[class.ID]class.Loom, len(list))
	for _, h := range list {
		looms[h.person] = h.loom
	}
	return looms, err
}

// PersonsOf implements class.Classes.
func (db *DB) PersonsOf(ctx context.Context, id class.ID) (map[class.ID]class.Person, error) {
	list, err := all(ctx, db, readPerson, `SELECT `+personColumns+` FROM members m JOIN persons p ON p.id = m.person WHERE m.class = $1`, id)
	persons := make(map[class.ID]class.Person, len(list))
	for _, p := range list {
		persons[p.ID] = p
	}
	return persons, err
}
