package storetest

import (
	"context"
	"encoding/json"
	"errors"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
	"weftroom/bot/class"
)

var fullReply = bot.Reply{
	Command: "coming", Title: "Noted",
	Body: []bot.Block{
		bot.Paragraph("You are coming."), bot.Heading("Next"), bot.List{"scissors", "yarn"},
		bot.Table{Head: []string{"when", "ends"}, Rows: [][]string{{"tue", "97"}}, Numbers: []bool{false, true}},
		bot.Steps{{Label: "1–4", Text: "Pick", Short: "p"}},
		bot.Picture{Name: "plan.png", Alt: "Four rows", Width: 640, Height: 480, Draw: func() ([]byte, error) { return nil, nil }},
	},
	Files:    []bot.File{{Name: "c.ics", MediaType: "text/calendar", Alt: "Calendar", Bytes: []byte{0, 255, 13, 10}}},
	Buttons:  []bot.Button{{Label: "Away", Line: "away 3"}},
	Audience: bot.Room,
	Data:     map[string]any{"session": 3},
	Problem:  &bot.Problem{Code: bot.Busy, Message: "m", Hint: "h"},
	Ask:      &bot.Question{Line: "coming session:", Unsure: "when"},
}

// replayed is how fullReply comes back.
func replayed() bot.Reply {
	r := fullReply
	r.Data = json.RawMessage(`{"session":3}`)
	r.Body = append([]bot.Block{}, r.Body...)
	p := r.Body[5].(bot.Picture)
	p.Draw = nil
	r.Body[5] = p
	return r
}

func onceReplay(t *testing.T, s Store) {
	p := person(t, s, maya, "Maya")
	c := open(t, s, loft, p.ID)
	runs := 0
	ask := func(r bot.Request) bot.Reply {
		return must[bot.Reply](t)(s.Once(t.Context(), r, func(ctx context.Context) (bot.Reply, error) {
			runs++
			_, err := s.AddQuestion(ctx, class.Question{Class: c.ID, Person: p.ID})
			return fullReply, err
		}))
	}
	r := bot.Request{ID: "$1", From: maya, In: loft}
	if first := ask(r); first.Body[5].(bot.Picture).Draw == nil {
		t.Error("the first time the picture can be drawn")
	}
	same(t, "the second time", ask(r), replayed())
	ask(bot.Request{ID: "$2", From: maya})
	ask(bot.Request{ID: "$1", From: maya2}) // the same id in another chat
	ask(bot.Request{From: maya})            // without an id
	ask(bot.Request{From: maya})
	if n := len(must[[]class.Question](t)(s.QuestionsOf(t.Context(), c.ID, true))); runs < 5 || n != 5 {
		t.Errorf("ran %d times, with %d effects", runs, n)
	}
	same(t, "still", ask(r), replayed())
}

func onceError(t *testing.T, s Store) {
	r := bot.Request{ID: "$1", From: maya}
	fail := func(ctx context.Context) (bot.Reply, error) {
		_, err := s.PersonOf(ctx, maya, "Maya")
		return bot.Reply{Title: "half"}, errors.Join(err, errOurs)
	}
	for range 2 {
		reply, err := s.Once(t.Context(), r, fail)
		if !errors.Is(err, errOurs) || reply.Title != "" {
			t.Errorf("%+v, %v", reply, err)
		}
	}
	_, err := s.FindPerson(t.Context(), maya)
	wantNone(t, "its effect", err)
	if _, err := s.Once(t.Context(), r, func(context.Context) (bot.Reply, error) {
		return bot.Reply{Data: func() {}}, nil
	}); err == nil {
		t.Error("a reply that cannot be kept is kept")
	}
	got := must[bot.Reply](t)(s.Once(t.Context(), r, func(context.Context) (bot.Reply, error) { return bot.Reply{Title: "now"}, nil }))
	same(t, "the same request when it can", got, bot.Reply{Title: "now"})

	func() {
		defer func() { recover() }()
		s.Once(t.Context(), bot.Request{ID: "$2", From: maya}, func(context.Context) (bot.Reply, error) { panic("ours") })
	}()
	got = must[bot.Reply](t)(s.Once(t.Context(), bot.Request{ID: "$2", From: maya},
		func(context.Context) (bot.Reply, error) { return bot.Reply{Title: "after a panic"}, nil }))
	same(t, "after a panic", got, bot.Reply{Title: "after a panic"})
}

func onceRace(t *testing.T, s Store) {
	p := person(t, s, maya, "Maya")
	c := open(t, s, loft, p.ID)
	const n = 12
	var runs atomic.Int64
	replies, errs := make([]bot.Reply, n), make([]error, n)
	crowd(n, func(i int) {
		replies[i], errs[i] = s.Once(t.Context(), bot.Request{ID: "$1", From: maya}, func(ctx context.Context) (bot.Reply, error) {
			runs.Add(1)
			q, err := s.AddQuestion(ctx, class.Question{Class: c.ID, Person: p.ID})
			return bot.Reply{Title: string(q.ID)}, err
		})
	})
	ok(t, errors.Join(errs...))
	for _, r := range replies {
		if diff := cmp.Diff(replies[0], r); diff != "" {
			t.Errorf("two replies: %s", diff)
		}
	}
	if got := len(must[[]class.Question](t)(s.QuestionsOf(t.Context(), c.ID, true))); got != 1 {
		t.Errorf("%d effects of one request", got)
	}
	if runs.Load() != 1 {
		t.Errorf("ran %d times", runs.Load())
	}
}

// soon is a test of requests whose answers do not wait for the disk.
func soon(test func(t *testing.T, s Store)) func(t *testing.T, s Store) {
	return func(t *testing.T, s Store) { test(t, hurried{s}) }
}

type hurried struct{ Store }

func (h hurried) Once(ctx context.Context, r bot.Request, do func(context.Context) (bot.Reply, error)) (bot.Reply, error) {
	return h.OnceSoon(ctx, r, do)
}
