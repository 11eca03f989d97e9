package discordtest

import (
	"context"
	"net/http"
	"slices"
)

// ofToken is the interaction whose token a request has.
func (s *Server) ofToken(r *http.Request) (*Interaction, error) {
	i := s.byToken[r.PathValue("token")]
	switch {
	case i == nil || r.PathValue("app") != s.AppID:
		return nil, errNoWebhook
	case s.now().Sub(i.at) > tokenLife:
		return nil, errTokenOver
	case i.answerType == 0:
		return nil, errNoWebhook
	}
	return i, nil
}

func (s *Server) followUp(r *http.Request, b *body) (answer, error) {
	i, err := s.ofToken(r)
	if err != nil {
		return answer{}, err
	}
	if i.answerType == AnswerDeferred && i.original.loading {
		return i.original.edit(b) // documented: it takes the place of the message that was to come
	}
	p := &payload{}
	if err := b.into(p); err != nil {
		return answer{}, err
	}
	if err := p.check(); err != nil {
		return answer{}, err
	}
	if i.in.guild != nil && i.in.guild.absent && i.follow >= 5 {
		return answer{}, errTooManyReplies
	}
	m := i.newMessage(p)
	if err := m.fill(p, b); err != nil {
		return answer{}, err
	}
	i.follow++
	i.in.add(m)
	return answer{200, m.object(false)}, nil
}

// answerOf is the message that a request names by @original or its id.
func (s *Server) answerOf(r *http.Request) (*message, error) {
	i, err := s.ofToken(r)
	if err != nil {
		return nil, err
	}
	id := r.PathValue("message")
	if id == "@original" {
		if i.original == nil || i.original.deleted {
			return nil, errNoMessage
		}
		return i.original, nil
	}
	for _, m := range i.in.messages {
		if m.id == id && !m.deleted && (m.interaction == i || m == i.message) {
			return m, nil
		}
	}
	return nil, errNoMessage
}

func (s *Server) getAnswer(r *http.Request, _ *body) (answer, error) {
	m, err := s.answerOf(r)
	if err != nil {
		return answer{}, err
	}
	return answer{200, m.object(false)}, nil
}

func (s *Server) editAnswer(r *http.Request, b *body) (answer, error) {
	m, err := s.answerOf(r)
	if err != nil {
		return answer{}, err
	}
	return m.edit(b)
}

func (s *Server) deleteAnswer(r *http.Request, _ *body) (answer, error) {
	m, err := s.answerOf(r)
	if err != nil {
		return answer{}, err
	}
	s.remove(m)
	return answer{204, nil}, nil
}

// Type waits for the first answer and gives its type.
func (i *Interaction) Type(ctx context.Context) (int, error) {
	err := i.srv.await(ctx, func() bool { return i.answerType != 0 })
	return i.answerType, err
}

// Failed tells that the bot has let the time for its first answer go by: the
// person sees that the application did not respond.
func (i *Interaction) Failed() bool {
	i.srv.mu.Lock()
	defer i.srv.mu.Unlock()
	return i.answerType == 0 && i.srv.now().Sub(i.at) > firstAnswer
}

// Message waits for the message that answers, once it has words.
func (i *Interaction) Message(ctx context.Context) (Message, error) {
	var out Message
	err := i.srv.await(ctx, func() bool {
		m := i.original
		if m == nil || m.loading || i.answerType == AnswerLater && !m.edited {
			return false
		}
		out = m.seen()
		return true
	})
	return out, err
}

// Modal waits for the form that answers.
func (i *Interaction) Modal(ctx context.Context) (*Modal, error) {
	err := i.srv.await(ctx, func() bool { return i.modal != nil })
	return i.modal, err
}

// Choices waits for the completions that answer.
func (i *Interaction) Choices(ctx context.Context) ([]Choice, error) {
	err := i.srv.await(ctx, func() bool { return i.answerType == AnswerChoices })
	return slices.Clone(i.choices), err
}
