package lesson

import (
	"context"
	"crypto/rand"
	"errors"
	"io"
	"slices"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
)

// A class may meet in several places, in one chat or in several. A room joins a
// class by a code, because a teacher may be someone else in the other chat: she
// is told the code alone, and it is good for ten minutes and for one room. The
// room's own people protect it as well: only who may run it can place a class
// there. Each of the class's other rooms is told, and every room can be left
// again. In the new room nobody becomes a teacher by it: that takes a link.

// Sentences about places.
const (
	keyCodeAlone calc.Key = "class.code_alone" // no arguments: a code is for the teacher alone
	keyCodeWrong calc.Key = "class.code_wrong" // no arguments
	keyHereSince calc.Key = "class.here_since" // the class's name
	keyLastPlace calc.Key = "class.last_place" // no arguments
	keyNoPlace   calc.Key = "class.no_place"   // the number, how many there are
	keyPlaceSay  calc.Key = "class.place_say"  // no arguments: which one
)

const (
	codeLetters = "23456789abcdefghijkmnpqrstuvwxyz" // none that is read as another
	codeLength  = 10
	codeLasts   = 10 * time.Minute
)

func classCode(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "code", Who: bot.Teacher, Changes: true,
		Examples: []string{"class code"},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			s, err := d.inClass(ctx, c)
			if err != nil {
				return bot.Reply{}, err
			}
			if !c.Request.Direct {
				return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyCodeAlone}
			}
			code, err := d.newCode()
			if err != nil {
				return bot.Reply{}, err
			}
			err = d.Store.PutLink(ctx, class.Link{Code: codeKey(code), From: codeOf(s.Class.ID), Expires: d.Now().Add(codeLasts)})
			return bot.Reply{
				Title: c.Say("class.code", s.Class.Name),
				Body: []bot.Block{
					bot.Paragraph(c.Say("class.code_how", int(codeLasts.Minutes()))),
					bot.List{"class here code:" + code},
					bot.Paragraph(c.Say("class.code_note")),
				},
				Data: codeData{Code: code, Minutes: int(codeLasts.Minutes())},
			}, err
		},
	}
}

// codeData is a code for scripts.
type codeData struct {
	Code    string `json:"code"`
	Minutes int    `json:"minutes"`
}

func (d *Desk) newCode() (string, error) {
	var random io.Reader = rand.Reader
	if d.Random != nil {
		random = d.Random
	}
	raw := make([]byte, codeLength)
	if _, err := io.ReadFull(random, raw); err != nil {
		return "", err
	}
	for i, b := range raw {
		raw[i] = codeLetters[int(b)%len(codeLetters)]
	}
	return string(raw), nil
}

// A code is kept as an offer to link, under a name that no link's code has: its
// digest, so that nobody can read it from the database. Whose offer it is says
// which class it is for.

func codeKey(code string) string { return "@class " + timetable.PostKey("class here", code) }

const codeChat = "@class"

func codeOf(id class.ID) bot.Account { return bot.Account{Chat: codeChat, User: string(id)} }

func classHere(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "here", Aliases: []string{"meet"}, Changes: true,
		Params:   []bot.Param{{Name: "code", Kind: bot.Words, Required: true, First: true, Max: "40"}},
		Examples: []string{"class here code:k7m2q9x4tz"},
		Run:      d.meetHere,
	}
}

// meetHere adds the room to the class that a code is for.
func (d *Desk) meetHere(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	if err := mayRun(c); err != nil {
		return bot.Reply{}, err
	}
	wrong := &calc.Fault{Code: calc.BadValue, Key: keyCodeWrong, Field: "code", Example: "class code"}
	key := codeKey(strings.ToLower(strings.TrimSpace(c.Args.Text("code"))))
	offer, err := d.Store.Link(ctx, key)
	switch {
	case errors.Is(err, class.ErrNone), err == nil && (offer.From.Chat != codeChat || !d.Now().Before(offer.Expires)):
		return bot.Reply{}, wrong
	case err != nil:
		return bot.Reply{}, err
	}
	k, err := d.Store.Class(ctx, class.ID(offer.From.User))
	switch {
	case errors.Is(err, class.ErrNone), err == nil && !k.Closed.IsZero():
		return bot.Reply{}, wrong
	case err != nil:
		return bot.Reply{}, err
	}
	others, err := d.Store.Places(ctx, k.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	if slices.Contains(others, c.Request.In) {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyHereSince, Args: []any{k.Name}, Example: "class leave"}
	}
	if err := d.free(ctx, c.Request.In); err != nil {
		return bot.Reply{}, err
	}
	if err := errors.Join(d.Store.AddPlace(ctx, k.ID, c.Request.In), d.Store.DeleteLink(ctx, key), d.replan(ctx, k.ID)); err != nil {
		return bot.Reply{}, err
	}
	if err := d.tellPlaces(ctx, k.ID, c.Say("class.here_told", c.Request.In.Chat), others); err != nil {
		return bot.Reply{}, err
	}
	data, err := d.classData(ctx, c, k)
	return bot.Reply{
		Title:    c.Say("class.here", k.Name),
		Body:     []bot.Block{bot.Paragraph(c.Say("class.here_what"))},
		Audience: bot.Room, Data: data,
	}, err
}

// tellPlaces posts a sentence to rooms, at once.
func (d *Desk) tellPlaces(ctx context.Context, id class.ID, text string, places []bot.Place) error {
	now := d.Now()
	var posts []timetable.Post
	for _, p := range places {
		posts = append(posts, timetable.Post{
			Key: timetable.PostKey("places", string(id), p.Chat, p.Room, now.UTC().Format(time.RFC3339Nano)),
			To:  p, Class: id, Kind: timetable.KindSay, Payload: payloadOf(timetable.Details{Text: text}),
			Due: now, Expires: now.Add(24 * time.Hour),
		})
	}
	return d.post(ctx, posts...)
}

func classLeave(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "leave", Who: bot.Teacher, Changes: true,
		Params:   []bot.Param{{Name: "place", Kind: bot.Count, First: true, Min: "1", Max: "99"}},
		Examples: []string{"class leave", "class leave place:2"},
		Run:      d.leavePlace,
	}
}

// leavePlace takes a place out of the class: the room where it is asked, or one
// of those that class show numbers.
func (d *Desk) leavePlace(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.inClass(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	places, err := d.Store.Places(ctx, s.Class.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	i := slices.Index(places, c.Request.In)
	if c.Args.Has("place") {
		i = c.Args.Count("place") - 1
	}
	switch {
	case i >= len(places):
		return bot.Reply{}, &calc.Fault{Code: calc.OutOfRange, Key: keyNoPlace, Field: "place", Args: []any{i + 1, len(places)}, Example: "class show"}
	case i < 0:
		return bot.Reply{}, missing(keyPlaceSay, "place", "class leave place:2")
	case len(places) == 1:
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyLastPlace, Example: "class close"}
	}
	if err := errors.Join(d.Store.RemovePlace(ctx, places[i]), d.replan(ctx, s.Class.ID)); err != nil {
		return bot.Reply{}, err
	}
	data, err := d.classData(ctx, c, s.Class)
	reply := bot.Reply{
		Title: c.Say("class.left", s.Class.Name, places[i].Chat, cleanLine(places[i].Room, 80)),
		Body:  []bot.Block{bot.Paragraph(c.Texts.Count(c.Units, "class.left_places", data.Places))},
		Data:  data,
	}
	if places[i] == c.Request.In {
		reply.Title, reply.Audience = c.Say("class.left_here", s.Class.Name), bot.Room
	}
	return reply, err
}
