package lesson

import (
	"context"
	"errors"
	"strings"
	"time"
	"unicode"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
)

// Sentences that several commands of a member share.
const (
	keyNothingKept calc.Key = "people.nothing_kept" // no arguments: there is no database
	keyBadName     calc.Key = "people.bad_name"     // no arguments: nothing is left of the name
	keyLimited     calc.Key = "people.limited"      // the class's name: the account may do less there than its person
)

// herself is the person behind the asker, made if there is none yet.
func (d *Desk) herself(ctx context.Context, c *bot.Call) (class.Person, error) {
	p, err := d.Store.PersonOf(ctx, c.Request.From, "")
	if errors.Is(err, class.ErrNone) {
		return p, &calc.Fault{Code: calc.Conflict, Key: keyNothingKept, Example: "loom"}
	}
	return p, err
}

// known is the person behind an account, zero for nobody.
func (d *Desk) known(ctx context.Context, a bot.Account) (class.Person, error) {
	p, err := d.Store.FindPerson(ctx, a)
	if errors.Is(err, class.ErrNone) {
		return class.Person{}, nil
	}
	return p, err
}

// chosenName makes of what someone calls herself, or is called by her chat, a
// name for others to read. Beside what cleanLine does, nothing in it can call
// on people as @everyone does, and marks do not pile up on one letter.
func chosenName(text string) string {
	const mostMarks = 2
	var b strings.Builder
	var before rune
	marks := 0
	for _, r := range cleanLine(text, len(text)) {
		if unicode.Is(unicode.M, r) {
			if marks++; marks > mostMarks {
				continue
			}
		} else {
			marks = 0
		}
		if r == '@' && !unicode.IsLetter(before) && !unicode.IsDigit(before) {
			continue
		}
		b.WriteRune(r)
		before = r
	}
	return cleanLine(b.String(), maxName)
}

// namedNow reads the argument name.
func namedNow(c *bot.Call) (string, error) {
	name := chosenName(c.Args.Text("name"))
	if name == "" {
		return "", &calc.Fault{Code: calc.BadValue, Key: keyBadName, Field: "name", Example: "name:Maren"}
	}
	return name, nil
}

// replanHer is replanMember in all classes of a person.
func (d *Desk) replanHer(ctx context.Context, id class.ID) error {
	in, err := d.Store.MemberOf(ctx, id)
	for _, m := range in {
		err = errors.Join(err, d.replanMember(ctx, m.Class, id))
	}
	return err
}

// refusal is a mistake of the asker as a Reply, for a command that must keep
// what it has noted all the same: an error would undo it.
func refusal(c *bot.Call, f *calc.Fault) bot.Reply {
	return bot.Reply{Problem: &bot.Problem{Code: f.Code, Message: c.Say(f.Key, f.Args...), Hint: f.Example}}
}

// instantOrNull is null for a time that has not come.
func instantOrNull(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.UTC()
	return &t
}
