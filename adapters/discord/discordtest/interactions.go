package discordtest

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"
)

// Kinds of interactions.
const (
	kindCommand   = 2
	kindComponent = 3
	kindComplete  = 4
	kindModal     = 5
)

// Types of first answers ("Receiving and Responding").
const (
	AnswerMessage  = 4 // a message
	AnswerDeferred = 5 // a message is to come
	AnswerLater    = 6 // the message that held the component may be changed later
	AnswerUpdate   = 7 // the message that held the component is changed
	AnswerChoices  = 8 // what may be chosen
	AnswerModal    = 9 // a form
)

// firstAnswer and tokenLife are how long an interaction waits for its first
// answer, and how long its token is good.
const (
	firstAnswer = 3 * time.Second
	tokenLife   = 15 * time.Minute
)

// Interaction is one thing that a person did with the bot.
type Interaction struct {
	ID    string
	Token string

	srv     *Server
	kind    int
	user    *User
	in      *Channel
	at      time.Time
	data    object
	message *message // that held the component, or under which the form was opened

	answerType int // 0 until there is one
	answered   time.Time
	original   *message
	follow     int // how many follow-ups there were
	modal      *Modal
	choices    []Choice
}

// Choice is one completion.
type Choice struct {
	Name  string `json:"name"`
	Value any    `json:"value"`
}

// begin has the bot told of an interaction. The caller holds mu.
func (s *Server) begin(i *Interaction) *Interaction {
	i.srv, i.ID, i.at = s, s.newID(), s.now()
	i.Token = "interaction-token-" + i.ID
	s.interactions[i.ID], s.byToken[i.Token] = i, i
	s.old = append(s.old, i)
	for len(s.old) > 0 && s.now().Sub(s.old[0].at) > 2*tokenLife || s.opts.Keep > 0 && len(s.old) > s.opts.Keep {
		delete(s.interactions, s.old[0].ID)
		delete(s.byToken, s.old[0].Token)
		s.old = s.old[1:]
	}
	s.deliver(i)
	return i
}

func (s *Server) deliver(i *Interaction) {
	guild := ""
	if i.in.guild != nil {
		guild = i.in.guild.ID
	}
	s.dispatch("INTERACTION_CREATE", i.object(), 0, guild)
}

// Again tells the bot of the same interaction once more, as Discord sometimes
// does.
func (i *Interaction) Again() {
	i.srv.mu.Lock()
	defer i.srv.mu.Unlock()
	i.srv.deliver(i)
}

// owners are by whose installation the command was there.
func (i *Interaction) owners() object {
	if g := i.in.guild; g != nil && !g.absent {
		return object{"0": g.ID}
	}
	return object{"1": i.user.ID}
}

func (i *Interaction) object() object {
	o := object{
		"id": i.ID, "application_id": i.srv.AppID, "type": i.kind, "token": i.Token, "version": 1, "channel_id": i.in.ID,
		"channel": i.in.object(), "data": i.data, "locale": "en-US", "entitlements": []object{}, "attachment_size_limit": maxUpload,
		"authorizing_integration_owners": i.owners(),
	}
	if g := i.in.guild; g != nil {
		o["guild_id"], o["guild"], o["guild_locale"], o["context"] = g.ID, object{"id": g.ID, "locale": "en-US", "features": []string{}}, "en-US", 0
		o["member"], o["app_permissions"] = g.member(i.user), fmt.Sprint(all(g.perms))
	} else {
		o["user"], o["context"], o["app_permissions"] = i.user.object(), 1, fmt.Sprint(everyone)
	}
	if i.message != nil {
		o["message"] = i.message.object(false)
	}
	return o
}

// fits tells whether a first answer of this type fits the interaction.
func (i *Interaction) fits(typ int) bool {
	switch i.kind {
	case kindCommand:
		return typ == AnswerMessage || typ == AnswerDeferred || typ == AnswerModal
	case kindComplete:
		return typ == AnswerChoices
	case kindComponent:
		return typ >= AnswerMessage && typ <= AnswerModal && typ != AnswerChoices
	case kindModal:
		// A form that a component opened can change the component's message.
		return typ == AnswerMessage || typ == AnswerDeferred || i.message != nil && (typ == AnswerLater || typ == AnswerUpdate)
	}
	return false
}

func (s *Server) callback(r *http.Request, b *body) (answer, error) {
	i := s.interactions[r.PathValue("id")]
	if i == nil || i.Token != r.PathValue("token") {
		return answer{}, errNoInteraction
	}
	if i.answerType != 0 {
		return answer{}, errAnswered
	}
	if s.now().Sub(i.at) > firstAnswer {
		return answer{}, errNoInteraction
	}
	var d struct {
		Type *int            `json:"type"`
		Data json.RawMessage `json:"data"`
	}
	if err := b.into(&d); err != nil {
		return answer{}, err
	}
	if d.Type == nil || !i.fits(*d.Type) {
		return answer{}, form("type", "an interaction of type %d cannot be answered so", i.kind)
	}
	if err := i.answer(*d.Type, &body{d.Data, b.files}); err != nil {
		return answer{}, err
	}
	i.answerType, i.answered = *d.Type, s.now()
	s.touch()
	if r.URL.Query().Get("with_response") != "true" {
		return answer{204, nil}, nil
	}
	about := object{"id": i.ID, "type": i.kind, "response_message_loading": i.original != nil && i.original.loading}
	out := object{"interaction": about}
	if i.original != nil {
		about["response_message_id"] = i.original.id
		out["resource"] = object{"type": *d.Type, "message": i.original.object(false)}
	}
	return answer{200, out}, nil
}

// answer does what a first answer says.
func (i *Interaction) answer(typ int, b *body) error {
	switch typ {
	case AnswerMessage, AnswerDeferred:
		return i.answerMessage(typ, b)
	case AnswerLater:
		i.original = i.message
		return nil
	case AnswerUpdate:
		i.original = i.message
		if i.message.deleted {
			return errNoMessage
		}
		_, err := i.message.edit(b)
		return inData(err)
	case AnswerChoices:
		var d struct {
			Choices []Choice `json:"choices"`
		}
		if err := b.into(&d); err != nil {
			return inData(err)
		}
		if len(d.Choices) > 25 {
			return form("data.choices", "Must be 25 or fewer in length.")
		}
		for n, c := range d.Choices {
			at := fmt.Sprintf("data.choices.%d.", n)
			if err := length(at+"name", c.Name, 1, 100); err != nil {
				return err
			}
			if v, ok := c.Value.(string); ok && (v == "" || units(v) > 100) || c.Value == nil {
				return form(at+"value", "Must be between 1 and 100 in length.")
			}
		}
		i.choices = d.Choices
	case AnswerModal:
		var d struct {
			Title      string      `json:"title"`
			CustomID   string      `json:"custom_id"`
			Components []Component `json:"components"`
		}
		if err := b.into(&d); err != nil {
			return inData(err)
		}
		m, err := checkModal(d.Title, d.CustomID, d.Components)
		if err != nil {
			return err
		}
		m.of, i.modal = i, m
	}
	return nil
}

func inData(err error) error {
	if no, ok := err.(*refusal); ok && no.where != "" {
		return form("data."+no.where, "%s", no.message)
	}
	return err
}

// answerMessage begins the message that answers, now or later.
func (i *Interaction) answerMessage(typ int, b *body) error {
	p := &payload{}
	if len(b.raw) > 0 && string(b.raw) != "null" {
		if err := b.into(p); err != nil {
			return inData(err)
		}
	} else if typ == AnswerMessage {
		return errEmpty
	}
	if err := p.check(); err != nil {
		return inData(err)
	}
	m := i.newMessage(p)
	if typ == AnswerDeferred {
		m.loading = true
	} else if err := m.fill(p, b); err != nil {
		return inData(err)
	}
	i.original = m
	i.in.add(m)
	return nil
}

func (i *Interaction) newMessage(p *payload) *message {
	m := &message{
		id: i.srv.newID(), in: i.in, author: i.srv.users[i.srv.AppID], at: i.srv.now(), flags: p.Flags, interaction: i,
	}
	if p.Flags&flagEphemeral != 0 {
		m.only = i.user
	}
	return m
}
