package discord

import (
	"context"
	"errors"
	"net/http"
	"time"

	"weftroom/bot"
)

// Numbers of Discord's scheduled events.
const (
	eventElsewhere = 3 // not in a voice channel: it has a place in words
	membersOnly    = 2
	eventEnded     = 3
	eventCancelled = 4

	usualEvent = time.Hour // Discord wants an end
)

// guildEvent is an event as it is sent.
type guildEvent struct {
	Name    string     `json:"name"`
	About   string     `json:"description,omitempty"`
	Start   string     `json:"scheduled_start_time"`
	End     string     `json:"scheduled_end_time"`
	Privacy int        `json:"privacy_level"`
	Kind    int        `json:"entity_type"`
	Where   eventWhere `json:"entity_metadata"`
}

type eventWhere struct {
	Location string `json:"location"`
}

// listedEvent is an event as Discord tells of it.
type listedEvent struct {
	ID      string    `json:"id"`
	Name    string    `json:"name"`
	Creator string    `json:"creator_id"`
	Kind    int       `json:"entity_type"`
	Status  int       `json:"status"`
	Start   time.Time `json:"scheduled_start_time"`
}

// scheduled is what Discord has of an event.
type scheduled struct {
	ID     string `json:"id"`
	Digest string `json:"digest"` // of what it says there
}

// schedule keeps a server's list of events as the posts to it say. It never
// fails a post: the words are there, and a server need not let the bot have
// events.
func (c *Chat) schedule(ctx context.Context, room string, events []bot.Event) {
	if len(events) == 0 {
		return
	}
	guild, err := c.guildOf(ctx, room)
	if guild == "" {
		if err != nil {
			c.o.Log.Info("the server of a channel cannot be looked up, so its events stay as they are", "chat", ChatName, "err", err)
		}
		return
	}
	c.oneEvent.Lock() // so that two posts about one event do not both make it
	defer c.oneEvent.Unlock()
	for _, e := range events {
		if err := c.scheduleOne(ctx, guild, e); err != nil {
			c.o.Log.Info("an event could not be kept in the server's list", "chat", ChatName, "err", err)
		}
	}
}

// guildOf is the server of a channel, "" for a direct one.
func (c *Chat) guildOf(ctx context.Context, room string) (string, error) {
	if guild, ok := c.guilds.get(room); ok {
		return guild, nil
	}
	var channel received
	if err := c.rest.do(ctx, call{method: http.MethodGet, path: "/channels/" + room, bucket: "channel", into: &channel, again: true}); err != nil {
		return "", err
	}
	c.guilds.set(room, channel.GuildID)
	return channel.GuildID, nil
}

// scheduleOne makes, changes or cancels an event. Only what is still to come can
// be made.
func (c *Chat) scheduleOne(ctx context.Context, guild string, e bot.Event) error {
	note := "event " + guild + " " + e.Key
	want := c.asGuildEvent(e)
	print := digest(want.Name, want.About, want.Start, want.End, map[bool]string{true: "cancelled"}[e.Cancelled])
	var have scheduled
	if _, err := c.notes.read(ctx, note, &have); err != nil {
		return err
	}
	if have.Digest == print {
		return nil
	}
	var err error
	if have.ID == "" { // the note may have got lost, or been too late
		if have.ID, err = c.foundEvent(ctx, guild, want); err != nil {
			return err
		}
	}
	switch {
	case e.Cancelled && have.ID == "":
		return nil
	case e.Cancelled:
		err = c.cancelEvent(ctx, guild, have.ID)
	case !e.Start.After(c.o.Now()):
		return nil
	case have.ID != "":
		err = c.rest.do(ctx, call{method: http.MethodPatch, path: eventPath(guild, have.ID), bucket: "events " + guild, body: want, again: true})
		if !gone(err) {
			break
		}
		fallthrough
	default:
		have.ID, err = c.makeEvent(ctx, guild, want)
	}
	if err != nil {
		return err
	}
	return c.notes.write(ctx, note, "", scheduled{have.ID, print}, later(e.End, e.Start).Add(keepPosts))
}

func eventPath(guild, id string) string { return "/guilds/" + guild + "/scheduled-events/" + id }

func (c *Chat) asGuildEvent(e bot.Event) guildEvent {
	end := e.End
	if !end.After(e.Start) {
		end = e.Start.Add(usualEvent)
	}
	name := cut(oneLine(e.Title), maxEventName)
	if name == "" {
		name = cut(c.say(bot.KeyHere), maxEventName)
	}
	return guildEvent{
		Name: name, About: cut(escape(e.About), maxEventAbout), Privacy: membersOnly, Kind: eventElsewhere,
		Start: e.Start.UTC().Format(time.RFC3339), End: end.UTC().Format(time.RFC3339),
		Where: eventWhere{cut(c.say(bot.KeyHere), 100)},
	}
}

// makeEvent is tried again only after a look whether it arrived: Discord has no
// key for events.
func (c *Chat) makeEvent(ctx context.Context, guild string, e guildEvent) (id string, err error) {
	for try := 1; ; try++ {
		var made listedEvent
		err = c.rest.do(ctx, call{method: http.MethodPost, path: "/guilds/" + guild + "/scheduled-events", bucket: "events " + guild, body: e, into: &made})
		refusal, answered := errors.AsType[*apiError](err)
		if err == nil || answered && !refusal.fleeting() || try >= c.o.Pace.Tries || ctx.Err() != nil {
			return made.ID, err
		}
		if pause(ctx, c.rest.backoff(try)) != nil {
			return "", err
		}
		if id, found := c.foundEvent(ctx, guild, e); found == nil && id != "" {
			return id, nil
		}
	}
}

// foundEvent is our own event of that name and time.
func (c *Chat) foundEvent(ctx context.Context, guild string, e guildEvent) (id string, err error) {
	var list []listedEvent
	if err := c.rest.do(ctx, call{method: http.MethodGet, path: "/guilds/" + guild + "/scheduled-events", bucket: "events " + guild, into: &list, again: true}); err != nil {
		return "", err
	}
	me := c.self.Load()
	for _, have := range list {
		mine := me == nil || have.Creator == "" || have.Creator == *me
		if mine && have.Kind == eventElsewhere && have.Name == e.Name && have.Start.UTC().Format(time.RFC3339) == e.Start {
			return have.ID, nil
		}
	}
	return "", nil
}

// cancelEvent cancels what is planned, ends what runs, and is content with what
// is over.
func (c *Chat) cancelEvent(ctx context.Context, guild, id string) error {
	status := func(n int) error {
		return c.rest.do(ctx, call{method: http.MethodPatch, path: eventPath(guild, id), bucket: "events " + guild, body: map[string]int{"status": n}, again: true})
	}
	err := status(eventCancelled)
	if gone(err) {
		return nil
	}
	if e, ok := errors.AsType[*apiError](err); ok && e.status == http.StatusBadRequest {
		if status(eventEnded) == nil {
			return nil
		}
	}
	return err
}

// gone tells that there is no such event any more.
func gone(err error) bool {
	e, ok := errors.AsType[*apiError](err)
	return ok && (e.code == codeNoEvent || e.status == http.StatusNotFound)
}
