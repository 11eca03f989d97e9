package timetable

import (
	"context"
	"strconv"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
)

// Announcements are the posts that tell rooms at once that a session was added,
// moved, cancelled or meets elsewhere; was is its start before, zero for none.
// Add them in the transaction of the change.
func Announcements(kind Kind, s class.Session, was time.Time, now time.Time, to ...bot.Place) []Post {
	expires := latest(s.End(), now.Add(time.Hour))
	if kind == KindCancelled {
		expires = latest(s.End(), now.Add(dayOfUse))
	}
	var out []Post
	for _, place := range to {
		out = append(out, Post{
			Key: PostKey("announcement", string(kind), string(s.ID), strconv.Itoa(s.Sequence), place.Chat, place.Room),
			To:  place, Class: s.Class, Session: s.ID, Kind: kind,
			Payload: Details{Start: s.Start, Was: was}.payload(),
			Due:     now, Expires: expires,
		})
	}
	return out
}

// Closing are the posts that tell rooms that a class is over. Add them in the
// transaction in which it is closed.
func Closing(id class.ID, now time.Time, to ...bot.Place) []Post {
	var out []Post
	for _, place := range to {
		out = append(out, Post{
			Key: PostKey("closed", string(id), place.Chat, place.Room),
			To:  place, Class: id, Kind: KindClosed, Due: now, Expires: now.Add(dayOfUse),
		})
	}
	return out
}

// Said is a post of the teacher's words, once and now. The request that asked
// for it makes it the same post when it is added again.
func Said(id class.ID, request, text string, now time.Time, to bot.Place) Post {
	return Post{
		Key: PostKey("said", string(id), request, to.Chat, to.Room),
		To:  to, Class: id, Kind: KindSay, Payload: Details{Text: text}.payload(),
		Due: now, Expires: now.Add(dayOfUse),
	}
}

// RefusedNote is what Options.Refused gives: one neutral note to each of a
// class's rooms, once for a session (or once in all when the post was about
// none), however many members could not be written to. The note carries nobody's
// name or id.
func RefusedNote(ctx context.Context, st class.Store, p Post, now time.Time) ([]Post, error) {
	if p.Class == "" {
		return nil, nil
	}
	places, err := st.Places(ctx, p.Class)
	if err != nil {
		return nil, err
	}
	var out []Post
	for _, place := range places {
		out = append(out, Post{
			Key: PostKey("note", string(p.Class), string(p.Session), place.Chat, place.Room),
			To:  place, Class: p.Class, Session: p.Session, Kind: KindNote,
			Due: now, Expires: now.Add(dayOfUse),
		})
	}
	return out, nil
}
