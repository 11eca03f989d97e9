//go:build goolm

package matrix

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

// disturbed is a bot behind a proxy, in a room with a student.
type disturbed struct {
	*device
	proxy *matrixtest.Proxy
	ada   *matrixtest.Student
	room  id.RoomID
	place bot.Place
}

func disturb(t *testing.T, s *matrixtest.Server, encrypted bool) *disturbed {
	t.Helper()
	proxy := s.Proxy(t)
	d := reached(t, s, proxy.URL, encrypted)
	d.proxy = proxy
	return d
}

// reached is a bot that reaches the server by an address, in a room with a student.
func reached(t *testing.T, s *matrixtest.Server, url string, encrypted bool) *disturbed {
	t.Helper()
	d := &disturbed{device: newDevice(t, s), ada: s.Student(t, "ada")}
	d.settings.Homeserver = url
	d.up(echoes)
	d.room = class(t, d.ada, d.device, encrypted)
	d.place = bot.Place{Chat: Name, Room: string(d.room)}
	return d
}

// first has one message meet a fate, the first that is sent from now on.
func (d *disturbed) first(fate matrixtest.Fate, after func(*http.Request)) {
	var n atomic.Int32
	d.proxy.Judge(func(r *http.Request) matrixtest.Fate {
		if isSend(r) && n.Add(1) == 1 {
			return fate
		}
		return matrixtest.Pass
	}, after)
}

// again posts until it succeeds, as the one who posts does.
func (d *disturbed) again(t *testing.T, key, text string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), matrixtest.Patience)
	defer cancel()
	for {
		id, err := d.chat.Post(ctx, d.place, key, bot.Reply{Title: text})
		if err == nil {
			return id
		}
		s := bot.AsSendError(err)
		if ctx.Err() != nil || s.Permanent {
			t.Fatalf("it did not arrive: %v", err)
		}
		rest(ctx, s.RetryAfter)
	}
}

// TestPostResponseLost loses the server's answer to a post: the post fails, and
// the next try finds it there.
func TestPostResponseLost(t *testing.T) {
	t.Parallel()
	for _, encrypted := range []bool{false, true} {
		t.Run(fmt.Sprint("encrypted ", encrypted), func(t *testing.T) {
			t.Parallel()
			d := disturb(t, matrixtest.Shared(t), encrypted)
			d.first(matrixtest.Lost, nil)
			if _, err := d.chat.Post(t.Context(), d.place, "lost-answer", bot.Reply{Title: "just once"}); err == nil {
				t.Fatal("no error, though the answer was lost")
			}
			id := d.again(t, "lost-answer", "just once")
			if again := d.again(t, "lost-answer", "just once"); again != id || id == "" {
				t.Errorf("ids %q and %q", id, again)
			}
			if sent, err := d.chat.Sent(t.Context(), d.place, "lost-answer"); err != nil || sent != id {
				t.Errorf("Sent gives %q, %v, want %q", sent, err, id)
			}
			d.again(t, "the-end", "and another")
			wantOnce(t, d.ada, d.room, "just once", "and another")
		})
	}
}

// TestPostNeverArrived breaks the connection before the server gets a post. It is
// sent again behind something that shows that the first is not to come, if that may
// be sent in the room.
func TestPostNeverArrived(t *testing.T) {
	t.Parallel()
	for _, refused := range []bool{false, true} {
		t.Run(fmt.Sprint("what passes by is refused ", refused), func(t *testing.T) {
			t.Parallel()
			d := disturb(t, matrixtest.Shared(t), false)
			d.chat.settle = 0
			if refused {
				levels := &event.PowerLevelsEventContent{Users: map[id.UserID]int{d.ada.ID: 100}, Events: map[string]int{passingBy.Type: 100}}
				if _, err := d.ada.Client.SendStateEvent(t.Context(), d.room, event.StatePowerLevels, "", levels); err != nil {
					t.Fatal(err)
				}
			}
			var mu sync.Mutex
			var sent []string
			d.proxy.Judge(func(r *http.Request) matrixtest.Fate {
				_, what, ok := strings.Cut(r.URL.Path, "/send/")
				if !ok {
					return matrixtest.Pass
				}
				mu.Lock()
				defer mu.Unlock()
				kind, _, _ := strings.Cut(what, "/")
				if sent = append(sent, kind); len(sent) == 1 {
					return matrixtest.Cut
				}
				return matrixtest.Pass
			}, nil)
			if _, err := d.chat.Post(t.Context(), d.place, "cut", bot.Reply{Title: "just once"}); err == nil {
				t.Fatal("no error, though the connection broke")
			}
			if sent, err := d.chat.Sent(t.Context(), d.place, "cut"); err != nil || sent != "" {
				t.Errorf("Sent gives %q, %v", sent, err)
			}
			d.again(t, "cut", "just once")
			wantOnce(t, d.ada, d.room, "just once")
			if want := []string{"m.room.message", passingBy.Type, "m.room.message"}; !slices.Equal(sent, want) {
				t.Errorf("sent were %q, want %q", sent, want)
			}
		})
	}
}

// TestPostUnreached has no server to connect to: that leaves no doubt, so that the
// post goes out as soon as there is one.
func TestPostUnreached(t *testing.T) {
	t.Parallel()
	s := matrixtest.Start(t)
	d := reached(t, s, s.URL, false)
	s.Kill(t)
	client, err := d.chat.client(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	client.Client.CloseIdleConnections() // over one of them something might have gone out
	if _, err := d.chat.Post(t.Context(), d.place, "unreached", bot.Reply{Title: "just once"}); err == nil {
		t.Fatal("no error, though there is no server")
	}
	s.Up(t)
	if _, err := d.chat.Post(t.Context(), d.place, "unreached", bot.Reply{Title: "just once"}); err != nil {
		t.Errorf("with the server there: %v", err)
	}
	wantOnce(t, d.ada, d.room, "just once")
}

// TestPostServerKilled kills the server between a post and its answer, several
// times. After that the server does not know the transaction any more.
func TestPostServerKilled(t *testing.T) {
	t.Parallel()
	s := matrixtest.Start(t)
	for _, encrypted := range []bool{false, true} {
		d := disturb(t, s, encrypted)
		var want []string
		for n := range 3 {
			var restarted sync.WaitGroup
			restarted.Add(1)
			d.first(matrixtest.Lost, func(*http.Request) {
				defer restarted.Done()
				s.Restart(t)
			})
			text := fmt.Sprint("through restart ", n)
			if _, err := d.chat.Post(t.Context(), d.place, fmt.Sprint("killed-", n), bot.Reply{Title: text}); err == nil {
				t.Error("no error, though the server was killed")
			}
			restarted.Wait()
			d.again(t, fmt.Sprint("killed-", n), text)
			want = append(want, text)
		}
		d.again(t, "the-end", "and another")
		wantOnce(t, d.ada, d.room, append(want, "and another")...)
		d.stop()
	}
}

// TestAnswerResponseLost loses the server's answer to the answer to a command.
func TestAnswerResponseLost(t *testing.T) {
	t.Parallel()
	d := disturb(t, matrixtest.Shared(t), true)
	d.first(matrixtest.Lost, nil)
	d.ada.Say(t, d.room, "!hello")
	d.ada.Say(t, d.room, "!again")
	wantOnce(t, d.ada, d.room, "you said hello", "you said again")
}

// TestPostStillOnItsWay gives up a post whose request is held on the way, and lets
// the request go on when the post is tried again, in the same run or in the next.
func TestPostStillOnItsWay(t *testing.T) {
	t.Parallel()
	for _, restarted := range []bool{false, true} {
		t.Run(fmt.Sprint("restarted ", restarted), func(t *testing.T) {
			t.Parallel()
			d := disturb(t, matrixtest.Shared(t), false)
			ctx, giveUp := context.WithCancel(t.Context())
			d.first(matrixtest.Late, func(*http.Request) { giveUp() })
			if _, err := d.chat.Post(ctx, d.place, "on-its-way", bot.Reply{Title: "just once"}); err == nil {
				t.Fatal("no error, though nobody has answered")
			}
			if restarted {
				d.stop()
				d.up(echoes)
			}
			// As long as it may be on its way, which is for ever here, it is neither
			// sent again nor taken for lost, nor does anybody wait for that within a post.
			d.chat.settle = 24 * time.Hour
			for range 2 {
				if id, err := d.chat.Sent(t.Context(), d.place, "on-its-way"); bot.AsSendError(err).RetryAfter == 0 {
					t.Errorf("Sent gives %q, %v", id, err)
				}
				if id, err := d.chat.Post(t.Context(), d.place, "on-its-way", bot.Reply{Title: "just once"}); bot.AsSendError(err).RetryAfter == 0 {
					t.Errorf("Post gives %q, %v", id, err)
				}
			}
			d.again(t, "another", "and another") // nobody waits for it who says something else
			d.proxy.Release()
			d.again(t, "on-its-way", "just once")
			d.again(t, "the-end", "and the end")
			wantOnce(t, d.ada, d.room, "just once", "and another", "and the end")
		})
	}
}

// TestTwinIsTakenBack has a message come out a second time, as a server does that
// was killed while it worked on the first: the second is taken back, by the next
// run if it came when none was there, and the first stands.
func TestTwinIsTakenBack(t *testing.T) {
	t.Parallel()
	d := disturb(t, matrixtest.Shared(t), false)
	first := d.again(t, "twins", "stands once")
	client, err := d.chat.client(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var twins []id.EventID
	for n := range 2 {
		if n == 1 {
			d.stop()
		}
		got, err := client.SendMessageEvent(t.Context(), d.room, event.EventMessage, map[string]any{
			"msgtype": "m.text", "body": "stands once", witness: "twins",
		}, mautrix.ReqSendEvent{TransactionID: fmt.Sprint("another ", n)})
		if err != nil {
			t.Fatal(err)
		}
		if n == 1 {
			d.up(echoes)
		}
		twins = append(twins, got.EventID)
		d.ada.Until(t, "the twin is taken back", func() bool { return slices.Equal(takenBack(d.ada, d.room), twins) })
	}
	if sent, err := d.chat.Sent(t.Context(), d.place, "twins"); err != nil || sent != first {
		t.Errorf("Sent gives %q, %v, want %q", sent, err, first)
	}
	d.again(t, "the-end", "and another")
	wantOnce(t, d.ada, d.room, "and another")
	if back := takenBack(d.ada, d.room); !slices.Equal(back, twins) {
		t.Errorf("%v were taken back, want %v", back, twins)
	}
}

// TestPostsTogether posts from many sides under keys of their own and under the
// same: each is there once.
func TestPostsTogether(t *testing.T) {
	t.Parallel()
	d := disturb(t, matrixtest.Shared(t), true)
	var all sync.WaitGroup
	var want []string
	for n := range 8 {
		text := fmt.Sprint("number ", n)
		want = append(want, text)
		for range 2 {
			all.Go(func() { d.again(t, fmt.Sprint("together-", n), text) })
		}
	}
	all.Wait()
	wantOnce(t, d.ada, d.room, want...)
}

// TestPartsResume breaks off a post of several parts; the next try sends only what
// is missing, and Sent says so until then.
func TestPartsResume(t *testing.T) {
	t.Parallel()
	d := disturb(t, matrixtest.Shared(t), false)
	d.chat.settle = 0
	var n atomic.Int32
	d.proxy.Judge(func(r *http.Request) matrixtest.Fate {
		if isSend(r) && n.Add(1) == 2 {
			return matrixtest.Cut
		}
		return matrixtest.Pass
	}, nil)
	reply := bot.Reply{Title: "first", Files: []bot.File{{Name: "second.txt", MediaType: "text/plain", Alt: "second", Bytes: []byte("2")}}}
	if _, err := d.chat.Post(t.Context(), d.place, "in-parts", reply); err == nil {
		t.Fatal("no error, though the second part did not arrive")
	}
	if sent, err := d.chat.Sent(t.Context(), d.place, "in-parts"); err != nil || sent != "" {
		t.Errorf("Sent gives %q, %v while a part is missing", sent, err)
	}
	id, err := d.chat.Post(t.Context(), d.place, "in-parts", reply)
	if err != nil {
		t.Fatal(err)
	}
	if sent, err := d.chat.Sent(t.Context(), d.place, "in-parts"); err != nil || sent != id {
		t.Errorf("Sent gives %q, %v, want %q", sent, err, id)
	}
	wantOnce(t, d.ada, d.room, "first", "second")
	files := slices.DeleteFunc(d.ada.Seen(d.room, event.EventMessage), func(e *event.Event) bool { return e.Content.Raw["msgtype"] != "m.file" })
	if len(files) != 1 {
		t.Errorf("%d files arrived", len(files))
	}
}

// TestPostWaitsForConnection posts with no run there: it waits as long as its
// context lasts.
func TestPostWaitsForConnection(t *testing.T) {
	t.Parallel()
	d := newDevice(t, matrixtest.Shared(t))
	chat, err := New(d.settings, d.options)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Millisecond)
	defer cancel()
	_, err = chat.Post(ctx, bot.Place{Chat: Name, Room: "!room:localhost"}, "key", bot.Reply{Title: "x"})
	if send := bot.AsSendError(err); err == nil || send.Permanent {
		t.Errorf("got %v", err)
	}
}
