package matrix

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"maunium.net/go/mautrix"

	"weftroom/bot"
)

// answered is an error as the library makes it of a server's answer.
func answered(status int, code string, extra map[string]any, header http.Header) error {
	return mautrix.HTTPError{
		Request:   &http.Request{URL: &url.URL{Path: "/_matrix/client/v3/rooms/!r/send/m.room.message/key"}},
		Response:  &http.Response{StatusCode: status, Header: header},
		RespError: &mautrix.RespError{ErrCode: code, StatusCode: status, Err: "words of the server", ExtraData: extra},
	}
}

// TestSendError: the codes and what they mean stand in the Matrix specification,
// Client-Server API, "Standard error response" and "Rate limiting".
func TestSendError(t *testing.T) {
	for _, c := range []struct {
		name      string
		err       error
		permanent bool
		retry     time.Duration
		refused   bool // the server certainly does not have it
	}{
		{name: "forbidden", err: answered(403, "M_FORBIDDEN", nil, nil), permanent: true, refused: true},
		{name: "no such room", err: answered(404, "M_NOT_FOUND", nil, nil), permanent: true, refused: true},
		{name: "too large", err: answered(413, "M_TOO_LARGE", nil, nil), permanent: true, refused: true},
		{name: "limited, in the body", err: answered(429, "M_LIMIT_EXCEEDED", map[string]any{"retry_after_ms": 2500.0}, nil), retry: 2500 * time.Millisecond, refused: true},
		{name: "limited, in the header", err: answered(429, "M_LIMIT_EXCEEDED", nil, http.Header{"Retry-After": {"7"}}), retry: 7 * time.Second, refused: true},
		{name: "limited, nothing said", err: answered(429, "M_LIMIT_EXCEEDED", nil, nil), retry: time.Second, refused: true},
		{name: "limited, nonsense said", err: answered(429, "M_LIMIT_EXCEEDED", map[string]any{"retry_after_ms": -1e18}, http.Header{"Retry-After": {"soon"}}), retry: time.Second, refused: true},
		{name: "limited for ever", err: answered(429, "M_LIMIT_EXCEEDED", map[string]any{"retry_after_ms": 1e12}, nil), retry: time.Hour, refused: true},
		{name: "a fault of the server", err: answered(500, "M_UNKNOWN", nil, nil)},
		{name: "the connection broke", err: &url.Error{Op: "Put", URL: "http://host/secret", Err: io.EOF}},
		{name: "out of time", err: fmt.Errorf("so: %w", context.DeadlineExceeded)},
		{name: "refused by a person", err: &bot.SendError{Permanent: true, Refused: true, Err: errors.New("no")}, permanent: true},
	} {
		got := bot.AsSendError(sendError(c.err))
		if got.Permanent != c.permanent || got.RetryAfter != c.retry || refusedBy(c.err) != c.refused {
			t.Errorf("%s: %+v, refused %v", c.name, got, refusedBy(c.err))
		}
		if text := got.Error(); len(text) > 200 || text == "" || containsAddress(text) {
			t.Errorf("%s: it says %q", c.name, text)
		}
	}
	if sendError(nil) != nil {
		t.Error("nothing is an error")
	}
}

func containsAddress(s string) bool { return strings.Contains(s, "://") }
