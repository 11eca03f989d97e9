package discordtest_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/textproto"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/adapters/discord/discordtest"
)

// clock is moved by hand.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func newClock() *clock { return &clock{t: time.Date(2026, 11, 2, 19, 0, 0, 0, time.UTC)} }

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// raw is a bot without any library: it sees what the server really answers.
type raw struct {
	t *testing.T
	s *discordtest.Server
}

type reply struct {
	status int
	code   int
	body   map[string]any
	list   []map[string]any
	where  string // the fields of an "errors" object, joined
}

func (b raw) do(method, path, body string) reply {
	b.t.Helper()
	return b.send(method, path, "application/json", strings.NewReader(body))
}

func (b raw) send(method, path, typ string, body io.Reader) reply {
	b.t.Helper()
	req, err := http.NewRequestWithContext(b.t.Context(), method, b.s.URL+"/api/v10"+path, body)
	if err != nil {
		b.t.Fatal(err)
	}
	req.Header.Set("Authorization", "Bot "+b.s.Token)
	req.Header.Set("User-Agent", "DiscordBot (test, 1)")
	req.Header.Set("Content-Type", typ)
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		b.t.Fatal(err)
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	r := reply{status: resp.StatusCode}
	if json.Unmarshal(raw, &r.body) != nil {
		_ = json.Unmarshal(raw, &r.list)
	}
	if code, ok := r.body["code"].(float64); ok {
		r.code = int(code)
	}
	var where []string
	for at, ok := r.body["errors"].(map[string]any); ok; {
		for k, v := range at {
			if k != "_errors" {
				where = append(where, k)
			}
			at, ok = v.(map[string]any)
			break
		}
	}
	r.where = strings.Join(where, ".")
	return r
}

// upload sends files beside a body.
func (b raw) upload(method, path, body string, names ...string) reply {
	b.t.Helper()
	var out bytes.Buffer
	w := multipart.NewWriter(&out)
	part := func(disposition, typ, content string) {
		p, err := w.CreatePart(textproto.MIMEHeader{"Content-Disposition": {disposition}, "Content-Type": {typ}})
		if err != nil {
			b.t.Fatal(err)
		}
		_, _ = p.Write([]byte(content))
	}
	part(`form-data; name="payload_json"`, "application/json", body)
	for i, n := range names {
		part(fmt.Sprintf(`form-data; name="files[%d]"; filename=%q`, i, n), "text/plain", "bytes of "+n)
	}
	w.Close()
	return b.send(method, path, w.FormDataContentType(), &out)
}

// world is a server with one command of each kind, and a class in it.
type world struct {
	raw
	clock *clock
	guild *discordtest.Guild
	room  *discordtest.Channel
	ann   *discordtest.User
	bea   *discordtest.User
}

const someCommands = `[
	{"name":"plain","description":"d"},
	{"name":"class","description":"d","default_member_permissions":"32","contexts":[0],"options":[{"type":1,"name":"open","description":"d","options":[{"type":3,"name":"name","description":"d","required":true,"max_length":5}]}]},
	{"name":"row","description":"d","contexts":[0,1,2],"integration_types":[0,1],"options":[
		{"type":4,"name":"ends","description":"d","min_value":1,"max_value":9},
		{"type":3,"name":"units","description":"d","choices":[{"name":"Inches","value":"in"}]},
		{"type":3,"name":"yarn","description":"d","autocomplete":true},
		{"type":11,"name":"draft","description":"d"}]}
]`

func newWorld(t *testing.T) world {
	c := newClock()
	s := discordtest.New(t, discordtest.Options{Now: c.Now})
	w := world{raw: raw{t, s}, clock: c, guild: s.Guild("Far looms"), ann: s.User("Ann"), bea: s.User("Bea")}
	w.room = w.guild.Channel("loom-room")
	w.guild.Join(w.ann)
	w.guild.Join(w.bea)
	if r := w.do("PUT", "/applications/"+s.AppID+"/commands", someCommands); r.status != 200 {
		t.Fatalf("%+v", r)
	}
	return w
}

func (w world) slash(name string, v discordtest.Values) *discordtest.Interaction {
	w.t.Helper()
	return must[*discordtest.Interaction](w.t)(w.ann.Slash(w.room, name, v))
}

func (w world) answer(i *discordtest.Interaction, body string) reply {
	w.t.Helper()
	return w.do("POST", "/interactions/"+i.ID+"/"+i.Token+"/callback", body)
}

func (w world) hook(i *discordtest.Interaction) string {
	return "/webhooks/" + w.s.AppID + "/" + i.Token
}

func want(t *testing.T, what string, r reply, status, code int, where string) {
	t.Helper()
	if r.status != status || r.code != code || !strings.HasSuffix(r.where, where) {
		t.Errorf("%s: status %d, code %d, at %q (%v); want %d, %d, %q", what, r.status, r.code, r.where, r.body, status, code, where)
	}
}

// The codes and times are those of Discord's documentation, "Receiving and
// Responding" and "JSON Error Codes".
func TestOneFirstAnswerInTime(t *testing.T) {
	w := newWorld(t)
	i := w.slash("plain", nil)
	want(t, "a follow-up before the answer", w.do("POST", w.hook(i), `{"content":"x"}`), 404, 10015, "")
	want(t, "an edit before the answer", w.do("PATCH", w.hook(i)+"/messages/@original", `{"content":"x"}`), 404, 10015, "")
	want(t, "an answer", w.answer(i, `{"type":4,"data":{"content":"x"}}`), 204, 0, "")
	want(t, "a second answer", w.answer(i, `{"type":4,"data":{"content":"y"}}`), 400, 40060, "")
	want(t, "an edit", w.do("PATCH", w.hook(i)+"/messages/@original", `{"content":"z"}`), 200, 0, "")
	w.clock.pass(15*time.Minute + time.Second)
	want(t, "an edit after 15 minutes", w.do("PATCH", w.hook(i)+"/messages/@original", `{"content":"z"}`), 401, 50027, "")
	late := w.slash("plain", nil)
	w.clock.pass(3*time.Second + time.Millisecond)
	want(t, "an answer after 3 s", w.answer(late, `{"type":4,"data":{"content":"x"}}`), 404, 10062, "")
	if !late.Failed() || i.Failed() {
		t.Errorf("failed: the late one %v, the other %v", late.Failed(), i.Failed())
	}
	want(t, "an answer to nothing", w.do("POST", "/interactions/1/x/callback", `{"type":4}`), 404, 10062, "")
}

func TestWhatAnswersWhat(t *testing.T) {
	w := newWorld(t)
	bodies := map[int]string{
		1: `{"type":1}`, 4: `{"type":4,"data":{"content":"x"}}`, 5: `{"type":5}`, 6: `{"type":6}`, 7: `{"type":7,"data":{"content":"x"}}`,
		8: `{"type":8,"data":{"choices":[]}}`,
		9: `{"type":9,"data":{"title":"a","custom_id":"b","components":[{"type":1,"components":[{"type":4,"custom_id":"c","label":"d","style":1,"required":false}]}]}}`,
	}
	withButton := func() discordtest.Message {
		i := w.slash("plain", nil)
		want(t, "a button", w.answer(i, `{"type":4,"data":{"content":"x","components":[{"type":1,"components":[{"type":2,"style":1,"label":"Go","custom_id":"go"}]}]}}`), 204, 0, "")
		return must[discordtest.Message](t)(i.Message(patience(t)))
	}
	modal := func(i *discordtest.Interaction) *discordtest.Interaction {
		want(t, "a form", w.answer(i, bodies[9]), 204, 0, "")
		m := must[*discordtest.Modal](t)(i.Modal(patience(t)))
		return must[*discordtest.Interaction](t)(w.ann.Submit(m, nil))
	}
	for _, kind := range []struct {
		name string
		fits []int
		make func() *discordtest.Interaction
	}{
		{"a command", []int{4, 5, 9}, func() *discordtest.Interaction { return w.slash("plain", nil) }},
		{"a completion", []int{8}, func() *discordtest.Interaction {
			return must[*discordtest.Interaction](t)(w.ann.Complete(w.room, "row", "yarn", "8", nil))
		}},
		{"a button", []int{4, 5, 6, 7, 9}, func() *discordtest.Interaction {
			return must[*discordtest.Interaction](t)(w.ann.Press(withButton(), "Go"))
		}},
		{"a form from a command", []int{4, 5}, func() *discordtest.Interaction { return modal(w.slash("plain", nil)) }},
		{"a form from a button", []int{4, 5, 6, 7}, func() *discordtest.Interaction {
			return modal(must[*discordtest.Interaction](t)(w.ann.Press(withButton(), "Go")))
		}},
	} {
		for typ, body := range bodies {
			r := w.answer(kind.make(), body)
			if fits := strings.Contains(fmt.Sprint(kind.fits), fmt.Sprint(typ)); fits != (r.status == 204) {
				t.Errorf("%s answered by type %d: %+v", kind.name, typ, r)
			}
		}
	}
}

func TestDeferred(t *testing.T) {
	w := newWorld(t)
	i := w.slash("plain", nil)
	v, others := w.ann.View(w.room), w.bea.View(w.room)
	want(t, "deferred", w.answer(i, `{"type":5,"data":{"flags":64}}`), 204, 0, "")
	if n := len(w.ann.Messages(w.room)); n != 0 {
		t.Errorf("%d messages are seen before there is one", n)
	}
	want(t, "the first follow-up", w.do("POST", w.hook(i), `{"content":"the answer"}`), 200, 0, "")
	want(t, "the second", w.do("POST", w.hook(i), `{"content":"for all"}`), 200, 0, "")
	first, second := must[discordtest.Message](t)(v.Next(patience(t))), must[discordtest.Message](t)(v.Next(patience(t)))
	if first.Content != "the answer" || !first.Ephemeral || second.Content != "for all" || second.Ephemeral {
		t.Errorf("%+v\n%+v", first, second)
	}
	if m := must[discordtest.Message](t)(others.Next(patience(t))); m.Content != "for all" {
		t.Errorf("another one sees %q", m.Content)
	}
	all := w.do("GET", "/channels/"+w.room.ID+"/messages", "")
	if len(all.list) != 1 || all.list[0]["content"] != "for all" {
		t.Errorf("the history has %v", all.list)
	}
	want(t, "an ephemeral one, by its channel", w.do("PATCH", "/channels/"+w.room.ID+"/messages/"+first.ID, `{"content":"x"}`), 404, 10008, "")
}

func TestNonces(t *testing.T) {
	w := newWorld(t)
	post := func(body string) string {
		r := w.do("POST", "/channels/"+w.room.ID+"/messages", body)
		want(t, "a post", r, 200, 0, "")
		return fmt.Sprint(r.body["id"])
	}
	first := post(`{"content":"once","nonce":"k","enforce_nonce":true}`)
	if again := post(`{"content":"again","nonce":"k","enforce_nonce":true}`); again != first {
		t.Error("a second message under the same nonce")
	}
	if loose := post(`{"content":"not enforced","nonce":"k"}`); loose == first {
		t.Error("a nonce that is not enforced gave an old message")
	}
	w.clock.pass(time.Hour)
	if later := post(`{"content":"later","nonce":"k","enforce_nonce":true}`); later == first {
		t.Error("the nonce was still known an hour later")
	}
	want(t, "a long nonce", w.do("POST", "/channels/"+w.room.ID+"/messages", `{"content":"x","nonce":"12345678901234567890123456"}`), 400, 50035, "nonce")
	for _, m := range w.do("GET", "/channels/"+w.room.ID+"/messages?limit=2", "").list {
		if _, ok := m["nonce"]; ok {
			t.Error("the history has a nonce")
		}
	}
}

func TestAttachments(t *testing.T) {
	w := newWorld(t)
	r := w.upload("POST", "/channels/"+w.room.ID+"/messages", `{"attachments":[{"id":"0","description":"alt of a"},{"id":"1"}]}`, "a.txt", "b.txt")
	want(t, "two files", r, 200, 0, "")
	files := func() string {
		var out []string
		for _, f := range w.room.All()[0].Files {
			out = append(out, f.Name+":"+f.Alt+":"+string(f.Bytes))
		}
		return strings.Join(out, " ")
	}
	edit := "/channels/" + w.room.ID + "/messages/" + fmt.Sprint(r.body["id"])
	if got := files(); got != "a.txt:alt of a:bytes of a.txt b.txt::bytes of b.txt" {
		t.Errorf("at first: %s", got)
	}
	want(t, "an edit of the words", w.do("PATCH", edit, `{"content":"words"}`), 200, 0, "")
	want(t, "a file more, without a list", w.upload("PATCH", edit, `{}`, "c.txt"), 200, 0, "")
	if got := files(); got != "a.txt:alt of a:bytes of a.txt b.txt::bytes of b.txt c.txt::bytes of c.txt" {
		t.Errorf("without a list all are kept: %s", got)
	}
	want(t, "only the new file in the list", w.upload("PATCH", edit, `{"attachments":[{"id":"0"}]}`, "d.txt"), 200, 0, "")
	if got := files(); got != "d.txt::bytes of d.txt" {
		t.Errorf("with a list just those remain: %s", got)
	}
	want(t, "a file that is not there", w.do("PATCH", edit, `{"attachments":[{"id":"7"}]}`), 400, 50035, "attachments.0.id")
	want(t, "no file left", w.do("PATCH", edit, `{"attachments":[],"content":""}`), 400, 50006, "")
}

func TestWhoSeesCommands(t *testing.T) {
	w := newWorld(t)
	if got := fmt.Sprint(w.ann.Offered(w.room)); got != "[plain row]" {
		t.Errorf("a member is offered %s", got)
	}
	if _, err := w.ann.Slash(w.room, "class open", discordtest.Values{"name": "x"}); err == nil {
		t.Error("a command was run that needs permission")
	}
	w.guild.Allow("class", w.ann, true)
	if _, err := w.ann.Slash(w.room, "class open", discordtest.Values{"name": "x"}); err != nil {
		t.Errorf("allowed by the server's administrator: %v", err)
	}
	w.guild.Join(w.bea, discordtest.ManageGuild)
	if got := fmt.Sprint(w.bea.Offered(w.room)); got != "[plain class open row]" {
		t.Errorf("who manages the server is offered %s", got)
	}
	if got := fmt.Sprint(w.ann.Offered(w.ann.DM())); got != "[plain row]" {
		t.Errorf("alone she is offered %s", got)
	}
	far := w.s.ForeignGuild("Elsewhere")
	there := far.Channel("room")
	far.Join(w.ann)
	if got := fmt.Sprint(w.ann.Offered(there)); got != "[row]" {
		t.Errorf("where the bot is no member she is offered %s", got)
	}
	for _, bad := range []discordtest.Values{
		{"ends": 0}, {"ends": 10}, {"ends": 1.5}, {"ends": "2"}, {"units": "cm"}, {"draft": "text"}, {"what": 1},
	} {
		if _, err := w.ann.Slash(w.room, "row", bad); err == nil {
			t.Errorf("the client sent %v", bad)
		}
	}
	if _, err := w.ann.Slash(w.room, "class open", discordtest.Values{"name": "too long"}); err == nil {
		t.Error("the client sent a text that is too long")
	}
}

func TestTheServerMayBeForbidden(t *testing.T) {
	w := newWorld(t)
	post := func() reply { return w.do("POST", "/channels/"+w.room.ID+"/messages", `{"content":"x"}`) }
	w.guild.LetBot(discordtest.ViewChannel)
	want(t, "may not write", post(), 403, 50013, "")
	w.guild.LetBot(0)
	want(t, "may not see", post(), 403, 50001, "")
	w.guild.LetBot(discordtest.BotPermissions())
	want(t, "may", post(), 200, 0, "")
	w.room.Delete()
	want(t, "the channel is gone", post(), 404, 10003, "")
	w.ann.RefuseDirect(true)
	want(t, "she takes no messages", w.do("POST", "/channels/"+w.ann.DM().ID+"/messages", `{"content":"x"}`), 403, 50007, "")
	want(t, "a DM channel is made all the same", w.do("POST", "/users/@me/channels", `{"recipient_id":"`+w.ann.ID+`"}`), 200, 0, "")
}

func TestCalls(t *testing.T) {
	w := newWorld(t)
	for _, c := range []struct{ allowed, want string }{
		{`null`, "[everyone " + w.ann.ID + "]"},
		{`{"parse":[]}`, "[]"},
		{`{"parse":["everyone"]}`, "[everyone]"},
		{`{"parse":[],"users":["` + w.ann.ID + `"]}`, "[" + w.ann.ID + "]"},
	} {
		r := w.do("POST", "/channels/"+w.room.ID+"/messages", `{"content":"@everyone <@`+w.ann.ID+`>","allowed_mentions":`+c.allowed+`}`)
		want(t, c.allowed, r, 200, 0, "")
		all := w.room.All()
		if got := fmt.Sprint(all[len(all)-1].Alerted); got != c.want {
			t.Errorf("%s calls %s, want %s", c.allowed, got, c.want)
		}
	}
}
