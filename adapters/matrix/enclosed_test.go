//go:build goolm

package matrix

import (
	"context"
	"testing"
	"time"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

// TestEnclosedFiles: a picture comes with a command that is its caption, or that
// answers the message which has it, in plain rooms and in encrypted ones.
func TestEnclosedFiles(t *testing.T) {
	t.Parallel()
	for _, encrypted := range []bool{false, true} {
		got := make(chan string, 1)
		s := matrixtest.Shared(t)
		d := newDevice(t, s)
		d.options.Commands = declared
		d.up(func(ctx context.Context, r bot.Request) bot.Reply {
			said := r.Line + "; " + string(r.Enclosing)
			for _, f := range r.Attached {
				raw, err := f.Read(ctx, bot.MaxFile)
				said += "; " + f.Name + " " + string(raw)
				if err != nil {
					said += err.Error()
				}
			}
			got <- said
			return bot.Reply{Title: "done"}
		})
		ada, bea := s.Student(t, "ada"), s.Account(t, "bea")
		room := ada.Room(t, encrypted, d.account.ID, bea.ID)
		ada.UntilJoined(t, room, d.account.ID)
		picture := func(caption string) id.EventID {
			uri, key := upload(t, ada, []byte("RRR"), encrypted)
			m := &event.MessageEventContent{MsgType: event.MsgImage, Body: "rose.png", FileName: "rose.png", Info: &event.FileInfo{MimeType: "image/png", Size: 3}}
			if m.URL, m.File = uri, key; caption != "" {
				m.Body = caption
			}
			return ada.Send(t, room, event.EventMessage, m)
		}
		answer := func(to id.EventID, words string) {
			m := &event.MessageEventContent{MsgType: event.MsgText, Body: words}
			m.SetRelatesTo((&event.RelatesTo{}).SetReplyTo(to))
			ada.Send(t, room, event.EventMessage, m)
		}
		heardBy := func() string {
			select {
			case said := <-got:
				return said
			case <-time.After(matrixtest.Patience):
				t.Fatalf("encrypted %v: it was not asked", encrypted)
				return ""
			}
		}
		picture("!trace cell:3")
		if said := heardBy(); said != "trace cell:3; chat.file_caption; rose.png RRR" {
			t.Errorf("encrypted %v, as a caption: %q", encrypted, said)
		}
		alone := picture("")
		for words, want := range map[string]string{"!trace cell:4": "; rose.png RRR", "!row 97": ""} { // row takes none
			answer(alone, words)
			if said := heardBy(); said != words[1:]+"; chat.file_caption"+want {
				t.Errorf("encrypted %v, %s as an answer: %q", encrypted, words, said)
			}
		}
	}
}
