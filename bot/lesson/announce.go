package lesson

import (
	"context"
	"encoding/json"
	"slices"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
)

// announce adds the posts that tell every room of a class what became of a
// session; was is its start before it was moved. A new link goes to the members
// alone as well.
func (d *Desk) announce(ctx context.Context, kind timetable.Kind, s class.Session, was time.Time) error {
	places, err := d.Store.Places(ctx, s.Class)
	if err != nil {
		return err
	}
	now := d.Now()
	posts := timetable.Announcements(kind, s, was, now, places...)
	if kind == timetable.KindLink && s.Link != "" {
		members, err := d.linkPosts(ctx, s, now, places)
		if err != nil {
			return err
		}
		posts = append(posts, members...)
	}
	return d.post(ctx, posts...)
}

// announceClosed adds the posts that tell every room that its class is over.
func (d *Desk) announceClosed(ctx context.Context, id class.ID) error {
	places, err := d.Store.Places(ctx, id)
	if err != nil {
		return err
	}
	return d.post(ctx, timetable.Closing(id, d.Now(), places...)...)
}

// announceNew adds the posts that tell every room of new sessions: one, or a
// series by one post that names no session of it, so that nothing that becomes
// of the first keeps the others from being told.
func (d *Desk) announceNew(ctx context.Context, added []class.Session) error {
	first, last := added[0], added[len(added)-1]
	if first.Series == "" {
		return d.announce(ctx, timetable.KindAdded, first, time.Time{})
	}
	places, err := d.Store.Places(ctx, first.Class)
	if err != nil {
		return err
	}
	posts := timetable.Announcements(timetable.KindAdded, last, time.Time{}, d.Now(), places...)
	for i := range posts {
		posts[i].Session = ""
		posts[i].Payload = payloadOf(timetable.Details{Series: first.Series})
	}
	return d.post(ctx, posts...)
}

// linkPosts carry a new link to each member alone, where members may be written
// to. They hold no link themselves: it is read when they are sent.
func (d *Desk) linkPosts(ctx context.Context, s class.Session, now time.Time, places []bot.Place) ([]timetable.Post, error) {
	k, err := d.Store.Class(ctx, s.Class)
	if err != nil || !k.WritesDirect() {
		return nil, err
	}
	members, err := d.Store.Members(ctx, s.Class)
	if err != nil {
		return nil, err
	}
	var posts []timetable.Post
	for _, m := range members {
		accounts, err := d.Store.Accounts(ctx, m.Person)
		if err != nil {
			return nil, err
		}
		if len(accounts) == 0 {
			continue
		}
		hers := accounts[max(slices.IndexFunc(accounts, func(a bot.Account) bool {
			return slices.ContainsFunc(places, func(p bot.Place) bool { return p.Chat == a.Chat })
		}), 0)]
		for _, p := range timetable.Announcements(timetable.KindLink, s, time.Time{}, now, bot.DirectRoom(hers)) {
			p.Person = m.Person
			posts = append(posts, p)
		}
	}
	return posts, nil
}

// payloadOf is what a post carries.
func payloadOf(d timetable.Details) json.RawMessage {
	raw, _ := json.Marshal(d) // nothing in it can fail
	return raw
}
