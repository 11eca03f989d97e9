package store

import (
	"encoding/json"
	"fmt"
	"time"

	"weftroom/bot"
	"weftroom/calc"
)

// keptReply is a bot.Reply as JSON keeps it. Two things do not come back as
// they were: Data comes back as json.RawMessage, and a Picture without its Draw,
// so that a replay shows what it says in place of the picture.
type keptReply struct {
	Command  string       `json:"command,omitempty"`
	Title    string       `json:"title,omitempty"`
	Body     []keptBlock  `json:"body,omitempty"`
	Files    []keptFile   `json:"files,omitempty"`
	Buttons  []keptButton `json:"buttons,omitempty"`
	Audience bot.Audience `json:"audience,omitempty"`
	Data     any          `json:"data,omitempty"`
	Problem  *keptProblem `json:"problem,omitempty"`
	Ask      *keptAsk     `json:"ask,omitempty"`
	Moments  []keptMoment `json:"moments,omitempty"`
	Events   []keptEvent  `json:"events,omitempty"`
	Instead  bool         `json:"instead,omitempty"`
}

type keptMoment struct {
	Text string    `json:"text"`
	At   time.Time `json:"at"`
}

type keptEvent struct {
	Key       string    `json:"key"`
	Title     string    `json:"title"`
	About     string    `json:"about,omitempty"`
	Start     time.Time `json:"start"`
	End       time.Time `json:"end"`
	Cancelled bool      `json:"cancelled,omitempty"`
}

// keptBlock has the one field that the block is.
type keptBlock struct {
	Paragraph *string      `json:"paragraph,omitempty"`
	Heading   *string      `json:"heading,omitempty"`
	List      *[]string    `json:"list,omitempty"`
	Table     *keptTable   `json:"table,omitempty"`
	Steps     *[]keptStep  `json:"steps,omitempty"`
	Picture   *keptPicture `json:"picture,omitempty"`
}

type keptTable struct {
	Head    []string   `json:"head"`
	Rows    [][]string `json:"rows"`
	Numbers []bool     `json:"numbers,omitempty"`
}

type keptStep struct {
	Label string `json:"label,omitempty"`
	Text  string `json:"text"`
	Short string `json:"short,omitempty"`
}

type keptPicture struct {
	Name   string `json:"name"`
	Alt    string `json:"alt"`
	Width  int    `json:"width"`
	Height int    `json:"height"`
}

type keptFile struct {
	Name      string `json:"name"`
	MediaType string `json:"media_type"`
	Alt       string `json:"alt,omitempty"`
	Bytes     []byte `json:"bytes"`
}

type keptButton struct {
	Label string `json:"label"`
	Line  string `json:"line"`
}

type keptProblem struct {
	Code    calc.Code `json:"code"`
	Message string    `json:"message"`
	Hint    string    `json:"hint,omitempty"`

	Argument string `json:"argument,omitempty"`
}

type keptAsk struct {
	Line   string   `json:"line"`
	Unsure string   `json:"unsure,omitempty"`
	Fields []string `json:"fields,omitempty"`
}

// encodeReply makes a Reply into text for the database.
func encodeReply(r bot.Reply) (string, error) {
	k := keptReply{
		Command: r.Command, Title: r.Title, Audience: r.Audience, Data: r.Data,
		Problem: (*keptProblem)(r.Problem), Ask: (*keptAsk)(r.Ask), Instead: r.Instead,
	}
	for _, b := range r.Body {
		block, err := encodeBlock(b)
		if err != nil {
			return "", err
		}
		k.Body = append(k.Body, block)
	}
	for _, f := range r.Files {
		k.Files = append(k.Files, keptFile(f))
	}
	for _, b := range r.Buttons {
		k.Buttons = append(k.Buttons, keptButton(b))
	}
	for _, m := range r.Moments {
		k.Moments = append(k.Moments, keptMoment(m))
	}
	for _, e := range r.Events {
		k.Events = append(k.Events, keptEvent(e))
	}
	raw, err := json.Marshal(k)
	return string(raw), err
}

func encodeBlock(b bot.Block) (k keptBlock, err error) {
	switch b := b.(type) {
	case bot.Paragraph:
		k.Paragraph = new(string(b))
	case bot.Heading:
		k.Heading = new(string(b))
	case bot.List:
		k.List = new(append([]string{}, b...)) // not null, which would be no list
	case bot.Table:
		k.Table = new(keptTable(b))
	case bot.Steps:
		steps := make([]keptStep, len(b))
		for i, s := range b {
			steps[i] = keptStep(s)
		}
		k.Steps = &steps
	case bot.Picture:
		k.Picture = &keptPicture{b.Name, b.Alt, b.Width, b.Height}
	default:
		return k, fmt.Errorf("store: no way to keep a block of type %T", b)
	}
	return k, nil
}

// decodeReply is the other way.
func decodeReply(raw string) (bot.Reply, error) {
	var k struct {
		keptReply
		Data json.RawMessage `json:"data"`
	}
	if err := json.Unmarshal([]byte(raw), &k); err != nil {
		return bot.Reply{}, err
	}
	r := bot.Reply{
		Command: k.Command, Title: k.Title, Audience: k.Audience,
		Problem: (*bot.Problem)(k.Problem), Ask: (*bot.Question)(k.Ask), Instead: k.Instead,
	}
	if k.Data != nil {
		r.Data = k.Data
	}
	for _, b := range k.Body {
		r.Body = append(r.Body, decodeBlock(b))
	}
	for _, f := range k.Files {
		r.Files = append(r.Files, bot.File(f))
	}
	for _, b := range k.Buttons {
		r.Buttons = append(r.Buttons, bot.Button(b))
	}
	for _, m := range k.Moments {
		r.Moments = append(r.Moments, bot.Moment(m))
	}
	for _, e := range k.Events {
		r.Events = append(r.Events, bot.Event(e))
	}
	return r, nil
}

func decodeBlock(k keptBlock) bot.Block {
	switch {
	case k.Heading != nil:
		return bot.Heading(*k.Heading)
	case k.List != nil:
		return bot.List(*k.List)
	case k.Table != nil:
		return bot.Table(*k.Table)
	case k.Steps != nil:
		steps := make(bot.Steps, len(*k.Steps))
		for i, s := range *k.Steps {
			steps[i] = bot.Step(s)
		}
		return steps
	case k.Picture != nil:
		return bot.Picture{Name: k.Picture.Name, Alt: k.Picture.Alt, Width: k.Picture.Width, Height: k.Picture.Height}
	case k.Paragraph != nil:
		return bot.Paragraph(*k.Paragraph)
	}
	return bot.Paragraph("")
}
