package matrixtest

import (
	"context"
	"errors"
	"fmt"
	"syscall"
	"time"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
)

// recover has a homeserver that was killed come to itself where nobody sees it.
//
// The queue inside of dendrite may have forgotten by a kill how far it was, and
// then counts from the beginning, while its readers wait for what comes after the
// last that they have read: until that number is reached messages are accepted
// that nobody ever gets. So somebody talks to herself until she hears herself, and
// the server is asked to end, which makes it write down how far it is. A room whose
// beginning fell into that gap stays unknown to those who read, however much is said
// in it: so she talks in a new room each time. The caller holds mu.
func (s *Server) recover() error {
	port, err := freePort()
	if err != nil {
		return err
	}
	if err := s.upAt(port); err != nil {
		return err
	}
	if err := s.talk(fmt.Sprintf("http://127.0.0.1:%d", port)); err != nil {
		return err
	}
	if err := syscall.Kill(s.pid, syscall.SIGTERM); err != nil {
		return err
	}
	if err := s.untilEnded(); err != nil {
		return err
	}
	s.down()
	return nil
}

// untilEnded waits until the process is no more, which still takes connections while
// it dies. The caller holds mu.
func (s *Server) untilEnded() error {
	for deadline := time.Now().Add(Patience); syscall.Kill(s.pid, 0) == nil; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(deadline) {
			return errors.New("dendrite does not end")
		}
	}
	return nil
}

const heard = "weftroom.test.heard"

// talk writes into new rooms, to a device and to an account until all three come
// back.
func (s *Server) talk(url string) error {
	ctx, cancel := context.WithTimeout(context.Background(), 4*Patience)
	defer cancel()
	a, err := s.register(url, "echo")
	if err != nil {
		return err
	}
	client, err := mautrix.NewClient(url, "", "")
	if err != nil {
		return err
	}
	if _, err := client.Login(ctx, &mautrix.ReqLogin{
		Type: mautrix.AuthTypePassword, Password: a.Password, StoreCredentials: true,
		Identifier: mautrix.UserIdentifier{Type: mautrix.IdentifierTypeUser, User: string(a.ID)},
	}); err != nil {
		return err
	}
	since, said, told, kept := "", false, false, false
	for n := 0; !said || !told || !kept; n++ {
		room, err := client.CreateRoom(ctx, &mautrix.ReqCreateRoom{Preset: "private_chat"})
		if err != nil {
			return err
		}
		if _, err := client.SendText(ctx, room.RoomID, "hello?"); err != nil {
			return err
		}
		if _, err := client.SendToDevice(ctx, event.Type{Type: heard, Class: event.ToDeviceEventType}, &mautrix.ReqSendToDevice{
			Messages: map[id.UserID]map[id.DeviceID]*event.Content{client.UserID: {client.DeviceID: {Raw: map[string]any{"n": n}}}},
		}); err != nil {
			return err
		}
		if err := client.SetAccountData(ctx, heard, map[string]any{"n": n}); err != nil {
			return err
		}
		got, err := client.SyncRequest(ctx, 50, since, "", false, "")
		if err != nil {
			return err
		}
		since = got.NextBatch
		told = told || len(got.ToDevice.Events) > 0
		for _, evt := range got.AccountData.Events {
			kept = kept || evt.Type.Type == heard
		}
		for _, joined := range got.Rooms.Join {
			for _, evt := range joined.Timeline.Events {
				said = said || evt.Type.Type == event.EventMessage.Type
			}
		}
	}
	return nil
}
