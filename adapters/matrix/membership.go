package matrix

import (
	"context"
	"errors"
	"slices"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
	"weftroom/calc/measure"
)

// joinFor is how long an invitation is tried to be followed.
const joinFor = 10 * time.Minute

// invitation is the task of an invitation: it is followed if the settings allow
// it, and declined otherwise.
func (l *link) invitation(roomID id.RoomID, invited *mautrix.SyncInvitedRoom) *task {
	var from id.UserID
	direct, sealed := false, false
	for _, evt := range invited.BestState() {
		switch {
		case evt.Type.Type == event.StateMember.Type && evt.GetStateKey() == string(l.client.UserID):
			from = evt.Sender
			direct, _ = evt.Content.Raw["is_direct"].(bool)
		case evt.Type.Type == event.StateEncryption.Type:
			sealed = true
		}
	}
	return &task{run: func(ctx context.Context, _ *task) bool {
		switch {
		case !l.chat.welcomeFrom(from):
			l.chat.log().Info("matrix: an invitation was declined, for matrix.invites does not name its sender or her server", "room", roomID)
			return l.part(ctx, roomID, "")
		case sealed && !canEncrypt:
			return l.leaveSealed(ctx, roomID)
		}
		return l.follows(ctx, roomID, from, direct)
	}}
}

// follows joins a room. That it is a direct chat is noted before, for it is greeted
// as soon as the stream tells that we are in it.
func (l *link) follows(ctx context.Context, roomID id.RoomID, from id.UserID, direct bool) (over bool) {
	return l.persist(ctx, "joining a room", func(ctx context.Context) error {
		if direct {
			if err := l.addDirect(ctx, from, roomID); err != nil {
				return err
			}
		}
		_, err := l.client.JoinRoomByID(ctx, roomID)
		return err
	})
}

// part leaves a room, or declines an invitation to it, and has the server forget
// it as well.
func (l *link) part(ctx context.Context, roomID id.RoomID, reason string) (over bool) {
	l.rooms.leave(roomID)
	return l.persist(ctx, "leaving a room", func(ctx context.Context) error {
		if _, err := l.client.LeaveRoom(ctx, roomID, &mautrix.ReqLeave{Reason: reason}); err != nil {
			return err
		}
		_, err := l.client.ForgetRoom(ctx, roomID)
		return err
	})
}

// leaveSealed leaves an encrypted room in which this build cannot write, and
// says why in the one place that needs no message.
func (l *link) leaveSealed(ctx context.Context, roomID id.RoomID) (over bool) {
	l.chat.log().Warn("matrix: left an encrypted room, since this build was made without the tag goolm", "room", roomID)
	return l.part(ctx, roomID, l.chat.options.Texts.Say(measure.Unset, bot.KeyNoEncrypt))
}

// persist tries something until it succeeds, the server refuses it, or ctx ends.
func (l *link) persist(ctx context.Context, what string, do func(ctx context.Context) error) (over bool) {
	begun := time.Now()
	for pause := firstPause; ; pause = min(2*pause, longestPause) {
		err := do(ctx)
		if err == nil {
			return true
		}
		s := bot.AsSendError(sendError(err))
		if s.Permanent || time.Since(begun) > joinFor {
			l.chat.log().Warn("matrix: "+what+" did not succeed", "err", withoutURL(err))
			return true
		}
		if ctx.Err() != nil {
			return false
		}
		rest(ctx, max(pause, s.RetryAfter))
	}
}

// joining is the task of a room that we have just come into: it is greeted, once
// for ever, and told our commands where its programs can show them.
func (l *link) joining(roomID id.RoomID) *task {
	return &task{run: func(ctx context.Context, _ *task) bool {
		about, err := l.about(ctx, roomID)
		for pause := firstPause; err != nil && ctx.Err() == nil; pause = min(2*pause, longestPause) {
			if bot.AsSendError(sendError(err)).Permanent {
				return true
			}
			rest(ctx, pause)
			about, err = l.about(ctx, roomID)
		}
		if err != nil {
			return false
		}
		if about.Encrypted && !canEncrypt {
			return l.leaveSealed(ctx, roomID)
		}
		defer l.advertise(ctx, roomID) // after the greeting, since it takes long
		if l.madeByUs(ctx, roomID) {
			return true
		}
		return l.deliver(ctx, func(ctx context.Context) error {
			return l.chat.greet(ctx, roomID, l.rooms.isDirect(roomID))
		})
	}}
}

// greet says who we are. A room that nobody has called a direct chat is greeted as
// one in which a class may meet, even while we are alone with one person there:
// the others that were invited may not have come yet.
func (c *Chat) greet(ctx context.Context, roomID id.RoomID, direct bool) error {
	if direct {
		return c.tell(ctx, roomID, c.key("welcome", roomID), bot.KeyWelcome, c.begin(direct, "help"))
	}
	return c.tell(ctx, roomID, c.key("welcome", roomID), bot.KeyWelcomeRoom, c.begin(direct, ""))
}

// madeByUs tells a room that we have opened ourselves, for a direct message.
func (l *link) madeByUs(ctx context.Context, roomID id.RoomID) bool {
	create, err := l.state.GetCreate(ctx, roomID)
	return err == nil && create != nil && l.own(create.Sender)
}

// advertise makes our commands known in a room, once in a run. A room in which we
// are alone with one person may grow, and is looked at again then.
func (l *link) advertise(ctx context.Context, roomID id.RoomID) {
	defer l.locks.of("commands in " + string(roomID))()
	if l.rooms.isOffered(roomID) {
		return
	}
	if about, err := l.chat.roomOf(ctx, roomID); err == nil && about.Direct {
		return
	}
	err := l.chat.advertise(ctx, roomID)
	if err == nil {
		l.rooms.markOffered(roomID)
	}
	if err != nil && ctx.Err() == nil {
		l.chat.log().Warn("matrix: the commands could not be made known in a room", "room", roomID, "err", withoutURL(err))
	}
}

// grown is the task of a room into which others have come or been invited.
func (l *link) grown(roomID id.RoomID) *task {
	return &task{run: func(ctx context.Context, _ *task) bool {
		l.advertise(ctx, roomID)
		return true
	}}
}

// arrive makes the commands known in the rooms that we are in when the run
// begins.
func (l *link) arrive(ctx context.Context) {
	l.work.Go(func() {
		for _, roomID := range l.rooms.all() {
			if ctx.Err() == nil {
				l.advertise(ctx, roomID)
			}
		}
	})
}

// anew is the task of a room that we were in before all that we know of it was
// lost: what was written there since we last did is not answered by anyone.
func (l *link) anew(roomID id.RoomID) *task {
	return &task{run: func(ctx context.Context, _ *task) bool {
		if sealed, err := l.sealed(ctx, roomID); err == nil && sealed && !canEncrypt {
			return l.leaveSealed(ctx, roomID)
		}
		return l.deliver(ctx, func(ctx context.Context) error {
			return l.chat.tell(ctx, roomID, l.chat.key("anew", roomID, l.client.DeviceID), bot.KeyAnew)
		})
	}}
}

// unanswered tells whether others have written something after what we last did
// in a room.
func (l *link) unanswered(events []*event.Event) bool {
	for _, evt := range slices.Backward(events) {
		switch {
		case evt.StateKey != nil, l.chat.isOld(evt):
		case l.own(evt.Sender):
			return false
		case evt.Type.Type == event.EventMessage.Type, evt.Type.Type == event.EventEncrypted.Type:
			return true
		}
	}
	return false
}

// gone forgets a room that we have left or been sent from.
func (l *link) gone(ctx context.Context, roomID id.RoomID) error {
	if l.rooms.leave(roomID) {
		l.chat.log().Info("matrix: no longer in a room", "room", roomID)
	}
	if err := l.state.ClearCachedMembers(ctx, roomID); err != nil {
		return err
	}
	if err := l.keep.left(ctx, roomID); err != nil {
		return err
	}
	return nil
}

// forgetting is the task of a room that we are no longer in: the server need not
// tell us of it again.
func (l *link) forgetting(roomID id.RoomID) *task {
	return &task{run: func(ctx context.Context, _ *task) bool {
		if _, err := l.client.ForgetRoom(ctx, roomID); err != nil && ctx.Err() == nil && !errors.Is(err, mautrix.MNotFound) {
			l.chat.log().Debug("matrix: forgetting a room", "room", roomID, "err", withoutURL(err))
		}
		return true
	}}
}
