package store

import (
	"bytes"
	"context"
	"encoding/base64"
	"errors"
	"strconv"

	"weftroom/bot"
	"weftroom/bot/class"
)

const designColumns = `d.id, d.name, d.owner, d.class, d.asked, d.picture, d.made`

func readDesign(r row) (d class.Design, err error) {
	var picture string
	if err = r.Scan(&d.ID, &d.Name, &d.Owner, &d.Class, &d.Asked, &picture, when(&d.Made)); err != nil || picture == "" {
		return d, err
	}
	d.Picture, err = base64.StdEncoding.DecodeString(picture)
	return d, err
}

// KeepDesign implements class.Designs.
func (db *DB) KeepDesign(ctx context.Context, a bot.Account, d class.Design) (class.Design, error) {
	d.Name, d.Asked, d.Made = clean(d.Name), clean(d.Asked), kept(d.Made)
	err := db.Tx(ctx, func(ctx context.Context) error {
		p, err := db.PersonOf(ctx, a, "")
		if err != nil {
			return err
		}
		old, err := db.designOf(ctx, p.ID, d.Name)
		switch {
		case errors.Is(err, class.ErrNone):
			d.ID, d.Owner, d.Class = newID(), p.ID, ""
			return db.addDesign(ctx, d)
		case err != nil:
			return err
		case old.Name == d.Name && old.Asked == d.Asked && bytes.Equal(old.Picture, d.Picture):
			made := d.Made
			if d = old; d.Name != "" || !made.After(d.Made) {
				return nil
			}
			d.Made = made
			_, err := db.exec(ctx, `UPDATE designs SET made = $2 WHERE id = $1`, d.ID, d.Made)
			return err
		}
		d.ID, d.Owner, d.Class = old.ID, p.ID, old.Class
		if d.Name == "" {
			d.ID = newID()
		}
		if err := db.DropDesign(ctx, old.ID); err != nil {
			return err
		}
		return db.addDesign(ctx, d)
	})
	if err != nil {
		return class.Design{}, err
	}
	return d, nil
}

func (db *DB) addDesign(ctx context.Context, d class.Design) error {
	_, err := db.exec(ctx, `INSERT INTO designs (id, owner, class, name, folded, asked, picture, made) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
		d.ID, d.Owner, d.Class, d.Name, class.FoldedName(d.Name), d.Asked, base64.StdEncoding.EncodeToString(d.Picture), d.Made)
	return err
}

// designOf is a person's own design of a name.
func (db *DB) designOf(ctx context.Context, owner class.ID, name string) (class.Design, error) {
	return one(ctx, db, readDesign, `SELECT `+designColumns+` FROM designs d WHERE d.owner = $1 AND d.folded = $2`, owner, class.FoldedName(clean(name)))
}

// NameDesign implements class.Designs.
func (db *DB) NameDesign(ctx context.Context, id class.ID, name string) (class.Design, error) {
	var d class.Design
	err := db.whole(ctx, func(ctx context.Context) (err error) {
		if d, err = db.designByID(ctx, id); err != nil {
			return err
		}
		old, err := db.designOf(ctx, d.Owner, name)
		switch {
		case errors.Is(err, class.ErrNone):
		case err != nil:
			return err
		case old.ID != id:
			d.Class = old.Class
			if err := db.DropDesign(ctx, old.ID); err != nil {
				return err
			}
		}
		d.Name = clean(name)
		_, err = db.exec(ctx, `UPDATE designs SET name = $2, folded = $3, class = $4 WHERE id = $1`, id, d.Name, class.FoldedName(d.Name), d.Class)
		return err
	})
	if err != nil {
		return class.Design{}, err
	}
	return d, nil
}

func (db *DB) designByID(ctx context.Context, id class.ID) (class.Design, error) {
	return one(ctx, db, readDesign, `SELECT `+designColumns+` FROM designs d WHERE d.id = $1`, id)
}

// Design implements class.Designs.
func (db *DB) Design(ctx context.Context, a bot.Account, in class.ID, name string) (class.Design, error) {
	return one(ctx, db, readDesign, `SELECT `+designColumns+` FROM designs d LEFT JOIN accounts a ON a.person = d.owner AND a.chat = $1 AND a.userid = $2
		WHERE (d.folded = $3 OR d.id = $4) AND (a.person IS NOT NULL OR d.class = $5 AND d.class <> '')
		ORDER BY CASE WHEN d.folded = $6 THEN 0 ELSE 1 END, CASE WHEN a.person IS NOT NULL THEN 0 ELSE 1 END LIMIT 1`,
		a.Chat, a.User, class.FoldedName(clean(name)), name, in, class.FoldedName(clean(name)))
}

// Designs implements class.Designs. The unnamed one comes first.
func (db *DB) Designs(ctx context.Context, a bot.Account, in class.ID) ([]class.Design, error) {
	return all(ctx, db, readDesign, `SELECT d.id, d.name, d.owner, d.class, d.asked, '', d.made
		FROM designs d LEFT JOIN accounts a ON a.person = d.owner AND a.chat = $1 AND a.userid = $2
		WHERE a.person IS NOT NULL OR d.class = $3 AND d.class <> '' ORDER BY d.folded, d.made, d.id`, a.Chat, a.User, in)
}

// ShareDesign implements class.Designs.
func (db *DB) ShareDesign(ctx context.Context, id, in class.ID) error {
	return db.whole(ctx, func(ctx context.Context) error {
		d, err := db.designByID(ctx, id)
		if err != nil {
			return err
		}
		if in != "" {
			if _, err := db.Class(ctx, in); err != nil {
				return err
			}
			other, err := db.Design(ctx, bot.Account{}, in, d.Name)
			switch {
			case err == nil && other.ID != id:
				return class.ErrTaken
			case err != nil && !errors.Is(err, class.ErrNone):
				return err
			}
		} else if d.Owner == "" {
			return db.DropDesign(ctx, id) // nobody would have it any more
		}
		_, err = db.exec(ctx, `UPDATE designs SET class = $2 WHERE id = $1`, id, in)
		return err
	})
}

// DropDesign implements class.Designs.
func (db *DB) DropDesign(ctx context.Context, id class.ID) error {
	_, err := db.exec(ctx, `DELETE FROM designs WHERE id = $1`, id)
	return err
}

// movedDesign is a design that went to another person, with the name that it had.
type movedDesign struct {
	ID   class.ID
	Name string
	Then string // the name that it got, when the other had one of that name
}

// mergeDesigns gives the other person all designs. Of two that have no name hers
// stays.
func (db *DB) mergeDesigns(ctx context.Context, had *before, from, to class.ID) error {
	list, err := all(ctx, db, readDesign, `SELECT `+designColumns+` FROM designs d WHERE d.owner = $1
		ORDER BY CASE WHEN d.class <> '' THEN 0 ELSE 1 END, d.folded`, from) // a number that one gets is none that a class knows
	if err != nil {
		return err
	}
	for _, d := range list {
		moved := movedDesign{ID: d.ID, Name: d.Name}
		taken, err := db.nameTaken(ctx, d, to)
		if err != nil {
			return err
		}
		if d.Name == "" && taken {
			continue
		}
		if moved.Then, err = db.giveDesign(ctx, d, to); err != nil {
			return err
		}
		had.Designs = append(had.Designs, moved)
	}
	return nil
}

// giveDesign gives d to a person and tells the name that it has then. Where she has
// another of that name it gets a number, unless a class has it too: what is woven
// there goes by its name, so that one is nobody's and the class's from then on.
func (db *DB) giveDesign(ctx context.Context, d class.Design, owner class.ID) (string, error) {
	name := d.Name
	taken, err := db.nameTaken(ctx, d, owner)
	for n := 2; taken && err == nil; n++ {
		if d.Class != "" {
			owner = ""
			break
		}
		d.Name = name + " " + strconv.Itoa(n)
		taken, err = db.nameTaken(ctx, d, owner)
	}
	if err != nil {
		return "", err
	}
	_, err = db.exec(ctx, `UPDATE designs SET owner = $2, name = $3, folded = $4 WHERE id = $1`, d.ID, owner, d.Name, class.FoldedName(d.Name))
	return d.Name, err
}

// nameTaken tells whether a person has another design of that name.
func (db *DB) nameTaken(ctx context.Context, d class.Design, owner class.ID) (bool, error) {
	other, err := db.designOf(ctx, owner, d.Name)
	if errors.Is(err, class.ErrNone) {
		return false, nil
	}
	return err == nil && other.ID != d.ID, err
}

// giveBackDesigns gives those back that the other or a class still has, each by the
// name that it had unless that is taken, or a class knows it by another, meanwhile.
func (db *DB) giveBackDesigns(ctx context.Context, had before, from, to class.ID) error {
	for _, m := range had.Designs {
		d, err := one(ctx, db, readDesign, `SELECT `+designColumns+` FROM designs d WHERE d.id = $1 AND (d.owner = $2 OR d.owner = '')`, m.ID, from)
		if errors.Is(err, class.ErrNone) {
			continue // dropped meanwhile
		}
		if err != nil {
			return err
		}
		if d.Name == m.Then && d.Class == "" {
			d.Name = m.Name
		}
		if _, err := db.giveDesign(ctx, d, to); err != nil {
			return err
		}
	}
	return nil
}
