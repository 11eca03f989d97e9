package discordtest

import (
	"encoding/json"
	"fmt"
	"strings"
	"unicode/utf16"
)

// units is the length of a text as Discord counts it: in UTF-16 code units
// (common practice, no source; the documentation says characters). It is the
// stricter of the two.
func units(s string) int { return len(utf16.Encode([]rune(s))) }

// Embed is the part of a message in a frame.
type Embed struct {
	Title       string  `json:"title"`
	Description string  `json:"description"`
	URL         string  `json:"url"`
	Fields      []Field `json:"fields"`
	Footer      *struct {
		Text string `json:"text"`
	} `json:"footer"`
	Author *struct {
		Name string `json:"name"`
	} `json:"author"`
	Image *struct {
		URL string `json:"url"`
	} `json:"image"`
}

// Field is a name and a value in an Embed.
type Field struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// payload is a message as a bot sends it. Absent and null differ where a message
// is edited, so what an edit may leave alone is a pointer or raw.
type payload struct {
	Content         *string          `json:"content"`
	Embeds          *json.RawMessage `json:"embeds"`
	Components      *json.RawMessage `json:"components"`
	AllowedMentions *allowed         `json:"allowed_mentions"`
	Flags           int              `json:"flags"`
	Attachments     *[]attachment    `json:"attachments"`
	Nonce           json.RawMessage  `json:"nonce"`
	EnforceNonce    bool             `json:"enforce_nonce"`
	TTS             bool             `json:"tts"`
	Reference       *struct {
		Message string `json:"message_id"`
	} `json:"message_reference"`

	embeds     []Embed
	components []Component
}

type allowed struct {
	Parse []string `json:"parse"`
	Users []string `json:"users"`
	Roles []string `json:"roles"`
}

// Flags of a message.
const (
	flagSuppressEmbeds = 1 << 2
	flagEphemeral      = 1 << 6
	flagSilent         = 1 << 12
	flagComponentsV2   = 1 << 15
)

// check holds a message to its limits ("Message Resource", "Component
// Reference").
func (p *payload) check() error {
	if p.Content != nil && units(*p.Content) > 2000 {
		return form("content", "Must be 2000 or fewer in length.")
	}
	if p.Flags&^(flagSuppressEmbeds|flagEphemeral|flagSilent) != 0 {
		return form("flags", "flags %d cannot be set here", p.Flags)
	}
	if p.Embeds != nil {
		if err := json.Unmarshal(*p.Embeds, &p.embeds); err != nil {
			return form("embeds", "%v", err)
		}
		if err := checkEmbeds(p.embeds); err != nil {
			return err
		}
	}
	if p.Components != nil {
		if err := json.Unmarshal(*p.Components, &p.components); err != nil {
			return form("components", "%v", err)
		}
		if err := checkRows(p.components); err != nil {
			return err
		}
	}
	if a := p.AllowedMentions; a != nil {
		for _, what := range a.Parse {
			if what != "users" && what != "roles" && what != "everyone" {
				return form("allowed_mentions.parse", "Value must be one of {'users', 'roles', 'everyone'}.")
			}
		}
		if len(a.Users) > 100 || len(a.Roles) > 100 {
			return form("allowed_mentions", "100 users and 100 roles at most")
		}
	}
	return nil
}

func checkEmbeds(embeds []Embed) error {
	if len(embeds) > 10 {
		return form("embeds", "Must be 10 or fewer in length.")
	}
	sum := 0
	for i, e := range embeds {
		where := fmt.Sprintf("embeds.%d.", i)
		sum += units(e.Title) + units(e.Description)
		if units(e.Title) > 256 {
			return form(where+"title", "Must be 256 or fewer in length.")
		}
		if units(e.Description) > 4096 {
			return form(where+"description", "Must be 4096 or fewer in length.")
		}
		if len(e.Fields) > 25 {
			return form(where+"fields", "Must be 25 or fewer in length.")
		}
		for j, f := range e.Fields {
			sum += units(f.Name) + units(f.Value)
			if err := length(fmt.Sprintf("%sfields.%d.name", where, j), f.Name, 1, 256); err != nil {
				return err
			}
			if err := length(fmt.Sprintf("%sfields.%d.value", where, j), f.Value, 1, 1024); err != nil {
				return err
			}
		}
		if e.Footer != nil {
			sum += units(e.Footer.Text)
			if err := length(where+"footer.text", e.Footer.Text, 1, 2048); err != nil {
				return err
			}
		}
		if e.Author != nil {
			sum += units(e.Author.Name)
			if err := length(where+"author.name", e.Author.Name, 1, 256); err != nil {
				return err
			}
		}
		if e.Title == "" && e.Description == "" && len(e.Fields) == 0 && e.Footer == nil && e.Author == nil && e.Image == nil {
			return form(where+"description", "This field is required")
		}
	}
	if sum > 6000 {
		return form("embeds", "Embed size exceeds maximum size of 6000")
	}
	return nil
}

// length refuses a text that is too short or too long.
func length(where, s string, low, high int) error {
	if n := units(s); n < low || n > high || low > 0 && strings.TrimSpace(s) == "" {
		return form(where, "Must be between %d and %d in length.", low, high)
	}
	return nil
}
