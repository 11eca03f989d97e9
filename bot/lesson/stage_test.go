package lesson_test

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/adapters/loopback"
	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
	"weftroom/bot/timetable"
)

// stage is the world of one talk: a database in a file, the dispatcher, chats
// in memory and a clock that is moved by hand.
type stage struct {
	t          *testing.T
	now        *clock
	db         *store.DB
	raw        *sql.DB // the same file, to look at what no interface shows
	box        *store.Outbox
	desk       *lesson.Desk
	planner    *timetable.Planner
	dispatcher *bot.Dispatcher
	chats      map[string]*loopback.Chat
	log        *buffer

	names    map[string]string // what the chat calls a user, where it is not her name
	power    map[string]bool
	operator map[string]bool
	console  map[string]bool // who is alone with the assistant and runs the only room
	refuses  map[string]bool
	apart    bool // chats show a personal answer in a room to the asker alone
	vars     map[string]string
	secrets  []string
	open     []string                // what was said in rooms, for guard
	seen     map[string][]bot.Button // the buttons of the last message to a user in a place, and of the last post to all in it
	asked    int
	last     bot.Request
	reply    bot.Reply
	files    []bot.File
	sends    []bot.Attached // with what is written next
}

// clock is moved by hand.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = t
}

// buffer is a log that several goroutines write.
type buffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *buffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *buffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

const home = "loopback" // the chat of a place without one

func newStage(t *testing.T) *stage {
	s := &stage{
		t: t, now: &clock{t: time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC)}, log: &buffer{}, chats: map[string]*loopback.Chat{},
		names: map[string]string{}, power: map[string]bool{}, operator: map[string]bool{}, console: map[string]bool{}, refuses: map[string]bool{},
		vars: map[string]string{}, seen: map[string][]bot.Button{},
	}
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "class.db")
	var err error
	if s.db, err = store.OpenSQLite(ctx, path, store.Options{Now: s.now.Now}); err != nil {
		t.Fatal(err)
	}
	if s.raw, err = sql.Open("sqlite", "file:"+path+"?mode=ro"); err != nil {
		t.Fatal(err)
	}
	s.raw.SetMaxOpenConns(1) // so that it can tell whether others have written
	t.Cleanup(func() {
		if err := errors.Join(s.raw.Close(), s.db.Close()); err != nil {
			t.Error(err)
		}
	})
	log := slog.New(slog.NewJSONHandler(s.log, nil))
	if s.box, err = store.NewOutbox(ctx, s.db, log); err != nil {
		t.Fatal(err)
	}
	s.planner = timetable.NewPlanner(s.db, s.box, timetable.PlanOptions{Log: log, Now: s.now.Now})
	s.desk = &lesson.Desk{Random: rand.NewChaCha8([32]byte{}), Store: s.db, Posts: s.box, Plan: s.planner, Now: s.now.Now}
	s.restart()
	s.chat(home)
	return s
}

// restart answers from here on as a new process does, which knows nothing but
// what is kept.
func (s *stage) restart() {
	s.dispatcher = bot.NewDispatcher(lesson.Commands(s.desk), class.Roll{Store: s.db}, lesson.English(), slog.New(slog.NewJSONHandler(s.log, nil)))
	s.dispatcher.Keep(s.db)
	s.dispatcher.Remember(s.db, s.now.Now)
}

// chat is the chat of a name, with a room called room.
func (s *stage) chat(name string) *loopback.Chat {
	c := s.chats[name]
	if c == nil {
		c = loopback.New(name, "room")
		c.Script(func(to bot.Place, _ string, _ int) loopback.Fault {
			if user, direct := strings.CutPrefix(to.Room, "direct:"); direct && s.refuses[user] {
				return loopback.Refused()
			}
			return loopback.Fault{}
		})
		s.chats[name] = c
	}
	return c
}

var (
	saying    = regexp.MustCompile(`^([a-z]+)@(?:([a-z]+)/)?([a-z-]+)(>>?) (.*)$`)
	pressing  = regexp.MustCompile(`^\[(.*)\]$`)
	direction = regexp.MustCompile(`^@([a-z]+)(?: (.*))?$`)
)

// do runs one line of a script and gives what came of it.
func (s *stage) do(line string) string {
	s.now.set(s.now.Now().Add(time.Millisecond)) // no two things happen at once, and so their order is known
	if m := saying.FindStringSubmatch(line); m != nil {
		text := s.say(m[1], m[2], m[3], m[5])
		if m[4] == ">>" && s.reply.Problem == nil {
			text = s.reply.Title
		}
		return text
	}
	m := direction.FindStringSubmatch(line)
	if m == nil {
		s.t.Fatalf("neither said nor a direction: %s", line)
	}
	first, rest, _ := strings.Cut(m[2], " ")
	switch m[1] {
	case "now":
		s.now.set(s.instant(first))
	case "run":
		return s.run(s.instant(rest))
	case "outbox":
		return s.outbox()
	case "power":
		s.power[first] = true
	case "operator":
		s.operator[first] = true
	case "console":
		s.console[first], s.operator[first] = true, true
	case "name":
		s.names[first] = rest
		if name, err := strconv.Unquote(rest); err == nil {
			s.names[first] = name
		}
	case "member":
		s.member(first, rest)
	case "zone":
		s.zone(first, rest)
	case "refuse":
		s.refuses[first] = true
	case "accept":
		delete(s.refuses, first)
	case "restart":
		s.restart()
	case "apart":
		s.apart = true
	case "room":
		chat, room, other := strings.Cut(first, "/")
		if !other {
			chat, room = home, first
		}
		s.chat(chat).Open(room)
	case "replay":
		return s.answered(s.last)
	case "json":
		return s.data()
	case "events":
		return s.listed()
	case "file":
		return s.file(first)
	case "let":
		s.let(first, rest)
	case "send":
		s.sends = append(s.sends, sent(s.t, first))
	case "secret":
		s.secrets = append(s.secrets, first)
	default:
		s.t.Fatalf("no such direction: %s", line)
	}
	return ""
}

func (s *stage) instant(text string) time.Time {
	t, err := time.Parse("2006-01-02T15:04Z", strings.TrimPrefix(text, "until "))
	if err != nil {
		s.t.Fatal(err)
	}
	return t
}

// say has a user write a line, or press a button.
func (s *stage) say(user, chat, room, line string) string {
	if chat == "" {
		chat = home
	}
	r := bot.Request{
		From: bot.Account{Chat: chat, User: user}, In: bot.Place{Chat: chat, Room: room}, Direct: room == "dm",
		Name: s.called(user), Line: strings.ReplaceAll(line, `\n`, "\n"), Power: s.power[user] && room != "dm" || s.console[user],
		Apart: s.apart && room != "dm",
	}
	s.chat(chat).Join(user)
	if s.operator[user] {
		r.Role = bot.Teacher
	}
	if r.Direct {
		r.In.Room = "direct:" + user
	}
	if m := pressing.FindStringSubmatch(line); m != nil {
		r.Line = s.button(r, m[1])
	}
	s.asked++
	r.ID = fmt.Sprint("request-", s.asked)
	r.Attached, s.sends = s.sends, nil
	return s.answered(r)
}

// called is what the chat calls a user.
func (s *stage) called(user string) string {
	if name, ok := s.names[user]; ok {
		return name
	}
	return strings.ToUpper(user[:1]) + user[1:]
}

func (s *stage) button(r bot.Request, label string) string {
	buttons := slices.Concat(s.seen[seenBy(r.From.User, r.In)], s.seen[seenBy("", r.In)])
	i := slices.IndexFunc(buttons, func(b bot.Button) bool { return b.Label == label })
	if i < 0 {
		s.t.Fatalf("%s has no button %q; she has %q", r.From.User, label, buttons)
	}
	return buttons[i].Line
}

func seenBy(user string, in bot.Place) string { return user + " " + in.Chat + " " + in.Room }

// answered handles a request and gives the answer as it is read.
func (s *stage) answered(r bot.Request) string {
	s.last = r
	s.reply = s.dispatcher.Handle(s.t.Context(), r)
	if err := keepsSchema(s.reply); err != nil {
		s.t.Errorf("%s: %v", r.Line, err)
	}
	if err := momentsStand(s.reply); err != nil {
		s.t.Errorf("%s: %v", r.Line, err)
	}
	s.seen[seenBy(r.From.User, r.In)] = s.reply.Buttons
	s.files = s.reply.Files
	text := shown(s.reply)
	if s.reply.Audience == bot.Direct && !s.refuses[r.From.User] { // she reads it, and presses its buttons, there
		delete(s.seen, seenBy(r.From.User, r.In))
		s.seen[seenBy(r.From.User, bot.Place{Chat: r.From.Chat, Room: "direct:" + r.From.User})] = s.reply.Buttons
		return "[to her by direct message, with a word in the room]\n" + text
	}
	switch personal := s.reply.Audience == bot.Personal; {
	case r.Direct:
		return text
	case personal && r.Apart:
		return "[to her alone]\n" + text
	}
	s.open = append(s.open, text)
	for _, f := range s.reply.Files {
		s.open = append(s.open, string(f.Bytes))
	}
	if s.reply.Audience == bot.Room {
		return "[to the room]\n" + text
	}
	return "[to her, in the room]\n" + text
}

// member has someone be in the class that meets in the room, without a word.
func (s *stage) member(user, role string) {
	ctx := s.t.Context()
	a := bot.Account{Chat: home, User: user}
	s.chat(home).Join(user)
	k, err := s.db.ClassIn(ctx, bot.Place{Chat: home, Room: "room"})
	if err != nil {
		s.t.Fatal(err)
	}
	p, err := s.db.PersonOf(ctx, a, "")
	if err != nil {
		s.t.Fatal(err)
	}
	if p.Name == "" {
		p.Name = s.called(user)
		if err := s.db.PutPerson(ctx, p); err != nil {
			s.t.Fatal(err)
		}
	}
	m := class.Member{Class: k.ID, Person: p.ID, Role: map[string]bot.Role{"": bot.Student, "helper": bot.Helper, "teacher": bot.Teacher}[role], Joined: s.now.Now()}
	if err := errors.Join(s.db.PutMember(ctx, m), s.planner.Class(ctx, k.ID)); err != nil {
		s.t.Fatal(err)
	}
}

// zone sets someone's own zone.
func (s *stage) zone(user, zone string) {
	ctx := s.t.Context()
	p, err := s.db.PersonOf(ctx, bot.Account{Chat: home, User: user}, "")
	if err != nil {
		s.t.Fatal(err)
	}
	p.Zone = zone
	if err := s.db.PutPerson(ctx, p); err != nil {
		s.t.Fatal(err)
	}
}

// shown is a reply as plain text, with its files named below.
func shown(r bot.Reply) string {
	text := bot.Plain(r)
	for _, f := range r.Files {
		text += fmt.Sprintf("[file %s: %s]\n", f.Name, f.Alt)
	}
	return text
}

func (s *stage) data() string {
	if s.reply.Data == nil {
		return "null"
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(s.reply.Data); err != nil {
		s.t.Fatal(err)
	}
	return b.String()
}

func (s *stage) file(name string) string {
	for _, f := range s.files {
		if f.Name == name {
			return strings.ReplaceAll(string(f.Bytes), "\r\n", "\n")
		}
	}
	s.t.Fatalf("no file %s; there are %d", name, len(s.files))
	return ""
}

func (s *stage) let(name, form string) {
	found := regexp.MustCompile(form).FindStringSubmatch(bot.Plain(s.reply))
	if found == nil {
		s.t.Fatalf("nothing fits %s in\n%s", form, bot.Plain(s.reply))
	}
	s.vars[name] = found[len(found)-1]
}

// filled puts what was kept into a line.
func (s *stage) filled(line string) string {
	for name, value := range s.vars {
		line = strings.ReplaceAll(line, "$"+name, value)
	}
	return line
}

// named puts names in place of what chance has chosen.
func (s *stage) named(text string) string {
	for name, value := range s.vars {
		text = strings.ReplaceAll(text, value, "$"+name)
	}
	for _, q := range []string{
		`SELECT id, 'session ' || number FROM sessions`, `SELECT id, 'class ' || name FROM classes`,
		`SELECT person, 'person ' || MIN(userid) FROM accounts GROUP BY person`, `SELECT id, 'design ' || name FROM designs`, `SELECT id, 'question ' || number FROM questions`,
	} {
		for _, row := range s.query(q) {
			text = strings.ReplaceAll(text, row[0], "<"+row[1]+">")
		}
	}
	return text
}

// query reads rows of texts.
func (s *stage) query(q string, args ...any) [][]string {
	rows, err := s.raw.QueryContext(s.t.Context(), q, args...)
	if err != nil {
		s.t.Fatal(err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		s.t.Fatal(err)
	}
	var out [][]string
	for rows.Next() {
		row, into := make([]string, len(columns)), make([]any, len(columns))
		for i := range row {
			into[i] = &row[i]
		}
		if err := rows.Scan(into...); err != nil {
			s.t.Fatal(err)
		}
		out = append(out, row)
	}
	if err := rows.Err(); err != nil {
		s.t.Fatal(err)
	}
	return out
}

// guard holds what must be true after every line: nothing went wrong on our
// side, and no secret is where others can read it.
func (s *stage) guard(line string) {
	for entry := range strings.Lines(s.log.String()) {
		if strings.Contains(entry, `"level":"ERROR"`) && !strings.Contains(entry, `"msg":"post given up"`) {
			s.t.Fatalf("%s: %s", line, entry)
		}
	}
	if secret, text := s.leak(); secret != "" {
		s.t.Fatalf("%s: %s can be read by others in\n%s", line, secret, text)
	}
}

// leak finds a secret where others can read it.
func (s *stage) leak() (secret, text string) {
	open := append(slices.Clone(s.open), s.log.String())
	for _, c := range s.chats {
		for _, m := range c.Messages(bot.Place{}) {
			if strings.HasPrefix(m.Place.Room, "direct:") {
				continue
			}
			open = append(open, m.Text)
			for _, f := range m.Files {
				open = append(open, string(f.Bytes))
			}
		}
	}
	for _, row := range s.query(`SELECT payload, last_error FROM outbox`) {
		open = append(open, row...)
	}
	for _, secret := range s.secrets {
		for _, text := range open {
			// A calendar folds its lines.
			if strings.Contains(strings.ReplaceAll(text, "\r\n ", ""), secret) {
				return secret, text
			}
		}
	}
	return "", ""
}
