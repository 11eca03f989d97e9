package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
	"weftroom/bot/timetable"
)

// course is an invented six-week course, played in faked time: every command
// goes through the real dispatcher, every post through the real outbox.
type course struct {
	out   io.Writer
	files string
	now   time.Time
	db    *store.DB
	box   *store.Outbox
	desk  *lesson.Desk
	plan  *timetable.Planner
	bot   *bot.Dispatcher
	asked int

	posts map[string]int // sent, by kind
	alone map[string]int // sent to a person alone, by person
}

// line is what someone writes; in the room, or to the assistant alone.
type line struct {
	who   string
	alone bool
	text  string
}

// hall is the room where the class meets.
var hall = bot.Place{Chat: "demo", Room: "hall"}

// The course runs over the end of summer time in Berlin (25 October 2026) and
// in New York (1 November); Nairobi has none.
var (
	courseBegins = time.Date(2026, 9, 30, 9, 0, 0, 0, time.UTC)
	courseEnds   = time.Date(2026, 11, 15, 12, 0, 0, 0, time.UTC)
)

var beforeTheCourse = []line{
	{"Maren", false, `class open name:"Lace of Tarnholm" zone:Berlin`},
	{"Maren", false, `class set credit:"Made possible by the Tarnholm Weavers' Fund (invented)." yarn:"8/2 cotton" technique:"Spanish lace"`},
	{"Teodor", false, "join"},
	{"Teodor", true, `settings zone:"New York" quiet:22:00-7:00 units:inches`},
	{"Yori", false, "join"},
	{"Yori", true, "settings zone:Nairobi units:centimetres"},
	{"Paloma", false, "join"},
	{"Paloma", true, "settings zone:Lisbon units:centimetres hand:left"},
	{"Teodor", true, `loom kind:"rigid heddle" width:15in heddle:10 ends:151 rightmost:hole from:right`},
	{"Yori", true, `loom kind:"table loom" sett:80/10cm width:24.5cm rightmost:shaft1 from:right`},
	{"Paloma", true, `loom kind:"rigid heddle" width:38cm heddle:40/10cm rightmost:slot from:left`},
	{"Maren", false, `session add "2026-10-08 19:00" weekly:6 topic:"Eyelets, evening by evening" minutes:90 link:https://meet.example/tarnholm`},
	{"Maren", true, "session work 1 raised:3 passes:3 rows:4"},
	{"Maren", true, "session work 2 raised:3 passes:5 rows:4"},
	{"Maren", true, "session work 3 raised:4 passes:3 way:two rows:4"},
	{"Maren", true, "session work 4 raised:4 passes:3 rows:6 repeat:halfdrop"},
	{"Maren", true, "session work 6 raised:3 passes:3 rows:6 edge:2"},
	{"Teodor", true, "when"},
	{"Yori", true, "when"},
	{"Teodor", true, "ready"},
	{"Paloma", true, "ready"},
	{"Teodor", true, "coming"},
	{"Yori", true, "coming"},
	{"Paloma", true, "away"},
	{"Paloma", true, "question Does a half-drop need an odd number of groups?"},
	{"Maren", true, "roster"},
	{"Maren", true, "kit long:60in fringe:5in skein:100g price:9.50"},
	{"Maren", true, "questions"},
}

// During the course: what is written at an instant.
var duringTheCourse = []struct {
	at time.Time
	line
}{
	{time.Date(2026, 10, 8, 17, 5, 0, 0, time.UTC), line{"Teodor", true, "row"}},
	{time.Date(2026, 10, 9, 8, 0, 0, 0, time.UTC), line{"Maren", true, "attendance came:Teodor"}},
	{time.Date(2026, 10, 9, 8, 1, 0, 0, time.UTC), line{"Maren", true, "attendance came:Yori"}},
	{time.Date(2026, 10, 19, 8, 0, 0, 0, time.UTC), line{"Maren", false, `session move 3 when:"2026-10-23 19:00"`}},
	{time.Date(2026, 10, 19, 9, 0, 0, 0, time.UTC), line{"Yori", true, "when"}},
	{time.Date(2026, 10, 19, 9, 1, 0, 0, time.UTC), line{"Yori", true, "coming session:3"}},
	{time.Date(2026, 10, 19, 9, 2, 0, 0, time.UTC), line{"Teodor", true, "away session:3"}},
	{time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC), line{"Maren", false, "session cancel 5"}},
	{time.Date(2026, 11, 9, 8, 0, 0, 0, time.UTC), line{"Maren", true, "motif text:TARN name:Tarn ends:120"}},
	{time.Date(2026, 11, 9, 8, 1, 0, 0, time.UTC), line{"Maren", true, "designs share:Tarn session:next"}},
	{time.Date(2026, 11, 12, 18, 5, 0, 0, time.UTC), line{"Teodor", true, "row"}},
	{time.Date(2026, 11, 12, 18, 6, 0, 0, time.UTC), line{"Yori", true, "row"}},
	{time.Date(2026, 11, 13, 8, 0, 0, 0, time.UTC), line{"Maren", true, "attendance came:Paloma"}},
	{time.Date(2026, 11, 14, 8, 0, 0, 0, time.UTC), line{"Maren", true, "report"}},
}

// playCourse plays it; files of answers land in the folder files.
func playCourse(out io.Writer, files string) (err error) {
	dir, err := os.MkdirTemp("", "weftroom-demo-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	c := &course{out: out, files: files, now: courseBegins, posts: map[string]int{}, alone: map[string]int{}}
	clock := func() time.Time { return c.now }
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	ctx := context.Background()
	if c.db, err = store.OpenSQLite(ctx, filepath.Join(dir, "class.db"), store.Options{Now: clock}); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, c.db.Close()) }()
	if c.box, err = store.NewOutbox(ctx, c.db, log); err != nil {
		return err
	}
	c.plan = timetable.NewPlanner(c.db, c.box, timetable.PlanOptions{Log: log, Now: clock})
	c.desk = &lesson.Desk{Store: c.db, Posts: c.box, Plan: c.plan, Now: clock}
	c.bot = bot.NewDispatcher(lesson.Commands(c.desk), class.Roll{Store: c.db}, lesson.English(), log)
	c.bot.Keep(c.db)
	return c.play(ctx)
}

func (c *course) play(ctx context.Context) error {
	fmt.Fprintf(c.out, "\n%s\nThe course, in faked time from %s on: six Thursdays at seven in the evening, Berlin time.\n%s\n",
		rule, c.now.Format("2 January 2006"), rule)
	for _, l := range beforeTheCourse {
		if err := c.ask(ctx, l); err != nil {
			return err
		}
	}
	for _, l := range duringTheCourse {
		if err := c.until(ctx, l.at); err != nil {
			return err
		}
		if err := c.ask(ctx, l.line); err != nil {
			return err
		}
	}
	if err := c.until(ctx, courseEnds); err != nil {
		return err
	}
	return c.sum(ctx)
}

// ask has someone write a line, and shows the answer and where its files went.
func (c *course) ask(ctx context.Context, l line) error {
	c.asked++
	r := bot.Request{
		ID: fmt.Sprintf("course-%d", c.asked), From: bot.Account{Chat: "demo", User: strings.ToLower(l.who)}, Name: l.who,
		In: hall, Power: l.who == "Maren", At: c.now, Line: l.text,
	}
	where := "in the room"
	if l.alone {
		r.Direct, r.In, where = true, bot.Place{Chat: "demo", Room: "alone with " + l.who}, "alone"
	}
	fmt.Fprintf(c.out, "\n%s, %s> %s\n\n", l.who, where, l.text)
	reply := c.bot.Handle(ctx, r)
	if reply.Problem != nil {
		return fmt.Errorf("%s asked %q: %s", l.who, l.text, reply.Problem.Sentence())
	}
	if reply.Command == "row" || reply.Command == "loom" || reply.Command == "motif" {
		drawn, err := drawnDesign(reply)
		if err != nil {
			return err
		}
		reply.Files = drawn
		reply.Body, reply.Buttons = untilPlan(reply.Body), nil
	}
	fmt.Fprint(c.out, bot.Plain(reply))
	return c.keep(l.who, reply.Files)
}

// drawnDesign are the chart and the finished lace of a plan that was made from a
// design; of another plan, nothing.
func drawnDesign(r bot.Reply) (files []bot.File, err error) {
	ofDesign := false
	for _, b := range r.Body {
		p, ok := b.(bot.Picture)
		ofDesign = ofDesign || ok && p.Name == "chart.png"
		if !ok || !ofDesign || p.Name != "chart.png" && p.Name != "lace.png" {
			continue
		}
		raw, err := p.Draw()
		if err != nil {
			return nil, err
		}
		files = append(files, bot.File{Name: p.Name, MediaType: "image/png", Alt: p.Alt, Bytes: raw})
	}
	return files, nil
}

// keep writes files into the folder that was named, under whose they are.
func (c *course) keep(whose string, files []bot.File) error {
	for _, f := range files {
		if err := os.MkdirAll(c.files, 0o755); err != nil {
			return err
		}
		name := filepath.Join(c.files, strings.ToLower(whose)+"-"+filepath.Base(f.Name))
		if err := os.WriteFile(name, f.Bytes, 0o644); err != nil {
			return err
		}
		fmt.Fprintf(c.out, "  file: %s (%s)\n", name, f.Alt)
	}
	return nil
}

// until lets time pass: at each instant at which a post is due it is sent, and
// in between all is planned anew.
func (c *course) until(ctx context.Context, end time.Time) error {
	for {
		if err := c.plan.All(ctx); err != nil {
			return err
		}
		next, err := c.send(ctx)
		if err != nil {
			return err
		}
		if !c.now.Before(end) {
			return nil
		}
		at := c.now.Add(6 * time.Hour)
		if next.After(c.now) && next.Before(at) {
			at = next
		}
		if at.After(end) {
			at = end
		}
		c.now = at
	}
}

// send posts everything that is due, and says when the next is.
func (c *course) send(ctx context.Context) (next time.Time, err error) {
	var done []timetable.Mark
	for {
		claim, err := c.box.Turn(ctx, timetable.Turn{
			Now: c.now, Done: done, Look: true, Chats: []string{"demo"}, Free: 32, Lease: time.Minute,
		})
		if err != nil || len(claim.Posts) == 0 {
			return claim.Next, err
		}
		done = nil
		for _, p := range claim.Posts {
			m, err := c.post(ctx, p)
			if err != nil {
				return next, err
			}
			done = append(done, m)
		}
	}
}

func (c *course) post(ctx context.Context, p timetable.Post) (timetable.Mark, error) {
	if p.Kind == timetable.KindCount {
		return c.change(ctx, p)
	}
	reply, verdict, err := c.desk.Render(ctx, p)
	if err != nil {
		return timetable.Mark{}, err
	}
	if verdict != timetable.Send {
		return timetable.Mark{Post: p, State: timetable.Cancelled, Reason: string(verdict)}, nil
	}
	c.posts[string(p.Kind)]++
	to, direct := strings.CutPrefix(p.To.Room, "@")
	if direct {
		c.alone[to]++
		to = to + " alone"
		reply.Body = reply.Body[:min(len(reply.Body), 1)] // the rest is as in the posts to the room
		reply.Buttons = nil
	} else {
		to = "the room"
	}
	fmt.Fprintf(c.out, "\n[%s UTC, to %s]\n%s", c.now.UTC().Format("Mon 2 Jan 15:04"), to, indented(bot.Plain(reply)))
	if err := c.keep(strings.TrimSuffix(strings.ReplaceAll(to, " ", "-"), "-alone"), reply.Files); err != nil {
		return timetable.Mark{}, err
	}
	m := timetable.Mark{Post: p, State: timetable.Sent, Sent: c.now}
	if !direct {
		m.Message = "message " + p.Key
	}
	return m, nil
}

// change shows what a message in the room says instead.
func (c *course) change(ctx context.Context, p timetable.Post) (timetable.Mark, error) {
	d, err := timetable.DetailsOf(p)
	if err != nil {
		return timetable.Mark{}, err
	}
	of, err := c.box.ByKey(ctx, d.Of)
	if err != nil {
		return timetable.Mark{}, err
	}
	reply, verdict, err := c.desk.Render(ctx, of)
	if err != nil || verdict != timetable.Send {
		return timetable.Mark{Post: p, State: timetable.Cancelled, Reason: string(verdict)}, err
	}
	c.posts[string(p.Kind)]++
	fmt.Fprintf(c.out, "\n[%s UTC, changed in the room]\n%s", c.now.UTC().Format("Mon 2 Jan 15:04"), indented(bot.Plain(reply)))
	return timetable.Mark{Post: p, State: timetable.Sent, Sent: c.now}, nil
}

func indented(text string) string {
	return "  " + strings.ReplaceAll(strings.TrimRight(text, "\n"), "\n", "\n  ") + "\n"
}

// sum is the closing line: what was posted, and that nothing waits.
func (c *course) sum(ctx context.Context) error {
	waiting, err := c.box.Waiting(ctx)
	if err != nil {
		return err
	}
	dead, err := c.box.DeadOf(ctx, "")
	if err != nil {
		return err
	}
	if len(c.posts) == 0 || waiting > 0 {
		return fmt.Errorf("the course is over with %d posts sent and %d left waiting", len(c.alone), waiting)
	}
	var kinds, people []string
	for k, n := range c.posts {
		kinds = append(kinds, fmt.Sprintf("%d %s", n, k))
	}
	for who, n := range c.alone {
		people = append(people, fmt.Sprintf("%s %d", who, n))
	}
	slices.Sort(kinds)
	slices.Sort(people)
	fmt.Fprintf(c.out, "\n%s\nThe course is over: posted %s; to people alone: %s; %d given up, %d left waiting. Files of answers and posts: %s\n",
		rule, strings.Join(kinds, ", "), strings.Join(people, ", "), len(dead), waiting, c.files)
	return nil
}
