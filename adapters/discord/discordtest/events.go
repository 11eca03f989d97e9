package discordtest

import (
	"context"
	"net/http"
	"slices"
	"time"
)

// Event is a scheduled event of a guild as people see it ("Guild Scheduled
// Event").
type Event struct {
	ID          string
	Name        string
	Description string
	Location    string
	Start, End  time.Time
	Cancelled   bool
}

// Events lists the events of the guild in the order of their creation, the
// cancelled ones too.
func (g *Guild) Events() []Event {
	g.srv.mu.Lock()
	defer g.srv.mu.Unlock()
	var out []Event
	for _, e := range g.events {
		out = append(out, *e)
	}
	return out
}

// AwaitEvents waits until ready is content with the guild's events.
func (g *Guild) AwaitEvents(ctx context.Context, ready func([]Event) bool) error {
	return g.srv.await(ctx, func() bool {
		var all []Event
		for _, e := range g.events {
			all = append(all, *e)
		}
		return ready(all)
	})
}

type eventBody struct {
	Name        *string `json:"name"`
	Description *string `json:"description"`
	Privacy     *int    `json:"privacy_level"`
	Entity      *int    `json:"entity_type"`
	Start       *string `json:"scheduled_start_time"`
	End         *string `json:"scheduled_end_time"`
	Status      *int    `json:"status"`
	Metadata    *struct {
		Location string `json:"location"`
	} `json:"entity_metadata"`
}

// Statuses and types of events.
const (
	eventScheduled = 1
	eventCancelled = 4
	entityExternal = 3
)

func (s *Server) guildOf(r *http.Request, need int64) (*Guild, error) {
	g := s.guilds[r.PathValue("guild")]
	switch {
	case g == nil:
		return nil, errNoGuild
	case g.absent:
		return nil, errNoAccess
	case need != 0 && all(g.perms)&need == 0:
		return nil, errNoPermission
	}
	return g, nil
}

func (s *Server) createEvent(r *http.Request, b *body) (answer, error) {
	g, err := s.guildOf(r, CreateEvents|ManageEvents)
	if err != nil {
		return answer{}, err
	}
	var d eventBody
	if err := b.into(&d); err != nil {
		return answer{}, err
	}
	switch {
	case d.Name == nil:
		return answer{}, form("name", "This field is required")
	case d.Privacy == nil || *d.Privacy != 2:
		return answer{}, form("privacy_level", "Value must be one of {2}.")
	case d.Entity == nil || *d.Entity != entityExternal:
		return answer{}, form("entity_type", "this server knows events outside of the chat only, which are of type 3")
	case d.Start == nil || d.End == nil:
		return answer{}, form("scheduled_end_time", "an external event has a start and an end")
	case d.Metadata == nil:
		return answer{}, form("entity_metadata.location", "This field is required")
	case d.Status != nil:
		return answer{}, form("status", "a new event has no status yet")
	}
	e := &Event{ID: s.newID()}
	if err := s.setEvent(e, &d); err != nil {
		return answer{}, err
	}
	if len(g.events)-s.ended(g) >= 100 {
		return answer{}, &refusal{400, 30038, "Maximum number of uncompleted guild scheduled events reached (100)", ""}
	}
	g.events = append(g.events, e)
	s.dispatch("GUILD_SCHEDULED_EVENT_CREATE", s.eventObject(g, e), intentEvents, g.ID)
	return answer{200, s.eventObject(g, e)}, nil
}

func (s *Server) ended(g *Guild) int {
	n := 0
	for _, e := range g.events {
		if e.Cancelled {
			n++
		}
	}
	return n
}

// setEvent changes an event as far as d says, or not at all.
func (s *Server) setEvent(e *Event, d *eventBody) error {
	to := *e
	var err error
	if d.Name != nil {
		to.Name = *d.Name
		if err := length("name", to.Name, 1, 100); err != nil {
			return err
		}
	}
	if d.Description != nil {
		to.Description = *d.Description
		if units(to.Description) > 1000 {
			return form("description", "Must be 1000 or fewer in length.")
		}
	}
	if d.Metadata != nil {
		to.Location = d.Metadata.Location
		if err := length("entity_metadata.location", to.Location, 1, 100); err != nil {
			return err
		}
	}
	for _, t := range []struct {
		where string
		said  *string
		to    *time.Time
	}{{"scheduled_start_time", d.Start, &to.Start}, {"scheduled_end_time", d.End, &to.End}} {
		if t.said == nil {
			continue
		}
		if *t.to, err = time.Parse(time.RFC3339Nano, *t.said); err != nil {
			return form(t.where, "Could not parse %s. Should be ISO8601.", *t.said)
		}
	}
	switch {
	case d.Start != nil && !to.Start.After(s.now()):
		return form("scheduled_start_time", "Cannot schedule event in the past.")
	case !to.End.After(to.Start):
		return form("scheduled_end_time", "Cannot schedule event to end before it starts.")
	}
	if d.Status != nil {
		if *d.Status != eventCancelled {
			return form("status", "this server knows the change from scheduled to cancelled only")
		}
		to.Cancelled = true
	}
	*e = to
	return nil
}

func (s *Server) eventObject(g *Guild, e *Event) object {
	status := eventScheduled
	if e.Cancelled {
		status = eventCancelled
	}
	return object{
		"id": e.ID, "guild_id": g.ID, "channel_id": nil, "creator_id": s.AppID, "name": e.Name, "description": e.Description,
		"scheduled_start_time": stamp(e.Start), "scheduled_end_time": stamp(e.End), "privacy_level": 2, "status": status,
		"entity_type": entityExternal, "entity_id": nil, "entity_metadata": object{"location": e.Location}, "user_count": 0,
		"image": nil, "recurrence_rule": nil,
	}
}

func (s *Server) eventOf(r *http.Request, need int64) (*Guild, *Event, error) {
	g, err := s.guildOf(r, need)
	if err != nil {
		return nil, nil, err
	}
	for _, e := range g.events {
		if e.ID == r.PathValue("event") {
			return g, e, nil
		}
	}
	return nil, nil, errNoEvent
}

func (s *Server) listEvents(r *http.Request, _ *body) (answer, error) {
	g, err := s.guildOf(r, 0)
	if err != nil {
		return answer{}, err
	}
	out := []object{}
	for _, e := range g.events {
		if !e.Cancelled {
			out = append(out, s.eventObject(g, e))
		}
	}
	return answer{200, out}, nil
}

func (s *Server) getEvent(r *http.Request, _ *body) (answer, error) {
	g, e, err := s.eventOf(r, 0)
	if err != nil {
		return answer{}, err
	}
	return answer{200, s.eventObject(g, e)}, nil
}

func (s *Server) changeEvent(r *http.Request, b *body) (answer, error) {
	g, e, err := s.eventOf(r, CreateEvents|ManageEvents)
	if err != nil {
		return answer{}, err
	}
	var d eventBody
	if err := b.into(&d); err != nil {
		return answer{}, err
	}
	if e.Cancelled {
		return answer{}, &refusal{400, 180000, "Cannot update a finished event", ""}
	}
	if err := s.setEvent(e, &d); err != nil {
		return answer{}, err
	}
	s.dispatch("GUILD_SCHEDULED_EVENT_UPDATE", s.eventObject(g, e), intentEvents, g.ID)
	return answer{200, s.eventObject(g, e)}, nil
}

func (s *Server) deleteEvent(r *http.Request, _ *body) (answer, error) {
	g, e, err := s.eventOf(r, CreateEvents|ManageEvents)
	if err != nil {
		return answer{}, err
	}
	g.events = slices.DeleteFunc(g.events, func(x *Event) bool { return x == e })
	s.touch()
	return answer{204, nil}, nil
}
