package lesson

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
)

// Sentences of me, beside those of its answers.
const (
	keyMeAlone calc.Key = "me.alone" // no arguments: not where others read
)

// meFile is the name of the file with all that is kept.
const meFile = "what-is-kept-about-me.json"

// meData is all that is kept of a person, for herself.
type meData struct {
	Kept      bool         `json:"kept"` // false when there is nothing
	Person    *mePerson    `json:"person"`
	Accounts  []meAccount  `json:"accounts"`
	Loom      *class.Loom  `json:"loom"`
	Walk      *class.Walk  `json:"walk"`
	Classes   []meClass    `json:"classes"`
	Answers   []meAnswer   `json:"answers"`
	Questions []meQuestion `json:"questions"`
	Designs   []meDesign   `json:"designs"`
	Schedules []meSchedule `json:"schedules"` // that she made as a teacher
	Links     []meLink     `json:"links"`
	Limits    []meLimit    `json:"limits"`
	Before    []meBefore   `json:"before"`      // who became one with her
	Guesses   []time.Time  `json:"wrong_codes"` // when one was given
	Requests  []meRequest  `json:"requests"`    // that changed something, with their answers
	Posts     []mePost     `json:"posts"`       // to her alone
	Notes     []meNote     `json:"notes"`       // for a chat to work
}

type mePerson struct {
	Name    string    `json:"name"`
	Zone    string    `json:"zone"`
	Units   string    `json:"units"`
	Hand    string    `json:"hand"`
	Quiet   string    `json:"quiet"`
	Answers string    `json:"answers"`
	Place   string    `json:"place"`   // in a plan, to her teachers: shown or hidden
	Current string    `json:"current"` // the class meant in direct messages
	Since   time.Time `json:"since"`
}

type meAccount struct {
	Chat string `json:"chat"`
	User string `json:"user"`
}

type meClass struct {
	Class  string     `json:"class"`
	Role   string     `json:"role"`
	Joined time.Time  `json:"joined"`
	Ready  *time.Time `json:"ready"`
	Closed bool       `json:"closed"`
}

type meAnswer struct {
	Class   string    `json:"class"`
	Session int       `json:"session"`
	Start   time.Time `json:"start"`
	Answer  string    `json:"answer"`
	Came    string    `json:"came"`
	At      time.Time `json:"at"`
}

type meQuestion struct {
	Class  string     `json:"class"`
	Number int        `json:"number"`
	Text   string     `json:"text"`
	Asked  time.Time  `json:"asked"`
	Done   *time.Time `json:"done"`
}

type meDesign struct {
	Name    string    `json:"name"`
	Class   string    `json:"class"` // that it is shared with
	Asked   string    `json:"asked"` // arguments of motif
	Picture []byte    `json:"picture"`
	Made    time.Time `json:"made"`
}

type meSchedule struct {
	Class string     `json:"class"`
	Spec  string     `json:"spec"`
	Text  string     `json:"text"`
	Made  time.Time  `json:"made"`
	Ended *time.Time `json:"ended"`
}

// meLink is a link that was made, or an offer of one.
type meLink struct {
	Account meAccount `json:"account"` // that came to her, or that the offer is from
	At      time.Time `json:"at"`      // when it was made, or when the offer ends
	Made    bool      `json:"made"`
}

type meLimit struct {
	Account meAccount `json:"account"`
	Class   string    `json:"class"`
	Role    string    `json:"role"`
	At      time.Time `json:"at"`
}

type meBefore struct {
	Person mePerson        `json:"person"`
	Had    json.RawMessage `json:"had"`
}

type meRequest struct {
	Chat   string          `json:"chat"`
	ID     string          `json:"id"`
	At     time.Time       `json:"at"`
	Answer json.RawMessage `json:"answer"`
}

type mePost struct {
	Chat  string     `json:"chat"`
	Room  string     `json:"room"`
	Kind  string     `json:"kind"`
	Class string     `json:"class"`
	Due   time.Time  `json:"due"`
	State string     `json:"state"`
	Sent  *time.Time `json:"sent"`
}

type meNote struct {
	Chat  string     `json:"chat"`
	Name  string     `json:"name"`
	Value string     `json:"value"`
	Until *time.Time `json:"until"`
}

func meCommand(d *Desk) *bot.Command {
	return &bot.Command{Name: "me", Examples: []string{"me"}, Run: d.me}
}

// me gives the asker all that is kept of her, where nobody else reads it.
func (d *Desk) me(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	if !c.Request.Alone() {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyMeAlone, Example: "me"}
	}
	var data meData
	err := d.Store.Tx(ctx, func(ctx context.Context) (err error) { // all of one moment
		data, err = d.gather(ctx, c.Request.From)
		return err
	})
	if err != nil {
		return bot.Reply{}, err
	}
	if !data.Kept {
		return bot.Reply{Title: c.Say("me.nothing"), Data: data}, nil
	}
	var file bytes.Buffer
	enc := json.NewEncoder(&file)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(data); err != nil {
		return bot.Reply{}, err
	}
	return bot.Reply{
		Title: c.Say("me.title"),
		Body:  d.meSaid(c, data),
		Files: []bot.File{{Name: meFile, MediaType: "application/json", Alt: c.Say("me.file"), Bytes: file.Bytes()}},
		Data:  data,
	}, nil
}

// gatherer puts together what is kept of one person.
type gatherer struct {
	store   class.Store
	data    meData
	classes map[class.ID]class.Class
}

// gather is all that is kept of the person behind an account, or of the account
// when nobody is.
func (d *Desk) gather(ctx context.Context, a bot.Account) (meData, error) {
	g := &gatherer{store: d.Store, classes: map[class.ID]class.Class{}, data: meData{ // lists without anything are no null
		Accounts: []meAccount{}, Classes: []meClass{}, Answers: []meAnswer{}, Questions: []meQuestion{}, Designs: []meDesign{}, Schedules: []meSchedule{}, Links: []meLink{},
		Limits: []meLimit{}, Before: []meBefore{}, Guesses: []time.Time{}, Requests: []meRequest{}, Posts: []mePost{}, Notes: []meNote{},
	}}
	traces, err := d.Store.Traces(ctx, a)
	if err != nil {
		return meData{}, err
	}
	p, err := d.known(ctx, a)
	if err != nil {
		return meData{}, err
	}
	if p.ID != "" {
		if err := g.person(ctx, a, p); err != nil {
			return meData{}, err
		}
	}
	for _, add := range []func(context.Context, class.Traces) error{g.inClasses, g.answers, g.links, g.machinery} {
		if err := add(ctx, traces); err != nil {
			return meData{}, err
		}
	}
	g.data.Kept = p.ID != "" || len(g.data.Guesses) > 0 || len(g.data.Requests) > 0 || len(g.data.Notes) > 0
	return g.data, nil
}

func (g *gatherer) person(ctx context.Context, a bot.Account, p class.Person) error {
	who, err := g.personData(ctx, p)
	if err != nil {
		return err
	}
	g.data.Person = &who
	loom, err := g.store.Loom(ctx, a)
	if err != nil {
		return err
	}
	if !same(loom, class.Loom{}) {
		g.data.Loom = &loom
	}
	walk, err := g.store.Walk(ctx, a)
	if err == nil {
		g.data.Walk = &walk
	} else if !isNone(err) {
		return err
	}
	accounts, err := g.store.Accounts(ctx, p.ID)
	if err != nil {
		return err
	}
	for _, a := range accounts {
		g.data.Accounts = append(g.data.Accounts, meAccount(a))
	}
	made, err := g.store.SettledOf(ctx, p.ID)
	if err != nil {
		return err
	}
	for _, s := range made {
		g.data.Links = append(g.data.Links, meLink{Account: meAccount(s.Account), At: s.At, Made: true})
	}
	questions, err := g.store.QuestionsBy(ctx, p.ID)
	if err != nil {
		return err
	}
	for _, q := range questions {
		name, err := g.className(ctx, q.Class)
		if err != nil {
			return err
		}
		g.data.Questions = append(g.data.Questions, meQuestion{name, q.Number, q.Text, q.Asked, instantOrNull(q.Done)})
	}
	return nil
}

func (g *gatherer) personData(ctx context.Context, p class.Person) (mePerson, error) {
	quiet := ""
	if !p.Quiet.None() {
		quiet = timetable.Quiet{From: timetable.Clock(p.Quiet.From), To: timetable.Clock(p.Quiet.To)}.String()
	}
	current, err := g.className(ctx, p.Current)
	return mePerson{Name: p.Name, Zone: p.Zone, Units: unitNames[p.Units], Hand: p.Hand, Quiet: quiet, Answers: p.Answers, Place: placeNames[p.Hidden], Current: current, Since: p.Since}, err
}

// className is "" for no class, and for one that is kept no more.
func (g *gatherer) className(ctx context.Context, id class.ID) (string, error) {
	k, err := g.class(ctx, id)
	return k.Name, err
}

func (g *gatherer) class(ctx context.Context, id class.ID) (class.Class, error) {
	k, known := g.classes[id]
	if known || id == "" {
		return k, nil
	}
	k, err := g.store.Class(ctx, id)
	if err != nil && !errors.Is(err, class.ErrNone) {
		return k, err
	}
	g.classes[id] = k
	return k, nil
}

func (g *gatherer) inClasses(ctx context.Context, t class.Traces) error {
	for _, m := range t.Members {
		k, err := g.class(ctx, m.Class)
		if err != nil {
			return err
		}
		g.data.Classes = append(g.data.Classes, meClass{k.Name, roleNames[m.Role], m.Joined, instantOrNull(m.Ready), !k.Closed.IsZero()})
	}
	for _, m := range t.Designs {
		name, err := g.className(ctx, m.Class)
		if err != nil {
			return err
		}
		g.data.Designs = append(g.data.Designs, meDesign{m.Name, name, m.Asked, m.Picture, m.Made})
	}
	for _, s := range t.Schedules {
		name, err := g.className(ctx, s.Class)
		if err != nil {
			return err
		}
		g.data.Schedules = append(g.data.Schedules, meSchedule{name, s.Spec, s.Text, s.Made, instantOrNull(s.Ended)})
	}
	return nil
}

func (g *gatherer) answers(ctx context.Context, t class.Traces) error {
	for _, a := range t.Attendance {
		s, err := g.store.Session(ctx, a.Session)
		if err != nil {
			return err
		}
		name, err := g.className(ctx, s.Class)
		if err != nil {
			return err
		}
		g.data.Answers = append(g.data.Answers, meAnswer{name, s.Number, s.Start, a.Answer, a.Came, a.At})
	}
	return nil
}

func (g *gatherer) links(ctx context.Context, t class.Traces) error {
	for _, l := range t.Offers {
		g.data.Links = append(g.data.Links, meLink{Account: meAccount(l.From), At: l.Expires})
	}
	for _, l := range t.Limits {
		name, err := g.className(ctx, l.Class)
		if err != nil {
			return err
		}
		g.data.Limits = append(g.data.Limits, meLimit{meAccount(l.Account), name, roleNames[l.Role], l.At})
	}
	for i, p := range t.Before {
		who, err := g.personData(ctx, p)
		if err != nil {
			return err
		}
		b := meBefore{Person: who}
		if i < len(t.Had) {
			b.Had = json.RawMessage(t.Had[i])
		}
		g.data.Before = append(g.data.Before, b)
	}
	return nil
}

// machinery is what is kept so that nothing happens twice.
func (g *gatherer) machinery(ctx context.Context, t class.Traces) error {
	g.data.Guesses = append(g.data.Guesses, t.Guesses...)
	for _, r := range t.Requests {
		if r.Reply == "" { // this very request
			continue
		}
		g.data.Requests = append(g.data.Requests, meRequest{r.Chat, r.ID, r.At, json.RawMessage(r.Reply)})
	}
	for _, n := range t.Notes {
		g.data.Notes = append(g.data.Notes, meNote{n.Chat, n.Name, n.Value, instantOrNull(n.Until)})
	}
	for _, p := range t.Posts {
		name, err := g.className(ctx, p.Class)
		if err != nil {
			return err
		}
		g.data.Posts = append(g.data.Posts, mePost{p.To.Chat, p.To.Room, p.Kind, name, p.Due, p.State, instantOrNull(p.Sent)})
	}
	return nil
}
