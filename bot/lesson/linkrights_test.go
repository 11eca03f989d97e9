package lesson_test

import (
	"fmt"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// TestRightsDoNotFollowLinks links every role with every other, from either
// side: no account may do more than before, none may do less, another teacher's
// yes ends that, and undone each is what she was.
func TestRightsDoNotFollowLinks(t *testing.T) {
	s := newStage(t)
	s.play("@power tea", `tea@room> class open "Tarnholm lace" zone:Berlin`)
	k, err := s.db.ClassIn(t.Context(), room)
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for one := bot.Anyone; one <= bot.Teacher; one++ {
		for two := bot.Anyone; two <= bot.Teacher; two++ {
			for _, from := range []string{home, "other"} {
				tried++
				user := "user" + string(rune('a'+tried%26)) + string(rune('a'+tried/26))
				what := fmt.Sprintf("%d with %d, code made in %s", one, two, from)
				accounts := []bot.Account{{Chat: home, User: user}, {Chat: "other", User: user}}
				before := []bot.Role{one, two}
				for i, a := range accounts {
					s.inRole(a, k.ID, before[i])
				}
				s.link(user, from)
				if one > bot.Anyone || two > bot.Anyone {
					for i, a := range accounts {
						if got, want := s.role(a), max(before[i], bot.Student); got != want {
							t.Errorf("%s: linked, the account in %s is %d, want %d", what, a.Chat, got, want)
						}
					}
				}
				s.play(user + "@dm> link undo")
				if n := s.query(`SELECT COUNT(*) FROM account_limits`)[0][0]; n != "0" {
					t.Errorf("%s: undone, %s limits are left", what, n)
				}
				for i, a := range accounts {
					if got := s.role(a); got != before[i] {
						t.Errorf("%s: undone, the account in %s is %d, was %d", what, a.Chat, got, before[i])
					}
				}
				if one == bot.Anyone && two == bot.Anyone {
					continue
				}
				s.now.set(s.now.Now().Add(time.Hour))
				s.link(user, from)
				s.play("tea@room> class teachers add:" + user)
				for _, a := range accounts {
					if got := s.role(a); got != bot.Teacher {
						t.Errorf("%s: after a teacher's yes the account in %s is %d", what, a.Chat, got)
					}
				}
			}
		}
	}
	if tried != 32 {
		t.Errorf("%d tried", tried)
	}
}

// TestAnEarlierLimitStays: to undo one link takes nothing back of another.
func TestAnEarlierLimitStays(t *testing.T) {
	s := newStage(t)
	s.play("@power maren", `maren@room> class open "Tarnholm lace" zone:Berlin`)
	s.link("maren", home)
	third := bot.Account{Chat: "third", User: "maren"}
	s.play("maren@third/dm> link")
	s.let("linking", "([A-Z0-9]{4}-[A-Z0-9]{4})")
	s.now.set(s.now.Now().Add(time.Minute))
	s.play("maren@dm> link $linking", "maren@dm> link yes", "maren@third/dm> link", "maren@third/dm> link yes")
	want := map[bot.Account]bot.Role{{Chat: home, User: "maren"}: bot.Teacher, {Chat: "other", User: "maren"}: bot.Student, third: bot.Student}
	for a, role := range want {
		if got := s.role(a); got != role {
			t.Errorf("linked twice, the account in %s is %d, want %d", a.Chat, got, role)
		}
	}
	s.play("maren@third/dm> link undo")
	want[third] = bot.Anyone
	for a, role := range want {
		if got := s.role(a); got != role {
			t.Errorf("one link undone, the account in %s is %d, want %d", a.Chat, got, role)
		}
	}
}

var room = bot.Place{Chat: home, Room: "room"}

// play does lines that must not be refused.
func (s *stage) play(lines ...string) {
	s.t.Helper()
	for _, line := range lines {
		s.do(s.filled(line))
		if p := s.reply.Problem; p != nil {
			s.t.Fatalf("%s: %s", line, p.Sentence())
		}
		s.guard(line)
	}
}

// link makes a user's accounts in two chats one person; the code is made in from.
func (s *stage) link(user, from string) {
	s.t.Helper()
	here, there := user+"@dm> ", user+"@other/dm> "
	if from == "other" {
		here, there = there, here
	}
	s.play(here + "link")
	s.let("linking", "([A-Z0-9]{4}-[A-Z0-9]{4})")
	s.play(there+"link $linking", there+"link yes", here+"link", here+"link yes")
	delete(s.vars, "linking")
}

func (s *stage) inRole(a bot.Account, in class.ID, role bot.Role) {
	s.t.Helper()
	p, err := s.db.PersonOf(s.t.Context(), a, a.User)
	if err != nil {
		s.t.Fatal(err)
	}
	if role == bot.Anyone {
		return
	}
	if err := s.db.PutMember(s.t.Context(), class.Member{Class: in, Person: p.ID, Role: role, Joined: s.now.Now()}); err != nil {
		s.t.Fatal(err)
	}
}

// role is what the dispatcher lets an account do in the room.
func (s *stage) role(a bot.Account) bot.Role {
	s.t.Helper()
	asker, err := class.Roll{Store: s.db}.Asker(s.t.Context(), bot.Request{From: a, In: room})
	if err != nil {
		s.t.Fatal(err)
	}
	return asker.Role
}

// TestGuessesAreBounded: whoever tries codes without end has five tries in ten
// minutes, whatever the clock shows in between.
func TestGuessesAreBounded(t *testing.T) {
	s := newStage(t)
	s.play("maren@dm> link")
	tries, minutes := 0, 60
	for i := range minutes * 6 {
		s.now.set(s.now.Now().Add(10 * time.Second))
		s.do(fmt.Sprintf("mallory@other/dm> link AAAA-%s", string([]byte{'A' + byte(i%8), 'B', 'C', 'D'})))
		if p := s.reply.Problem; p == nil || p.Code != bot.Busy && p.Code != "bad_value" {
			t.Fatalf("try %d is answered %+v", i, s.reply)
		} else if p.Code != bot.Busy {
			tries++
		}
	}
	if most := 5 * minutes / 10; tries > most || tries < most-5 {
		t.Errorf("%d tries in %d minutes, want about %d", tries, minutes, most)
	}
	if n, err := s.db.Prune(t.Context()); err != nil || n != 0 {
		t.Errorf("%d rows pruned too early, %v", n, err)
	}
	s.now.set(s.now.Now().Add(25 * time.Hour))
	if n, err := s.db.Prune(t.Context()); err != nil || n != tries+1 { // and the offer
		t.Errorf("%d rows pruned, want %d, %v", n, tries+1, err)
	}
}
