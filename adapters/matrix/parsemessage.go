package matrix

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"maunium.net/go/mautrix/crypto/attachment"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
)

// said is the content of a message as far as it can be understood. Anybody
// can send any JSON: what is missing or of a wrong type counts as not there.
type said struct {
	kind       event.MessageType
	body, html string
	corrects   bool       // it is the new text of an earlier message
	replyTo    id.EventID // it answers that message, and is not merely in its thread
	mentions   []id.UserID
	file       *attached
	command    string // of a structured command (MSC4391): its name, and its arguments as written
	values     map[string]string
}

// attached is a file in a message.
type attached struct {
	name, mediaType string
	size            int64
	uri             id.ContentURI
	secret          *attachment.EncryptedFile // nil when it is not encrypted
}

// object is a JSON object of which nothing is known.
type object map[string]any

func (o object) text(key string) string {
	s, _ := o[key].(string)
	return s
}

func (o object) object(key string) object {
	m, _ := o[key].(map[string]any)
	return m
}

func (o object) flag(key string) bool {
	b, _ := o[key].(bool)
	return b
}

func readSaid(raw map[string]any) said {
	o := object(raw)
	m := said{kind: event.MessageType(o.text("msgtype")), body: o.text("body")}
	if event.Format(o.text("format")) == event.FormatHTML {
		m.html = event.TrimReplyFallbackHTML(o.text("formatted_body"))
	}
	related := o.object("m.relates_to")
	m.corrects = event.RelationType(related.text("rel_type")) == event.RelReplace
	if !related.flag("is_falling_back") {
		m.replyTo = id.EventID(related.object("m.in_reply_to").text("event_id"))
	}
	users, _ := o.object("m.mentions")["user_ids"].([]any)
	for _, u := range users {
		if s, ok := u.(string); ok {
			m.mentions = append(m.mentions, id.UserID(s))
		}
	}
	if m.kind.IsMedia() {
		m.file = o.attached()
	}
	m.command, m.values = o.structured()
	return m
}

// thread is the first event of the thread in which an event is, "" when it is in
// none.
func thread(raw map[string]any) id.EventID {
	related := object(raw).object("m.relates_to")
	if event.RelationType(related.text("rel_type")) != event.RelThread {
		return ""
	}
	return id.EventID(related.text("event_id"))
}

func (m said) calls(user id.UserID) bool {
	for _, u := range m.mentions {
		if u == user {
			return true
		}
	}
	return false
}

// words are what somebody wrote: without what was quoted above it by programs
// that answer so, and for a file only its caption.
func (m said) words() string {
	body := m.body
	if m.file != nil && (m.file.name == m.body || m.file.name == "") {
		return ""
	}
	if m.replyTo == "" {
		return body
	}
	lines := strings.Split(body, "\n")
	quoted := 0
	for quoted < len(lines) && strings.HasPrefix(lines[quoted], ">") {
		quoted++
	}
	return strings.Join(lines[quoted:], "\n")
}

// attached reads what an event says of its file; nil when nothing could be
// loaded.
func (o object) attached() *attached {
	a := &attached{name: o.text("filename"), mediaType: o.object("info").text("mimetype")}
	if a.name == "" {
		a.name = o.text("body")
	}
	if size, ok := o.object("info")["size"].(float64); ok && size > 0 && size <= math.MaxInt32 {
		a.size = int64(size)
	}
	where := o.text("url")
	if sealed := o.object("file"); sealed != nil {
		where, a.secret = sealed.text("url"), &attachment.EncryptedFile{}
		raw, err := json.Marshal(sealed)
		if err != nil || json.Unmarshal(raw, a.secret) != nil {
			return nil
		}
	}
	uri, err := id.ParseContentURI(where)
	if err != nil || uri.IsEmpty() {
		return nil
	}
	a.uri = uri
	return a
}

// structured reads a command that a program has taken apart by what we advertise.
func (o object) structured() (command string, values map[string]string) {
	sent := o.object("org.matrix.msc4391.command")
	command = strings.TrimSpace(sent.text("command"))
	if command == "" {
		return "", nil
	}
	values = map[string]string{}
	for name, v := range sent.object("arguments") {
		switch v := v.(type) {
		case string:
			values[name] = v
		case float64:
			values[name] = strconv.FormatFloat(v, 'f', -1, 64)
		case bool:
			values[name] = yesNo(v)
		}
	}
	return command, values
}

// yesNo is how a switch is said to a command.
func yesNo(on bool) string {
	if on {
		return "yes"
	}
	return "no"
}

// find is the command to which words lead, nil when it is none.
func find(commands []*bot.Command, words []string) *bot.Command {
	var found *bot.Command
	for _, w := range words {
		c := among(commands, strings.TrimRight(w, "!.?,"))
		if c == nil {
			break
		}
		found, commands = c, c.Subs
	}
	return found
}

func among(commands []*bot.Command, name string) *bot.Command {
	for _, c := range commands {
		if c.Name == name {
			return c
		}
		for _, alias := range c.Aliases {
			if alias == name {
				return c
			}
		}
	}
	return nil
}
