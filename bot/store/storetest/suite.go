// Package storetest is what every store of classes must pass, whatever database
// it stands on, and the PostgreSQL that its tests run.
package storetest

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
	"weftroom/bot/class"
)

// Store is what the suite tries.
type Store interface {
	class.Store
	bot.Ledger
	bot.Notes

	// Prune deletes what is kept for a time only, and counts it.
	Prune(ctx context.Context) (int, error)
	// Backup writes all that is kept into a SQLite file.
	Backup(ctx context.Context, path string) error
}

// Run tries the stores that open makes, each of them empty.
func Run(t *testing.T, open func(t *testing.T) Store) {
	for _, part := range []struct {
		name string
		test func(t *testing.T, s Store)
	}{
		{"a person is made once and kept", personKept},
		{"first requests at the same time make one person", personRace},
		{"what is put of nobody is refused", putNobody},
		{"accounts, oldest first", accountsOrdered},
		{"looms belong to the person", looms},
		{"walks belong to the person", walks},
		{"walks when an account moves", walksMoved},
		{"designs belong to the person", designs},
		{"designs in a class", designsShared},
		{"designs that get a name", designsNamed},
		{"designs when an account moves", designsMoved},
		{"designs of someone forgotten", designsForgotten},
		{"what the core is told of who asks", asker},
		{"an account moves with all that its person had", moveAll},
		{"where both have something", moveBoth},
		{"a move undone", moveBack},
		{"rights after a move undone", moveRights},
		{"an account of several moves alone", moveOne},
		{"what is kept of a person", traces},

		{"a class is opened and kept", classKept},
		{"one open class in a place", placeTaken},
		{"a place opened at the same time by several", placeRace},
		{"places come and go", places},
		{"members in order", members},
		{"member of open classes", memberOf},
		{"looms and persons of a class", ofClass},

		{"a session is added and kept", sessionKept},
		{"session numbers under a crowd", sessionRace},
		{"sessions by time", sessionsByTime},
		{"attendance", attendance},
		{"questions", questions},
		{"links", links},
		{"wrong codes", guesses},
		{"links that were made", settled},
		{"what one account may do", limits},
		{"schedules", schedules},

		{"texts as people paste them", pastedTexts},
		{"instants to the millisecond", instants},

		{"a transaction undone by an error", txError},
		{"a transaction undone by a panic", txPanic},
		{"a transaction within a transaction", txNested},
		{"a transaction is seen when it is done", txSeen},
		{"counting at the same time loses nothing", txCounting},
		{"the last teacher stays", txSkew},
		{"a cancelled context", txCancelled},

		{"a request happens once", onceReplay},
		{"a request that failed leaves nothing", onceError},
		{"the same request at the same time", onceRace},
		{"a request whose answer does not wait for the disk happens once", soon(onceReplay)},
		{"such a request that failed leaves nothing", soon(onceError)},
		{"such a request at the same time", soon(onceRace)},
		{"old requests are pruned", pruned},
		{"notes are kept, changed and deleted", notes},
		{"notes are pruned when their time is over", notesPruned},
		{"notes about a person are forgotten with her", notesForgotten},

		{"a deleted person leaves nothing but numbers", deleted},
		{"a deleted person takes those with her whom she became", deletedMerged},
		{"a deletion undone leaves everything", deletionUndone},
		{"a replay of the request that deleted", deletedReplay},
	} {
		t.Run(part.name, func(t *testing.T) { part.test(t, open(t)) })
	}
}

// Accounts and places of the suite.
var (
	maya  = bot.Account{Chat: "matrix", User: "@maya:example.org"}
	maya2 = bot.Account{Chat: "discord", User: "120000000000000001"}
	ines  = bot.Account{Chat: "matrix", User: "@ines:example.org"}
	tomas = bot.Account{Chat: "discord", User: "120000000000000002"}

	loft    = bot.Place{Chat: "matrix", Room: "!loft:example.org"}
	kitchen = bot.Place{Chat: "discord", Room: "240000000000000001"}
)

// evening is a time to the millisecond, as stores keep it.
var evening = time.Date(2026, 12, 1, 18, 0, 0, 123_000_000, time.UTC)

// must gives the value of a call that may not fail: must[T](t)(call()).
func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func wantNone(t *testing.T, what string, err error) {
	t.Helper()
	if !errors.Is(err, class.ErrNone) {
		t.Errorf("%s: %v, want ErrNone", what, err)
	}
}

func same(t *testing.T, what string, got, want any) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}

func person(t *testing.T, s Store, a bot.Account, name string) class.Person {
	t.Helper()
	return must[class.Person](t)(s.PersonOf(t.Context(), a, name))
}

func open(t *testing.T, s Store, in bot.Place, teacher class.ID) class.Class {
	t.Helper()
	return must[class.Class](t)(s.OpenClass(t.Context(), class.Class{Name: "Lace on Tuesdays", Zone: "Europe/Berlin", Opened: evening}, in, teacher))
}

func join(t *testing.T, s Store, in, who class.ID, role bot.Role) class.Member {
	t.Helper()
	m := class.Member{Class: in, Person: who, Role: role, Joined: evening}
	ok(t, s.PutMember(t.Context(), m))
	return m
}

func session(t *testing.T, s Store, in class.ID, start time.Time) class.Session {
	t.Helper()
	return must[class.Session](t)(s.AddSession(t.Context(), class.Session{Class: in, Start: start, Minutes: 90, Zone: "Europe/Berlin"}))
}

// filled is v with every field set to something that is not its zero value, so
// that a field which a store does not keep is seen.
func filled[T any]() T {
	var v T
	n := 0
	fill(reflect.ValueOf(&v).Elem(), &n)
	return v
}

func fill(v reflect.Value, n *int) {
	*n++
	if v.Type() == reflect.TypeFor[time.Time]() {
		v.Set(reflect.ValueOf(evening.Add(time.Duration(*n) * time.Hour)))
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			fill(v.Field(i), n)
		}
	case reflect.String:
		v.SetString(fmt.Sprintf("text %d, “ü” 🧶", *n))
	case reflect.Int:
		v.SetInt(int64(*n))
	case reflect.Float64:
		v.SetFloat(float64(*n) / 3)
	case reflect.Uint8:
		v.SetUint(uint64(*n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		for i := range 2 {
			fill(v.Index(i), n)
		}
	default:
		panic("storetest: no way to fill a " + v.Type().String())
	}
}

// crowd runs n calls at the same time and waits for them.
func crowd(n int, do func(i int)) {
	var wg sync.WaitGroup
	start := make(chan struct{})
	for i := range n {
		wg.Go(func() {
			<-start
			do(i)
		})
	}
	close(start)
	wg.Wait()
}
