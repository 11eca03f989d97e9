package discord

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"weftroom/bot"
)

// edited is the rest of a post of several messages, by the id of its first.
type edited struct {
	IDs []string `json:"ids"`
}

func restNote(first string) string { return "rest " + first }

// keepRest keeps the ids after the first, so that an edit finds them.
func (c *Chat) keepRest(ctx context.Context, ids []string) error {
	if len(ids) < 2 {
		return nil
	}
	return c.notes.write(ctx, restNote(ids[0]), "", edited{ids[1:]}, c.until(keepPosts))
}

// Edit implements bot.Editor. A post of several messages keeps those that the
// new words need, and gains or loses others. Doing it again changes nothing.
func (c *Chat) Edit(ctx context.Context, in bot.Place, id string, r bot.Reply) error {
	if err := known(in); err != nil {
		return err
	}
	if !isID(id) {
		return &bot.SendError{Permanent: true, Err: errors.New("discord has no such message")}
	}
	c.schedule(ctx, in.Room, r.Events)
	messages := c.furnish(ctx, c.render(r, ""), r, reader{})
	if len(messages) == 0 {
		return &bot.SendError{Permanent: true, Err: errors.New("discord: the post is empty")}
	}
	for n, m := range messages {
		messages[n] = c.drawn(m)
	}
	if err := c.patch(ctx, in.Room, id, messages[0]); err != nil {
		return asSendError(err)
	}
	return asSendError(c.editRest(ctx, in.Room, id, messages[1:]))
}

func (c *Chat) editRest(ctx context.Context, room, first string, messages []message) error {
	var old edited
	if _, err := c.notes.read(ctx, restNote(first), &old); err != nil {
		return err
	}
	now := []string{first}
	for n, m := range messages {
		if n < len(old.IDs) {
			if err := c.patch(ctx, room, old.IDs[n], m); err != nil {
				return err
			}
			now = append(now, old.IDs[n])
			continue
		}
		id, err := c.create(ctx, room, part(digest("rest", first, m.digest()), n), m)
		if err != nil {
			return err
		}
		now = append(now, id)
	}
	for _, id := range old.IDs[min(len(messages), len(old.IDs)):] {
		err := c.rest.do(ctx, call{method: http.MethodDelete, path: "/channels/" + room + "/messages/" + id, bucket: "edit " + room, again: true})
		if e, ok := errors.AsType[*apiError](err); err != nil && (!ok || e.code != codeNotHere) {
			return err
		}
	}
	if len(old.IDs) == 0 && len(now) == 1 {
		return nil
	}
	return c.notes.write(ctx, restNote(first), "", edited{now[1:]}, c.until(keepPosts))
}

// patch puts a message in the place of one that is there. Files that it has
// already are named and not sent again (documentation, Message Resource, Edit
// Message: attachments lists all that shall be there afterwards).
func (c *Chat) patch(ctx context.Context, room, id string, m message) error {
	body, files := m.payload(), m.ready()
	if there := c.filesThere(id, files); there != nil {
		body.Attachments = there
		err := c.revise(ctx, room, id, body, nil, nil)
		if e, ok := errors.AsType[*apiError](err); !ok || e.status != http.StatusBadRequest {
			return err
		}
		body = m.payload() // they are not there any more
	}
	c.files.remove(id)
	var now received
	err := c.revise(ctx, room, id, body, files, &now)
	if err == nil {
		c.keepFiles(id, files, now.Attachments)
	}
	return err
}

// revise changes of a message what body names.
func (c *Chat) revise(ctx context.Context, room, id string, body any, files []upload, into any) error {
	return c.rest.do(ctx, call{
		method: http.MethodPatch, path: "/channels/" + room + "/messages/" + id, bucket: "edit " + room, body: body, files: files, into: into, again: true,
	})
}

// keepFiles remembers under which ids Discord has the files of a message. When
// that is forgotten, they are sent again. A message that was there already under
// its nonce may have others.
func (c *Chat) keepFiles(id string, files []upload, there []attachment) {
	if len(files) == 0 || len(files) != len(there) {
		return
	}
	ids := []string{printOf(files)}
	for n, a := range there {
		if a.Size != int64(len(files[n].bytes)) {
			return
		}
		ids = append(ids, a.ID)
	}
	c.files.set(id, strings.Join(ids, " "))
}

// filesThere names files that a message has already; nil when it has others.
func (c *Chat) filesThere(id string, files []upload) []attachment {
	known, _ := c.files.get(id)
	ids := strings.Fields(known)
	if len(ids) == 0 || ids[0] != printOf(files) {
		return nil
	}
	var out []attachment
	for _, id := range ids[1:] {
		out = append(out, attachment{ID: id})
	}
	return out
}

// printOf is what files can be known by.
func printOf(files []upload) string {
	var parts []string
	for _, f := range files {
		parts = append(parts, f.name, f.media, f.alt, string(f.bytes))
	}
	return digest(parts...)
}
