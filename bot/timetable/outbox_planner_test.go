package timetable_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"weftroom/adapters/loopback"
	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
)

// course is a class at a bench, with a planner. Its clock begins at midnight
// UTC of Saturday, 1 January 2000, as synctest's does.
type course struct {
	*bench
	planner *timetable.Planner
	class   class.Class
	teacher class.Person
}

var room = bot.Place{Chat: "loopback", Room: "a"}

// atCourse runs a test in a class that meets in room "a". What is sent is
// "reminder at its UTC time" to whom.
func atCourse(t *testing.T, test func(t *testing.T, c *course)) {
	atBench(t, func(t *testing.T, b *bench) {
		c := &course{bench: b}
		b.o.MaxSleep = day // or months would take minutes
		c.planner = timetable.NewPlanner(b.db, b.box, timetable.PlanOptions{Log: quiet, Now: b.o.Now})
		c.teacher = c.person("ada", "Europe/Berlin")
		var err error
		c.class, err = b.db.OpenClass(t.Context(), class.Class{
			Name: "Lace", Zone: "Europe/Berlin", Direct: true, Opened: b.o.Now(),
		}, room, c.teacher.ID)
		c.ok(err)
		b.render = func(ctx context.Context, p timetable.Post) (bot.Reply, timetable.Verdict, error) {
			truth, v, err := timetable.ReadTruth(ctx, b.db, p)
			what := truth.Details.Reminder + truth.Schedule.Text
			if what == "" {
				what = string(p.Kind)
			}
			return bot.Reply{Title: what + "@" + b.o.Now().UTC().Format("02T15:04")}, v, err
		}
		test(t, c)
	})
}

func (c *course) ok(err error) {
	c.t.Helper()
	if err != nil {
		c.t.Fatal(err)
	}
}

// person is someone of the chat with a zone.
func (c *course) person(user, zone string) class.Person {
	c.t.Helper()
	c.chat.Join(user)
	p, err := c.db.PersonOf(c.t.Context(), bot.Account{Chat: "loopback", User: user}, user)
	c.ok(err)
	p.Zone = zone
	c.ok(c.db.PutPerson(c.t.Context(), p))
	return p
}

// student joins the class, as the command does.
func (c *course) student(user, zone string) class.Person {
	c.t.Helper()
	p := c.person(user, zone)
	c.ok(c.db.Tx(c.t.Context(), func(ctx context.Context) error {
		m := class.Member{Person: p.ID, Class: c.class.ID, Role: bot.Student, Joined: c.o.Now()}
		return errors.Join(c.db.PutMember(ctx, m), c.planner.Member(ctx, c.class.ID, p.ID))
	}))
	return p
}

// session is added at a time after now, as the command does.
func (c *course) session(in time.Duration) class.Session {
	c.t.Helper()
	s := class.Session{Class: c.class.ID, Start: c.o.Now().Add(in), Zone: c.class.Zone, Minutes: 90, Changed: c.o.Now()}
	c.ok(c.db.Tx(c.t.Context(), func(ctx context.Context) (err error) {
		if s, err = c.db.AddSession(ctx, s); err != nil {
			return err
		}
		_, err = c.box.Add(ctx, c.o.Now(), timetable.Announcements(timetable.KindAdded, s, time.Time{}, c.o.Now(), room)...)
		return errors.Join(err, c.planner.Session(ctx, s))
	}))
	return s
}

// change changes a session and says so, as the commands do.
func (c *course) change(s class.Session, kind timetable.Kind, how func(*class.Session)) class.Session {
	c.t.Helper()
	was := s.Start
	how(&s)
	s.Sequence++
	s.Changed = c.o.Now()
	c.ok(c.db.Tx(c.t.Context(), func(ctx context.Context) error {
		var posts []timetable.Post
		if kind != "" {
			posts = timetable.Announcements(kind, s, was, c.o.Now(), room)
		}
		_, err := c.box.Add(ctx, c.o.Now(), posts...)
		return errors.Join(c.db.PutSession(ctx, s), err, c.planner.Session(ctx, s))
	}))
	return s
}

// begin runs sender and planner until the function that it returns is called.
func (c *course) begin() (end func()) {
	c.t.Helper()
	stop := c.run()
	ctx, cancel := context.WithCancel(c.t.Context())
	done := make(chan error, 1)
	go func() { done <- c.planner.Run(ctx) }()
	return func() {
		cancel()
		if err := <-done; err != nil {
			c.t.Error(err)
		}
		stop()
	}
}

func (c *course) wantSent(user, want string) {
	c.t.Helper()
	at := "direct:" + user
	if user == "" {
		at = room.Room
	}
	if got := c.shown(at); got != want {
		c.t.Errorf("%s got  %q\nwant %q", at, got, want)
	}
}

func (c *course) waiting() int {
	c.t.Helper()
	n, err := c.box.Waiting(c.t.Context())
	c.ok(err)
	return n
}

func (c *course) wantSkipped(want ...timetable.Skip) {
	c.t.Helper()
	got, err := c.box.Skipped(c.t.Context(), time.Time{})
	c.ok(err)
	if !slices.Equal(got, want) {
		c.t.Errorf("skipped %v, want %v", got, want)
	}
}

const day = 24 * time.Hour

func TestEveryoneIsRemindedInTime(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.student("bea", "America/New_York")
		c.session(9*day + 18*time.Hour)
		defer c.begin()()
		if n := c.waiting(); n > 1 {
			t.Errorf("%d posts are planned nine days ahead", n)
		}
		c.sleep(12 * day)
		c.wantSent("", "added@01T00:00")
		want := "1w@03T18:00 1d@09T18:00 1h@10T17:00 start@10T18:00 after@10T19:30"
		c.wantSent("ada", want)
		c.wantSent("bea", want)
	})
}

// TestAcrossAClockChange has the day before at the same wall time: Berlin went
// from +1 to +2 on 26 March 2000.
func TestAcrossAClockChange(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.student("bea", "America/New_York") // whose clocks changed a week later
		c.sleep(80 * day)
		start := time.Date(2000, 3, 26, 17, 0, 0, 0, time.UTC) // 19:00 in Berlin
		c.class.Reminders = "1d"
		c.ok(c.db.PutClass(t.Context(), c.class))
		c.session(start.Sub(c.o.Now()))
		defer c.begin()()
		c.sleep(7 * day)
		c.wantSent("ada", "1d@25T18:00") // 19:00 in Berlin
		c.wantSent("bea", "1d@25T17:00")
	})
}

func TestPlanningAgainAddsNothing(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.student("bea", "Asia/Tokyo")
		c.sleep(2 * day)
		s := c.session(20 * time.Hour)
		n := c.waiting()
		for range 3 {
			c.ok(c.planner.All(t.Context()))
			c.ok(c.planner.Class(t.Context(), c.class.ID))
			c.ok(c.planner.Session(t.Context(), s))
		}
		if again := c.waiting(); again != n || n != 1+2*3 { // 1h, start, after for two; the day before is past
			t.Errorf("%d posts, then %d", n, again)
		}
	})
}

func TestNothingIsSentForASessionThatWasMoved(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		s := c.session(30 * time.Hour)
		defer c.begin()()
		c.sleep(10 * time.Hour) // the day before is through
		c.change(s, timetable.KindMoved, func(s *class.Session) { s.Start = s.Start.Add(2 * day) })
		c.sleep(5 * day)
		c.wantSent("", "added@01T00:00 moved@01T10:00")
		c.wantSent("ada", "1d@01T06:00 1d@03T06:00 1h@04T05:00 start@04T06:00 after@04T07:30")
		c.wantSkipped(timetable.Skip{Kind: timetable.KindReminder, Reason: string(timetable.SessionMoved), Posts: 3})
	})
}

func TestMovedAndMovedBack(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		s := c.session(30 * time.Hour)
		defer c.begin()()
		c.sleep(8 * time.Hour)
		start := s.Start
		s = c.change(s, timetable.KindMoved, func(s *class.Session) { s.Start = start.Add(2 * day) })
		c.sleep(time.Hour)
		c.change(s, timetable.KindMoved, func(s *class.Session) { s.Start = start })
		c.sleep(5 * day)
		c.wantSent("ada", "1d@01T06:00 1h@02T05:00 start@02T06:00 after@02T07:30")
	})
}

func TestNothingIsSentForASessionThatWasCancelled(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		s := c.session(20 * time.Hour)
		defer c.begin()()
		c.sleep(time.Hour)
		c.change(s, timetable.KindCancelled, func(s *class.Session) { s.Cancelled = true })
		c.sleep(3 * day)
		c.wantSent("", "added@01T00:00 cancelled@01T01:00")
		c.wantSent("ada", "")
		c.wantSkipped(timetable.Skip{Kind: timetable.KindReminder, Reason: string(timetable.SessionCancelled), Posts: 3})
	})
}

// TestAnAnnouncementThatIsOvertaken waits while the chat is out of reach.
func TestAnAnnouncementThatIsOvertaken(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		s := c.session(5 * day)
		s = c.change(s, timetable.KindMoved, func(s *class.Session) { s.Start = s.Start.Add(time.Hour) })
		c.change(s, timetable.KindMoved, func(s *class.Session) { s.Start = s.Start.Add(time.Hour) })
		defer c.begin()()
		synctest.Wait()
		c.wantSent("", "moved@01T00:00")
	})
}

func TestANewTopicNeitherRepeatsNorLoses(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		s := c.session(30 * time.Hour)
		end := c.begin()
		c.sleep(5 * time.Hour)
		end() // the day before falls due while nobody sends
		c.sleep(2 * time.Hour)
		c.change(s, "", func(s *class.Session) { s.Topic = "Leno" })
		defer c.begin()()
		c.sleep(3 * day)
		c.wantSent("ada", "1d@01T07:00 1h@02T05:00 start@02T06:00 after@02T07:30")
	})
}

func TestWhoJoinsLateIsNotRemindedOfThePast(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.session(30 * time.Hour)
		defer c.begin()()
		c.sleep(7 * time.Hour)
		c.student("bea", "Europe/Berlin")
		c.sleep(3 * day)
		c.wantSent("bea", "1h@02T05:00 start@02T06:00 after@02T07:30")
	})
}

func TestWhoLeavesOrIsForgotten(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		bea, cora := c.student("bea", ""), c.student("cora", "")
		c.session(20 * time.Hour)
		defer c.begin()()
		c.sleep(time.Hour)
		c.ok(c.db.RemoveMember(t.Context(), c.class.ID, bea.ID))
		c.ok(c.db.DeletePerson(t.Context(), cora.ID))
		c.sleep(2 * day)
		c.wantSent("bea", "")
		c.wantSent("cora", "")
		c.wantSent("ada", "1h@01T19:00 start@01T20:00 after@01T21:30")
		c.wantSkipped(timetable.Skip{Kind: timetable.KindReminder, Reason: string(timetable.PersonGone), Posts: 3})
	})
}

func TestSettingsThatChange(t *testing.T) {
	for _, x := range []struct {
		name   string
		change func(c *course, ctx context.Context) error
		want   string
	}{
		{"a reminder is dropped", func(c *course, ctx context.Context) error {
			c.class.Reminders = "start"
			return c.db.PutClass(ctx, c.class)
		}, "start@01T20:00"},
		{"quiet hours that move two reminders to one instant", func(c *course, ctx context.Context) error {
			c.teacher.Quiet = class.Quiet{From: 19 * 60, To: 23 * 60} // 18:00 to 22:00 UTC
			return c.db.PutPerson(ctx, c.teacher)
		}, "start@01T17:59 after@01T22:00"},
		{"members can no longer be written to", func(c *course, ctx context.Context) error {
			c.class.Direct, c.class.Minors = false, true
			return c.db.PutClass(ctx, c.class)
		}, ""},
		{"the class is closed", func(c *course, ctx context.Context) error {
			c.class.Closed = c.o.Now()
			return c.db.PutClass(ctx, c.class)
		}, ""},
	} {
		t.Run(x.name, func(t *testing.T) {
			atCourse(t, func(t *testing.T, c *course) {
				c.session(20 * time.Hour)
				defer c.begin()()
				c.sleep(time.Hour)
				c.ok(c.db.Tx(t.Context(), func(ctx context.Context) error {
					return errors.Join(x.change(c, ctx), c.planner.Class(ctx, c.class.ID))
				}))
				c.sleep(2 * day)
				c.wantSent("ada", x.want)
				if c.class.Minors {
					c.wantSent("", "added@01T00:00 1h@01T19:00 start@01T20:00 after@01T21:30")
				}
			})
		})
	}
}

// TestAnotherZone changes what falls in her quiet hours, and so moves posts that
// are planned already.
func TestAnotherZone(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.teacher.Quiet = class.Quiet{From: 19 * 60, To: 23 * 60} // in Berlin 18:00 to 22:00 UTC
		c.ok(c.db.PutPerson(t.Context(), c.teacher))
		c.session(20 * time.Hour)
		defer c.begin()()
		c.sleep(time.Hour)
		c.teacher.Zone = "America/New_York" // from 0:00 UTC
		c.ok(c.db.Tx(t.Context(), func(ctx context.Context) error {
			return errors.Join(c.db.PutPerson(ctx, c.teacher), c.planner.Class(ctx, c.class.ID))
		}))
		c.sleep(2 * day)
		c.wantSent("ada", "1h@01T19:00 start@01T20:00 after@01T21:30")
	})
}

// TestAnAccountThatIsNoLongerHers: what was planned for a person goes to none but
// her, also when an account of hers has become another's meanwhile.
func TestAnAccountThatIsNoLongerHers(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		ctx := t.Context()
		bea, cleo := c.student("bea", "Europe/Berlin"), c.person("cleo", "Europe/Berlin")
		c.ok(c.db.MoveAccount(ctx, bot.Account{Chat: "loopback", User: "cleo"}, bea.ID))
		c.session(day + 20*time.Minute)
		defer c.begin()()
		time.Sleep(10 * time.Minute) // all is planned to the older of her accounts
		c.ok(c.db.MoveAccount(ctx, bot.Account{Chat: "loopback", User: "bea"}, cleo.ID))
		time.Sleep(20 * time.Minute)
		c.wantSent("bea", "")
		c.wantSent("cleo", "")
		c.ok(c.planner.Member(ctx, c.class.ID, bea.ID))
		time.Sleep(2 * day)
		c.wantSent("bea", "")
		c.wantSent("cleo", "1h@01T23:20 start@02T00:20 after@02T01:50")
	})
}

func TestARoomThatTheClassLeft(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.class.Direct, c.class.Minors = false, true
		c.ok(c.db.PutClass(t.Context(), c.class))
		c.session(20 * time.Hour)
		c.ok(c.db.AddPlace(t.Context(), c.class.ID, bot.Place{Chat: "loopback", Room: "b"}))
		c.ok(c.db.RemovePlace(t.Context(), room))
		c.ok(c.planner.Class(t.Context(), c.class.ID))
		defer c.begin()()
		c.sleep(2 * day)
		c.wantShown("", "1h@01T19:00 start@01T20:00 after@01T21:30")
		c.wantShown("b", "1h@01T19:00 start@01T20:00 after@01T21:30")
	})
}

// TestRemindersThatWereMissed has the process down for longer than the horizon.
func TestRemindersThatWereMissed(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.session(9 * day)
		c.begin()()
		c.sleep(9*day + 10*time.Minute)
		defer c.begin()()
		c.sleep(day)
		c.wantSent("ada", "start@10T00:10 after@10T01:30")
		c.wantSkipped(
			timetable.Skip{Kind: timetable.KindReminder, Reason: timetable.Stale, Posts: 3}, // a week, a day, an hour
		)
	})
}

func TestRestoredSince(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.session(9 * day)
		c.sleep(9*day + 10*time.Minute)
		c.planner = timetable.NewPlanner(c.db, c.box, timetable.PlanOptions{Log: quiet, Now: c.o.Now, NotBefore: c.o.Now()})
		defer c.begin()()
		c.sleep(day)
		c.wantSent("ada", "after@10T01:30")
	})
}

func TestRefusedNote(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		for i := range 4 {
			c.student(fmt.Sprint("student", i), "")
		}
		c.refuse()
		c.session(20 * time.Hour)
		defer c.begin()()
		c.sleep(2 * day)
		c.wantSent("", "added@01T00:00 note@01T19:00")
		if dead, err := c.box.DeadOf(t.Context(), c.class.ID); err != nil || len(dead) != 5*3 {
			t.Errorf("%d dead, %v", len(dead), err)
		}
	})
}

func TestAPlanOfATransactionThatFails(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		no := errors.New("no")
		err := c.db.Tx(t.Context(), func(ctx context.Context) error {
			s, err := c.db.AddSession(ctx, class.Session{Class: c.class.ID, Start: c.o.Now().Add(20 * time.Hour), Minutes: 60, Changed: c.o.Now()})
			return errors.Join(err, c.planner.Session(ctx, s), no)
		})
		if !errors.Is(err, no) || c.waiting() != 0 {
			t.Errorf("%v, and %d posts", err, c.waiting())
		}
	})
}

// refuse has nobody take direct messages, and the room told.
func (c *course) refuse() {
	c.chat.Script(func(to bot.Place, _ string, _ int) loopback.Fault {
		if strings.HasPrefix(to.Room, "direct:") {
			return loopback.Refused()
		}
		return loopback.Fault{}
	})
	c.o.Refused = func(ctx context.Context, p timetable.Post) ([]timetable.Post, error) {
		return timetable.RefusedNote(ctx, c.db, p, c.o.Now())
	}
}
