package store

import (
	"context"
	"encoding/json"
	"errors"

	"weftroom/bot"
	"weftroom/bot/class"
)

const personColumns = `p.id, p.name, p.zone, p.units, p.hand, p.quiet_from, p.quiet_to, p.answers, p.current_id, p.since, p.hidden`

func readPerson(r row) (p class.Person, err error) { return p, r.Scan(personInto(&p)...) }

// personInto is where personColumns go.
func personInto(p *class.Person) []any {
	return []any{&p.ID, &p.Name, &p.Zone, &p.Units, &p.Hand, &p.Quiet.From, &p.Quiet.To, &p.Answers, &p.Current, when(&p.Since), &p.Hidden}
}

func readID(r row) (id class.ID, err error) {
	err = r.Scan(&id)
	return id, err
}

// FindPerson implements class.People.
func (db *DB) FindPerson(ctx context.Context, a bot.Account) (class.Person, error) {
	return one(ctx, db, readPerson, `SELECT `+personColumns+` FROM accounts a JOIN persons p ON p.id = a.person
		WHERE a.chat = $1 AND a.userid = $2`, a.Chat, a.User)
}

// Weaver implements class.People.
func (db *DB) Weaver(ctx context.Context, a bot.Account) (p class.Person, l class.Loom, err error) {
	p, err = one(ctx, db, func(r row) (p class.Person, err error) {
		var raw string
		if err = r.Scan(append(personInto(&p), &raw)...); err == nil {
			l, err = decodeLoom(raw)
		}
		return p, err
	}, `SELECT `+personColumns+`, COALESCE(l.loom, '') FROM accounts a JOIN persons p ON p.id = a.person
		LEFT JOIN looms l ON l.person = p.id WHERE a.chat = $1 AND a.userid = $2`, a.Chat, a.User)
	return p, l, err
}

// PersonOf implements class.People.
func (db *DB) PersonOf(ctx context.Context, a bot.Account, name string) (class.Person, error) {
	p, err := db.FindPerson(ctx, a)
	if !errors.Is(err, class.ErrNone) {
		return p, err
	}
	err = db.Tx(ctx, func(ctx context.Context) error {
		// Somebody else may have made her since.
		if p, err = db.FindPerson(ctx, a); !errors.Is(err, class.ErrNone) {
			return err
		}
		p, err = db.makePerson(ctx, a, name)
		return err
	})
	return p, err
}

func (db *DB) makePerson(ctx context.Context, a bot.Account, name string) (class.Person, error) {
	p := class.Person{ID: newID(), Name: clean(name), Since: kept(db.now())}
	_, err := db.exec(ctx, `INSERT INTO persons (id, name, zone, units, hand, quiet_from, quiet_to, answers, current_id, since, merged_into)
		VALUES ($1, $2, '', 0, '', 0, 0, '', '', $3, '')`, p.ID, p.Name, p.Since)
	if err != nil {
		return class.Person{}, err
	}
	_, err = db.exec(ctx, `INSERT INTO accounts (chat, userid, person, since) VALUES ($1, $2, $3, $4)`, a.Chat, a.User, p.ID, p.Since)
	return p, err
}

// Person implements class.People.
func (db *DB) Person(ctx context.Context, id class.ID) (class.Person, error) {
	return one(ctx, db, readPerson, `SELECT `+personColumns+` FROM persons p WHERE p.id = $1`, id)
}

// PutPerson implements class.People.
func (db *DB) PutPerson(ctx context.Context, p class.Person) error {
	return db.replace(ctx, `UPDATE persons SET name = $2, zone = $3, units = $4, hand = $5, quiet_from = $6, quiet_to = $7,
		answers = $8, current_id = $9, since = $10, hidden = $11 WHERE id = $1`,
		p.ID, p.Name, p.Zone, p.Units, p.Hand, p.Quiet.From, p.Quiet.To, p.Answers, p.Current, p.Since, p.Hidden)
}

// replace is exec for a statement that must find what it changes.
func (db *DB) replace(ctx context.Context, query string, args ...any) error {
	n, err := db.exec(ctx, query, args...)
	if err == nil && n == 0 {
		return class.ErrNone
	}
	return err
}

// Accounts implements class.People.
func (db *DB) Accounts(ctx context.Context, id class.ID) ([]bot.Account, error) {
	return all(ctx, db, readAccount, `SELECT chat, userid FROM accounts WHERE person = $1 ORDER BY since, chat, userid`, id)
}

func readAccount(r row) (a bot.Account, err error) {
	err = r.Scan(&a.Chat, &a.User)
	return a, err
}

// Loom implements class.Looms.
func (db *DB) Loom(ctx context.Context, a bot.Account) (class.Loom, error) {
	l, err := one(ctx, db, readLoom, `SELECT l.loom FROM accounts a JOIN looms l ON l.person = a.person
		WHERE a.chat = $1 AND a.userid = $2`, a.Chat, a.User)
	return l, noneIsFine(err)
}

// KeepLoom implements class.Looms. An account that nobody is behind yet gets a
// person without a name.
func (db *DB) KeepLoom(ctx context.Context, a bot.Account, l class.Loom) error {
	return db.Tx(ctx, func(ctx context.Context) error {
		p, err := db.PersonOf(ctx, a, "")
		if err != nil {
			return err
		}
		return db.keepLoomOf(ctx, p.ID, l)
	})
}

func (db *DB) keepLoomOf(ctx context.Context, person class.ID, l class.Loom) error {
	raw, err := json.Marshal(l)
	if err != nil {
		return err
	}
	_, err = db.exec(ctx, `INSERT INTO looms (person, loom) VALUES ($1, $2)
		ON CONFLICT (person) DO UPDATE SET loom = excluded.loom`, person, string(raw))
	return err
}

func readLoom(r row) (class.Loom, error) {
	var raw string
	if err := r.Scan(&raw); err != nil {
		return class.Loom{}, err
	}
	return decodeLoom(raw)
}

func decodeLoom(raw string) (l class.Loom, err error) {
	if raw == "" {
		return l, nil
	}
	err = json.Unmarshal([]byte(raw), &l)
	return l, err
}

func noneIsFine(err error) error {
	if errors.Is(err, class.ErrNone) {
		return nil
	}
	return err
}
