package lesson

import (
	"context"
	"errors"
	"testing"

	"weftroom/bot"
	"weftroom/bot/class"
)

// counted is a store of one loom and one person that counts what it is asked.
type counted struct {
	class.People
	class.Looms
	loom   class.Loom
	person class.Person
	asked  int
}

func (s *counted) Loom(context.Context, bot.Account) (class.Loom, error) {
	s.asked++
	return s.loom, nil
}

func (s *counted) Weaver(context.Context, bot.Account) (class.Person, class.Loom, error) {
	s.asked++
	if s.person.ID == "" {
		return class.Person{}, class.Loom{}, class.ErrNone
	}
	return s.person, s.loom, nil
}

// TestWhatIsKnownIsNotLookedUpAgain: the side that a loom is worked from, and what
// the store was asked for it.
func TestWhatIsKnownIsNotLookedUpAgain(t *testing.T) {
	kept, left := class.Loom{Ends: 97}, class.Person{ID: "p", Hand: "left"}
	for _, c := range []struct {
		name   string
		known  any
		person class.Person
		ends   int
		from   string
		asked  int
	}{
		{"nothing is known", nil, left, 97, "left", 1},
		{"nobody is kept", nil, class.Person{}, 0, "", 1},
		{"she is known", class.Standing{Person: left, Loom: kept}, left, 97, "left", 0},
		{"she has said the side", class.Standing{Person: left, Loom: class.Loom{Ends: 97, From: "right"}}, left, 97, "right", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &counted{loom: kept, person: c.person}
			l, err := loomByHand(t.Context(), s, &bot.Call{Known: c.known})
			if err != nil || l.Ends != c.ends || l.From != c.from || s.asked != c.asked {
				t.Errorf("%+v, %v, asked %d times", l, err, s.asked)
			}
		})
	}
	if kept.From != "" {
		t.Error("what is known was changed")
	}
	broken := errors.New("the disk is full")
	if _, err := loomByHand(t.Context(), failing{err: broken}, &bot.Call{}); !errors.Is(err, broken) {
		t.Errorf("%v", err)
	}
}

type failing struct {
	class.Looms
	err error
}

func (f failing) Loom(context.Context, bot.Account) (class.Loom, error) { return class.Loom{}, f.err }
