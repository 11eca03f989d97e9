//go:build goolm

package main

import (
	"regexp"
	"testing"
)

var linkCode = regexp.MustCompile(`[A-Z0-9]{4}-[A-Z0-9]{4}`)

// TestOnePersonInBothChats: whoever links her accounts has one loom in both.
func TestOnePersonInBothChats(t *testing.T) {
	t.Parallel()
	onDiscord, onMatrix := newDiscordVenue(t), newMatrixVenue(t)
	newBuilding(t, onDiscord, onMatrix)
	there, here := sixLooms[0], sixLooms[0]
	there.pattern.Raised, there.pattern.Passes, there.pattern.Rows = 3, 3, 2
	here.pattern = there.pattern
	there.actor, here.actor = onDiscord.person(t, "Teodor", true), onMatrix.person(t, "Teodor", false)
	onDiscord.registered(t)

	there.tell(t, true, there.loom, "That is all I need")
	here.tell(t, true, "row rows:2", "number of ends")
	code := linkCode.FindString(there.tell(t, true, "link", "Your code is"))
	here.tell(t, true, "link code:"+code, "Are both of these you?")
	here.tell(t, true, "link yes", "Half of it is done")
	there.tell(t, true, "link", "Are both of these you?")
	there.tell(t, true, "link yes", "one person now")
	here.weaves(t, here.tell(t, true, "row rows:2", "Proven"))

	// And what changes in one chat has changed in the other.
	here.tell(t, true, "loom ends:150", "150 ends")
	there.pattern.Ends = 150
	there.weaves(t, there.tell(t, true, "row rows:2", "Proven"))
}
