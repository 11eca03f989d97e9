package discord

import (
	"encoding/json"
	"strconv"
	"time"
	"unicode/utf16"

	"github.com/bwmarrin/discordgo"
)

// Numbers of Discord's documentation (Interactions, Message Components,
// Permissions, as of 2026).
const (
	askCommand      = 2 // kinds of interaction
	askComponent    = 3
	askAutocomplete = 4
	askForm         = 5

	callMessage     = 4 // kinds of first answer
	callDeferred    = 5
	callDeferUpdate = 6
	callUpdate      = 7
	callComplete    = 8
	callForm        = 9

	componentRow    = 1
	componentButton = 2
	componentSelect = 3
	componentText   = 4

	buttonPlain     = 2 // styles
	textShort       = 1
	textParagraph   = 2
	flagEphemeral   = 1 << 6
	contextDirect   = 1 // with the bot itself; 0 is a server, 2 another private channel
	channelMessage  = 0 // kinds of message that a person wrote
	channelReply    = 19
	manageServer    = 1 << 5 // permissions
	administrator   = 1 << 3
	manageEvents    = 1 << 33
	codeNotHere     = 10008 // no such message
	codeNoEvent     = 10070
	codeAnswered    = 40060 // the interaction has been answered
	codeNoDirect    = 50007 // the person takes no direct messages
	codeNoCommon    = 50278 // no server in common (from memory)
	maxContent      = 2000
	maxRows         = 5
	maxInRow        = 5
	maxOptions      = 25
	maxCustomID     = 100
	maxButtonLabel  = 80
	maxOptionLabel  = 100
	maxFormTitle    = 45
	maxFieldLabel   = 45
	maxFields       = 5
	maxFieldText    = 4000
	maxAlt          = 1024
	maxFiles        = 10
	maxUpload       = 10 << 20 // bytes of all files of a message
	maxNonce        = 25
	maxEventName    = 100
	maxEventAbout   = 1000
	maxCommandWords = 8000
)

// interaction is what a person did: a command, a button, a form. It is read
// from the raw event, since discordgo gives nothing at all of one that holds a
// component of a kind that it does not know.
type interaction struct {
	ID        string          `json:"id"`
	AppID     string          `json:"application_id"`
	Type      int             `json:"type"`
	Token     string          `json:"token"`
	GuildID   string          `json:"guild_id"`
	ChannelID string          `json:"channel_id"`
	Context   *int            `json:"context"`
	Member    *member         `json:"member"` // in a server
	User      *user           `json:"user"`   // elsewhere
	Data      interactionData `json:"data"`
	Message   *received       `json:"message"` // that holds the component

	Owners map[string]json.RawMessage `json:"authorizing_integration_owners"` // who has installed the app: a server (0), a user (1)
}

type interactionData struct {
	Name       string      `json:"name"`
	Options    []option    `json:"options"`
	CustomID   string      `json:"custom_id"`
	Values     []string    `json:"values"`     // chosen in a select
	Components []submitted `json:"components"` // of a form
	Resolved   struct {
		Attachments map[string]attachment `json:"attachments"` // by the ids that options have for values
	} `json:"resolved"`
}

type option struct {
	Name    string          `json:"name"`
	Type    int             `json:"type"`
	Value   json.RawMessage `json:"value"`
	Options []option        `json:"options"`
	Focused bool            `json:"focused"`
}

// submitted is a part of a form that was sent, whether its rows or labels hold
// one part or a list of them.
type submitted struct {
	CustomID   string      `json:"custom_id"`
	Value      *string     `json:"value"`
	Component  *submitted  `json:"component"`
	Components []submitted `json:"components"`
}

type member struct {
	User        *user  `json:"user"`
	Nick        string `json:"nick"`
	Permissions string `json:"permissions"`
}

type user struct {
	ID         string `json:"id"`
	Username   string `json:"username"`
	GlobalName string `json:"global_name"`
	Bot        bool   `json:"bot"`
}

// received is a message as Discord tells of it.
type received struct {
	ID          string          `json:"id"`
	Type        int             `json:"type"`
	ChannelID   string          `json:"channel_id"`
	GuildID     string          `json:"guild_id"`
	Author      *user           `json:"author"`
	Content     string          `json:"content"`
	Attachments []attachment    `json:"attachments"`
	Components  json.RawMessage `json:"components"`
	Flags       int             `json:"flags"`
}

type attachment struct {
	ID          string `json:"id"`
	Filename    string `json:"filename,omitempty"`
	Description string `json:"description,omitempty"` // the alternative text
	ContentType string `json:"content_type,omitempty"`
	Size        int64  `json:"size,omitempty"`
	URL         string `json:"url,omitempty"`
}

// payload is a message as it is sent. Components and Attachments are always
// there, so that an edit leaves nothing of what was there before.
type payload struct {
	Content         string       `json:"content"`
	Components      []component  `json:"components"`
	Attachments     []attachment `json:"attachments"`
	AllowedMentions mentions     `json:"allowed_mentions"`
	Flags           int          `json:"flags,omitempty"`
	Nonce           string       `json:"nonce,omitempty"`
	EnforceNonce    bool         `json:"enforce_nonce,omitempty"`
}

// mentions says who may be called by a message: nobody.
type mentions struct {
	Parse []string `json:"parse"`
}

var nobody = mentions{Parse: []string{}}

type component struct {
	Type        int              `json:"type"`
	Components  []component      `json:"components,omitempty"`
	Style       int              `json:"style,omitempty"`
	Label       string           `json:"label,omitempty"`
	CustomID    string           `json:"custom_id,omitempty"`
	Placeholder string           `json:"placeholder,omitempty"`
	Options     []selectable     `json:"options,omitempty"`
	Required    *bool            `json:"required,omitempty"`
	MaxLength   int              `json:"max_length,omitempty"`
	Value       string           `json:"value,omitempty"`
	Disabled    bool             `json:"disabled,omitempty"`
	Emoji       *json.RawMessage `json:"emoji,omitempty"`
}

type selectable struct {
	Label string `json:"label"`
	Value string `json:"value"`
}

// callback is the first answer to an interaction.
type callback struct {
	Type int `json:"type"`
	Data any `json:"data,omitempty"`
}

type form struct {
	CustomID   string      `json:"custom_id"`
	Title      string      `json:"title"`
	Components []component `json:"components"`
}

// upload is a file on its way out.
type upload struct {
	name  string
	media string
	alt   string
	bytes []byte
	draw  func() ([]byte, error) // of a picture that is not drawn yet, in place of bytes
}

// madeAt is when Discord made the thing of that id; zero for what is no id.
func madeAt(id string) time.Time {
	t, err := discordgo.SnowflakeTimestamp(id)
	if err != nil {
		return time.Time{}
	}
	return t
}

// idAt is the least id of what is made at t or later: an id begins with the
// milliseconds since 2015 (documentation, Reference, Snowflakes).
func idAt(t time.Time) string {
	const first = 1420070400000
	return strconv.FormatInt(max(t.UnixMilli()-first, 0)<<22, 10)
}

// isID tells whether a text can be one of Discord's ids.
func isID(s string) bool {
	n, err := strconv.ParseUint(s, 10, 64)
	return err == nil && n > 0 && len(s) >= 5
}

// size is how long Discord takes a text to be, at most: it counts characters,
// and some of its apps UTF-16 units, which are never fewer.
func size(s string) int {
	n := 0
	for _, r := range s {
		if n++; r > 0xFFFF {
			n++
		}
	}
	return n
}

// cut shortens a text to most, with a mark where something is missing.
func cut(s string, most int) string {
	if len(s) <= most || size(s) <= most {
		return s
	}
	n := 0
	for i, r := range s {
		if n += max(utf16.RuneLen(r), 1); n > most-1 {
			return s[:i] + "…"
		}
	}
	return s
}
