//go:build goolm

package matrix

import (
	"context"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"maunium.net/go/mautrix/crypto/attachment"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
	"weftroom/bot"
)

// TestHostileName has somebody call herself what a screen might obey.
func TestHostileName(t *testing.T) {
	t.Parallel()
	const name = "</b><script>x</script>\u202e@room `code` \x1b[2J"
	named := make(chan string, 1)
	g := newGroup(t, false, func(_ context.Context, r bot.Request) bot.Reply {
		named <- r.Name
		return bot.Reply{Title: "Hello", Body: []bot.Block{bot.Paragraph("Hello " + r.Name), bot.Table{Rows: [][]string{{r.Name, "1"}}}},
			Buttons: []bot.Button{{Label: r.Name, Line: "help"}}}
	})
	if err := g.ada.Client.SetDisplayName(t.Context(), name); err != nil {
		t.Fatal(err)
	}
	g.bea.Until(t, "the name", func() bool {
		m, err := g.bea.Client.StateStore.GetMember(t.Context(), g.room, g.ada.ID)
		return err == nil && m.Displayname == name
	})
	g.ada.Say(t, g.room, "!hello")
	got := heard(t, g.bea, g.room, "Hello").Content.AsMessage()
	if n := <-named; n != name {
		t.Errorf("the core heard of %q", n)
	}
	checkHarmless(t, got.Body)
	checkHarmless(t, checkHTML(t, got.FormattedBody))
	if strings.Contains(got.FormattedBody, "<script>") || !strings.Contains(got.FormattedBody, "&lt;script&gt;") {
		t.Errorf("the HTML is %s", got.FormattedBody)
	}
	if got.Mentions == nil || got.Mentions.Room || len(got.Mentions.UserIDs) != 1 {
		t.Errorf("it calls %+v", got.Mentions)
	}
}

// TestLeftAlone sends what must not be answered, and last what must.
func TestLeftAlone(t *testing.T) {
	t.Parallel()
	g := newGroup(t, false, echoes)
	asked := g.ada.Say(t, g.room, "!first")
	heard(t, g.ada, g.room, "you said first")
	for _, c := range []struct {
		kind    event.Type
		content string
	}{
		{event.EventMessage, `{"msgtype":"m.notice","body":"!notice"}`},
		{event.EventMessage, `{"msgtype":"m.emote","body":"!emote"}`},
		{event.EventMessage, `{"msgtype":"m.text","body":"* !edit","m.new_content":{"msgtype":"m.text","body":"!edit"},"m.relates_to":{"rel_type":"m.replace","event_id":"` + string(asked) + `"}}`},
		{event.EventMessage, `{}`},
		{event.EventMessage, `{"msgtype":7,"body":{"a":["!odd"]}}`},
		{event.EventMessage, `{"msgtype":"m.text","body":["!odd"],"format":9,"formatted_body":{}}`},
		{event.EventMessage, `{"msgtype":"m.file","body":"!odd","file":"x","url":7,"info":[1]}`},
		{event.EventMessage, `{"msgtype":"m.text","body":"hm","m.relates_to":"x","m.mentions":{"user_ids":[7]},"org.matrix.msc4391.command":[]}`},
		{event.EventReaction, `{}`},
		{event.EventReaction, `{"m.relates_to":{"rel_type":"m.annotation","event_id":7,"key":[]}}`},
		{event.EventReaction, `{"m.relates_to":{"rel_type":"m.annotation","event_id":"$nothing","key":"1️⃣"}}`},
		{event.EventMessage, `{"msgtype":"m.text","body":"just a word in the room"}`},
		{event.EventSticker, `{"body":"!sticker","url":"mxc://localhost/x","info":{}}`},
		{event.EventEncrypted, `{"algorithm":"m.megolm.v1.aes-sha2","ciphertext":"rubbish","session_id":7}`},
		{event.Type{Type: "org.example.unheard", Class: event.MessageEventType}, `{"body":"!unheard"}`},
	} {
		g.ada.Send(t, g.room, c.kind, json.RawMessage(c.content))
	}
	g.ada.Say(t, g.room, "!last")
	heard(t, g.ada, g.room, "you said last")
	for _, text := range g.ada.Texts(g.room) {
		switch text {
		case string(bot.KeyWelcomeRoom), "you said first", "you said last", string(bot.KeyUndecrypted):
		default:
			t.Errorf("it was answered: %q", text)
		}
	}
}

// TestTwoBots has another program answer each of our answers with a command. Our
// clock stands still: on a slow homeserver more could be asked with each second.
func TestTwoBots(t *testing.T) {
	t.Parallel()
	g := newGroup(t, false, echoes)
	ctx, cancel := context.WithTimeout(t.Context(), 4*matrixtest.Patience)
	defer cancel()
	g.device.stop()
	now := time.Now()
	g.device.options.Now = func() time.Time { return now }
	const together = 12
	chat := g.device.up(echoes)
	chat.floods.mu.Lock()
	chat.floods.bucket = together
	chat.floods.mu.Unlock()
	answered := 0
	g.bea.Say(t, g.room, "!0")
	for n := 1; ; n++ {
		evt, err := g.bea.After(ctx, g.room, n) // the welcome was the first
		if err != nil {
			t.Fatal(err)
		}
		m := evt.Content.AsMessage()
		if m.Body == string(bot.KeyFlood) {
			break
		}
		if answered++; answered > together {
			t.Fatalf("still at it after %d answers", answered)
		}
		g.bea.Say(t, g.room, "!again")
	}
	g.bea.Say(t, g.room, "!and again")
	g.ada.Say(t, g.room, "!hello")
	heard(t, g.ada, g.room, "you said hello")
	texts := counts(g.ada.Texts(g.room))
	if texts[string(bot.KeyFlood)] != 1 || texts["you said and again"] != 0 {
		t.Errorf("the one kind word came %d times; %d answers after it", texts[string(bot.KeyFlood)], texts["you said and again"])
	}
}

// TestHugeMessages sends what is as large as the homeserver lets through.
func TestHugeMessages(t *testing.T) {
	t.Parallel()
	g := newGroup(t, true, func(_ context.Context, r bot.Request) bot.Reply {
		return bot.Reply{Title: "Long", Body: []bot.Block{bot.Paragraph(strings.Repeat("<&> \"quoted\" ", len(r.Line)/5))}}
	})
	g.ada.Say(t, g.room, "!"+strings.Repeat("x", 45_000))
	first := heard(t, g.ada, g.room, "Long")
	label := "part 1 of "
	body := first.Content.AsMessage().Body
	if !strings.Contains(body, label) {
		t.Fatalf("the answer of %d bytes says nothing of parts", len(body))
	}
	var parts int
	for _, r := range body[strings.LastIndex(body, label)+len(label):] {
		if r < '0' || r > '9' {
			break
		}
		parts = 10*parts + int(r-'0')
	}
	g.ada.Until(t, "all parts", func() bool { return len(g.ada.Texts(g.room)) == 1+parts })
	quoted := 0
	for _, text := range g.ada.Texts(g.room) {
		quoted += strings.Count(text, `"quoted"`)
	}
	if quoted != 9_000 {
		t.Errorf("%d of 9000 words have arrived, in %d parts", quoted, parts)
	}
	for i, evt := range g.ada.Seen(g.room, event.EventMessage)[1:] {
		if m := evt.Content.AsMessage(); i > 0 && len(m.Mentions.UserIDs) > 0 {
			t.Errorf("part %d calls her again", i+1)
		}
	}
}

// TestIncomingFiles has the core read a file that came in an encrypted room, and
// no more of it than it wants.
func TestIncomingFiles(t *testing.T) {
	t.Parallel()
	type read struct {
		whole, cut string
		err        error
	}
	got := make(chan read, 2)
	g := newGroup(t, true, func(ctx context.Context, r bot.Request) bot.Reply {
		if len(r.Attached) != 1 {
			return bot.Reply{Title: "no file"}
		}
		whole, err := r.Attached[0].Read(ctx, 1000)
		again, errAgain := r.Attached[0].Read(ctx, 1000)
		cut, cutErr := r.Attached[0].Read(ctx, 5)
		if err == nil && (errAgain != nil || string(again) != string(whole)) {
			err = errAgain
		}
		if cutErr == nil {
			cut = []byte("not refused")
		}
		got <- read{string(whole), string(cut), err}
		return bot.Reply{Title: "got " + r.Attached[0].Name}
	})
	for _, encrypted := range []bool{false, true} {
		uri, key := upload(t, g.ada, []byte("name,ends\nada,97\n"), encrypted)
		m := &event.MessageEventContent{MsgType: event.MsgFile, Body: "!people", FileName: "people.csv", Info: &event.FileInfo{MimeType: "text/csv", Size: 3}}
		m.URL, m.File = uri, key
		g.ada.Send(t, g.room, event.EventMessage, m)
		if r := <-got; r.err != nil || r.whole != "name,ends\nada,97\n" || r.cut != "" {
			t.Errorf("encrypted %v: %+v", encrypted, r)
		}
	}
}

// upload gives the homeserver a file, as programs do.
func upload(t *testing.T, p *matrixtest.Student, raw []byte, encrypted bool) (id.ContentURIString, *event.EncryptedFileInfo) {
	t.Helper()
	var key *event.EncryptedFileInfo
	if encrypted {
		key = &event.EncryptedFileInfo{EncryptedFile: *attachment.NewEncryptedFile()}
		key.EncryptInPlace(raw)
	}
	got, err := p.Client.UploadBytes(t.Context(), raw, "application/octet-stream")
	if err != nil {
		t.Fatal(err)
	}
	if !encrypted {
		return got.ContentURI.CUString(), nil
	}
	key.URL = got.ContentURI.CUString()
	return "", key
}
