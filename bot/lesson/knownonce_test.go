package lesson_test

import (
	"context"
	"fmt"
	"maps"
	"testing"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
)

// looking counts what a store is asked about who asks.
type looking struct {
	class.Store
	looked map[string]int
}

func (l looking) FindPerson(ctx context.Context, a bot.Account) (class.Person, error) {
	l.looked["person"]++
	return l.Store.FindPerson(ctx, a)
}

func (l looking) Weaver(ctx context.Context, a bot.Account) (class.Person, class.Loom, error) {
	l.looked["person"]++
	l.looked["loom"]++
	return l.Store.Weaver(ctx, a)
}

func (l looking) ClassIn(ctx context.Context, p bot.Place) (class.Class, error) {
	l.looked["class"]++
	return l.Store.ClassIn(ctx, p)
}

func (l looking) Loom(ctx context.Context, a bot.Account) (class.Loom, error) {
	l.looked["loom"]++
	return l.Store.Loom(ctx, a)
}

// TestWhoAsksIsLookedUpOnce: what was found out of who asks, before her command
// ran, is not asked of the store again by a command that only reads. One that
// changes anything looks again, within its transaction, which says that the test
// can fail.
func TestWhoAsksIsLookedUpOnce(t *testing.T) {
	s := newStage(t)
	for _, line := range []string{
		"@power maren", `maren@room> class open name:"Lace of Tarnholm" zone:Berlin`, "@member yori",
		`maren@dm> session add "2026-12-01 19:00"`, "yori@dm> loom width:15in heddle:10 ends:150 from:right rightmost:hole",
		"yori@dm> motif text:I name:leaf", "yori@dm> start raised:3",
	} {
		if said := s.do(line); s.reply.Problem != nil {
			t.Fatalf("%s: %s", line, said)
		}
	}
	store := looking{s.db, map[string]int{}}
	s.desk.Store = store
	s.dispatcher = bot.NewDispatcher(lesson.Commands(s.desk), class.Roll{Store: store}, lesson.English(), nil)
	s.dispatcher.Keep(s.db)
	ask := func(line string) map[string]int {
		clear(store.looked)
		s.asked++
		s.dispatcher.Handle(t.Context(), bot.Request{
			ID: fmt.Sprint("once-", s.asked), From: bot.Account{Chat: home, User: "yori"}, In: bot.Place{Chat: home, Room: "room"},
			Name: "yori", Line: line, At: s.now.Now(),
		})
		return maps.Clone(store.looked)
	}
	asked := append(unchanging("", s.dispatcher.Commands()),
		"sett wpi:20 weave:lace", "warp wide:8in long:60in", "yardage ends:152 warp:3m", "fit groups:5", "row raised:4", "where")
	for _, line := range asked {
		for what, n := range ask(line) {
			if n > 1 {
				t.Errorf("%s: the %s of who asks is looked up %d times", line, what, n)
			}
		}
	}
	for _, line := range []string{"row", "row design:leaf", "pace", "tonight"} {
		if n := ask(line)["person"]; n != 1 {
			t.Errorf("%s: the person is looked up %d times", line, n)
		}
	}
	if n := ask("coming")["person"]; n < 2 {
		t.Errorf("coming, which changes something, looks %d times", n)
	}
}
