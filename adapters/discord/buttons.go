package discord

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"weftroom/bot"
)

// A custom id says what a component does, for as long as its message stands: no
// memory of this process is needed. It begins with the version of this form;
// then come the kind, the component's number in its message (two components of a
// message may not have the same id), and either the command line itself or, when
// that is too long, the digest under which it is kept in the notes.
//
//	w1r0:loom heddle:10      w1f2#k3J0…
const (
	idVersion = "w1"
	markRun   = 'r' // run the line
	markShare = 's' // run the line and show everyone the answer
	markForm  = 'f' // open a form; always kept
	markMenu  = 'm' // a select; what was chosen is a custom id
)

var idForm = pattern(`(?s)^` + idVersion + `([rsfm])([0-9]{1,3})([:#])(.*)$`)

// mark is a custom id, read.
type mark struct {
	kind byte
	line string // "" when it is kept under digest
	kept string // digest
}

func readMark(id string) (mark, bool) {
	m := idForm().FindStringSubmatch(id)
	switch {
	case m == nil:
		return mark{}, false
	case m[3] == "#":
		return mark{kind: m[1][0], kept: m[4]}, m[4] != ""
	}
	return mark{kind: m[1][0], line: m[4]}, true
}

func idStart(kind byte, n int, sign string) string {
	return idVersion + string(kind) + strconv.Itoa(n) + sign
}

// keptLine is a line that did not fit into a custom id.
type keptLine struct {
	Line string `json:"line"`
}

func noteOf(digest string) string { return "button " + digest }

// idOf is the custom id of a line, which is kept when it must be. The note
// belongs to whom it was shown, so that it is forgotten with her; "" is nobody.
func (c *Chat) idOf(ctx context.Context, kind byte, n int, line, whom string) (string, error) {
	id := idStart(kind, n, ":") + line
	if size(id) <= maxCustomID {
		return id, nil
	}
	name := digest("line", whom, line)
	return idStart(kind, n, "#") + name, c.notes.write(ctx, noteOf(name), whom, keptLine{line}, c.o.Now().Add(keepButtons))
}

// lineOf is the line that a mark stands for, "" when nobody knows any more.
func (c *Chat) lineOf(ctx context.Context, m mark) (string, error) {
	if m.kept == "" {
		return m.line, nil
	}
	var kept keptLine
	_, err := c.notes.read(ctx, noteOf(m.kept), &kept)
	return kept.Line, err
}

// reader is who will see a message.
type reader struct {
	user  string // alone; "" for a room
	share string // the line whose answer she may show everyone, "" for none
}

// furnish puts the buttons of a reply under its last message. A button that
// cannot be kept is left out rather than the answer.
func (c *Chat) furnish(ctx context.Context, messages []message, r bot.Reply, to reader) []message {
	if r.Problem != nil {
		return messages
	}
	rows := c.rows(ctx, r, to)
	if len(rows) == 0 {
		return messages
	}
	if len(messages) == 0 {
		messages = []message{{content: escape(oneLine(r.Buttons[0].Label))}}
	}
	messages[len(messages)-1].components = rows
	return messages
}

func (c *Chat) rows(ctx context.Context, r bot.Reply, to reader) []component {
	var own, more []component
	for i, b := range r.Buttons {
		own = c.with(own, b.Label, b.Line)(c.idOf(ctx, markRun, i, b.Line, to.user))
	}
	if r.Ask != nil && r.Ask.Line != "" {
		more = c.with(more, c.say(bot.KeyAnswerIt), "")(c.keepForm(ctx, len(r.Buttons), askingOf(r), to.user, keepButtons))
	}
	if to.share != "" {
		more = c.with(more, c.say(bot.KeyShare), "")(c.idOf(ctx, markShare, len(r.Buttons)+1, to.share, to.user))
	}
	if len(own)+len(more) > maxRows*maxInRow {
		return append(menus(own), inRows(more)...)
	}
	return inRows(append(own, more...))
}

// with adds a button, once its id is known.
func (c *Chat) with(list []component, label, line string) func(id string, err error) []component {
	return func(id string, err error) []component {
		if err != nil {
			c.o.Log.Error("a button cannot be kept", "chat", ChatName, "err", err)
			return list
		}
		if label = oneLine(label); label == "" {
			label = oneLine(line)
		}
		return append(list, component{Type: componentButton, Style: buttonPlain, Label: cut(label, maxButtonLabel), CustomID: id})
	}
}

func inRows(buttons []component) []component {
	var rows []component
	for row := range slices.Chunk(buttons, maxInRow) {
		rows = append(rows, component{Type: componentRow, Components: row})
	}
	return rows
}

// menus sets more buttons than fit as selects. What is too much even for those
// has been said in words.
func menus(buttons []component) []component {
	var rows []component
	for list := range slices.Chunk(buttons[:min(len(buttons), maxChoices)], maxOptions) {
		menu := component{Type: componentSelect, CustomID: idStart(markMenu, len(rows), ":")}
		for _, b := range list {
			menu.Options = append(menu.Options, selectable{Label: cut(b.Label, maxOptionLabel), Value: b.CustomID})
		}
		menu.Placeholder = fmt.Sprintf("%s – %s", cut(list[0].Label, 60), cut(list[len(list)-1].Label, 60))
		rows = append(rows, component{Type: componentRow, Components: []component{menu}})
	}
	return rows
}

// maxChoices is how many buttons a message can have as selects, with a row left.
const maxChoices = (maxRows - 1) * maxOptions

// asLine is a request as one line, which means the same.
func asLine(r bot.Request) string {
	if r.Command == "" {
		return strings.TrimSpace(r.Line)
	}
	line := r.Command
	for _, name := range slices.Sorted(maps.Keys(r.Values)) {
		line += " " + bot.Written(name, r.Values[name])
	}
	return line
}

// until is when a note that is made now ends.
func (c *Chat) until(d time.Duration) time.Time { return c.o.Now().Add(d) }
