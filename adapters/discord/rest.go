package discord

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"

	"weftroom/bot"
)

const (
	apiBase   = "https://discord.com/api/v10"
	userAgent = "DiscordBot (weftroom, 1)" // the form that Discord asks for

	// maxAnswer is the most bytes that are read of one answer.
	maxAnswer = 8 << 20

	// longWait is the longest that a request waits by itself for a rate limit to
	// end; after that its caller is told.
	longWait = 5 * time.Second
)

// rest speaks HTTP with Discord. It waits as the limits say, tries again what
// may be tried again, and stops when the context ends. Nothing of an address
// gets into an error, since addresses hold the tokens of interactions.
type rest struct {
	client *http.Client
	plain  *http.Client // for files: follows nothing, and shows nobody the token
	token  string
	pace   Pace
	now    func() time.Time
	limits *limits
}

func newREST(token string, o Options) *rest {
	return &rest{
		client: &http.Client{Transport: o.Transport, Timeout: time.Minute},
		plain: &http.Client{Transport: o.Transport, Timeout: time.Minute, CheckRedirect: func(*http.Request, []*http.Request) error {
			return http.ErrUseLastResponse
		}},
		token: token, pace: o.Pace, now: o.Now, limits: newLimits(o.Pace.PerSecond),
	}
}

// call is one request.
type call struct {
	method string
	path   string // below apiBase
	bucket string // what shares a rate limit; "" is method and path
	body   any    // JSON, nil for none
	files  []upload
	into   any  // takes the answer; nil for nobody
	again  bool // doing it twice is the same as once, so it may be tried again
	free   bool // not counted in the limit of all requests: interactions
}

// apiError is a refusal of Discord's.
type apiError struct {
	status  int
	code    int // Discord's own, 0 for none
	message string
	after   time.Duration // of a rate limit
}

// Error implements error.
func (e *apiError) Error() string {
	return fmt.Sprintf("discord says %d %s (code %d: %s)", e.status, http.StatusText(e.status), e.code, e.message)
}

// fleeting tells that the same may go well later.
func (e *apiError) fleeting() bool { return e.status >= 500 || e.status == http.StatusTooManyRequests }

// do makes a request, until it goes well, cannot, or ctx ends.
func (r *rest) do(ctx context.Context, c call) error {
	for try := 1; ; try++ {
		if err := r.limits.wait(ctx, c); err != nil {
			return err
		}
		err := r.once(ctx, c)
		if err == nil || ctx.Err() != nil || try >= r.pace.Tries {
			return err
		}
		e, answered := errors.AsType[*apiError](err)
		wait := r.backoff(try)
		switch {
		case answered && e.status == http.StatusTooManyRequests: // it was not done, whatever it is
			if e.after > longWait {
				return err
			}
			wait = max(e.after, 0)
		case answered && !e.fleeting(), !c.again:
			return err
		}
		if pause(ctx, wait) != nil {
			return err
		}
	}
}

// backoff doubles with each try, and scatters those who fail together.
func (r *rest) backoff(try int) time.Duration {
	d := r.pace.Retry << (try - 1)
	return d/2 + rand.N(d/2+1)
}

// pause waits, or gives ctx's error.
func pause(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (r *rest) once(ctx context.Context, c call) error {
	req, err := r.request(ctx, c)
	if err != nil {
		return err
	}
	resp, err := r.client.Do(req)
	if err != nil {
		return withoutAddress(err)
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(io.LimitReader(resp.Body, maxAnswer))
	r.limits.heed(c, resp.Header)
	if err != nil {
		return withoutAddress(err)
	}
	if resp.StatusCode < 200 || resp.StatusCode > 299 {
		e := refusal(resp, raw)
		if e.status == http.StatusTooManyRequests {
			r.limits.close(c, e.after, resp.Header.Get("X-RateLimit-Global") != "")
		}
		return e
	}
	if c.into == nil || len(raw) == 0 {
		return nil
	}
	if err := json.Unmarshal(raw, c.into); err != nil {
		return errors.New("discord's answer cannot be read as JSON")
	}
	return nil
}

func (r *rest) request(ctx context.Context, c call) (*http.Request, error) {
	kind, body, err := encode(c)
	if err != nil {
		return nil, err
	}
	req, err := http.NewRequestWithContext(ctx, c.method, apiBase+c.path, bytes.NewReader(body))
	if err != nil {
		return nil, errors.New("no address can be made of that")
	}
	if body != nil {
		req.Header.Set("Content-Type", kind)
	}
	req.Header.Set("Authorization", "Bot "+r.token)
	req.Header.Set("User-Agent", userAgent)
	return req, nil
}

func encode(c call) (kind string, body []byte, err error) {
	switch {
	case c.body == nil:
		return "", nil, nil
	case len(c.files) == 0:
		body, err = json.Marshal(c.body)
		return "application/json", body, err
	}
	var files []*discordgo.File
	for _, f := range c.files {
		files = append(files, &discordgo.File{Name: f.name, ContentType: f.media, Reader: bytes.NewReader(f.bytes)})
	}
	return discordgo.MultipartBodyWithJSON(c.body, files)
}

// refusal reads an answer that is no success. Discord's proxies may answer in
// HTML.
func refusal(resp *http.Response, raw []byte) *apiError {
	e := &apiError{status: resp.StatusCode}
	var said struct {
		Code       int     `json:"code"`
		Message    string  `json:"message"`
		RetryAfter float64 `json:"retry_after"`
	}
	if json.Unmarshal(raw, &said) == nil {
		e.code, e.message = said.Code, cut(said.Message, 200)
	}
	if e.status != http.StatusTooManyRequests {
		return e
	}
	e.after = seconds(said.RetryAfter)
	if header, err := strconv.ParseFloat(resp.Header.Get("Retry-After"), 64); err == nil && e.after == 0 {
		e.after = seconds(header)
	}
	if e.after == 0 {
		e.after = time.Second
	}
	return e
}

// seconds is a duration within sane bounds.
func seconds(s float64) time.Duration {
	if !(s > 0) {
		return 0
	}
	return time.Duration(min(s, 24*3600) * float64(time.Second))
}

// withoutAddress is the error inside of one that names the address.
func withoutAddress(err error) error {
	if u, ok := errors.AsType[*url.Error](err); ok {
		err = u.Err
	}
	if strings.Contains(err.Error(), "://") {
		return errors.New("the request to discord failed")
	}
	return err
}

// asSendError says what a failed post means to whoever sends posts.
func asSendError(err error) error {
	e, ok := errors.AsType[*apiError](err)
	if !ok {
		return err
	}
	send := &bot.SendError{Err: err}
	switch {
	case e.status == http.StatusTooManyRequests:
		send.RetryAfter = e.after
	case e.code == codeNoDirect || e.code == codeNoCommon:
		send.Permanent, send.Refused = true, true
	case e.status == http.StatusUnauthorized: // the operator may mend the token
		return err
	case e.status >= 400 && e.status < 500:
		send.Permanent = true
	}
	return send
}
