package discord

import (
	"context"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
	"weftroom/calc"
)

func TestACommandArrivesWithItsArguments(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { return title("done") })
	m := s.slash(s.ann, s.room, "row", discordtest.Values{"ends": 97, "way": "two"})
	if !m.Ephemeral {
		t.Error("a personal answer in a channel is seen by everyone")
	}
	got := s.last()
	if got.Command != "row" || got.Line != "" || !got.Apart || got.Direct || got.Power || got.Name != "Ann" || got.At.IsZero() {
		t.Errorf("the request is %+v", got)
	}
	if diff := cmp.Diff(map[string]string{"ends": "97", "way": "two"}, got.Values); diff != "" {
		t.Error(diff)
	}
	if m := s.slash(s.ann, s.ann.DM(), "row", nil); m.Ephemeral || !s.last().Direct || s.last().Apart {
		t.Errorf("in a direct message: ephemeral is %v, the request %+v", m.Ephemeral, s.last())
	}
}

func TestPowerIsThatOfWhoManagesTheServer(t *testing.T) {
	for _, c := range []struct {
		name  string
		perms int64
		open  string
		want  bool
	}{
		{"a member", 0, "yes", false},
		{"who manages the server", discordtest.ManageGuild, "yes", true},
		{"who manages events", discordtest.ManageEvents, "yes", true},
		{"an administrator", discordtest.Administrator, "yes", true},
		{"where nobody may open a class so", discordtest.ManageGuild, "no", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			it := &interaction{ID: "175928847299117063", GuildID: "2", Member: &member{User: &user{ID: "3"}, Permissions: fmt.Sprint(c.perms)}}
			chat := &Chat{open: c.open == "yes"}
			if got := chat.request(it).Power; got != c.want {
				t.Errorf("power is %v", got)
			}
		})
	}
}

func TestTeachersCommandsAreNotShownToStudents(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { return title("done") })
	if _, err := s.ann.Slash(s.room, "session add", discordtest.Values{"when": "tomorrow"}); err == nil {
		t.Error("a student can run a teacher's command")
	}
	tea := s.srv.User("Tea")
	s.guild.Join(tea, discordtest.ManageEvents)
	s.slash(tea, s.room, "session add", discordtest.Values{"when": "tomorrow", "minutes": 90})
	if got := s.last(); got.Command != "session add" || got.Values["minutes"] != "90" || !got.Power {
		t.Errorf("the request is %+v", got)
	}
	s.guild.Allow("session", s.ann, true) // the server lets her; the core will not
	s.slash(s.ann, s.room, "session list", nil)
	if got := s.last(); got.Command != "session list" || got.Power {
		t.Errorf("the request is %+v", got)
	}
}

func TestAnInteractionThatArrivesTwiceIsOne(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { return title("done") })
	i := s.begun(s.ann.Slash(s.room, "row", nil))
	s.answer(i)
	i.Again()
	s.slash(s.ann, s.room, "row", nil)
	if n := len(s.requests()); n != 2 {
		t.Errorf("%d requests, of two interactions", n)
	}
}

// TestASlowAnswerIsAnnounced holds the handler until Discord has been told.
func TestASlowAnswerIsAnnounced(t *testing.T) {
	for _, c := range []struct {
		name  string
		reply bot.Reply
		alone bool
	}{
		{"for her alone", title("at last"), true},
		{"for everyone, which was not known", bot.Reply{Title: "at last", Audience: bot.Room}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			told := make(chan bool)
			s := newScene(t, Options{Pace: Pace{Defer: time.Nanosecond}}, func(context.Context, bot.Request) bot.Reply {
				<-told
				return c.reply
			})
			view := s.bea.View(s.room)
			i := s.begun(s.ann.Slash(s.room, "row", nil))
			if kind, err := i.Type(s.ctx); err != nil || kind != discordtest.AnswerDeferred {
				t.Errorf("the first answer is of type %d, %v", kind, err)
			}
			close(told)
			if !c.alone {
				if m, err := view.Next(s.ctx); err != nil || !strings.Contains(m.Content, "at last") {
					t.Errorf("Bea sees %+v, %v", m, err)
				}
				return
			}
			if m := s.answer(i); m.Content != "at last" || !m.Ephemeral {
				t.Errorf("the answer is %+v", m)
			}
			if n := len(s.bea.Messages(s.room)); n != 0 {
				t.Errorf("Bea sees %d messages", n)
			}
		})
	}
}

func TestAProblemIsForHerAlone(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply {
		return bot.Reply{Audience: bot.Room, Problem: &bot.Problem{Code: calc.BadValue, Message: "raised: 1 is *too* few", Hint: "raised:3"}}
	})
	m := s.slash(s.ann, s.room, "row", nil)
	if want := `raised: 1 is \*too\* few, for example ` + "`raised:3`."; m.Content != want || !m.Ephemeral {
		t.Errorf("%q, ephemeral %v; want %q", m.Content, m.Ephemeral, want)
	}
}

func TestAFloodIsAnsweredKindly(t *testing.T) {
	hold, begun := make(chan bool), make(chan bool, perPerson)
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply {
		begun <- true
		<-hold
		return title("done")
	})
	all := []*discordtest.Interaction{s.begun(s.ann.Slash(s.room, "row", nil))}
	<-begun // one that has not begun yet counts twice
	for len(all) < perPerson+3 {
		all = append(all, s.begun(s.ann.Slash(s.room, "row", nil)))
	}
	for _, i := range all[perPerson:] {
		if m := s.answer(i); !strings.Contains(m.Content, "too much at once") {
			t.Errorf("over the bound: %q", m.Content)
		}
	}
	close(hold)
	for _, i := range all[:perPerson] {
		if m := s.answer(i); m.Content != "done" {
			t.Errorf("within the bound: %q", m.Content)
		}
	}
}

// TestAnAnswerGoesToHerAlone: by direct message, with a word where she asked,
// and where she asked when she takes none.
func TestAnAnswerGoesToHerAlone(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { return bot.Reply{Title: "for you", Audience: bot.Direct} })
	view := s.ann.View(s.ann.DM())
	if m := s.slash(s.ann, s.room, "row", nil); m.Content != "I have written to you alone" || !m.Ephemeral {
		t.Errorf("in the room: %+v", m)
	}
	if m, err := view.Next(s.ctx); err != nil || m.Content != "for you" {
		t.Errorf("alone: %+v, %v", m, err)
	}
	s.bea.RefuseDirect(true)
	if m := s.slash(s.bea, s.room, "row", nil); !strings.Contains(m.Content, "take no direct messages") || !strings.Contains(m.Content, "for you") || !m.Ephemeral {
		t.Errorf("to Bea: %+v", m)
	}
}

// TestAnAnnouncementOfWhichNobodyKnows: it arrived, its confirmation did not.
// The answer takes its place all the same.
func TestAnAnnouncementOfWhichNobodyKnows(t *testing.T) {
	for _, c := range []struct {
		name    string
		arrives bool
		reply   bot.Reply
	}{
		{"it arrived", true, title("at last")},
		{"it arrived, and the answer is for everyone", true, bot.Reply{Title: "at last", Audience: bot.Room}},
		{"it did not", false, title("at last")},
	} {
		t.Run(c.name, func(t *testing.T) {
			told := make(chan bool)
			s := newScene(t, Options{Pace: Pace{Defer: time.Nanosecond}}, func(context.Context, bot.Request) bot.Reply {
				<-told
				return c.reply
			})
			const route = discordtest.RouteCallback
			s.srv.Fail(discordtest.Fault{Route: route, Times: DefaultPace.Tries, Cut: true, Apply: c.arrives})
			view := s.ann.View(s.room)
			s.begun(s.ann.Slash(s.room, "row", nil))
			if err := s.srv.AwaitFaults(s.ctx, route); err != nil {
				t.Fatal(err)
			}
			close(told)
			for {
				m, err := view.Next(s.ctx)
				if err != nil {
					t.Fatalf("she is never answered: %v", err)
				}
				if m.Content == "at last" && m.Ephemeral == (c.reply.Audience != bot.Room) {
					break
				}
			}
			s.end()
			if all := s.ann.Messages(s.room); len(all) != 1 {
				t.Errorf("she sees %d messages", len(all))
			}
		})
	}
}

// TestADirectAnswerThatCannotBeSent is owned up to where she asked.
func TestADirectAnswerThatCannotBeSent(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { return bot.Reply{Title: "for you", Audience: bot.Direct} })
	s.srv.Fail(discordtest.Fault{Route: messagesRoute, Times: -1, Status: 503})
	if m := s.slash(s.ann, s.room, "row", nil); !strings.Contains(m.Content, "reference ") || !m.Ephemeral {
		t.Errorf("she reads %q", m.Content)
	}
}

// TestWhatWaitsWhenTheChatEnds: whoever waits behind a question of her own is
// asked to ask again.
func TestWhatWaitsWhenTheChatEnds(t *testing.T) {
	for _, defers := range []time.Duration{time.Nanosecond, time.Hour} {
		t.Run(fmt.Sprint("announced after ", defers), func(t *testing.T) {
			begun, release := make(chan bool, 2), make(chan bool)
			s := newScene(t, Options{Pace: Pace{Defer: defers}}, func(context.Context, bot.Request) bot.Reply {
				begun <- true
				<-release
				return title("done")
			})
			first := s.begun(s.ann.Slash(s.room, "row", nil))
			<-begun
			second := s.begun(s.ann.Slash(s.room, "row", nil))
			s.waits()
			ended := make(chan bool)
			go func() {
				s.end()
				close(ended)
			}()
			if m := s.answer(second); m.Content != "That was too much at once" || !m.Ephemeral {
				t.Errorf("she reads %q", m.Content)
			}
			close(release)
			if m := s.answer(first); m.Content != "done" {
				t.Errorf("the one before: %q", m.Content)
			}
			<-ended
		})
	}
}

// waits waits until a request of Ann's waits behind another.
func (s *scene) waits() {
	s.Helper()
	in := s.chat.in
	for s.ctx.Err() == nil {
		in.mu.Lock()
		n := len(in.people[s.ann.ID])
		in.mu.Unlock()
		if n > 0 {
			return
		}
		runtime.Gosched()
	}
	s.Fatal("nothing waits")
}

func TestNothingToSayLeavesNothing(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { return bot.Reply{} })
	i := s.begun(s.ann.Slash(s.room, "row", nil))
	if _, err := i.Type(s.ctx); err != nil {
		t.Error("she sees that the application did not respond")
	}
	s.end()
	if all := s.ann.Messages(s.room); len(all) != 0 {
		t.Errorf("left: %+v", all)
	}
}

// TestInAServerWithoutTheBot: whoever has installed it for herself asks there,
// where an answer may have no more than five messages after its first, and no
// class can meet.
func TestInAServerWithoutTheBot(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply {
		return bot.Reply{Title: "Long", Body: []bot.Block{bot.Paragraph(strings.Repeat("many words ", 600))}}
	})
	far := s.srv.ForeignGuild("Elsewhere")
	room := far.Channel("looms")
	far.Join(s.ann, discordtest.ManageGuild)
	view := s.ann.View(room)
	s.begun(s.ann.Slash(room, "row", nil))
	for n := range mostMessages {
		m, err := view.Next(s.ctx)
		if err != nil || !m.Ephemeral || !strings.Contains(m.Content, fmt.Sprintf("part %d of %d", n+1, mostMessages)) {
			t.Fatalf("message %d: %.80q, ephemeral %v, %v", n, m.Content, m.Ephemeral, err)
		}
	}
	if _, err := s.chat.Post(s.ctx, bot.Place{Chat: ChatName, Room: room.ID}, "key", title("hello")); !permanent(err) {
		t.Errorf("a post there: %v", err)
	}
	if s.last().Power {
		t.Error("who manages that server may open a class to which nothing can be posted")
	}
}

func TestCompletion(t *testing.T) {
	srvHandler := func(context.Context, bot.Request) bot.Reply { return title("done") }
	s := newScene(t, Options{}, srvHandler)
	s.end()
	h := suggesting{answerer(srvHandler), make(chan string, 1)}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.chat.Run(ctx, h) }()
	defer func() {
		cancel()
		<-ended
	}()
	ready(t, s.srv, s.ann, s.room)
	i := s.begun(s.ann.Complete(s.room, "row", "yarn", "8/", discordtest.Values{"ends": 97}))
	got, err := i.Choices(s.ctx)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]discordtest.Choice{{Name: "8/2 cotton", Value: "8/2 cotton"}, {Name: "8/4 linen", Value: "8/4 linen"}}, got); diff != "" {
		t.Error(diff)
	}
	if asked := <-h.asked; asked != `row yarn "8/" 25 Ann` {
		t.Errorf("asked for %s", asked)
	}
}

// suggesting is a handler that completes arguments.
type suggesting struct {
	answerer
	asked chan string
}

// Suggest implements bot.Suggester.
func (s suggesting) Suggest(_ context.Context, r bot.Request, command, param, begun string, most int) []string {
	s.asked <- fmt.Sprintf("%s %s %q %d %s", command, param, begun, most, r.Name)
	return []string{"8/2 cotton", "8/4 linen", strings.Repeat("too long", 20), ""}
}

// TestAnAnswerThatDiscordRefuses is one that we made wrong: she gets a reference.
func TestAnAnswerThatDiscordRefuses(t *testing.T) {
	for _, c := range []struct {
		name, route string
		pace        Pace
	}{
		{"at once", discordtest.RouteCallback, Pace{Defer: time.Hour}},
		{"after a while", discordtest.RouteEditAnswer, Pace{Defer: time.Nanosecond}},
	} {
		t.Run(c.name, func(t *testing.T) {
			told := make(chan bool)
			s := newScene(t, Options{Pace: c.pace}, func(context.Context, bot.Request) bot.Reply {
				if c.pace.Defer == time.Nanosecond {
					<-told
				}
				return title("done")
			})
			s.srv.Fail(discordtest.Fault{Route: c.route, Status: 400, Body: `{"code":50035,"message":"Invalid Form Body"}`})
			i := s.begun(s.ann.Slash(s.room, "row", nil))
			if _, err := i.Type(s.ctx); err != nil {
				t.Fatal(err)
			}
			close(told)
			m := s.answer(i)
			_, ref, found := strings.Cut(m.Content, "reference ")
			if !found || !strings.Contains(s.log.String(), ref) {
				t.Errorf("she reads %q", m.Content)
			}
		})
	}
}

// TestAHandlerThatPanics is answered with a reference, and what it said is not
// logged.
func TestAHandlerThatPanics(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { panic("her secret") })
	if m := s.slash(s.ann, s.room, "row", nil); !strings.Contains(m.Content, "reference ") || !m.Ephemeral {
		t.Errorf("she reads %q", m.Content)
	}
	if strings.Contains(s.log.String(), "her secret") || !strings.Contains(s.log.String(), "panic") {
		t.Error("the log tells too much or too little")
	}
}

// TestWordsDoNotWaitForPictures holds the drawing until the words are there.
func TestWordsDoNotWaitForPictures(t *testing.T) {
	for _, c := range []struct {
		name   string
		direct bool
		fails  bool
	}{{"in a channel", false, false}, {"in a direct message", true, false}, {"and one that fails is told in words", false, true}} {
		t.Run(c.name, func(t *testing.T) {
			read := make(chan bool)
			s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply {
				return bot.Reply{Title: "The plan", Body: []bot.Block{bot.Picture{Name: "row", Alt: "three *eyelets*", Draw: func() ([]byte, error) {
					<-read
					if c.fails {
						return nil, fmt.Errorf("no ink")
					}
					return []byte("png"), nil
				}}}}
			})
			room := s.room
			if c.direct {
				room = s.ann.DM()
			}
			view := s.ann.View(room)
			if c.direct {
				s.ann.Write(room, "row")
			} else {
				s.begun(s.ann.Slash(room, "row", nil))
			}
			words, err := view.Next(s.ctx)
			if err != nil || words.Content != "### The plan" || len(words.Files) != 0 {
				t.Fatalf("the words: %q, %v", words.Content, err)
			}
			close(read)
			whole, err := view.Next(s.ctx)
			if err != nil || whole.ID != words.ID {
				t.Fatalf("the picture: %q, %v", whole.Content, err)
			}
			if c.fails && whole.Content != "### The plan\n\n"+`three \*eyelets\*` || !c.fails && (len(whole.Files) != 1 || whole.Files[0].Alt != "three *eyelets*" || whole.Content != words.Content) {
				t.Errorf("the whole: %q with %d files", whole.Content, len(whole.Files))
			}
		})
	}
}
