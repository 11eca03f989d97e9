package storetest

import (
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// twoOfOne are two persons who turn out to be one human being, in a class of
// Ines's with two sessions: Maya on Matrix, and Maya on Discord, who has said
// much.
type twoOfOne struct {
	one, two    class.Person
	class       class.Class
	first, next class.Session
	loom        class.Loom
	question    class.Question
	answer      class.Attendance
	member      class.Member
}

func newTwoOfOne(t *testing.T, s Store) twoOfOne {
	ctx := t.Context()
	w := twoOfOne{one: person(t, s, maya, "Maya"), two: person(t, s, maya2, "maya_knits")}
	w.class = open(t, s, loft, person(t, s, ines, "Ines").ID)
	w.first, w.next = session(t, s, w.class.ID, evening), session(t, s, w.class.ID, evening.Add(7*24*time.Hour))
	w.loom = class.Loom{Ends: 97, Kind: class.TableLoom}
	ok(t, s.KeepLoom(ctx, maya2, w.loom))
	w.question = must[class.Question](t)(s.AddQuestion(ctx, class.Question{Class: w.class.ID, Person: w.two.ID, Text: "Why hole?", Asked: evening}))
	w.member = class.Member{Class: w.class.ID, Person: w.two.ID, Role: bot.Helper, Joined: evening.Add(time.Hour), Ready: evening.Add(2 * time.Hour)}
	ok(t, s.PutMember(ctx, w.member))
	w.answer = class.Attendance{Session: w.first.ID, Person: w.two.ID, Answer: "coming", Came: "yes", At: evening}
	ok(t, s.PutAttendance(ctx, w.answer))
	return w
}

func moveAll(t *testing.T, s Store) {
	ctx := t.Context()
	w := newTwoOfOne(t, s)
	ok(t, s.MoveAccount(ctx, maya2, w.one.ID))
	ok(t, s.MoveAccount(ctx, maya2, w.one.ID)) // is there already

	same(t, "who is behind it", must[class.Person](t)(s.FindPerson(ctx, maya2)), w.one)
	same(t, "who was", must[class.Person](t)(s.Person(ctx, w.two.ID)), w.two)
	same(t, "loom", must[class.Loom](t)(s.Loom(ctx, maya)), w.loom)
	moved := w.member
	moved.Person = w.one.ID
	same(t, "membership", must[class.Member](t)(s.Member(ctx, w.class.ID, w.one.ID)), moved)
	_, err := s.Member(ctx, w.class.ID, w.two.ID)
	wantNone(t, "membership of before", err)
	q := w.question
	q.Person = w.one.ID
	same(t, "questions", must[[]class.Question](t)(s.QuestionsBy(ctx, w.one.ID)), []class.Question{q})
	a := w.answer
	a.Person = w.one.ID
	same(t, "attendance", must[[]class.Attendance](t)(s.AttendanceOf(ctx, w.first.ID)), []class.Attendance{a})
}

func moveBoth(t *testing.T, s Store) {
	ctx := t.Context()
	w := newTwoOfOne(t, s)
	own := class.Loom{Ends: 120}
	ok(t, s.KeepLoom(ctx, maya, own))
	join(t, s, w.class.ID, w.one.ID, bot.Student)
	answer := class.Attendance{Session: w.first.ID, Person: w.one.ID, Answer: "away", At: evening}
	ok(t, s.PutAttendance(ctx, answer))
	ok(t, s.MoveAccount(ctx, maya2, w.one.ID))

	same(t, "her own loom stays", must[class.Loom](t)(s.Loom(ctx, maya2)), own)
	same(t, "her own answer stays", must[[]class.Attendance](t)(s.AttendanceOf(ctx, w.first.ID)), []class.Attendance{answer})
	same(t, "one membership of two", must[class.Member](t)(s.Member(ctx, w.class.ID, w.one.ID)),
		class.Member{Class: w.class.ID, Person: w.one.ID, Role: bot.Helper, Joined: evening, Ready: w.member.Ready})
	if n := len(must[[]class.Member](t)(s.Members(ctx, w.class.ID))); n != 2 {
		t.Errorf("%d members", n)
	}
}

// moveBack: each has again what was hers, whatever the other had.
func moveBack(t *testing.T, s Store) {
	for _, name := range []string{"the one had nothing", "both had something"} {
		ctx := t.Context()
		w := newTwoOfOneAgain(t, s, name)
		var ownMember []class.Member
		if name == "both had something" {
			ok(t, s.KeepLoom(ctx, maya, class.Loom{Ends: 120}))
			ownMember = append(ownMember, join(t, s, w.class.ID, w.one.ID, bot.Student))
			ok(t, s.PutAttendance(ctx, class.Attendance{Session: w.first.ID, Person: w.one.ID, Answer: "away", At: evening.Add(time.Second)}))
		}
		loom := must[class.Loom](t)(s.Loom(ctx, maya))
		answers := must[[]class.Attendance](t)(s.AttendanceOf(ctx, w.first.ID))

		ok(t, s.MoveAccount(ctx, maya2, w.one.ID))
		later := class.Attendance{Session: w.next.ID, Person: w.one.ID, Answer: "coming", At: evening}
		ok(t, s.PutAttendance(ctx, later))
		ok(t, s.MoveAccount(ctx, maya2, w.two.ID))

		same(t, name+": behind the account", must[class.Person](t)(s.FindPerson(ctx, maya2)), w.two)
		same(t, name+": her loom", must[class.Loom](t)(s.Loom(ctx, maya2)), w.loom)
		same(t, name+": the other's loom", must[class.Loom](t)(s.Loom(ctx, maya)), loom)
		same(t, name+": membership", must[class.Member](t)(s.Member(ctx, w.class.ID, w.two.ID)), w.member)
		same(t, name+": the other's memberships", must[[]class.Member](t)(s.MemberOf(ctx, w.one.ID)), ownMember)
		same(t, name+": questions", must[[]class.Question](t)(s.QuestionsBy(ctx, w.two.ID)), []class.Question{w.question})
		same(t, name+": answers", must[[]class.Attendance](t)(s.AttendanceOf(ctx, w.first.ID)), answers)
		same(t, name+": what was said meanwhile stays where it was said",
			must[[]class.Attendance](t)(s.AttendanceOf(ctx, w.next.ID)), []class.Attendance{later})

		// And once more, to see that nothing is left of the first time.
		ok(t, s.MoveAccount(ctx, maya2, w.one.ID))
		ok(t, s.MoveAccount(ctx, maya2, w.two.ID))
		same(t, name+": loom after the second time", must[class.Loom](t)(s.Loom(ctx, maya2)), w.loom)
	}
}

// moveRights: a move and its undoing give nobody a role that she had not, or
// has no more, and take none that she was given meanwhile.
func moveRights(t *testing.T, s Store) {
	const none = bot.Anyone
	for _, c := range []struct {
		name          string
		one, two      bot.Role // before
		then          bot.Role // given meanwhile to the one person; none for nothing
		ready         bool     // and she says that her loom is dressed
		wantO, wantTw bot.Role
	}{
		{"the helper gets it back", none, bot.Helper, none, false, none, bot.Helper},
		{"and the student stays one", bot.Student, bot.Helper, none, false, bot.Student, bot.Helper},
		{"whatever else has changed", bot.Student, bot.Helper, none, true, bot.Student, bot.Helper},
		{"taken meanwhile", none, bot.Helper, bot.Student, false, none, bot.Student},
		{"taken meanwhile from both", bot.Student, bot.Helper, bot.Student, false, bot.Student, bot.Student},
		{"the other way round", bot.Helper, bot.Student, bot.Student, false, bot.Student, bot.Student},
		{"given meanwhile", none, bot.Student, bot.Teacher, false, bot.Teacher, bot.Student},
		{"given meanwhile to two students", bot.Student, bot.Student, bot.Teacher, false, bot.Teacher, bot.Student},
	} {
		ctx := t.Context()
		w := newTwoOfOneAgain(t, s, c.name)
		w.member.Role = c.two
		ok(t, s.PutMember(ctx, w.member))
		if c.one != none {
			join(t, s, w.class.ID, w.one.ID, c.one)
		}
		ok(t, s.MoveAccount(ctx, maya2, w.one.ID))
		now := must[class.Member](t)(s.Member(ctx, w.class.ID, w.one.ID))
		if c.then != none {
			now.Role = c.then
		}
		if c.ready {
			now.Ready = evening.Add(5 * time.Hour)
		}
		ok(t, s.PutMember(ctx, now))
		ok(t, s.MoveAccount(ctx, maya2, w.two.ID))
		one, err := s.Member(ctx, w.class.ID, w.one.ID)
		if c.wantO == none {
			wantNone(t, c.name, err)
		} else {
			ok(t, err)
		}
		same(t, c.name+": the one", one.Role, c.wantO)
		same(t, c.name+": the other", must[class.Member](t)(s.Member(ctx, w.class.ID, w.two.ID)).Role, c.wantTw)
	}
}

// newTwoOfOneAgain is newTwoOfOne where there was one before.
func newTwoOfOneAgain(t *testing.T, s Store, name string) twoOfOne {
	for _, a := range []bot.Account{maya, maya2} {
		ok(t, s.DeletePerson(t.Context(), person(t, s, a, name).ID))
	}
	if c, err := s.ClassIn(t.Context(), loft); err == nil {
		c.Closed = evening
		ok(t, s.PutClass(t.Context(), c))
	}
	return newTwoOfOne(t, s)
}

func moveOne(t *testing.T, s Store) {
	ctx := t.Context()
	w := newTwoOfOne(t, s)
	ok(t, s.MoveAccount(ctx, maya, w.two.ID)) // w.two has both accounts now
	three := person(t, s, tomas, "Tomas")
	ok(t, s.MoveAccount(ctx, maya2, three.ID))
	same(t, "the other account", must[class.Person](t)(s.FindPerson(ctx, maya)).ID, w.two.ID)
	same(t, "who has a part left keeps all", must[class.Loom](t)(s.Loom(ctx, maya)), w.loom)
	same(t, "and the account alone went", must[class.Loom](t)(s.Loom(ctx, maya2)), class.Loom{})
}
