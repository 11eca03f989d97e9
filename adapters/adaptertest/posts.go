package adaptertest

import (
	"errors"
	"strings"
	"testing"

	"weftroom/bot"
)

func tryPost(t *testing.T, open func(t *testing.T) Fixture) {
	f := open(t)
	s := begin(t, f, always(title("answered")))
	id, err := f.Adapter.Post(s.ctx, f.Place, "key-1", bot.Reply{
		Title: "We meet on Tuesday", Audience: bot.Room,
		Body:    []bot.Block{bot.Paragraph("Bring a warp.")},
		Files:   []bot.File{{Name: "chart.txt", MediaType: "text/plain", Alt: "a chart", Bytes: []byte("xox")}},
		Buttons: []bot.Button{{Label: "I am coming", Line: "session coming"}},
	})
	if err != nil {
		t.Fatal(err)
	}
	if id == "" {
		t.Error("no id")
	}
	s.until("We meet on Tuesday", "Bring a warp.", "I am coming")
	if got, _ := s.file(); string(got.Bytes) != "xox" {
		t.Errorf("the file holds %q", got.Bytes)
	}
	for _, m := range s.heard {
		if m.ID != "" && m.ID != id && strings.Contains(m.Text, "We meet on Tuesday") {
			t.Errorf("Post says id %q, the chat %q", id, m.ID)
		}
	}
}

// tryPostTwice posts again after the first, and from several sides at once.
func tryPostTwice(t *testing.T, open func(t *testing.T) Fixture) {
	const sides = 4
	f := open(t)
	s := begin(t, f, always(title("answered")))
	post := func(key, text string) string {
		id, err := f.Adapter.Post(s.ctx, f.Place, key, title(text))
		if err != nil {
			t.Errorf("%s: %v", key, err)
		}
		return id
	}
	first, again := post("key-1", "just once."), post("key-1", "just once.")
	if first != again || first == "" {
		t.Errorf("the ids are %q and %q", first, again)
	}
	ids := make(chan string, sides)
	for range sides {
		go func() { ids <- post("key-2", "all together.") }()
	}
	for range sides {
		receive(s, ids, "a post")
	}
	if other := post("key-3", "another one."); other == first {
		t.Errorf("two messages have the id %q", other)
	}
	s.say("anything")
	got := s.until("just once.", "all together.", "another one.", "answered")
	for _, text := range []string{"just once.", "all together.", "another one."} {
		if n := strings.Count(got, text); n != 1 {
			t.Errorf("%q arrived %d times", text, n)
		}
	}
}

func tryPostNowhere(t *testing.T, open func(t *testing.T) Fixture) {
	f := open(t)
	s := begin(t, f, always(title("answered")))
	for _, to := range []bot.Place{{Chat: "another chat", Room: f.Place.Room}, {Chat: f.Place.Chat, Room: "no such room"}} {
		_, err := f.Adapter.Post(s.ctx, to, "key-1", title("lost"))
		if send, ok := errors.AsType[*bot.SendError](err); !ok || !send.Permanent {
			t.Errorf("to %v: %v", to, err)
		}
	}
	s.say("anything")
	if got := s.until("answered"); strings.Contains(got, "lost") {
		t.Errorf("it arrived: %s", got)
	}
}

func tryHostilePost(t *testing.T, open func(t *testing.T) Fixture) {
	f := open(t)
	s := begin(t, f, always(title("answered")))
	reply, want := hostileReply()
	if _, err := f.Adapter.Post(s.ctx, f.Place, "key-1", reply); err != nil {
		t.Fatal(err)
	}
	s.until(want...)
	s.wantHarmless()
}

func tryDirect(t *testing.T, open func(t *testing.T) Fixture) {
	f := open(t)
	direct, ok := f.Adapter.(bot.DirectPoster)
	if !ok {
		t.Skip("the adapter is no bot.DirectPoster: its chat has no direct messages")
	}
	s := begin(t, f, always(title("answered")))
	place, err := direct.Direct(s.ctx, f.User.User)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := direct.Direct(s.ctx, f.User.User); err != nil || again != place {
		t.Errorf("first %v, then %v, %v", place, again, err)
	}
	if place.Chat != f.Adapter.Name() {
		t.Errorf("the place is %v", place)
	}
	if _, err := f.Adapter.Post(s.ctx, place, "key-1", title("for you alone")); err != nil {
		t.Error(err)
	}
	if place == f.Place {
		s.until("for you alone")
	}
	if _, err := direct.Direct(s.ctx, "nobody of that name"); err == nil {
		t.Error("somebody was found who does not exist")
	}
}

func tryEdit(t *testing.T, open func(t *testing.T) Fixture) {
	f := open(t)
	editor, ok := f.Adapter.(bot.Editor)
	if !ok {
		t.Skip("the adapter is no bot.Editor: its chat cannot change a message")
	}
	s := begin(t, f, always(title("answered")))
	id, err := f.Adapter.Post(s.ctx, f.Place, "key-1", title("at seven"))
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := editor.Edit(s.ctx, f.Place, id, title("at eight")); err != nil {
			t.Fatal(err)
		}
	}
	s.until("at seven", "at eight")
}

func trySent(t *testing.T, open func(t *testing.T) Fixture) {
	f := open(t)
	reconciler, ok := f.Adapter.(bot.Reconciler)
	if !ok {
		t.Skip("the adapter is no bot.Reconciler: its chat's keys are enough, or nothing outlives it")
	}
	s := begin(t, f, always(title("answered")))
	if id, err := reconciler.Sent(s.ctx, f.Place, "key-1"); err != nil || id != "" {
		t.Errorf("before: %q, %v", id, err)
	}
	want, err := f.Adapter.Post(s.ctx, f.Place, "key-1", title("sent"))
	if err != nil {
		t.Fatal(err)
	}
	s.until("sent")
	if id, err := reconciler.Sent(s.ctx, f.Place, "key-1"); err != nil || id != want {
		t.Errorf("after: %q, %v; want %q", id, err, want)
	}
}
