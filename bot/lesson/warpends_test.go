package lesson

import (
	"context"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
	"weftroom/bot/class"
)

// counted is a store of one loom and one person that counts what it is asked.
type counted struct {
	class.People
	class.Looms
	loom   class.Loom
	person class.Person
	asked  []string
}

func (s *counted) Loom(context.Context, bot.Account) (class.Loom, error) {
	s.asked = append(s.asked, "loom")
	return s.loom, nil
}

func (s *counted) FindPerson(context.Context, bot.Account) (class.Person, error) {
	s.asked = append(s.asked, "person")
	if s.person.Hand == "" {
		return class.Person{}, class.ErrNone
	}
	return s.person, nil
}

// TestWhatIsKnownIsNotLookedUpAgain: the side that a loom is worked from, and what
// the store was asked for it.
func TestWhatIsKnownIsNotLookedUpAgain(t *testing.T) {
	kept, left := class.Loom{Ends: 97}, class.Person{Hand: "left"}
	for _, c := range []struct {
		name   string
		known  any
		person class.Person
		from   string
		asked  []string
	}{
		{"nothing is known", nil, left, "left", []string{"loom", "person"}},
		{"nobody is kept", nil, class.Person{}, "", []string{"loom", "person"}},
		{"the person is known", class.Standing{Person: left}, left, "left", []string{"loom"}},
		{"both are known", class.Standing{Person: left, Loom: &kept}, left, "left", nil},
		{"she has said the side", class.Standing{Person: left, Loom: &class.Loom{Ends: 97, From: "right"}}, left, "right", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &counted{loom: kept, person: c.person}
			l, err := loomByHand(t.Context(), s, &bot.Call{Known: c.known})
			if err != nil || l.Ends != 97 || l.From != c.from {
				t.Errorf("%+v, %v", l, err)
			}
			if diff := cmp.Diff(c.asked, s.asked); diff != "" {
				t.Error(diff)
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
