package storetest

import (
	"errors"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

func classKept(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, ines, "Ines")
	_, err := s.ClassIn(ctx, loft)
	wantNone(t, "before it is open", err)
	put := filled[class.Class]()
	put.Closed = time.Time{}
	c := must[class.Class](t)(s.OpenClass(ctx, put, loft, p.ID))
	put.ID = c.ID
	same(t, "opened", c, put)
	same(t, "by place", must[class.Class](t)(s.ClassIn(ctx, loft)), put)
	same(t, "its teacher", must[[]class.Member](t)(s.Members(ctx, c.ID)),
		[]class.Member{{Class: c.ID, Person: p.ID, Role: bot.Teacher, Joined: put.Opened}})
	if c := must[class.Class](t)(s.OpenClass(ctx, class.Class{}, kitchen, p.ID)); time.Since(c.Opened) > time.Hour {
		t.Errorf("opened without a time at %v", c.Opened)
	}

	put = filled[class.Class]()
	put.ID = c.ID
	ok(t, s.PutClass(ctx, put))
	same(t, "changed", must[class.Class](t)(s.Class(ctx, c.ID)), put)
	_, err = s.ClassIn(ctx, loft)
	wantNone(t, "once it is closed", err)
	_, err = s.Class(ctx, "nobody22")
	wantNone(t, "another", err)
}

func placeTaken(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, ines, "Ines")
	c := open(t, s, loft, p.ID)
	if _, err := s.OpenClass(ctx, class.Class{}, loft, p.ID); !errors.Is(err, class.ErrTaken) {
		t.Errorf("a second class in the place: %v", err)
	}
	other := open(t, s, kitchen, p.ID)
	if err := s.AddPlace(ctx, other.ID, loft); !errors.Is(err, class.ErrTaken) {
		t.Errorf("another class's place: %v", err)
	}
	if n := len(must[[]class.Member](t)(s.MemberOf(ctx, p.ID))); n != 2 {
		t.Errorf("the refused class left something: member of %d", n)
	}
	c.Closed = evening
	ok(t, s.PutClass(ctx, c))
	ok(t, s.AddPlace(ctx, other.ID, loft))
	same(t, "after it was closed", must[class.Class](t)(s.ClassIn(ctx, loft)).ID, other.ID)
}

func placeRace(t *testing.T, s Store) {
	p := person(t, s, ines, "Ines")
	const n = 8
	errs := make([]error, n)
	crowd(n, func(i int) { _, errs[i] = s.OpenClass(t.Context(), class.Class{}, loft, p.ID) })
	won := 0
	for _, err := range errs {
		if err == nil {
			won++
		} else if !errors.Is(err, class.ErrTaken) {
			t.Error(err)
		}
	}
	if n := len(must[[]class.Member](t)(s.MemberOf(t.Context(), p.ID))); won != 1 || n != 1 {
		t.Errorf("%d opened, member of %d", won, n)
	}
}

func places(t *testing.T, s Store) {
	ctx := t.Context()
	c := open(t, s, loft, person(t, s, ines, "Ines").ID)
	ok(t, s.AddPlace(ctx, c.ID, kitchen))
	ok(t, s.AddPlace(ctx, c.ID, kitchen)) // again changes nothing
	if got := must[[]bot.Place](t)(s.Places(ctx, c.ID)); len(got) != 2 {
		t.Errorf("places %v", got)
	}
	same(t, "by the second place", must[class.Class](t)(s.ClassIn(ctx, kitchen)), c)
	ok(t, s.RemovePlace(ctx, loft))
	same(t, "one removed", must[[]bot.Place](t)(s.Places(ctx, c.ID)), []bot.Place{kitchen})
	_, err := s.ClassIn(ctx, loft)
	wantNone(t, "in the removed one", err)
}

func members(t *testing.T, s Store) {
	ctx := t.Context()
	teacher := person(t, s, ines, "Ines")
	c := open(t, s, loft, teacher.ID)
	put := func(a bot.Account, role bot.Role, joined time.Time) class.Member {
		m := class.Member{Class: c.ID, Person: person(t, s, a, "").ID, Role: role, Joined: joined}
		ok(t, s.PutMember(ctx, m))
		return m
	}
	student := put(maya, bot.Student, evening.Add(-time.Hour))
	helper := put(tomas, bot.Helper, evening.Add(time.Minute))
	second := put(maya2, bot.Teacher, evening.Add(time.Hour))
	first := must[class.Member](t)(s.Member(ctx, c.ID, teacher.ID))
	same(t, "teachers first, then by joining", must[[]class.Member](t)(s.Members(ctx, c.ID)),
		[]class.Member{first, second, student, helper})

	student.Ready, student.Role = evening, bot.Helper
	ok(t, s.PutMember(ctx, student))
	same(t, "changed", must[class.Member](t)(s.Member(ctx, c.ID, student.Person)), student)
	ok(t, s.RemoveMember(ctx, c.ID, student.Person))
	_, err := s.Member(ctx, c.ID, student.Person)
	wantNone(t, "who has left", err)
	same(t, "without her", must[[]class.Member](t)(s.Members(ctx, c.ID)), []class.Member{first, second, helper})
}

func memberOf(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, ines, "Ines")
	a, b := open(t, s, loft, p.ID), open(t, s, kitchen, p.ID)
	a.Closed = evening
	ok(t, s.PutClass(ctx, a))
	same(t, "open ones", must[[]class.Member](t)(s.MemberOf(ctx, p.ID)),
		[]class.Member{{Class: b.ID, Person: p.ID, Role: bot.Teacher, Joined: evening}})
	if got := must[[]class.Member](t)(s.MemberOf(ctx, "nobody22")); len(got) != 0 {
		t.Errorf("nobody is in %v", got)
	}
}

func ofClass(t *testing.T, s Store) {
	ctx := t.Context()
	teacher, student, stranger := person(t, s, ines, "Ines"), person(t, s, maya, "Maya"), person(t, s, tomas, "Tomas")
	c, other := open(t, s, loft, teacher.ID), open(t, s, kitchen, stranger.ID)
	join(t, s, c.ID, student.ID, bot.Student)
	for _, a := range []bot.Account{maya, tomas} {
		ok(t, s.KeepLoom(ctx, a, class.Loom{Ends: 97, Width: 0.4}))
	}
	same(t, "looms", must[map[class.ID]class.Loom](t)(s.LoomsOf(ctx, c.ID)), map[class.ID]class.Loom{student.ID: {Ends: 97, Width: 0.4}})
	walk := class.Walk{Plan: "ends:97 raised:3", Row: 2, Move: 5, Begun: evening, Moved: evening}
	for _, a := range []bot.Account{maya, tomas} {
		ok(t, s.KeepWalk(ctx, a, walk))
	}
	same(t, "walks", must[map[class.ID]class.Walk](t)(s.WalksOf(ctx, c.ID)), map[class.ID]class.Walk{student.ID: walk})
	student.Hidden = true
	ok(t, s.PutPerson(ctx, student))
	same(t, "persons", must[map[class.ID]class.Person](t)(s.PersonsOf(ctx, c.ID)),
		map[class.ID]class.Person{teacher.ID: teacher, student.ID: student})
	same(t, "persons of another class", must[map[class.ID]class.Person](t)(s.PersonsOf(ctx, other.ID)),
		map[class.ID]class.Person{stranger.ID: stranger})
}
