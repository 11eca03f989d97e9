package store

import (
	"context"

	"weftroom/bot"
	"weftroom/bot/class"
)

const linkColumns = `code, from_chat, from_user, to_chat, to_user, expires, tries, from_yes, to_yes`

func readLink(r row) (l class.Link, err error) {
	err = r.Scan(&l.Code, &l.From.Chat, &l.From.User, &l.To.Chat, &l.To.User, when(&l.Expires), &l.Tries, &l.FromYes, &l.ToYes)
	return l, err
}

// PutLink implements class.Links.
func (db *DB) PutLink(ctx context.Context, l class.Link) error {
	_, err := db.exec(ctx, `INSERT INTO links (`+linkColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
		ON CONFLICT (code) DO UPDATE SET from_chat = excluded.from_chat, from_user = excluded.from_user,
			to_chat = excluded.to_chat, to_user = excluded.to_user, expires = excluded.expires, tries = excluded.tries,
			from_yes = excluded.from_yes, to_yes = excluded.to_yes`,
		l.Code, l.From.Chat, l.From.User, l.To.Chat, l.To.User, l.Expires, l.Tries, l.FromYes, l.ToYes)
	return err
}

// Link implements class.Links.
func (db *DB) Link(ctx context.Context, code string) (class.Link, error) {
	return one(ctx, db, readLink, `SELECT `+linkColumns+` FROM links WHERE code = $1`, code)
}

// LinkFrom implements class.Links.
func (db *DB) LinkFrom(ctx context.Context, from bot.Account) (class.Link, error) {
	return one(ctx, db, readLink, `SELECT `+linkColumns+` FROM links WHERE from_chat = $1 AND from_user = $2
		ORDER BY expires DESC, code LIMIT 1`, from.Chat, from.User)
}

// DeleteLink implements class.Links.
func (db *DB) DeleteLink(ctx context.Context, code string) error {
	_, err := db.exec(ctx, `DELETE FROM links WHERE code = $1`, code)
	return err
}

// PutSettled implements class.Links.
func (db *DB) PutSettled(ctx context.Context, s class.Settled) error {
	return db.replace(ctx, `INSERT INTO settled (chat, userid, person, was, at)
		SELECT $1, $2, p.id, $4, $5 FROM persons p WHERE p.id = $3
		ON CONFLICT (chat, userid) DO UPDATE SET person = excluded.person, was = excluded.was, at = excluded.at`,
		s.Account.Chat, s.Account.User, s.Person, s.Was, s.At)
}

// SettledOf implements class.Links, oldest first.
func (db *DB) SettledOf(ctx context.Context, person class.ID) ([]class.Settled, error) {
	return all(ctx, db, readSettled, `SELECT chat, userid, person, was, at FROM settled WHERE person = $1 ORDER BY at, chat, userid`, person)
}

func readSettled(r row) (s class.Settled, err error) {
	err = r.Scan(&s.Account.Chat, &s.Account.User, &s.Person, &s.Was, when(&s.At))
	return s, err
}

// DeleteSettled implements class.Links.
func (db *DB) DeleteSettled(ctx context.Context, a bot.Account) error {
	_, err := db.exec(ctx, `DELETE FROM settled WHERE chat = $1 AND userid = $2`, a.Chat, a.User)
	return err
}
