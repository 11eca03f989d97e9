package matrix

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
)

const (
	us  = id.UserID("@weft:example.org")
	ann = id.UserID("@ann:example.org")
)

func parsing() parser {
	return parser{
		me: us, prefix: "!", open: true, commands: declared,
		asked: func(message id.EventID, user id.UserID) bool { return message == "$asked" && user == ann },
	}
}

// wrote is what somebody wrote, as it comes from a homeserver.
func wrote(t testing.TB, content string) incoming {
	t.Helper()
	e := &event.Event{ID: "$event", Sender: ann, Type: event.EventMessage, Timestamp: 1_795_000_000_000}
	if err := json.Unmarshal([]byte(content), &e.Content); err != nil {
		t.Fatal(err)
	}
	return incoming{Event: e, Room: room{ID: "!room:example.org"}, Name: "Ann", Ours: "Weft & Co"}
}

// content is an m.text message with more in it.
func content(body string, more string) string {
	raw, _ := json.Marshal(body) // a string always can be
	if more != "" {
		more = "," + more
	}
	return `{"msgtype":"m.text","body":` + string(raw) + more + `}`
}

func formatted(s string) string {
	raw, _ := json.Marshal(s) // a string always can be
	return `"format":"org.matrix.custom.html","formatted_body":` + string(raw)
}

func TestLines(t *testing.T) {
	const callsUs, callsBoth = `"m.mentions":{"user_ids":["@weft:example.org"]}`, `"m.mentions":{"user_ids":["@weft:example.org","@bob:example.org"]}`
	const reply = `"m.relates_to":{"m.in_reply_to":{"event_id":"$asked"}}`
	for _, c := range []struct {
		name    string
		content string
		room    string // the line in a room, "-" when it is left alone
		direct  string // the same in a direct message
	}{
		{"the prefix", content("!row raised:3", ""), "row raised:3", "row raised:3"},
		{"the prefix, blanks", content("  ! row raised:3 ", ""), "row raised:3", "row raised:3"},
		{"no prefix", content("row raised:3", ""), "-", "row raised:3"},
		{"an answer behind the prefix", content("!15½ in", ""), "15½ in", "15½ in"},
		{"a quoted answer behind the prefix", content(`!“8/2 cotton”`, ""), "“8/2 cotton”", "“8/2 cotton”"},
		{"an exclamation", content("!!! how lovely", ""), "-", "!!! how lovely"},
		{"the prefix alone", content("!", ""), "-", "!"},
		{"nothing", content("  ", ""), "-", ""},
		{"copied as code", content("`!row raised:3`", ""), "row raised:3", "row raised:3"},
		{"the name and a colon", content("Weft & Co: row", ""), "row", "row"},
		{"the name and a comma, small, with the prefix", content("weft & co, !row", ""), "row", "row"},
		{"the name alone is talk about us", content("Weft & Co row", ""), "-", "Weft & Co row"},
		{"the name, and a call", content("Weft & Co row", callsUs), "row", "row"},
		{"the name, and nothing", content("Weft & Co", callsUs), "", ""},
		{"the id and a colon", content("@weft:example.org: row", ""), "row", "row"},
		{"the id, and a call", content("@weft:example.org row", callsUs), "row", "row"},
		{"its first part, and a call", content("@weft row", callsUs), "row", "row"},
		{"its first part and a colon", content("weft: row", ""), "row", "row"},
		{"part of a longer name", content("wefty: row", callsUs), "-", "wefty: row"},
		{"a call in the middle", content("I asked Weft & Co yesterday", callsUs), "-", "I asked Weft & Co yesterday"},
		{"a pill", content("Weft: row", formatted(`<a href="https://matrix.to/#/@weft:example.org">Weft</a>: row`)), "row", "row"},
		{"a pill without a colon", content("The weaver row", formatted(`<p><a href="https://matrix.to/#/%40weft%3Aexample.org">The weaver</a> row</p>`)), "row", "row"},
		{"a pill in Markdown", content("[Weft](https://matrix.to/#/@weft:example.org): row", formatted(`<a href="https://matrix.to/#/@weft:example.org">Weft</a>: row`)), "row", "row"},
		{"a pill by the other kind of link", content("Weft row", formatted(`<a href="matrix:u/weft:example.org">Weft</a> row`)), "row", "row"},
		{"a pill of another", content("Bob: row", formatted(`<a href="https://matrix.to/#/@bob:example.org">Bob</a>: row`)), "-", "Bob: row"},
		{"a pill that stands behind words", content("ask Weft: row", formatted(`ask <a href="https://matrix.to/#/@weft:example.org">Weft</a>: row`)), "-", "ask Weft: row"},
		{"a reply to what was asked", content("15in", reply), "15in", "15in"},
		{"a reply with a quotation above it", content("> <@weft:example.org> How wide?\n> In inches.\n\n15in", reply), "15in", "15in"},
		{"and the same in HTML", content("> <@weft:example.org> How wide?\n\n15in", reply+","+formatted("<mx-reply><blockquote>How wide?</blockquote></mx-reply>15in")), "15in", "15in"},
		{"a reply to something else", content("15in", `"m.relates_to":{"m.in_reply_to":{"event_id":"$other"}}`), "-", "15in"},
		{"a command in a reply to something else", content("> <@bob:example.org> !loom\n\n!row", `"m.relates_to":{"m.in_reply_to":{"event_id":"$other"}}`), "row", "row"},
		{"a quotation is no command", content("> !loom", ""), "-", "> !loom"},
		{"what only falls back to a reply, in a thread", content("15in", `"m.relates_to":{"rel_type":"m.thread","event_id":"$root","is_falling_back":true,"m.in_reply_to":{"event_id":"$asked"}}`), "-", "15in"},
		{"a reply in a thread", content("15in", `"m.relates_to":{"rel_type":"m.thread","event_id":"$root","is_falling_back":false,"m.in_reply_to":{"event_id":"$asked"}}`), "15in", "15in"},
		{"a correction", content("* !row", `"m.new_content":{"msgtype":"m.text","body":"!row"},"m.relates_to":{"rel_type":"m.replace","event_id":"$other"}`), "-", "-"},
		{"a notice", strings.Replace(content("!row", ""), "m.text", "m.notice", 1), "-", "-"},
		{"what somebody does", strings.Replace(content("!row", ""), "m.text", "m.emote", 1), "-", "-"},
		{"another kind", strings.Replace(content("!row", ""), "m.text", "m.location", 1), "-", "-"},
		{"no kind", `{"body":"!row"}`, "-", "-"},
		{"a call of several", content("Weft & Co: row", callsBoth), "row", "row"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, place := range []struct {
				direct bool
				want   string
			}{{false, c.room}, {true, c.direct}} {
				in := wrote(t, c.content)
				in.Room.Direct = place.direct
				r, ok := parsing().request(in)
				if ok != (place.want != "-") || ok && r.Line != place.want {
					t.Errorf("direct %v: %q, %v; want %q", place.direct, r.Line, ok, place.want)
				}
			}
		})
	}
}

func TestBlocks(t *testing.T) {
	for _, c := range []struct{ name, body, html, want string }{
		{"fenced, on lines of its own", "!say\n```\nBring: a comb\nevery time\n```", "", `say text:"Bring: a comb` + "\n" + `every time"`},
		{"fenced in the line", "!say ```Bring a comb```", "", `say text:"Bring a comb"`},
		{"with a language", "!say ```text\nBring a comb\n```", "", `say text:"Bring a comb"`},
		{"rows right behind the fence", "!say ```..o\n.o.\n```", "", "say text:\"..o\n.o.\""},
		{"a first row of one sign", "!say ```ooo\n.o.\n```", "", "say text:\"ooo\n.o.\""},
		{"rows without a fence", "!say text:\n..o\n.o.", "", "say text:\n..o\n.o."},
		{"after other arguments", "!say every:\"mon 9:00\"\n```\nBring a comb\n```", "", `say every:"mon 9:00" text:"Bring a comb"`},
		{"after the argument's name", "!say text:\n```\nBring a comb\n```", "", `say text:"Bring a comb"`},
		{"with quotes in it", "!say ```the \"comb\" and the 15\" heddle```", "", `say text:'the "comb" and the 15" heddle'`},
		{"never closed", "!say ```Bring a comb", "", `say text:"Bring a comb"`},
		{"empty", "!say ``` ```", "", "say ``` ```"},
		{"for a command without long text", "!row ```97```", "", "row 97"},
		{"only the HTML shows it", "!say\nevery: time\nagain\n", "<p>!say</p>\n<pre><code>every: time\nagain\n</code></pre>", "say text:\"every: time\nagain\""},
		{"HTML that says something else", "!say hello", "<pre>goodbye</pre>", "say hello"},
	} {
		t.Run(c.name, func(t *testing.T) {
			more := ""
			if c.html != "" {
				more = formatted(c.html)
			}
			r, ok := parsing().request(wrote(t, content(c.body, more)))
			if !ok || r.Line != c.want {
				t.Errorf("got %q, %v\nwant %q", r.Line, ok, c.want)
			}
		})
	}
}

func TestRequest(t *testing.T) {
	in := wrote(t, content("!row", ""))
	in.Power = 50
	want := bot.Request{
		ID: "$event", From: bot.Account{Chat: "matrix", User: "@ann:example.org"}, In: bot.Place{Chat: "matrix", Room: "!room:example.org"},
		At: time.UnixMilli(1_795_000_000_000), Power: true, Name: "Ann", Line: "row",
		Enclosing: bot.KeyFileCaption, Several: bot.KeyLinesBlock,
	}
	got, ok := parsing().request(in)
	if diff := cmp.Diff(want, got); !ok || diff != "" {
		t.Error(ok, diff)
	}
	for _, c := range []struct {
		open  bool
		power int
		want  bool
	}{{true, 49, false}, {true, 50, true}, {true, 100, true}, {false, 100, false}} {
		p := parsing()
		p.open, in.Power = c.open, c.power
		if got, _ := p.request(in); got.Power != c.want {
			t.Errorf("open %v, level %d: power is %v", c.open, c.power, got.Power)
		}
	}
}

func TestStructured(t *testing.T) {
	const ours = `"m.mentions":{"user_ids":["@weft:example.org"]}`
	command := func(json string) string { return `"org.matrix.msc4391.command":` + json }
	whole := command(`{"command":"class open","arguments":{"name":"Far looms","size":12,"share":2.5,"remind":false,"also":true,"odd":["x"],"none":null}}`)
	for _, c := range []struct {
		name, content string
		direct        bool
		command       string
		values        map[string]string
		ok            bool
	}{
		{"for us", content("/class open", ours+","+whole), false, "class open",
			map[string]string{"name": "Far looms", "size": "12", "share": "2.5", "remind": "no", "also": "yes"}, true},
		{"for nobody, in a room", content("/class open", whole), false, "class open", nil, false},
		{"for nobody, in a direct message", content("/row", command(`{"command":"row"}`)), true, "row", map[string]string{}, true},
		{"for another", content("/row", `"m.mentions":{"user_ids":["@bob:example.org"]},`+command(`{"command":"row"}`)), true, "row", nil, false},
		{"for several", content("/row", `"m.mentions":{"user_ids":["@weft:example.org","@bob:example.org"]},`+command(`{"command":"row"}`)), false, "row", nil, false},
		{"arguments of a wrong type", content("/row", ours+","+command(`{"command":"row","arguments":[1]}`)), false, "row", map[string]string{}, true},
		{"no command, so that the words count", content("!row", ours+","+command(`{"command":7}`)), false, "", nil, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := wrote(t, c.content)
			in.Room.Direct = c.direct
			r, ok := parsing().request(in)
			if ok != c.ok || ok && r.Command != c.command {
				t.Fatalf("command %q, %v", r.Command, ok)
			}
			if diff := cmp.Diff(c.values, r.Values); ok && diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestAttached(t *testing.T) {
	const sealed = `"file":{"url":"mxc://example.org/abc","v":"v2","key":{"kty":"oct","alg":"A256CTR","ext":true,"k":"x","key_ops":["encrypt","decrypt"]},"iv":"x","hashes":{"sha256":"x"}}`
	for _, c := range []struct {
		name, content string
		direct        bool
		line          string
		want          []bot.Attached
		ok            bool
	}{
		{"alone, in a direct message", `{"msgtype":"m.file","body":"people.csv","url":"mxc://example.org/abc","info":{"mimetype":"text/csv","size":120}}`, true, "",
			[]bot.Attached{{Name: "people.csv", MediaType: "text/csv", Size: 120}}, true},
		{"alone, in a room", `{"msgtype":"m.file","body":"!row.csv","url":"mxc://example.org/abc"}`, false, "", nil, false},
		{"with a caption", `{"msgtype":"m.image","body":"!row 97","filename":"cloth.jpg","url":"mxc://example.org/abc","info":{"mimetype":"image/jpeg"}}`, false, "row 97",
			[]bot.Attached{{Name: "cloth.jpg", MediaType: "image/jpeg"}}, true},
		{"encrypted", `{"msgtype":"m.file","body":"a.csv",` + sealed + `}`, true, "", []bot.Attached{{Name: "a.csv"}}, true},
		{"sizes that are none", `{"msgtype":"m.file","body":"a.csv","url":"mxc://example.org/abc","info":{"size":-3,"mimetype":7}}`, true, "", []bot.Attached{{Name: "a.csv"}}, true},
		{"no file", `{"msgtype":"m.file","body":"a.csv"}`, true, "", nil, false},
		{"from elsewhere", `{"msgtype":"m.file","body":"a.csv","url":"https://example.org/abc"}`, true, "", nil, false},
		{"a key of a wrong type", `{"msgtype":"m.file","body":"a.csv","file":{"url":"mxc://example.org/abc","key":"x"}}`, true, "", nil, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := wrote(t, c.content)
			in.Room.Direct = c.direct
			r, ok := parsing().request(in)
			if ok != c.ok || ok && r.Line != c.line {
				t.Fatalf("line %q, %v", r.Line, ok)
			}
			if diff := cmp.Diff(c.want, r.Attached, cmpopts.IgnoreFields(bot.Attached{}, "Read")); ok && diff != "" {
				t.Error(diff)
			}
		})
	}
}

// TestMalformed sends what no program would.
func TestMalformed(t *testing.T) {
	for _, content := range []string{
		`{}`, `{"msgtype":7,"body":["!row"]}`, `{"msgtype":"m.text"}`, `{"msgtype":"m.text","body":null}`, `{"msgtype":"m.text","body":{"!row":1}}`,
		`{"msgtype":"m.text","body":"!","format":1,"formatted_body":2}`, `{"msgtype":"m.file","body":3,"info":[],"file":[]}`,
		`{"msgtype":"m.image","url":{},"info":{"size":"x"}}`, `{"msgtype":"m.text","body":"hm","m.relates_to":"x","m.mentions":[]}`,
		`{"msgtype":"m.text","body":"hm","m.relates_to":{"rel_type":7,"m.in_reply_to":[]},"m.mentions":{"user_ids":"x"}}`,
		`{"msgtype":"m.text","body":"hm","m.mentions":{"user_ids":[null,{},7]},"org.matrix.msc4391.command":"row"}`,
	} {
		in := wrote(t, content)
		if r, ok := parsing().request(in); ok {
			t.Errorf("%s is the request %+v", content, r)
		}
		if root := thread(in.Event.Content.Raw); root != "" {
			t.Errorf("%s is in the thread %q", content, root)
		}
		if message, n := reactionTo(in.Event.Content.Raw); n != -1 || message != "" {
			t.Errorf("%s presses %d of %q", content, n, message)
		}
	}
	line, _ := parsing().request(wrote(t, `{"msgtype":"m.text","body":"!row","format":{},"formatted_body":[],"m.relates_to":7,"m.mentions":7}`))
	if line.Line != "row" {
		t.Errorf("good words beside bad ones give %q", line.Line)
	}
}

func TestReactions(t *testing.T) {
	for _, c := range []struct {
		key  string
		want int
	}{{"1️⃣", 0}, {"1⃣", 0}, {"2️⃣", 1}, {"9️⃣", 8}, {"🔟", 9}, {"👍", -1}, {"1", -1}, {"", -1}} {
		raw := map[string]any{"m.relates_to": map[string]any{"rel_type": "m.annotation", "event_id": "$asked", "key": c.key}}
		if message, n := reactionTo(raw); n != c.want || message != "$asked" {
			t.Errorf("%q presses %d of %q", c.key, n, message)
		}
	}
}

// FuzzParse reads anything that can be in a message: without a panic, with the
// same result again, and never a request of what must be left alone.
func FuzzParse(f *testing.F) {
	f.Add(content("!row raised:3", ""))
	f.Add(content("Weft: row", formatted(`<a href="https://matrix.to/#/@weft:example.org">Weft</a>: row`)))
	f.Add(content("!say ```text\nx", formatted("<pre><code>x</code>")))
	f.Add(content("> a\n\nb", `"m.relates_to":{"m.in_reply_to":{"event_id":"$asked"}}`))
	f.Add(`{"msgtype":"m.file","body":"a","filename":"b","file":{"url":"mxc://a/b"},"org.matrix.msc4391.command":{"command":"row","arguments":{"a":1}}}`)
	f.Fuzz(func(t *testing.T, content string) {
		e := &event.Event{ID: "$event", Sender: ann, Type: event.EventMessage}
		if json.Unmarshal([]byte(content), &e.Content) != nil {
			t.Skip("no JSON object")
		}
		for _, direct := range []bool{false, true} {
			in := incoming{Event: e, Room: room{ID: "!room:example.org", Direct: direct}, Ours: "Weft"}
			r, ok := parsing().request(in)
			again, okAgain := parsing().request(in)
			if ok != okAgain || !cmp.Equal(r, again, cmpopts.IgnoreFields(bot.Attached{}, "Read")) {
				t.Fatalf("%+v, then %+v", r, again)
			}
			if kind := object(e.Content.Raw).text("msgtype"); ok && (kind == "m.notice" || kind == "m.emote") {
				t.Fatalf("%s is answered", kind)
			}
			if ok && r.From.User != string(ann) {
				t.Fatalf("it is from %v", r.From)
			}
		}
	})
}
