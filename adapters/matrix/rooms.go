package matrix

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"

	"weftroom/bot"
)

// rooms is what is known of the rooms in this run, beside what the state store
// keeps.
type rooms struct {
	mu       sync.Mutex
	joined   map[id.RoomID]bool
	complete map[id.RoomID]bool // whose whole state has been seen
	offered  map[id.RoomID]bool // in which our commands have been made known
	sizes    map[id.RoomID]int  // members, the invited among them; as they are asked for
	changes  int                // of who is in rooms
	direct   event.DirectChatsEventContent
	called   map[id.RoomID]bool // direct chats that we have noted ourselves, which an older list does not have
}

func (r *rooms) set(joined []id.RoomID, direct event.DirectChatsEventContent) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.joined, r.complete, r.sizes, r.direct = map[id.RoomID]bool{}, map[id.RoomID]bool{}, map[id.RoomID]int{}, direct
	r.offered, r.called = map[id.RoomID]bool{}, map[id.RoomID]bool{}
	for _, room := range joined {
		r.joined[room] = true
	}
}

// join notes that we are in a room, and tells whether we were not.
func (r *rooms) join(room id.RoomID) (news bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	news = !r.joined[room]
	r.joined[room] = true
	return news
}

// leave forgets a room, and tells whether we were in it.
func (r *rooms) leave(room id.RoomID) (were bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	were = r.joined[room]
	delete(r.joined, room)
	delete(r.complete, room)
	delete(r.offered, room)
	delete(r.called, room)
	delete(r.sizes, room)
	return were
}

func (r *rooms) has(room id.RoomID) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.joined[room]
}

func (r *rooms) all() []id.RoomID {
	r.mu.Lock()
	defer r.mu.Unlock()
	var out []id.RoomID
	for room := range r.joined {
		out = append(out, room)
	}
	slices.Sort(out)
	return out
}

// markComplete notes that the whole state of a room has been seen.
func (r *rooms) markComplete(room id.RoomID) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.complete[room] = true
}

func (r *rooms) isComplete(room id.RoomID) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.complete[room]
}

// markOffered notes that our commands have been made known in a room.
func (r *rooms) markOffered(room id.RoomID) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.offered[room] = true
}

func (r *rooms) isOffered(room id.RoomID) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.offered[room]
}

// resize forgets how many are in a room.
func (r *rooms) resize(room id.RoomID) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.changes++
	delete(r.sizes, room)
}

// setDirect takes over which rooms are direct chats.
func (r *rooms) setDirect(direct event.DirectChatsEventContent) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.direct = direct
}

// callDirect notes that a room is a direct chat.
func (r *rooms) callDirect(room id.RoomID) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.called[room] = true
}

// directWith lists the direct chats with a user.
func (r *rooms) directWith(user id.UserID) []id.RoomID {
	r.mu.Lock()
	defer r.mu.Unlock()
	return slices.Clone(r.direct[user])
}

// isDirect tells a direct chat with anybody.
func (r *rooms) isDirect(room id.RoomID) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.called[room] {
		return true
	}
	for _, list := range r.direct {
		if slices.Contains(list, room) {
			return true
		}
	}
	return false
}

// size is how many are in a room, us and the invited among them.
func (l *link) size(ctx context.Context, room id.RoomID) (int, error) {
	l.rooms.mu.Lock()
	n, known := l.rooms.sizes[room]
	before := l.rooms.changes
	l.rooms.mu.Unlock()
	if known {
		return n, nil
	}
	members, err := l.state.GetRoomJoinedOrInvitedMembers(ctx, room)
	if err != nil {
		return 0, err
	}
	l.rooms.mu.Lock()
	defer l.rooms.mu.Unlock()
	if l.rooms.changes == before { // or somebody has come or gone meanwhile
		l.rooms.sizes[room] = len(members)
	}
	return len(members), nil
}

// sealed tells whether a message into a room must be encrypted. A room of which
// the state is not known in full is asked about first, and while that fails
// nothing is sent.
func (l *link) sealed(ctx context.Context, room id.RoomID) (bool, error) {
	yes, err := l.state.IsEncrypted(ctx, room)
	if err != nil || yes || l.rooms.isComplete(room) {
		return yes, err
	}
	if _, err := l.client.State(ctx, room); err != nil {
		return false, err
	}
	l.rooms.markComplete(room)
	l.rooms.resize(room)
	return l.state.IsEncrypted(ctx, room)
}

// about is what a reader of an event needs to know of its room.
func (l *link) about(ctx context.Context, roomID id.RoomID) (room, error) {
	sealed, err := l.sealed(ctx, roomID)
	if err != nil {
		return room{}, err
	}
	direct := l.rooms.isDirect(roomID)
	if !direct {
		n, err := l.size(ctx, roomID)
		if err != nil {
			return room{}, err
		}
		direct = n <= 2
	}
	return room{ID: roomID, Direct: direct, Encrypted: sealed}, nil
}

// nameIn is what a user is called in a room, "" for no name of her own.
func (l *link) nameIn(ctx context.Context, room id.RoomID, user id.UserID) string {
	m, err := l.state.TryGetMember(ctx, room, user)
	if err != nil || m == nil {
		return ""
	}
	return m.Displayname
}

// power is a user's power level in a room.
func (l *link) power(ctx context.Context, room id.RoomID, user id.UserID) int {
	levels, err := l.state.GetPowerLevels(ctx, room)
	if err != nil || levels == nil {
		return 0
	}
	return levels.GetUserLevel(user)
}

// Direct implements bot.DirectPoster. Who has left the room in which we were
// alone with her, or has not followed our invitation, takes no direct messages.
func (c *Chat) Direct(ctx context.Context, user string) (bot.Place, error) {
	l, err := c.connected(ctx)
	if err != nil {
		return bot.Place{}, err
	}
	who := id.UserID(user)
	if name, _, err := who.Parse(); err != nil || name == "" || l.own(who) {
		return bot.Place{}, nowhere("no such user")
	}
	defer l.locks.of("direct " + user)()
	room, err := l.directRoom(ctx, who)
	if err != nil {
		return bot.Place{}, sendError(err)
	}
	return bot.Place{Chat: Name, Room: string(room)}, nil
}

// directRoom finds the room in which we are alone with a user, or makes one.
func (l *link) directRoom(ctx context.Context, user id.UserID) (id.RoomID, error) {
	gone := false
	for _, room := range slices.Backward(l.rooms.directWith(user)) {
		if !l.rooms.has(room) {
			continue
		}
		if l.alone(ctx, room, user) {
			return room, nil
		}
		gone = gone || l.state.IsMembership(ctx, room, user, event.MembershipLeave, event.MembershipBan)
	}
	for _, room := range l.rooms.all() {
		if l.alone(ctx, room, user) {
			return room, l.addDirect(ctx, user, room) // so that it is this one the next time as well
		}
	}
	if gone {
		return "", &bot.SendError{Permanent: true, Refused: true, Err: errors.New("matrix: she has left the direct chat")}
	}
	return l.makeDirect(ctx, user)
}

// alone tells whether nobody is in a room but a user and us.
func (l *link) alone(ctx context.Context, room id.RoomID, user id.UserID) bool {
	n, err := l.size(ctx, room)
	if err == nil && n == 0 { // nothing is kept of it yet
		if _, err := l.sealed(ctx, room); err != nil {
			return false
		}
		n, err = l.size(ctx, room)
	}
	return err == nil && n == 2 && l.state.IsMembership(ctx, room, user, event.MembershipJoin, event.MembershipInvite)
}

func (l *link) makeDirect(ctx context.Context, user id.UserID) (id.RoomID, error) {
	if _, err := l.client.GetProfile(ctx, user); errors.Is(err, mautrix.MNotFound) {
		return "", nowhere("no such user")
	}
	req := &mautrix.ReqCreateRoom{Preset: "trusted_private_chat", IsDirect: true, Invite: []id.UserID{user}}
	if canEncrypt {
		req.InitialState = []*event.Event{{Type: event.StateEncryption, Content: event.Content{
			Parsed: &event.EncryptionEventContent{Algorithm: id.AlgorithmMegolmV1},
		}}}
	}
	made, err := l.client.CreateRoom(ctx, req)
	if errors.Is(err, mautrix.MForbidden) {
		return "", &bot.SendError{Permanent: true, Refused: true, Err: errors.New("matrix: she takes no invitations")}
	}
	if err != nil {
		return "", err
	}
	l.rooms.join(made.RoomID)
	if _, err := l.client.State(ctx, made.RoomID); err != nil { // the stream tells of it later
		return "", err
	}
	l.rooms.markComplete(made.RoomID)
	l.rooms.resize(made.RoomID)
	return made.RoomID, l.addDirect(ctx, user, made.RoomID)
}

// addDirect notes with the account that a room is a direct chat.
func (l *link) addDirect(ctx context.Context, user id.UserID, room id.RoomID) error {
	defer l.locks.of("the list of direct chats")()
	l.rooms.callDirect(room)
	direct := event.DirectChatsEventContent{}
	if err := l.client.GetAccountData(ctx, event.AccountDataDirectChats.Type, &direct); err != nil && !errors.Is(err, mautrix.MNotFound) {
		return err
	}
	if slices.Contains(direct[user], room) {
		return nil
	}
	direct[user] = append(direct[user], room)
	l.rooms.setDirect(direct)
	return l.client.SetAccountData(ctx, event.AccountDataDirectChats.Type, direct)
}

// welcomeFrom tells whether an invitation of a user is to be followed: she or
// her server stands in the settings, or everybody does, or, when nothing is
// said, her server is ours.
func (c *Chat) welcomeFrom(user id.UserID) bool {
	_, server, err := user.Parse()
	if err != nil {
		return false
	}
	allowed := strings.Fields(c.settings.Invites)
	if len(allowed) == 0 {
		return server == c.user.Homeserver()
	}
	return slices.Contains(allowed, "*") || slices.Contains(allowed, server) || slices.Contains(allowed, string(user))
}

// locks holds one lock for each name.
type locks struct {
	mu   sync.Mutex
	held map[string]chan struct{}
}

// of waits for a lock and gives what ends it.
func (s *locks) of(name string) (unlock func()) {
	unlock, _ = s.within(context.Background(), name) // a context that never ends
	return unlock
}

// within is of, up to the end of ctx.
func (s *locks) within(ctx context.Context, name string) (unlock func(), err error) {
	for {
		s.mu.Lock()
		if s.held == nil {
			s.held = map[string]chan struct{}{}
		}
		other, taken := s.held[name]
		if !taken {
			mine := make(chan struct{})
			s.held[name] = mine
			s.mu.Unlock()
			return func() {
				s.mu.Lock()
				delete(s.held, name)
				s.mu.Unlock()
				close(mine)
			}, nil
		}
		s.mu.Unlock()
		select {
		case <-other:
		case <-ctx.Done():
			return nil, fmt.Errorf("waiting for the message before: %w", ctx.Err())
		}
	}
}
