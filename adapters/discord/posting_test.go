package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/adapters/discord/discordtest"
	"weftroom/bot"
)

const messagesRoute = "POST /channels/{channel}/messages"

// board is a chat that is not running, for posts.
type board struct {
	*testing.T
	ctx   context.Context
	srv   *discordtest.Server
	guild *discordtest.Guild
	room  *discordtest.Channel
	place bot.Place
	notes *memory
	chat  *Chat

	mu  sync.Mutex
	now time.Time
}

func newBoard(t *testing.T) *board {
	b := &board{T: t, ctx: patience(t), now: time.Now().Truncate(time.Second), notes: newMemory()}
	b.srv = discordtest.New(t, discordtest.Options{Now: b.time})
	b.guild = b.srv.Guild("Far looms")
	b.room = b.guild.Channel("loom-room")
	b.place = bot.Place{Chat: ChatName, Room: b.room.ID}
	b.restart()
	return b
}

func (b *board) restart() { b.chat = newChat(b.T, b.srv, Options{Notes: b.notes, Now: b.time}) }

func (b *board) time() time.Time {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.now
}

func (b *board) pass(d time.Duration) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.now = b.now.Add(d)
}

func (b *board) post(key string, r bot.Reply) (string, error) {
	return b.chat.Post(b.ctx, b.place, key, r)
}

func TestPostsThatFail(t *testing.T) {
	for _, c := range []struct {
		name      string
		status    int
		code      int
		permanent bool
		refused   bool
	}{
		{"not allowed to write there", 403, 50013, true, false},
		{"not allowed to see it", 403, 50001, true, false},
		{"no such channel", 404, 10003, true, false},
		{"takes no direct messages", 403, 50007, true, true},
		{"a body that Discord does not take", 400, 50035, true, false},
		{"a token that is not valid now", 401, 0, false, false},
		{"Discord is down", 503, 0, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBoard(t)
			b.srv.Fail(discordtest.Fault{Route: messagesRoute, Times: -1, Status: c.status, Body: fmt.Sprintf(`{"code":%d,"message":"no"}`, c.code)})
			_, err := b.post("key", title("hello"))
			send := bot.AsSendError(err)
			if err == nil || send.Permanent != c.permanent || send.Refused != c.refused {
				t.Errorf("got %v", err)
			}
			b.srv.Heal()
			if _, err := b.post("key", title("hello")); err != nil || len(b.room.All()) != 1 {
				t.Errorf("afterwards: %v, %d messages", err, len(b.room.All()))
			}
		})
	}
}

func TestALongRateLimitIsHandedOn(t *testing.T) {
	b := newBoard(t)
	b.srv.Fail(discordtest.Limited(messagesRoute, 1, 10*time.Minute, false))
	for range 2 { // the second is not even sent
		_, err := b.post("key", title("hello"))
		if send := bot.AsSendError(err); send.RetryAfter < 9*time.Minute || send.Permanent {
			t.Errorf("got %v", err)
		}
	}
	gate := func(c *discordtest.Channel) int {
		return b.chat.rest.limits.of(call{method: http.MethodPost, path: "/channels/" + c.ID + "/messages"})
	}
	other := b.guild.Channel("other")
	for gate(other) == gate(b.room) { // by chance
		other = b.guild.Channel("other")
	}
	if _, err := b.chat.Post(b.ctx, bot.Place{Chat: ChatName, Room: other.ID}, "key-2", title("hello")); err != nil {
		t.Errorf("another channel: %v", err)
	}
}

// TestAPostWhoseAnswerIsLost is one message, by its nonce while Discord knows
// that, and later by a look at what is there.
func TestAPostWhoseAnswerIsLost(t *testing.T) {
	for _, c := range []struct {
		name    string
		passes  time.Duration
		restart bool
	}{
		{"tried again at once", 0, false},
		{"tried again after a restart", time.Second, true},
		{"tried again when the nonce is forgotten", time.Hour, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBoard(t)
			post := bot.Reply{Title: "We meet *now*", Body: []bot.Block{bot.Paragraph(" a  b ")}, Buttons: []bot.Button{{Label: "coming", Line: "coming session:3"}}}
			b.srv.Fail(discordtest.Fault{Route: messagesRoute, Times: DefaultPace.Tries, Apply: true, Cut: true})
			if _, err := b.post("key", post); err == nil {
				t.Fatal("nobody heard of it, and it went well")
			}
			b.pass(c.passes)
			if c.restart {
				b.restart()
			}
			if c.restart {
				if id, err := b.chat.Sent(b.ctx, b.place, "key"); err != nil || id != b.room.All()[0].ID {
					t.Errorf("Sent gives %q, %v", id, err)
				}
			}
			id, err := b.post("key", post)
			if all := b.room.All(); err != nil || len(all) != 1 || all[0].ID != id {
				t.Errorf("%d messages, %v", len(all), err)
			}
		})
	}
}

// TestAPostInABusyChannel is found though much has been written since.
func TestAPostInABusyChannel(t *testing.T) {
	b := newBoard(t)
	ann := b.srv.User("Ann")
	b.guild.Join(ann)
	b.srv.Fail(discordtest.Fault{Route: messagesRoute, Times: DefaultPace.Tries, Apply: true, Cut: true})
	if _, err := b.post("key", title("We meet")); err == nil {
		t.Fatal("nobody heard of it, and it went well")
	}
	b.pass(time.Hour)
	for n := range 150 {
		ann.Write(b.room, fmt.Sprint("word ", n))
	}
	b.restart()
	if id, err := b.post("key", title("We meet")); err != nil || len(b.room.All()) != 151 || id != b.room.All()[0].ID {
		t.Errorf("%d messages, %v", len(b.room.All()), err)
	}
}

func TestIDsOfTimes(t *testing.T) {
	at := time.Date(2026, 12, 1, 19, 0, 0, int(5*time.Millisecond), time.UTC)
	if id := idAt(at); !isID(id) || !madeAt(id).Equal(at) {
		t.Errorf("%s is of %v", id, madeAt(id))
	}
	if id := idAt(time.Time{}); id != "0" {
		t.Errorf("before all ids: %s", id)
	}
}

// TestAPostThatNeverArrived is not taken for another one of the same words.
func TestAPostThatNeverArrived(t *testing.T) {
	b := newBoard(t)
	if _, err := b.post("earlier", title("We meet")); err != nil {
		t.Fatal(err)
	}
	b.pass(time.Hour)
	b.srv.Fail(discordtest.Fault{Route: messagesRoute, Times: DefaultPace.Tries, Cut: true})
	if _, err := b.post("key", title("We meet")); err == nil {
		t.Fatal("it went well")
	}
	b.pass(time.Hour)
	b.restart()
	if id, err := b.chat.Sent(b.ctx, b.place, "key"); err != nil || id != "" {
		t.Errorf("Sent gives %q, %v", id, err)
	}
	if _, err := b.post("key", title("We meet")); err != nil || len(b.room.All()) != 2 {
		t.Errorf("%d messages, %v", len(b.room.All()), err)
	}
}

// TestAPostOfSeveralMessages goes on where it was cut off, and is edited as one.
func TestAPostOfSeveralMessages(t *testing.T) {
	b := newBoard(t)
	const key = "01234567890123456789" // ours have 20 letters
	long := func(words string, n int) bot.Reply {
		r := bot.Reply{Title: words}
		for range n {
			r.Body = append(r.Body, bot.Paragraph(strings.Repeat(words+" ", 150)))
		}
		return r
	}
	b.srv.Fail(discordtest.Fault{Route: messagesRoute, After: 1, Times: DefaultPace.Tries, Status: 500})
	if _, err := b.post(key, long("first", 5)); err == nil {
		t.Fatal("it went well")
	}
	if n := len(b.room.All()); n != 1 {
		t.Fatalf("%d messages of a post that was cut off", n)
	}
	if id, err := b.chat.Sent(b.ctx, b.place, key); err != nil || id != "" {
		t.Errorf("Sent gives %q for a part of it, %v", id, err)
	}
	b.pass(time.Hour)
	b.restart()
	id, err := b.post(key, long("first", 5))
	if err != nil || len(b.room.All()) != 3 || b.room.All()[0].ID != id {
		t.Fatalf("%d messages, %v", len(b.room.All()), err)
	}
	for _, c := range []struct{ paragraphs, want int }{{7, 4}, {2, 1}, {5, 3}} {
		for range 2 {
			if err := b.chat.Edit(b.ctx, b.place, id, long("again", c.paragraphs)); err != nil {
				t.Fatal(err)
			}
		}
		all := b.room.All()
		if len(all) != c.want {
			t.Errorf("edited to %d paragraphs it is %d messages, want %d", c.paragraphs, len(all), c.want)
		}
		for _, m := range all {
			if strings.Contains(m.Content, "first") {
				t.Errorf("left of the first: %.40q", m.Content)
			}
		}
	}
	if err := b.chat.Edit(b.ctx, b.place, "175928847299117063", title("x")); !permanent(err) {
		t.Errorf("an edit of nothing: %v", err)
	}
}

// TestAnEditSendsNoFileTwice: what a message has is named by its id, what is new
// is sent, and what nobody remembers as well.
func TestAnEditSendsNoFileTwice(t *testing.T) {
	b := newBoard(t)
	post := func(words, drawn string) bot.Reply {
		return bot.Reply{
			Title: words, Files: []bot.File{{Name: "class.ics", MediaType: "text/calendar", Alt: "the calendar", Bytes: []byte("BEGIN:VCALENDAR")}},
			Body: []bot.Block{bot.Picture{Name: "cloth", Alt: "cloth", Draw: func() ([]byte, error) { return []byte(drawn), nil }}},
		}
	}
	id, err := b.post("key", post("1 is coming", "png"))
	if err != nil {
		t.Fatal(err)
	}
	ids := func() (out []string) {
		for _, f := range b.room.All()[0].Files {
			out = append(out, f.ID)
		}
		return out
	}
	first := ids()
	edit := func(words, drawn string) {
		t.Helper()
		if err := b.chat.Edit(b.ctx, b.place, id, post(words, drawn)); err != nil {
			t.Fatal(err)
		}
		m := b.room.All()[0]
		if len(m.Files) != 2 || m.Files[0].Alt != "cloth" || string(m.Files[0].Bytes) != drawn || m.Files[1].Alt != "the calendar" || !strings.Contains(m.Content, words) {
			t.Errorf("after %s: %+v", words, m)
		}
	}
	for _, words := range []string{"2 are coming", "3 are coming"} {
		edit(words, "png")
		if !slices.Equal(ids(), first) {
			t.Errorf("%s: the files were sent again", words)
		}
	}
	edit("another picture", "another png")
	second := ids()
	if slices.Equal(second, first) {
		t.Error("another picture is the old one")
	}
	edit("the same again", "another png")
	if !slices.Equal(ids(), second) {
		t.Error("after another picture the files were sent again")
	}
	b.restart()
	edit("after a restart", "another png")
	b.chat.files.set(id, printOf([]upload{
		{name: "cloth.png", media: "image/png", alt: "cloth", bytes: []byte("another png")},
		{name: "class.ics", media: "text/calendar", alt: "the calendar", bytes: []byte("BEGIN:VCALENDAR")},
	})+" 175928847299117063 175928847299117064")
	edit("files that are gone", "another png")
	if id, err = b.post("key-2", post("posted", "old")); err != nil {
		t.Fatal(err)
	}
	b.notes.forget("post ")
	if _, err := b.post("key-2", post("posted", "newer")); err != nil { // the one that is there
		t.Fatal(err)
	}
	if err := b.chat.Edit(b.ctx, b.place, id, post("posted", "newer")); err != nil || string(b.room.All()[1].Files[0].Bytes) != "newer" {
		t.Errorf("%v, it shows %q", err, b.room.All()[1].Files[0].Bytes)
	}
	if n := len(b.srv.Refused()); n != 1 {
		t.Errorf("%d refusals, want that of the files that are gone", n)
	}
}

func permanent(err error) bool {
	send, ok := errors.AsType[*bot.SendError](err)
	return ok && send.Permanent
}

func TestNonces(t *testing.T) {
	for _, c := range []struct{ key, first, second string }{
		{"01234567890123456789", "01234567890123456789", "01234567890123456789-1"},
		{"0123456789012345678901234", "0123456789012345678901234", ""},
		{strings.Repeat("long", 20), "", ""},
		{"", "", ""},
	} {
		first, second := part(c.key, 0), part(c.key, 1)
		if c.first != "" && first != c.first || c.second != "" && second != c.second || size(first) > maxNonce || size(second) > maxNonce || first == second || first == "" {
			t.Errorf("%q has the nonces %q and %q", c.key, first, second)
		}
	}
}

func TestDirect(t *testing.T) {
	b := newBoard(t)
	ann, bea := b.srv.User("Ann"), b.srv.User("Bea")
	place, err := b.chat.Direct(b.ctx, ann.ID)
	if err != nil || place.Room != ann.DM().ID {
		t.Errorf("%v, %v", place, err)
	}
	bea.RefuseDirect(true)
	place, err = b.chat.Direct(b.ctx, bea.ID)
	if err == nil {
		_, err = b.chat.Post(b.ctx, place, "key", title("for you"))
	}
	if send, ok := errors.AsType[*bot.SendError](err); !ok || !send.Refused || !send.Permanent {
		t.Errorf("to somebody who takes none: %v", err)
	}
	if _, err := b.chat.Direct(b.ctx, "175928847299117063"); !permanent(err) {
		t.Errorf("to nobody: %v", err)
	}
}

func TestEventsFollowPosts(t *testing.T) {
	b := newBoard(t)
	start := b.now.Add(24 * time.Hour)
	event := bot.Event{Key: "session-3", Title: "Tarnholm lace: hems", About: "Bring **thread**.", Start: start, End: start.Add(90 * time.Minute)}
	post := func(key string, e bot.Event) {
		t.Helper()
		if _, err := b.post(key, bot.Reply{Title: key, Audience: bot.Room, Events: []bot.Event{e}}); err != nil {
			t.Fatal(err)
		}
	}
	post("added", event)
	post("a reminder", event)
	all := b.guild.Events()
	if len(all) != 1 || all[0].Name != event.Title || !all[0].Start.Equal(start) || !all[0].End.Equal(event.End) || all[0].Location != "In the chat of this class" || all[0].Description != `Bring \*\*thread\*\*.` {
		t.Fatalf("added: %+v", all)
	}
	b.restart()
	event.Start, event.End = start.Add(time.Hour), start.Add(2*time.Hour)
	post("moved", event)
	if all = b.guild.Events(); len(all) != 1 || !all[0].Start.Equal(event.Start) {
		t.Fatalf("moved: %+v", all)
	}
	b.notes.forget("event ")
	post("moved, and the note is lost", event)
	if all = b.guild.Events(); len(all) != 1 {
		t.Fatalf("without the note: %+v", all)
	}
	event.Cancelled = true
	post("cancelled", event)
	if all = b.guild.Events(); len(all) != 1 || !all[0].Cancelled {
		t.Fatalf("cancelled: %+v", all)
	}
	post("cancelled, said again", event)
	past := bot.Event{Key: "past", Title: "Past", Start: b.now.Add(-time.Hour), End: b.now}
	post("one that is over", past)
	if n := len(b.guild.Events()); n != 1 {
		t.Errorf("%d events after one that is over", n)
	}
	if n := len(b.room.All()); n != 7 {
		t.Errorf("%d posts", n)
	}
}

func TestEventsNeverFailAPost(t *testing.T) {
	event := func(b *board) bot.Reply {
		start := b.now.Add(time.Hour)
		return bot.Reply{Title: "We meet", Events: []bot.Event{{Key: "e", Title: "Lace", Start: start, End: start.Add(time.Hour)}}}
	}
	t.Run("the server lets the bot have none", func(t *testing.T) {
		b := newBoard(t)
		b.guild.LetBot(discordtest.BotPermissions() &^ (discordtest.CreateEvents | discordtest.ManageEvents))
		if _, err := b.post("key", event(b)); err != nil || len(b.room.All()) != 1 || len(b.guild.Events()) != 0 {
			t.Errorf("%v, %d posts, %d events", err, len(b.room.All()), len(b.guild.Events()))
		}
	})
	t.Run("the answer is lost", func(t *testing.T) {
		b := newBoard(t)
		b.srv.Fail(discordtest.Fault{Route: "POST /guilds/{guild}/scheduled-events", Apply: true, Cut: true})
		if _, err := b.post("key", event(b)); err != nil || len(b.guild.Events()) != 1 {
			t.Errorf("%v, %d events", err, len(b.guild.Events()))
		}
	})
	t.Run("a direct message has none", func(t *testing.T) {
		b := newBoard(t)
		ann := b.srv.User("Ann")
		if _, err := b.chat.Post(b.ctx, bot.Place{Chat: ChatName, Room: ann.DM().ID}, "key", event(b)); err != nil || len(ann.Messages(ann.DM())) != 1 {
			t.Errorf("%v", err)
		}
	})
}

func TestCheck(t *testing.T) {
	b := newBoard(t)
	if err := b.chat.Check(b.ctx); err != nil {
		t.Error(err)
	}
	b.chat.rest.token = "another-token"
	if err := b.chat.Check(b.ctx); !errors.Is(err, errBadToken) || strings.Contains(err.Error(), "another-token") {
		t.Errorf("with another token: %v", err)
	}
	b.srv.Fail(discordtest.Fault{Times: -1, Cut: true})
	if err := b.chat.Check(b.ctx); err == nil || errors.Is(err, errBadToken) || strings.Contains(err.Error(), "://") {
		t.Errorf("out of reach: %v", err)
	}
}

// TestAttachedFilesAreDiscords: nothing is read from elsewhere, and not more than
// is wanted, whatever the message says of its size.
func TestAttachedFilesAreDiscords(t *testing.T) {
	s := newScene(t, Options{}, func(context.Context, bot.Request) bot.Reply { return title("done") })
	view := s.ann.View(s.ann.DM())
	s.ann.Write(s.ann.DM(), "row", discordtest.File{Name: ".warp.png", MediaType: "image/png", Bytes: []byte("0123456789")})
	if _, err := view.Next(s.ctx); err != nil {
		t.Fatal(err)
	}
	got := s.last()
	if len(got.Attached) != 1 || got.Attached[0].Size != 10 || got.Attached[0].Name != "warp.png" || got.Line != "row" {
		t.Fatalf("attached: %+v", got.Attached)
	}
	if raw, err := got.Attached[0].Read(s.ctx, 10); err != nil || string(raw) != "0123456789" {
		t.Errorf("%q, %v", raw, err)
	}
	if _, err := got.Attached[0].Read(s.ctx, 9); err == nil {
		t.Error("more was read than was wanted")
	}
	u := ""
	for _, m := range s.ann.Messages(s.ann.DM()) {
		for _, f := range m.Files {
			u = f.URL
		}
	}
	for _, c := range []struct {
		name string
		a    attachment
	}{
		{"a lie about its size", attachment{URL: u, Size: 1}},
		{"no word about its size", attachment{URL: u}},
		{"another host", attachment{URL: "https://files.example/x"}},
		{"a host like Discord's", attachment{URL: "https://cdn.discordapp.com.evil.example/x"}},
		{"somebody's own network", attachment{URL: "https://127.0.0.1/x"}},
		{"another port", attachment{URL: "https://cdn.discordapp.com:8080/x"}},
		{"no encryption", attachment{URL: "http://cdn.discordapp.com/x"}},
		{"with a name before it", attachment{URL: "https://me@cdn.discordapp.com/x"}},
		{"a file", attachment{URL: "file:///etc/passwd"}},
		{"nothing", attachment{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if raw, err := s.chat.fetch(s.ctx, c.a, 9); err == nil {
				t.Errorf("read %q", raw)
			}
		})
	}
}
