package discordtest

import (
	"encoding/json"
	"net/http"
	"slices"
	"strconv"
)

func (s *Server) createMessage(r *http.Request, b *body) (answer, error) {
	need := ViewChannel | SendMessages
	if len(b.files) > 0 {
		need |= AttachFiles
	}
	c, err := s.channelOf(r, need)
	if err != nil {
		return answer{}, err
	}
	if c.direct != nil && c.direct.refuses {
		return answer{}, errNoDirect
	}
	p := &payload{}
	if err := b.into(p); err != nil {
		return answer{}, err
	}
	if err := p.check(); err != nil {
		return answer{}, err
	}
	if p.Flags&flagEphemeral != 0 {
		return answer{}, form("flags", "a message that is no answer cannot be ephemeral")
	}
	key, err := nonceOf(p.Nonce)
	if err != nil {
		return answer{}, err
	}
	if n, ok := s.nonces[key]; ok && p.EnforceNonce && key != "" && s.now().Sub(n.at) < nonceWindow {
		return answer{200, n.m.object(true)}, nil
	}
	m := &message{id: s.newID(), in: c, author: s.users[s.AppID], at: s.now()}
	if key != "" {
		m.nonce = p.Nonce
	}
	if err := m.fill(p, b); err != nil {
		return answer{}, err
	}
	if p.Reference != nil {
		m.replyTo = p.Reference.Message
	}
	if key != "" {
		s.nonces[key] = nonce{m, s.now()}
	}
	c.add(m)
	return answer{200, m.object(true)}, nil
}

// nonceOf is a nonce: an integer, or a text of 25 characters at most.
func nonceOf(n json.RawMessage) (string, error) {
	if len(n) == 0 || string(n) == "null" {
		return "", nil
	}
	var text string
	if json.Unmarshal(n, &text) == nil {
		if units(text) > 25 {
			return "", form("nonce", "Must be 25 or fewer in length.")
		}
		return text, nil
	}
	if _, err := strconv.ParseInt(string(n), 10, 64); err != nil {
		return "", form("nonce", "This field must be a string or integer.")
	}
	return string(n), nil
}

func (s *Server) getMessages(r *http.Request, _ *body) (answer, error) {
	c, err := s.channelOf(r, ViewChannel|ReadHistory)
	if err != nil {
		return answer{}, err
	}
	q := r.URL.Query()
	limit := 50
	if l := q.Get("limit"); l != "" {
		n, err := strconv.Atoi(l)
		if err != nil || n < 1 || n > 100 {
			return answer{}, form("limit", "int value should be between 1 and 100.")
		}
		limit = n
	}
	before, after := number(q.Get("before")), number(q.Get("after"))
	var found []*message
	for _, m := range c.messages {
		id := number(m.id)
		if m.only == nil && !m.deleted && (before == 0 || id < before) && (after == 0 || id > after) {
			found = append(found, m)
		}
	}
	if len(found) > limit {
		if after != 0 && before == 0 {
			found = found[:limit]
		} else {
			found = found[len(found)-limit:]
		}
	}
	out := []object{}
	for _, m := range slices.Backward(found) {
		out = append(out, m.object(false))
	}
	return answer{200, out}, nil
}

func number(id string) uint64 {
	n, _ := strconv.ParseUint(id, 10, 64)
	return n
}

// messageOf is the message of a request that everyone sees.
func (s *Server) messageOf(r *http.Request, need int64) (*message, error) {
	c, err := s.channelOf(r, need)
	if err != nil {
		return nil, err
	}
	for _, m := range c.messages {
		if m.id == r.PathValue("message") && m.only == nil && !m.deleted {
			return m, nil
		}
	}
	return nil, errNoMessage
}

func (s *Server) getMessage(r *http.Request, _ *body) (answer, error) {
	m, err := s.messageOf(r, ViewChannel|ReadHistory)
	if err != nil {
		return answer{}, err
	}
	return answer{200, m.object(false)}, nil
}

func (s *Server) editMessage(r *http.Request, b *body) (answer, error) {
	m, err := s.messageOf(r, ViewChannel)
	if err != nil {
		return answer{}, err
	}
	if m.author.ID != s.AppID {
		return answer{}, errNotOurs
	}
	return m.edit(b)
}

// edit changes a message as a body says.
func (m *message) edit(b *body) (answer, error) {
	p := &payload{}
	if err := b.into(p); err != nil {
		return answer{}, err
	}
	if err := p.check(); err != nil {
		return answer{}, err
	}
	// Whether a message is ephemeral is settled when it begins.
	p.Flags &= flagSuppressEmbeds
	if err := m.fill(p, b); err != nil {
		return answer{}, err
	}
	m.edited = !m.loading
	m.loading = false
	m.in.change(m)
	return answer{200, m.object(false)}, nil
}

func (s *Server) deleteMessage(r *http.Request, _ *body) (answer, error) {
	m, err := s.messageOf(r, ViewChannel)
	if err != nil {
		return answer{}, err
	}
	if m.author.ID != s.AppID {
		return answer{}, errNoPermission
	}
	s.remove(m)
	return answer{204, nil}, nil
}

func (s *Server) remove(m *message) {
	m.deleted = true
	s.touch()
}
