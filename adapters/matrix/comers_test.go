//go:build goolm

package matrix

import (
	"context"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"

	"maunium.net/go/mautrix/event"

	"weftroom/adapters/matrix/matrixtest"
)

// TestReadableAtOnce invites somebody who has no device yet, speaks while she is
// invited, and speaks again as soon as it knows that she has come: she can read
// that, though asking for her devices failed when the server told of her coming.
func TestReadableAtOnce(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d, account := disturb(t, s, true), s.Account(t, "bea")
	d.ada.Invite(t, d.room, account.ID)
	d.ada.Say(t, d.room, "!before she came")
	wantOnce(t, d.ada, d.room, "you said before she came")
	var cut atomic.Int32
	d.proxy.Judge(func(r *http.Request) matrixtest.Fate {
		if strings.HasSuffix(r.URL.Path, "/keys/query") {
			cut.Add(1)
			return matrixtest.Cut
		}
		return matrixtest.Pass
	}, nil)
	bea := s.LogIn(t, account)
	waitUntil(t, d.device, func(ctx context.Context, l *link) bool { // the one may be told of before the other
		return cut.Load() > 0 && l.state.IsMembership(ctx, d.room, bea.ID, event.MembershipJoin)
	})
	d.proxy.Judge(nil, nil)
	d.again(t, "at-once", "welcome to her")
	bea.UntilText(t, d.room, "welcome to her")
}
