package discordtest_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"weftroom/adapters/discord/discordtest"
)

// wire is a gateway connection without any library.
type wire struct {
	t  *testing.T
	ws *websocket.Conn
}

type packet struct {
	Op int             `json:"op"`
	T  string          `json:"t"`
	S  int             `json:"s"`
	D  json.RawMessage `json:"d"`
}

func dial(t *testing.T, s *discordtest.Server) wire {
	t.Helper()
	ws, _, err := websocket.DefaultDialer.DialContext(t.Context(), "ws"+strings.TrimPrefix(s.URL, "http")+"/gateway/?v=10&encoding=json", nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ws.Close() })
	w := wire{t, ws}
	if p := w.next(); p.Op != 10 || !strings.Contains(string(p.D), `"heartbeat_interval":41250`) {
		t.Fatalf("no HELLO: %+v", p)
	}
	return w
}

func (w wire) send(format string, args ...any) {
	w.t.Helper()
	if err := w.ws.WriteMessage(websocket.TextMessage, fmt.Appendf(nil, format, args...)); err != nil {
		w.t.Fatal(err)
	}
}

func (w wire) next() packet {
	w.t.Helper()
	_ = w.ws.SetReadDeadline(time.Now().Add(2 * time.Minute))
	var p packet
	if err := w.ws.ReadJSON(&p); err != nil {
		w.t.Fatal(err)
	}
	return p
}

// closed is the code with which the server closes, 0 for a cut.
func (w wire) closed() int {
	w.t.Helper()
	_ = w.ws.SetReadDeadline(time.Now().Add(2 * time.Minute))
	for {
		_, _, err := w.ws.ReadMessage()
		var c *websocket.CloseError
		if errors.As(err, &c) && c.Code != websocket.CloseAbnormalClosure {
			return c.Code
		}
		if err != nil {
			return 0
		}
	}
}

func (w wire) identify(s *discordtest.Server, token string, intents int, more string) {
	w.t.Helper()
	w.send(`{"op":2,"d":{"token":%q,"intents":%d,"properties":{"os":"linux"}%s}}`, token, intents, more)
}

// ready identifies and gives the session's id.
func (w wire) ready(s *discordtest.Server) string {
	w.t.Helper()
	w.identify(s, s.Token, 1, "")
	p := w.next()
	var d struct {
		ID string `json:"session_id"`
	}
	if p.T != "READY" || json.Unmarshal(p.D, &d) != nil || d.ID == "" {
		w.t.Fatalf("no READY: %+v", p)
	}
	return d.ID
}

// The codes are those of Discord's documentation, "Gateway Close Event Codes".
func TestWhoIsNotLetIn(t *testing.T) {
	s := discordtest.New(t, discordtest.Options{})
	for _, c := range []struct {
		name string
		send func(w wire)
		code int
	}{
		{"a wrong token", func(w wire) { w.identify(s, "wrong", 1, "") }, 4004},
		{"intents that there are not", func(w wire) { w.identify(s, s.Token, 1<<30, "") }, 4013},
		{"intents that need permission", func(w wire) { w.identify(s, s.Token, 1<<15, "") }, 4014},
		{"a shard that there is not", func(w wire) { w.identify(s, s.Token, 1, `,"shard":[2,2]`) }, 4010},
		{"no intents", func(w wire) { w.send(`{"op":2,"d":{"token":%q,"properties":{}}}`, s.Token) }, 4002},
		{"no JSON", func(w wire) { w.send(`what`) }, 4002},
		{"an opcode that there is not", func(w wire) { w.send(`{"op":99}`) }, 4001},
		{"identified twice", func(w wire) {
			w.ready(s)
			w.identify(s, s.Token, 1, "")
		}, 4005},
	} {
		w := dial(t, s)
		c.send(w)
		if got := w.closed(); got != c.code {
			t.Errorf("%s: closed with %d, want %d", c.name, got, c.code)
		}
	}
	s.RefuseIdentify(4004)
	w := dial(t, s)
	w.identify(s, s.Token, 1, "")
	if got := w.closed(); got != 4004 {
		t.Errorf("on demand: closed with %d", got)
	}
}

func TestResumedWithWhatWasMissed(t *testing.T) {
	s := discordtest.New(t, discordtest.Options{})
	w := dial(t, s)
	id := w.ready(s)
	s.Cut()
	if got := w.closed(); got != 0 {
		t.Errorf("a cut has the code %d", got)
	}
	if err := s.AwaitGateway(patience(t), func(st discordtest.Stats) bool { return st.Connected == 0 }); err != nil {
		t.Fatal(err)
	}
	s.Dispatch("ONE", 1)
	s.Dispatch("TWO", 2)
	w = dial(t, s)
	w.send(`{"op":6,"d":{"token":%q,"session_id":%q,"seq":1}}`, s.Token, id)
	var got []string
	for range 3 {
		p := w.next()
		got = append(got, fmt.Sprint(p.T, " ", p.S))
	}
	if fmt.Sprint(got) != "[ONE 2 TWO 3 RESUMED 4]" {
		t.Errorf("replayed: %v", got)
	}
	if st := s.Gateway(); st.Resumes != 1 || st.Identifies != 1 || st.Connected != 1 {
		t.Errorf("%+v", st)
	}
	for _, bad := range []struct{ name, session, seq string }{{"another session", "other", "1"}, {"a number to come", id, "99"}} {
		w := dial(t, s)
		w.send(`{"op":6,"d":{"token":%q,"session_id":%q,"seq":%s}}`, s.Token, bad.session, bad.seq)
		if p := w.next(); p.Op != 9 || string(p.D) != "false" {
			t.Errorf("%s: %+v", bad.name, p)
		}
		w.ready(s) // on the same connection
	}
}

// A session ends when the bot closes with 1000 or 1001, and with no other code
// ("Gateway: Disconnecting").
func TestHowABotLeaves(t *testing.T) {
	s := discordtest.New(t, discordtest.Options{})
	for _, c := range []struct{ code, op int }{{1000, 9}, {1001, 9}, {4000, 0}, {1012, 0}} {
		w := dial(t, s)
		id := w.ready(s)
		before := len(s.Gateway().Closes)
		_ = w.ws.WriteMessage(websocket.CloseMessage, websocket.FormatCloseMessage(c.code, ""))
		if err := s.AwaitGateway(patience(t), func(st discordtest.Stats) bool { return len(st.Closes) > before }); err != nil {
			t.Fatal(err)
		}
		w = dial(t, s)
		w.send(`{"op":6,"d":{"token":%q,"session_id":%q,"seq":1}}`, s.Token, id)
		if p := w.next(); p.Op != c.op {
			t.Errorf("after %d a resume is answered with %+v", c.code, p)
		}
	}
	if got := s.Gateway().Closes; !slices.Equal(got, []int{1000, 1001, 4000, 1012}) {
		t.Errorf("closes: %v", got)
	}
}

func TestGatewayFaultsOnDemand(t *testing.T) {
	s := discordtest.New(t, discordtest.Options{})
	w := dial(t, s)
	id := w.ready(s)
	w.send(`{"op":1,"d":1}`)
	if p := w.next(); p.Op != 11 {
		t.Errorf("a heartbeat is answered with %+v", p)
	}
	s.MuteAcks(true)
	w.send(`{"op":1,"d":1}`)
	s.Beat() // what comes next shows that nothing came before
	if p := w.next(); p.Op != 1 {
		t.Errorf("muted: %+v", p)
	}
	s.Reconnect()
	if p := w.next(); p.Op != 7 {
		t.Errorf("asked to reconnect: %+v", p)
	}
	s.Invalidate(true)
	if p := w.next(); p.Op != 9 || string(p.D) != "true" {
		t.Errorf("invalid, to be resumed: %+v", p)
	}
	s.CloseGateway(4000)
	if got := w.closed(); got != 4000 {
		t.Errorf("closed with %d", got)
	}
	s.ResumeWith(7)
	for _, op := range []int{7, 0} {
		w = dial(t, s)
		w.send(`{"op":6,"d":{"token":%q,"session_id":%q,"seq":1}}`, s.Token, id)
		if p := w.next(); p.Op != op {
			t.Errorf("a resume is answered with %+v, want %d", p, op)
		}
	}
	s.Invalidate(false)
	if p := w.next(); p.Op != 9 || string(p.D) != "false" {
		t.Errorf("invalid: %+v", p)
	}
	if st := s.Gateway(); st.Sessions != 0 || st.Connected != 0 || st.Heartbeats != 2 {
		t.Errorf("%+v", st)
	}
}

func TestShards(t *testing.T) {
	s := discordtest.New(t, discordtest.Options{Shards: 2})
	shards := []wire{dial(t, s), dial(t, s)}
	seen := map[string]int{}
	for i, w := range shards {
		w.identify(s, s.Token, 1, fmt.Sprintf(`,"shard":[%d,2]`, i))
		w.next()
	}
	s.Dispatch("OUTSIDE", nil) // of any guild: for the first shard
	var guilds []*discordtest.Guild
	for i := range 20 {
		guilds = append(guilds, s.Guild(fmt.Sprint("guild ", i)))
	}
	for i, w := range shards {
		s.Reconnect() // marks the end
		for p := w.next(); p.Op != 7; p = w.next() {
			var d struct {
				ID string `json:"id"`
			}
			_ = json.Unmarshal(p.D, &d)
			seen[d.ID]++
			if d.ID == "" && i != 0 {
				t.Error("what is of no guild came to the second shard")
			}
		}
	}
	for _, g := range guilds {
		if seen[g.ID] != 1 {
			t.Errorf("a guild came to %d shards", seen[g.ID])
		}
	}
}

func TestFaultsOnDemand(t *testing.T) {
	w := newWorld(t)
	path := "/channels/" + w.room.ID + "/messages"
	get := func(method, body string) (*http.Response, string, error) {
		req, err := http.NewRequestWithContext(t.Context(), method, w.s.URL+"/api/v9"+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		req.Header = http.Header{"Authorization": {"Bot " + w.s.Token}, "User-Agent": {"DiscordBot (test, 1)"}, "Content-Type": {"application/json"}}
		resp, err := (&http.Client{Transport: &http.Transport{DisableKeepAlives: true}}).Do(req)
		if err != nil {
			return nil, "", err
		}
		defer resp.Body.Close()
		b, err := io.ReadAll(resp.Body)
		return resp, string(b), err
	}
	w.s.Fail(discordtest.Fault{Route: discordtest.RouteCreateMessage, After: 1, Times: 2, Status: 503, Body: "busy"})
	for i, want := range []int{200, 503, 503, 200} {
		if resp, _, err := get("POST", `{"content":"x"}`); err != nil || resp.StatusCode != want {
			t.Errorf("request %d: %v %v", i, resp, err)
		}
	}
	w.s.Heal()
	w.s.Fail(discordtest.Fault{Route: discordtest.RouteCreateMessage, Times: -1, Every: 3, Status: 500})
	w.s.Fail(discordtest.Fault{Times: -1, Every: 2, Status: 502})
	for i, want := range []int{200, 502, 500, 200, 502, 500} {
		if resp, _, err := get("POST", `{"content":"x"}`); err != nil || resp.StatusCode != want {
			t.Errorf("request %d of the storm: %v %v", i, resp, err)
		}
	}
	w.s.Heal()
	w.s.Fail(discordtest.Fault{Route: discordtest.RouteCreateMessage, Apply: true, Cut: true})
	before := len(w.room.All())
	if _, _, err := get("POST", `{"content":"lost answer"}`); err == nil {
		t.Error("a cut was answered")
	}
	if n := len(w.room.All()); n != before+1 {
		t.Errorf("applied and lost: %d messages, then %d", before, n)
	}
	w.s.Fail(discordtest.Limited(discordtest.RouteCreateMessage, 1, 1500*time.Millisecond, true))
	w.s.Fail(discordtest.LimitedHTML(discordtest.RouteCreateMessage, 1, 2*time.Second))
	resp, body, err := get("POST", `{"content":"x"}`)
	if err != nil || resp.StatusCode != 429 || resp.Header.Get("X-RateLimit-Global") != "true" || resp.Header.Get("Retry-After") != "2" || !strings.Contains(body, `"retry_after":1.500`) {
		t.Errorf("429: %v %s %v", resp, body, err)
	}
	resp, body, err = get("POST", `{"content":"x"}`)
	if err != nil || resp.StatusCode != 429 || json.Valid([]byte(body)) || resp.Header.Get("Retry-After") != "2" {
		t.Errorf("429 as a page: %v %s %v", resp, body, err)
	}
	hold := make(chan struct{})
	w.s.Fail(discordtest.Fault{Route: discordtest.RouteGetMessages, Hold: hold})
	done := make(chan int)
	go func() {
		resp, _, err := get("GET", "")
		if err != nil {
			done <- 0
			return
		}
		done <- resp.StatusCode
	}()
	if resp, _, err := get("POST", `{"content":"meanwhile"}`); err != nil || resp.StatusCode != 200 {
		t.Errorf("while another is held: %v %v", resp, err)
	}
	select {
	case <-done:
		t.Error("a request that is held was answered")
	default:
	}
	close(hold)
	if got := <-done; got != 200 {
		t.Errorf("held, then let go: %d", got)
	}
	if r := w.s.Refused(); len(r) > 0 {
		t.Errorf("faults count as refused: %v", r)
	}
}
