package matrix

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"maunium.net/go/mautrix"

	"weftroom/bot"
)

// Mistakes at the start that only the operator can mend.
var (
	errNoPassword   = errors.New("there is no login yet, and the first one needs matrix.password")
	errOtherUser    = errors.New("the login that is kept belongs to another account than matrix.user")
	errNoRecovery   = errors.New("this is a new device of an account that has recovery keys")
	errBadRecovery  = errors.New("the recovery key does not open what the account keeps on the server")
	errSignPassword = errors.New("the server asks for the password to sign this device")
)

// explained says what is wrong in words for the operator, and what to do.
func (c *Chat) explained(err error) error {
	if err == nil || errors.Is(err, context.Canceled) {
		return err
	}
	what, remedy := c.diagnosis(err)
	if remedy == "" {
		return fmt.Errorf("matrix: %s", what)
	}
	return fmt.Errorf("matrix: %s; %s", what, remedy)
}

// anew is how to begin as a new device without losing anything but old messages.
const anew = "move the folder of matrix.keys away, set matrix.password and matrix.recovery, and start again: that makes a new device"

func (c *Chat) diagnosis(err error) (what, remedy string) {
	text := err.Error()
	var answered mautrix.HTTPError
	errors.As(err, &answered)
	switch {
	case errors.Is(err, errNoPassword):
		return err.Error(), "set it, or put it into a file and name that in WEFTROOM_MATRIX_PASSWORD_FILE"
	case errors.Is(err, errOtherUser):
		return err.Error(), "correct matrix.user, or name another folder in matrix.keys"
	case errors.Is(err, errNoRecovery):
		return err.Error(), `set matrix.recovery to the key that was shown at the first start; if it is lost, recovery = "new" makes a new one, and everybody has to verify the account again`
	case errors.Is(err, errBadRecovery):
		return err.Error(), "set matrix.recovery to the key as it was shown at the first start, blanks included"
	case errors.Is(err, errSignPassword):
		return err.Error(), "set matrix.password until the first start is through"
	case errors.Is(err, errInUse):
		return "another process works with the folder of matrix.keys", "end it first: two with the same device would answer everything twice"
	case strings.Contains(text, "olm account is not marked as shared"):
		return "the server knows keys of this device that are not in the folder of matrix.keys", anew
	case strings.Contains(text, "keys seem to have disappeared"), strings.Contains(text, "mismatching identity key"):
		return "the keys of this device are not the ones that the server has", anew
	case strings.Contains(text, "bad mac"), strings.Contains(text, "bad MAC"), strings.Contains(text, "wrong MAC"):
		return pickleFile + " does not open " + keysFile, "bring back the " + pickleFile + " that belongs to it, or " + anew
	case errors.Is(err, mautrix.MUnknownToken), errors.Is(err, mautrix.MMissingToken):
		return "the server does not know the login any more: the device was logged out or deleted", anew
	case errors.Is(err, mautrix.MUserDeactivated):
		return "the account is deactivated", "set matrix.user to another one"
	case errors.Is(err, mautrix.MForbidden) && strings.Contains(requestOf(answered), "/login"):
		return fmt.Sprintf("the server does not let %s in with that password", c.user), "check matrix.user and matrix.password"
	case errors.Is(err, mautrix.MLimitExceeded):
		return "the server asks for patience: too many requests", "wait some minutes and start again"
	case answered.Response != nil && answered.RespError == nil:
		return fmt.Sprintf("what answers at matrix.homeserver is no Matrix server (HTTP %d)", answered.Response.StatusCode), "check that address"
	case isNetwork(err):
		return "the server of matrix.homeserver cannot be reached: " + withoutURL(err), "check the address and the network"
	case errors.Is(err, fs.ErrPermission):
		return text, "the folder of matrix.keys must be ours to read and write"
	}
	return withoutURL(err), ""
}

func requestOf(e mautrix.HTTPError) string {
	if e.Request == nil || e.Request.URL == nil {
		return ""
	}
	return e.Request.URL.Path
}

func isNetwork(err error) bool {
	var u *url.Error
	var n net.Error
	return errors.As(err, &u) || errors.As(err, &n)
}

// isAway tells an error that passes when the server is back.
func isAway(err error) bool {
	var answered mautrix.HTTPError
	if errors.As(err, &answered) && answered.Response != nil {
		code := answered.Response.StatusCode
		return code >= 500 || code == http.StatusTooManyRequests
	}
	return isNetwork(err)
}

// withoutURL is an error's text without the address, which holds room and
// transaction ids.
func withoutURL(err error) string {
	var u *url.Error
	if errors.As(err, &u) {
		return u.Err.Error()
	}
	return strings.Join(strings.Fields(err.Error()), " ")
}

// sendError says what a failed request means for the post that wanted it.
func sendError(err error) error {
	if err == nil {
		return nil
	}
	if known, ok := errors.AsType[*bot.SendError](err); ok {
		return known
	}
	out := &bot.SendError{Err: errors.New(withoutURL(err))}
	var answered mautrix.HTTPError
	switch errors.As(err, &answered); {
	case errors.Is(err, mautrix.MLimitExceeded):
		out.RetryAfter = retryAfter(answered)
	case errors.Is(err, mautrix.MForbidden), errors.Is(err, mautrix.MNotFound), errors.Is(err, mautrix.MTooLarge),
		errors.Is(err, mautrix.MBadJSON), errors.Is(err, mautrix.MInvalidParam),
		answered.IsStatus(http.StatusRequestEntityTooLarge):
		out.Permanent = true
	}
	if ctxErr := contextError(err); ctxErr != nil {
		out.Err = ctxErr
	}
	return out
}

func contextError(err error) error {
	for _, e := range []error{context.Canceled, context.DeadlineExceeded} {
		if errors.Is(err, e) {
			return e
		}
	}
	return nil
}

// retryAfter is how long the server wants us to wait, a second if it does not
// say.
func retryAfter(e mautrix.HTTPError) time.Duration {
	var wait time.Duration
	if e.RespError != nil {
		if ms, ok := e.RespError.ExtraData["retry_after_ms"].(float64); ok {
			wait = time.Duration(ms) * time.Millisecond
		}
	}
	if e.Response != nil {
		if d, err := time.ParseDuration(e.Response.Header.Get("Retry-After") + "s"); err == nil {
			wait = max(wait, d)
		}
	}
	return min(cmp.Or(max(wait, 0), time.Second), time.Hour)
}

// refusedBy tells that the server has answered that it does not take a message,
// so that it certainly is not there.
func refusedBy(err error) bool {
	var answered mautrix.HTTPError
	return errors.As(err, &answered) && answered.RespError != nil && answered.Response != nil &&
		answered.Response.StatusCode >= 400 && answered.Response.StatusCode < 500
}

// nowhere is the error of a post into a room that we are not in.
func nowhere(what string) error {
	return &bot.SendError{Permanent: true, Err: errors.New("matrix: " + what)}
}
