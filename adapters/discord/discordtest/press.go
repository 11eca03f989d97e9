package discordtest

import (
	"fmt"
	"slices"
)

// component finds a component in the message that u sees now: by its label, its
// custom_id, or its placeholder.
func (u *User) component(m Message, what string) (*message, Component, error) {
	c := u.srv.channels[m.Channel]
	for _, kept := range c.messages {
		if kept.id != m.ID || kept.deleted || kept.only != nil && kept.only != u || !c.sees(u) {
			continue
		}
		for _, b := range kept.seen().Buttons() {
			if b.CustomID != what && b.Label != what && b.Placeholder != what {
				continue
			}
			if b.Disabled || b.Type == typeButton && b.Style == 5 {
				return nil, b, fmt.Errorf("%q cannot be pressed", what)
			}
			return kept, b, nil
		}
		return nil, Component{}, fmt.Errorf("the message has no %q: %+v", what, kept.seen().Buttons())
	}
	return nil, Component{}, fmt.Errorf("%s does not see the message %s", u.Name, m.ID)
}

// Press has u press a button of a message, by its label or custom_id.
func (u *User) Press(m Message, what string) (*Interaction, error) {
	u.srv.mu.Lock()
	defer u.srv.mu.Unlock()
	kept, b, err := u.component(m, what)
	if err != nil {
		return nil, err
	}
	if b.Type != typeButton {
		return nil, fmt.Errorf("%q is no button", what)
	}
	data := object{"custom_id": b.CustomID, "component_type": typeButton}
	return u.srv.begin(&Interaction{kind: kindComponent, user: u, in: kept.in, data: data, message: kept}), nil
}

// Select has u choose from a select, by the labels or values of its options.
func (u *User) Select(m Message, what string, chosen ...string) (*Interaction, error) {
	u.srv.mu.Lock()
	defer u.srv.mu.Unlock()
	kept, c, err := u.component(m, what)
	if err != nil {
		return nil, err
	}
	if c.Type != typeSelect {
		return nil, fmt.Errorf("%q is no select", what)
	}
	low, high := 1, 1
	if c.MinValues != nil {
		low = *c.MinValues
	}
	if c.MaxValues != nil {
		high = *c.MaxValues
	}
	if len(chosen) < low || len(chosen) > high {
		return nil, fmt.Errorf("%d to %d can be chosen", low, high)
	}
	values := []string{}
	for _, v := range chosen {
		n := slices.IndexFunc(c.Options, func(o Option) bool { return o.Value == v || o.Label == v })
		if n < 0 {
			return nil, fmt.Errorf("%q cannot be chosen", v)
		}
		values = append(values, c.Options[n].Value)
	}
	data := object{"custom_id": c.CustomID, "component_type": typeSelect, "values": values}
	return u.srv.begin(&Interaction{kind: kindComponent, user: u, in: kept.in, data: data, message: kept}), nil
}

// Submit has u send a form, with values by the labels or custom_ids of its
// questions. What is left out keeps what stands there.
func (u *User) Submit(m *Modal, values Values) (*Interaction, error) {
	u.srv.mu.Lock()
	defer u.srv.mu.Unlock()
	if m.of.user != u {
		return nil, fmt.Errorf("the form is not before %s", u.Name)
	}
	used := 0
	parts := []object{}
	for _, in := range m.Inputs {
		v, ok := values[in.CustomID]
		if !ok {
			v, ok = values[in.Label]
		}
		if ok {
			used++
		} else {
			v = in.Value
		}
		text, isText := v.(string)
		switch n := units(text); {
		case !isText:
			return nil, fmt.Errorf("%s: %v is no text", in.Label, v)
		case in.Required && text == "":
			return nil, fmt.Errorf("%s is required", in.Label)
		case text != "" && n < in.Min, n > in.Max:
			return nil, fmt.Errorf("%s: a text of %d to %d characters", in.Label, in.Min, in.Max)
		}
		part := object{"type": typeTextInput, "custom_id": in.CustomID, "value": text}
		if in.Options != nil {
			if !slices.ContainsFunc(in.Options, func(o Option) bool { return o.Value == text }) {
				return nil, fmt.Errorf("%s: %q cannot be chosen", in.Label, text)
			}
			part = object{"type": typeSelect, "custom_id": in.CustomID, "values": []string{text}}
		}
		if in.label {
			parts = append(parts, object{"type": typeLabel, "component": part})
		} else {
			parts = append(parts, object{"type": typeRow, "components": []object{part}})
		}
	}
	if used != len(values) {
		return nil, fmt.Errorf("the form has no such questions: %v", values)
	}
	data := object{"custom_id": m.CustomID, "components": parts}
	return u.srv.begin(&Interaction{kind: kindModal, user: u, in: m.of.in, data: data, message: m.of.message}), nil
}
