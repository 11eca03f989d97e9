package storetest

import (
	"slices"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

func sessionKept(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, ines, "Ines")
	c, other := open(t, s, loft, p.ID), open(t, s, kitchen, p.ID)
	put := filled[class.Session]()
	put.Class = c.ID
	got := must[class.Session](t)(s.AddSession(ctx, put))
	put.ID, put.Number = got.ID, 1
	same(t, "added", got, put)
	same(t, "by id", must[class.Session](t)(s.Session(ctx, got.ID)), put)
	if n := session(t, s, c.ID, evening).Number; n != 2 {
		t.Errorf("the second is number %d", n)
	}
	if n := session(t, s, other.ID, evening).Number; n != 1 {
		t.Errorf("the first of another class is number %d", n)
	}
	same(t, "by number", must[class.Session](t)(s.SessionNumber(ctx, c.ID, 1)), put)
	_, err := s.SessionNumber(ctx, c.ID, 3)
	wantNone(t, "a number not given", err)

	ok(t, s.PutSession(ctx, class.Session{ID: put.ID, Class: c.ID, Number: 1}))
	same(t, "emptied", must[class.Session](t)(s.Session(ctx, put.ID)), class.Session{ID: put.ID, Class: c.ID, Number: 1})
	ok(t, s.PutSession(ctx, put))
	same(t, "and put again", must[class.Session](t)(s.Session(ctx, put.ID)), put)
}

func sessionRace(t *testing.T, s Store) {
	c := open(t, s, loft, person(t, s, ines, "Ines").ID)
	const n = 12 // of 24, on a busy machine, one now and then came near the last try that a store makes
	numbers, errs := make([]int, n), make([]error, n)
	crowd(n, func(i int) {
		e, err := s.AddSession(t.Context(), class.Session{Class: c.ID, Start: evening})
		numbers[i], errs[i] = e.Number, err
	})
	slices.Sort(numbers)
	for i := range n {
		ok(t, errs[i])
		if numbers[i] != i+1 {
			t.Fatalf("numbers %v", numbers)
		}
	}
}

func sessionsByTime(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, ines, "Ines")
	c, closed := open(t, s, loft, p.ID), open(t, s, kitchen, p.ID)
	b := session(t, s, c.ID, evening)
	a := session(t, s, c.ID, evening.Add(-24*time.Hour))
	same2 := session(t, s, c.ID, evening)
	session(t, s, closed.ID, evening)
	closed.Closed = evening
	ok(t, s.PutClass(ctx, closed))
	b.Cancelled = true
	ok(t, s.PutSession(ctx, b))

	of := func(from time.Time) []class.Session { return must[[]class.Session](t)(s.SessionsOf(ctx, c.ID, from)) }
	same(t, "all", of(time.Time{}), []class.Session{a, b, same2})
	same(t, "just before the end of the first", of(a.End().Add(-time.Millisecond)), []class.Session{a, b, same2})
	same(t, "at its end", of(a.End()), []class.Session{b, same2})
	if got := of(evening.Add(90 * time.Minute)); len(got) != 0 {
		t.Errorf("after all ends: %v", got)
	}
	between := func(from, to time.Time) []class.Session {
		return must[[]class.Session](t)(s.SessionsBetween(ctx, from, to))
	}
	same(t, "from a start on", between(evening, evening.Add(1)), []class.Session{b, same2})
	same(t, "up to a start", between(a.Start, evening), []class.Session{a})
	same(t, "from a hair after a start", between(a.Start.Add(1), evening.Add(time.Hour)), []class.Session{b, same2})

	b.Start = evening.Add(48 * time.Hour)
	ok(t, s.PutSession(ctx, b))
	same(t, "one moved", of(evening.Add(90*time.Minute)), []class.Session{b})
}

func attendance(t *testing.T, s Store) {
	ctx := t.Context()
	p, q := person(t, s, ines, "Ines"), person(t, s, maya, "Maya")
	e := session(t, s, open(t, s, loft, p.ID).ID, evening)
	put := filled[class.Attendance]()
	put.Session, put.Person = e.ID, p.ID
	ok(t, s.PutAttendance(ctx, put))
	same(t, "kept", must[[]class.Attendance](t)(s.AttendanceOf(ctx, e.ID)), []class.Attendance{put})
	earlier := class.Attendance{Session: e.ID, Person: q.ID, Answer: "away", At: put.At.Add(-time.Hour)}
	ok(t, s.PutAttendance(ctx, earlier))
	put.Came = "no"
	ok(t, s.PutAttendance(ctx, put))
	same(t, "changed", must[[]class.Attendance](t)(s.AttendanceOf(ctx, e.ID)), []class.Attendance{earlier, put})
	same(t, "of one", must[class.Attendance](t)(s.AttendanceBy(ctx, e.ID, q.ID)), earlier)
	_, err := s.AttendanceBy(ctx, e.ID, person(t, s, tomas, "Tomas").ID)
	wantNone(t, "of one who has said nothing", err)
	ok(t, s.RemoveMember(ctx, e.Class, p.ID))
	same(t, "of one who has left", must[[]class.Attendance](t)(s.AttendanceOf(ctx, e.ID)), []class.Attendance{earlier, put})
	coming, away, came, err := s.Nameless(ctx, e.ID)
	ok(t, err)
	same(t, "nobody was forgotten", [3]int{coming, away, came}, [3]int{})
}

func questions(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, maya, "Maya")
	c := open(t, s, loft, person(t, s, ines, "Ines").ID)
	put := filled[class.Question]()
	put.Class, put.Person = c.ID, p.ID
	done := must[class.Question](t)(s.AddQuestion(ctx, put))
	put.ID, put.Number = done.ID, 1
	same(t, "added", done, put)
	waits := must[class.Question](t)(s.AddQuestion(ctx, class.Question{Class: c.ID, Person: p.ID, Text: "And now?", Asked: evening}))
	same(t, "waiting", must[[]class.Question](t)(s.QuestionsOf(ctx, c.ID, false)), []class.Question{waits})
	same(t, "all", must[[]class.Question](t)(s.QuestionsOf(ctx, c.ID, true)), []class.Question{done, waits})
	same(t, "by asker", must[[]class.Question](t)(s.QuestionsBy(ctx, p.ID)), []class.Question{waits, done})
	same(t, "by number", must[class.Question](t)(s.QuestionNumber(ctx, c.ID, 2)), waits)
	waits.Done = evening.Add(time.Hour)
	ok(t, s.PutQuestion(ctx, waits))
	if got := must[[]class.Question](t)(s.QuestionsOf(ctx, c.ID, false)); len(got) != 0 {
		t.Errorf("still waiting: %v", got)
	}
	_, err := s.QuestionNumber(ctx, c.ID, 3)
	wantNone(t, "a number not given", err)
}

func links(t *testing.T, s Store) {
	ctx := t.Context()
	_, err := s.Link(ctx, "4711")
	wantNone(t, "no such code", err)
	put := filled[class.Link]()
	ok(t, s.PutLink(ctx, put))
	same(t, "kept", must[class.Link](t)(s.Link(ctx, put.Code)), put)
	changed := class.Link{Code: put.Code, From: maya, Expires: evening}
	ok(t, s.PutLink(ctx, changed))
	same(t, "changed", must[class.Link](t)(s.Link(ctx, put.Code)), changed)
	later := class.Link{Code: "latest88", From: maya, To: ines, Expires: evening.Add(time.Minute), Tries: 4, ToYes: true}
	ok(t, s.PutLink(ctx, later))
	same(t, "the last from an account", must[class.Link](t)(s.LinkFrom(ctx, maya)), later)
	same(t, "to an account", must[class.Link](t)(s.LinkTo(ctx, ines)), later)
	same(t, "by how the code begins", must[class.Link](t)(s.LinkNamed(ctx, "late")), later)
	_, err = s.LinkNamed(ctx, "lat")
	wantNone(t, "by less than its name", err)
	_, err = s.LinkNamed(ctx, "LATE")
	wantNone(t, "in other letters", err)
	ok(t, s.DeleteLink(ctx, "latest88"))
	same(t, "without it", must[class.Link](t)(s.LinkFrom(ctx, maya)), changed)
	_, err = s.LinkFrom(ctx, ines)
	wantNone(t, "from one who was offered", err)
	_, err = s.LinkTo(ctx, ines)
	wantNone(t, "to an account, deleted", err)
}

func guesses(t *testing.T, s Store) {
	ctx := t.Context()
	for i := range 3 {
		ok(t, s.AddGuess(ctx, maya, evening.Add(time.Duration(i)*time.Minute)))
		ok(t, s.AddGuess(ctx, ines, evening)) // at the same time
	}
	same(t, "all", must[int](t)(s.Guesses(ctx, maya, time.Time{})), 3)
	same(t, "after the first", must[int](t)(s.Guesses(ctx, maya, evening)), 2)
	same(t, "of another", must[int](t)(s.Guesses(ctx, ines, time.Time{})), 3)
	same(t, "of one who never did", must[int](t)(s.Guesses(ctx, tomas, time.Time{})), 0)
}

func limits(t *testing.T, s Store) {
	ctx := t.Context()
	w := newTwoOfOne(t, s)
	limit := class.Limit{Account: maya2, Class: w.class.ID, Role: bot.Student, At: evening}
	wantNone(t, "of an account that nobody is behind", s.PutLimit(ctx, class.Limit{Account: tomas, Class: w.class.ID}))
	wantNone(t, "in no class", s.PutLimit(ctx, class.Limit{Account: maya2, Class: "nobody22"}))
	in := func(r bot.Request) bot.Role { return must[bot.Asker](t)(class.Roll{Store: s}.Asker(ctx, r)).Role }
	room, direct := bot.Request{From: maya2, In: loft}, bot.Request{From: maya2, Direct: true}
	same(t, "her role in the room, without", in(room), bot.Helper)
	ok(t, s.PutLimit(ctx, limit))
	same(t, "kept", must[[]class.Limit](t)(s.LimitsOf(ctx, maya2)), []class.Limit{limit})
	same(t, "her role in the room", in(room), bot.Student)
	same(t, "her role in a direct message", in(direct), bot.Student)
	st := must[class.Standing](t)(class.StandingOf(ctx, s, room))
	if st.Role() != bot.Student || !st.Limited || st.Member.Role != bot.Helper {
		t.Errorf("standing %v, limited %v, of a %v", st.Role(), st.Limited, st.Member.Role)
	}
	same(t, "another of her accounts has none", len(must[[]class.Limit](t)(s.LimitsOf(ctx, maya))), 0)
	limit.Role = bot.Teacher
	ok(t, s.PutLimit(ctx, limit))
	same(t, "a limit above her role gives nothing", in(room), bot.Helper)
	ok(t, s.DeleteLimit(ctx, maya2, w.class.ID))
	ok(t, s.DeleteLimit(ctx, maya2, w.class.ID))
	same(t, "deleted", len(must[[]class.Limit](t)(s.LimitsOf(ctx, maya2))), 0)
	ok(t, s.PutLimit(ctx, limit))
	ok(t, s.MoveAccount(ctx, maya2, w.one.ID))
	same(t, "goes with the account", must[[]class.Limit](t)(s.LimitsOf(ctx, maya2)), []class.Limit{limit})
}

func settled(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, maya, "Maya")
	put := filled[class.Settled]()
	put.Person = p.ID
	first := class.Settled{Person: p.ID, Account: maya2, Was: "before22", At: evening.Add(-time.Hour)}
	ok(t, s.PutSettled(ctx, put))
	ok(t, s.PutSettled(ctx, first))
	same(t, "kept, oldest first", must[[]class.Settled](t)(s.SettledOf(ctx, p.ID)), []class.Settled{first, put})
	ok(t, s.DeleteSettled(ctx, put.Account))
	same(t, "one deleted", must[[]class.Settled](t)(s.SettledOf(ctx, p.ID)), []class.Settled{first})
}

func schedules(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, ines, "Ines")
	c, closed := open(t, s, loft, p.ID), open(t, s, kitchen, p.ID)
	put := filled[class.Schedule]()
	put.Class = c.ID
	put.Ended = time.Time{}
	a := must[class.Schedule](t)(s.AddSchedule(ctx, put))
	put.ID, put.Number = a.ID, 1
	same(t, "added", a, put)
	b := must[class.Schedule](t)(s.AddSchedule(ctx, class.Schedule{Class: c.ID, To: loft, By: p.ID}))
	must[class.Schedule](t)(s.AddSchedule(ctx, class.Schedule{Class: closed.ID}))
	closed.Closed = evening
	ok(t, s.PutClass(ctx, closed))
	same(t, "of the class", must[[]class.Schedule](t)(s.SchedulesOf(ctx, c.ID)), []class.Schedule{a, b})
	same(t, "of open classes", must[[]class.Schedule](t)(s.AllSchedules(ctx)), []class.Schedule{a, b})
	b.Planned, b.Text, b.Spec = evening, "Bring scissors", "mon 9:00"
	ok(t, s.PutSchedule(ctx, b))
	a.Ended = evening
	ok(t, s.PutSchedule(ctx, a))
	same(t, "one ended, one changed", must[[]class.Schedule](t)(s.SchedulesOf(ctx, c.ID)), []class.Schedule{b})
	same(t, "everywhere", must[[]class.Schedule](t)(s.AllSchedules(ctx)), []class.Schedule{b})
	if n := must[class.Schedule](t)(s.AddSchedule(ctx, class.Schedule{Class: c.ID})).Number; n != 3 {
		t.Errorf("an ended one's number is given again: %d", n)
	}
}

// pastedTexts: what one database cannot keep, none does.
func pastedTexts(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, maya, "Maya")
	for _, c := range []struct{ name, text, want string }{
		{"quotes and a semicolon", `O'Neil "lace"; DROP TABLE persons; -- $1`, `O'Neil "lace"; DROP TABLE persons; -- $1`},
		{"lines and tabs", "a\r\n\tb\n", "a\r\n\tb\n"},
		{"marks above the plane", "🧶 𝕃ace \u180e \u202e", "🧶 𝕃ace \u180e \u202e"},
		{"half a character", "caf\xc3", "caf\uFFFD"},
		{"a NUL", "a\x00b", "ab"},
		{"long", string(make([]byte, 100_000)) + long, long},
	} {
		p.Name = c.text
		ok(t, s.PutPerson(ctx, p))
		if got := must[class.Person](t)(s.Person(ctx, p.ID)).Name; got != c.want {
			t.Errorf("%s: %.40q, want %.40q", c.name, got, c.want)
		}
	}
	odd := bot.Account{Chat: "matrix", User: "@a\x00\xff:example.org"}
	q := person(t, s, odd, "")
	same(t, "an account's odd name finds it again", person(t, s, odd, "").ID, q.ID)
}

var long = string(slices.Repeat([]rune("lace ü "), 20_000))

func instants(t *testing.T, s Store) {
	ctx := t.Context()
	p := person(t, s, maya, "Maya")
	berlin := time.FixedZone("", 3600)
	for _, c := range []struct {
		name      string
		put, want time.Time
	}{
		{"none", time.Time{}, time.Time{}},
		{"to the millisecond", evening.Add(456_789), evening},
		{"elsewhere", evening.In(berlin), evening},
		{"long ago", time.Date(1850, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(1850, 1, 1, 0, 0, 0, 0, time.UTC)},
		{"far away", time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC), time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC)},
	} {
		p.Since = c.put
		ok(t, s.PutPerson(ctx, p))
		got := must[class.Person](t)(s.Person(ctx, p.ID)).Since
		if got != c.want { // == and not Equal: the zone is UTC
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
