package discordtest

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
)

// Routes of the REST interface, for Fault and Recorded.
const (
	RouteGateway       = "GET /gateway"
	RouteGatewayBot    = "GET /gateway/bot"
	RoutePutCommands   = "PUT /applications/{app}/commands"
	RouteGetCommands   = "GET /applications/{app}/commands"
	RoutePutGuild      = "PUT /applications/{app}/guilds/{guild}/commands"
	RouteGetGuild      = "GET /applications/{app}/guilds/{guild}/commands"
	RouteCallback      = "POST /interactions/{id}/{token}/callback"
	RouteFollowUp      = "POST /webhooks/{app}/{token}"
	RouteGetAnswer     = "GET /webhooks/{app}/{token}/messages/{message}"
	RouteEditAnswer    = "PATCH /webhooks/{app}/{token}/messages/{message}"
	RouteDeleteAnswer  = "DELETE /webhooks/{app}/{token}/messages/{message}"
	RouteCreateMessage = "POST /channels/{channel}/messages"
	RouteGetMessages   = "GET /channels/{channel}/messages"
	RouteGetMessage    = "GET /channels/{channel}/messages/{message}"
	RouteEditMessage   = "PATCH /channels/{channel}/messages/{message}"
	RouteDeleteMessage = "DELETE /channels/{channel}/messages/{message}"
	RouteTyping        = "POST /channels/{channel}/typing"
	RouteGetChannel    = "GET /channels/{channel}"
	RouteCreateDM      = "POST /users/@me/channels"
	RouteMe            = "GET /users/@me"
	RouteApplication   = "GET /applications/@me"
	RouteOldApp        = "GET /oauth2/applications/@me"
	RouteCreateEvent   = "POST /guilds/{guild}/scheduled-events"
	RouteListEvents    = "GET /guilds/{guild}/scheduled-events"
	RouteGetEvent      = "GET /guilds/{guild}/scheduled-events/{event}"
	RouteChangeEvent   = "PATCH /guilds/{guild}/scheduled-events/{event}"
	RouteDeleteEvent   = "DELETE /guilds/{guild}/scheduled-events/{event}"
)

// refusal is an answer of 4xx as Discord words it.
type refusal struct {
	status, code int
	message      string
	where        string // the field that is wrong
}

func (r *refusal) Error() string {
	if r.where != "" {
		return fmt.Sprintf("%d %s: %s", r.code, r.where, r.message)
	}
	return fmt.Sprintf("%d %s", r.code, r.message)
}

// The codes are those of Discord's documentation ("JSON Error Codes").
var (
	errUnauthorized   = &refusal{401, 0, "401: Unauthorized", ""}
	errNoAccess       = &refusal{403, 50001, "Missing Access", ""}
	errNoPermission   = &refusal{403, 50013, "Missing Permissions", ""}
	errNoDirect       = &refusal{403, 50007, "Cannot send messages to this user", ""}
	errNotOurs        = &refusal{403, 50005, "Cannot edit a message authored by another user", ""}
	errNoChannel      = &refusal{404, 10003, "Unknown Channel", ""}
	errNoGuild        = &refusal{404, 10004, "Unknown Guild", ""}
	errNoMessage      = &refusal{404, 10008, "Unknown Message", ""}
	errNoUser         = &refusal{404, 10013, "Unknown User", ""}
	errNoWebhook      = &refusal{404, 10015, "Unknown Webhook", ""}
	errNoInteraction  = &refusal{404, 10062, "Unknown interaction", ""}
	errNoEvent        = &refusal{404, 10070, "Unknown Guild Scheduled Event", ""}
	errAnswered       = &refusal{400, 40060, "Interaction has already been acknowledged.", ""}
	errTokenOver      = &refusal{401, 50027, "Invalid Webhook Token", ""}
	errEmpty          = &refusal{400, 50006, "Cannot send an empty message", ""}
	errBadJSON        = &refusal{400, 50109, "The request body contains invalid JSON.", ""}
	errTooLarge       = &refusal{413, 40005, "Request entity too large", ""}
	errTooManyReplies = &refusal{400, 40094, "This interaction has reached its maximum number of follow-up messages", ""}
)

// form is a refusal of a field.
func form(where, format string, args ...any) *refusal {
	return &refusal{400, 50035, fmt.Sprintf(format, args...), where}
}

// answer is what a route gives: a status and what is sent as JSON, nil for
// nothing.
type answer struct {
	status int
	v      any
}

type route func(r *http.Request, b *body) (answer, error)

func (s *Server) routes() http.Handler {
	api := http.NewServeMux()
	add := func(pattern string, open bool, f route) {
		api.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) { s.serve(w, r, pattern, open, f) })
	}
	locked := func(f route) route {
		return func(r *http.Request, b *body) (answer, error) {
			s.mu.Lock()
			defer s.mu.Unlock()
			return f(r, b)
		}
	}
	for pattern, f := range map[string]route{
		RouteGateway:       s.getGateway,
		RouteGatewayBot:    s.getGatewayBot,
		RouteMe:            locked(s.getMe),
		RouteApplication:   locked(s.getApplication),
		RouteOldApp:        locked(s.getApplication),
		RoutePutCommands:   locked(s.putCommands),
		RouteGetCommands:   locked(s.getCommands),
		RoutePutGuild:      locked(s.putCommands),
		RouteGetGuild:      locked(s.getCommands),
		RouteCreateMessage: locked(s.createMessage),
		RouteGetMessages:   locked(s.getMessages),
		RouteGetMessage:    locked(s.getMessage),
		RouteEditMessage:   locked(s.editMessage),
		RouteDeleteMessage: locked(s.deleteMessage),
		RouteTyping:        locked(s.typing),
		RouteGetChannel:    locked(s.getChannel),
		RouteCreateDM:      locked(s.createDM),
		RouteCreateEvent:   locked(s.createEvent),
		RouteListEvents:    locked(s.listEvents),
		RouteGetEvent:      locked(s.getEvent),
		RouteChangeEvent:   locked(s.changeEvent),
		RouteDeleteEvent:   locked(s.deleteEvent),
	} {
		add(pattern, false, f)
	}
	// The token in the path is what lets these in.
	for pattern, f := range map[string]route{
		RouteCallback:     locked(s.callback),
		RouteFollowUp:     locked(s.followUp),
		RouteGetAnswer:    locked(s.getAnswer),
		RouteEditAnswer:   locked(s.editAnswer),
		RouteDeleteAnswer: locked(s.deleteAnswer),
	} {
		add(pattern, true, f)
	}
	root := http.NewServeMux()
	root.Handle("/api/v9/", http.StripPrefix("/api/v9", api))
	root.Handle("/api/v10/", http.StripPrefix("/api/v10", api))
	root.HandleFunc("/gateway/", s.serveGateway)
	root.HandleFunc("/gateway", s.serveGateway)
	root.HandleFunc("GET /attachments/{channel}/{id}/{name}", s.serveFile)
	root.HandleFunc("GET /ephemeral-attachments/{channel}/{id}/{name}", s.serveFile)
	return root
}

// serve lets a request through its fault, its authorisation and its rules.
func (s *Server) serve(w http.ResponseWriter, r *http.Request, pattern string, open bool, f route) {
	do := func(w http.ResponseWriter, r *http.Request) {
		a, err := s.ask(r, pattern, open, f)
		if err != nil {
			no, ok := err.(*refusal)
			if !ok {
				no = &refusal{400, 0, err.Error(), ""}
			}
			s.mu.Lock()
			s.refused = append(s.refused, pattern+": "+no.Error())
			s.mu.Unlock()
			a = answer{no.status, no.object()}
		}
		if a.v != nil {
			w.Header().Set("Content-Type", "application/json")
		}
		w.WriteHeader(a.status)
		if a.v != nil {
			_ = json.NewEncoder(w).Encode(a.v)
		}
	}
	s.mu.Lock()
	fault := s.fault(pattern)
	s.mu.Unlock()
	if fault != nil {
		s.wrong(fault, w, r, do)
		return
	}
	do(w, r)
}

func (s *Server) ask(r *http.Request, pattern string, open bool, f route) (answer, error) {
	if !open && r.Header.Get("Authorization") != "Bot "+s.Token {
		return answer{}, errUnauthorized
	}
	if !strings.HasPrefix(r.Header.Get("User-Agent"), "DiscordBot (") {
		return answer{}, &refusal{403, 0, "a User-Agent must begin with DiscordBot (", ""} // documented under "Reference"
	}
	b, err := readBody(r)
	if err != nil {
		return answer{}, err
	}
	s.rec.add(Recorded{pattern, b.raw, len(b.files)})
	return f(r, b)
}

func (r *refusal) object() object {
	o := object{"message": r.message, "code": r.code}
	if r.where != "" {
		o["message"] = "Invalid Form Body"
		errs := object{"_errors": []object{{"code": "INVALID", "message": r.message}}}
		parts := strings.Split(r.where, ".")
		for i := len(parts) - 1; i >= 0; i-- {
			errs = object{parts[i]: errs}
		}
		o["errors"] = errs
	}
	return o
}

func (s *Server) getGateway(*http.Request, *body) (answer, error) {
	return answer{200, object{"url": s.gatewayURL()}}, nil
}

func (s *Server) getGatewayBot(*http.Request, *body) (answer, error) {
	return answer{200, object{"url": s.gatewayURL(), "shards": max(s.opts.Shards, 1), "session_start_limit": object{
		"total": 1000, "remaining": 999, "reset_after": 86400000, "max_concurrency": 16,
	}}}, nil
}

func (s *Server) getMe(*http.Request, *body) (answer, error) {
	return answer{200, s.users[s.AppID].object()}, nil
}

func (s *Server) getApplication(*http.Request, *body) (answer, error) {
	return answer{200, object{
		"id": s.AppID, "name": "the bot", "icon": nil, "description": "", "bot_public": true, "bot_require_code_grant": false,
		"verify_key": "", "flags": 0, "summary": "", "bot": s.users[s.AppID].object(),
	}}, nil
}

func (s *Server) typing(r *http.Request, _ *body) (answer, error) {
	if _, err := s.channelOf(r, ViewChannel); err != nil {
		return answer{}, err
	}
	return answer{204, nil}, nil
}

func (s *Server) getChannel(r *http.Request, _ *body) (answer, error) {
	c, err := s.channelOf(r, ViewChannel)
	if err != nil {
		return answer{}, err
	}
	return answer{200, c.object()}, nil
}

// channelOf is the channel of a request, in which the bot must have a
// permission.
func (s *Server) channelOf(r *http.Request, need int64) (*Channel, error) {
	id := r.PathValue("channel")
	if !isID(id) {
		return nil, form("channel_id", "Value %q is not snowflake.", id)
	}
	c := s.channels[id]
	switch {
	case c == nil || c.gone:
		return nil, errNoChannel
	case c.direct != nil:
		return c, nil
	case c.guild.absent || all(c.guild.perms)&ViewChannel == 0:
		return nil, errNoAccess
	case all(c.guild.perms)&need != need:
		return nil, errNoPermission
	}
	return c, nil
}

func isID(s string) bool {
	return len(s) >= 15 && len(s) <= 20 && strings.Trim(s, "0123456789") == ""
}

func (s *Server) createDM(_ *http.Request, b *body) (answer, error) {
	var d struct {
		To string `json:"recipient_id"`
	}
	if err := b.into(&d); err != nil {
		return answer{}, err
	}
	if !isID(d.To) {
		return answer{}, form("recipient_id", "Value %q is not snowflake.", d.To)
	}
	u := s.users[d.To]
	if u == nil || u.bot {
		return answer{}, errNoUser
	}
	return answer{200, s.dm(u).object()}, nil
}
