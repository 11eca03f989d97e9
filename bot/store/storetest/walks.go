package storetest

import (
	"testing"
	"time"

	"weftroom/bot/class"
)

// walks: one to each person, from whichever account she goes on.
func walks(t *testing.T, s Store) {
	ctx := t.Context()
	_, err := s.Walk(ctx, maya)
	wantNone(t, "before she has begun", err)
	w := class.Walk{
		Plan: "ends:97 raised:3", Asked: "raised:3", Row: 2, Move: 5, ByRow: true, Begun: evening, Moved: evening.Add(time.Minute),
		Rows: []class.RowTime{{Row: 1, Begun: evening, Ended: evening.Add(time.Minute)}},
	}
	for range 2 {
		ok(t, s.KeepWalk(ctx, maya, w)) // makes the person too
	}
	same(t, "kept", must[class.Walk](t)(s.Walk(ctx, maya)), w)
	p := must[class.Person](t)(s.FindPerson(ctx, maya))
	person(t, s, maya2, "")
	ok(t, s.MoveAccount(ctx, maya2, p.ID))
	same(t, "from her other account", must[class.Walk](t)(s.Walk(ctx, maya2)), w)
	w.Rows = make([]class.RowTime, 3*class.MostRowTimes)
	for i := range w.Rows {
		w.Rows[i] = class.RowTime{Row: i + 1, Begun: evening, Ended: evening}
	}
	ok(t, s.KeepWalk(ctx, maya2, w))
	w.Rows = w.Rows[2*class.MostRowTimes:]
	same(t, "the last rows", must[class.Walk](t)(s.Walk(ctx, maya)), w)
	_, err = s.Walk(ctx, ines)
	wantNone(t, "somebody else's", err)
	ok(t, s.DeletePerson(ctx, p.ID))
	_, err = s.Walk(ctx, maya)
	wantNone(t, "of someone forgotten", err)
}

// walksMoved: of two walks the one goes on that was moved on last, and a move
// undone gives each her own.
func walksMoved(t *testing.T, s Store) {
	ctx := t.Context()
	begun := func(plan string, after time.Duration) class.Walk {
		return class.Walk{Plan: plan, Row: 1, Move: 1, Begun: evening, Moved: evening.Add(after)}
	}
	to := person(t, s, maya, "Maya")
	from := person(t, s, maya2, "Maya")
	older, newer := begun("ends:96", 0), begun("ends:97", time.Hour)
	ok(t, s.KeepWalk(ctx, maya, older))
	ok(t, s.KeepWalk(ctx, maya2, newer))
	ok(t, s.MoveAccount(ctx, maya2, to.ID))
	same(t, "the newer goes on", must[class.Walk](t)(s.Walk(ctx, maya)), newer)
	ok(t, s.MoveAccount(ctx, maya2, from.ID))
	same(t, "hers again", must[class.Walk](t)(s.Walk(ctx, maya2)), newer)
	same(t, "and the other's", must[class.Walk](t)(s.Walk(ctx, maya)), older)

	ok(t, s.MoveAccount(ctx, maya2, to.ID))
	on := newer
	on.Move, on.Moved = 9, evening.Add(2*time.Hour)
	ok(t, s.KeepWalk(ctx, maya, on))
	ok(t, s.MoveAccount(ctx, maya2, from.ID))
	same(t, "as it was when it moved", must[class.Walk](t)(s.Walk(ctx, maya2)), newer)
	same(t, "who went on keeps it", must[class.Walk](t)(s.Walk(ctx, maya)), on)
}
