package storetest

import (
	"context"
	"errors"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

var errOurs = errors.New("storetest: our own error")

func txError(t *testing.T, s Store) {
	p := person(t, s, ines, "Ines")
	err := s.Tx(t.Context(), func(ctx context.Context) error {
		if _, err := s.OpenClass(ctx, class.Class{}, loft, p.ID); err != nil {
			return err
		}
		if _, err := s.ClassIn(ctx, loft); err != nil {
			t.Errorf("within the transaction: %v", err)
		}
		p.Name = "changed"
		if err := s.PutPerson(ctx, p); err != nil {
			return err
		}
		return errOurs
	})
	if !errors.Is(err, errOurs) {
		t.Errorf("returned %v", err)
	}
	_, err = s.ClassIn(t.Context(), loft)
	wantNone(t, "the class", err)
	same(t, "the person", must[class.Person](t)(s.Person(t.Context(), p.ID)).Name, "Ines")
}

func txPanic(t *testing.T, s Store) {
	func() {
		defer func() {
			if got := recover(); got != "ours" {
				t.Errorf("recovered %v", got)
			}
		}()
		s.Tx(t.Context(), func(ctx context.Context) error {
			if _, err := s.PersonOf(ctx, maya, "Maya"); err != nil {
				t.Error(err)
			}
			panic("ours")
		})
	}()
	_, err := s.FindPerson(t.Context(), maya)
	wantNone(t, "what was made before the panic", err)
	ok(t, s.KeepLoom(t.Context(), maya, class.Loom{Ends: 9})) // the store goes on
}

func txNested(t *testing.T, s Store) {
	ctx := t.Context()
	put := func(a bot.Account, after error) func(context.Context) error {
		return func(ctx context.Context) error {
			if _, err := s.PersonOf(ctx, a, ""); err != nil {
				return err
			}
			return after
		}
	}
	gone := func(what string) {
		t.Helper()
		for _, a := range []bot.Account{maya, ines} {
			_, err := s.FindPerson(ctx, a)
			wantNone(t, what, err)
		}
	}
	ok(t, s.Tx(ctx, func(ctx context.Context) error {
		return errors.Join(put(tomas, nil)(ctx), s.Tx(ctx, put(maya2, nil)))
	}))
	must[class.Person](t)(s.FindPerson(ctx, tomas))
	must[class.Person](t)(s.FindPerson(ctx, maya2))

	err := s.Tx(ctx, func(ctx context.Context) error {
		ok(t, s.Tx(ctx, put(maya, nil)))
		return errOurs
	})
	if !errors.Is(err, errOurs) {
		t.Errorf("outer error: %v", err)
	}
	gone("an inner one done, the outer failed")

	err = s.Tx(ctx, func(ctx context.Context) error {
		if err := s.Tx(ctx, put(maya, errOurs)); !errors.Is(err, errOurs) {
			t.Errorf("inner error: %v", err)
		}
		return put(ines, nil)(ctx) // as if nothing had happened
	})
	if !errors.Is(err, errOurs) {
		t.Errorf("an inner error that was passed over: %v", err)
	}
	gone("an inner one failed, the outer went on")

	err = s.Tx(ctx, func(ctx context.Context) error {
		func() {
			defer func() { recover() }()
			s.Tx(ctx, func(ctx context.Context) error { _ = put(maya, nil)(ctx); panic("ours") })
		}()
		return put(ines, nil)(ctx)
	})
	if err == nil {
		t.Error("an inner panic that was passed over is kept")
	}
	gone("an inner one panicked, the outer went on")

	// That something is not there is an answer, and no reason to undo.
	ok(t, s.Tx(ctx, func(ctx context.Context) error {
		_, err := s.Class(ctx, "nobody22")
		wantNone(t, "asked", err)
		wantNone(t, "put", s.PutPerson(ctx, class.Person{ID: "nobody22"}))
		_, err = s.AddSession(ctx, class.Session{Class: "nobody22"})
		wantNone(t, "added", err)
		return put(maya, nil)(ctx)
	}))
	must[class.Person](t)(s.FindPerson(ctx, maya))
}

func txSeen(t *testing.T, s Store) {
	err := s.Tx(t.Context(), func(ctx context.Context) error {
		if _, err := s.PersonOf(ctx, maya, "Maya"); err != nil {
			return err
		}
		_, err := s.FindPerson(t.Context(), maya)
		wantNone(t, "from outside, before it is done", err)
		return nil
	})
	ok(t, err)
	must[class.Person](t)(s.FindPerson(t.Context(), maya))
}

// txCounting reads and writes back in many transactions at once.
func txCounting(t *testing.T, s Store) {
	ok(t, s.PutLink(t.Context(), class.Link{Code: "4711"}))
	const people, times = 6, 5
	errs := make([]error, people)
	crowd(people, func(i int) {
		for range times {
			err := s.Tx(t.Context(), func(ctx context.Context) error {
				l, err := s.Link(ctx, "4711")
				if err != nil {
					return err
				}
				l.Tries++
				return s.PutLink(ctx, l)
			})
			errs[i] = errors.Join(errs[i], err)
		}
	})
	ok(t, errors.Join(errs...))
	same(t, "counted", must[class.Link](t)(s.Link(t.Context(), "4711")).Tries, people*times)
}

// txSkew: two teachers who leave at the same time each see the other.
func txSkew(t *testing.T, s Store) {
	teachers := []class.Person{person(t, s, ines, "Ines"), person(t, s, maya, "Maya")}
	for range 8 {
		c := open(t, s, loft, teachers[0].ID)
		join(t, s, c.ID, teachers[1].ID, bot.Teacher)
		crowd(2, func(i int) {
			err := s.Tx(t.Context(), func(ctx context.Context) error {
				left, err := s.Members(ctx, c.ID)
				if err != nil || len(left) < 2 {
					return err
				}
				return s.RemoveMember(ctx, c.ID, teachers[i].ID)
			})
			if err != nil {
				t.Error(err)
			}
		})
		if n := len(must[[]class.Member](t)(s.Members(t.Context(), c.ID))); n != 1 {
			t.Fatalf("%d teachers left", n)
		}
		c.Closed = evening
		ok(t, s.PutClass(t.Context(), c))
	}
}

func txCancelled(t *testing.T, s Store) {
	ctx, cancel := context.WithCancel(t.Context())
	err := s.Tx(ctx, func(ctx context.Context) error {
		if _, err := s.PersonOf(ctx, maya, "Maya"); err != nil {
			return err
		}
		cancel()
		_, err := s.PersonOf(ctx, ines, "Ines")
		return err
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled in the midst: %v", err)
	}
	if _, err := s.Class(ctx, "nobody22"); !errors.Is(err, context.Canceled) {
		t.Errorf("asked when cancelled: %v", err)
	}
	_, err = s.FindPerson(t.Context(), maya)
	wantNone(t, "what was made before", err)
	ctx, cancel = context.WithTimeout(t.Context(), time.Nanosecond)
	defer cancel()
	<-ctx.Done()
	if err := s.PutLink(ctx, class.Link{Code: "x"}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("written too late: %v", err)
	}
}
