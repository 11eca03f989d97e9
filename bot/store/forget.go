package store

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"slices"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// oblivion is one person's being forgotten, as the lists keep it: enough to
// forget her again in a backup that still knows her, and no more. Digests find
// an account in whatever person an older backup has it.
type oblivion struct {
	ID       string     `json:"id"`
	At       time.Time  `json:"at"`
	Persons  []class.ID `json:"persons"`
	Accounts []string   `json:"accounts"` // digests
}

// DeletePerson implements class.People. Once it is committed it is also written
// to the list apart from the database; what that list has missed is made up for
// at the next backup and the next opening.
func (db *DB) DeletePerson(ctx context.Context, id class.ID) error {
	return db.Tx(ctx, func(ctx context.Context) error {
		persons, err := db.family(ctx, id)
		if err != nil || len(persons) == 0 {
			return err
		}
		o := oblivion{ID: rand.Text(), At: kept(db.now()), Persons: persons}
		for _, p := range persons {
			accounts, err := db.Accounts(ctx, p)
			if err != nil {
				return err
			}
			for _, a := range accounts {
				o.Accounts = append(o.Accounts, digest(a))
				if err := db.forgetAccount(ctx, a); err != nil {
					return err
				}
			}
			if err := db.forgetPerson(ctx, p); err != nil {
				return err
			}
		}
		if err := db.remember(ctx, o); err != nil {
			return err
		}
		db.afterCommit(ctx, func() {
			if err := db.writeList([]oblivion{o}); err != nil {
				db.log.Error("a deletion is not on the list of the forgotten; the next backup will put it there", "error", err)
			}
		})
		return nil
	})
}

// family is a person and those whose last account came to her.
func (db *DB) family(ctx context.Context, id class.ID) ([]class.ID, error) {
	return all(ctx, db, readID, `WITH RECURSIVE family (id) AS (
			SELECT id FROM persons WHERE id = $1
			UNION
			SELECT p.id FROM persons p JOIN family f ON p.merged_into = f.id
		) SELECT id FROM family`, id)
}

// forgetPerson leaves of a person how many answers she gave to each session, and
// without her name what she gave to a class: its repeated posts, and designs.
func (db *DB) forgetPerson(ctx context.Context, id class.ID) error {
	for _, statement := range []string{
		`UPDATE sessions SET
			coming = coming + (SELECT COUNT(*) FROM attendance a WHERE a.session = sessions.id AND a.person = $1 AND a.answer = 'coming'),
			away = away + (SELECT COUNT(*) FROM attendance a WHERE a.session = sessions.id AND a.person = $1 AND a.answer = 'away'),
			came = came + (SELECT COUNT(*) FROM attendance a WHERE a.session = sessions.id AND a.person = $1 AND a.came = 'yes')
			WHERE id IN (SELECT session FROM attendance WHERE person = $1)`,
		`DELETE FROM outbox WHERE person = $1`,
		`DELETE FROM settled WHERE was = $1`,
		`UPDATE schedules SET made_by = '' WHERE made_by = $1`,
		`DELETE FROM designs WHERE owner = $1 AND class = ''`,
		`UPDATE designs SET owner = '' WHERE owner = $1`,
		`DELETE FROM persons WHERE id = $1`, // and by cascade all that is hers
	} {
		if _, err := db.exec(ctx, statement, id); err != nil {
			return err
		}
	}
	return nil
}

// forgetAccount deletes what is kept of an account beside its person.
func (db *DB) forgetAccount(ctx context.Context, a bot.Account) error {
	if _, err := db.exec(ctx, `DELETE FROM ledger WHERE asker = $1`, digest(a)); err != nil {
		return err
	}
	if _, err := db.exec(ctx, `DELETE FROM outbox WHERE state = 'queued' AND chat = $1 AND room = $2`, a.Chat, bot.DirectRoom(a).Room); err != nil {
		return err
	}
	for _, statement := range []string{
		`DELETE FROM links WHERE from_chat = $1 AND from_user = $2`,
		`DELETE FROM links WHERE to_chat = $1 AND to_user = $2`,
		`DELETE FROM settled WHERE chat = $1 AND userid = $2`,
		`DELETE FROM guesses WHERE chat = $1 AND userid = $2`,
		`DELETE FROM notes WHERE chat = $1 AND userid = $2`,
		`DELETE FROM accounts WHERE chat = $1 AND userid = $2`,
	} {
		if _, err := db.exec(ctx, statement, a.Chat, a.User); err != nil {
			return err
		}
	}
	return nil
}

// forgetAgain does to what a backup brought back what was done before. A person
// whom that leaves without an account goes too, for nobody could reach her.
func (db *DB) forgetAgain(ctx context.Context, list []oblivion) error {
	accounts, err := all(ctx, db, readAccount, `SELECT chat, userid FROM accounts ORDER BY chat, userid`)
	if err != nil {
		return err
	}
	for _, o := range list {
		for _, id := range o.Persons {
			if err := db.forgetPerson(ctx, id); err != nil {
				return err
			}
		}
		for _, a := range accounts {
			if !slices.Contains(o.Accounts, digest(a)) {
				continue
			}
			if err := db.forgetWithOwner(ctx, a); err != nil {
				return err
			}
		}
		if err := db.remember(ctx, o); err != nil {
			return err
		}
	}
	return nil
}

func (db *DB) forgetWithOwner(ctx context.Context, a bot.Account) error {
	owner, err := db.FindPerson(ctx, a)
	if err := db.forgetAccount(ctx, a); err != nil {
		return err
	}
	if err != nil {
		return noneIsFine(err) // her person has gone already
	}
	left, err := db.Accounts(ctx, owner.ID)
	if err != nil || len(left) > 0 {
		return err
	}
	persons, err := db.family(ctx, owner.ID)
	if err != nil {
		return err
	}
	for _, id := range persons {
		if err := db.forgetPerson(ctx, id); err != nil {
			return err
		}
	}
	return nil
}

// remember keeps an oblivion in the database.
func (db *DB) remember(ctx context.Context, o oblivion) error {
	raw, err := json.Marshal(o)
	if err != nil {
		return err
	}
	_, err = db.exec(ctx, `INSERT INTO forgotten (id, at, what) VALUES ($1, $2, $3) ON CONFLICT (id) DO NOTHING`, o.ID, o.At, string(raw))
	return err
}

// remembered are all oblivions that the database knows, by ID.
func (db *DB) remembered(ctx context.Context) (map[string]oblivion, error) {
	list, err := all(ctx, db, func(r row) (o oblivion, err error) {
		var raw string
		if err := r.Scan(&raw); err != nil {
			return o, err
		}
		err = json.Unmarshal([]byte(raw), &o)
		return o, err
	}, `SELECT what FROM forgotten`)
	return byID(list), err
}

func byID(list []oblivion) map[string]oblivion {
	m := make(map[string]oblivion, len(list))
	for _, o := range list {
		m[o.ID] = o
	}
	return m
}
