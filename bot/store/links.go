package store

import (
	"context"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

const linkColumns = `code, from_chat, from_user, to_chat, to_user, expires, tries, from_saw, from_yes, to_yes`

func readLink(r row) (l class.Link, err error) {
	err = r.Scan(&l.Code, &l.From.Chat, &l.From.User, &l.To.Chat, &l.To.User, when(&l.Expires), &l.Tries, &l.FromSaw, &l.FromYes, &l.ToYes)
	return l, err
}

// PutLink implements class.Links.
func (db *DB) PutLink(ctx context.Context, l class.Link) error {
	_, err := db.exec(ctx, `INSERT INTO links (`+linkColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
		ON CONFLICT (code) DO UPDATE SET from_chat = excluded.from_chat, from_user = excluded.from_user,
			to_chat = excluded.to_chat, to_user = excluded.to_user, expires = excluded.expires, tries = excluded.tries,
			from_saw = excluded.from_saw, from_yes = excluded.from_yes, to_yes = excluded.to_yes`,
		l.Code, l.From.Chat, l.From.User, l.To.Chat, l.To.User, l.Expires, l.Tries, l.FromSaw, l.FromYes, l.ToYes)
	return err
}

// Link implements class.Links.
func (db *DB) Link(ctx context.Context, code string) (class.Link, error) {
	return one(ctx, db, readLink, `SELECT `+linkColumns+` FROM links WHERE code = $1`, code)
}

// LinkNamed implements class.Links.
func (db *DB) LinkNamed(ctx context.Context, name string) (class.Link, error) {
	return one(ctx, db, readLink, `SELECT `+linkColumns+` FROM links WHERE substr(code, 1, $1) = $2 ORDER BY expires DESC, code LIMIT 1`,
		class.LinkName, name)
}

// LinkFrom implements class.Links.
func (db *DB) LinkFrom(ctx context.Context, from bot.Account) (class.Link, error) {
	return one(ctx, db, readLink, `SELECT `+linkColumns+` FROM links WHERE from_chat = $1 AND from_user = $2
		ORDER BY expires DESC, code LIMIT 1`, from.Chat, from.User)
}

// LinkTo implements class.Links.
func (db *DB) LinkTo(ctx context.Context, to bot.Account) (class.Link, error) {
	return one(ctx, db, readLink, `SELECT `+linkColumns+` FROM links WHERE to_chat = $1 AND to_user = $2
		ORDER BY expires DESC, code LIMIT 1`, to.Chat, to.User)
}

// DeleteLink implements class.Links.
func (db *DB) DeleteLink(ctx context.Context, code string) error {
	_, err := db.exec(ctx, `DELETE FROM links WHERE code = $1`, code)
	return err
}

// AddGuess implements class.Links.
func (db *DB) AddGuess(ctx context.Context, a bot.Account, at time.Time) error {
	_, err := db.exec(ctx, `INSERT INTO guesses (id, chat, userid, at) VALUES ($1, $2, $3, $4)`, newID(), a.Chat, a.User, at)
	return err
}

// Guesses implements class.Links.
func (db *DB) Guesses(ctx context.Context, a bot.Account, after time.Time) (int, error) {
	return one(ctx, db, readNumber, `SELECT COUNT(*) FROM guesses WHERE chat = $1 AND userid = $2 AND at > $3`, a.Chat, a.User, after)
}

// PutSettled implements class.Links.
func (db *DB) PutSettled(ctx context.Context, s class.Settled) error {
	return db.replace(ctx, `INSERT INTO settled (chat, userid, person, was, at, filled)
		SELECT $1, $2, p.id, $4, $5, $6 FROM persons p WHERE p.id = $3
		ON CONFLICT (chat, userid) DO UPDATE SET person = excluded.person, was = excluded.was, at = excluded.at, filled = excluded.filled`,
		s.Account.Chat, s.Account.User, s.Person, s.Was, s.At, s.Filled)
}

// SettledOf implements class.Links, oldest first.
func (db *DB) SettledOf(ctx context.Context, person class.ID) ([]class.Settled, error) {
	return all(ctx, db, readSettled, `SELECT chat, userid, person, was, at, filled FROM settled WHERE person = $1 ORDER BY at, chat, userid`, person)
}

func readSettled(r row) (s class.Settled, err error) {
	err = r.Scan(&s.Account.Chat, &s.Account.User, &s.Person, &s.Was, when(&s.At), &s.Filled)
	return s, err
}

// DeleteSettled implements class.Links.
func (db *DB) DeleteSettled(ctx context.Context, a bot.Account) error {
	_, err := db.exec(ctx, `DELETE FROM settled WHERE chat = $1 AND userid = $2`, a.Chat, a.User)
	return err
}

// PutLimit implements class.Links.
func (db *DB) PutLimit(ctx context.Context, l class.Limit) error {
	return db.replace(ctx, `INSERT INTO account_limits (chat, userid, class, role, at)
		SELECT a.chat, a.userid, c.id, $4, $5 FROM accounts a, classes c WHERE a.chat = $1 AND a.userid = $2 AND c.id = $3
		ON CONFLICT (chat, userid, class) DO UPDATE SET role = excluded.role, at = excluded.at`,
		l.Account.Chat, l.Account.User, l.Class, l.Role, l.At)
}

// LimitsOf implements class.Links.
func (db *DB) LimitsOf(ctx context.Context, a bot.Account) ([]class.Limit, error) {
	return all(ctx, db, readLimit, `SELECT chat, userid, class, role, at FROM account_limits WHERE chat = $1 AND userid = $2 ORDER BY class`, a.Chat, a.User)
}

func readLimit(r row) (l class.Limit, err error) {
	err = r.Scan(&l.Account.Chat, &l.Account.User, &l.Class, &l.Role, when(&l.At))
	return l, err
}

// DeleteLimit implements class.Links.
func (db *DB) DeleteLimit(ctx context.Context, a bot.Account, in class.ID) error {
	_, err := db.exec(ctx, `DELETE FROM account_limits WHERE chat = $1 AND userid = $2 AND class = $3`, a.Chat, a.User, in)
	return err
}
