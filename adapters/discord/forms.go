package discord

import (
	"context"
	"slices"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/calc"
)

// asking is what a form asks, and what its answers complete.
type asking struct {
	Title   string            `json:"title"`
	Line    string            `json:"line,omitempty"`    // begun, which one answer completes
	Unsure  string            `json:"unsure,omitempty"`  // the line that "I don't know" runs instead
	Command string            `json:"command,omitempty"` // with several answers, its arguments
	Values  map[string]string `json:"values,omitempty"`  // that are known already
	Files   []enclosed        `json:"files,omitempty"`
	Fields  []string          `json:"fields,omitempty"`
}

// askingOf is the form of a question: its fields together where it has some,
// else one for the answer.
func askingOf(r bot.Reply) asking {
	a := asking{Title: cut(oneLine(r.Title), maxFormTitle), Line: r.Ask.Line, Unsure: r.Ask.Unsure}
	if len(r.Ask.Fields) > 0 {
		words := strings.Fields(r.Ask.Line)
		a.Fields = r.Ask.Fields[:min(len(r.Ask.Fields), maxFields)]
		a.Command = strings.Join(words[:max(len(words)-1, 0)], " ")
	}
	return a
}

// keepForm keeps a form under the custom id of a button, or of the form itself.
func (c *Chat) keepForm(ctx context.Context, n int, a asking, whom string, keep time.Duration) (id string, err error) {
	parts := append([]string{"form", whom, a.Title, a.Line, a.Unsure, asLine(bot.Request{Command: a.Command, Values: a.Values})}, a.Fields...)
	for _, e := range a.Files {
		parts = append(parts, "file", e.For, e.File.ID)
	}
	name := digest(parts...)
	return idStart(markForm, n, "#") + name, c.notes.write(ctx, noteOf(name), whom, a, c.until(keep))
}

// form is what is shown of an asking. id comes back with the answers.
func (c *Chat) form(a asking, id string) form {
	f := form{CustomID: id, Title: a.Title}
	command := find(c.o.Commands, a.Command)
	if command == nil {
		command = find(c.o.Commands, a.Line)
	}
	for _, name := range a.fields() {
		f.Components = append(f.Components, component{Type: componentRow, Components: []component{c.field(command, name, len(a.fields()) == 1)}})
	}
	if f.Title == "" {
		f.Title = cut(c.say(bot.KeyAnswerIt), maxFormTitle)
	}
	return f
}

// fields are the names of what is asked.
func (a asking) fields() []string {
	if len(a.Fields) > 0 {
		return a.Fields
	}
	return []string{lastName(a.Line)}
}

// lastName is the argument that a begun line ends with: "loom width:".
func lastName(line string) string {
	words := strings.Fields(line)
	if len(words) == 0 {
		return "answer"
	}
	if name := strings.TrimRight(words[len(words)-1], ":="); name != "" {
		return cut(name, maxCustomID)
	}
	return "answer"
}

// field is one input. Only a single one must be filled in.
func (c *Chat) field(command *declared, name string, single bool) component {
	in := component{Type: componentText, CustomID: name, Style: textShort, Label: cut(name, maxFieldLabel), Required: &single, MaxLength: 1000}
	if command == nil {
		return in
	}
	if said := oneLine(c.argument(command, name)); said != "" {
		in.Label = cut(said, maxFieldLabel)
	}
	for _, p := range command.Params {
		switch {
		case p.Name != name:
		case p.Kind == bot.Choice:
			in.Placeholder = cut(strings.Join(p.Choices, ", "), 100)
		case p.Kind == bot.LongText:
			in.Style, in.MaxLength = textParagraph, min(lengthOf(p), maxFieldText)
		case p.Kind == bot.Words:
			in.MaxLength = min(lengthOf(p), maxFieldText)
		}
	}
	return in
}

// answers puts what was filled in into a request.
func (c *Chat) answers(r bot.Request, a asking, parts []submitted) bot.Request {
	given := filled(parts, map[string]string{})
	if a.Command != "" {
		r.Command, r.Values, r.Attached = a.Command, map[string]string{}, c.enclosed(a.Files)
		for name, value := range a.Values {
			r.Values[name] = value
		}
		for _, name := range a.Fields {
			if value := strings.TrimSpace(given[name]); value != "" {
				r.Values[name] = value
			}
		}
		return r
	}
	answer := strings.TrimSpace(given[lastName(a.Line)])
	if a.Unsure != "" && c.unsure(answer) {
		r.Line = a.Unsure
		return r
	}
	r.Line = strings.TrimSpace(a.Line) + " " + strings.TrimPrefix(bot.Written("", answer), ":")
	return r
}

// unsure tells one of the ways to say "I don't know".
func (c *Chat) unsure(answer string) bool {
	answer = strings.ToLower(strings.NewReplacer("’", "'", "‘", "'", "´", "'").Replace(oneLine(answer)))
	return answer != "" && slices.Contains(strings.Split(c.say(bot.KeyUnsure), "|"), strings.TrimRight(answer, ".! "))
}

// filled collects the inputs of a form, however they are wrapped.
func filled(parts []submitted, into map[string]string) map[string]string {
	for _, p := range parts {
		if p.Value != nil && p.CustomID != "" {
			into[p.CustomID] = *p.Value
		}
		if p.Component != nil {
			filled([]submitted{*p.Component}, into)
		}
		filled(p.Components, into)
	}
	return into
}

// say renders a sentence of the catalogue that speaks of no quantity.
func (c *Chat) say(key calc.Key, args ...any) string { return c.o.Texts.Say(0, key, args...) }
