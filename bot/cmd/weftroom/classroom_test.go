package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/bot/lesson/lessontest"
	"weftroom/calc/lace"
)

// A class plays through a real chat: people with programs of their own talk to
// the whole of weftroom, which runs in a process of its own and is killed on the
// way. What they know of their plans is the text that reached them.

// patient is how long anyone waits on a busy machine: for an answer, or for the
// reminder of a session that was added just now.
const patient = 3 * time.Minute

// venue is a chat in which a class can meet: a room, and people.
type venue interface {
	// settings are the lines of weftroom.toml that join the chat.
	settings() string
	// keeps tells that what is written while the assistant is away waits for it.
	keeps() bool
	// present waits until the assistant has joined that many times.
	present(t *testing.T, times int)
	// environ is what the process needs besides, as "NAME=value".
	environ() []string
	// person comes into the room, or into none.
	person(t *testing.T, name string, inRoom bool) actor
}

// actor is a person at her own device.
type actor interface {
	// say writes a line in the room, or to the assistant alone.
	say(t *testing.T, alone bool, line string)
	// hear waits for the next message that appears or changes there and is not hers:
	// which one it is, and what it says now.
	hear(ctx context.Context, alone bool) (id, text string, err error)
	// pictures are those that she has been shown there so far, fetched and, where
	// the chat is encrypted, decrypted.
	pictures(t *testing.T, alone bool) []shownPicture
	// press presses a button under what she saw last there.
	press(t *testing.T, alone bool, label string)
}

// shownPicture is a picture as it reached someone.
type shownPicture struct {
	alt   string
	bytes []byte
	thumb []byte // nil where the chat makes small ones itself
}

// guest is an actor with the looms and lines of the course.
type guest struct {
	actor
	name      string
	loom      string // what she tells of her loom
	pattern   lace.Pattern
	rightmost string
}

// tell says a line and collects what comes until all texts are there.
func (g guest) tell(t *testing.T, alone bool, line string, until ...string) string {
	t.Helper()
	g.say(t, alone, line)
	return g.wait(t, alone, line, until...)
}

// wait collects what comes until all texts are there. Blanks and line breaks
// count alike.
func (g guest) wait(t *testing.T, alone bool, why string, until ...string) string {
	t.Helper()
	return g.collect(t, alone, why, func(text string) error {
		plain := unmarked(text)
		for _, want := range until {
			if !strings.Contains(plain, unmarked(want)) {
				return fmt.Errorf("%q has not come", want)
			}
		}
		if text == "" {
			return errors.New("nothing has come")
		}
		return nil
	})
}

// collect takes what comes, the newest words of each message, until it is enough.
func (g guest) collect(t *testing.T, alone bool, why string, enough func(text string) error) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patient)
	defer cancel()
	var order []string
	says := map[string]string{}
	for {
		var all strings.Builder
		for _, id := range order {
			all.WriteString(says[id] + "\n")
		}
		lacks := enough(all.String())
		if lacks == nil {
			return all.String()
		}
		id, text, err := g.hear(ctx, alone)
		if err != nil {
			t.Fatalf("%s, after %q: %v (%v); what has:\n%s", g.name, why, lacks, err, all.String())
		}
		if _, known := says[id]; !known {
			order = append(order, id)
		}
		says[id] = text
	}
}

// asksForPlan says a line that is answered by a plan, and holds the text of the
// plan, as it arrived, to the cloth that was asked for. Messages of earlier
// answers may still be changing meanwhile: what counts is what comes under the
// title of this one.
func (g guest) asksForPlan(t *testing.T, alone bool, line, title string) {
	t.Helper()
	g.say(t, alone, line)
	var rows []lace.Row
	g.collect(t, alone, line, func(text string) error {
		at := strings.LastIndex(text, title)
		if at < 0 {
			return fmt.Errorf("%q has not come", title)
		}
		if !strings.Contains(unmarked(text[at:]), "proven: all") {
			return errors.New("the end of the plan has not come")
		}
		var err error
		rows, err = lessontest.ReadWords(text[at:], g.rightmost)
		return err
	})
	g.wove(t, rows)
}

var marksOfChats = regexp.MustCompile("[*_`\\\\>|]+")

// unmarked is a text without what a chat puts around its words, all in small
// letters, as names are in some chats.
func unmarked(text string) string {
	return strings.ToLower(strings.Join(strings.Fields(marksOfChats.ReplaceAllString(text, "")), " "))
}

// wove holds rows that she read to the cloth that was asked for.
func (g guest) wove(t *testing.T, rows []lace.Row) {
	t.Helper()
	design, err := g.pattern.Design()
	if err != nil {
		t.Fatal(err)
	}
	plan, err := lace.Make(design)
	if err != nil {
		t.Fatal(err)
	}
	want, err := lace.Weave(g.pattern.Ends, g.pattern.From, plan.Rows)
	if err != nil {
		t.Fatal(err)
	}
	got, err := lace.Weave(g.pattern.Ends, g.pattern.From, rows)
	if err != nil {
		t.Fatalf("%s cannot weave her plan: %v", g.name, err)
	}
	if len(got.Rows) != len(want.Rows) {
		t.Fatalf("%s has %d rows of %d", g.name, len(got.Rows), len(want.Rows))
	}
	for i := range want.Rows {
		if !slices.Equal(got.Rows[i].Passes, want.Rows[i].Passes) {
			t.Fatalf("%s weaves another row %d than was asked for", g.name, i+1)
		}
	}
}

// isShown waits for the pictures of a plan: as words for whoever does not see
// them, and as something that can be drawn.
func (g guest) isShown(t *testing.T, alone bool, alts ...string) {
	t.Helper()
	got := g.looks(t, alone, func(got []shownPicture) error {
		missing := slices.DeleteFunc(slices.Clone(alts), func(alt string) bool {
			return slices.ContainsFunc(got, func(p shownPicture) bool { return strings.Contains(p.alt, alt) })
		})
		if len(missing) > 0 {
			return fmt.Errorf("not shown: %q", missing)
		}
		return nil
	})
	for _, p := range got {
		whole, err := png.Decode(bytes.NewReader(p.bytes))
		if err != nil {
			t.Errorf("%s cannot see a picture (%s): %v", g.name, p.alt, err)
			continue
		}
		if whole.Bounds().Dx() != 1200 {
			t.Errorf("%s sees a picture %d pixels wide", g.name, whole.Bounds().Dx())
		}
		if p.thumb == nil {
			continue
		}
		if small, err := png.Decode(bytes.NewReader(p.thumb)); err != nil || small.Bounds().Dx() >= 1200 {
			t.Errorf("%s sees no small picture beside it: %v", g.name, err)
		}
	}
}

// looks has her look at her pictures until they are enough.
func (g guest) looks(t *testing.T, alone bool, enough func([]shownPicture) error) []shownPicture {
	t.Helper()
	for deadline := time.Now().Add(patient); ; time.Sleep(50 * time.Millisecond) { // the chat is asked by another goroutine
		got := g.pictures(t, alone)
		lacks := enough(got)
		if lacks == nil {
			return got
		}
		if time.Now().After(deadline) {
			t.Errorf("%s: %v", g.name, lacks)
			return got
		}
	}
}

// building is weftroom in a process of its own.
type building struct {
	t      *testing.T
	dir    string
	config string
	env    []string

	process *exec.Cmd
	log     *os.File
}

// newBuilding starts serve with the chats of the venues.
func newBuilding(t *testing.T, venues ...venue) *building {
	t.Helper()
	b := &building{t: t, dir: t.TempDir()}
	text := fmt.Sprintf("[state]\nfile = %q\n[log]\nlevel = \"debug\"\n", filepath.Join(b.dir, "class.db"))
	for _, v := range venues {
		text += strings.ReplaceAll(v.settings(), "$DIR", b.dir)
		b.env = append(b.env, v.environ()...)
	}
	b.config = filepath.Join(b.dir, "weftroom.toml")
	if err := os.WriteFile(b.config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	var err error
	if b.log, err = os.Create(filepath.Join(b.dir, "log")); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		b.kill()
		if t.Failed() {
			raw, _ := os.ReadFile(b.log.Name())
			t.Logf("the end of the log:\n%s", raw[max(0, len(raw)-8000):])
		}
		b.log.Close()
	})
	b.start()
	return b
}

func (b *building) start() {
	b.t.Helper()
	exe, err := os.Executable()
	if err != nil {
		b.t.Fatal(err)
	}
	b.process = &exec.Cmd{
		Path: exe, Args: []string{"weftroom", "serve", "--config", b.config}, Dir: b.dir,
		Env: append(os.Environ(), b.env...), Stdout: b.log, Stderr: b.log,
	}
	if err := b.process.Start(); err != nil {
		b.t.Fatal(err)
	}
}

// kill ends the process as a power cut does.
func (b *building) kill() {
	if b.process == nil {
		return
	}
	_ = b.process.Process.Kill()
	_ = b.process.Wait()
	b.process = nil
}

func (b *building) killAndStart() {
	b.t.Helper()
	b.kill()
	b.start()
}

// sixLooms are a teacher's six students; no two looms are alike.
var sixLooms = []guest{
	{name: "Teodor", loom: `loom kind:"rigid heddle" width:15in heddle:10 ends:151 rightmost:hole from:right units:inches`, rightmost: "hole",
		pattern: lace.Pattern{Ends: 151}},
	{name: "Yori", loom: `loom kind:"table loom" sett:80/10cm ends:196 rightmost:shaft1 from:right units:inches`, rightmost: "shaft1",
		pattern: lace.Pattern{Ends: 196}},
	{name: "Paloma", loom: `loom kind:"rigid heddle" ends:152 heddle:40/10cm rightmost:slot from:left units:inches`, rightmost: "slot",
		pattern: lace.Pattern{Ends: 152, From: lace.Left}},
	{name: "Brynn", loom: `loom kind:"rigid heddle" ends:60 heddle:7.5 rightmost:slot from:left units:inches`, rightmost: "slot",
		pattern: lace.Pattern{Ends: 60, From: lace.Left}},
	{name: "Zenobia", loom: `loom kind:"floor loom" ends:97 sett:20 rightmost:shaft2 from:right units:inches`, rightmost: "shaft2",
		pattern: lace.Pattern{Ends: 97}},
	{name: "Ilka", loom: `loom kind:"rigid heddle" ends:98 heddle:12.5 rightmost:hole from:left units:inches`, rightmost: "hole",
		pattern: lace.Pattern{Ends: 98, From: lace.Left}},
}

// india is the class's zone, which never changes its clocks: a session in half an
// hour is at no time that there is twice.
var india = time.FixedZone("Asia/Kolkata", 5*60*60+30*60)

// playClass has a teacher and six students meet in a venue: looms are reported
// and plans received and woven, a session is added and reminded of, one student
// leaves and is forgotten, and the process is killed twice on the way.
func playClass(t *testing.T, v venue) {
	b := newBuilding(t, v)
	maren := guest{actor: v.person(t, "Maren", true), name: "Maren"}
	maren.tell(t, false, `class open name:"Lace of Tarnholm" zone:Kolkata`, "Lace of Tarnholm")
	maren.tell(t, false, `class set yarn:"8/2 cotton" reminders:"30m 29m 28m" credit:"Made possible by the Tarnholm Weavers' Fund (invented)."`, "Tarnholm Weavers' Fund")

	class := slices.Clone(sixLooms)
	var arriving sync.WaitGroup
	for i := range class {
		g := &class[i]
		g.pattern.Raised, g.pattern.Passes, g.pattern.Rows = 3, 3, 4
		g.actor = v.person(t, g.name, true)
		g.tell(t, false, "join", "Lace of Tarnholm")
		arriving.Go(func() {
			g.tell(t, true, g.loom, fmt.Sprint(g.pattern.Ends, " ends"), "That is all I need")
			g.asksForPlan(t, true, "row raised:3 rows:4", "groups of 3 raised, 3 passes, one-way, 4 rows")
			g.isShown(t, true, "each as it lies before you", "the finished lace")
		})
	}
	arriving.Wait()
	if t.Failed() {
		return
	}

	// The session begins in about half an hour, so that a reminder is due at the next
	// full minute. One that was due before its session was added is not made up for:
	// when that takes longer here, the next comes in its place.
	begins := time.Now().Add(31 * time.Minute).Truncate(time.Minute)
	when := begins.In(india).Format("2006-01-02 15:04")
	maren.tell(t, false, fmt.Sprintf(`session add %q topic:"First eyelet rows" minutes:90`, when), "First eyelet rows")
	maren.tell(t, true, "session work 1 raised:3 passes:5 rows:2", "5 passes")
	b.killAndStart()

	for i := range class {
		g := &class[i]
		g.pattern.Passes, g.pattern.Rows = 5, 2
		arriving.Go(func() {
			g.wait(t, true, "the reminder of the session", "First eyelet rows")
			g.asksForPlan(t, true, "row", "groups of 3 raised, 5 passes, one-way, 2 rows")
		})
	}
	arriving.Wait()
	if t.Failed() {
		return
	}
	class[0].press(t, true, "I am coming")
	class[0].wait(t, true, "pressing I am coming", "You are coming")
	class[1].tell(t, true, "away", "You are not coming")

	// What is asked while nobody is there is answered afterwards, where the chat
	// keeps it.
	b.kill()
	if v.keeps() {
		class[2].say(t, true, "ready")
	}
	b.start()
	if !v.keeps() {
		v.present(t, 3)
		class[2].say(t, true, "ready")
	}
	class[2].wait(t, true, "ready", "Your loom is dressed")

	leaver := class[5]
	leaver.tell(t, true, "leave", "Leave the class Lace of Tarnholm?")
	leaver.tell(t, true, "leave sure:yes", "Lace of Tarnholm")
	leaver.tell(t, true, "forget", "Shall I forget you?")
	leaver.tell(t, true, "forget sure:yes", "You are forgotten")
	roster := maren.tell(t, true, "roster", "Teodor", "Zenobia")
	if strings.Contains(unmarked(roster), "ilka") {
		t.Errorf("Ilka has left, and yet:\n%s", roster)
	}
	maren.tell(t, true, "report", "First eyelet rows")
	maren.tell(t, false, "session cancel 1", "First eyelet rows")
}
