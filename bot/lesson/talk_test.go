package lesson_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/tools/txtar"
)

// Talks are conversations with the assistant, as the people in them see them.
// Each file of testdata/talk is an archive: a comment, and then talks, each with
// a database of its own. A talk is a list of what people write and what the
// clock does, with what comes of it indented below:
//
//	maren@room> session add "2026-12-01 19:00"   in a room
//	maren@dm> row                                to the assistant alone
//	maren@other/room> hello                      in another chat
//	maren@room> [Close it]                       presses a button of her last answer there, or of the last post
//	maren@dm>> row ends:97                       only the title of the answer is shown
//
//	@now 2026-11-25T10:00Z      sets the clock
//	@run until 2026-12-01T20:00Z  lets time pass: plans, sends, and shows each post
//	@outbox                     the posts that wait
//	@member yori                is in the class of the room, as a student ("yori helper", "yori teacher")
//	@zone yori Asia/Tokyo       has that zone of her own
//	@power maren                the chat lets her run its rooms, from here on
//	@operator maren             the chat itself says that she is a teacher
//	@console maren              she is the only one in a chat with one room, which she runs alone
//	@name maren Maren of …      what the chat calls her; her name with a capital unless said, and in quotes as Go writes it
//	@refuse maren               she takes no direct messages from here on; @accept ends it
//	@restart                    a new process answers from here on
//	@apart                      chats show personal answers in a room to the asker alone
//	@room hall                  opens another room of the chat ("other/hall" of another)
//	@send leaf.png              what is written next comes with that file (stagefiles_test.go has them)
//	@replay                     the last request comes a second time
//	@events                     the events that the last post in the room brought
//	@json                       the data of the last answer, for scripts
//	@file lesson.ics            a file of the last answer or post
//	@let code [a-z0-9]{6}       keeps what fits in the last answer, and shows it as $code everywhere
//	@secret https://…           from here on in no room, no post to one, no payload and no log
//
// Ids are shown by what they are of, such as <session 1>. Every answer is held
// against the schema of answers. With -update the indented lines are written
// anew; read each as the person who gets it.
var update = flag.Bool("update", false, "write the talks anew")

func TestTalks(t *testing.T) {
	files, err := filepath.Glob("testdata/talk/*.txtar")
	if err != nil || len(files) == 0 {
		t.Fatalf("no talks: %v", err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) { playFile(t, file) })
	}
}

func playFile(t *testing.T, file string) {
	archive, err := txtar.ParseFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if len(archive.Files) == 0 {
		t.Fatal("an archive without talks")
	}
	for i, f := range archive.Files {
		t.Run(f.Name, func(t *testing.T) {
			want := string(f.Data)
			got := play(t, want)
			if *update {
				archive.Files[i].Data = []byte(got)
			} else if diff := cmp.Diff(strings.Split(want, "\n"), strings.Split(got, "\n")); diff != "" {
				t.Errorf("- as written, + as it went:\n%s", diff)
			}
		})
	}
	if *update && !t.Failed() {
		if err := os.WriteFile(file, txtar.Format(archive), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// play gives a script back with what came of it. Lines that are neither
// indented nor empty are its own; a line that begins with # is a remark.
func play(t *testing.T, script string) string {
	s := newStage(t)
	var out strings.Builder
	for line := range strings.Lines(script) {
		line = strings.TrimRight(line, "\n")
		if line == "" || strings.HasPrefix(line, " ") {
			continue
		}
		out.WriteString(line + "\n")
		result := ""
		if !strings.HasPrefix(line, "#") {
			result = s.named(s.do(s.filled(line)))
			s.guard(line)
		}
		if strings.Contains(result, "%!") {
			t.Errorf("%s: a sentence does not fit what it is told: %s", line, result)
		}
		if result != "" {
			out.WriteString(indent(result))
		}
		if strings.HasPrefix(line, "#") || quiet(line) && result == "" {
			continue
		}
		out.WriteString("\n")
	}
	return strings.TrimRight(s.named(out.String()), "\n") + "\n"
}

// quiet tells that a line says nothing that is read.
func quiet(line string) bool {
	return strings.HasPrefix(line, "@")
}

func indent(text string) string {
	var b strings.Builder
	for line := range strings.Lines(strings.TrimRight(text, "\n")) {
		if line = strings.TrimRight(line, "\n"); line != "" {
			line = "  " + line
		}
		b.WriteString(line + "\n")
	}
	return b.String()
}
