package storetest

import (
	"testing"
	"time"

	"weftroom/bot"
)

func note(t *testing.T, s Store, chat, name string) bot.Note {
	t.Helper()
	return must[bot.Note](t)(s.Note(t.Context(), chat, name))
}

func notes(t *testing.T, s Store) {
	same(t, "before", note(t, s, "matrix", "message 1"), bot.Note{})
	first := bot.Note{Name: "message 1", User: maya.User, Value: "$1 — \"as it is\"", Until: evening.Add(time.Hour * 24 * 365 * 100)}
	for range 2 {
		ok(t, s.PutNote(t.Context(), "matrix", first))
	}
	ok(t, s.PutNote(t.Context(), "discord", bot.Note{Name: "message 1", Value: "another chat's"}))
	same(t, "kept", note(t, s, "matrix", "message 1"), first)
	second := bot.Note{Name: "message 1", Value: "$2"}
	ok(t, s.PutNote(t.Context(), "matrix", second))
	same(t, "changed", note(t, s, "matrix", "message 1"), second)
	for range 2 {
		ok(t, s.PutNote(t.Context(), "matrix", bot.Note{Name: "message 1"}))
	}
	same(t, "deleted", note(t, s, "matrix", "message 1"), bot.Note{})
	same(t, "the other chat's", note(t, s, "discord", "message 1").Value, "another chat's")
}

func notesPruned(t *testing.T, s Store) {
	old := bot.Note{Name: "old", Value: "$1", Until: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)}
	kept := bot.Note{Name: "for ever", Value: "$2"}
	ok(t, s.PutNote(t.Context(), "matrix", old))
	ok(t, s.PutNote(t.Context(), "matrix", kept))
	same(t, "pruned", must[int](t)(s.Prune(t.Context())), 1)
	same(t, "the old one", note(t, s, "matrix", "old"), bot.Note{})
	same(t, "the other", note(t, s, "matrix", "for ever"), kept)
}

func notesForgotten(t *testing.T, s Store) {
	p := person(t, s, maya, "Maya")
	ok(t, s.PutNote(t.Context(), maya.Chat, bot.Note{Name: "hers", User: maya.User, Value: "$1"}))
	ok(t, s.PutNote(t.Context(), maya.Chat, bot.Note{Name: "another's", User: ines.User, Value: "$2"}))
	ok(t, s.DeletePerson(t.Context(), p.ID))
	same(t, "hers", note(t, s, maya.Chat, "hers"), bot.Note{})
	same(t, "another's", note(t, s, maya.Chat, "another's").Value, "$2")
}
