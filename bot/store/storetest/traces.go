package storetest

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// traces: what no other method gives of a person is given, and it all goes
// with her.
func traces(t *testing.T, s Store) {
	ctx := t.Context()
	w := crowded(t, s)
	limit := class.Limit{Account: maya2, Class: w.class.ID, Role: bot.Student, At: evening}
	nobody := bot.Account{Chat: "matrix", User: "@nobody:example.org"}
	ok(t, s.AddGuess(ctx, maya2, evening))
	ok(t, s.AddGuess(ctx, ines, evening))
	ok(t, s.PutLimit(ctx, limit))
	hers := class.NoteTrace{Chat: maya2.Chat, Name: "question of maya2", Value: "loom width:", Until: evening}
	ok(t, s.PutNote(ctx, maya2.Chat, bot.Note{Name: hers.Name, User: maya2.User, Value: hers.Value, Until: hers.Until}))
	ok(t, s.PutNote(ctx, maya2.Chat, bot.Note{Name: "of nobody", Value: "$1"}))
	closed := open(t, s, kitchen, w.one.ID)
	join(t, s, closed.ID, w.two.ID, bot.Student)
	closed.Closed = evening
	ok(t, s.PutClass(ctx, closed))

	got := must[class.Traces](t)(s.Traces(ctx, maya2))
	if len(got.Members) != 2 || len(got.Attendance) != 2 || len(got.Schedules) != 1 || len(got.Offers) != 2 || len(got.Before) != 0 {
		t.Errorf("traces %+v", got)
	}
	for _, a := range got.Attendance {
		same(t, "whose attendance", a.Person, w.two.ID)
	}
	same(t, "limits", got.Limits, []class.Limit{limit})
	same(t, "notes", got.Notes, []class.NoteTrace{hers})
	same(t, "wrong codes", len(got.Guesses), 1)
	if len(got.Requests) != 1 || got.Requests[0].ID != "$0" || !strings.Contains(got.Requests[0].Reply, "Noted, "+string(w.two.ID)) {
		t.Errorf("requests %+v", got.Requests)
	}
	same(t, "of nobody", must[class.Traces](t)(s.Traces(ctx, nobody)), class.Traces{})
	ok(t, s.AddGuess(ctx, nobody, evening))
	same(t, "of an account that nobody is behind", must[class.Traces](t)(s.Traces(ctx, nobody)), class.Traces{Guesses: []time.Time{evening}})

	ok(t, s.MoveAccount(ctx, maya2, w.one.ID))
	merged := must[class.Traces](t)(s.Traces(ctx, maya))
	same(t, "who came to her", merged.Before, []class.Person{w.two})
	if len(merged.Had) != 1 || !json.Valid([]byte(merged.Had[0])) || !strings.Contains(merged.Had[0], string(w.question.ID)) {
		t.Errorf("what that one had: %q", merged.Had)
	}
	same(t, "and what she set up", len(merged.Schedules), 1)
	same(t, "and her limits", merged.Limits, []class.Limit{limit})

	ok(t, s.DeletePerson(ctx, w.one.ID))
	if left := known(Everything(t, s), maya2.User, string(w.two.ID)); len(left) > 0 {
		t.Errorf("left of her:\n%s", strings.Join(left, ""))
	}
	same(t, "another's wrong code stays", must[int](t)(s.Guesses(ctx, ines, evening.AddDate(0, 0, -1))), 1)
}
