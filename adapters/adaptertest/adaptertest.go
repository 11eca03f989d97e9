// Package adaptertest is the suite that every adapter must pass: what a chat
// has to do for the core, tried out through the eyes of one of its users.
//
// An adapter's own test makes a Fixture, the adapter joined to a real or
// faithful server of its chat and a user who follows a script, and calls Run.
package adaptertest

import (
	"context"
	"testing"

	"weftroom/bot"
)

// Fixture is an adapter that is not running yet, and a user of its chat.
type Fixture struct {
	Adapter bot.Adapter
	User    bot.Account // who speaks
	Place   bot.Place   // where she does
	Direct  bool        // nobody else reads there

	// Say sends a line as the user. It does not wait for an answer.
	Say func(t *testing.T, line string)

	// Next waits for the next message that the user sees in the place, in the
	// order in which they appear there; an edited message is another one. It
	// gives ctx's error when there is none in time. Her own are left out.
	Next func(ctx context.Context) (Message, error)

	// Press presses a button that the user has seen. It is nil where the chat
	// writes commands instead of buttons.
	Press func(t *testing.T, label string)

	// Server lists texts that tell a goroutine of the fixture's own, in its
	// stack, from one that the adapter has left behind.
	Server []string
}

// Message is what the user sees of one message.
type Message struct {
	ID    string // "" where the chat does not show it
	Text  string // every word that she can read in it
	Files []File
}

// File is an attachment. Where the chat has no place for alternative text, it
// is in the message's.
type File struct {
	Name, Alt string
	Bytes     []byte
}

// Run holds the adapter that open makes to all that is asked of it. Each case
// opens one of its own. No case sleeps; each waits until it has seen what it is
// about, or fails after some minutes.
func Run(t *testing.T, open func(t *testing.T) Fixture) {
	for _, c := range []struct {
		name string
		try  func(t *testing.T, open func(t *testing.T) Fixture)
	}{
		{"a request reaches the handler whole", tryRequest},
		{"requests have ids of their own", tryIDs},
		{"every kind of block arrives", tryBlocks},
		{"buttons can be pressed or typed", tryButtons},
		{"files arrive with their alternative text", tryFiles},
		{"a file cannot choose its folder", tryFileName},
		{"a problem arrives as its sentence", tryProblem},
		{"hostile words in a reply are harmless", tryHostileReply},
		{"hostile words in a request do no harm", tryHostileRequest},
		{"a very long reply arrives whole", tryLongReply},
		{"a very long request does no harm", tryLongRequest},
		{"a reply with nothing in it is not shown", tryNone},
		{"a handler that panics is one failed request", tryPanic},
		{"a handler that is slow holds up nothing else", trySlow},
		{"one person's requests are answered in order", tryOrder},
		{"a post arrives", tryPost},
		{"a post under the same key arrives once", tryPostTwice},
		{"a post to nowhere is refused for good", tryPostNowhere},
		{"hostile words in a post are harmless", tryHostilePost},
		{"Run ends with its context", tryEnd},
		{"Run ends with its context while a request is answered", tryEndBusy},
		{"Run does not begin when its context has ended", tryEndBefore},
		{"optional: direct messages", tryDirect},
		{"optional: edits", tryEdit},
		{"optional: finding what was sent", trySent},
	} {
		t.Run(c.name, func(t *testing.T) { c.try(t, open) })
	}
}
