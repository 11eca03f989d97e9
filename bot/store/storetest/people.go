package storetest

import (
	"reflect"
	"testing"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/measure"
)

func personKept(t *testing.T, s Store) {
	_, err := s.FindPerson(t.Context(), maya)
	wantNone(t, "before she is there", err)
	p := person(t, s, maya, "Maya")
	if p.Name != "Maya" || len(p.ID) != 8 || p.Since.IsZero() {
		t.Errorf("made as %+v", p)
	}
	same(t, "asked again under another name", person(t, s, maya, "Somebody"), p)
	if other := person(t, s, ines, "Maya"); other.ID == p.ID {
		t.Error("two accounts, one person")
	}
	if other := person(t, s, bot.Account{Chat: "discord", User: maya.User}, ""); other.ID == p.ID {
		t.Error("one name in two chats, one person")
	}

	put := filled[class.Person]()
	put.ID = p.ID
	ok(t, s.PutPerson(t.Context(), put))
	same(t, "by account", must[class.Person](t)(s.FindPerson(t.Context(), maya)), put)
	same(t, "by id", must[class.Person](t)(s.Person(t.Context(), p.ID)), put)
	ok(t, s.PutPerson(t.Context(), class.Person{ID: p.ID}))
	same(t, "emptied", must[class.Person](t)(s.Person(t.Context(), p.ID)), class.Person{ID: p.ID})
}

func personRace(t *testing.T, s Store) {
	const n = 16
	ids, errs := make([]class.ID, n), make([]error, n)
	crowd(n, func(i int) {
		p, err := s.PersonOf(t.Context(), maya, "Maya")
		ids[i], errs[i] = p.ID, err
	})
	for i := range n {
		ok(t, errs[i])
		if ids[i] != ids[0] {
			t.Errorf("request %d made %s, request 0 %s", i, ids[i], ids[0])
		}
	}
	same(t, "her accounts", must[[]bot.Account](t)(s.Accounts(t.Context(), ids[0])), []bot.Account{maya})
}

// putNobody: an old copy in someone's hands must not bring back what was deleted.
func putNobody(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, maya, "Maya")
	c := open(t, s, loft, p.ID)
	e := session(t, s, c.ID, evening)
	_, err := s.Person(ctx, "nobody22")
	wantNone(t, "Person", err)
	wantNone(t, "PutPerson", s.PutPerson(ctx, class.Person{ID: "nobody22"}))
	wantNone(t, "PutClass", s.PutClass(ctx, class.Class{ID: "nobody22"}))
	wantNone(t, "PutSession", s.PutSession(ctx, class.Session{ID: "nobody22"}))
	wantNone(t, "PutQuestion", s.PutQuestion(ctx, class.Question{ID: "nobody22"}))
	wantNone(t, "PutSchedule", s.PutSchedule(ctx, class.Schedule{ID: "nobody22"}))
	wantNone(t, "PutMember of nobody", s.PutMember(ctx, class.Member{Class: c.ID, Person: "nobody22"}))
	wantNone(t, "PutMember of no class", s.PutMember(ctx, class.Member{Class: "nobody22", Person: p.ID}))
	wantNone(t, "PutAttendance of nobody", s.PutAttendance(ctx, class.Attendance{Session: e.ID, Person: "nobody22"}))
	wantNone(t, "PutAttendance of no session", s.PutAttendance(ctx, class.Attendance{Session: "nobody22", Person: p.ID}))
	wantNone(t, "PutSettled of nobody", s.PutSettled(ctx, class.Settled{Person: "nobody22", Account: maya}))
	wantNone(t, "AddPlace to no class", s.AddPlace(ctx, "nobody22", kitchen))
	wantNone(t, "MoveAccount to nobody", s.MoveAccount(ctx, maya, "nobody22"))
	wantNone(t, "MoveAccount of nobody", s.MoveAccount(ctx, ines, p.ID))
	_, err = s.OpenClass(ctx, class.Class{}, kitchen, "nobody22")
	wantNone(t, "OpenClass of nobody", err)
	_, err = s.AddSession(ctx, class.Session{Class: "nobody22"})
	wantNone(t, "AddSession to no class", err)
	_, err = s.AddQuestion(ctx, class.Question{Class: "nobody22", Person: p.ID})
	wantNone(t, "AddQuestion to no class", err)
	_, err = s.AddQuestion(ctx, class.Question{Class: c.ID, Person: "nobody22"})
	wantNone(t, "AddQuestion of nobody", err)
	_, err = s.AddSchedule(ctx, class.Schedule{Class: "nobody22"})
	wantNone(t, "AddSchedule to no class", err)
	_, _, _, err = s.Nameless(ctx, "nobody22")
	wantNone(t, "Nameless of no session", err)

	ok(t, s.DeletePerson(ctx, "nobody22"))
	ok(t, s.RemoveMember(ctx, c.ID, "nobody22"))
	ok(t, s.RemovePlace(ctx, kitchen))
	ok(t, s.DeleteLink(ctx, "nobody22"))
	ok(t, s.DeleteSettled(ctx, ines))
	same(t, "the person there is", must[class.Person](t)(s.FindPerson(ctx, maya)), p)
}

func accountsOrdered(t *testing.T, s Store) {
	p := person(t, s, maya, "Maya")
	person(t, s, maya2, "Maya")
	ok(t, s.MoveAccount(t.Context(), maya2, p.ID))
	got := must[[]bot.Account](t)(s.Accounts(t.Context(), p.ID))
	if len(got) != 2 {
		t.Fatalf("accounts %v", got)
	}
	none := must[[]bot.Account](t)(s.Accounts(t.Context(), "nobody22"))
	if len(none) != 0 {
		t.Errorf("nobody's accounts %v", none)
	}
}

func looms(t *testing.T, s Store) {
	ctx := t.Context()
	same(t, "before anything is said", must[class.Loom](t)(s.Loom(ctx, maya)), class.Loom{})
	l := filled[class.Loom]()
	ok(t, s.KeepLoom(ctx, maya, l)) // makes the person too
	ok(t, s.KeepLoom(ctx, maya, l))
	same(t, "kept", must[class.Loom](t)(s.Loom(ctx, maya)), l)
	p := must[class.Person](t)(s.FindPerson(ctx, maya))
	weaver := func(a bot.Account, who class.Person, has class.Loom) {
		t.Helper()
		got, loom, err := s.Weaver(ctx, a)
		ok(t, err)
		same(t, "who weaves", got, who)
		same(t, "on what", loom, has)
	}
	weaver(maya, p, l)
	weaver(maya2, person(t, s, maya2, ""), class.Loom{}) // who has told nothing
	ok(t, s.MoveAccount(ctx, maya2, p.ID))
	same(t, "from her other account", must[class.Loom](t)(s.Loom(ctx, maya2)), l)
	ok(t, s.KeepLoom(ctx, maya2, class.Loom{Ends: 97}))
	same(t, "changed from there", must[class.Loom](t)(s.Loom(ctx, maya)), class.Loom{Ends: 97})
	same(t, "somebody else's", must[class.Loom](t)(s.Loom(ctx, ines)), class.Loom{})
	_, _, err := s.Weaver(ctx, ines)
	wantNone(t, "nobody", err)
}

// asker: what the core is told of her, in a room and in a direct message.
func asker(t *testing.T, s Store) {
	ctx := t.Context()
	asked := func(r bot.Request) bot.Asker {
		a := must[bot.Asker](t)(class.Roll{Store: s}.Asker(ctx, r))
		found := must[class.Standing](t)(class.StandingOf(ctx, s, r))
		known, _ := a.Known.(class.Standing)
		same(t, "her loom", known.Loom, must[class.Loom](t)(s.Loom(ctx, r.From)))
		if !reflect.DeepEqual(known, found) {
			t.Errorf("known is %+v, not %+v", known, found)
		}
		a.Known = nil // told above
		return a
	}
	in := func(place bot.Place) bot.Asker {
		t.Helper()
		return asked(bot.Request{From: maya, In: place})
	}
	direct := func() bot.Asker {
		t.Helper()
		return asked(bot.Request{From: maya, In: bot.DirectRoom(maya), Direct: true})
	}
	same(t, "a stranger where no class is", in(loft), bot.Asker{})
	same(t, "a stranger alone", direct(), bot.Asker{})
	_, err := s.FindPerson(ctx, maya)
	wantNone(t, "being asked after makes nobody", err)

	c := open(t, s, loft, person(t, s, ines, "Ines").ID)
	c.Units = measure.Metric
	ok(t, s.PutClass(ctx, c))
	same(t, "a stranger in a class's room", in(loft), bot.Asker{Units: measure.Metric, Class: string(c.ID)})
	p := person(t, s, maya, "Maya")
	same(t, "known, not a member", in(loft), bot.Asker{Units: measure.Metric, Class: string(c.ID)})
	join(t, s, c.ID, p.ID, bot.Helper)
	same(t, "a member", in(loft), bot.Asker{Units: measure.Metric, Class: string(c.ID), Role: bot.Helper})
	same(t, "a member elsewhere", in(kitchen), bot.Asker{})
	same(t, "alone, in one class", direct(), bot.Asker{Units: measure.Metric, Class: string(c.ID), Role: bot.Helper})

	ok(t, s.KeepLoom(ctx, maya, class.Loom{Units: measure.Imperial}))
	same(t, "units of her loom", in(loft).Units, measure.Imperial)
	p.Units = measure.Metric
	ok(t, s.PutPerson(ctx, p))
	same(t, "units that she set", in(kitchen).Units, measure.Metric)

	other := open(t, s, kitchen, p.ID)
	same(t, "alone, in two classes", direct(), bot.Asker{Units: measure.Metric})
	p.Current = other.ID
	ok(t, s.PutPerson(ctx, p))
	same(t, "alone, in the one that she chose", direct(), bot.Asker{Units: measure.Metric, Class: string(other.ID), Role: bot.Teacher})
	other.Closed = evening
	ok(t, s.PutClass(ctx, other))
	same(t, "alone, when that is closed", direct(), bot.Asker{Units: measure.Metric, Class: string(c.ID), Role: bot.Helper})
}
