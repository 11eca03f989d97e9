package discordtest

import (
	"fmt"
	"regexp"
)

// Types of components ("Component Reference").
const (
	typeRow        = 1
	typeButton     = 2
	typeSelect     = 3
	typeTextInput  = 4
	typeLastSelect = 8 // 5 to 8 are selects of people, roles, either, channels
	typeText       = 10
	typeLabel      = 18
)

// Component is a part of a message or a form that people can use.
type Component struct {
	Type        int         `json:"type"`
	CustomID    string      `json:"custom_id"`
	Label       string      `json:"label"`
	Style       int         `json:"style"`
	URL         string      `json:"url"`
	Disabled    bool        `json:"disabled"`
	Emoji       *Emoji      `json:"emoji"`
	Placeholder string      `json:"placeholder"`
	Options     []Option    `json:"options"`
	MinValues   *int        `json:"min_values"`
	MaxValues   *int        `json:"max_values"`
	MinLength   int         `json:"min_length"`
	MaxLength   *int        `json:"max_length"`
	Required    *bool       `json:"required"`
	Value       string      `json:"value"`
	Description string      `json:"description"`
	Content     string      `json:"content"`
	Components  []Component `json:"components"`
	Component   *Component  `json:"component"` // of a label
}

// Emoji stands on a button or before an option.
type Emoji struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

// Option is a line of a select.
type Option struct {
	Label       string `json:"label"`
	Value       string `json:"value"`
	Description string `json:"description"`
	Emoji       *Emoji `json:"emoji"`
	Default     bool   `json:"default"`
}

// checkRows holds the components of a message to their limits.
func checkRows(rows []Component) error {
	if len(rows) > 5 {
		return form("components", "Must be 5 or fewer in length.")
	}
	ids := map[string]bool{}
	for i, row := range rows {
		where := fmt.Sprintf("components.%d", i)
		if row.Type != typeRow {
			return form(where+".type", "Value must be one of {1}.")
		}
		if n := len(row.Components); n < 1 || n > 5 {
			return form(where+".components", "Must be between 1 and 5 in length.")
		}
		for j, c := range row.Components {
			at := fmt.Sprintf("%s.components.%d", where, j)
			var err error
			switch {
			case c.Type == typeButton:
				err = checkButton(at, c)
			case c.Type == typeSelect || c.Type > typeTextInput && c.Type <= typeLastSelect:
				if len(row.Components) > 1 {
					return form(where+".components", "a row holds one select and nothing else")
				}
				err = checkSelect(at, c)
			default:
				return form(at+".type", "a row of a message cannot hold a component of type %d", c.Type)
			}
			if err != nil {
				return err
			}
			if c.CustomID != "" && ids[c.CustomID] {
				return form(at+".custom_id", "Component custom id cannot be duplicated")
			}
			ids[c.CustomID] = true
		}
	}
	return nil
}

func checkButton(where string, b Component) error {
	switch {
	case b.Style < 1 || b.Style > 5:
		return form(where+".style", "a button has a style from 1 to 5")
	case b.Style == 5 && (b.URL == "" || b.CustomID != ""):
		return form(where+".url", "a link has an address and no custom_id")
	case b.Style != 5 && (b.CustomID == "" || b.URL != ""):
		return form(where+".custom_id", "a button has a custom_id and no address")
	case b.Label == "" && b.Emoji == nil:
		return form(where+".label", "a button has a label or an emoji")
	case units(b.Label) > 80:
		return form(where+".label", "Must be 80 or fewer in length.")
	case units(b.CustomID) > 100:
		return form(where+".custom_id", "Must be 100 or fewer in length.")
	case len(b.URL) > 512:
		return form(where+".url", "Must be 512 or fewer in length.")
	}
	return nil
}

func checkSelect(where string, c Component) error {
	if err := length(where+".custom_id", c.CustomID, 1, 100); err != nil {
		return err
	}
	if units(c.Placeholder) > 150 {
		return form(where+".placeholder", "Must be 150 or fewer in length.")
	}
	low, high := 1, 1
	if c.MinValues != nil {
		low = *c.MinValues
	}
	if c.MaxValues != nil {
		high = *c.MaxValues
	}
	if low < 0 || low > 25 || high < 1 || high > 25 || low > high {
		return form(where+".max_values", "from 0 to 25, and no fewer than min_values")
	}
	if c.Type != typeSelect {
		return nil
	}
	if n := len(c.Options); n < 1 || n > 25 {
		return form(where+".options", "Must be between 1 and 25 in length.")
	}
	values := map[string]bool{}
	for i, o := range c.Options {
		at := fmt.Sprintf("%s.options.%d", where, i)
		if err := length(at+".label", o.Label, 1, 100); err != nil {
			return err
		}
		if err := length(at+".value", o.Value, 1, 100); err != nil {
			return err
		}
		if units(o.Description) > 100 {
			return form(at+".description", "Must be 100 or fewer in length.")
		}
		if values[o.Value] {
			return form(at+".value", "The specified option value is already used")
		}
		values[o.Value] = true
	}
	return nil
}

// Modal is a form that is open before a person.
type Modal struct {
	Title    string
	CustomID string
	Inputs   []Input

	of *Interaction
}

// Input is a question of a form.
type Input struct {
	CustomID string
	Label    string
	Value    string // what stands there at first
	Required bool
	Long     bool
	Min, Max int
	Options  []Option // of a select

	label bool // it came in a label and not in a row
}

// checkModal holds a form to its limits ("Interactions: Receiving and
// Responding", Modal).
func checkModal(title, customID string, parts []Component) (*Modal, error) {
	m := &Modal{Title: title, CustomID: customID}
	if err := length("data.title", title, 1, 45); err != nil {
		return nil, err
	}
	if err := length("data.custom_id", customID, 1, 100); err != nil {
		return nil, err
	}
	if n := len(parts); n < 1 || n > 5 {
		return nil, form("data.components", "Must be between 1 and 5 in length.")
	}
	ids := map[string]bool{}
	for i, p := range parts {
		where := fmt.Sprintf("data.components.%d", i)
		in, err := checkInput(where, p)
		if err != nil {
			return nil, err
		}
		if in == nil {
			continue // words only
		}
		if ids[in.CustomID] {
			return nil, form(where+".custom_id", "Component custom id cannot be duplicated")
		}
		ids[in.CustomID] = true
		m.Inputs = append(m.Inputs, *in)
	}
	return m, nil
}

func checkInput(where string, p Component) (*Input, error) {
	var c Component
	in := &Input{}
	switch {
	case p.Type == typeRow && len(p.Components) == 1 && p.Components[0].Type == typeTextInput:
		c = p.Components[0]
		in.Label = c.Label
	case p.Type == typeLabel && p.Component != nil && (p.Component.Type == typeTextInput || p.Component.Type == typeSelect):
		c, in.Label, in.label = *p.Component, p.Label, true
		if units(p.Description) > 100 {
			return nil, form(where+".description", "Must be 100 or fewer in length.")
		}
		if c.Label != "" {
			return nil, form(where+".component.label", "an input in a label has no label of its own")
		}
	case p.Type == typeText:
		return nil, length(where+".content", p.Content, 1, 4000)
	default:
		return nil, form(where+".type", "a form holds rows with one text input, labels and texts")
	}
	in.CustomID, in.Value, in.Long, in.Min, in.Max = c.CustomID, c.Value, c.Style == 2, c.MinLength, 4000
	in.Required = c.Required == nil || *c.Required
	if err := length(where+".label", in.Label, 1, 45); err != nil {
		return nil, err
	}
	if err := length(where+".custom_id", c.CustomID, 1, 100); err != nil {
		return nil, err
	}
	if c.Type == typeSelect {
		in.Options = c.Options
		return in, checkSelect(where+".component", c)
	}
	if c.MaxLength != nil {
		in.Max = *c.MaxLength
	}
	switch {
	case c.Style != 1 && c.Style != 2:
		return nil, form(where+".style", "Value must be one of {1, 2}.")
	case units(c.Placeholder) > 100:
		return nil, form(where+".placeholder", "Must be 100 or fewer in length.")
	case in.Min < 0 || in.Max < 1 || in.Max > 4000 || in.Min > in.Max:
		return nil, form(where+".max_length", "from 1 to 4000, and no fewer than min_length")
	case units(c.Value) > in.Max:
		return nil, form(where+".value", "Must be %d or fewer in length.", in.Max)
	}
	return in, nil
}

// mentions are the signs in a text that would call somebody.
var mentions = regexp.MustCompile(`@everyone|@here|<@!?(\d+)>|<@&(\d+)>`)
